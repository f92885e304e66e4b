"""What every computation asks of the numbers it is given, worded once."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import SupportsFloat, SupportsIndex


def number(name: str, value: SupportsFloat | SupportsIndex) -> float:
    """The value as a finite float. Raises ValueError where it is text, missing, infinite or not a number."""
    try:
        if isinstance(value, str | bytes):
            raise TypeError
        given = float(value)
    except (TypeError, ValueError, OverflowError):
        raise ValueError(f"{name} must be a number, not {value!r}") from None
    if not math.isfinite(given):
        raise ValueError(f"{name} must be a finite number, not {given}")
    return given


def not_negative(name: str, value: SupportsFloat | SupportsIndex) -> float:
    """The value as a finite float of zero or more."""
    given = number(name, value)
    if given < 0:
        raise ValueError(f"{name} must not be negative, not {given:g}")
    return given


def positive(name: str, value: SupportsFloat | SupportsIndex) -> float:
    """The value as a finite float above zero."""
    given = number(name, value)
    if given <= 0:
        raise ValueError(f"{name} must be above zero, not {given:g}")
    return given


def at_least(name: str, value: SupportsFloat | SupportsIndex, least: float) -> float:
    """The value as a finite float of at least `least`."""
    given = number(name, value)
    if given < least:
        raise ValueError(f"{name} must be {least:g} or more, not {given:g}")
    return given


def fraction(name: str, value: SupportsFloat | SupportsIndex) -> float:
    """The value as a float strictly between 0 and 1."""
    given = number(name, value)
    if not 0 < given < 1:
        raise ValueError(f"{name} must lie between 0 and 1, not {given:g}")
    return given


def weight(name: str, value: SupportsFloat | SupportsIndex) -> float:
    """The value as a float above 0 and at most 1, for smoothing."""
    given = number(name, value)
    if not 0 < given <= 1:
        raise ValueError(f"{name} must be above 0 and at most 1, not {given:g}")
    return given


def whole(name: str, value: SupportsFloat | SupportsIndex, least: int = 0) -> int:
    """The value as a whole number of at least `least`."""
    given = at_least(name, value, least)
    if given != int(given):
        raise ValueError(f"{name} must be a whole number, not {given:g}")
    return int(given)


def not_empty(name: str, values: Sequence[object]) -> None:
    """Raises ValueError where there is nothing to work on."""
    if len(values) == 0:
        raise ValueError(f"{name}: there are none")


def same_length(names: str, first: Sequence[object], second: Sequence[object]) -> None:
    """Raises ValueError where two sequences that belong together differ in length."""
    if len(first) != len(second):
        raise ValueError(f"{names} must be as many: {len(first)} and {len(second)}")


def probabilities(pmf: Iterable[float]) -> list[float]:
    """The probabilities of 0, 1, 2 ... as floats; their sum must be 1 within 1e-6."""
    chances = [not_negative("A probability", chance) for chance in pmf]
    not_empty("The distribution's probabilities", chances)
    total = math.fsum(chances)
    if abs(total - 1) > 1e-6:
        raise ValueError(f"The probabilities must add up to 1, not {total:.9g}")
    return chances
