"""One run of the window on one store: opened, shown, closed in good order."""

from __future__ import annotations

import gc
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Thread

from cribdesk import resources
from cribdesk.app import App, bars_of, since_words
from cribdesk.crib.records import Person, Role
from cribdesk.desk.house import House
from cribdesk.desk.ports import Printer
from cribdesk.desk.slate import Clerk, Line
from cribdesk.entering import apply_volume
from cribdesk.opening import OpenDesk, keep_copy, load_house, now, open_desk, private_sample, remove_sample
from cribdesk.station import Station
from cribdesk.window.background import Background, Fault, Progress
from cribdesk.window.crash import LastResort
from cribdesk.window.main import MainWindow
from cribdesk.window.printing import QtPrinter
from cribdesk.window.sounds import Sounds
from cribdesk.window.speak import Speak
from cribdesk.window.start import application, run, wait_until


@dataclass
class Session:
    """A window at work. `app` stands once the store is open; `trouble` says why it could not be.

    With `forecasts` they are kept up to date beside the work.
    """

    window: MainWindow
    background: Background
    station: Station
    speak: Speak
    printer: Printer
    checker: Background
    app: App | None = None
    trouble: str = ""
    sample: Path | None = None
    closed: bool = False
    notes: tuple[str, ...] = ()
    forecasts: bool = False

    def open(self, address: str, *, create: bool = False) -> None:
        """Opens a store on the background thread and stands the app in the window."""
        house, name = self.window.doors.house, self.station["counter"]
        self.window.show_busy("Opening the store")
        self.background.run(lambda: _opened(address, house, name, create), self._stand)

    def open_sample(self) -> None:
        """Opens a fresh private copy of the sample store, with progress where it has to be made first."""
        house, name = self.window.doors.house, self.station["counter"]
        self.window.show_busy("Copying the sample store")

        def work(progress: Progress) -> OpenDesk:
            self.sample = private_sample(lambda share: progress.tell(share, "Making the sample store"))
            return open_desk(str(self.sample), house, name)

        def told(share: float, words: str) -> None:
            self.window.show_busy(f"{words}: {share:.0%}")

        self.background.run_long(work, self._stand, told)

    def _stand(self, result: OpenDesk | Fault) -> None:
        self.window.show_busy(None)
        look_for_garbage()
        if isinstance(result, Fault):
            self.trouble = str(result.error) or type(result.error).__name__
            self.note(self.trouble)
            self._say_closed()
            for asked in (self.window.raw_scan, self.window.chosen):
                asked.connect(self._say_closed)
            return
        self.window.doors.house = result.house
        self.app = App(self.window, self.background, result, self.station, self.printer, self.speak)
        if result.sample_until:
            self.note(since_words(result.sample_until, result.house))
        self.background.run(lambda: _first_clerk(result), self._begin)
        self.checker.run(result.store.quick_check, self._checked)

    def _load_rest(self) -> None:
        """What the first picture does without is loaded on a thread that keeps nobody waiting, before it is wanted."""
        self.checker.run(_load_desk, _nothing)
        if self.forecasts:
            self.checker.run(_load_heavy, self._warm)

    def _warm(self, result: Fault | None) -> None:
        if self.app is not None and not isinstance(result, Fault):
            self.app.begin_forecasts()

    def _checked(self, found: list[str] | Fault) -> None:
        """What looking through the file in the background found wrong with it."""
        wrong = [str(found.error)] if isinstance(found, Fault) else found
        if wrong:
            self.note(f"The store's file is damaged ({wrong[0]}). Stop here and restore a backup: cribdesk restore.")

    def _begin(self, result: tuple[Clerk | None, bool] | Fault) -> None:
        assert self.app is not None
        self._load_rest()
        clerk, empty = (None, False) if isinstance(result, Fault) else result
        if empty:
            self.window.open_place("people")
            self.app.begin(None, "An empty store: enter who looks after it")
            from cribdesk.desk.entry_forms import FIRST

            self.app.want_entry(FIRST)
            return
        self.app.begin(clerk)
        operation_id, _, address = self.station["pending"].partition(" ")
        if operation_id and address == self.app.desk.store.address:
            self.app.settle(operation_id)

    def note(self, words: str) -> None:
        """A notice that stays, beside those that stand already."""
        self.notes = (*self.notes, words)
        self.window.show_note(" ".join(self.notes))

    def _say_closed(self, *_: str) -> None:
        self.window.show_line(Line("refused", "No store is open; the line below says why. Nothing changed."))

    def keep_copy(self, file: Path) -> None:
        """Copies the open store, what its write-ahead log holds too."""
        assert self.app is not None
        desk = self.app.desk

        def told(result: Fault | None) -> None:
            self.trouble = str(result.error) if result else ""

        self.background.run(lambda: keep_copy(desk, file), told)

    def close(self) -> None:
        """Finishes what was asked, closes the store on its own thread, throws a private sample away."""
        if self.closed:
            return
        self.closed = True
        self.checker.close()
        if self.app is not None:
            self.app.stop()
            self.background.run(self.app.desk.store.close, _nothing)
        self.background.close()
        if self.sample is not None:
            remove_sample(self.sample)


