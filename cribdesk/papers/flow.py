"""Blocks of known height set below each other, and over as many columns as they need."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from cribdesk.crib import words
from cribdesk.papers.sheet import Sheet


@dataclass(frozen=True)
class Block:
    """Something of `height` mm that `draw(sheet, top)` puts on the page; it is never cut in two."""

    height: float
    draw: Callable[[Sheet, float], None]


Placed = tuple[Block, float]


def columns(blocks: Iterable[Block], top: float, foot: float) -> list[list[Placed]]:
    """The blocks with the top of each, a list a column; a block too high for any column stands alone."""
    filled: list[list[Placed]] = [[]]
    y = top
    for block in blocks:
        if filled[-1] and y + block.height > foot + 1e-6:
            filled.append([])
            y = top
        filled[-1].append((block, y))
        y += block.height
    return filled


def together(blocks: Sequence[Block]) -> Block:
    """Blocks that must stay on one page, as one."""

    def draw(sheet: Sheet, top: float) -> None:
        for block in blocks:
            block.draw(sheet, top)
            top += block.height

    return Block(sum(block.height for block in blocks), draw)


def day_time(moment: datetime) -> str:
    """'Wed 25 Nov 2026, 06:03', of a moment already in local time."""
    return f"{words.day(moment.date())}, {moment:%H:%M}"
