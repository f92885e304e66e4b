"""The rail: the places of the program as words, the open one a drawer pulled out, the clock at the foot."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from cribdesk.window import drawing
from cribdesk.window.components.base import Pressable
from cribdesk.window.look import Look, current, source

WIDE = 128
PLACES = "places"


@dataclass(frozen=True)
class Place:
    """One place: its id, its word and the key that opens it."""

    id: str
    words: str
    key: str = ""


class RailItem(Pressable):
    """One row of the rail, 64 high."""

    ring_inside = True
    return_presses = True

    def __init__(self, place: Place, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.place = place
        self._count, self.high = 0, 64
        self.setCheckable(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.set_count(0)

    def set_count(self, count: int) -> None:
        """How many things wait there; nothing is shown for none."""
        self._count = count
        waiting = f", {count} waiting" if count else ""
        self.setAccessibleName(self.place.words + waiting)
        self.setToolTip(self.place.key)
        self.update()

    def nextCheckState(self) -> None:
        """The rail decides which place is open."""

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(WIDE), look.px(self.high))

    def draw(self, painter: QPainter, look: Look) -> None:
        c = look.colours
        whole = QRectF(self.rect())
        right = whole.right() - look.px(1)
        if self.isChecked():
            painter.fillRect(whole, c.page)
            drawing.hairline(painter, 0, whole.right(), 0, c.edge)
            drawing.hairline(painter, 0, whole.right(), whole.bottom() - look.px(1), c.edge)
            painter.fillRect(QRectF(0, (whole.height() - look.px(32)) / 2, look.px(4), look.px(32)), c.ink)
        else:
            drawing.upright(painter, right, 0, whole.bottom(), c.edge)
            under = whole.bottom() - look.px(1)
            drawing.hairline(painter, look.px(16), right - look.px(15), under, c.line)
        ink = c.ink if self.isChecked() or self.underMouse() else c.ink2
        room = whole.adjusted(look.px(16), 0, -look.px(16 if whole.width() >= look.px(WIDE) else 12), 0)
        if self._count:
            font = look.font(18, True)
            drawing.text(painter, room, str(self._count), font, c.ink, drawing.RIGHT)
            room.setRight(room.right() - drawing.width(str(self._count), font) - look.px(4))
        drawing.text(painter, room, self.place.words, look.font(18, self.isChecked()), ink)


class _Foot(Pressable):
    """The clock and who is signed on; a press lets somebody else sign on."""

    ring_inside = True
    return_presses = True

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.time, self.lines = "", ()  # type: str, tuple[str, ...]
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(WIDE), look.px(48 + 24 * len(self._broken(look))))

    def _broken(self, look: Look) -> list[str]:
        """The lines, a long name in two: who is signed on is never cut."""
        room = look.px(WIDE - 20)
        return [part for line in self.lines for part in drawing.broken(line, look.font(14), room)]

    def draw(self, painter: QPainter, look: Look) -> None:
        c = look.colours
        if self.underMouse():
            painter.fillRect(self.rect(), c.track)
        room = QRectF(look.px(16), 0, self.width() - look.px(20), look.px(32))
        drawing.text(painter, room, self.time, look.font(24, True), c.ink)
        for number, line in enumerate(self._broken(look)):
            at = QRectF(room.left(), look.px(38 + 24 * number), room.width(), look.px(20))
            drawing.text(painter, at, line, look.font(14), c.ink2, elide=True)
        drawing.upright(painter, self.width() - look.px(1), 0, self.height(), c.edge)


class Rail(QWidget):
    """All places; `chosen(id)` when one is pressed, or `places` from the folded rail."""

    chosen = Signal(str)
    clerk_pressed = Signal()

    def __init__(self, places: tuple[Place, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._compact = False
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self._items = {place.id: self._item(place) for place in places}
        self._fold = self._item(Place(PLACES, "Places"))
        self._foot = _Foot()
        self._foot.setToolTip("Sign on, sign off")
        self._foot.clicked.connect(self.clerk_pressed)
        for item in (*self._items.values(), self._fold):
            column.addWidget(item)
        column.addStretch(1)
        column.addWidget(self._foot)
        self._fold.hide()
        source.look_changed.connect(self._refit)
        self._refit()

    def _item(self, place: Place) -> RailItem:
        item = RailItem(place, self)
        item.clicked.connect(self._press)
        return item

    def _press(self) -> None:
        item = self.sender()
        if isinstance(item, RailItem):
            self.chosen.emit(item.place.id)

    def _refit(self) -> None:
        self.setFixedWidth(current().px(WIDE if not self._compact else 104))
        self.update()

    def set_open(self, place: str) -> None:
        """Pull out the drawer of a place."""
        for id_, item in self._items.items():
            item.setChecked(id_ == place)
        self.set_compact(self._compact)

    def set_count(self, place: str, count: int) -> None:
        """How many things wait at a place."""
        self._items[place].set_count(count)

    def set_foot(self, time: str, lines: tuple[str, ...]) -> None:
        """The clock, and date, counter, clerk beneath it."""
        self._foot.time, self._foot.lines = time, lines
        self._foot.setAccessibleName(", ".join((time, *lines)))
        self._foot.refit()
        self._fit_rows()

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._fit_rows()

    def _fit_rows(self) -> None:
        """Rows of 64, lower down to 44 where the foot would be cut: who is signed on is always seen."""
        look = current()
        room = self.height() - self._foot.measure(look).height()
        high = max(44, min(64, int(room / (look.u * len(self._items)))))
        for item in self._items.values():
            if item.high != high:
                item.high = high
                item.refit()

    def set_compact(self, compact: bool) -> None:
        """Show only the open place and 'Places', for windows under 1000 x 700."""
        self._compact = compact
        for item in self._items.values():
            item.setVisible(not compact or item.isChecked())
        self._fold.setVisible(compact)
        self._refit()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        c = current().colours
        painter.fillRect(self.rect(), c.rail)
        drawing.upright(painter, self.width() - current().px(1), 0, self.height(), c.edge)
        painter.end()

    def keyPressEvent(self, event: object) -> None:
        """Up and down move between the places."""
        from PySide6.QtGui import QKeyEvent

        if isinstance(event, QKeyEvent):
            if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up):
                self.focusNextPrevChild(event.key() == Qt.Key.Key_Down)
            else:
                event.ignore()
