"""A plot of lines, points and bands with its limit and its now; the sentence above it is its title."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPainterPathStroker, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn
from cribdesk.window.look import Look

Point = tuple[float, float]
Ticks = tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Line:
    """A line through points; `name` stands at its right end. Kinds: data, step, forecast (dashed)."""

    points: tuple[Point, ...]
    kind: Literal["data", "step", "forecast"] = "data"
    name: str = ""


@dataclass(frozen=True)
class Dots:
    """Points of measurement: dot, hollow (older), or tick on the axis."""

    points: tuple[Point, ...]
    kind: Literal["dot", "hollow", "tick"] = "dot"


@dataclass(frozen=True)
class Band:
    """The ground between two lines over the same x."""

    points: tuple[tuple[float, float, float], ...]  # x, low, high
    strong: bool = False


@dataclass(frozen=True)
class Limit:
    """A limit on y, named at its right end; the ground beyond it is shaded."""

    value: float
    words: str
    beyond: Literal["below", "above", "none"] = "below"


@dataclass(frozen=True)
class Now:
    """Where we are: an upright line at x with words, shaded as far as `until`, a dot at y."""

    x: float
    words: str
    y: float | None = None
    until: float | None = None
    upright: bool = True


@dataclass(frozen=True)
class Mark:
    """An upright at x with words: a change, a rule of thumb."""

    x: float
    words: str
    dashed: bool = True


@dataclass(frozen=True)
class Patch:
    """A stretch of time on the axis that somebody must look at, in amber, with words."""

    start: float
    end: float
    words: str


@dataclass(frozen=True)
class PlotData:
    """Everything a plot shows; `told` says it in one sentence to those who do not see it."""

    x: Point
    y: Point
    x_ticks: Ticks
    y_ticks: Ticks
    x_name: str = ""
    y_name: str = ""
    told: str = ""
    lines: tuple[Line, ...] = ()
    dots: tuple[Dots, ...] = ()
    bands: tuple[Band, ...] = ()
    limit: Limit | None = None
    now: Now | None = None
    marks: tuple[Mark, ...] = ()
    patches: tuple[Patch, ...] = ()


def ticks(low: float, high: float, about: int = 5, unit: str = "") -> Ticks:
    """Round figures between two ends, about so many, in words with a true minus."""
    if not high > low:
        return ((low, _figure(low, 0) + unit),)
    raw = (high - low) / max(1, about)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= raw * 0.999)
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(low / step - 1e-9)
    count = math.floor(high / step + 1e-9) - first + 1
    return tuple(((first + n) * step, _figure((first + n) * step, places) + unit) for n in range(count))


def _figure(value: float, places: int) -> str:
    words = f"{abs(value):,.{places}f}".replace(",", "\N{NO-BREAK SPACE}")
    return f"\N{MINUS SIGN}{words}" if value < 0 and words.strip("0.") else words


class Plot(Drawn):
    """Draws one `PlotData`; `set_data(None)` shows nothing."""

    def __init__(self, data: PlotData | None = None, high: int = 240, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._data, self._high = data, high
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.set_data(data)

    def set_data(self, data: PlotData | None) -> None:
        """Show other data."""
        self._data = data
        self.setAccessibleName(data.told if data else "")
        self.update()

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(360), look.px(self._high))

    def draw(self, painter: QPainter, look: Look) -> None:
        if self._data is not None:
            paint(painter, look, self._data, QRectF(self.rect()))


def paint(painter: QPainter, look: Look, data: PlotData, whole: QRectF) -> None:
    """Draw a plot anywhere: into a picture file too."""
    _Sheet(painter, look, data, whole).draw()


class _Sheet:
    """One painting of one plot: the scales and the layers from the ground up."""

    def __init__(self, painter: QPainter, look: Look, data: PlotData, whole: QRectF) -> None:
        self.p, self.look, self.data, self.whole = painter, look, data, whole
        self.c, self.small = look.colours, look.font(14)
        left = max((drawing.width(words, self.small) for _, words in data.y_ticks), default=0) + look.px(10)
        ends = [line.name for line in data.lines if line.name]
        ends += [data.limit.words] if data.limit else []
        right = max((drawing.width(words, look.font(14, True)) for words in ends), default=0)
        # Half of the last tick's words may reach beyond the axis.
        right = max(right + look.px(8), look.px(24))
        top = look.px(30) if data.y_name else look.px(10)
        foot = look.px(28 + (20 if data.x_name else 0))
        self.area = whole.adjusted(left, top, -right, -foot)

    def x(self, value: float) -> float:
        low, high = self.data.x
        return self.area.left() + (value - low) / (high - low) * self.area.width()

    def y(self, value: float) -> float:
        low, high = self.data.y
        return self.area.bottom() - (value - low) / (high - low) * self.area.height()

    def at(self, point: Point) -> QPointF:
        return QPointF(self.x(point[0]), self.y(point[1]))

    def draw(self) -> None:
        self._ground()
        self._grid()
        self.p.save()
        self.p.setClipRect(self.area.adjusted(-6, -6, 6, 1))
        self._shades()
        self._uprights()
        self._lines()
        self._dots()
        self.p.restore()
        self._axis()
        self._words()

    def _ground(self) -> None:
        limit = self.data.limit
        if limit is None or limit.beyond == "none":
            return
        at = min(self.area.bottom(), max(self.area.top(), self.y(limit.value)))
        box = QRectF(self.area)
        if limit.beyond == "below":
            box.setTop(at)
        else:
            box.setBottom(at)
        self.p.fillRect(box, self.c.track)

    def _grid(self) -> None:
        for value, words in self.data.y_ticks:
            at = self.y(value)
            drawing.hairline(self.p, self.area.left(), self.area.right(), at, self.c.line)
            room = QRectF(self.whole.left(), at - 10, self.area.left() - self.look.px(8), 20)
            drawing.text(self.p, room, words, self.small, self.c.ink2, drawing.RIGHT)

    def _shades(self) -> None:
        for band in self.data.bands:
            low = [self.at((x, lower)) for x, lower, _ in band.points]
            high = [self.at((x, upper)) for x, _, upper in reversed(band.points)]
            self.p.setPen(Qt.PenStyle.NoPen)
            self.p.setBrush(self.c.maybe if band.strong else self.c.track)
            self.p.drawPolygon(QPolygonF(low + high))
            self.p.setPen(QPen(self.c.edge, 0.8 * self.look.u))  # so that it stands out of any ground, and in print
            for edge in (low, high):
                self.p.drawPolyline(QPolygonF(edge))
        now = self.data.now
        if now and now.until is not None:
            shade = QColor(self.c.acc)
            shade.setAlphaF(0.15)
            left, right = self.x(now.x), self.x(now.until)
            self.p.fillRect(QRectF(left, self.area.top(), right - left, self.area.height()), shade)
        for patch in self.data.patches:
            high_px = self.look.px(16)
            left = self.x(patch.start)
            box = QRectF(left, self.area.bottom() - high_px, self.x(patch.end) - left, high_px)
            drawing.box(self.p, box, fill=self.c.caut, edge=self.c.ink, thick=1)

    def _uprights(self) -> None:
        for mark in self.data.marks:
            line = QLineF(self.x(mark.x), self.area.top(), self.x(mark.x), self.area.bottom())
            drawing.dashed(self.p, line, self.c.ink2, 1, (4, 3) if mark.dashed else (1, 2))
        now = self.data.now
        if now and now.upright:
            at = self.x(now.x) - self.look.px(1)
            drawing.upright(self.p, at, self.area.top(), self.area.bottom(), self.c.acc, 2)

    def _lines(self) -> None:
        limit = self.data.limit
        if limit:
            at = self.y(limit.value) - self.look.px(1)
            drawing.hairline(self.p, self.area.left(), self.area.right() + 6, at, self.c.ink, 2)
        for line in self.data.lines:
            if len(line.points) > 1:
                self._line(line)

    def _line(self, line: Line) -> None:
        pen = QPen(self.c.ink, 2 * self.look.u)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        if line.kind == "forecast":
            pen.setWidthF(1.6 * self.look.u)
            pen.setDashPattern([3.5, 2.5])
        self.p.setPen(pen)
        self.p.setBrush(Qt.BrushStyle.NoBrush)
        self.p.drawPath(self._path(line))

    def _path(self, line: Line) -> QPainterPath:
        points = [self.at(point) for point in line.points]
        if line.kind == "step":
            corners = points[:1]
            for before, after in itertools.pairwise(points):
                corners += [QPointF(after.x(), before.y()), after]
            points = corners
        return drawing.polyline(points)

    def _dots(self) -> None:
        u = self.look.u
        for dots in self.data.dots:
            for point in dots.points:
                at = self.at(point)
                if dots.kind == "tick":
                    self.p.setPen(QPen(self.c.ink, 1.5 * u))
                    self.p.drawLine(QLineF(at.x(), self.area.bottom() - 9 * u, at.x(), self.area.bottom()))
                elif dots.kind == "hollow":
                    self.p.setPen(QPen(self.c.ink2, 1.2 * u))
                    self.p.setBrush(self.c.sheet)
                    self.p.drawEllipse(at, 4 * u, 4 * u)
                else:
                    self.p.setPen(QPen(self.c.sheet, 1 * u))
                    self.p.setBrush(self.c.ink)
                    self.p.drawEllipse(at, 5 * u, 5 * u)
        now = self.data.now
        if now and now.y is not None:
            self.p.setPen(QPen(self.c.sheet, 1.5 * u))
            self.p.setBrush(self.c.acc)
            self.p.drawEllipse(self.at((now.x, now.y)), 7 * u, 7 * u)

    def _axis(self) -> None:
        foot = self.area.bottom()
        drawing.hairline(self.p, self.area.left(), self.area.right(), foot, self.c.edge)
        for value, words in self.data.x_ticks:
            at = self.x(value)
            drawing.upright(self.p, at, foot, foot + self.look.px(5), self.c.edge)
            wide = drawing.width(words, self.small) + 2
            left = min(max(self.whole.left(), at - wide / 2), self.whole.right() - wide)
            room = QRectF(left, foot + self.look.px(6), wide, self.look.px(20))
            drawing.text(self.p, room, words, self.small, self.c.ink2, drawing.MIDDLE)
        under = QRectF(self.area.left(), foot + self.look.px(27), self.area.width(), self.look.px(20))
        drawing.text(self.p, under, self.data.x_name, self.small, self.c.ink2, drawing.RIGHT)
        over = QRectF(self.whole.left(), self.whole.top(), self.whole.width(), self.look.px(20))
        drawing.text(self.p, over, self.data.y_name, self.small, self.c.ink2)

    def _words(self) -> None:
        taken: list[float] = []
        if self.data.limit:
            taken.append(self._end_name(self.data.limit.words, self.y(self.data.limit.value), True, taken))
        for line in self.data.lines:
            if line.name and line.points:
                taken.append(self._end_name(line.name, self.y(line.points[-1][1]), False, taken))
        rooms: list[QRectF] = []
        now = self.data.now
        if now and now.y is not None and not now.upright:
            self._under(now, self.y(now.y))
        elif now:
            rooms.append(self._beside(now.x if now.until is None else now.until, now.words, True, rooms))
        for mark in self.data.marks:
            rooms.append(self._beside(mark.x, mark.words, False, rooms))
        for patch in self.data.patches:
            self._patch_words(patch)

    def _patch_words(self, patch: Patch) -> None:
        font = self.look.font(14, True)
        wide = drawing.width(patch.words, font)
        left = min(self.x(patch.end) + self.look.px(8), self.whole.right() - wide)
        room = QRectF(left, self.area.bottom() - self.look.px(20), wide + 1, self.look.px(18))
        drawing.text(self.p, room, patch.words, font, self.c.ink)

    def _under(self, now: Now, y: float) -> None:
        """Words under the dot of now, ending where it stands."""
        font = self.look.font(14, True)
        wide = drawing.width(now.words, font) + 1
        left = max(self.area.left(), self.x(now.x) - wide / 2)
        room = QRectF(left, y + self.look.px(11), wide, self.look.px(20))
        drawing.text(self.p, room, now.words, font, self.c.acc)

    def _end_name(self, words: str, y: float, bold: bool, taken: list[float]) -> float:
        """Name a line at its right end, moved down when another name stands there already."""
        gap = self.look.px(18)
        while any(abs(y - other) < gap for other in taken):
            y += gap / 3
        room = QRectF(self.area.right() + self.look.px(8), y - 10, self.whole.right() - self.area.right(), 20)
        drawing.text(self.p, room, words, self.look.font(14, bold), self.c.ink)
        return y

    def _beside(self, x: float, words: str, now: bool, rooms: list[QRectF]) -> QRectF:
        """Words right of an upright, left of it where the room ends, lower where others or a line stand already."""
        font, gap = self.look.font(14, now), self.look.px(8)
        wide = drawing.width(words, font) + 1
        left = self.x(x) + gap
        if left + wide > self.whole.right():
            left = max(self.whole.left(), self.x(x) - gap - wide)
        room = self._free(QRectF(left, self.area.top(), wide, self.look.px(20)), rooms)
        if any(room.left() < self.x(mark.x) < room.right() for mark in self.data.marks):
            ground = QColor(self.c.sheet)
            ground.setAlphaF(0.85)
            self.p.fillRect(room, ground)  # an upright passes behind the words
        drawing.text(self.p, room, words, font, self.c.acc if now else self.c.ink2)
        return room

    def _free(self, room: QRectF, rooms: list[QRectF]) -> QRectF:
        """The first room from there downwards without other words and without a line through it; else without words."""
        paths = [self._path(line) for line in self.data.lines if len(line.points) > 1]
        strokes = [QPainterPathStroker().createStroke(path) for path in paths]
        step, without_words = self.look.px(20), None
        for _ in range(max(1, int(self.area.height() // step))):
            if not any(room.intersects(other) for other in rooms):
                if not any(stroke.intersects(room) for stroke in strokes):
                    return room
                without_words = without_words or QRectF(room)
            room = room.translated(0, step)
        return without_words or room
