"""A page as papers see it: millimetres from the top left, text by capital height, labels, bars and signs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from cribdesk.papers import barcodes, faces, signs
from cribdesk.papers.faces import MM
from cribdesk.papers.pdf import Colour, Pdf
from cribdesk.papers.settings import CannotPrint, Size

BLACK: Colour = (0.0, 0.0, 0.0)
WHITE: Colour = (1.0, 1.0, 1.0)
AMBER: Colour = (1.0, 0.706, 0.0)
HAIR, THIN, THICK = 0.15, 0.3, 0.8  # line weights, mm
Align = Literal["left", "right", "centre"]


class Sheet:
    """Draws on the pages of one document; `origin` shifts everything, for two halves of a page."""

    def __init__(self, size: Size, title: str, site: str) -> None:
        self.size = size
        self.origin: Size = (0.0, 0.0)
        self._pdf = Pdf((size[0] * MM, size[1] * MM), faces.printable(title), faces.printable(site))

    def text(
        self,
        x: float,
        y: float,
        text: str,
        cap: float = 2.5,
        *,
        bold: bool = False,
        align: Align = "left",
        colour: Colour = BLACK,
    ) -> float:
        """One line with its baseline at `y`, from, to or about `x`; its width in mm."""
        shown = faces.printable(text)
        wide = faces.width(shown, cap, bold)
        start = x - {"left": 0.0, "centre": wide / 2, "right": wide}[align]
        if shown:
            self._pdf.text(self._at(start, y), faces.visual(shown), faces.points_of(cap), bold, colour)
        return wide

    def lines(
        self,
        x: float,
        y: float,
        lines: Sequence[str],
        cap: float,
        pitch: float,
        *,
        bold: bool = False,
        align: Align = "left",
        colour: Colour = BLACK,
    ) -> float:
        """Lines below each other from baseline `y`; the baseline that a next line would have."""
        for index, line in enumerate(lines):
            self.text(x, y + index * pitch, line, cap, bold=bold, align=align, colour=colour)
        return y + len(lines) * pitch

    def label(self, x: float, y: float, label: str, cap: float, align: Align = "left") -> float:
        """A whole label, bold, its check character in the lighter weight; its width in mm."""
        stem, check = faces.printable(label[:-1]), faces.printable(label[-1:])
        wide = label_width(label, cap)
        start = x - {"left": 0.0, "centre": wide / 2, "right": wide}[align]
        self._pdf.text_runs(self._at(start, y), [(stem, True), (check, False)], faces.points_of(cap))
        return wide

    def rule(self, x: float, y: float, right: float, weight: float = THIN, *, dashed: bool = False) -> None:
        """A level line."""
        dash = (1.5 * MM, 1.5 * MM) if dashed else ()
        self._pdf.line(self._at(x, y), self._at(right, y), weight * MM, dash)

    def upright(self, x: float, y: float, foot: float, weight: float = THIN, *, dashed: bool = False) -> None:
        """An upright line."""
        dash = (1.5 * MM, 1.5 * MM) if dashed else ()
        self._pdf.line(self._at(x, y), self._at(x, foot), weight * MM, dash)

    def box(self, x: float, y: float, wide: float, high: float, colour: Colour = BLACK) -> None:
        """A filled box from its top left."""
        left, foot = self._at(x, y + high)
        self._pdf.rectangles([(left, foot, wide * MM, high * MM)], colour)

    def frame(self, points: Sequence[Size], weight: float = HAIR, fill: Colour | None = None) -> None:
        """A closed outline through the points."""
        self._pdf.polygon([self._at(*point) for point in points], fill, weight * MM)

    def ring(self, x: float, y: float, radius: float, weight: float) -> None:
        """A circle about a point."""
        self._pdf.circle(self._at(x, y), radius * MM, None, weight * MM)

    def bars(self, x: float, y: float, code: str, module: float, high: float) -> float:
        """The code's bars from their top left, one path; 10 modules beside them must stay free. Width in mm.

        They move by up to 0.13 mm, on to the dots of common printers, so that each bar keeps its width.
        Raises CannotPrint for a code that has no bars, or bars too fine or too low to be read.
        """
        if module < barcodes.LEAST_MODULE_MM - 1e-9 or high < barcodes.LEAST_HEIGHT_MM - 1e-9:
            raise CannotPrint(f"No room for the barcode of {code}. Set a larger size.")
        length, bars = barcodes.runs(code)
        grid = barcodes.GRID_MM
        x = round((x + self.origin[0]) / grid) * grid - self.origin[0]
        left, foot = self._at(x, y + high)
        boxes = ((left + start * module * MM, foot, wide * module * MM, high * MM) for start, wide in bars)
        self._pdf.rectangles(boxes, BLACK)
        return length * module

    def sign(self, kind: signs.Kind, x: float, y: float, size: float, weight: float = 0.0) -> None:
        """A sign in the square whose top left is given; `weight` 0 takes a line of size / 11."""
        line = weight or size / 11
        for shape in signs.shapes(kind):
            points = [self._at(x + px * size, y + py * size) for px, py in shape.points]
            if shape.radius:
                fill = BLACK if shape.ink == "fill" else None
                self._pdf.circle(points[0], shape.radius * size * MM, fill, line * MM)
            elif shape.ink == "line":
                self._pdf.polyline(points, line * MM)
            else:
                self._pdf.polygon(points, WHITE if shape.ink == "clear" else BLACK)

    def next_page(self) -> None:
        """Another page of the same size, its origin at the top left."""
        self._pdf.next_page()
        self.origin = (0.0, 0.0)

    def finish(self) -> bytes:
        """The whole document."""
        return self._pdf.finish()

    def _at(self, x: float, y: float) -> Size:
        return (x + self.origin[0]) * MM, (self.size[1] - y - self.origin[1]) * MM


def label_width(label: str, cap: float) -> float:
    """How wide `Sheet.label` prints, mm."""
    return faces.width(label[:-1], cap, True) + faces.width(label[-1:], cap)
