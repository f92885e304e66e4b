"""What all wiring shares: the slate and its router, operations on the store's thread, what is said of them."""

from __future__ import annotations

import uuid
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from cribdesk.crib.refusal import NotAllowed
from cribdesk.desk.actions import actions
from cribdesk.desk.board import counter_board
from cribdesk.desk.house import House
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Printer, Reader
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.router import route
from cribdesk.desk.slate import Changed, Done, Event, Line, Request, Slate
from cribdesk.desk.timeline import names_of, with_names
from cribdesk.forecasting import TOPIC, Forecasting
from cribdesk.opening import OpenDesk
from cribdesk.station import Station
from cribdesk.store.faults import StoreFault
from cribdesk.window.background import Background, Fault
from cribdesk.window.main import MainWindow
from cribdesk.window.speak import Speak
from cribdesk.window.view import CLERK

T = TypeVar("T")

SIGN_ON = Line("quiet", "Scan a staff badge to sign on")


class Wiring(ABC):
    """A window, a store and a printer with what lies on the counter between them.

    Everything of the store runs on one background thread, which opened it; here are only values.
    """

    def __init__(
        self,
        window: MainWindow,
        background: Background,
        desk: OpenDesk,
        station: Station,
        printer: Printer,
        speak: Speak,
    ) -> None:
        self.window, self.background, self.desk = window, background, desk
        self.printing = Background("printer", window)
        self.station, self.printer, self.speak = station, printer, speak
        self.house: House = desk.house
        self.clock = desk.clock
        self.slate = Slate(line=SIGN_ON)
        self.forecasting: Forecasting | None = None

    @abstractmethod
    def carry_out(self, request: Request) -> None:
        """What the router asks for. The app says how."""

    def feed(self, event: Event) -> None:
        """One event through the router; the window shows the slate that comes of it."""
        before = self.slate
        self.slate, requests = route(self.house, before, event)
        if self.slate is not before:
            self._show()
        if self.slate.line != before.line:
            self.window.show_line(self.slate.line)
        for request in requests:
            self.carry_out(request)
        if self.slate.clerk != before.clerk:
            self.window.show_changed(frozenset({CLERK}))

    def begin_forecasts(self) -> None:
        """From now on forecasts are kept up to date beside the work; until there are some, rules of thumb stand."""
        desk = self.desk
        self.forecasting = Forecasting(
            self.window, self.background, desk.store, desk.clock, lambda: self.house, self._forecast
        )
        self.forecasting.look()

    def _forecast(self) -> None:
        """Forecasts were made anew: what shows one asks again."""
        lying = self.slate.unit.label if self.slate.unit else ""
        self.window.show_changed(frozenset({TOPIC, "unit", self.window.place()[1]}))
        self.feed(Changed(self.clock(), frozenset({TOPIC, lying})))
        self.refresh_board()

    def busy(self) -> bool:
        """Whether something is asked of the store or the printer and not back."""
        return self.background.busy() or self.printing.busy()

    def _remember(self, operation_id: str) -> None:
        """Kept until the answer is back: after a crash this store is asked whether it stands."""
        self.station.set("pending", f"{operation_id} {self.desk.store.address}")

    def _forget(self, operation_id: str) -> None:
        if self.station["pending"].partition(" ")[0] == operation_id:
            self.station.set("pending", "")

    def do(self, operation: Operation, clerk_id: int | None) -> None:
        """An operation on the background thread; its id is kept until the answer is back."""
        self._remember(operation.operation_id)

        def done(result: Receipt | NotAllowed | Fault) -> None:
            self._forget(operation.operation_id)
            self._new_house(self.desk.house)
            answer = fault_words(result) if isinstance(result, Fault) else result
            self.feed(Done(self.clock(), operation.operation_id, answer, token()))
            if isinstance(result, Receipt):
                self._after(result)

        self.background.run(lambda: self._attempt(operation, clerk_id), done)

    def _attempt(self, operation: Operation, clerk_id: int | None) -> Receipt | NotAllowed:
        try:
            receipt = self._done(operation, clerk_id)
        except NotAllowed as failure:
            return failure
        return replace(receipt, sentence=self._named(receipt))

    def _done(self, operation: Operation, clerk_id: int | None) -> Receipt:
        """Carries it out; where its answer was lost on the way, the journal is asked whether it stands."""
        try:
            return self.desk.counter.do(operation, clerk_id)
        except StoreFault:
            stands = self.desk.counter.done_already(operation.operation_id)
            if stands is None:
                raise
            return stands

    def _named(self, receipt: Receipt) -> str:
        with self.desk.store.reading() as reader:
            names = names_of(reader, (receipt.sentence,))
        return with_names(receipt.sentence, names)

    def _after(self, receipt: Receipt) -> None:
        if self.slate.clerk is not None:
            self.station.set("clerk", self.slate.clerk.label)
        if "site_setting" in receipt.topics:
            self.background.run(self.desk.reload_settings, self._new_house)
        self.window.show_changed(receipt.topics)
        self.refresh_board()
        if self.forecasting is not None:
            self.forecasting.touched(receipt.topics)

    def _new_house(self, house: House | Fault) -> None:
        if isinstance(house, House) and house is not self.house:
            self.house = house
            self.window.doors.house = house

    def settle(self, operation_id: str) -> None:
        """After a crash: whether the operation that was under way stands."""

        def look() -> Receipt | None:
            found = self.desk.counter.done_already(operation_id)
            return replace(found, sentence=self._named(found)) if found else None

        def told(result: Receipt | Fault | None) -> None:
            if isinstance(result, Fault):  # not known yet: asked again at the next start
                self._say_here("refused", fault_words(result))
                return
            self._forget(operation_id)
            if result is not None:
                papers = " Its papers print from the journal." if result.papers else ""
                self._say_here("caution", f"Before the program ended this was done: {result.sentence}{papers}")
            else:
                self._say_here("caution", "The program ended before its last operation was done. Nothing was changed.")

        self.background.run(look, told)

    # Reading.

    def refresh_board(self) -> None:
        """The empty counter's numbers, looked up anew."""
        self._ask(lambda reader: counter_board(reader, self.house, self.clock()), self.window.show_board)

    def _ask(self, question: Callable[[Reader], T], answered: Callable[[T], None]) -> None:
        def read() -> T:
            with self.desk.store.reading() as reader:
                return question(reader)

        def back(result: T | Fault) -> None:
            if isinstance(result, Fault):
                self._say_here("refused", fault_words(result))
            else:
                answered(result)

        self.background.run(read, back)

    # Showing.

    def _show(self) -> None:
        self.window.show_slate(self.slate, actions(self.house, self.slate))

    def _say_here(self, level: str, words: str, label: str | None = None) -> None:
        """Says it in the strip, beside the label that stands there or another."""
        beside = self.slate.line.label if label is None else label
        self.slate = replace(self.slate, line=Line(level, words, beside, self.clock()))
        self.window.show_line(self.slate.line)
        self._sound(level, words)

    def _sound(self, level: str, words: str) -> None:
        speak = {"taken": self.speak.said, "caution": self.speak.caution, "refused": self.speak.refused}.get(level)
        if speak is not None:
            speak(words)


def token() -> str:
    """A fresh number for what a person confirms."""
    return str(uuid.uuid4())


def fault_words(fault: Fault) -> str:
    """A fault in plain words; the report goes to the log."""
    return str(fault.error) or type(fault.error).__name__
