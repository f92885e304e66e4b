"""Handing out consumables to people who keep a unit, and their word that one of them is fitted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import ClassVar

from cribdesk.crib.model import Position, UnitModel
from cribdesk.crib.records import GONE, Custody, Fitted, HandOut, HandOutLimit, Lot, Person, StockItem, Unit
from cribdesk.crib.refusal import ForTheBench, NothingToThem, NotTheirs, Short, WrongFigure
from cribdesk.crib.words import number
from cribdesk.desk.house import House
from cribdesk.desk.inspection import fetch_unit, not_before
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.return_ import hours_now
from cribdesk.desk.set_aside import kept_words, reserved_of, set_asides
from cribdesk.desk.stock import move_stock

WEEK = timedelta(days=7)
"""A limit a week counts the last seven days (a house rule)."""

MOST_PIECES = 500
BY_WEARER = "changed by its wearer"


@dataclass(frozen=True)
class Kept:
    """A unit that somebody has now."""

    unit: Unit
    model: UnitModel
    custody: Custody

    def takes(self, code: str) -> Position | None:
        """Where an item goes on it: first where the wearer may change it."""
        fits = [one for one in self.model.positions if code in one.items]
        return next((one for one in fits if one.wearer_changes), fits[0] if fits else None)


@dataclass(frozen=True)
class Planned:
    """One line of a hand-out: from which lots, for which unit, and what stands against it.

    `unclear` says that several of their units take it; `had` are the pieces of the last seven days.
    """

    item: StockItem
    pieces: int
    lots: tuple[tuple[Lot, int], ...]
    free: int
    kept: Kept | None
    position: Position | None
    named: bool  # some unit model has a position for it
    unclear: bool
    had: int
    limit: int
    aside_for: str = ""  # what some of them are set aside for
    aside: int = 0

    @property
    def short(self) -> bool:
        """Whether less of it may be handed out than is wanted."""
        return self.free < self.pieces

    @property
    def into_aside(self) -> bool:
        """Whether it takes pieces that are set aside."""
        return self.aside > 0 and not self.short and self.free - self.pieces < self.aside

    @property
    def over(self) -> bool:
        """Whether it is more than the house limit a week."""
        return bool(self.limit) and self.had + self.pieces > self.limit


def for_the_bench(house: House, code: str) -> bool:
    """Whether models have positions for it, and none of them is the wearer's to change."""
    fits = [one for model in house.models.values() for one in model.positions if code in one.items]
    return bool(fits) and not any(one.wearer_changes for one in fits)


def kept_by(records: Records, house: House, person_id: int) -> tuple[Kept, ...]:
    """The units somebody has in hand now, oldest first, in two queries; those of a model without a file left out."""
    custodies = records.find(Custody, person_id=person_id, returned_at=None)
    units = {one.id: one for one in records.find(Unit, id=sorted({one.unit_id for one in custodies}))}
    return tuple(
        Kept(units[one.unit_id], house.models[units[one.unit_id].model], one)
        for one in custodies
        if units[one.unit_id].model in house.models and units[one.unit_id].where not in GONE
    )


def plan(
    records: Records,
    house: House,
    person_id: int,
    lines: tuple[tuple[int, int], ...],
    kept: tuple[Kept, ...],
    chosen: int,
    moment: datetime,
) -> tuple[Planned, ...]:
    """What each line (item, pieces) comes to, in five queries; `chosen` is the unit it is for, 0 for not said."""
    ids = sorted({item_id for item_id, _ in lines})
    items = {one.id: one for one in records.find(StockItem, id=ids)}
    lots: dict[int, list[Lot]] = {}
    for lot in records.find(Lot, item_id=ids):
        lots.setdefault(lot.item_id, []).append(lot)
    had: dict[int, int] = {}
    for one in records.find(HandOut, person_id=person_id, item_id=ids):
        if one.at > moment - WEEK:
            had[one.item_id] = had.get(one.item_id, 0) + one.quantity
    limits = {one.item_id: one.per_week for one in records.find(HandOutLimit, item_id=ids)}
    codes = {code for model in house.models.values() for place in model.positions for code in place.items}
    aside = set_asides(records, ids)
    found = []
    for item_id, pieces in lines:
        item = items[item_id]
        free = first_to_expire(lots.get(item_id, []), house, moment)
        theirs, position, unclear = _unit_for(kept, item.code, chosen)
        found.append(
            Planned(
                item=item,
                pieces=pieces,
                lots=_from(free, pieces),
                free=sum(lot.on_hand for lot in free),
                kept=theirs,
                position=position,
                named=item.code in codes,
                unclear=unclear,
                had=had.get(item_id, 0),
                limit=limits.get(item_id, 0),
                aside_for=kept_words(aside.get(item_id, ())),
                aside=reserved_of(aside, item_id)[0],
            )
        )
    return tuple(found)


