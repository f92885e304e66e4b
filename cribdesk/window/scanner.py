"""An event filter that tells a scanner's burst of keys from a person's typing."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QWindow
from shiboken6 import isValid

from cribdesk.crib.scan import FNC1, LONGEST_CARTON

_ROWS = {
    2: ("1234567890-=", "!@#$%^&*()_+"),
    16: ("qwertyuiop[]", "QWERTYUIOP{}"),
    30: ("asdfghjkl;'`", 'ASDFGHJKL:"~'),
    43: ("\\zxcvbnm,./", "|ZXCVBNM<>?"),
}
_US = {
    start + place: (plain[place], shifted[place])
    for start, (plain, shifted) in _ROWS.items()
    for place in range(len(plain))
}
# Key positions as the platforms number them: X11 and Wayland count 8 above the kernel's codes.
_OFFSET = {"xcb": 8, "wayland": 8, "windows": 0}


def by_position(event: QKeyEvent, platform: str | None = None) -> str:
    """The character a US keyboard has at that key; the text itself where positions are not told."""
    if event.text() == FNC1:  # typed as Ctrl and a bracket: what it means, not where it sits
        return FNC1
    offset = _OFFSET.get(platform or QGuiApplication.platformName())
    if offset is None or event.nativeScanCode() == 0:
        return event.text()
    pair = _US.get(event.nativeScanCode() - offset)
    if pair is None:
        return event.text()
    return pair[1 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 0]


class Wedge(QObject):
    """Holds printable keys for a moment; a run of 6 or more ended by Return is a scan and goes nowhere else.

    Anything else is replayed to the window it was for. Install it on the application. `scanned` carries the
    text as typed and as US key positions; `overlong` tells that a burst was too long for any code.
    Inside a burst the mark between the fields of a carton (FNC1, typed as GS, often by Ctrl and a bracket) is kept.
    With `prefix` set, a burst that begins with that character may be slower, and the prefix is taken off.
    """

    scanned = Signal(str, str)
    overlong = Signal()
    HOLD = 35  # ms between two keys of a scanner
    PREFIXED_HOLD = 300  # ms, where the prefix says that a scan is coming
    LEAST = 6
    MOST = LONGEST_CARTON

    def __init__(self, parent: QObject | None = None, prefix: str = "") -> None:
        super().__init__(parent)
        self.prefix = prefix
        self._held: list[tuple[QObject, QKeyEvent]] = []
        self._presses = 0
        self._last = 0
        self._replaying = self._too_long = self._prefixed = False
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._look_again)

    def flush(self) -> None:
        """Give back what was held, as typing; an overlong burst is dropped and told."""
        held, too_long = self._held, self._too_long
        self._reset()
        if too_long:
            self.overlong.emit()
            return
        self._replaying = True
        try:
            for window, event in held:
                if isValid(window):
                    QCoreApplication.sendEvent(window, event)
        finally:
            self._replaying = False

    def _look_again(self) -> None:
        """The pause may be the window's own, busy while keys wait in the queue: those come in first."""
        taken = self._presses
        QTimer.singleShot(0, self, lambda: self.flush() if self._presses == taken else None)

    def _reset(self) -> None:
        self._timer.stop()
        self._held, self._presses = [], 0
        self._too_long = self._prefixed = False

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        kind = event.type()
        if kind not in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            return False
        if self._replaying or not isinstance(watched, QWindow) or not isinstance(event, QKeyEvent):
            return False
        if kind == QEvent.Type.KeyRelease:
            return self._release(watched, event)
        return self._press(watched, event)

    def _release(self, window: QObject, event: QKeyEvent) -> bool:
        if self._too_long:
            return True
        if not self._held:
            return False
        self._held.append((window, event.clone()))
        return True

    def _press(self, window: QObject, event: QKeyEvent) -> bool:
        if event.key() in (Qt.Key.Key_Shift, Qt.Key.Key_CapsLock):
            return False
        if (self._presses or self._too_long) and event.timestamp() - self._last > self._hold():
            self.flush()
        self._last = event.timestamp()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            return self._end()
        if _types(event) or (self._presses and event.text() == FNC1):
            self._take(window, event)
            return True
        if self._presses and event.key() == Qt.Key.Key_Control and not self._too_long:
            self._held.append((window, event.clone()))  # a scanner that types GS by Ctrl; given back if it was none
            return True
        self.flush()
        return False

    def _hold(self) -> int:
        return self.PREFIXED_HOLD if self._prefixed else self.HOLD

    def _take(self, window: QObject, event: QKeyEvent) -> None:
        if self.prefix and not self._presses and event.text() == self.prefix:
            self._prefixed = True
        if self._presses >= self.MOST:
            self._too_long, self._held = True, []
        if not self._too_long:
            self._held.append((window, event.clone()))
        self._presses += 1
        self._timer.start(self._hold())

    def _end(self) -> bool:
        """Return was pressed: a scan, the end of an overlong burst, or a person's Return."""
        if self._too_long:
            self.flush()
            return True
        keys = [event for _, event in self._held if event.type() == QEvent.Type.KeyPress and event.text()]
        if self._prefixed:
            keys = keys[1:]
        if len(keys) < self.LEAST:
            self.flush()
            return False
        text = "".join(key.text() for key in keys)
        places = "".join(by_position(key) for key in keys)
        self._reset()
        self.scanned.emit(text, places)
        return True


_COMMANDS = (
    Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier
)


def _types(event: QKeyEvent) -> bool:
    text = event.text()
    if not text or not text.isprintable() or event.isAutoRepeat():
        return False
    return not event.modifiers() & _COMMANDS
