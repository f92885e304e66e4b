"""A maker's notice: what it means is blocked and held in one go, followed to the last unit, and closed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.hold import BATTERY, RECALL, RECALLED_UNIT
from cribdesk.crib.proof import recalled
from cribdesk.crib.records import FAULT, Custody, Hold, Lot, Recall, RecallHold, Role, StockItem, Unit, Where
from cribdesk.crib.refusal import AlreadyOnFile, NothingRecalled, RecallNotCleared, WrongFigure
from cribdesk.crib.words import count, joined
from cribdesk.desk.call_in import note_call_in
from cribdesk.desk.house import House
from cribdesk.desk.inspection import fetch_unit, hold_anew
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.recall_reach import (
    Hit,
    Meant,
    PackHit,
    Reach,
    left_of,
    meant_by,
    meant_words,
    names,
    packs_left,
    reach,
)

WHO = (Role.STOREKEEPER, Role.TECHNICIAN, Role.PROGRAM, Role.SYSTEM)
Papers = tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class OpenRecall(Operation):
    """A maker recalls a lot, a model of units or of packs, or a range of its serials. `notice` is its own number.

    `item_id` and `lot_code` name a lot that never came in by the book: it is blocked before it can.
    """

    notice: str
    why: str
    maker: str = ""
    lot_id: int | None = None
    item_id: int | None = None
    lot_code: str = ""
    model: str = ""
    serial_from: str = ""
    serial_to: str = ""

    code: ClassVar[str] = "open-recall"
    words: ClassVar[str] = "Recalling"
    may: ClassVar[tuple[Role, ...]] = WHO

    def run(self, work: Work, context: Context) -> Outcome:
        """Blocks the lot, marks the packs, holds every unit that is meant; each tag or call-in slip prints."""
        notice = self._notice(context)
        lot = self._lot(work)
        if lot is not None:
            work.take(lot)
        serials = (self.serial_from.strip(), self.serial_to.strip())
        meant = Meant(lot.id if lot is not None else None, self.model, *serials)
        found = _reached(work, meant)
        same = {"lot_id": meant.lot_id, "model": meant.model, "serial_from": meant.serial_from}
        if work.first(Recall, notice=notice, closed_at=None, serial_to=meant.serial_to, **same):
            raise AlreadyOnFile(f"Recall {notice} of {meant_words(found, meant)}")
        one = work.save(
            Recall(
                notice=notice, maker=self.maker.strip(), lot_id=meant.lot_id, model=meant.model,
                serial_from=meant.serial_from, serial_to=meant.serial_to, why=self.why.strip(), at=context.moment,
                by_id=context.clerk.id,
            )
        )  # fmt: skip
        if lot is not None:
            work.save(replace(lot, blocked=f"recall {notice}: {one.why}"))
        packs = _mark(work, one, found.packs)
        papers = [_hold_one(work, context, one, hit, lot) for hit in found.hits]
        out = sum(1 for paper in papers for name, _ in paper if name == "call_in_slip")
        held = f"{count(len(papers), 'unit')} held" + (f", {out} of them out" if out else "")
        held += f", {count(len(packs), 'pack')} not to be used" if packs else ""
        held += "; it blocks on arrival" if lot is not None and never_came(lot) else ""
        subjects = (*(hit.unit.label for hit in found.hits), *packs)
        item = (found.item.label,) if found.item else ()
        blocked = "blocked" if lot is not None else "recalled"
        words = f"Recall {notice}: {meant_words(found, meant)} {blocked}, {held}."
        return Outcome(words, (*item, *subjects), tuple(paper for some in papers for paper in some))

    def _lot(self, work: Work) -> Lot | None:
        """The lot that is meant; one that never came in is written down without a piece."""
        if self.lot_id is not None:
            return fetch(work, Lot, self.lot_id, "This lot")
        if self.item_id is None:
            return None
        item = fetch(work, StockItem, self.item_id, "This item")
        code = self.lot_code.strip()
        return work.first(Lot, item_id=item.id, code=code) or work.save(Lot(item_id=item.id, code=code))

    def _notice(self, context: Context) -> str:
        notice = " ".join(self.notice.split())
        if not notice:
            raise WrongFigure("Notice", "say its number or its date")
        if not self.why.strip():
            raise WrongFigure("Why", "say what the maker found")
        if [self.lot_id is not None, self.item_id is not None, bool(self.model)].count(True) != 1:
            raise WrongFigure("Recall", "it is of one lot, or of one unit model or pack model")
        if (self.item_id is not None) != bool(self.lot_code.strip()):
            raise WrongFigure("Lot", "say the item, and the lot as the notice writes it")
        if self.model and self.model not in context.house.models and self.model not in pack_models(context.house):
            raise WrongFigure("Unit model", f"{self.model} is none of this crib, of units or of packs")
        first, last = self.serial_from.strip(), self.serial_to.strip()
        if bool(first) != bool(last) or (first and not self.model):
            raise WrongFigure("Serials", "say the model, the first and the last")
        return notice


def pack_models(house: House) -> list[str]:
    """The models of packs that a unit model of this crib takes."""
    return sorted({code for model in house.models.values() for code in model.battery_models})


def never_came(lot: Lot) -> bool:
    """Whether nothing of the lot ever came in by the book."""
    return lot.received_on is None and not lot.on_hand


@dataclass(frozen=True, kw_only=True)
class HoldRecalled(Operation):
    """What a recall means and did not reach yet: units entered, or fitted with the lot, since; packs entered since."""

    recall_id: int

    code: ClassVar[str] = "hold-recalled"
    words: ClassVar[str] = "Holding what a recall means"
    may: ClassVar[tuple[Role, ...]] = WHO

    def run(self, work: Work, context: Context) -> Outcome:
        """Holds each of them. Raises NothingRecalled where there is none."""
        one = _open_one(work, self.recall_id)
        waiting = not_held(work, one)
        packs = _mark(work, one, packs_of(work, one))
        if not waiting and not packs:
            raise NothingRecalled(one.notice)
        lot = fetch(work, Lot, one.lot_id, "This lot") if one.lot_id is not None else None
        papers = [_hold_one(work, context, one, hit, lot) for hit in waiting]
        labels = [*(hit.unit.label for hit in waiting), *packs]
        words = f"Recall {one.notice}: {joined(labels)} held."
        return Outcome(words, tuple(labels), tuple(paper for some in papers for paper in some))


@dataclass(frozen=True, kw_only=True)
class CloseRecall(Operation):
    """The last unit of a recall is cleared; `word` says what became of the pieces. A blocked lot stays blocked."""

    recall_id: int
    word: str

    code: ClassVar[str] = "close-recall"
    words: ClassVar[str] = "Closing a recall"
    may: ClassVar[tuple[Role, ...]] = WHO

    def run(self, work: Work, context: Context) -> Outcome:
        """Closes it. Raises RecallNotCleared while a hold of it is open, a unit is not held, or a pack is here."""
        one = _open_one(work, self.recall_id)
        if not self.word.strip():
            raise WrongFigure("Word", "say what became of the pieces, or of the units")
        left = still_held(work, one)
        waiting = not_held(work, one)
        packs = [hit.pack.label for hit in packs_of(work, one)]
        if left or waiting or packs:
            ids = sorted({hold.unit_id for hold in left} | {hit.unit.id for hit in waiting})
            raise RecallNotCleared(one.notice, joined([*(unit.label for unit in work.find(Unit, id=ids)), *packs]))
        work.save(replace(one, closed_at=context.moment))
        what = f"lot {fetch(work, Lot, one.lot_id, 'This lot').code} stays blocked" if one.lot_id else "nothing is left"
        return Outcome(f"Recall {one.notice} closed: {self.word.strip()}; {what}.", ())


def still_held(records: Records, one: Recall) -> list[Hold]:
    """The holds of a recall that are open; a unit that was scrapped waits for nothing any more."""
    ids = sorted({link.hold_id for link in records.find(RecallHold, recall_id=one.id)})
    held = records.find(Hold, id=ids, released_at=None)
    units = {unit.id: unit for unit in records.find(Unit, id=sorted({hold.unit_id for hold in held}))}
    return [hold for hold in held if units[hold.unit_id].where is not Where.SCRAPPED]


def not_held(records: Records, one: Recall) -> tuple[Hit, ...]:
    """Units that the recall means and no open hold of it names. A unit that was cleared is not meant any more."""
    links = records.find(RecallHold, recall_id=one.id)
    open_ones = {hold.unit_id for hold in still_held(records, one)}
    found = left_of(records, one, {link.unit_id for link in links})
    return tuple(hit for hit in found.hits if hit.unit.id not in open_ones)


def packs_of(records: Records, one: Recall) -> tuple[PackHit, ...]:
    """Packs that a recall means and that are neither gone nor given free."""
    return packs_left(one, reach(records, meant_by(one)))


def _mark(work: Work, one: Recall, packs: tuple[PackHit, ...]) -> tuple[str, ...]:
    """No pack of the notice goes into a unit any more; the labels of those that were not marked before."""
    found = []
    for hit in packs:
        if hit.pack.faulty and names(hit.pack.note, one.notice):
            continue
        doubt = ", its serial does not tell: read it" if hit.unread else ""
        before = f"; {hit.pack.note.removeprefix(FAULT).strip(': ')}" if hit.pack.faulty else ""
        work.take(hit.pack)
        work.save(replace(hit.pack, note=f"{FAULT}: recall {one.notice}, {one.why}{doubt}{before}"))
        found.append(hit.pack.label)
    return tuple(found)


def _open_one(work: Work, recall_id: int) -> Recall:
    one = fetch(work, Recall, recall_id, "This recall")
    work.take(one)
    if one.closed_at is not None:
        raise WrongFigure(f"Recall {one.notice}", "it was closed already")
    return one


def _reached(work: Work, meant: Meant) -> Reach:
    try:
        return reach(work, meant)
    except ValueError as failure:
        raise WrongFigure("Serials", str(failure)) from None


def _hold_one(work: Work, context: Context, one: Recall, hit: Hit, lot: Lot | None) -> Papers:
    """Holds a unit for the recall; one that is held for that reason already gets this one's name on the same hold."""
    unit = fetch_unit(work, hit.unit.id)
    reason = BATTERY if hit.pack is not None else RECALL if lot is not None else RECALLED_UNIT
    named = f"notice {one.notice}, lot {lot.code} #{lot.id}" if lot is not None else f"notice {one.notice}"
    if hit.pack is not None:
        named += f", pack {hit.pack.label}"
    if hit.unread:
        named += ", its serial does not tell: read it"
    there = work.first(Hold, unit_id=unit.id, reason=reason.code, released_at=None)
    if there is not None:
        work.take(there)
        known = lot is not None and lot.id in recalled(there.detail)
        named = there.detail if known else f"{there.detail}; {named}"
    hold = hold_anew(work, context, unit, reason, named)
    work.save(RecallHold(recall_id=one.id, hold_id=hold.id, unit_id=unit.id))
    if work.first(Custody, unit_id=unit.id, returned_at=None):
        note_call_in(work, context, unit, f"on hold: {reason.words.lower()}, notice {one.notice}")
        return (("call_in_slip", hold.tag),)
    return (("tag", hold.tag),)
