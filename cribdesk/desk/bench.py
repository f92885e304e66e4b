"""Changing parts: what comes out keeps its hours, what goes in comes off the shelf."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.model import Position, UnitModel
from cribdesk.crib.records import Fitted, Lot, Part, PartPlace, StockItem, Unit
from cribdesk.crib.refusal import NotApproved, PastItsDate, WrongFigure
from cribdesk.crib.words import date_words
from cribdesk.desk.inspection import fetch_unit, must_be_in_hand, not_before
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.set_aside import take_from_tray
from cribdesk.desk.stock import move_stock


@dataclass(frozen=True, kw_only=True)
class ChangePart(Operation):
    """A part is changed at one position: from a lot on the shelf, or a part with a label of its own."""

    unit_id: int
    position: str
    item_id: int
    lot_id: int | None = None
    part_id: int | None = None
    why: str = ""
    old_fault: str = ""

    code: ClassVar[str] = "change-part"
    words: ClassVar[str] = "Changing a part"

    def run(self, work: Work, context: Context) -> Outcome:
        """Stock goes down by one; the hours of what comes out are kept with it."""
        unit = fetch_unit(work, self.unit_id)
        must_be_in_hand(work, unit)
        model = context.house.model_of(unit)
        position = position_of(model, self.position)
        item = fetch(work, StockItem, self.item_id, "This item")
        if item.code not in position.items:
            raise NotApproved(item.name, position.name, model.short_name)
        take_out(work, context, unit, position.code, self.why, self.old_fault)
        if position.labelled:
            what = self._labelled(work, context, unit, position, item)
        else:
            what = self._from_stock(work, context, unit, position, item)
        return Outcome(
            f"{position.name} of {unit.label} changed: {what}{f'; {self.why}' if self.why else ''}.",
            (unit.label, item.label),
        )

    def _from_stock(
        self, work: Work, context: Context, unit: Unit, position: Position, item: StockItem
    ) -> str:
        if self.lot_id is None:
            raise WrongFigure("Lot", "say which lot it comes from")
        lot = fetch(work, Lot, self.lot_id, "This lot")
        work.take(lot)
        if lot.item_id != item.id:
            raise WrongFigure("Lot", f"{lot.code} is of another item")
        check_lot(lot, item, context)
        move_stock(work, context, lot, -1, f"fitted, {position.name.lower()}", unit.id)
        take_from_tray(work, item.id, 1)
        fit(work, context, unit, position, item, lot)
        return f"{item.name}, lot {lot.code}"

    def _labelled(
        self, work: Work, context: Context, unit: Unit, position: Position, item: StockItem
    ) -> str:
        if self.part_id is None:
            raise WrongFigure("Part", "scan the label of the part that goes in")
        part = fetch(work, Part, self.part_id, "This part")
        work.take(part)
        lot = check_part(work, context, part, item, position, context.house.model_of(unit))
        work.save(replace(part, place=PartPlace.FITTED, unit_id=unit.id))
        fit(work, context, unit, position, item, lot, part)
        return f"{item.name}, {part.label}"


def position_of(model: UnitModel, code: str) -> Position:
    """The model's position of that code. Raises WrongFigure."""
    found = model.position(code)
    if found is None:
        raise WrongFigure("Position", f"{model.short_name} has no {code}")
    return found


def check_lot(lot: Lot, item: StockItem, context: Context) -> None:
    """Raises PastItsDate for a lot that is past its date or blocked."""
    if lot.blocked:
        raise PastItsDate(item.name, lot.code, f"blocked, {lot.blocked}")
    if lot.expires_on and lot.expires_on < context.house.today(context.moment):
        raise PastItsDate(item.name, lot.code, f"its date was {date_words(lot.expires_on)}")


def check_part(
    work: Work, context: Context, part: Part, item: StockItem, position: Position, model: UnitModel
) -> Lot | None:
    """The lot of a labelled part that may be fitted. Raises NotAllowed for a faulty, recalled or absent one."""
    if part.item_id != item.id:
        raise NotApproved(part.label, position.name, model.short_name)
    if part.place is not PartPlace.SHELF:
        raise WrongFigure(part.label, f"it is not on the shelf but: {part.place.value}")
    if part.fault:
        raise WrongFigure(part.label, f"it has a fault: {part.fault}")
    lot = fetch(work, Lot, part.lot_id, "Its lot") if part.lot_id else None
    if lot is not None:
        check_lot(lot, item, context)
    return lot


def take_out(
    work: Work, context: Context, unit: Unit, position: str, why: str, fault: str = ""
) -> Fitted | None:
    """Ends what sits at a position, hours kept; a labelled part goes to the shelf with its hours and fault."""
    old = work.first(Fitted, unit_id=unit.id, position=position, removed_at=None)
    if old is None:
        return None
    work.take(old)
    ended = work.save(
        replace(
            old,
            removed_at=max(context.moment, old.fitted_at),
            removed_at_hours=unit.worn_hours,
            removed_why=why,
        )
    )
    if old.part_id is not None:
        part = fetch(work, Part, old.part_id, "The part in it")
        work.take(part)
        work.save(
            replace(
                part,
                place=PartPlace.SHELF,
                unit_id=None,
                worn_hours=ended.worn(unit.worn_hours),
                fault=fault or part.fault,
            )
        )
    return ended


def fit(
    work: Work,
    context: Context,
    unit: Unit,
    position: Position,
    item: StockItem,
    lot: Lot | None,
    part: Part | None = None,
) -> Fitted:
    """What sits at the position from now on."""
    return work.save(
        Fitted(
            unit_id=unit.id,
            position=position.code,
            item_id=item.id,
            lot_id=lot.id if lot else None,
            part_id=part.id if part else None,
            expires_on=lot.expires_on if lot else None,
            fitted_at=not_before(work, unit, context.moment),
            fitted_at_hours=unit.worn_hours,
            worn_before_hours=part.worn_hours if part else 0.0,
        )
    )
