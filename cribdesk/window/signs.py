"""The signs, each told by its shape alone, drawn in a unit square."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

from cribdesk.window.look import Colours, current


class Sign(StrEnum):
    """Every sign there is; the value is the word it stands beside."""

    STOP = "stop"
    CAUTION = "caution"
    FINE = "fine"
    NOT_GOOD = "not good"
    READY = "ready"
    NOT_CHECKED = "not checked"
    NEEDS_CLEANING = "needs cleaning"
    ON_HOLD = "on hold"
    SCRAPPED = "scrapped"
    OUT = "out"
    OVERDUE = "overdue"
    DUE = "due"
    BATTERY = "battery"
    DOT = "dot"


@dataclass(frozen=True)
class _Inks:
    """The colours one sign is drawn with: body, what stands on it, and a rim where the body alone is weak."""

    body: QColor
    mark: QColor
    rim: QColor | None
    line: QColor


def _inks(kind: Sign, ground: str, colour: QColor | None) -> _Inks:
    c = current().colours
    upon = {"strip": c.onstrip, "stop": c.onstop, "caut": c.oncaut, "acc": c.onacc}
    line = colour or upon.get(ground, c.ink2)
    if kind in (Sign.STOP, Sign.ON_HOLD):
        return _stop_inks(c, ground, line)
    if kind in (Sign.CAUTION, Sign.OVERDUE):
        return _caution_inks(c, ground, line)
    inner = {"strip": c.strip, "sheet": c.sheet}.get(ground, c.page)
    return _Inks(line, inner, None, line)


def _stop_inks(c: Colours, ground: str, line: QColor) -> _Inks:
    if ground == "stop":
        return _Inks(c.onstop, c.stop, None, line)
    weak = ground == "strip" or current().dark
    return _Inks(c.stop, c.onstop, c.onstrip if ground == "strip" else c.stopink if weak else None, line)


def _caution_inks(c: Colours, ground: str, line: QColor) -> _Inks:
    if ground == "caut":
        return _Inks(c.oncaut, c.caut, None, line)
    return _Inks(c.caut, c.oncaut, None if current().dark or ground == "strip" else c.ink, line)


def sign(
    painter: QPainter, rect: QRectF, kind: str, *, ground: str = "page", colour: QColor | None = None,
    level: float = 0.5,
) -> None:  # fmt: skip
    """Draw a sign as large as fits the rect; `ground` is what lies under it, `level` a battery's charge.

    Grounds: page, sheet, rail, strip, stop, caut, acc. An unknown kind is a ValueError.
    """
    which = Sign(kind)
    side = min(rect.width(), rect.height())
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.translate(rect.center() - QPointF(side / 2, side / 2))
    inks = _inks(which, ground, colour)
    if which is Sign.BATTERY:
        _battery_sign(painter, side, inks.line, level)
    else:
        _DRAW[which](painter, side, inks)
    painter.restore()


def _stroke(side: float) -> float:
    return max(2.0, side / 11)


def _pen(colour: QColor, wide: float) -> QPen:
    pen = QPen(colour, wide)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    return pen


def _octagon(painter: QPainter, side: float, inks: _Inks) -> None:
    rim = max(1.5, side / 22) if inks.rim else 0.0
    half, cut = side / 2 - rim / 2, (side - rim) / (2 + math.sqrt(2))
    ends = [(-half + cut, -half), (half - cut, -half), (half, -half + cut), (half, half - cut),
            (half - cut, half), (-half + cut, half), (-half, half - cut), (-half, -half + cut)]  # fmt: skip
    painter.setPen(_pen(inks.rim, rim) if inks.rim else Qt.PenStyle.NoPen)
    painter.setBrush(inks.body)
    middle = side / 2
    painter.drawPolygon(QPolygonF([QPointF(middle + x, middle + y) for x, y in ends]))
    painter.fillRect(QRectF(side * 0.21, side * 0.41, side * 0.58, side * 0.18), inks.mark)


def _triangle(painter: QPainter, side: float, inks: _Inks) -> None:
    rim = max(1.6, side / 16)
    edge = inks.rim or inks.body
    top, foot = side * 0.06 + rim / 2, side * 0.94 - rim / 2
    corners = [QPointF(side / 2, top), QPointF(side - rim / 2, foot), QPointF(rim / 2, foot)]
    pen = QPen(edge, rim)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(inks.body)
    painter.drawPolygon(QPolygonF(corners))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.mark)
    wide = max(2.0, side * 0.11)
    painter.drawRect(QRectF(side / 2 - wide / 2, side * 0.36, wide, side * 0.26))
    painter.drawEllipse(QPointF(side / 2, side * 0.745), wide * 0.58, wide * 0.58)


def _ring(painter: QPainter, side: float, inks: _Inks) -> None:
    wide = _stroke(side)
    painter.setPen(_pen(inks.line, wide))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    inset = wide / 2 + side * 0.03
    painter.drawEllipse(QRectF(inset, inset, side - 2 * inset, side - 2 * inset))


def _tick(painter: QPainter, side: float, colour: QColor, wide: float) -> None:
    painter.setPen(_pen(colour, wide))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    path = QPainterPath(QPointF(side * 0.29, side * 0.52))
    path.lineTo(side * 0.44, side * 0.67)
    path.lineTo(side * 0.72, side * 0.37)
    painter.drawPath(path)


def _fine(painter: QPainter, side: float, inks: _Inks) -> None:
    _ring(painter, side, inks)
    _tick(painter, side, inks.line, _stroke(side))


def _not_good(painter: QPainter, side: float, inks: _Inks) -> None:
    _ring(painter, side, inks)
    low, high = side * 0.335, side * 0.665
    painter.drawLine(QLineF(low, low, high, high))
    painter.drawLine(QLineF(low, high, high, low))


def _not_checked(painter: QPainter, side: float, inks: _Inks) -> None:
    wide = _stroke(side)
    painter.setPen(_pen(inks.line, wide))
    inset = wide / 2 + side * 0.03
    circle = QRectF(inset, inset, side - 2 * inset, side - 2 * inset)
    for quarter in range(4):
        painter.drawArc(circle, round((quarter * 90 + 20) * 16), 50 * 16)


def _drop(painter: QPainter, side: float, inks: _Inks) -> None:
    painter.setPen(_pen(inks.line, _stroke(side)))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    radius, low = side * 0.29, side * 0.63
    path = QPainterPath(QPointF(side / 2, side * 0.1))
    path.cubicTo(side * 0.57, side * 0.27, side / 2 + radius, low - radius * 0.75, side / 2 + radius, low)
    path.arcTo(QRectF(side / 2 - radius, low - radius, 2 * radius, 2 * radius), 0, -180)
    path.cubicTo(side / 2 - radius, low - radius * 0.75, side * 0.43, side * 0.27, side / 2, side * 0.1)
    path.closeSubpath()
    painter.drawPath(path)


def _scrapped(painter: QPainter, side: float, inks: _Inks) -> None:
    _ring(painter, side, inks)
    painter.drawLine(QLineF(side * 0.2, side * 0.8, side * 0.8, side * 0.2))


def _out(painter: QPainter, side: float, inks: _Inks) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.body)
    painter.drawEllipse(QRectF(side * 0.03, side * 0.03, side * 0.94, side * 0.94))
    painter.setPen(_pen(inks.mark, _stroke(side)))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawLine(QLineF(side * 0.25, side / 2, side * 0.7, side / 2))
    path = QPainterPath(QPointF(side * 0.53, side * 0.3))
    path.lineTo(side * 0.73, side * 0.5)
    path.lineTo(side * 0.53, side * 0.7)
    painter.drawPath(path)


def _due(painter: QPainter, side: float, inks: _Inks) -> None:
    _ring(painter, side, inks)
    path = QPainterPath(QPointF(side / 2, side * 0.26))
    path.lineTo(side / 2, side * 0.53)
    path.lineTo(side * 0.68, side * 0.63)
    painter.drawPath(path)


def _dot(painter: QPainter, side: float, inks: _Inks) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.line)
    painter.drawEllipse(QPointF(side / 2, side / 2), side / 5, side / 5)


_DRAW: dict[Sign, Callable[[QPainter, float, _Inks], None]] = {
    Sign.STOP: _octagon, Sign.ON_HOLD: _octagon, Sign.CAUTION: _triangle, Sign.OVERDUE: _triangle,
    Sign.FINE: _fine, Sign.READY: _fine, Sign.NOT_GOOD: _not_good, Sign.NOT_CHECKED: _not_checked,
    Sign.NEEDS_CLEANING: _drop, Sign.SCRAPPED: _scrapped, Sign.OUT: _out, Sign.DUE: _due, Sign.DOT: _dot,
}  # fmt: skip


def _battery_sign(painter: QPainter, side: float, colour: QColor, level: float) -> None:
    wide = _stroke(side)
    case = QRectF(wide / 2, side * 0.25, side * 0.86 - wide / 2, side * 0.5)
    painter.setPen(_pen(colour, wide))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(case)
    painter.fillRect(QRectF(side * 0.88, side * 0.4, side * 0.1, side * 0.2), colour)
    inner = case.adjusted(wide * 1.2, wide * 1.2, -wide * 1.2, -wide * 1.2)
    painter.fillRect(QRectF(inner.left(), inner.top(), inner.width() * level, inner.height()), colour)


def battery(painter: QPainter, rect: QRectF, bars: int, of: int = 5, colour: QColor | None = None) -> None:
    """A battery with so many of its bars filled, as its own display shows them."""
    look = current()
    ink = colour or look.colours.ink2
    unit = rect.height() / 24
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    case = QRectF(rect.left(), rect.top(), rect.width() - 6 * unit, rect.height())
    painter.setPen(_pen(ink, 2 * unit))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(case.adjusted(unit, unit, -unit, -unit))
    painter.fillRect(QRectF(case.right(), rect.top() + 7 * unit, 5 * unit, 10 * unit), ink)
    inner = case.adjusted(4 * unit, 4 * unit, -4 * unit, -4 * unit)
    step = (inner.width() + 2 * unit) / of
    for number in range(of):
        bar = QRectF(inner.left() + number * step, inner.top(), step - 2 * unit, inner.height())
        painter.fillRect(bar, ink if number < bars else look.colours.track)
    painter.restore()


def tick_box(painter: QPainter, rect: QRectF, ticked: bool) -> None:
    """The drawn box of a chosen row: empty with an ink outline, or ink with a tick."""
    c = current().colours
    side = min(rect.width(), rect.height())
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.translate(rect.center() - QPointF(side / 2, side / 2))
    wide = max(2.0, side / 11)
    painter.setPen(_pen(c.ink, wide))
    painter.setBrush(c.ink if ticked else c.sheet)
    painter.drawRect(QRectF(wide / 2, wide / 2, side - wide, side - wide))
    if ticked:
        painter.translate(side * -0.02, side * -0.02)
        _tick(painter, side * 1.04, c.page, wide * 1.2)
    painter.restore()
