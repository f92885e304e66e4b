"""Units and labelled parts: entering them, and where they are when they are not out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.label import Kind
from cribdesk.crib.model import Position
from cribdesk.crib.records import AWAY, Cabinet, Fitted, Lot, Part, PartPlace, Role, StockItem, Unit, Where
from cribdesk.crib.refusal import NotApproved, Unknown, WrongFigure
from cribdesk.desk.bench import check_lot, check_part, fit, position_of
from cribdesk.desk.inspection import fetch_unit, must_be_in_hand
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.scrapping import scrap
from cribdesk.desk.sealed import leave_cabinet
from cribdesk.desk.stock import move_stock

BENCH = (Role.TECHNICIAN, Role.PROGRAM, Role.SYSTEM)
NEW_SHELF = "bench, new"


@dataclass(frozen=True, kw_only=True)
class AddPart(Operation):
    """A part gets a label of its own: one piece comes off the stock and lies on the shelf under it."""

    item_id: int
    lot_id: int
    serial: str = ""

    code: ClassVar[str] = "add-part"
    words: ClassVar[str] = "Entering a part"
    may: ClassVar[tuple[Role, ...]] = BENCH

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label."""
        item = fetch(work, StockItem, self.item_id, "This item")
        lot = fetch(work, Lot, self.lot_id, "This lot")
        if lot.item_id != item.id:
            raise WrongFigure("Lot", f"{lot.code} is of another item")
        check_lot(lot, item, context)
        move_stock(work, context, lot, -1, "labelled")
        part = work.save(
            Part(label=fresh_label(work, Kind.PART), item_id=item.id, lot_id=lot.id, serial=self.serial)
        )
        return Outcome(f"{item.name} entered as {part.label}.", (part.label, item.label))


