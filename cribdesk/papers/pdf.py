"""Reportlab behind typed functions: the embedded faces, and a page drawn on in points from the lower left."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from cribdesk import resources

REGULAR, BOLD = "CribRegular", "CribBold"
CAPITAL_OVER_EM = 0.689  # FiraGO, both weights: OS/2 table, sCapHeight 689 of 1000
Colour = tuple[float, float, float]
Point = tuple[float, float]


@lru_cache(2)
def _face(bold: bool) -> Any:
    font = TTFont(BOLD if bold else REGULAR, io.BytesIO(resources.typeface(bold)))
    pdfmetrics.registerFont(font)
    return font


def has_glyph(character: str) -> bool:
    """Whether both weights of the typeface can draw the character."""
    code = ord(character)
    return code in _face(False).face.charToGlyph and code in _face(True).face.charToGlyph


def width(text: str, size: float, bold: bool) -> float:
    """The advance of a text in points at a type size in points."""
    return float(_face(bold).stringWidth(text, size))


class Pdf:
    """A document under way; the same calls give the same bytes."""

    def __init__(self, size: Point, title: str, author: str) -> None:
        _face(False), _face(True)
        self._file = io.BytesIO()
        self._canvas: Any = Canvas(self._file, pagesize=size, invariant=1, pageCompression=1)
        self._canvas.setTitle(title)
        self._canvas.setAuthor(author)
        self._canvas.setCreator("CribDesk")

    def text(self, at: Point, text: str, size: float, bold: bool, colour: Colour) -> None:
        """One line of text from its baseline's left end."""
        self._canvas.setFillColorRGB(*colour)
        self._canvas.setFont(BOLD if bold else REGULAR, size)
        self._canvas.drawString(at[0], at[1], text)

    def text_runs(self, at: Point, runs: Iterable[tuple[str, bool]], size: float) -> None:
        """One line of black text in (text, bold) runs, one object, so that it is read back as one word."""
        self._canvas.setFillColorRGB(0, 0, 0)
        line = self._canvas.beginText(*at)
        for text, bold in runs:
            line.setFont(BOLD if bold else REGULAR, size)
            line.textOut(text)
        self._canvas.drawText(line)

    def line(self, start: Point, end: Point, weight: float, dash: Sequence[float] = ()) -> None:
        """A black line."""
        self._canvas.setStrokeColorRGB(0, 0, 0)
        self._canvas.setLineWidth(weight)
        self._canvas.setDash(list(dash))
        self._canvas.line(*start, *end)

    def rectangles(self, boxes: Iterable[tuple[float, float, float, float]], colour: Colour) -> None:
        """Filled boxes (x, y, width, height) as one path."""
        path = self._canvas.beginPath()
        for box in boxes:
            path.rect(*box)
        self._canvas.setFillColorRGB(*colour)
        self._canvas.drawPath(path, stroke=0, fill=1)

    def polygon(self, points: Sequence[Point], fill: Colour | None, weight: float = 0.0) -> None:
        """A closed shape, filled, outlined in black where `weight` is above 0."""
        path = self._outline(points)
        path.close()
        self._paint(path, fill, weight)

    def polyline(self, points: Sequence[Point], weight: float) -> None:
        """An open black line through the points."""
        self._paint(self._outline(points), None, weight)

    def circle(self, centre: Point, radius: float, fill: Colour | None, weight: float = 0.0) -> None:
        """A circle, filled, outlined in black where `weight` is above 0."""
        path = self._canvas.beginPath()
        path.circle(*centre, radius)
        self._paint(path, fill, weight)

    def next_page(self) -> None:
        """Ends the page and begins another of the same size."""
        self._canvas.showPage()

    def finish(self) -> bytes:
        """Ends the last page; the whole document."""
        self._canvas.showPage()
        self._canvas.save()
        return self._file.getvalue()

    def _outline(self, points: Sequence[Point]) -> Any:
        path = self._canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        return path

    def _paint(self, path: Any, fill: Colour | None, weight: float) -> None:
        self._canvas.setDash([])
        self._canvas.setStrokeColorRGB(0, 0, 0)
        self._canvas.setLineWidth(weight)
        if fill is not None:
            self._canvas.setFillColorRGB(*fill)
        self._canvas.drawPath(path, stroke=int(weight > 0), fill=int(fill is not None))