def first_to_expire(lots: list[Lot], house: House, moment: datetime) -> list[Lot]:
    """The lots that may be handed out, the one that expires first first; blocked and expired ones never."""
    today = house.today(moment)
    there = [one for one in lots if one.on_hand > 0 and not one.blocked]
    good = [one for one in there if one.expires_on is None or one.expires_on >= today]
    return sorted(good, key=lambda one: (one.expires_on is None, one.expires_on, one.id))


def _from(lots: list[Lot], pieces: int) -> tuple[tuple[Lot, int], ...]:
    taken = []
    for lot in lots:
        part = min(lot.on_hand, pieces)
        if part:
            taken.append((lot, part))
        pieces -= part
    return tuple(taken)


def _unit_for(kept: tuple[Kept, ...], code: str, chosen: int) -> tuple[Kept | None, Position | None, bool]:
    """The unit it is for and its position there; whether that is still to be said."""
    fits = [(one, place) for one in kept if (place := one.takes(code)) is not None]
    said = [pair for pair in fits if pair[0].unit.id == chosen]
    if said or len(fits) == 1:
        return (*(said or fits)[0], False)
    return None, None, len(fits) > 1


@dataclass(frozen=True, kw_only=True)
class HandItemsOut(Operation):
    """Consumables go over the counter: (item, pieces) a line; `unit_id` is the unit they are for, where it was said.

    With `fitted` one piece of each line sits in its unit from now on; the others are taken along.
    """

    person_id: int
    lines: tuple[tuple[int, int], ...]
    unit_id: int | None = None
    fitted: bool = False
    found_by_name: bool = False

    code: ClassVar[str] = "hand-out"
    words: ClassVar[str] = "Handing out"

    def run(self, work: Work, context: Context) -> Outcome:
        """Stock goes down line by line; a line that is short is told, and nothing of it goes."""
        person = fetch(work, Person, self.person_id, "This person")
        if person.ended(context.house.today(context.moment)):
            raise NothingToThem(person.label)  # (a house rule)
        kept = kept_by(work, context.house, person.id)
        if self.unit_id is not None and self.unit_id not in {one.unit.id for one in kept}:
            raise NotTheirs(fetch(work, Unit, self.unit_id, "This unit").label, person.label)
        planned = plan(
            work, context.house, person.id, self._merged(work), kept, self.unit_id or 0, context.moment
        )
        given = self._given(planned, context.house)
        if self.fitted and not any(one.position for one in given):
            raise WrongFigure("Fitted now", "nothing of it goes into a unit they have")
        for one in given:
            self._hand(work, context, one)
        return self._outcome(person, planned, given)

    def _merged(self, work: Work) -> tuple[tuple[int, int], ...]:
        wanted: dict[int, int] = {}
        for item_id, pieces in self.lines:
            item = fetch(work, StockItem, item_id, "This item")
            wanted[item.id] = wanted.get(item.id, 0) + pieces
            if not 1 <= pieces <= MOST_PIECES or wanted[item.id] > MOST_PIECES:
                raise WrongFigure(item.name, f"between 1 and {MOST_PIECES} pieces")
        if not wanted:
            raise WrongFigure("Hand-out", "nothing is on its list")
        return tuple(wanted.items())

    def _given(self, planned: tuple[Planned, ...], house: House) -> tuple[Planned, ...]:
        """The lines that can go. Raises NotAllowed for what may not, or where nothing can."""
        for one in planned:
            if for_the_bench(house, one.item.code) or (one.position and not one.position.wearer_changes):
                raise ForTheBench(one.item.name)
            if one.unclear:
                raise WrongFigure("Unit", f"{one.item.name} fits more than one of theirs; say which it is for")
        given = tuple(one for one in planned if not one.short)
        if not given:
            raise Short("; ".join(short_words(one) for one in planned))
        return given

    def _hand(self, work: Work, context: Context, line: Planned) -> None:
        work.take(*(lot for lot, _ in line.lots))
        now = self.fitted and line.position is not None
        for number_, (lot, pieces) in enumerate(line.lots):
            fits = now and number_ == 0
            move_stock(work, context, lot, -pieces, "handed out", line.kept.unit.id if line.kept else None)
            work.save(
                HandOut(
                    person_id=self.person_id,
                    item_id=line.item.id,
                    lot_id=lot.id,
                    quantity=pieces,
                    unit_id=line.kept.unit.id if line.kept else None,
                    position=line.position.code if line.position else "",
                    fitted_pieces=1 if fits else 0,
                    fitted_at=context.moment if fits else None,
                    found_by_name=self.found_by_name,
                    at=context.moment,
                    by_id=context.clerk.id,
                )
            )
            if fits and line.kept is not None and line.position is not None:
                fit_while_out(work, context, line.kept, line.position, line.item.id, lot)

    def _outcome(self, person: Person, planned: tuple[Planned, ...], given: tuple[Planned, ...]) -> Outcome:
        units = tuple(dict.fromkeys(one.kept.unit.label for one in given if one.kept))
        parts = [", ".join(self._words(one) for one in given)]
        short = [short_words(one) for one in planned if one.short]
        if short:
            parts.append(f"Short, not handed out: {'; '.join(short)}")
        over = [over_words(one) for one in given if one.over]
        if over:
            parts.append(f"Over the house limit: {'; '.join(over)}")
        if self.found_by_name:
            parts.append("No badge was in hand, found by name")
        subjects = (person.label, *units, *(one.item.label for one in given))
        return Outcome(f"Handed to {person.label}: {'. '.join(parts)}.", subjects)

    def _words(self, line: Planned) -> str:
        lots = " and ".join(lot.code for lot, _ in line.lots)
        words = f"{number(line.pieces)} {line.item.name}, lot {lots}"
        if line.kept is None:
            return words
        how = ", fitted now" if self.fitted and line.pieces == 1 else ", one fitted now" if self.fitted else ""
        return f"{words}, for {line.kept.unit.label}{how}"


