"""What a burst of characters is taken for, before anything is looked up."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.label import Kind, with_check
from cribdesk.crib.scan import LONGEST_FOREIGN, ForeignScan, LabelScan, Unread, read_scan, shown

UNIT = with_check("U000418")


@pytest.mark.parametrize("text", [UNIT, UNIT.lower(), f" {UNIT} ", f"{UNIT[:4]}-{UNIT[4:]}", f"{UNIT}\r\n"])
def test_a_label_of_ours(text: str) -> None:
    """Read whatever its case, spaces, hyphens, ending."""
    assert read_scan(text) == LabelScan(Kind.UNIT, UNIT)


def test_a_wrong_check_character_says_so() -> None:
    """Words of the look, number 1."""
    wrong = UNIT[:-1] + ("2" if UNIT[-1] != "2" else "3")
    found = read_scan(wrong)
    assert found == ForeignScan(
        wrong,
        f"{wrong} is not one of our labels: the last character does not fit. Scan again, or type it. Nothing changed.",
        bindable=False,
    )


def test_the_other_keyboard_layout_is_tried() -> None:
    """A scanner set for another layout: whichever reading carries a fitting check character is taken."""
    stem = with_check("B00Z017")
    typed = stem.replace("Z", "#").replace("0", "à")
    assert read_scan(typed, stem) == LabelScan(Kind.BATTERY, stem)
    assert read_scan(stem, typed) == LabelScan(Kind.BATTERY, stem)


@pytest.mark.parametrize("text", ["EMP 00417/7", "4006381333931", "SN-2231-Ä", "😀😀😀"])
def test_foreign_labels_can_be_bound(text: str) -> None:
    """A badge, a maker's barcode, an etched number, even a smiley, is told as unknown and kept as it came."""
    found = read_scan(text)
    assert isinstance(found, ForeignScan)
    assert found.text == text
    assert found.sentence == f"{text} is unknown here. F6 binds it to a record. Nothing changed."


def test_ten_thousand_characters() -> None:
    """Too much for a label: said with the number, and shown cut."""
    found = read_scan("U" * 10_000)
    assert isinstance(found, Unread)
    assert found.sentence == "10000 characters came at once, too many for a label. Nothing changed."
    assert len(found.text) <= 24


@pytest.mark.parametrize("text", ["U0004\x0017", "\x02U000417\x03Q", "U000\x1b[417", "U000\u200b417", "a\tb"])
def test_control_characters(text: str) -> None:
    """Bytes no label has are not looked up and not shown as they are."""
    found = read_scan(text)
    assert isinstance(found, Unread)
    assert found.sentence == "Unreadable characters came from the scanner. Scan again. Nothing changed."
    assert found.text.isprintable()


@pytest.mark.parametrize("text", ["", "   ", "\r\n"])
def test_nothing(text: str) -> None:
    """An empty burst."""
    assert read_scan(text) == Unread("", "Nothing was read. Scan again, or type the label. Nothing changed.")


@given(st.text(max_size=200), st.text(max_size=20))
def test_any_text_is_one_of_three_and_tells_nothing_changed(text: str, by_position: str) -> None:
    """No text raises; what is not ours is told in a sentence, and what is shown can be shown."""
    found = read_scan(text, by_position)
    if isinstance(found, LabelScan):
        assert found.label[0] == found.kind.value
        return
    assert found.sentence.endswith("Nothing changed.")
    assert "error" not in found.sentence.lower() or "error" in text.lower()
    assert len(found.text) <= LONGEST_FOREIGN
    assert shown(text).isprintable()
