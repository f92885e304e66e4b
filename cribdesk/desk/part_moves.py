"""Parts that go from one unit to another: hours, lot, date and faults travel with them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.hold import MOVED, ROBBED
from cribdesk.crib.model import HoldReason, Position, UnitModel
from cribdesk.crib.reasons import at_hand
from cribdesk.crib.records import Custody, Fitted, Hold, Lot, Part, PartPlace, StockItem, Unit
from cribdesk.crib.refusal import IsAway, NotApproved, NotTheSame, WrongFigure
from cribdesk.crib.serviceable import Serviceable, calendar_limit, condition, needs_cleaning
from cribdesk.crib.words import date_words, hours
from cribdesk.desk.away import must_be_here
from cribdesk.desk.bench import check_lot, check_part, fit, position_of, take_out
from cribdesk.desk.facts import standing_of
from cribdesk.desk.inspection import fetch_unit, hold_anew
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import FILLED, Work

BENCH_WORDS = "inspect it at the bench"


@dataclass(frozen=True)
class Moving:
    """What sits at a position and is to go over: its record, its item, its lot, and the part where it is labelled."""

    fitted: Fitted
    item: StockItem
    lot: Lot | None
    part: Part | None
    worn_hours: float

    @property
    def name(self) -> str:
        """What it is called: its label where it has one."""
        return self.part.label if self.part else self.item.name


@dataclass(frozen=True, kw_only=True)
class SwapParts(Operation):
    """The labelled parts at one position of two units in hand change places."""

    unit_id: int
    other_id: int
    position: str

    code: ClassVar[str] = "swap-parts"
    words: ClassVar[str] = "Swapping parts"

    def run(self, work: Work, context: Context) -> Outcome:
        """Both units are held for it: a full check at the counter does not see what the other wearer knew of a part."""
        unit, other = _two(work, self.unit_id, self.other_id)
        models = context.house.model_of(unit), context.house.model_of(other)
        places = tuple(position_of(model, self.position) for model in models)
        mine, theirs = (_sitting(work, context, one, self.position) for one in (unit, other))
        for moving, place, model in ((theirs, places[0], models[0]), (mine, places[1], models[1])):
            if moving.part is None:
                raise NotTheSame(moving.name, "it carries no label of its own; rob it instead")
            _may_sit(work, context, moving, place, model)
        for one, gives in ((unit, other), (other, unit)):
            take_out(work, context, one, self.position, f"swapped with {gives.label}")
        _put(work, context, unit, places[0], models[0], theirs)
        _put(work, context, other, places[1], models[1], mine)
        tags = [
            _hold(work, context, one, MOVED, f"{places[0].name} out of {gives.label}")
            for one, gives in ((unit, other), (other, unit))
        ]
        what = f"{theirs.name} is in {unit.label} now, {mine.name} in {other.label}"
        return Outcome(
            f"{places[0].name} swapped: {what}. Both have to pass an inspection at the bench. "
            f"Tags {tags[0]} and {tags[1]}.",
            (unit.label, other.label, theirs.name, mine.name, *tags),
            tuple(("tag", tag) for tag in tags),
        )


@dataclass(frozen=True, kw_only=True)
class RobPart(Operation):
    """A part is taken out of a unit that is on hold and fitted in another one in hand."""

    from_id: int
    unit_id: int
    position: str

    code: ClassVar[str] = "rob-part"
    words: ClassVar[str] = "Taking a part out of another unit"

    def run(self, work: Work, context: Context) -> Outcome:
        """Both units are held for it: the robbed one is to be made whole, and only the bench brings either back."""
        unit, source = _two(work, self.unit_id, self.from_id)
        state = condition(standing_of(work, context.house, source, context.moment)).state
        if state is not Serviceable.ON_HOLD:
            raise WrongFigure(source.label, f"it is {state.value}; a part is robbed only from a unit on hold")
        model = context.house.model_of(unit)
        place = position_of(model, self.position)
        moving = _sitting(work, context, source, self.position)
        _may_sit(work, context, moving, place, model)
        out = take_out(work, context, source, self.position, f"robbed for {unit.label}")
        assert out is not None
        take_out(work, context, unit, self.position, f"replaced by the one of {source.label}")
        _put(work, context, unit, place, model, moving)
        tags = (
            _hold(work, context, source, ROBBED, f"{place.name} went into {unit.label}"),
            _hold(work, context, unit, MOVED, f"{place.name} out of {source.label}"),
        )
        labels = (moving.part.label,) if moving.part else ()
        return Outcome(
            f"{place.name} of {source.label}, {moving.name}, {hours(moving.worn_hours)} worn, is in {unit.label} now. "
            f"Both have to pass an inspection at the bench. "
            f"Tags {tags[0]} and {tags[1]}.",
            (unit.label, source.label, *tags, *labels),
            tuple(("tag", tag) for tag in tags),
        )


def _two(work: Work, first_id: int, second_id: int) -> tuple[Unit, Unit]:
    """Both units, taken for change in the order of their ids so that two counters never wait for each other."""
    if first_id == second_id:
        raise WrongFigure("Units", "it takes two")
    units = {id_: fetch_unit(work, id_) for id_ in sorted((first_id, second_id))}
    for unit in units.values():
        must_be_here(work, unit)
        if not at_hand(unit):
            raise IsAway(unit.label, f"in the {unit.where.value}")
        last = work.latest(Custody, unit_id=unit.id, returned_at=FILLED)
        if last is not None and last.completed_at is None:
            raise WrongFigure(unit.label, "its hours are not said yet; complete its return first")
    return units[first_id], units[second_id]


def _sitting(work: Work, context: Context, unit: Unit, code: str) -> Moving:
    """What sits at the position of a unit, with what has to travel along; out of a dirty unit nothing goes."""
    if needs_cleaning(standing_of(work, context.house, unit, context.moment)):
        raise WrongFigure(unit.label, "it was not cleaned since its last wearer; clean it first")
    place = position_of(context.house.model_of(unit), code)
    fitted = work.first(Fitted, unit_id=unit.id, position=code, removed_at=None)
    if fitted is None:
        raise WrongFigure(place.name, f"nothing is fitted in {unit.label}")
    item = fetch(work, StockItem, fitted.item_id, "This item")
    lot = fetch(work, Lot, fitted.lot_id, "Its lot") if fitted.lot_id else None
    part = fetch(work, Part, fitted.part_id, "The part in it") if fitted.part_id else None
    ends = calendar_limit(place, fitted)
    return Moving(replace(fitted, expires_on=ends), item, lot, part, fitted.worn(unit.worn_hours))


def _may_sit(work: Work, context: Context, moving: Moving, place: Position, model: UnitModel) -> None:
    """Raises NotAllowed for a part that is not approved there, faulty, recalled, past its date or worn out."""
    if moving.item.code not in place.items:
        raise NotApproved(moving.name, place.name, model.short_name)
    if place.labelled and moving.part is None:
        raise NotTheSame(moving.name, "it carries no label, and there a labelled one belongs")
    if moving.part is not None and moving.part.fault:
        raise NotTheSame(moving.name, f"it has a fault, {moving.part.fault}")
    if moving.lot is not None:
        check_lot(moving.lot, moving.item, context)
    ends = moving.fitted.expires_on
    if ends is not None and ends < context.house.today(context.moment):
        raise NotTheSame(moving.name, f"its last day was {date_words(ends)}")
    if place.max_hours is not None and moving.worn_hours >= place.max_hours:
        raise NotTheSame(moving.name, f"{hours(moving.worn_hours)} worn, limit {hours(place.max_hours)}")


def _put(work: Work, context: Context, unit: Unit, place: Position, model: UnitModel, moving: Moving) -> None:
    """It sits there from now on, its hours before counted on, its last day as it was."""
    part = fetch(work, Part, moving.part.id, "The part") if moving.part else None
    if part is not None:
        check_part(work, context, part, moving.item, place, model)
        work.save(replace(part, place=PartPlace.FITTED, unit_id=unit.id))
    there = fit(work, context, unit, place, moving.item, moving.lot, part)
    work.save(replace(there, expires_on=moving.fitted.expires_on, worn_before_hours=moving.worn_hours))


def _hold(work: Work, context: Context, unit: Unit, reason: HoldReason, words: str) -> str:
    """The tag of the hold that a unit gets for it; a second part taken out or put in goes on in the first hold."""
    there = work.first(Hold, unit_id=unit.id, reason=reason.code, released_at=None)
    return hold_anew(work, context, unit, reason, f"{there.detail}; {words}" if there else words).tag
