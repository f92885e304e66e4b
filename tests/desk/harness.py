"""The counter without a window: carries out the router's requests at once, on a real store, by a settable clock."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from cribdesk.crib.records import Area, Unit
from cribdesk.crib.refusal import NotAllowed
from cribdesk.crib.scan import read_scan
from cribdesk.desk.cards import CommandCard
from cribdesk.desk.counter import Counter
from cribdesk.desk.facts import facts_of
from cribdesk.desk.house import House
from cribdesk.desk.lookup import area_card, battery_card, look_up, offer, person_card, unit_card
from cribdesk.desk.matters import matters
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Store
from cribdesk.desk.printing import next_copy, record_for
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.router import route
from cribdesk.desk.shift_lists.to_complete import NEXT, card_to_complete
from cribdesk.desk.slate import (
    Answered,
    AreasOffered,
    BringNext,
    Changed,
    Chosen,
    Do,
    Done,
    Event,
    Filled,
    Gathered,
    Inquire,
    Inquired,
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
from cribdesk.procedure.answers import Answer, Ball, Found, Good, Measured, NotGood, RemedyDone, RemedyNotPossible
from cribdesk.procedure.run import page
from cribdesk.store.faults import StoreFault
from tests.desk.shop import Tokens


@dataclass
class Desk:
    """One counter: its slate, and everything it asked for since it was last looked at."""

    store: Store
    house: House
    moment: datetime
    name: str = "Counter 1"
    slate: Slate = field(default_factory=Slate)
    slow: bool = False
    papers: list[str] = field(default_factory=list)
    said: list[tuple[str, str]] = field(default_factory=list)
    shows: list[Show] = field(default_factory=list)
    entries: list[tuple[str, str]] = field(default_factory=list)
    done: list[Operation] = field(default_factory=list)
    _waiting: list[Do] = field(default_factory=list)
    _tokens: Tokens | None = None

    def __post_init__(self) -> None:
        self._tokens = self._tokens or Tokens(sum(self.name.encode()))
        self.counter = Counter(self.store, self.house, lambda: self.moment, self.name)

    def token(self) -> str:
        """A fresh operation id."""
        assert self._tokens is not None
        return self._tokens()

    def scan(self, text: str, *, by_name: bool = False) -> None:
        """A burst from the scanner, or a label typed by hand; or a person whom the search found."""
        with self.store.reading() as reader:
            card = look_up(reader, self.house, read_scan(text), self.moment)
        if isinstance(card, CommandCard) and self._answers_by_card(card.command):
            return
        self.take(Scanned(self.moment, text, card, self.token(), by_name))

    def _answers_by_card(self, command: str) -> bool:
        """What the step page does with a scanned answer card: it alone knows its clock."""
        check = self.slate.check
        if check is None or self.slate.form is not None or self.slate.pending is not None:
            return False
        shown = page(check.run)
        kind = shown.kind
        if command == "no-filter" and shown.remedy is not None and shown.remedy.finding:
            self.answer(Found(shown.remedy.finding))
            return True
        answers: dict[tuple[str, str], Answer] = {
            ("good", "look"): Good(),
            ("good", "action"): Good(),
            ("next", "action"): Good(),
            ("good", "remedy"): RemedyDone(),
            ("next", "remedy"): RemedyDone(),
            ("not-good", "look"): NotGood(),
            ("not-good", "action"): NotGood(),
            ("not-good", "reading"): NotGood(),
            ("not-good", "remedy"): RemedyNotPossible(),
        }
        given = answers.get((command, kind))
        if given is None:
            return False
        self.answer(given)
        return True

    def choose(self, command: str, value: str = "") -> None:
        """A button, a key or a menu entry."""
        self.take(Chosen(self.moment, command, value, self.token()))

    def fill(self, name: str, value: str) -> None:
        """A field of the open form."""
        self.take(Filled(self.moment, name, value))

    def answer(self, given: Answer, elapsed: float = 2.0) -> None:
        """An answer to the step page; a flow meter is read in air of 20 °C where nothing else is said."""
        if isinstance(given, (Measured, Ball)) and given.temperature_c is None and self.slate.air is None:
            given = replace(given, temperature_c=20.0)
        self.take(Answered(self.moment, given, elapsed, self.token()))

    def tick(self) -> None:
        """The clock's own beat."""
        self.take(Ticked(self.moment, self.token()))

    def gather(self, unit_ids: list[int]) -> None:
        """Units chosen in the bench list for one tray."""
        with self.store.reading() as reader:
            cards = tuple(unit_card(reader, self.house, one, self.moment) for one in unit_ids)
        self.take(Gathered(self.moment, cards))

    def pass_time(self, passed: timedelta) -> None:
        """Time goes by."""
        self.moment += passed

    def take(self, event: Event) -> None:
        """One event through the router; its requests are carried out."""
        self.slate, requests = route(self.house, self.slate, event)
        for request in requests:
            self._carry(request)

    def let_through(self) -> None:
        """What the slow store still had to do comes back, in order, until nothing is under way."""
        while self._waiting:
            waiting, self._waiting = self._waiting, []
            for one in waiting:
                self._do(one)

    def again(self) -> Receipt:
        """The last operation once more under its own id, as after a crash before its answer came."""
        assert self.slate.clerk is not None
        return self.counter.do(self.done[-1], self.slate.clerk.person_id)

    def _carry(self, request: Request) -> None:
        match request:
            case Weigh():
                self._weigh(request)
            case Do():
                if self.slow:
                    self._waiting.append(request)
                else:
                    self._do(request)
            case Offer():
                self._offer(request)
            case OfferAreas():
                with self.store.reading() as reader:
                    found = tuple(area_card(reader, self.house, one.id, self.moment) for one in reader.find(Area))
                self.take(AreasOffered(self.moment, found))
            case Inquire():
                asks = matters()[request.form.matter].asks
                assert asks is not None
                with self.store.reading() as reader:
                    form = asks(reader, self.house, request.form, self.moment)
                self.take(Inquired(self.moment, form))
            case OpenEntry():
                self.entries.append((request.form, request.about))
            case BringNext():
                self.bring(request.command, NEXT)
            case PrintPaper():
                self._print(request)
            case Say():
                self.said.append((request.level, request.words))
            case Show():
                self.shows.append(request)

    def bring(self, command: str, which: str) -> None:
        """A list's button: the unit of a return to complete is laid down, then the command follows."""
        with self.store.reading() as reader:
            card = card_to_complete(reader, self.house, which, self.moment)
        if card is None:
            self.said.append(("taken", "Every return is complete."))
            return
        self.take(Chosen(self.moment, "put-aside", "", self.token()))
        self.take(Scanned(self.moment, card.label, card, self.token()))
        self.choose(command, which)

    def _do(self, request: Do) -> None:
        result: Receipt | NotAllowed | str
        try:
            result = self.counter.do(request.operation, request.clerk_id)
            self.done.append(request.operation)
        except NotAllowed as failure:
            result = failure
        except StoreFault as failure:
            result = str(failure)
        self.take(Done(self.moment, request.operation.operation_id, result, self.token()))
        if isinstance(result, Receipt):
            self.take(Changed(self.moment, result.topics))

    def _weigh(self, request: Weigh) -> None:
        with self.store.reading() as reader:
            event = Looked(
                self.moment,
                unit=unit_card(reader, self.house, request.unit_id, self.moment) if request.unit_id else None,
                person=person_card(reader, self.house, request.person_id, self.moment) if request.person_id else None,
                battery=battery_card(reader, self.house, request.battery_id, self.moment)
                if request.battery_id
                else None,
                facts=facts_of(reader, self.house, request.ids, self.moment) if request.ids else None,
            )
        self.take(event)

    def _offer(self, request: Offer) -> None:
        with self.store.reading() as reader:
            choices = offer(reader, self.house, request.unit_id, request.position, self.moment)
        self.take(Offered(self.moment, request.position, choices))

    def _print(self, request: PrintPaper) -> None:
        """The paper's record must be there to be printed; drawing it is the papers' own matter."""
        with self.store.reading() as reader:
            copy = next_copy(reader, request.paper, request.of)
            record_for(reader, self.house, request.paper, request.of, self.moment, copy)
        self.papers.append(request.paper)


def unit_now(desk: Desk, unit_id: int) -> Unit:
    """The unit as it stands in the store."""
    with desk.store.reading() as reader:
        return reader.get(Unit, unit_id)
