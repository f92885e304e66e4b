"""Cartons' codes: GS1's own examples, a barcode drawn and decoded by others, and every field that cannot be."""

from __future__ import annotations

import io
from datetime import date

import pypdfium2
import pytest
import zxingcpp
from biip.gtin import Gtin
from hypothesis import given
from hypothesis import strategies as st
from reportlab.graphics.barcode.code128 import Code128
from reportlab.pdfgen.canvas import Canvas

from cribdesk.crib.label import Kind, next_label
from cribdesk.crib.scan import FNC1, CartonScan, ForeignScan, LabelScan, gtin_fits, read_scan
from cribdesk.desk.gs1 import Carton, CartonFault, read_carton

TODAY = date(2026, 11, 25)
LABEL = next_label(Kind.UNIT, 417)[0]
GTIN = "09501101530003"


def read(text: str, today: date = TODAY) -> Carton:
    """As a scanner types it."""
    scan = read_scan(text)
    assert isinstance(scan, CartonScan), scan
    return read_carton(scan.text, today)


def test_the_example_of_the_standard() -> None:
    """GS1's own example label: GTIN, last day and lot (GS1 General Specifications; from memory)."""
    found = read("(01)09501101530003(17)140704(10)AB-123", date(2014, 1, 1))
    assert found == Carton(GTIN, "AB-123", date(2014, 7, 4))
    assert read("]C1010950110153000317140704" + "10AB-123", date(2014, 1, 1)) == found


@pytest.mark.parametrize("digits", ["6291041500213", GTIN, "9501101531000", "95012346"])
def test_check_digits_of_the_standard(digits: str) -> None:
    """GS1's own examples of check digits (its check digit page, General Specifications 7.9; from memory) fit."""
    assert gtin_fits(digits)
    other = str((int(digits[-1]) + 1) % 10)
    assert not gtin_fits(digits[:-1] + other)


@given(st.text("0123456789", min_size=13, max_size=13))
def test_check_digit_agrees_with_the_library(stem: str) -> None:
    """Of the ten last digits exactly one fits, and it is the one that the library takes."""
    fitting = [digit for digit in "0123456789" if gtin_fits(stem + digit)]
    assert len(fitting) == 1
    if int(stem):
        assert Gtin.parse(f"{stem}{fitting[0]}").check_digit == int(fitting[0])


def test_a_drawn_code_comes_back() -> None:
    """A GS1-128 drawn by one library and decoded by another gives what was put in; GS stands where FNC1 was."""
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(500, 120))
    fnc1 = "\xf1"  # how the drawing library writes it
    Code128(f"{fnc1}01{GTIN}1727113010AB-123{fnc1}3012", barWidth=1.2, barHeight=60).drawOn(canvas, 20, 30)
    canvas.save()
    picture = pypdfium2.PdfDocument(file.getvalue())[0].render(scale=4).to_pil()
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == f"(01){GTIN}(17)271130(10)AB-123(30)12"
    typed = code.symbology_identifier + code.bytes.decode("ascii")
    assert typed == f"]C101{GTIN}1727113010AB-123{FNC1}3012"
    assert read(typed) == read(code.text) == Carton(GTIN, "AB-123", date(2027, 11, 30), 12)


@pytest.mark.parametrize("mark", ["]C1", "]d2", "]Q3", "]e0", ""])
def test_the_mark_of_the_scanner_is_taken_off(mark: str) -> None:
    """Code 128, Data Matrix, QR and DataBar say the same; so does a scanner that adds nothing."""
    assert read(f"{mark}01{GTIN}10A1{FNC1}21S9") == Carton(GTIN, "A1", serial="S9")


def test_what_is_inside_counts() -> None:
    """A carton of cartons: the number of what is in it, and how many (AI 02 and 37)."""
    assert read(f"]C102{GTIN}376{FNC1}10A1") == Carton(GTIN, "A1", pieces=6)


def test_a_last_day_goes_before_a_best_before() -> None:
    """Best before (AI 15) stands in where the maker names no last day (17); else the last day stands."""
    assert read(f"]C101{GTIN}15270601").last_day == date(2027, 6, 1)
    assert read(f"]C101{GTIN}1527060117271231").last_day == date(2027, 12, 31)
    assert read(f"]C101{GTIN}1326060111260501").last_day is None


