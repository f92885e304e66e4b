"""How papers are to come out: page, tag and label sizes, the site's name, the copy's number."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

PageName = Literal["letter", "A4"]
SlipForm = Literal["half", "alone"]
Size = tuple[float, float]

PAGES: dict[str, Size] = {"letter": (215.9, 279.4), "A4": (210.0, 297.0)}  # mm, upright
TAGS: dict[str, Size] = {"A6": (105.0, 148.0)}
TAG_WIDE = 100.0  # mm; from here the sign stands beside the signal word and saves height
TAG_LEAST_WIDTH, TAG_LEAST_HEIGHT, TAG_LEAST_HEIGHT_WIDE = 78.0, 150.0, 140.0  # for words that read at 1.5 m
TAG_MOST: Size = (210.0, 297.0)


class CannotPrint(ValueError):
    """A paper that cannot be made as asked; `sentence` says why and what to do."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


@dataclass(frozen=True)
class LabelGeometry:
    """A sheet of stickers, all in mm: how many, how large, where the first one is, from one to the next."""

    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    across: float
    down: float
    outlines: bool = False  # hairlines to cut along, for plain paper

    def check(self, page: Size) -> None:
        """Raises CannotPrint where the sheet of stickers does not fit the page or itself."""
        if self.columns < 1 or self.rows < 1 or self.width <= 0 or self.height <= 0:
            raise CannotPrint("A label sheet needs at least one label. Set columns, rows and size.")
        if self.across < self.width - 0.01 or self.down < self.height - 0.01:
            raise CannotPrint("The labels overlap: the step to the next one is smaller than the label.")
        right = self.left + (self.columns - 1) * self.across + self.width
        foot = self.top + (self.rows - 1) * self.down + self.height
        if self.left < 0 or self.top < 0 or right > page[0] + 0.05 or foot > page[1] + 0.05:
            raise CannotPrint(
                f"The labels reach {right:.1f} x {foot:.1f} mm, the page is {page[0]:g} x {page[1]:g} mm. "
                "Set fewer or smaller labels."
            )


# Common sheet cuts; common practice, no source.
LABELS: dict[str, LabelGeometry] = {
    "letter": LabelGeometry(3, 10, 66.7, 25.4, 4.8, 12.7, 69.8, 25.4),
    "A4": LabelGeometry(3, 8, 63.5, 33.9, 7.2, 12.9, 66.0, 33.9),
}


@dataclass(frozen=True)
class PaperSettings:
    """What a site sets for its papers.

    `tag`: 'A6', or width x height in mm as '80x160'. `slip`: 'half' prints slips on half of a page turned
    on its side, 'alone' on a page of the slip's own size. `labels`: None for the usual sheet of the page.
    `copy`: 1 is the first print; from 2 on the paper carries its number as a mark.
    """

    page: PageName = "letter"
    tag: str = "80x160"
    slip: SlipForm = "half"
    labels: LabelGeometry | None = None
    site: str = ""
    copy: int = 1

    @property
    def page_size(self) -> Size:
        """The page upright, mm. Raises CannotPrint for a page that is neither letter nor A4."""
        if self.page not in PAGES:
            raise CannotPrint(f"Paper '{self.page}' is not known. Set letter or A4.")
        return PAGES[self.page]

    @property
    def tag_size(self) -> Size:
        """The tag, mm. Raises CannotPrint where the text is no size or the size is out of bounds."""
        return TAGS[self.tag] if self.tag in TAGS else _size_of(self.tag)

    @property
    def label_sheet(self) -> LabelGeometry:
        """The sheet of stickers in force, checked against the page. Raises CannotPrint."""
        page = self.page_size
        sheet = self.labels or LABELS[self.page]
        sheet.check(page)
        return sheet

    @property
    def copy_mark(self) -> str:
        """'Copy 2' from the second print on, else ''."""
        return f"Copy {self.copy}" if self.copy > 1 else ""


def _size_of(text: str) -> Size:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", text)
    if found is None:
        raise CannotPrint(f"Tag size '{text}' is not known. Set A6, or width x height in mm as 80x160.")
    size = float(found[1]), float(found[2])
    least = TAG_LEAST_HEIGHT_WIDE if size[0] >= TAG_WIDE else TAG_LEAST_HEIGHT
    if not (TAG_LEAST_WIDTH <= size[0] <= TAG_MOST[0] and least <= size[1] <= TAG_MOST[1]):
        raise CannotPrint(
            f"A tag of {size[0]:g} x {size[1]:g} mm cannot carry its words. Set {TAG_LEAST_WIDTH:g} x {least:g} "
            f"to {TAG_MOST[0]:g} x {TAG_MOST[1]:g} mm."
        )
    return size