@dataclass(frozen=True, kw_only=True)
class AddUnit(Operation):
    """A new unit is put together: (position, item id, lot id or None, part id or None) for each part.

    A part that carries a label of its own and comes from a lot gets its label here.
    """

    model: str
    serial: str = ""
    size: str = ""
    parts: tuple[tuple[str, int, int | None, int | None], ...] = ()

    code: ClassVar[str] = "add-unit"
    words: ClassVar[str] = "Entering a unit"
    may: ClassVar[tuple[Role, ...]] = BENCH

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it at the bench; it is ready after its first inspection, not before."""
        model = context.house.models.get(self.model)
        if model is None:
            raise Unknown(f"Model {self.model}")
        if (self.size or model.sizes) and self.size not in model.sizes:
            raise WrongFigure("Size", f"{model.short_name} comes in {', '.join(model.sizes) or 'one size'}")
        unit = work.save(
            Unit(
                label=fresh_label(work, Kind.UNIT),
                model=model.code,
                serial=self.serial,
                size=self.size,
                where=Where.BENCH,
                place=NEW_SHELF,
                added_at=context.moment,
            )
        )
        labelled: list[str] = []
        for position, item_id, lot_id, part_id in self.parts:
            labelled += self._fit(work, context, unit, position, item_id, lot_id, part_id)
        sentence = f"{model.name} entered as {unit.label}; it waits for its first inspection."
        sheet = ",".join((unit.label, *labelled))
        return Outcome(sentence, (unit.label, *labelled), (("label_sheet", sheet),))

    def _fit(
        self,
        work: Work,
        context: Context,
        unit: Unit,
        code: str,
        item_id: int,
        lot_id: int | None,
        part_id: int | None,
    ) -> tuple[str, ...]:
        """Fits one part. Returns the label that was made for it, if one was."""
        model = context.house.model_of(unit)
        position = position_of(model, code)
        item = fetch(work, StockItem, item_id, "This item")
        if item.code not in position.items:
            raise NotApproved(item.name, position.name, model.short_name)
        if work.first(Fitted, unit_id=unit.id, position=code, removed_at=None):
            raise WrongFigure(position.name, "it is named twice")
        if position.labelled and part_id is None and lot_id is not None:
            return (self._label_and_fit(work, context, unit, position, item, lot_id),)
        if position.labelled:
            if part_id is None:
                raise WrongFigure(position.name, "it carries a label of its own; enter the part first")
            part = fetch(work, Part, part_id, "This part")
            lot = check_part(work, context, part, item, position, model)
            work.save(replace(part, place=PartPlace.FITTED, unit_id=unit.id))
            fit(work, context, unit, position, item, lot, part)
            return ()
        if lot_id is None:
            raise WrongFigure(position.name, "say which lot it comes from")
        fit(work, context, unit, position, item, self._off_the_shelf(work, context, unit, position, item, lot_id))
        return ()

    def _label_and_fit(
        self, work: Work, context: Context, unit: Unit, position: Position, item: StockItem, lot_id: int
    ) -> str:
        lot = self._off_the_shelf(work, context, unit, position, item, lot_id)
        label = fresh_label(work, Kind.PART)
        made = Part(label=label, item_id=item.id, lot_id=lot.id, place=PartPlace.FITTED, unit_id=unit.id)
        fit(work, context, unit, position, item, lot, work.save(made))
        return label

    def _off_the_shelf(
        self, work: Work, context: Context, unit: Unit, position: Position, item: StockItem, lot_id: int
    ) -> Lot:
        lot = fetch(work, Lot, lot_id, "This lot")
        if lot.item_id != item.id:
            raise WrongFigure("Lot", f"{lot.code} is of another item")
        check_lot(lot, item, context)
        return move_stock(work, context, lot, -1, f"fitted, {position.name.lower()}", unit.id)


@dataclass(frozen=True, kw_only=True)
class MoveUnit(Operation):
    """A unit that is here is put somewhere else, on the rack or at the bench; or it is scrapped, wherever it is."""

    unit_id: int
    where: Where
    place: str = ""
    why: str = ""

    code: ClassVar[str] = "move-unit"
    words: ClassVar[str] = "Moving a unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """Moves it. Out and assigned are reached by an issue only; missing and sent out have operations of their own.

        Into a cabinet it goes at the counter, with the new seal; a place that is no cabinet of this store is certified
        by nobody. What was done to a unit that was missing or sent out nobody saw: it is found or arrives, and passes
        at the bench.
        """
        unit = fetch_unit(work, self.unit_id)
        if self.where in (Where.OUT, Where.ASSIGNED):
            raise WrongFigure("Where", "a unit goes out by an issue only")
        if self.where in AWAY:
            raise WrongFigure("Where", "say what became of it: missing, stolen, sent for repair or lent")
        must_be_in_hand(work, unit)
        if unit.where in AWAY and self.where is not Where.SCRAPPED:
            raise WrongFigure("Where", f"it is {unit.where.value}; say that it is back, then inspect it at the bench")
        if self.where is Where.EMERGENCY:
            raise WrongFigure("Where", self._no_move_into(work))
        if self.where is Where.SCRAPPED:
            return self._scrap(work, context, unit)
        left = leave_cabinet(work, context, unit)
        work.save(replace(unit, where=self.where, place=self.place))
        why = f"; {self.why}" if self.why else ""
        at = f", {self.place}" if self.place else ""
        opened = f" The seal of {left.name} is broken." if left else ""
        subjects = (unit.label, left.label) if left else (unit.label,)
        return Outcome(f"{unit.label}: {self.where.value}{at}{why}.{opened}", subjects)

    def _no_move_into(self, work: Work) -> str:
        if work.first(Cabinet, name=self.place):
            return f"{self.place} is a sealed cabinet; put it in at the counter: scan the unit, then the cabinet"
        named = f"{self.place} is" if self.place.strip() else "a place without a name is"
        return f"{named} no cabinet of this store; enter the cabinet, then scan the unit and the cabinet"

    def _scrap(self, work: Work, context: Context, unit: Unit) -> Outcome:
        """As by its own operation, every labelled part of a unit that is here kept."""
        if not context.clerk.has(*BENCH):
            raise WrongFigure("Scrapping", "it takes a bench technician or an administrator")
        there = [] if unit.where in AWAY else work.find(Fitted, unit_id=unit.id, removed_at=None)
        freed = scrap(work, context, unit, self.why, {one.part_id: "" for one in there if one.part_id})
        return Outcome(f"{unit.label}: scrapped; {self.why.strip()}.", (unit.label, *freed.kept))
