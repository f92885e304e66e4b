"""A maker's notice: what it means is blocked and held in one go, followed to the last unit, and closed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.hold import RECALL, RECALLED_UNIT
from cribdesk.crib.proof import recalled
from cribdesk.crib.records import Custody, Hold, Lot, Recall, RecallHold, Role, Unit
from cribdesk.crib.refusal import AlreadyOnFile, NothingRecalled, RecallNotCleared, WrongFigure
from cribdesk.crib.words import count, joined
from cribdesk.desk.call_in import note_call_in
from cribdesk.desk.inspection import fetch_unit, not_before, place_hold
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.recall_reach import Hit, Meant, Reach, left_of, meant_words, reach

WHO = (Role.STOREKEEPER, Role.TECHNICIAN, Role.PROGRAM, Role.SYSTEM)
Papers = tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class OpenRecall(Operation):
    """A maker recalls a lot, a unit model, or a range of its serials. `notice` is the notice's own number."""

    notice: str
    why: str
    maker: str = ""
    lot_id: int | None = None
    model: str = ""
    serial_from: str = ""
    serial_to: str = ""

    code: ClassVar[str] = "open-recall"
    words: ClassVar[str] = "Recalling"
    may: ClassVar[tuple[Role, ...]] = WHO

    def run(self, work: Work, context: Context) -> Outcome:
        """Blocks the lot and holds every unit that is meant, wherever it is; each tag or call-in slip prints."""
        meant = Meant(self.lot_id, self.model, self.serial_from.strip(), self.serial_to.strip())
        notice = self._notice(context, meant)
        lot = fetch(work, Lot, self.lot_id, "This lot") if self.lot_id is not None else None
        if lot is not None:
            work.take(lot)
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
        papers = [_hold_one(work, context, one, hit, lot) for hit in found.hits]
        out = sum(1 for paper in papers for name, _ in paper if name == "call_in_slip")
        held = f"{count(len(papers), 'unit')} held" + (f", {out} of them out" if out else "")
        subjects = tuple(hit.unit.label for hit in found.hits)
        item = (found.item.label,) if found.item else ()
        blocked = "blocked" if lot is not None else "recalled"
        words = f"Recall {notice}: {meant_words(found, meant)} {blocked}, {held}."
        return Outcome(words, (*item, *subjects), tuple(paper for some in papers for paper in some))

    def _notice(self, context: Context, meant: Meant) -> str:
        notice = " ".join(self.notice.split())
        if not notice:
            raise WrongFigure("Notice", "say its number or its date")
        if not self.why.strip():
            raise WrongFigure("Why", "say what the maker found")
        if (meant.lot_id is None) == (not meant.model):
            raise WrongFigure("Recall", "it is of one lot, or of one unit model")
        if meant.model and meant.model not in context.house.models:
            raise WrongFigure("Unit model", f"{meant.model} is none of this crib")
        if bool(meant.serial_from) != bool(meant.serial_to) or (meant.serial_from and not meant.model):
            raise WrongFigure("Serials", "say the model, the first and the last")
        return notice


@dataclass(frozen=True, kw_only=True)
class HoldRecalled(Operation):
    """Units that a recall means and that no hold of it reached yet: entered, or fitted with the lot, since."""

    recall_id: int

    code: ClassVar[str] = "hold-recalled"
    words: ClassVar[str] = "Holding what a recall means"
    may: ClassVar[tuple[Role, ...]] = WHO

    def run(self, work: Work, context: Context) -> Outcome:
        """Holds each of them. Raises NothingRecalled where there is none."""
        one = _open_one(work, self.recall_id)
        waiting = not_held(work, one)
        if not waiting:
            raise NothingRecalled(one.notice)
        lot = fetch(work, Lot, one.lot_id, "This lot") if one.lot_id is not None else None
        papers = [_hold_one(work, context, one, hit, lot) for hit in waiting]
        labels = [hit.unit.label for hit in waiting]
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
        """Closes it. Raises RecallNotCleared while a hold of it is open, or a unit it means is not held at all."""
        one = _open_one(work, self.recall_id)
        if not self.word.strip():
            raise WrongFigure("Word", "say what became of the pieces, or of the units")
        left = still_held(work, one)
        waiting = not_held(work, one)
        if left or waiting:
            ids = sorted({hold.unit_id for hold in left} | {hit.unit.id for hit in waiting})
            raise RecallNotCleared(one.notice, joined([unit.label for unit in work.find(Unit, id=ids)]))
        work.save(replace(one, closed_at=context.moment))
        what = f"lot {fetch(work, Lot, one.lot_id, 'This lot').code} stays blocked" if one.lot_id else "no unit is left"
        return Outcome(f"Recall {one.notice} closed: {self.word.strip()}; {what}.", ())


def still_held(records: Records, one: Recall) -> list[Hold]:
    """The holds of a recall that are open."""
    ids = sorted({link.hold_id for link in records.find(RecallHold, recall_id=one.id)})
    return records.find(Hold, id=ids, released_at=None)


def not_held(records: Records, one: Recall) -> tuple[Hit, ...]:
    """Units that the recall means and no open hold of it names. A unit that was cleared is not meant any more."""
    links = records.find(RecallHold, recall_id=one.id)
    open_ones = {hold.unit_id for hold in still_held(records, one)}
    found = left_of(records, one, {link.unit_id for link in links})
    return tuple(hit for hit in found.hits if hit.unit.id not in open_ones)


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
    """Holds a unit for the recall; one that an earlier recall holds gets this one's name on the same hold."""
    unit = fetch_unit(work, hit.unit.id)
    reason = RECALL if lot is not None else RECALLED_UNIT
    named = f"notice {one.notice}, lot {lot.code} #{lot.id}" if lot is not None else f"notice {one.notice}"
    if hit.unread:
        named += ", its serial does not tell: read it"
    there = work.first(Hold, unit_id=unit.id, reason=reason.code, released_at=None)
    if there is None:
        hold = place_hold(work, context, unit, reason, named)
    elif lot is not None and lot.id in recalled(there.detail):
        hold = there
    else:
        work.take(there)
        found = not_before(work, unit, context.moment)
        hold = work.save(replace(there, detail=f"{there.detail}; {named}", found_at=found))
    work.save(RecallHold(recall_id=one.id, hold_id=hold.id, unit_id=unit.id))
    if work.first(Custody, unit_id=unit.id, returned_at=None):
        note_call_in(work, context, unit, f"on hold: {reason.words.lower()}, notice {one.notice}")
        return (("call_in_slip", hold.tag),)
    return (("tag", hold.tag),)
