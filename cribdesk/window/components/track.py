"""The inspection's track: every step in order, what was answered, and where one stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Drawn
from cribdesk.window.look import Look
from cribdesk.window.signs import sign

State = Literal["done", "now", "to do", "caution", "not good", "stop"]


@dataclass(frozen=True)
class Step:
    """One step: its words, its state, a figure at the right; a rung is a step of a ladder, indented."""

    words: str
    state: State = "to do"
    figure: str = ""
    rung: bool = False


class Track(Drawn):
    """All steps, 336 wide; when the room ends, those round the present one."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._steps: tuple[Step, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)

    def set_steps(self, steps: tuple[Step, ...]) -> None:
        """Show these."""
        self._steps = steps
        here = self._here()
        at = f"Step {here + 1} of {len(steps)}: {steps[here].words}. " if steps else ""
        rest = ". ".join(f"{s.words}: {s.state} {s.figure}".strip() for s in steps)
        self.setAccessibleName(at + rest)
        self.update()

    def _here(self) -> int:
        return next((n for n, step in enumerate(self._steps) if step.state == "now"), 0)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(336), look.px(8 * 48))

    def _height(self, step: Step, look: Look) -> int:
        return look.px(40 if step.rung else 48)

    def _shown(self, look: Look) -> tuple[int, int]:
        """The first and the last step but one that fit, always with the present one."""
        room = self.height() - look.px(32)
        first, last = self._here(), self._here() + 1
        used = self._height(self._steps[first], look) if self._steps else 0
        while True:
            grown = False
            for before in (True, False):
                if before and first > 0:
                    more = self._height(self._steps[first - 1], look)
                    if used + more <= room:
                        first, used, grown = first - 1, used + more, True
                elif not before and last < len(self._steps):
                    more = self._height(self._steps[last], look)
                    if used + more <= room:
                        last, used, grown = last + 1, used + more, True
            if not grown:
                return first, last

    def draw(self, painter: QPainter, look: Look) -> None:
        c = look.colours
        painter.fillRect(self.rect(), c.rail)
        drawing.upright(painter, self.width() - look.px(1), 0, self.height(), c.edge)
        if not self._steps:
            return
        first, last = self._shown(look)
        top = float(look.px(16))
        for number in range(first, last):
            step = self._steps[number]
            row = QRectF(0, top, self.width(), self._height(step, look))
            if step.state == "now":
                self._drawer(painter, look, row)
            middle = row.center().y()
            line = QRectF(look.px(35), row.top(), look.px(2), row.height())
            if number == 0:
                line.setTop(middle)
            if number == len(self._steps) - 1:
                line.setBottom(middle)
            painter.fillRect(line, c.edge)
            self._node(painter, look, QPointF(look.px(36), middle), step)
            self._words(painter, look, row, step)
            top = row.bottom()

    def _drawer(self, painter: QPainter, look: Look, row: QRectF) -> None:
        c = look.colours
        painter.fillRect(row, c.page)
        drawing.hairline(painter, 0, row.right(), row.top(), c.edge)
        drawing.hairline(painter, 0, row.right(), row.bottom() - look.px(1), c.edge)
        high = look.px(32) if row.height() > look.px(40) else look.px(24)
        painter.fillRect(QRectF(0, row.center().y() - high / 2, look.px(4), high), c.ink)

    def _node(self, painter: QPainter, look: Look, at: QPointF, step: Step) -> None:
        c, u = look.colours, look.u
        if step.state not in ("now", "to do"):
            reach = look.px(9 if step.rung and step.state == "done" else 17)
            painter.fillRect(QRectF(at.x() - reach, at.y() - reach, 2 * reach, 2 * reach), c.rail)
        if step.state == "now":
            painter.setPen(QPen(c.ink, 1))
            painter.setBrush(c.ink)
            painter.drawEllipse(at, 9 * u, 9 * u)
        elif step.state == "to do":
            radius = (4 if step.rung else 7.5) * u
            painter.setPen(QPen(c.edge, 2 * u))
            painter.setBrush(c.rail)
            painter.drawEllipse(at, radius, radius)
        elif step.rung and step.state == "done":
            painter.setPen(QPen(c.ink2, 1))
            painter.setBrush(c.ink2)
            painter.drawEllipse(at, 3.5 * u, 3.5 * u)
        else:
            side = look.px(22)
            box = QRectF(at.x() - side / 2, at.y() - side / 2, side, side)
            sign(painter, box, "fine" if step.state == "done" else step.state, ground="rail")

    def _words(self, painter: QPainter, look: Look, row: QRectF, step: Step) -> None:
        c, now = look.colours, step.state == "now"
        left = look.px(64 + (16 if step.rung else 0))
        room = QRectF(left, row.top(), self.width() - left - look.px(24), row.height())
        if step.figure:
            drawing.text(painter, room, step.figure, look.font(18, now), c.ink, drawing.RIGHT)
            room.setRight(room.right() - drawing.width(step.figure, look.font(18, now)) - look.px(8))
        drawing.text(painter, room, step.words, look.font(18, now), c.ink if now else c.ink2, elide=True)
