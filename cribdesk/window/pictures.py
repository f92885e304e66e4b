"""Simple drawn pictures of what is looked at: a thing when it is good, and the thing with a fault.

A picture stands only where it helps to tell good from not good; for the rest the words stand alone.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPainterPathStroker, QPen, QPolygonF, QTransform

from cribdesk.window.look import Look, current

# What a fault's own words say that it looks like; the first that is found in them counts.
_FAULTS = (
    ("missing", "missing"), ("clog", "dirt"), ("caked", "dirt"), ("spatter", "dirt"), ("dirt", "dirt"),
    ("crack", "crack"), ("broken", "crack"), ("crazed", "crack"), ("burn", "hole"), ("hole", "hole"),
    ("melted", "hole"), ("bent", "bent"), ("dent", "bent"), ("crushed", "bent"), ("out of shape", "bent"),
    ("curled", "bent"), ("torn", "torn"), ("nicked", "torn"), ("wet", "wet"), ("water", "wet"),
)  # fmt: skip


def fault_kind(words: str) -> str:
    """How a fault looks, told from its words; empty where it cannot be drawn."""
    low = words.lower()
    found = [(low.find(part), kind) for part, kind in _FAULTS if part in low]
    return min(found)[1] if found else ""


def has_picture(thing: str, fault: str = "") -> bool:
    """Whether the thing, and this fault of it, can be drawn."""
    return thing in _THINGS and (not fault or bool(fault_kind(fault)))


def picture(painter: QPainter, rect: QRectF, thing: str, fault: str = "") -> None:
    """Draw a thing as large as fits, good, or with the fault that these words name.

    A thing or a fault without a picture is a ValueError: ask `has_picture` first.
    """
    if not has_picture(thing, fault):
        raise ValueError(f"no picture of {thing!r} with {fault!r}")
    side = min(rect.width(), rect.height())
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.translate(rect.center() - QPointF(side / 2, side / 2))
    painter.scale(side, side)
    _Drawing(painter, current(), side, fault_kind(fault) if fault else "").draw(_THINGS[thing])
    painter.restore()


Shape = tuple[QPainterPath, QPainterPath, Callable[["_Drawing"], None]]


class _Drawing:
    """One picture in a unit square: outline, what is inside, then the fault."""

    def __init__(self, painter: QPainter, look: Look, side: float, fault: str) -> None:
        self.p, self.c, self.fault = painter, look.colours, fault
        self.heavy = max(2.0, 3 * look.u) / side
        self.fine = max(1.0, 1.2 * look.u) / side

    def pen(self, wide: float, faint: bool = False) -> QPen:
        """A pen of ink, or the dashes of what is not there."""
        pen = QPen(self.c.ink2 if faint else self.c.ink, wide)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if self.fault == "missing":
            pen.setStyle(Qt.PenStyle.DashLine)
            pen.setDashPattern([3, 3])
            pen.setColor(self.c.edge)
        return pen

    def draw(self, make: Callable[[], Shape]) -> None:
        """Paint the thing and its fault."""
        outline, inner, details = make()
        if self.fault == "bent":
            outline, inner = _dented(outline), _dented(inner)
        self.p.setPen(self.pen(self.heavy))
        self.p.setBrush(Qt.BrushStyle.NoBrush if self.fault == "missing" else self.c.sheet)
        self.p.drawPath(outline)
        if self.fault != "missing":
            self.p.save()
            self.p.setClipPath(outline)
            if not inner.isEmpty():
                self.p.setPen(self.pen(self.fine))
                self.p.drawPath(inner)
                self.p.setClipPath(inner, Qt.ClipOperation.IntersectClip)
            details(self)
            self.p.restore()
            self._damage(outline if inner.isEmpty() else inner)
        self.p.setPen(self.pen(self.heavy))
        self.p.setBrush(Qt.BrushStyle.NoBrush)
        self.p.drawPath(outline)

    def _damage(self, within: QPainterPath) -> None:
        box = within.boundingRect()
        middle, reach = box.center(), min(box.width(), box.height()) / 2
        self.p.save()
        self.p.setClipPath(within)
        self.p.setPen(self.pen(self.heavy))
        self.p.setBrush(self.c.page)
        if self.fault == "hole":
            at = QPointF(middle.x() + reach * 0.15, middle.y() - reach * 0.1)
            self.p.drawPolygon(_jagged(at, reach * 0.38))
        elif self.fault == "torn":
            self.p.drawPolygon(_jagged(_right_edge(within), reach * (0.5 if reach < 0.3 else 0.4)))
        elif self.fault == "crack":
            self.p.drawPolyline(QPolygonF(_crack(box)))
        elif self.fault in ("dirt", "wet"):
            self._scatter(box, drops=self.fault == "wet")
        self.p.restore()

    def _scatter(self, box: QRectF, drops: bool) -> None:
        self.p.setPen(self.pen(self.fine) if drops else Qt.PenStyle.NoPen)
        self.p.setBrush(self.c.track if drops else self.c.ink2)
        chance = _shares(7)
        for _ in range(14 if drops else 190):
            at = QPointF(box.left() + box.width() * next(chance), box.top() + box.height() * next(chance))
            share = next(chance)
            if drops:
                self.p.drawPath(_drop(at, 0.02 + 0.02 * share))
            else:
                size = 0.008 + 0.028 * share**2
                self.p.drawEllipse(at, size, size)

    def grid(self, box: QRectF, step: float, across: bool = True) -> None:
        """A mesh, or upright lines alone."""
        self.p.setPen(self.pen(self.fine, faint=True))
        for number in range(int(box.width() / step) + 1):
            x = box.left() + number * step
            self.p.drawLine(QLineF(x, box.top(), x, box.bottom()))
        for number in range(int(box.height() / step) + 1 if across else 0):
            y = box.top() + number * step
            self.p.drawLine(QLineF(box.left(), y, box.right(), y))

    def line(self, *points: tuple[float, float], faint: bool = False, wide: float = 0) -> None:
        """A line through the points."""
        self.p.setPen(self.pen(wide or self.fine, faint))
        self.p.setBrush(Qt.BrushStyle.NoBrush)
        self.p.drawPolyline(QPolygonF([QPointF(x, y) for x, y in points]))

    def dot(self, x: float, y: float, radius: float, filled: bool = True) -> None:
        """A disc, or a ring on paper."""
        self.p.setPen(self.pen(self.fine))
        self.p.setBrush(self.c.ink if filled else self.c.sheet)
        self.p.drawEllipse(QPointF(x, y), radius, radius)

    def block(self, x: float, y: float, wide: float, high: float, radius: float = 0, dark: bool = False) -> None:
        """A small filled part."""
        self.p.setPen(self.pen(self.fine))
        self.p.setBrush(self.c.ink2 if dark else self.c.track)
        self.p.drawRoundedRect(QRectF(x, y, wide, high), radius, radius)


def _shares(seed: int) -> itertools.accumulate[float]:
    """The same shares from 0 to 1 at every painting, so that no picture flickers."""
    return itertools.accumulate(itertools.repeat(0.0), lambda share, _: (share * 9821.0 + 0.211327) % 1.0,
                                initial=seed / 97)  # fmt: skip


def _jagged(middle: QPointF, radius: float) -> QPolygonF:
    lengths = (1.0, 0.8, 1.05, 0.62, 0.9, 0.7, 1.0, 0.95, 0.6, 0.88, 0.74)
    step = 2 * math.pi / len(lengths)
    return QPolygonF([
        QPointF(middle.x() + radius * r * math.cos(n * step), middle.y() + radius * r * math.sin(n * step))
        for n, r in enumerate(lengths)
    ])  # fmt: skip


def _right_edge(path: QPainterPath) -> QPointF:
    """The point of the outline furthest to the right, sooner at half height than at the ends."""
    middle = path.boundingRect().center().y()
    points = [path.pointAtPercent(n / 240) for n in range(240)]
    return max(points, key=lambda p: p.x() - 0.3 * abs(p.y() - middle))


def _crack(box: QRectF) -> list[QPointF]:
    steps = ((0.12, 0.1), (0.34, 0.36), (0.3, 0.5), (0.55, 0.56), (0.5, 0.7), (0.8, 0.95))
    return [QPointF(box.left() + x * box.width(), box.top() + y * box.height()) for x, y in steps]


def _drop(at: QPointF, size: float) -> QPainterPath:
    path = QPainterPath(QPointF(at.x(), at.y() - 2 * size))
    path.quadTo(at.x() + 1.3 * size, at.y(), at.x(), at.y() + size)
    path.quadTo(at.x() - 1.3 * size, at.y(), at.x(), at.y() - 2 * size)
    return path


def _dented(path: QPainterPath) -> QPainterPath:
    """The path with its upper right pressed in, whatever its shape."""
    made = QPainterPath()
    for polygon in path.toSubpathPolygons(QTransform.fromScale(400, 400)) if not path.isEmpty() else ():
        corners = _divided(polygon.toList())
        made.addPolygon(QPolygonF([_pressed(QPointF(p.x() / 400, p.y() / 400)) for p in corners]))
    return made


def _divided(points: list[QPointF]) -> list[QPointF]:
    """The corners with others between them, so that long edges can bend."""
    made: list[QPointF] = []
    for here, there in itertools.pairwise(points):
        made += [here + (there - here) * (n / 16) for n in range(16)]
    return [*made, points[-1]]


def _pressed(point: QPointF) -> QPointF:
    away = math.hypot(point.x() - 0.86, point.y() - 0.2)
    push = 0.11 * math.exp(-((away / 0.18) ** 2))
    return QPointF(point.x() - push, point.y() + push)


# Joining and stroking round to whole steps, so both are done at a large scale.
_LARGE, _SMALL = QTransform.fromScale(1000, 1000), QTransform.fromScale(0.001, 0.001)


def _joined(*paths: QPainterPath) -> QPainterPath:
    """The outline round several."""
    made = QPainterPath()
    for path in paths:
        made = made.united(_LARGE.map(path))
    return _SMALL.map(made)


def _stroked(path: QPainterPath, wide: float) -> QPainterPath:
    """The outline of a line so wide."""
    stroker = QPainterPathStroker()
    stroker.setWidth(1000 * wide)
    stroker.setCapStyle(Qt.PenCapStyle.FlatCap)
    return _SMALL.map(stroker.createStroke(_LARGE.map(path)))


def _circle(radius: float) -> QPainterPath:
    path = QPainterPath()
    path.addEllipse(QPointF(0.5, 0.5), radius, radius)
    return path


def _rounded(x: float, y: float, wide: float, high: float, radius: float) -> QPainterPath:
    path = QPainterPath()
    path.addRoundedRect(QRectF(x, y, wide, high), radius, radius)
    return path


def _closed(*points: tuple[float, float]) -> QPainterPath:
    """A closed curve: a start, then pairs of a pull and an end."""
    path = QPainterPath(QPointF(*points[0]))
    for pull, end in zip(points[1::2], points[2::2], strict=True):
        path.quadTo(QPointF(*pull), QPointF(*end))
    path.closeSubpath()
    return path


def _nothing(_: _Drawing) -> None:
    """No details."""


def _spark_arrestor() -> Shape:
    return _circle(0.48), _circle(0.41), lambda d: d.grid(QRectF(0.09, 0.09, 0.82, 0.82), 0.0456)


def _pre_filter() -> Shape:
    def fibres(d: _Drawing) -> None:
        for number in range(120):
            x, y = 0.1 + 0.8 * (number * 0.618 % 1), 0.1 + 0.8 * (number * 0.367 % 1)
            turn = number * 2.4
            d.line((x, y), (x + 0.035 * math.cos(turn), y + 0.035 * math.sin(turn)), faint=True)

    return _rounded(0.08, 0.08, 0.84, 0.84, 0.16), _rounded(0.12, 0.12, 0.76, 0.76, 0.13), fibres


def _particulate_filter() -> Shape:
    def pleats(d: _Drawing) -> None:
        d.grid(QRectF(0.13, 0.2, 0.74, 0.6), 0.046, across=False)

    return _rounded(0.05, 0.14, 0.9, 0.72, 0.05), _rounded(0.13, 0.22, 0.74, 0.56, 0.01), pleats


def _breathing_tube() -> Shape:
    spine = QPainterPath(QPointF(0.2, 0.93))
    spine.cubicTo(0.2, 0.45, 0.8, 0.6, 0.8, 0.07)

    def ribs(d: _Drawing) -> None:
        for number in range(1, 24):
            at = spine.pointAtPercent(number / 24)
            turn = math.radians(spine.angleAtPercent(number / 24) + 90)
            x, y = 0.1 * math.cos(turn), -0.1 * math.sin(turn)
            heavy = number in (1, 23)
            d.line((at.x() - x, at.y() - y), (at.x() + x, at.y() + y), faint=not heavy,
                   wide=d.heavy if heavy else 0)  # fmt: skip

    return _stroked(spine, 0.2), QPainterPath(), ribs


def _cover_lenses() -> Shape:
    return _rounded(0.04, 0.2, 0.92, 0.6, 0.08), _rounded(0.12, 0.28, 0.76, 0.44, 0.03), _nothing


def _darkening_lens() -> Shape:
    def cells(d: _Drawing) -> None:
        d.block(0.16, 0.24, 0.68, 0.4, 0.02)
        for x in (0.3, 0.7):
            d.dot(x, 0.73, 0.03)

    return _rounded(0.05, 0.14, 0.9, 0.72, 0.06), _rounded(0.1, 0.19, 0.8, 0.62, 0.03), cells


def _head_assembly() -> Shape:
    def window(d: _Drawing) -> None:
        d.block(0.22, 0.32, 0.56, 0.28, 0.03)
        d.block(0.27, 0.37, 0.46, 0.18, 0.01)
        d.line((0.5, 0.66), (0.5, 0.97), faint=True)

    shell = _closed((0.5, 0.03), (0.9, 0.03), (0.9, 0.45), (0.9, 0.8), (0.66, 0.96), (0.5, 0.99), (0.34, 0.96),
                    (0.1, 0.8), (0.1, 0.45), (0.1, 0.03), (0.5, 0.03))  # fmt: skip
    return shell, QPainterPath(), window


def _facepiece() -> Shape:
    def valve(d: _Drawing) -> None:
        window = _closed((0.5, 0.14), (0.8, 0.15), (0.8, 0.38), (0.78, 0.56), (0.5, 0.58), (0.22, 0.56),
                         (0.2, 0.38), (0.2, 0.15), (0.5, 0.14))  # fmt: skip
        d.p.setPen(d.pen(d.fine))
        d.p.setBrush(d.c.track)
        d.p.drawPath(window)
        d.dot(0.5, 0.76, 0.1, filled=False)
        d.dot(0.5, 0.76, 0.03)

    rim = _closed((0.5, 0.04), (0.9, 0.06), (0.9, 0.42), (0.86, 0.8), (0.62, 0.94), (0.5, 0.98), (0.38, 0.94),
                  (0.14, 0.8), (0.1, 0.42), (0.1, 0.06), (0.5, 0.04))  # fmt: skip
    return rim, QPainterPath(), valve


def _belt() -> Shape:
    def buckle(d: _Drawing) -> None:
        for y in (0.42, 0.58):
            d.line((0.02, y), (0.98, y), faint=True)
        d.block(0.36, 0.3, 0.28, 0.4, 0.03)
        d.line((0.5, 0.34), (0.5, 0.66), wide=d.heavy)

    strap = _joined(_rounded(0.02, 0.38, 0.96, 0.24, 0.03), _rounded(0.36, 0.3, 0.28, 0.4, 0.03))
    return strap, QPainterPath(), buckle


def _battery() -> Shape:
    def bars(d: _Drawing) -> None:
        for number in range(4):
            d.block(0.2 + number * 0.155, 0.44, 0.12, 0.24, 0.01, dark=True)
        for x in (0.3, 0.5, 0.7):
            d.block(x - 0.05, 0.16, 0.1, 0.12, 0.01)

    case = _joined(_rounded(0.1, 0.26, 0.8, 0.56, 0.05), _rounded(0.2, 0.16, 0.6, 0.2, 0.03))
    return case, QPainterPath(), bars


def _filter_door() -> Shape:
    def latch(d: _Drawing) -> None:
        for number in range(5):
            y = 0.32 + number * 0.09
            d.line((0.26, y), (0.66, y), faint=True, wide=d.heavy)
        d.block(0.78, 0.42, 0.1, 0.16, 0.02, dark=True)

    return _rounded(0.08, 0.12, 0.84, 0.76, 0.08), QPainterPath(), latch


def _blower() -> Shape:
    def fan(d: _Drawing) -> None:
        d.dot(0.42, 0.56, 0.27, filled=False)
        for number in range(10):
            x, y = math.cos(number * math.pi / 5), math.sin(number * math.pi / 5)
            d.line((0.42 + 0.08 * x, 0.56 + 0.08 * y), (0.42 + 0.25 * x, 0.56 + 0.25 * y), faint=True)
        d.dot(0.42, 0.56, 0.07)

    body = _joined(_rounded(0.06, 0.22, 0.88, 0.68, 0.1), _rounded(0.66, 0.06, 0.2, 0.3, 0.02))
    return body, QPainterPath(), fan


def _valve(spokes: int) -> Callable[[], Shape]:
    def make() -> Shape:
        def seat(d: _Drawing) -> None:
            for number in range(spokes):
                turn = number * 2 * math.pi / spokes
                d.line((0.5, 0.5), (0.5 + 0.34 * math.cos(turn), 0.5 + 0.34 * math.sin(turn)), faint=True)
            d.dot(0.5, 0.5, 0.05)

        return _circle(0.46), _circle(0.34), seat

    return make


def _straps() -> Shape:
    paths = [_circle(0.14)]
    for x, y in ((0.08, 0.1), (0.92, 0.1), (0.08, 0.9), (0.92, 0.9)):
        strap = QPainterPath(QPointF(0.5, 0.5))
        strap.lineTo(x, y)
        paths.append(_stroked(strap, 0.12))

    def buckles(d: _Drawing) -> None:
        d.dot(0.5, 0.5, 0.12, filled=False)
        for x, y in ((0.22, 0.23), (0.78, 0.23), (0.22, 0.77), (0.78, 0.77)):
            d.block(x - 0.06, y - 0.05, 0.12, 0.1, 0.02)

    return _joined(*paths), QPainterPath(), buckles


def _label() -> Shape:
    def lines(d: _Drawing) -> None:
        for number in range(18):
            d.block(0.14 + number * 0.04, 0.36, 0.014 if number % 3 else 0.026, 0.24, dark=True)
        d.line((0.14, 0.68), (0.6, 0.68), faint=True, wide=d.heavy)

    return _rounded(0.04, 0.26, 0.92, 0.5, 0.02), QPainterPath(), lines


_THINGS: dict[str, Callable[[], Shape]] = {
    "spark-arrestor": _spark_arrestor, "pre-filter": _pre_filter, "particulate-filter": _particulate_filter,
    "breathing-tube": _breathing_tube, "cover-lenses": _cover_lenses, "auto-darkening-lens": _darkening_lens,
    "head-assembly": _head_assembly, "facepiece": _facepiece, "belt": _belt, "battery": _battery,
    "filter-door": _filter_door, "blower": _blower, "inhalation-valve": _valve(6),
    "exhalation-valve": _valve(4), "straps": _straps, "label": _label,
}  # fmt: skip
