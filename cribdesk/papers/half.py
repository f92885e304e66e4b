"""Slips: half of a letter or A4 page, printed on a page turned on its side or on a page of their own size."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cribdesk.papers.flow import Block, Placed, columns
from cribdesk.papers.settings import PaperSettings, Size
from cribdesk.papers.sheet import HAIR, Sheet

MARGIN = 10.0
DEFER = "The maker's instructions, local rules and the program administrator decide; this slip replaces none of them."


def half_size(settings: PaperSettings) -> Size:
    """Half of the page, upright: A5, or half a letter page. mm."""
    width, height = settings.page_size
    return height / 2, width


class Slip:
    """Slip pages of one document: each drawn on a half, two halves to a page or a page each."""

    def __init__(self, settings: PaperSettings, title: str) -> None:
        self.size = half_size(settings)
        self.left, self.right = MARGIN, self.size[0] - MARGIN
        self._beside = settings.slip == "half"
        self._size = (self.size[0] * 2, self.size[1]) if self._beside else self.size
        self.sheet = Sheet(self._size, title, settings.site)
        self._drawn = 0

    def pages(
        self,
        blocks: Sequence[Block],
        head: Callable[[Sheet, int, int], None],
        top: float,
        foot: float,
        ending: Callable[[Sheet, int, int], None],
    ) -> bytes:
        """The blocks on as many halves as they need, each with a head and an ending told (index, count)."""
        filled = columns(blocks, top, self.size[1] - foot)
        for index, placed in enumerate(filled):
            self._turn()
            head(self.sheet, index, len(filled))
            _draw(self.sheet, placed)
            ending(self.sheet, index, len(filled))
        return self.sheet.finish()

    def _turn(self) -> None:
        second = self._beside and self._drawn % 2 == 1
        if self._drawn and not second:
            self.sheet.next_page()
        self.sheet.origin = (self.size[0] if second else 0.0, 0.0)
        if self._beside and not second:
            self.sheet.upright(self.size[0], 0, self.size[1], HAIR, dashed=True)
        self._drawn += 1


def _draw(sheet: Sheet, placed: Sequence[Placed]) -> None:
    for block, top in placed:
        block.draw(sheet, top)
