"""The real window on the shop's store: scan, press, click and type as people do, and read what is shown."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

from PySide6.QtCore import QCoreApplication, QEvent, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QWidget,
)

from cribdesk.app import App
from cribdesk.crib.entry import Entry
from cribdesk.crib.records import Hold, Slip
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.ports import Reader
from cribdesk.procedure.run import page
from cribdesk.session import Session, start
from cribdesk.station import Station
from cribdesk.window import drawing
from cribdesk.window.hands import press, scan, type_slowly
from cribdesk.window.start import wait_until

T = TypeVar("T")


class Clock:
    """The moment it was set to; it goes on by a millisecond a look, and otherwise only when told."""

    def __init__(self, moment: datetime) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        self.moment += timedelta(milliseconds=1)
        return self.moment

    def later(self, **span: float) -> None:
        """So much later; less than nothing sets it back."""
        self.moment += timedelta(**span)


@dataclass
class Kept:
    """A printer that keeps every paper; while `trouble` is set it raises that."""

    papers: list[tuple[str, bytes]] = field(default_factory=list)
    trouble: str = ""

    def print(self, paper: str, pdf: bytes) -> None:
        """Keep it."""
        if self.trouble:
            raise OSError(self.trouble)
        self.papers.append((paper, pdf))

    def names(self) -> list[str]:
        """What was printed, in order."""
        return [paper for paper, _ in self.papers]


class StepClock:
    """Stands for the elapsed-time clock of a timed step: it shows what `ran` says."""

    ran = 0.0

    def start(self) -> None:
        """Begin."""

    def nsecsElapsed(self) -> int:
        """What was set, in Qt's own unit."""
        return round(self.ran * 1e9)


@contextmanager
def painted() -> Iterator[list[str]]:
    """Every word that is painted, while this is open; what does not fit a cell as it was before it was cut."""
    seen: list[str] = []
    real = drawing.text

    def text(painter: Any, rect: Any, words: str, *rest: Any, **more: Any) -> float:
        if words:
            seen.append(words)
        return real(painter, rect, words, *rest, **more)

    drawing.text = text
    try:
        yield seen
    finally:
        drawing.text = real


