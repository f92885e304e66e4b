"""Code 128: the published check sum, the bars' pattern, what may not become bars."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from barcode.charsets import code128

from cribdesk.papers import CannotPrint, barcodes
from cribdesk.papers.sheet import Sheet
from tests.papers import samples

STOP_MODULES = 13


def check_value(symbols: Sequence[int]) -> int:
    """ISO/IEC 15417: (start + sum of position x value) mod 103, positions from 1."""
    start, *data = symbols
    return (start + sum(place * value for place, value in enumerate(data, 1))) % 103


def symbols_of(code: str) -> list[int]:
    """The symbol values as the bars have them, check symbol last, the stop pattern left off."""
    length, bars = barcodes.runs(code)
    bits = "".join("1" if any(s <= n < s + w for s, w in bars) else "0" for n in range(length))
    data = bits[:-STOP_MODULES]
    return [code128.CODES.index(data[at : at + 11]) for at in range(0, len(data), 11)]


def test_the_published_worked_example() -> None:
    """Start A, PJJ123C: values 48 42 42 17 18 19 35, sum 878, check 54 (the widely printed example)."""
    example = [103, 48, 42, 42, 17, 18, 19, 35]
    assert example[0] + sum(place * value for place, value in enumerate(example[1:], 1)) == 878
    assert check_value(example) == 54
    assert check_value([104, 48, 33, 48, 50, 13, 16, 16, 20, 18]) == 24  # start B, PAPR-0042


@pytest.mark.parametrize("code", ["PJJ123C", "PAPR-0042", samples.UNIT, samples.TAG, samples.ANSWERS[0].code])
def test_the_bars_carry_that_check_sum(code: str) -> None:
    """The check symbol in the bars is the published formula's, whatever sets the encoder chose."""
    *symbols, check = symbols_of(code)
    assert check == check_value(symbols)


def test_bars_begin_and_end_with_ink() -> None:
    """The length is start to stop, 11 modules a symbol and 13 for the stop; quiet zones are the page's."""
    length, bars = barcodes.runs(samples.UNIT)
    assert bars[0][0] == 0
    assert sum(bars[-1]) == length
    assert (length - STOP_MODULES) % 11 == 0
    assert barcodes.modules_with_quiet(samples.UNIT) == length + 20


@pytest.mark.parametrize("code", ["", "9926T62D", "417", "UŁ17", "U\n17", "Ω000"])
def test_what_cannot_be_bars_is_refused(code: str) -> None:
    """The encoder drops a leading 99 without a word, so nothing but a letter may come first."""
    with pytest.raises(CannotPrint, match="cannot be printed as a barcode"):
        barcodes.runs(code)


@pytest.mark.parametrize(("module", "high"), [(0.2, 10.0), (0.254, 5.0)])
def test_bars_too_small_to_read_are_refused(module: float, high: float) -> None:
    """Under 0.254 mm a module or 6.35 mm of height no bars are drawn; the sentence says what to do."""
    with pytest.raises(CannotPrint, match="Set a larger size"):
        Sheet((80.0, 40.0), "trial", "").bars(10.0, 10.0, samples.UNIT, module, high)


def test_modules_are_whole_dots() -> None:
    """A module is a multiple of 1/600 inch and the code with its quiet zones fits the room."""
    for room in (34.0, 50.0, 66.7):
        module = barcodes.module_for(samples.UNIT, room)
        assert module * barcodes.modules_with_quiet(samples.UNIT) <= room + 1e-9
        assert (module / barcodes.DOT_MM) == pytest.approx(round(module / barcodes.DOT_MM))
