"""The few strokes that all painted components share: words, hairlines, outlines, the focus ring."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from cribdesk.window.look import current

LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
CENTRE = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
MIDDLE = Qt.AlignmentFlag.AlignCenter
TOP = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


@dataclass(frozen=True)
class Overflow:
    """Words that were painted into less room than they need, widths in px."""

    words: str
    room: float
    needed: float


_watch: list[Overflow] | None = None


@contextmanager
def watching_words() -> Iterator[list[Overflow]]:
    """Collect what is painted wider than its room; for tests that look at painted words."""
    global _watch
    before, _watch = _watch, []
    try:
        yield _watch
    finally:
        _watch = before


_KEPT = 8192  # measured words that are kept; the same rows are measured at every layout
_widths: dict[tuple[str, str], float] = {}
_lines: dict[tuple[str, str, int], list[str]] = {}


def width(words: str, font: QFont) -> float:
    """How wide one line of words is."""
    key = (words, font.key())
    found = _widths.get(key)
    if found is None:
        if len(_widths) >= _KEPT:
            _widths.clear()
        found = _widths[key] = QFontMetricsF(font).horizontalAdvance(words)
    return found


def text(
    painter: QPainter, rect: QRectF, words: str, font: QFont, colour: QColor,
    align: Qt.AlignmentFlag = LEFT, elide: bool = False,
) -> float:  # fmt: skip
    """Paint one line of plain words and return its width; only table cells and the scan line may elide."""
    needed = width(words, font)
    if elide and needed > rect.width():
        words = QFontMetricsF(font).elidedText(words, Qt.TextElideMode.ElideRight, rect.width())
        needed = width(words, font)
    elif _watch is not None and needed > rect.width() + 1:
        _watch.append(Overflow(words, rect.width(), needed))
    painter.setFont(font)
    painter.setPen(colour)
    painter.drawText(rect, int(align) | int(Qt.TextFlag.TextDontClip), words)
    return needed


def broken(words: str, font: QFont, room: float) -> list[str]:
    """The words in lines that fit the room; a single word wider than the room is cut, never lost."""
    key = (words, font.key(), round(room * 4))
    found = _lines.get(key)
    if found is None:
        if len(_lines) >= _KEPT:
            _lines.clear()
        found = _lines[key] = _break(words, font, room)
    return list(found)


def _break(words: str, font: QFont, room: float) -> list[str]:
    metrics = QFontMetricsF(font)
    lines: list[str] = []
    for paragraph in words.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if metrics.horizontalAdvance(longer) <= room or not line:
                line = longer
            else:
                lines.append(line)
                line = word
            while metrics.horizontalAdvance(line) > room and len(line) > 1:
                cut = _fitting(line, metrics, room)
                lines.append(line[:cut])
                line = line[cut:]
        lines.append(line)
    return lines


def _fitting(line: str, metrics: QFontMetricsF, room: float) -> int:
    cut = len(line)
    while cut > 1 and metrics.horizontalAdvance(line[:cut]) > room:
        cut -= 1
    return cut


def paragraph(
    painter: QPainter, rect: QRectF, words: str, font: QFont, colour: QColor, line_height: float
) -> float:
    """Paint words broken into lines from the top of the rect, and return the height they took."""
    lines = broken(words, font, rect.width())
    for number, line in enumerate(lines):
        at = QRectF(rect.left(), rect.top() + number * line_height, rect.width(), line_height)
        text(painter, at, line, font, colour)
    return len(lines) * line_height


def snapped(painter: QPainter, y: float) -> float:
    """A coordinate moved to the nearest device pixel, so that hairlines keep their width when scaled."""
    ratio = painter.device().devicePixelRatioF()
    return round(y * ratio) / ratio


def hairline(painter: QPainter, x1: float, x2: float, y: float, colour: QColor, thick: float = 1) -> None:
    """A horizontal line of whole device pixels whose upper edge is at y."""
    ratio = painter.device().devicePixelRatioF()
    high = max(1, round(current().px(thick) * ratio)) / ratio
    painter.fillRect(QRectF(x1, snapped(painter, y), x2 - x1, high), colour)


def upright(painter: QPainter, x: float, y1: float, y2: float, colour: QColor, thick: float = 1) -> None:
    """A vertical line of whole device pixels whose left edge is at x."""
    ratio = painter.device().devicePixelRatioF()
    wide = max(1, round(current().px(thick) * ratio)) / ratio
    painter.fillRect(QRectF(snapped(painter, x), y1, wide, y2 - y1), colour)


def box(
    painter: QPainter, rect: QRectF, *, fill: QColor | None = None, edge: QColor | None = None,
    thick: float = 1, radius: float = 0,
) -> None:  # fmt: skip
    """A filled or outlined rectangle; the outline lies inside the rect, thickness and radius in 100 % px."""
    look = current()
    pen_width = look.u * thick
    half = pen_width / 2 if edge else 0.0
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(QPen(edge, pen_width) if edge else Qt.PenStyle.NoPen)
    painter.setBrush(fill if fill else Qt.BrushStyle.NoBrush)
    inner = rect.adjusted(half, half, -half, -half)
    painter.drawRoundedRect(inner, look.u * radius, look.u * radius)
    painter.restore()


def clipped(rect: QRectF, clip: float) -> QPolygonF:
    """A rectangle with its four corners cut at 45 degrees, as the label on the thing has."""
    a, b, c, d = rect.left(), rect.top(), rect.right(), rect.bottom()
    return QPolygonF(
        [QPointF(a + clip, b), QPointF(c - clip, b), QPointF(c, b + clip), QPointF(c, d - clip),
         QPointF(c - clip, d), QPointF(a + clip, d), QPointF(a, d - clip), QPointF(a, b + clip)]
    )  # fmt: skip


def key_cap(painter: QPainter, right: float, middle: float, key: str, ink: QColor) -> float:
    """A key cap 32 high whose right edge and middle are given; returns its left edge."""
    look = current()
    font = look.font(18, True)
    wide = max(look.px(40), width(key, font) + look.px(16))
    rect = QRectF(right - wide, middle - look.px(16), wide, look.px(32))
    box(painter, rect, edge=ink, thick=1.5, radius=3)
    text(painter, rect, key, font, ink, MIDDLE)
    return rect.left()


def key_cap_width(key: str) -> int:
    """The room a key cap takes."""
    look = current()
    return round(max(look.px(40), width(key, look.font(18, True)) + look.px(16))) if key else 0


def inner_ring(painter: QPainter, rect: QRectF) -> None:
    """The focus ring drawn inside, for what fills its place to the edge."""
    box(painter, rect, edge=current().colours.acc, thick=3)


def dashed(painter: QPainter, line: QLineF, colour: QColor, thick: float, pattern: tuple[float, ...]) -> None:
    """A dashed line; the pattern counts in line widths."""
    pen = QPen(colour, current().u * thick)
    pen.setDashPattern(list(pattern))
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.drawLine(line)


def polyline(points: list[QPointF]) -> QPainterPath:
    """An open path through the points."""
    path = QPainterPath(points[0])
    for point in points[1:]:
        path.lineTo(point)
    return path