@dataclass
class DeskWindow:
    """The window, and hands and eyes for it. Names are those of the shop."""

    session: Session
    printer: Kept
    clock: Clock
    names: dict[str, str]
    store: Path

    @property
    def app(self) -> App:
        """The wiring, once the store is open."""
        assert self.session.app is not None, self.session.trouble
        return self.session.app

    @property
    def window(self) -> Any:
        """The main window."""
        return self.session.window

    # Hands.

    def rest(self) -> None:
        """Let the window work until nothing is under way."""

        def still() -> bool:
            app = self.session.app
            return not self.session.background.busy() and (app is None or not app.busy())

        for _ in range(2):
            QApplication.processEvents()
            assert wait_until(still, 20.0), "the window did not come to rest"
            QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    def label(self, name: str) -> str:
        """The label behind a name; 'slip' and 'tag' are the last ones; anything else is itself."""
        if name in ("slip", "tag"):
            kind = Slip if name == "slip" else Hold
            found = self.read(lambda reader: reader.latest(kind))
            assert found is not None, name
            return found.label if isinstance(found, Slip) else found.tag  # type: ignore[attr-defined]
        if name.startswith("card "):
            return BY_ID[name[5:]].label
        return self.names.get(name, name)

    def scan(self, *names: str) -> None:
        """Scan these one after the other, as a scanner types them."""
        for name in names:
            scan(self.window, self.label(name))
            self.rest()

    def press(self, *keys: str) -> None:
        """Press function keys."""
        for key in keys:
            press(self.window, key)
            self.rest()

    def key(self, key: Qt.Key, modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """Any key, through the window."""
        QTest.keyClick(self.window.windowHandle(), key, modifiers)
        self.rest()

    def type(self, text: str) -> None:
        """Type at a person's pace."""
        type_slowly(self.window, text)
        self.rest()

    def pause(self, milliseconds: int) -> None:
        """A person waits."""
        QTest.qWait(milliseconds)
        self.rest()

    def click(self, words: str) -> None:
        """Click the button that says this with the mouse."""
        self.click_on(self.button(words))

    def click_on(self, widget: QWidget, at: QPoint | None = None) -> None:
        """Click in the middle of a widget."""
        where = at or widget.rect().center()
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, where)
        self.rest()

    def button(self, words: str) -> QAbstractButton:
        """The one visible button whose words begin so."""
        found = [one for one in self.buttons() if said(one).startswith(words)]
        exact = [one for one in found if said(one) == words]
        found = exact or found
        assert found, f"no button {words!r} among {[said(one) for one in self.buttons()]}"
        return found[0]

    def buttons(self) -> list[QAbstractButton]:
        """Every button that is shown."""
        return [one for one in self.window.findChildren(QAbstractButton) if one.isVisible()]

    # Eyes.

    def line(self) -> str:
        """What the strip says."""
        with painted() as seen:
            strip = self.window.check.strip if self.window.check.isVisible() else self.window.scan_line
            strip.grab()
        return " ".join(seen)

    def shown(self) -> str:
        """Every word a person can read now: painted ones and those of labels and fields."""
        QApplication.processEvents()
        with painted() as seen:
            self.window.grab()
        found = [*seen]
        for widget in self.window.findChildren(QWidget):
            if widget.isVisible():
                found += words_of(widget)
        return " ".join(found).replace("\n", " ")

    def lacks(self, *words: str) -> None:
        """None of this is shown."""
        shown = self.shown()
        assert not [one for one in words if one in shown], shown

    def shows(self, *words: str) -> None:
        """All of this is shown; told with the whole screen when it is not."""
        shown = self.shown()
        missing = [one for one in words if one not in shown]
        assert not missing, f"missing {missing} in:\n{shown}"

    def says(self, *words: str) -> None:
        """The strip says all of this."""
        line = self.line()
        missing = [one for one in words if one not in line]
        assert not missing, f"missing {missing} in: {line}"

    # The store.

    def read(self, question: Callable[[Reader], T]) -> T:
        """Ask the store, on the thread that owns it."""
        found: list[Any] = []
        desk = self.app.desk

        def work() -> T:
            with desk.store.reading() as reader:
                return question(reader)

        self.session.background.run(work, found.append)
        self.rest()
        assert found, "the store gave no answer"
        assert not hasattr(found[0], "report"), found[0]
        return found[0]  # type: ignore[no-any-return]

    def entries(self, count: int = 12) -> list[Entry]:
        """The newest entries of the journal, newest first."""
        return list(self.read(lambda reader: reader.entries(count=count)).entries)

    def seq(self) -> int:
        """How many entries the journal has."""
        return self.read(lambda reader: reader.head()).seq

    # Stretches.

    def sign_on(self, name: str = "Castel") -> None:
        """Somebody takes the counter."""
        self.scan(name)

    def put_down(self, person: str = "Wronecka", unit: str = "wl-1", pack: str = "pack-1", area: str = "bay-3") -> None:
        """Everything an issue needs."""
        self.scan(*(one for one in (person, unit, pack, area) if one))

    def answer_well(self, until: str = "") -> None:
        """Answer every page well by keyboard, up to the page whose heading, or kind, begins so."""
        for _ in range(60):
            check = self.app.slate.check
            if check is None:
                return
            now = page(check.run)
            if until and (now.kind == until or now.heading.startswith(until) or now.step == until):
                return
            if now.kind == "reading":
                low, high = (now.limit.low or 0, now.limit.high) if now.limit else (180, None)
                self.air()
                self.type(f"{(low + (high if high is not None else low + 20)) / 2:.0f}")
                self.press("F5")
            elif now.kind == "timed":
                self.timed(((now.limit.low or 0) + (now.limit.high or now.limit.low or 0)) / 2 if now.limit else 1)
            else:
                self.press("F5")
        raise AssertionError(f"the check did not end: {self.shown()}")

    def air(self, celsius: str = "20") -> None:
        """The day's first reading asks for the air at the meter; Enter goes on to the reading."""
        if self.app.slate.air is None:
            self.type(celsius)
            self.press("Return")

    def timed(self, seconds: float, end: str = "F5") -> None:
        """Start the step's clock, let it show so many seconds, and answer."""
        self.press("F5")
        StepClock.ran = seconds
        self.press(end)
        StepClock.ran = 0.0

    def issue(self, *names: str) -> None:
        """One whole hand-over."""
        self.put_down(*names)
        self.press("F5")
        self.answer_well()
        self.scan(names[0] if names else "Wronecka")

    def close(self) -> None:
        """Close the window as a person does."""
        if self.session.app is not None:
            self.rest()
        self.window.close()
        self.session.close()
        self.window.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        QApplication.processEvents()


def said(button: QAbstractButton) -> str:
    """A button's words as a screen reader has them."""
    return button.accessibleName() or button.text()


def words_of(widget: QWidget) -> list[str]:
    """The words a widget carries besides painting them."""
    if isinstance(widget, QLabel):
        return [widget.text()] if widget.text() else []
    if isinstance(widget, QLineEdit):
        return [widget.text()] if widget.text() else []
    if isinstance(widget, QPlainTextEdit):
        return [widget.toPlainText()] if widget.toPlainText() else []
    if isinstance(widget, QAbstractButton):
        return [said(widget)] if said(widget) else []
    return []


def stand(store: Path | str, folder: Path, clock: Clock, names: dict[str, str], *, create: bool = False) -> DeskWindow:
    """Opens the window on a store as the program does; `cribdesk.opening.now` must be the clock already."""
    printer = Kept()
    session = start(printer, Station(folder / "workstation.json"))
    session.window.resize(1440, 900)
    session.window.show()
    desk = DeskWindow(session, printer, clock, names, Path(store))
    session.open(str(store), create=create)
    desk.rest()
    return desk