@pytest.mark.parametrize(
    ("year", "today", "wanted"),
    [
        ("26", date(2026, 1, 1), 2026),
        ("76", date(2026, 1, 1), 2076),
        ("77", date(2026, 1, 1), 1977),
        ("99", date(2026, 1, 1), 1999),
        ("00", date(2060, 1, 1), 2100),
        ("11", date(2060, 1, 1), 2011),
        ("10", date(2060, 1, 1), 2110),
    ],
)
def test_two_digits_of_a_year(year: str, today: date, wanted: int) -> None:
    """The year lies at most 49 before and 50 after this one (GS1 General Specifications 7.12)."""
    assert read(f"]C101{GTIN}17{year}0601", today).last_day == date(wanted, 6, 1)


@pytest.mark.parametrize(("text", "day"), [("270200", 28), ("280200", 29), ("270400", 30)])
def test_day_00_is_the_last_of_the_month(text: str, day: int) -> None:
    """A day of zeros means the end of its month, leap years too."""
    found = read(f"]C101{GTIN}17{text}").last_day
    assert found is not None
    assert found.day == day


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("]C1019501101530003", "GTIN (01): '9501101530003' is cut short"),
        ("]C10109501101530004", "GTIN (01): the check digit of 09501101530004"),
        (f"]C101{GTIN}1727", "May be used until (17): '27' is cut short"),
        (f"]C101{GTIN}17271301", "May be used until (17): 271301 is a day that does not exist"),
        (f"]C101{GTIN}17270230", "May be used until (17): 270230 is a day that does not exist"),
        (f"]C101{GTIN}10", "Lot (10): '' is cut short"),
        (f"]C101{GTIN}10{'A' * 21}", "Lot (10): 'AAAAAAAAAAAAAAAAAAAAA' is too long"),
        (f"]C101{GTIN}30", "Count (30): '' is cut short"),
        (f"]C101{GTIN}3000{FNC1}10A", "Count (30): it is none at all"),
        (f"]C101{GTIN}10A{FNC1}10B", "Lot (10) stands there twice: A and B"),
        ("]C110A1", "The code holds no GTIN (01)"),
        (f"]C101{GTIN}02{GTIN}376", "GTIN (01) and GTIN of what is in it (02) stand there both"),
        (f"]C101{GTIN}XX", "'XX' is no field of GS1"),
        ("]C1", "is no field of GS1"),
    ],
)
def test_what_cannot_be_names_its_field(text: str, words: str) -> None:
    """Cut short, misread, impossible: the words begin with the field, and nothing is guessed."""
    with pytest.raises(CartonFault) as caught:
        read(text)
    assert words in str(caught.value)


def test_every_cut_is_told_or_seen() -> None:
    """Cut before its lot, a code is refused; cut inside the lot it reads as a shorter lot, for people to see."""
    whole = f"]C101{GTIN}17271130" + "10AB-123"
    for end in range(4, len(whole)):
        at = whole[:end]
        kept = read(at) if end in (19, 27) or end > 29 else None
        if kept is None:
            with pytest.raises(CartonFault):
                read(at)
        else:
            assert kept.gtin == GTIN
            assert whole[29:].startswith(kept.lot)


def test_a_lost_mark_is_doubted() -> None:
    """A lot that swallowed the last day, for want of the mark between them, is told to be looked at."""
    assert read(f"]C101{GTIN}10AB17271130").doubt.startswith("Lot AB17271130 looks as if")
    assert read(f"]C101{GTIN}10AB{FNC1}17271130").doubt == ""


def test_what_is_no_carton_stays_what_it_was() -> None:
    """Our own labels and other people's numbers are no cartons, even where they begin alike."""
    assert isinstance(read_scan(LABEL), LabelScan)
    assert isinstance(read_scan("0109501101530004"), ForeignScan)  # its check digit does not fit
    assert isinstance(read_scan("10AB-123"), ForeignScan)
    assert isinstance(read_scan("9501101530003"), ForeignScan)


@given(st.text(st.characters(max_codepoint=126), max_size=80))
def test_nothing_crashes(text: str) -> None:
    """Whatever a scanner types behind its mark is read, or refused in words."""
    scan = read_scan("]C1" + text)
    if isinstance(scan, CartonScan):
        try:
            found = read_carton(scan.text, TODAY)
        except CartonFault:
            return
        assert gtin_fits(found.gtin)
