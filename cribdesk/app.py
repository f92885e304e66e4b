"""The only wiring: store, desk, papers and window meet here and in what it stands on, and nowhere else."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from cribdesk.crib.scan import LabelScan, read_scan
from cribdesk.crib.words import when
from cribdesk.desk.cards import AreaCard, BatteryCard, Card, CommandCard, NotFound, PersonCard, UnitCard
from cribdesk.desk.facts import facts_of
from cribdesk.desk.house import House
from cribdesk.desk.lookup import battery_card, look_up, person_card
from cribdesk.desk.matters import matters
from cribdesk.desk.ports import Printer, Reader
from cribdesk.desk.shift_lists.to_complete import NEXT, card_to_complete
from cribdesk.desk.slate import (
    Answered,
    AreasOffered,
    BringNext,
    Chosen,
    Clerk,
    Do,
    Filled,
    Gathered,
    Inquire,
    Inquired,
    Line,
    Looked,
    Offer,
    OfferAreas,
    Offered,
    OpenEntry,
    PrintPaper,
    Request,
    Say,
    Scanned,
    Show,
    Ticked,
    Weigh,
)
from cribdesk.desk.unit_lookup import offer, unit_card
from cribdesk.entering import Entering
from cribdesk.forecasting import LongReading
from cribdesk.opening import OpenDesk
from cribdesk.papers import CannotPrint
from cribdesk.station import Station
from cribdesk.window.background import Background, Fault
from cribdesk.window.main import MainWindow
from cribdesk.window.speak import Speak
from cribdesk.window.start import every
from cribdesk.wiring import SIGN_ON, fault_words, token

TOO_LONG = "Too many characters came at once for a label. Scan again. Nothing changed."
FROM_A_PAGE = ("issue", "take-back", "hold", "change", "complete-return", "more")


def bars_of(label: str) -> tuple[tuple[int, int], ...]:
    """The bars of a label, for the scan line; nothing where it has none."""
    from cribdesk.papers.barcodes import runs

    try:
        return runs(label)[1]
    except CannotPrint:
        return ()


class App(Entering):
    """Carries events to the router and its requests to store, papers and window."""

    def __init__(
        self,
        window: MainWindow,
        background: Background,
        desk: OpenDesk,
        station: Station,
        printer: Printer,
        speak: Speak,
    ) -> None:
        super().__init__(window, background, desk, station, printer, speak)
        self.long_reading = LongReading(self.window, self.background, self._read_out)
        self._connect()
        self._timers = [every(1000, self._second, self.window), every(30_000, self._half_minute, self.window)]
        self._show()
        self._second()
        self.refresh_board()

    def _connect(self) -> None:
        window = self.window
        window.raw_scan.connect(self.scan)
        window.overlong_scan.connect(self._overlong)
        window.found.connect(self.found)
        window.chosen.connect(self.choose)
        window.filled.connect(self._filled)
        window.answered.connect(self._answered)
        window.wanted.connect(self.want)
        window.print_again.connect(self.print_paper)
        window.preview_paper.connect(self.preview)
        window.station_set.connect(self._station_set)
        window.site_set.connect(self._site_set)
        window.entry_wanted.connect(self.want_entry)
        window.entered.connect(self.enter)

    def begin(self, clerk: Clerk | None, words: str = "") -> None:
        """The first line, and who is signed on where a sample store names somebody."""
        line = Line("quiet", words or ("Scan a badge or a unit to begin" if clerk else SIGN_ON.words))
        self.slate = replace(self.slate, clerk=clerk, line=line)
        self._show()
        self.window.show_line(line)

    def stop(self) -> None:
        """No more beats: the window closes."""
        for timer in self._timers:
            timer.stop()
        self.printing.close()

    # Events in.

    def scan(self, text: str, by_position: str = "") -> None:
        """A label was scanned or typed: it is looked up, then the slate takes it."""
        found = read_scan(text, by_position)
        if isinstance(found, LabelScan) and self.window.entry_takes(found.label):
            self._say_here("taken", f"{found.label} is taken into the form", "")
            return

        def looked_up(card: Any) -> None:
            if isinstance(card, CommandCard) and self.window.answer_by_command(card.command):
                return
            before = self._lies()
            self.feed(Scanned(self.clock(), text, card, token()))
            if self._lies() != before and self.window.place()[0] != "counter":
                self.window.open_place("counter")  # what was scanned lies there: it must be seen

        self._ask(lambda reader: look_up(reader, self.house, found, self.clock()), looked_up)

    def found(self, label: str) -> None:
        """Something was found by a search: it lies down as if scanned, or its page opens where that makes no sense.

        A person found by name has no badge in hand: the clerk confirms first who it is.
        """
        if self.window.entry_takes(label):
            self._say_here("taken", f"{label} is taken into the form", "")
            return

        def looked_up(card: Card) -> None:
            from cribdesk.desk.questions import page_of

            slate = self.slate
            lies_down = isinstance(card, (UnitCard, PersonCard, BatteryCard))
            bare = slate.empty and slate.mode == "counter"
            if not lies_down and bare and (page := page_of(card)) is not None:
                self.window.open_place(*page)
                return
            if self.window.place()[0] != "counter":
                self.window.open_place("counter")
            self.feed(Scanned(self.clock(), label, card, token(), by_name=isinstance(card, PersonCard)))

        scan = read_scan(label)
        self._ask(lambda reader: look_up(reader, self.house, scan, self.clock()), looked_up)

    def _lies(self) -> tuple[object, ...]:
        """What lies on the counter."""
        slate = self.slate
        return slate.unit, slate.person, slate.battery, slate.area, slate.tray, slate.form is not None

    def choose(self, command: str, value: str = "") -> None:
        """A command by key, touch or menu; one of another place names what it is about and brings it along."""
        if command == "clean" and value:
            self._gather(value)
        elif (command in FROM_A_PAGE or command in matters()) and value:
            self._bring(command, value)
        else:
            before = self.slate
            self.feed(Chosen(self.clock(), command, value, token()))
            if command in matters() and (before.mode, before.form) != (self.slate.mode, self.slate.form):
                self.window.open_place("counter")  # begun from another place: it must be seen

    def _bring(self, command: str, value: str) -> None:
        """A page or the bench list: its unit or person is laid on the counter first, then the command follows."""
        if self.slate.passed is not None or self.slate.check is not None or self.slate.pending is not None:
            self._say_here("refused", "Something is under way at the counter. Finish it first. Nothing changed.")
            return

        def card(reader: Reader) -> Card | None:
            from cribdesk.desk.questions import unit_of_custody

            if command == "complete-return" and value.startswith(NEXT):
                return card_to_complete(reader, self.house, value, self.clock())
            label = unit_of_custody(reader, int(value)) if value.isdecimal() else value
            return look_up(reader, self.house, read_scan(label), self.clock())

        def found(card: Card | None) -> None:
            if card is None:
                self._say_here("taken", f"{self.slate.line.words.rstrip('.')}. Every return is complete.")
                return
            self.window.open_place("counter")
            slate = self.slate
            there = slate.person if isinstance(card, PersonCard) else slate.unit
            if command != "issue" or there or slate.form or slate.tray or slate.mode != "counter":
                self.feed(Chosen(self.clock(), "put-aside", "", token()))
            self.feed(Scanned(self.clock(), card.label, card, token()))
            if command in matters() or (command != "issue" and isinstance(card, UnitCard)):
                self.feed(Chosen(self.clock(), command, value if value.startswith(NEXT) else "", token()))

        self._ask(card, found)

    def _gather(self, labels: str) -> None:
        def cards(reader: Reader) -> tuple[UnitCard, ...]:
            found = [look_up(reader, self.house, read_scan(one), self.clock()) for one in labels.split(",")]
            return tuple(card for card in found if isinstance(card, UnitCard))

        def gathered(found: tuple[UnitCard, ...]) -> None:
            self.window.open_place("counter")
            self.feed(Gathered(self.clock(), found))

        self._ask(cards, gathered)

    def _overlong(self) -> None:
        self._say_here("refused", TOO_LONG)

    def _filled(self, name: str, value: str) -> None:
        self.feed(Filled(self.clock(), name, value))

    def _answered(self, answer: Any, elapsed_s: float) -> None:
        self.feed(Answered(self.clock(), answer, elapsed_s, token()))

    def _second(self) -> None:
        moment = self.clock()
        words = "sample clock" if self.desk.sample_until else ""
        self.window.show_clock(moment, words)
        self.feed(Ticked(moment, token()))

    def _half_minute(self) -> None:
        self.background.run(self.desk.reload_settings, self._new_house)  # another counter may have changed one
        self.refresh_board()

    # Requests out.

    def carry_out(self, request: Request) -> None:
        """What the router asks for."""
        match request:
            case Do():
                self.do(request.operation, request.clerk_id)
            case Weigh():
                self._weigh(request)
            case Offer():
                self._ask(
                    lambda reader: offer(reader, self.house, request.unit_id, request.position, self.clock()),
                    lambda found: self.feed(Offered(self.clock(), request.position, found)),
                )
            case Inquire():
                self._inquire(request)
            case OpenEntry():
                self.want_entry(request.form, request.about)
            case OfferAreas():
                self._ask(_areas, lambda found: self.feed(AreasOffered(self.clock(), found)))
            case BringNext():
                self._bring(request.command, NEXT)
            case PrintPaper():
                self.print_paper(request.paper, request.of)
            case Say():
                self._sound(request.level, request.words)
            case Show():
                self.window.open_place(request.place, request.label)

    def _inquire(self, request: Inquire) -> None:
        asks = matters()[request.form.matter].asks
        assert asks is not None
        self._ask(
            lambda reader: asks(reader, self.house, request.form, self.clock()),
            lambda form: self.feed(Inquired(self.clock(), form)),
        )

    def _weigh(self, request: Weigh) -> None:
        def look(reader: Reader) -> Looked:
            moment, house = self.clock(), self.house
            return Looked(
                moment,
                unit_card(reader, house, request.unit_id, moment) if request.unit_id else None,
                person_card(reader, house, request.person_id, moment) if request.person_id else None,
                battery_card(reader, house, request.battery_id, moment) if request.battery_id else None,
                facts_of(reader, house, request.ids, moment) if request.ids else None,
            )

        self._ask(look, self.feed)

    # Reading for views.

    def want(self, place: str, argument: str) -> None:
        """A view asks for its data; 'label' for the page of whatever carries it."""
        from cribdesk.desk import questions

        if place == "label":
            scan = read_scan(argument)
            self._ask(lambda reader: look_up(reader, self.house, scan, self.clock()), self._open_page)
        elif place == "board":
            self.refresh_board()
        elif place == "settings":
            self.window.show_place("settings", dict(self.house.settings))
            self._show_station()
        elif place in questions.IN_STEPS:
            steps = questions.IN_STEPS[place]
            self.long_reading.read(place, lambda: steps(self.desk.store, self.house, self.clock()))
        else:
            roles = self.slate.clerk.roles if self.slate.clerk else ""
            self._ask(
                lambda reader: questions.place(reader, self.house, place, argument, self.clock(), roles),
                lambda data: self._placed(place, argument, data),
            )

    def _read_out(self, place: str, data: Any) -> None:
        """What took long was read; a fault is told, and where it was called off the place says so."""
        if isinstance(data, Fault):
            self._say_here("refused", fault_words(data))
            data = None
        self.window.show_place(place, data)

    def _placed(self, place: str, argument: str, data: Any) -> None:
        if data is not None:
            self.window.show_place(place, data)
        elif place in ("unit", "person"):
            self.want("label", argument)  # a label that died says what became of it

    def _open_page(self, card: Card) -> None:
        from cribdesk.desk.questions import page_of

        if isinstance(card, NotFound):
            self._say_here("refused", card.sentence)
        elif (page := page_of(card)) is not None:
            self.window.open_place(*page)


def _areas(reader: Reader) -> tuple[AreaCard, ...]:
    from cribdesk.desk.questions import areas

    return areas(reader)


def since_words(moment: datetime, house: House) -> str:
    """The sample store's notice."""
    return (
        "Sample store: crib, people, makers and histories are made up. "
        f"It runs on its own clock from {when(moment, house.zone, moment)}; what you do here breaks nothing."
    )


