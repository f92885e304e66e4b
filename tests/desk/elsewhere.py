"""Another counter of the same shop, for scripts: what happens there while this one is busy."""

from __future__ import annotations

from datetime import date, timedelta

from cribdesk.crib.reasons import cautions, reasons
from cribdesk.crib.records import (
    Area,
    Battery,
    Clearance,
    ClearanceKind,
    Hold,
    Lot,
    Person,
    Recall,
    StockItem,
    Unit,
    Where,
    WorkLimit,
)
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.away import MarkMissing
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cabinet import AddCabinet
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.counter import Counter
from cribdesk.desk.entry_form import Asked
from cribdesk.desk.entry_forms import operation_of
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.labels import BindLabel, ReplaceLabel
from cribdesk.desk.operation import Operation
from cribdesk.desk.people import AddClearance, ChangePerson
from cribdesk.desk.proof import AddEvidence
from cribdesk.desk.recall import CloseRecall, OpenRecall
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.slate import Changed
from cribdesk.desk.stock import BlockLot, ReceiveLot
from cribdesk.desk.unit import MoveUnit
from cribdesk.desk.work_limits import EndWorkLimit, SetWorkLimit
from tests.desk.harness import Desk
from tests.desk.shop import Shop, Tokens, passed


class Elsewhere:
    """Counter 2, with a clerk of every role."""

    def __init__(self, desk: Desk, shop: Shop) -> None:
        self.desk, self.shop = desk, shop
        self.tokens = Tokens(77)
        self.counter = Counter(desk.store, desk.house, lambda: desk.moment, "Counter 2")

    def do(self, verb: str, *words: str) -> None:
        """One thing done there; the counter here is told of it."""
        receipt = getattr(self, f"_{verb}")(*[word for word in words if word not in ("to", "with")])
        assert isinstance(receipt, Receipt)
        self.desk.take(Changed(self.desk.moment, receipt.topics))

    def _issue(self, unit_name: str, person_name: str, pack_name: str) -> Receipt:
        unit, person = self.shop.record(Unit, unit_name), self.shop.record(Person, person_name)
        pack = self.shop.record(Battery, pack_name)
        moment, area = self.desk.moment, self.shop.record(Area, "bay-3")
        due = self.desk.house.turn(moment).end
        with self.desk.store.reading() as reader:
            facts = facts_of(reader, self.desk.house, IssueIds(unit.id, person.id, pack.id, area.id, due), moment)
        kind = "pre-use" if facts.needs_full_check else "hand-over"
        run = passed(unit, kind, moment, self.shop.clerk_label, self.shop.names["meter"])
        shown = tuple(reason.key for reason in cautions(reasons(facts, moment)))
        operation = IssueUnit(
            operation_id=self.tokens(), unit_id=unit.id, person_id=person.id, battery_id=pack.id, area_id=area.id,
            due_at=due, run_made=run, shown=shown,
        )  # fmt: skip
        return self.counter.do(operation, self.shop.clerk_id)

    def _return(self, unit_name: str) -> Receipt:
        unit = self.shop.record(Unit, unit_name)
        return self.counter.do(TakeBack(operation_id=self.tokens(), unit_id=unit.id), self.shop.clerk_id)

    def _hold(self, unit_name: str, reason: str, *detail: str) -> Receipt:
        unit = self.shop.record(Unit, unit_name)
        operation = PlaceHold(operation_id=self.tokens(), unit_id=unit.id, reason=reason, detail=" ".join(detail))
        return self.counter.do(operation, self.shop.clerk_id)

    def _release(self, unit_name: str, *word: str) -> Receipt:
        unit = self.shop.record(Unit, unit_name)
        with self.desk.store.reading() as reader:
            hold = reader.latest(Hold, unit_id=unit.id, released_at=None)
        assert hold is not None
        operation = ReleaseHold(operation_id=self.tokens(), hold_id=hold.id, word=" ".join(word))
        return self.counter.do(operation, self.shop.clerk_id)

    def _clean(self, unit_name: str) -> Receipt:
        unit = self.shop.record(Unit, unit_name)
        run = passed(unit, "cleaning", self.desk.moment, self.shop.clerk_label, self.shop.names["meter"])
        return self.counter.do(
            FinishCleaning(operation_id=self.tokens(), unit_ids=(unit.id,), run_made=run), self.shop.clerk_id
        )

    def _inspect(self, unit_name: str, kind: str = "bench") -> Receipt:
        unit = self.shop.record(Unit, unit_name)
        moment = self.desk.moment + timedelta(seconds=1)
        self.desk.moment = moment
        run = passed(unit, kind, moment, self.shop.clerk_label, self.shop.names["meter"])
        return self.counter.do(
            FinishInspection(operation_id=self.tokens(), unit_id=unit.id, run_made=run), self.shop.clerk_id
        )

    def _train(self, person_name: str, on: str) -> Receipt:
        person = self.shop.record(Person, person_name)
        operation = AddClearance(
            operation_id=self.tokens(), person_id=person.id, kind=ClearanceKind.TRAINING,
            given_on=date.fromisoformat(on),
        )
        return self.counter.do(operation, self.shop.clerk_id)

    def _unclear(self, person_name: str) -> Receipt:
        return self._medical(person_name, cleared=False)

    def _clear(self, person_name: str) -> Receipt:
        return self._medical(person_name, cleared=True)

    def _medical(self, person_name: str, cleared: bool) -> Receipt:
        operation = AddClearance(
            operation_id=self.tokens(), person_id=self.shop.record(Person, person_name).id,
            kind=ClearanceKind.MEDICAL, given_on=self.desk.house.today(self.desk.moment), cleared=cleared,
        )  # fmt: skip
        return self.counter.do(operation, self.shop.clerk_id)

    def _contract(self, person_name: str, employer: str, ends_on: str = "") -> Receipt:
        """The person is of another employer from now on, their badge good until that day."""
        person = self.shop.record(Person, person_name)
        operation = ChangePerson(
            operation_id=self.tokens(), person_id=person.id, full_name=person.name, employer=employer,
            ends_on=date.fromisoformat(ends_on) if ends_on else None,
        )  # fmt: skip
        return self.counter.do(operation, self.shop.clerk_id)

    def _prove(self, person_name: str, kind: str) -> Receipt:
        person = self.shop.record(Person, person_name)
        with self.desk.store.reading() as reader:
            clearance = reader.latest(Clearance, person_id=person.id, kind=ClearanceKind(kind))
        assert clearance is not None
        today = self.desk.house.today(self.desk.moment)
        operation = AddEvidence(
            operation_id=self.tokens(), clearance_id=clearance.id, document="letter", dated_on=today, seen_on=today
        )
        return self.counter.do(operation, self.shop.clerk_id)

    def _limit(self, person_name: str, *code: str) -> Receipt:
        """A work limit of the health professional, as its code; 'none' ends the one that stands."""
        person = self.shop.record(Person, person_name).id
        if code == ("none",):
            with self.desk.store.reading() as reader:
                standing = reader.latest(WorkLimit, person_id=person, ended_on=None)
            assert standing is not None
            return self.counter.do(
                EndWorkLimit(operation_id=self.tokens(), work_limit_id=standing.id), self.shop.clerk_id
            )
        today = self.desk.house.today(self.desk.moment)
        limit = SetWorkLimit(
            operation_id=self.tokens(), person_id=person, code_of_limit=" ".join(code), given_on=today
        )
        return self.counter.do(limit, self.shop.clerk_id)

    def _area(self, area_name: str, required: str) -> Receipt:
        """An area is marked 'required' or 'voluntary'."""
        area = self.shop.record(Area, area_name)
        operation = ChangeArea(
            operation_id=self.tokens(), area_id=area.id, area_name=area.name, required=required == "required"
        )
        return self.counter.do(operation, self.shop.clerk_id)

    def _dismiss(self, person_name: str) -> Receipt:
        person = self.shop.record(Person, person_name)
        operation = ChangePerson(operation_id=self.tokens(), person_id=person.id, full_name=person.name, active=False)
        return self.counter.do(operation, self.shop.clerk_id)

    def _bind(self, text: str, name: str) -> Receipt:
        operation = BindLabel(operation_id=self.tokens(), text=text, label=self.shop.names[name])
        return self.counter.do(operation, self.shop.clerk_id)

    def _scrap(self, unit_name: str, *why: str) -> Receipt:
        unit = self.shop.record(Unit, unit_name)
        operation = MoveUnit(operation_id=self.tokens(), unit_id=unit.id, where=Where.SCRAPPED, why=" ".join(why))
        return self.counter.do(operation, self.shop.clerk_id)

    def _move(self, unit_name: str, *where: str) -> Receipt:
        unit = self.shop.record(Unit, unit_name)
        to = Where(" ".join(where))
        operation: Operation = MoveUnit(operation_id=self.tokens(), unit_id=unit.id, where=to)
        if to is Where.MISSING:
            operation = MarkMissing(operation_id=self.tokens(), unit_id=unit.id)
        return self.counter.do(operation, self.shop.clerk_id)

    def _cabinet(self, name: str) -> Receipt:
        """A cabinet of that name, at the gate, for walking out of the plate shop."""
        operation = AddCabinet(
            operation_id=self.tokens(), cabinet_name=name, cabinet_place="by the gate",
            purpose="walking out of the fume", for_danger=False,
        )  # fmt: skip
        receipt = self.counter.do(operation, self.shop.clerk_id)
        self.shop.names[name] = receipt.subjects[0]
        return receipt

    def _relabel(self, name: str) -> Receipt:
        old = self.shop.names[name]
        receipt = self.counter.do(ReplaceLabel(operation_id=self.tokens(), label=old), self.shop.clerk_id)
        self.shop.names[name], self.shop.names[f"old {name}"] = receipt.subjects[0], old
        return receipt

    def _change(self, unit_name: str, position: str, item_code: str) -> Receipt:
        unit, item = self.shop.record(Unit, unit_name), self.shop.record(StockItem, item_code)
        operation = ChangePart(
            operation_id=self.tokens(), unit_id=unit.id, position=position, item_id=item.id,
            lot_id=self.shop.lot(item).id, why="at the other counter",
        )  # fmt: skip
        return self.counter.do(operation, self.shop.clerk_id)

    def _notice(self, notice: str, item_code: str, lot_code: str, *why: str) -> Receipt:
        """A maker's notice of a lot is entered."""
        lot = self._lot(item_code, lot_code)
        operation = OpenRecall(operation_id=self.tokens(), notice=notice, why=" ".join(why), lot_id=lot.id)
        return self.counter.do(operation, self.shop.clerk_id)

    def _packs(self, notice: str, model: str, *why: str) -> Receipt:
        """A maker's notice of all packs of a model, typed into the office's form."""
        values = {"about": f"model {model}", "notice": notice, "why": " ".join(why)}
        with self.desk.store.reading() as reader:
            asked = Asked(reader, self.desk.house, self.desk.moment, values["about"])
            operation = operation_of(asked, "recall", values, self.tokens())
        return self.counter.do(operation, self.shop.clerk_id)

    def _over(self, notice: str, *word: str) -> Receipt:
        """The recall of that notice is closed."""
        with self.desk.store.reading() as reader:
            recall = reader.first(Recall, notice=notice)
        assert recall is not None
        operation = CloseRecall(operation_id=self.tokens(), recall_id=recall.id, word=" ".join(word))
        return self.counter.do(operation, self.shop.clerk_id)

    def _deliver(self, item_code: str, lot_code: str, pieces: str) -> Receipt:
        """A new lot comes in."""
        item = self.shop.record(StockItem, item_code)
        operation = ReceiveLot(
            operation_id=self.tokens(), item_id=item.id, lot_code=lot_code, quantity=int(pieces)
        )  # fmt: skip
        return self.counter.do(operation, self.shop.clerk_id)

    def _lot(self, item_code: str, lot_code: str) -> Lot:
        item = self.shop.record(StockItem, item_code)
        with self.desk.store.reading() as reader:
            lot = reader.first(Lot, item_id=item.id, code=lot_code)
        assert lot is not None
        return lot

    def _recall(self, item_code: str, lot_code: str) -> Receipt:
        lot = self._lot(item_code, lot_code)
        return self.counter.do(BlockLot(operation_id=self.tokens(), lot_id=lot.id, why="recalled"), self.shop.clerk_id)
