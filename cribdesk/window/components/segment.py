"""A choice of a few, all seen at once, the chosen one inked."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable
from cribdesk.window.look import Look


class _Segment(Pressable):
    ring_inside = True

    def __init__(self, id_: str, words: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.id, self.words = id_, words
        self.setCheckable(True)
        self.setAccessibleName(words)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def nextCheckState(self) -> None:
        """The row decides."""

    def measure(self, look: Look) -> QSize:
        return QSize(round(drawing.width(self.words, look.font(18, True))) + look.px(32), look.px(48))

    def draw(self, painter: QPainter, look: Look) -> None:
        c, whole = look.colours, QRectF(self.rect())
        ink = c.page if self.isChecked() else c.ink if self.isEnabled() else c.off
        drawing.box(painter, whole, fill=c.ink if self.isChecked() else c.sheet, edge=c.edge)
        drawing.text(painter, whole, self.words, look.font(18, self.isChecked()), ink, drawing.MIDDLE)


class Segmented(QWidget):
    """Choices side by side; `chosen(id)` when a person changes it; left and right move."""

    chosen = Signal(str)

    def __init__(
        self, choices: tuple[tuple[str, str], ...], name: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._line = QHBoxLayout(self)
        self._line.setContentsMargins(0, 0, 0, 0)
        self._line.setSpacing(0)
        self._segments: list[_Segment] = []
        self.set_choices(choices)

    def set_choices(self, choices: tuple[tuple[str, str], ...]) -> None:
        """Offer these (id, words); the choice stays if it is still there, else the first is chosen."""
        before = self.value()
        for old in self._segments:
            self._line.removeWidget(old)
            old.hide()  # a queued show of a layout would make it a window of its own
            old.setParent(None)
            old.deleteLater()
        self._segments = [_Segment(id_, words, self) for id_, words in choices]
        for segment in self._segments:
            self._line.addWidget(segment)
            segment.clicked.connect(self._press)
        ids = [id_ for id_, _ in choices]
        if ids:
            self.set_value(before if before in ids else ids[0])

    def value(self) -> str:
        """The id of what is chosen."""
        return next((s.id for s in self._segments if s.isChecked()), "")

    def set_value(self, id_: str) -> None:
        """Choose without telling."""
        for segment in self._segments:
            segment.setChecked(segment.id == id_)
            segment.setFocusPolicy(Qt.FocusPolicy.TabFocus if segment.id == id_ else Qt.FocusPolicy.NoFocus)

    def _press(self) -> None:
        segment = self.sender()
        if isinstance(segment, _Segment) and not segment.isChecked():
            self.set_value(segment.id)
            self.chosen.emit(segment.id)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        here = next((n for n, s in enumerate(self._segments) if s.isChecked()), None)
        if step is None or here is None or not 0 <= here + step < len(self._segments):
            event.ignore()
            return
        there = self._segments[here + step]
        self.set_value(there.id)
        there.setFocus(Qt.FocusReason.TabFocusReason)
        self.chosen.emit(there.id)