def start(printer: Printer | None = None, station: Station | None = None) -> Session:
    """The window with nothing in it yet, its house read from the resource files."""
    station = station or Station()
    unpacking = Thread(target=_unpack_typeface)  # its packer works beside Python
    unpacking.start()
    house, faults = load_house()
    unpacking.join()
    application([], station.scale, station["shade"])
    window = MainWindow(house, counter=station["counter"], bars=bars_of, prefix=station["prefix"])
    speak = Speak(Sounds(), window)
    apply_volume(station, speak)
    chosen = printer or QtPrinter(lambda: station["printer"])
    session = Session(window, Background("store", window), station, speak, chosen, Background("check", window))
    window.closing.connect(session.close)
    for words in (station.trouble, *faults):
        if words:
            session.note(words)
    return session


def _unpack_typeface() -> None:
    with suppress(Exception):  # who asks for it next is told
        for bold in (False, True):
            resources.typeface(bold)


def look_for_garbage() -> None:
    """From the first picture on, where a start did without: what it made stays, and is not looked through again."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()


def run_window(address: str | None, *, sample: bool, create: bool) -> int:
    """Opens the window and stays until it is closed. Returns the exit code."""
    session = start()
    session.forecasts = True
    resort = LastResort(session.station.file.with_name("crash.log"), now)
    resort.install()
    resort.closing.connect(session.window.close)
    session.window.show()
    if sample:
        session.open_sample()
    else:
        session.open(address or "", create=create)
    return run()


def ready(session: Session, seconds: float = 30.0) -> bool:
    """Lets the window work until its store is open and nothing is under way."""

    def at_rest() -> bool:
        return bool(session.trouble) or (
            session.app is not None and not session.background.busy() and not session.app.busy()
        )

    return wait_until(at_rest, seconds) and session.app is not None


def _opened(address: str, house: House, name: str, create: bool) -> OpenDesk:
    return open_desk(address, house, name, create=create)


def _first_clerk(desk: OpenDesk) -> tuple[Clerk | None, bool]:
    """Who stands at the counter of a sample store when it opens, and whether the store has nobody at all."""
    with desk.store.reading() as reader:
        people = reader.find(Person, active=True)
    if desk.sample_until is None:
        return None, not people
    technicians = [one for one in people if one.has(Role.ATTENDANT) and one.has(Role.TECHNICIAN)]
    chosen = next(iter(technicians or [one for one in people if one.has(Role.ATTENDANT)]), None)
    return (Clerk(chosen.id, chosen.label, chosen.name, chosen.roles) if chosen else None), not people


def _load_desk() -> None:
    """Forms, places and papers."""
    import cribdesk.desk.entry_forms
    import cribdesk.desk.printing
    import cribdesk.desk.questions  # noqa: F401


def _load_heavy() -> None:
    from cribdesk.desk.forecasts import warm_up

    warm_up()


def _nothing(_: object) -> None:
    return None

