"""Which serial numbers a maker's notice means, and what clears a recall."""

from __future__ import annotations

import re
from dataclasses import dataclass

_ENDS = re.compile(r"^(.*?)(\d+)$")
_SIGNS = re.compile(r"[^0-9a-z]")


@dataclass(frozen=True)
class SerialRange:
    """Serial numbers from one to another: what they begin with, and the first and last number behind it."""

    begins: str
    first: int
    last: int

    def has(self, serial: str) -> bool | None:
        """Whether the serial is one of them; None where it cannot be told, as of none or one written otherwise."""
        plain = _plain(serial)
        if not plain:
            return None
        if not plain.startswith(self.begins):
            return False
        rest = plain[len(self.begins) :]
        return self.first <= int(rest) <= self.last if rest.isdecimal() else None


def serial_range(first: str, last: str) -> SerialRange:
    """The range of a notice. Raises ValueError, in words, where the two do not make one."""
    ends = [_ENDS.match(one.strip()) for one in (first, last)]
    if not all(ends):
        raise ValueError("first and last serial each end in a number")
    (begins, low), (other, high) = ((_plain(end[1]), int(end[2])) for end in ends if end)
    if begins != other:
        raise ValueError("first and last serial begin alike, up to their number")
    if high < low:
        raise ValueError("the last serial comes before the first")
    return SerialRange(begins, low, high)


def _plain(text: str) -> str:
    """Letters and digits alone: people type dashes and blanks as they like."""
    return _SIGNS.sub("", text.casefold())
