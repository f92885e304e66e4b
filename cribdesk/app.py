"""The only wiring: store, desk, papers and window meet here and nowhere else.

Longer than 400 lines since no second file may know all rooms.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any, TypeVar

from cribdesk.crib.refusal import NoClerk, NotAllowed
from cribdesk.crib.scan import LabelScan, read_scan
from cribdesk.crib.words import when
from cribdesk.desk import questions
from cribdesk.desk.actions import actions
from cribdesk.desk.cards import BatteryCard, Card, CommandCard, NotFound, PersonCard, UnitCard
from cribdesk.desk.entry_changes import RELABEL
from cribdesk.desk.entry_form import ABOUT, Asked, Entered, EntryForm, FormTroubles, troubles_of
from cribdesk.desk.entry_forms import FIRST, about_next, closes, form_of, labels_of, may_open, next_form, operation_of
from cribdesk.desk.facts import facts_of
from cribdesk.desk.fleet_picture import Told
from cribdesk.desk.forecasts import Step
from cribdesk.desk.house import House
from cribdesk.desk.lookup import battery_card, look_up, person_card
from cribdesk.desk.matters import matters
from cribdesk.desk.office import NotePrint, SetSetting
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Printer, Reader
from cribdesk.desk.printing import IN_STEPS, kept_back, next_copy, record_for
from cribdesk.desk.printouts_orders import RequisitionSheet
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.router import route
from cribdesk.desk.shift_lists.to_complete import NEXT, card_to_complete
from cribdesk.desk.slate import (
    Answered,
    AreasOffered,
    BringNext,
    Changed,
    Chosen,
    Clerk,
    Do,
    Done,
    Event,
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
    Slate,
    Ticked,
    Weigh,
)
from cribdesk.desk.timeline import names_of, with_names
from cribdesk.desk.unit_lookup import offer, unit_card
from cribdesk.forecasting import TOPIC, Forecasting, LongPaper, LongReading
from cribdesk.opening import OpenDesk
from cribdesk.papers import CannotPrint, PaperSettings, render, render_in_steps
from cribdesk.station import Station
from cribdesk.store.faults import StoreFault
from cribdesk.window.background import Background, Fault
from cribdesk.window.doors import paper_words
from cribdesk.window.main import MainWindow
from cribdesk.window.plot_file import csv_file
from cribdesk.window.preview import PaperTable
from cribdesk.window.printing import printers
from cribdesk.window.speak import Speak
from cribdesk.window.start import dress, every
from cribdesk.window.view import CLERK

T = TypeVar("T")

TOO_LONG = "Too many characters came at once for a label. Scan again. Nothing changed."
FROM_A_PAGE = ("issue", "take-back", "hold", "change", "complete-return", "more")
SIGN_ON = Line("quiet", "Scan a staff badge to sign on")
LABELS = "label_sheet"


def bars_of(label: str) -> tuple[tuple[int, int], ...]:
    """The bars of a label, for the scan line; nothing where it has none."""
    from cribdesk.papers.barcodes import runs

    try:
        return runs(label)[1]
    except CannotPrint:
        return ()


class App:
    """Carries events to the router and its requests to store, papers and window.

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
        self._connect()
        self._timers = [every(1000, self._second, window), every(30_000, self._half_minute, window)]
        self._show()
        self._second()
        self.refresh_board()
        self.forecasting: Forecasting | None = None
        self.long_reading = LongReading(window, background, self._read_out)
        self.long_paper = LongPaper(
            window, background, self.printing, self._read_long, self._draw_long, self._made_long
        )

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

    def stop(self) -> None:
        """No more beats: the window closes."""
        for timer in self._timers:
            timer.stop()
        self.printing.close()

    # Events in.

    def feed(self, event: Event) -> None:
        """One event through the router; the window shows the slate that comes of it."""
        before = self.slate
        self.slate, requests = route(self.house, before, event)
        if self.slate is not before:
            self._show()
        if self.slate.line != before.line:
            self.window.show_line(self.slate.line)
        for request in requests:
            self._carry_out(request)
        if self.slate.clerk != before.clerk:
            self.window.show_changed(frozenset({CLERK}))

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
            slate = self.slate
            lies_down = isinstance(card, (UnitCard, PersonCard, BatteryCard))
            bare = slate.empty and slate.mode == "counter"
            if not lies_down and bare and (page := questions.page_of(card)) is not None:
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
            if command == "complete-return" and value.startswith(NEXT):
                return card_to_complete(reader, self.house, value, self.clock())
            label = questions.unit_of_custody(reader, int(value)) if value.isdecimal() else value
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
        self.refresh_board()

    # Requests out.

    def _carry_out(self, request: Request) -> None:
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
                self._ask(questions.areas, lambda found: self.feed(AreasOffered(self.clock(), found)))
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
        if isinstance(house, House):
            self.house = house
            self.window.doors.house = house

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
        if isinstance(card, NotFound):
            self._say_here("refused", card.sentence)
        elif (page := questions.page_of(card)) is not None:
            self.window.open_place(*page)

    def refresh_board(self) -> None:
        """The empty counter's numbers, looked up anew."""
        self._ask(lambda reader: questions.board(reader, self.house, self.clock()), self.window.show_board)

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

    # Papers.

    def print_paper(self, paper: str, of: str) -> None:
        """Renders and prints on the background thread; the journal keeps what came of it, and who printed it."""
        if self.slate.clerk is None:
            self._say_here("refused", NoClerk().words())
            return
        if self._kept_back(paper):
            return
        if paper in IN_STEPS:
            self._make_long(paper, of, to_print=True)
            return

        def rendered(result: tuple[bytes, int] | Fault) -> None:
            if isinstance(result, Fault):
                self._note_print(paper, of, fault_words(result))
            else:
                self.printing.run(lambda: self._on_paper(paper, result[0]), lambda said: self._printed(paper, of, said))

        self.background.run(lambda: self._render(paper, of), rendered)

    def _on_paper(self, paper: str, pdf: bytes) -> str:
        """What went wrong at the printer, or nothing. On a thread of its own: a printer may keep one waiting."""
        try:
            self.printer.print(paper, pdf)
        except OSError as failure:
            return str(failure) or "the printer does not answer"
        return ""

    def _render(self, paper: str, of: str) -> tuple[bytes, int]:
        moment = self.clock()
        with self.desk.store.reading() as reader:
            copy = next_copy(reader, paper, of)
            record = record_for(reader, self.house, paper, of, moment, copy)
        return render(paper, record, self.paper_settings(copy)), copy

    def paper_settings(self, copy: int) -> PaperSettings:
        """How papers come out at this site."""
        found = self.house.settings
        return PaperSettings(
            page="letter" if found["page"] == "letter" else "A4",
            tag=found["tag_size"],
            site=found["site_name"],
            copy=copy,
        )

    def _note_print(self, paper: str, of: str, trouble: str) -> None:
        clerk = self.slate.clerk
        if trouble:
            name = paper_words(paper, "").lower()
            kept = f"The {name} is not printed: {trouble.rstrip('.')}. It is kept; print it again from the journal."
            self._say_here("caution", f"{self.slate.line.words.rstrip('.')}. {kept}" if self.slate.empty else kept)
        note = NotePrint(operation_id=token(), paper=paper, of=of, failed=trouble)
        self.background.run(
            lambda: self._attempt(note, clerk.person_id if clerk else None), lambda _: self.refresh_board()
        )

    def preview(self, paper: str, of: str) -> None:
        """Shows a paper; printing it from there counts as a print."""

        if self._kept_back(paper):
            return
        if paper in IN_STEPS:
            self._make_long(paper, of, to_print=False)
            return

        def shown(result: tuple[bytes, PaperTable] | Fault) -> None:
            if isinstance(result, Fault):
                self._say_here("refused", fault_words(result))
            else:
                self.window.show_paper(paper_words(paper, of), result[0], paper, of, result[1])

        self.background.run(lambda: (self._render(paper, of)[0], self._table(paper, of)), shown)

    def _table(self, paper: str, of: str) -> PaperTable:
        """What the paper says as rows for other programs; none where it is no list."""
        with self.desk.store.reading() as reader:
            record = record_for(reader, self.house, paper, of, self.clock(), 1)
        return record.table() if isinstance(record, RequisitionSheet) else ()

    def _kept_back(self, paper: str) -> bool:
        """Whether who is signed on may not see the paper; that is said."""
        why = kept_back(paper, self.slate.clerk.roles if self.slate.clerk else "")
        if why:
            self._say_here("refused", why)
        return bool(why)

    def _make_long(self, paper: str, of: str, *, to_print: bool) -> None:
        if not self.long_paper.make(paper, of, to_print=to_print):
            self._say_here("caution", "A long paper is being made already. Wait for it, or call it off.")

    def _read_long(self, paper: str, of: str) -> Iterator[Step]:
        """Its record and the number of its print, on the store's thread."""
        with self.desk.store.reading() as reader:
            copy = next_copy(reader, paper, of)
        for step in IN_STEPS[paper](self.desk.store, self.house, of, self.clock()):
            yield replace(step, data=(step.data, copy)) if isinstance(step, Told) else step

    def _draw_long(self, paper: str, read: tuple[Any, int]) -> Iterator[Step]:
        """The paper and its table, on the printer's thread."""
        record, copy = read
        for step in render_in_steps(paper, record, self.paper_settings(copy)):
            if isinstance(step, bytes):
                yield Told(1.0, "Drawing it", (step, csv_file(record.table())))
            else:
                yield Step(step, "Drawing it")

    def _made_long(self, paper: str, of: str, to_print: bool, made: tuple[bytes, bytes] | Fault | None) -> None:
        if made is None:
            self._say_here("caution", f"The {paper_words(paper, '').lower()} was called off. Nothing was printed.")
        elif isinstance(made, Fault):
            self._say_here("refused", fault_words(made))
        elif not self._kept_back(paper):  # somebody else may have signed on meanwhile
            if to_print:
                self.printing.run(lambda: self._on_paper(paper, made[0]), lambda said: self._printed(paper, of, said))
            else:
                self.window.show_paper(paper_words(paper, of), made[0], paper, of, made[1])

    def _printed(self, paper: str, of: str, result: str | Fault) -> None:
        self._note_print(paper, of, fault_words(result) if isinstance(result, Fault) else result)

    # Somebody's own records.

    def want_entry(self, form_id: str, about: str = "") -> None:
        """A form for own records, as store and models are now; `about` is the label of what it is about."""
        why = may_open(form_id, self.slate.clerk.roles if self.slate.clerk else "")
        if why:
            self._say_here("refused", why)
            return
        self._ask(lambda reader: form_of(self._asked(reader, about), form_id), self.window.show_entry)

    def enter(self, form_id: str, values: dict[str, str]) -> None:
        """What was typed into a form is done, or told field by field; the form is then free for the next."""
        operation_id, clerk = token(), self.slate.clerk
        self._remember(operation_id)

        def work() -> Entered:
            about = values.get(ABOUT, "")
            try:
                with self.desk.store.reading() as reader:
                    operation = operation_of(self._asked(reader, about), form_id, values, operation_id)
                receipt = self._done(operation, clerk.person_id if clerk else None)
            except (FormTroubles, NotAllowed) as failure:
                return Entered(self._form(form_id, about), troubles_of(failure))
            after = self._form(next_form(form_id), about_next(form_id, values))
            return Entered(after, (), receipt, self._named(receipt))

        def entered(result: Entered | Fault) -> None:
            self._forget(operation_id)
            self._entered(form_id, result)

        self.background.run(work, entered)

    def _form(self, form_id: str, about: str) -> EntryForm:
        with self.desk.store.reading() as reader:
            return form_of(self._asked(reader, about), form_id)

    def _asked(self, reader: Reader, about: str = "") -> Asked:
        return Asked(reader, self.house, self.clock(), about)

    def _entered(self, form_id: str, result: Entered | Fault) -> None:
        if isinstance(result, Fault):
            self.window.entry.show_fault(fault_words(result))
            self._say_here("refused", fault_words(result))
            return
        still_open = self.window.entry_open()
        if result.receipt is not None and form_id == RELABEL:
            self._follow(*result.receipt.subjects)
        if still_open:
            if result.receipt is not None and closes(form_id):
                self.window.entry.leave()
            else:
                self.window.show_entry(result.form, result.troubles)
        if result.receipt is None:
            whole = next((words for field, words in result.troubles if not field), "")
            self._say_here("refused", whole or "Not entered yet: see the red lines", "")
            return
        labels = labels_of(form_id, result.receipt)
        self.window.entry.show_done(result.words, labels[0] if labels else "", ",".join(labels))
        self._after(result.receipt)
        self.feed(Changed(self.clock(), result.receipt.topics))
        self._say_here("taken", result.words, "")
        for paper, of in result.receipt.papers:
            if paper in IN_STEPS:  # looked at first
                self.preview(paper, of)
            elif paper != LABELS:  # those are offered in the form, to be printed when the sheet lies in the printer
                self.print_paper(paper, of)
        if form_id == FIRST:
            self.scan(result.receipt.subjects[0])

    def _follow(self, fresh: str, old: str) -> None:
        """The page under the form was of a label that died: it is of the fresh one now."""
        if self.window.place()[1] == old:
            self.window.doors.open_label(fresh)

    # Settings.

    def _station_set(self, name: str, value: str) -> None:
        trouble = self.station.set(name, value)
        if trouble:
            self._say_here("caution", trouble)
        apply_station(self.station, self.speak)
        self._show_station()

    def _show_station(self) -> None:
        self.window.show_station({**self.station.values, "printers": "\n".join(printers())})

    def _site_set(self, name: str, value: str) -> None:
        clerk = self.slate.clerk
        operation = SetSetting(operation_id=token(), setting=name, value=value)

        def done(result: Receipt | NotAllowed | Fault) -> None:
            if isinstance(result, Receipt):
                self._after(result)
                self._say_here("taken", result.sentence)
            else:
                words = result.words() if isinstance(result, NotAllowed) else fault_words(result)
                self._say_here("refused", words)
            self.window.show_place("settings", dict(self.house.settings))

        self.background.run(lambda: self._attempt(operation, clerk.person_id if clerk else None), done)

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

    def begin(self, clerk: Clerk | None, words: str = "") -> None:
        """The first line, and who is signed on where a sample store names somebody."""
        line = Line("quiet", words or ("Scan a badge or a unit to begin" if clerk else SIGN_ON.words))
        self.slate = replace(self.slate, clerk=clerk, line=line)
        self._show()
        self.window.show_line(line)

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


def token() -> str:
    """A fresh number for what a person confirms."""
    return str(uuid.uuid4())


def fault_words(fault: Fault) -> str:
    """A fault in plain words; the report goes to the log."""
    return str(fault.error) or type(fault.error).__name__


def apply_station(station: Station, speak: Speak) -> None:
    """Puts the workstation's settings into force while the program runs."""
    dress(station.scale, station["shade"])
    apply_volume(station, speak)


def apply_volume(station: Station, speak: Speak) -> None:
    """How loud the sounds are."""
    volume = station["volume"]
    speak.sounds.set_volume(min(100, int(volume)) / 100 if volume.isdecimal() else 0.6)


def since_words(moment: datetime, house: House) -> str:
    """The sample store's notice."""
    return (
        "Sample store: crib, people, makers and histories are made up. "
        f"It runs on its own clock from {when(moment, house.zone, moment)}; what you do here breaks nothing."
    )


