"""Rows of numbers as arrays, checked: finite, long enough, of one length."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Row = NDArray[np.float64]


def row(name: str, values: Iterable[float], *, empty: bool = False) -> Row:
    """The values as one row of floats. ValueError where one is not a finite number, or there are none."""
    import numpy as np

    given = values if isinstance(values, np.ndarray) else list(values)
    try:
        result = np.array(given, dtype=np.float64)
    except TypeError:
        raise ValueError(f"{name} must be numbers") from None
    if result.ndim != 1:
        raise ValueError(f"{name} must be one row of numbers")
    if not empty and result.size == 0:
        raise ValueError(f"{name}: there are none")
    if not np.isfinite(result).all():
        raise ValueError(f"{name} must be finite numbers")
    return result


def not_negative(name: str, values: Iterable[float], *, empty: bool = False) -> Row:
    """The values as one row of floats of zero or more."""
    result = row(name, values, empty=empty)
    if result.size and result.min() < 0:
        raise ValueError(f"{name} must not be negative, not {result.min():g}")
    return result


def positive(name: str, values: Iterable[float], *, empty: bool = False) -> Row:
    """The values as one row of floats above zero."""
    result = row(name, values, empty=empty)
    if result.size and result.min() <= 0:
        raise ValueError(f"{name} must be above zero, not {result.min():g}")
    return result


def pairs(x: Iterable[float], y: Iterable[float], fewest: int) -> tuple[Row, Row]:
    """Two rows of one length, `fewest` or longer, with at least two different x. ValueError otherwise."""
    import numpy as np

    across, up = row("x", x), row("y", y)
    if across.size != up.size:
        raise ValueError(f"x and y must be as many: {across.size} and {up.size}")
    if across.size < fewest:
        raise ValueError(f"{fewest} readings or more are needed, {across.size} given")
    if np.ptp(across) == 0:
        raise ValueError("all x are the same: no slope can be told")
    return across, up
