"""What every component is built on: widgets that follow the look, words, and the focus ring."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRectF, QSize, Qt
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QSizePolicy, QWidget
from shiboken6 import isValid

from cribdesk.window import drawing
from cribdesk.window.look import Look, current, role, source

TARGET = 44  # the least height of what is touched, in 100 % px


_KEYBOARD = (
    Qt.FocusReason.TabFocusReason,
    Qt.FocusReason.BacktabFocusReason,
    Qt.FocusReason.ShortcutFocusReason,
)
_ARROWS = (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down)
_BACK_TO_THE_WINDOW = (Qt.FocusReason.ActiveWindowFocusReason, Qt.FocusReason.PopupFocusReason)


class Drawn(QWidget):
    """A painted widget: give `measure` and `draw`."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        source.look_changed.connect(self.refit)

    def refit(self) -> None:
        """Take sizes and colours of the look anew."""
        self.updateGeometry()
        self.update()

    def measure(self, look: Look) -> QSize:
        """The size it likes to have. Each kind says its own: Qt's classes cannot be declared abstract."""
        raise TypeError(f"{type(self).__name__} says not how large it is")

    def draw(self, painter: QPainter, look: Look) -> None:
        """Paint everything."""
        raise TypeError(f"{type(self).__name__} says not how it is painted")

    def sizeHint(self) -> QSize:
        return self.measure(current())

    def minimumSizeHint(self) -> QSize:
        return self.measure(current())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        self.draw(painter, current())
        painter.end()


class Pressable(QAbstractButton):
    """A painted button: Space and touch press it, Return only where `return_presses` says so."""

    return_presses = False
    ring_inside = False

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._by_key = False
        source.look_changed.connect(self.refit)

    def refit(self) -> None:
        """Take sizes and colours of the look anew."""
        self.updateGeometry()
        self.update()

    def measure(self, look: Look) -> QSize:
        """The size it likes to have. Each kind says its own: Qt's classes cannot be declared abstract."""
        raise TypeError(f"{type(self).__name__} says not how large it is")

    def draw(self, painter: QPainter, look: Look) -> None:
        """Paint everything but the focus ring."""
        raise TypeError(f"{type(self).__name__} says not how it is painted")

    def sizeHint(self) -> QSize:
        return self.measure(current())

    def minimumSizeHint(self) -> QSize:
        return self.measure(current())

    def ringed(self) -> bool:
        """Whether the focus came by the keyboard, so that it is to be seen."""
        return self.hasFocus() and self._by_key

    def focusInEvent(self, event: QFocusEvent) -> None:
        if event.reason() not in _BACK_TO_THE_WINDOW:
            self._by_key = event.reason() in _KEYBOARD
        super().focusInEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        self._by_key = True
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.return_presses and not event.isAutoRepeat():
                self.click()
            else:
                event.ignore()
            return
        if event.key() in _ARROWS:  # for the row or the board it stands in, not for Qt's own guess
            event.ignore()
            return
        super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        self.draw(painter, current())
        if self.ring_inside and self.ringed():
            drawing.inner_ring(painter, QRectF(self.rect()))
        painter.end()


class Words(QLabel):
    """Plain words in a size of the scale: 14, 18, 24, 36, 72; only wrapping ones may grow."""

    def __init__(
        self, words: str = "", px: int = 18, bold: bool = False, ink: str = "ink", wrap: bool = False,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self._px, self._bold, self._wrap = px, bold, wrap
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        if wrap:
            self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.refit()
        role(self, ink)
        self.setText(words)
        source.look_changed.connect(self.refit)

    def set_ink(self, ink: str) -> None:
        """Change the colour role."""
        role(self, ink)
        self.setFont(current().font(self._px, self._bold))  # a new role brings the first font back

    def refit(self) -> None:
        """Take the font of the look anew."""
        look = current()
        if self.testAttribute(Qt.WidgetAttribute.WA_WState_Polished):
            self.style().polish(self)  # brings the first font back: so the new one comes after it
        self.setFont(look.font(self._px, self._bold))
        if not self._wrap:
            self.setFixedHeight(look.px({14: 20, 18: 24, 24: 32, 36: 44}.get(self._px, self._px * 1.2)))


class Rule(Drawn):
    """A hairline across; `ink` is line or edge."""

    def __init__(self, ink: str = "line", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ink = ink
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(8), look.px(1))

    def draw(self, painter: QPainter, look: Look) -> None:
        drawing.hairline(painter, 0, self.width(), 0, look.colours.role(self._ink))


class SignMark(Drawn):
    """One sign as a widget, with its word for screen readers."""

    def __init__(self, kind: str, px: int = 24, ground: str = "page", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._px, self._ground = px, ground
        self._kind = kind
        self.set_kind(kind)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def set_kind(self, kind: str) -> None:
        """Show another sign; an empty kind shows none and keeps the room."""
        self._kind = kind
        self.setAccessibleName(kind)
        self.update()

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(self._px), look.px(self._px))

    def draw(self, painter: QPainter, look: Look) -> None:
        from cribdesk.window.signs import sign

        if self._kind:
            sign(painter, QRectF(self.rect()), self._kind, ground=self._ground)


class _Ring(QWidget):
    """One ring, a sibling of the widget it stands round, so that it scrolls with it and ends with it."""

    REACH = 5

    def __init__(self, target: Pressable) -> None:
        super().__init__(target.parentWidget())
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents, True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._target = target
        target.installEventFilter(self)
        self._place()

    def _place(self) -> None:
        if not isValid(self._target):
            self.hide()
            return
        reach = current().px(self.REACH)
        self.setGeometry(self._target.geometry().adjusted(-reach, -reach, reach, reach))
        self.setVisible(self._target.isVisible() and self._target.ringed())
        self.raise_()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.Move, QEvent.Type.Resize, QEvent.Type.Show, QEvent.Type.Hide):
            self._place()
        return False

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        drawing.box(painter, QRectF(self.rect()), edge=current().colours.acc, thick=3, radius=6)
        painter.end()


class FocusRing(QObject):
    """Rings the widget that took the focus by the keyboard: 3 px accent outside a gap of 2; one per program."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self._ring: _Ring | None = None
        app.focusChanged.connect(self.follow)

    def ring(self) -> QWidget | None:
        """The ring that is drawn now."""
        return self._ring if self._ring is not None and isValid(self._ring) else None

    def follow(self, old: QWidget | None, new: QWidget | None) -> None:
        """Move to the widget that took the focus, when it is one that is ringed from outside."""
        if self._ring is not None and isValid(self._ring):
            self._ring.hide()
            self._ring.deleteLater()
        self._ring = None
        if isinstance(new, Pressable) and not new.ring_inside and new.parentWidget() is not None:
            self._ring = _Ring(new)