def short_words(line: Planned) -> str:
    """'Pre-filter: 5 wanted, 3 may go'."""
    return f"{line.item.name}: {number(line.pieces)} wanted, {number(line.free)} there"


def over_words(line: Planned) -> str:
    """'Cover lens: 12 in seven days, limit 10'."""
    return f"{line.item.name}, {number(line.had + line.pieces)} in seven days, limit {number(line.limit)}"


def fit_while_out(
    work: Work, context: Context, kept: Kept, position: Position, item_id: int, lot: Lot | None
) -> None:
    """What sat there ends and the new one begins, at the meter's hours by the clock: the unit is not here."""
    unit, custody = fetch_unit(work, kept.unit.id), kept.custody
    work.take(custody)  # who has it was asked before: a return meanwhile is found here
    meter = hours_now(context, unit, custody)
    moment = max(not_before(work, unit, context.moment), custody.issued_at)
    old = work.first(Fitted, unit_id=unit.id, position=position.code, removed_at=None)
    if old is not None:
        work.take(old)
        meter, moment = max(meter, old.fitted_at_hours), max(moment, old.fitted_at)
        work.save(replace(old, removed_at=moment, removed_at_hours=meter, removed_why=BY_WEARER))
    work.save(
        Fitted(
            unit_id=unit.id,
            position=position.code,
            item_id=item_id,
            lot_id=lot.id if lot else None,
            expires_on=lot.expires_on if lot else None,
            fitted_at=moment,
            fitted_at_hours=meter,
        )
    )


@dataclass(frozen=True, kw_only=True)
class ConfirmFitting(Operation):
    """The wearer says that what they took along is fitted: from now on its hours count.

    What was done is recorded even where its lot was blocked meanwhile: the unit then stands as on hold.
    """

    hand_out_id: int

    code: ClassVar[str] = "confirm-fitting"
    words: ClassVar[str] = "Noting what was fitted"

    def run(self, work: Work, context: Context) -> Outcome:
        """One piece of the hand-out sits in its unit now, which the same person must still have."""
        handed = fetch(work, HandOut, self.hand_out_id, "This hand-out")
        work.take(handed)
        person = fetch(work, Person, handed.person_id, "This person")
        item = fetch(work, StockItem, handed.item_id, "This item")
        if handed.unit_id is None or handed.fitted_pieces >= handed.quantity:
            raise WrongFigure(item.name, "nothing of it is left to be fitted")
        kept = next((one for one in kept_by(work, context.house, person.id) if one.unit.id == handed.unit_id), None)
        if kept is None:
            raise NotTheirs(fetch(work, Unit, handed.unit_id, "This unit").label, person.label)
        position = kept.model.position(handed.position)
        if position is None or not position.wearer_changes:
            raise ForTheBench(item.name)
        lot = fetch(work, Lot, handed.lot_id, "Its lot") if handed.lot_id else None
        fit_while_out(work, context, kept, position, item.id, lot)
        work.save(replace(handed, fitted_pieces=handed.fitted_pieces + 1, fitted_at=context.moment))
        blocked = f" Its lot is blocked since, {lot.blocked}: call the unit in." if lot and lot.blocked else ""
        words = f"{person.label} fitted {item.name} in {kept.unit.label}: its hours count from now.{blocked}"
        return Outcome(words, (person.label, kept.unit.label, item.label))
