"""Serial numbers of a maker's notice: told as people type them, and never guessed."""

from __future__ import annotations

import pytest

from cribdesk.crib.recall import serial_range


@pytest.mark.parametrize(
    ("serial", "there"),
    [
        ("FD-0100", True), ("fd 0250", True), ("FD100", True), ("FD-0099", False), ("FD-0251", False),
        ("FE-0150", False), ("", None), ("  ", None), ("FD-0150B", None), ("FD", None),
    ],
)  # fmt: skip
def test_a_serial_is_in_the_range_or_not_or_cannot_be_told(serial: str, there: bool | None) -> None:
    """Dashes, blanks, case and leading zeros do not matter; what is written otherwise is neither in nor out."""
    assert serial_range("FD-0100", "FD-0250").has(serial) is there


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("FD-1", "FE-9", "begin alike"),
        ("FD-9", "FD-1", "before the first"),
        ("FD-A", "FD-9", "end in a number"),
        ("", "FD-9", "end in a number"),
    ],
)
def test_two_serials_that_make_no_range_are_told(first: str, last: str, words: str) -> None:
    """Each says what is wrong with it."""
    with pytest.raises(ValueError, match=words):
        serial_range(first, last)
