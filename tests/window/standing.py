"""A window on invented cards, without a store: what it emits is kept, what it shows can be read."""

from __future__ import annotations

from dataclasses import dataclass, field

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget

from cribdesk.desk.actions import actions
from cribdesk.desk.slate import Slate
from cribdesk.window.components.base import Pressable
from cribdesk.window.main import MainWindow
from tests.window import samples

SIZES = {
    "1440 x 900": (1440, 900, 1.0),
    "1280 x 820": (1280, 820, 1.0),
    "1024 x 768": (1024, 768, 1.0),
    "960 x 540": (960, 540, 1.0),
    "150 %": (1920, 1200, 1.5),
    "200 %": (1920, 1080, 2.0),
}
SIGNALS = (
    "raw_scan", "chosen", "filled", "answered", "wanted", "print_again", "preview_paper", "station_set", "site_set",
)  # fmt: skip


@dataclass
class Standing:
    """A window and everything it asked for, in order: (signal, arguments)."""

    window: MainWindow
    said: list[tuple[str, tuple[object, ...]]] = field(default_factory=list)

    def listen(self) -> None:
        """Keep what is emitted from now on."""
        for name in SIGNALS:
            getattr(self.window, name).connect(lambda *args, name=name: self.said.append((name, args)))

    def asked(self, name: str) -> list[tuple[object, ...]]:
        """What one signal carried so far."""
        return [args for signal, args in self.said if signal == name]

    def lay(self, slate: Slate) -> None:
        """Show a slate with its buttons and its line."""
        self.window.show_slate(slate, actions(samples.HOUSE, slate))
        self.window.show_line(slate.line)
        settle()

    def open(self, place: str, argument: str, data: object) -> None:
        """Open a place and give it its data."""
        self.window.open_place(place, argument)
        self.window.show_place(place, data)
        settle()

    def key(self, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """Press a key at the window, as the platform delivers it."""
        QTest.keyClick(self.window.windowHandle(), key, modifier)
        settle()

    def burst(self, text: str) -> None:
        """A scan."""
        for character in text:
            QTest.keyClick(self.window.windowHandle(), character)
        QTest.keyClick(self.window.windowHandle(), Qt.Key.Key_Return)
        settle()

    def button(self, words: str) -> QAbstractButton:
        """The one visible button of that accessible name."""
        found = [
            one
            for one in self.window.findChildren(QAbstractButton)
            if one.isVisible() and one.accessibleName() == words
        ]
        assert len(found) == 1, f"{len(found)} buttons say {words!r}"
        return found[0]

    def shown(self) -> str:
        """Every word on the screen: labels, and painted things by what they tell a screen reader."""
        return words_on(self.window)


def words_on(widget: QWidget) -> str:
    """The words of a widget and everything visible in it."""
    found = []
    for one in [widget, *widget.findChildren(QWidget)]:
        if not one.isVisibleTo(widget):
            continue
        if isinstance(one, QLabel):
            found.append(one.text())
        elif isinstance(one, Pressable) or one.accessibleName():
            found += [one.accessibleName(), one.accessibleDescription()]
    return "\n".join(part for part in found if part)


def settle() -> None:
    """Let layouts, painting and posted events run."""
    for _ in range(3):
        QApplication.sendPostedEvents()
        QApplication.processEvents()


def stand(size: str = "1440 x 900") -> Standing:
    """A shown window of a size of the list; the look is already worn."""
    window = MainWindow(samples.HOUSE)
    wide, high, _ = SIZES[size]
    window.show()
    window.resize(wide, high)
    window.show_clock(samples.NOW)
    window.show_board(samples.BOARD)
    made = Standing(window)
    made.listen()
    made.lay(samples.EMPTY)
    return made
