"""A shift at the bench: trays are cleaned, units inspected and repaired, holds released, dates kept."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from clockwork import Doing
from looking import Looker, change
from nature import TrueUnit
from world import LAST_DAY, World

from cribdesk.crib.hold import QUALIFIED
from cribdesk.crib.records import Cabinet, Fitted, Hold, Lot, Part, PartPlace, Person, StockItem, Unit, Where
from cribdesk.crib.serviceable import Serviceable, Standing, calendar_limit
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cabinet import AddCabinet, Certify, PutInCabinet
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.people import SignOff, SignOn
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.unit import AddPart, MoveUnit

AT = "Bench"
TRAY = 6
MONTHLY = timedelta(days=28)
DATES_AHEAD = timedelta(days=4)
LONG_ENOUGH = timedelta(minutes=75)

ROUND_UNTIL = time(6, 0)
ROUND = ("WL1", 11)
"""Each morning the bench sees to it that so many units of this model are inspected for the day."""


def bench_shift(world: World, clerk: Person, ends: datetime, leave: int = 0) -> Doing:
    """One technician from signing on to signing off; `leave` units stay uncleaned on purpose."""
    world.hands.do(AT, clerk.id, SignOn)
    yield 120
    pace = world.chance.between(0.85, 1.2)
    meter = world.good_meter()
    while world.now < ends - timedelta(minutes=12):
        looker = Looker(world.hands, world.nature, AT, clerk, pace, *meter)
        job = _next_job(world, looker, ends, leave)
        if job is None:
            yield min(ends, world.now + timedelta(minutes=10))
        else:
            yield from job
    if world.now < ends:
        yield ends
    if leave:
        yield from _look_over_some(world, Looker(world.hands, world.nature, AT, clerk, pace, *meter))
    world.hands.do(AT, clerk.id, SignOff)


def _in_hand(world: World) -> list[TrueUnit]:
    """Units that lie here, with their returns complete."""
    away = (Where.OUT, Where.ASSIGNED, Where.MISSING, Where.SCRAPPED)
    return [
        unit
        for unit in world.nature.units.values()
        if unit.id not in world.busy
        and unit.id not in world.out
        and unit.id not in world.gone
        and unit.id not in world.incomplete
        and world.hands.standing(unit.id).unit.where not in away
    ]


def _next_job(world: World, looker: Looker, ends: datetime, leave: int) -> Doing | None:
    here = _in_hand(world)
    if world.now.astimezone(world.hands.house.zone).time() < ROUND_UNTIL and (unit := _for_the_day(world)):
        return _inspect(world, looker, unit, "bench")
    states = {unit.id: world.hands.condition(unit.id) for unit in here}
    for unit in here:
        if states[unit.id].state is Serviceable.NOT_CHECKED and not states[unit.id].dirty:
            return _inspect(world, looker, unit, "bench")
    dirty = [unit for unit in here if states[unit.id].dirty]
    dirty.sort(key=lambda unit: states[unit.id].state is not Serviceable.ON_HOLD)
    if len(dirty) > leave and (tray := _tray(world, dirty[: len(dirty) - leave], ends)):
        return _clean(world, looker, tray)
    for unit in here:
        state = states[unit.id]
        if state.state is Serviceable.ON_HOLD and not state.dirty:
            if unit.id not in world.repair_at:
                world.repair_at[unit.id] = world.now + timedelta(hours=_repair_waits(world))
            if world.repair_at[unit.id] <= world.now:
                return _repair(world, looker, unit)
    for unit in here:
        if states[unit.id].state is Serviceable.READY:
            if due := _past_soon(world, unit):
                return _by_the_calendar(world, looker, unit, due)
            last = world.hands.standing(unit.id).last_pass
            seen = world.monthly_at.get(unit.id)
            if last is not None and world.now - max(last.ended_at, seen or last.ended_at) > MONTHLY:
                return _inspect(world, looker, unit, "monthly")
    return None


def _repair_waits(world: World) -> float:
    """Hours until somebody finds the time; the last days of the sample leave some for its user."""
    hours = world.chance.lognormal(14, 0.9)
    return 48.0 if world.today >= LAST_DAY - timedelta(days=1) else hours


def _for_the_day(world: World) -> TrueUnit | None:
    """A ready unit to inspect for the day, while too few are."""
    model, wanted = ROUND
    since = world.hands.house.inspected_since(world.now)
    ready = world.ready_units(model)
    passes = {id: last.ended_at for id in ready if (last := world.hands.standing(id).last_pass)}
    old = [id for id in ready if passes[id] < since]
    return world.nature.units[min(old, key=passes.__getitem__)] if old and len(ready) - len(old) < wanted else None


def _look_over_some(world: World, looker: Looker) -> Doing:
    """On an evening that leaves units uncleaned, some of them are looked over at least."""
    dirty = [unit for unit in _in_hand(world) if world.hands.condition(unit.id).dirty]
    dirty = [unit for unit in dirty if world.hands.condition(unit.id).state is Serviceable.NOT_CHECKED]
    for unit in dirty[:3]:
        yield from look_over(world, looker, unit)


def _tray(world: World, dirty: list[TrueUnit], ends: datetime) -> list[TrueUnit]:
    """Units cleaned by one procedure, once enough of them are there or the oldest has waited."""
    by_procedure: dict[str, list[TrueUnit]] = {}
    for unit in dirty:
        by_procedure.setdefault(unit.model.procedures["cleaning"], []).append(unit)
    for units in by_procedure.values():
        back = [world.hands.standing(unit.id).last_custody for unit in units]
        oldest = min(one.returned_at for one in back if one and one.returned_at)
        if len(units) >= TRAY or world.now - oldest > LONG_ENOUGH or ends - world.now < LONG_ENOUGH:
            model = units[0].model.code
            return [unit for unit in units if unit.model.code == model][:TRAY]
    return []


def _clean(world: World, looker: Looker, tray: list[TrueUnit]) -> Doing:
    world.busy.update(unit.id for unit in tray)
    for unit in tray:
        if world.chance.happens(0.4):
            yield from look_over(world, looker, unit)
    run = yield from looker.check(tray[0], "cleaning")
    ids = tuple(unit.id for unit in tray)
    receipt = world.hands.do(AT, looker.clerk.id, FinishCleaning, unit_ids=ids, run_made=run)
    world.hands.changed(*ids)
    world.papers(receipt, AT, looker.clerk.id)
    world.busy.difference_update(ids)


def look_over(world: World, looker: Looker, unit: TrueUnit) -> Doing:
    """The look-over after a return, before the cleaning."""
    run = yield from looker.check(unit, "return-look")
    receipt = world.hands.do(AT, looker.clerk.id, FinishInspection, unit_id=unit.id, run_made=run)
    world.papers(receipt, AT, looker.clerk.id)
    yield 10


def _inspect(world: World, looker: Looker, unit: TrueUnit, kind: str) -> Doing:
    world.busy.add(unit.id)
    yield 40
    if kind == "monthly":
        world.monthly_at[unit.id] = world.now
    if kind == "bench" and world.nature.causes(unit, "cover-lenses"):
        yield from _change_along(world, looker, unit)
    looker.break_off_at = world.chance.whole(4, 12) if world.chance.happens(0.004) else None
    run = yield from looker.check(unit, kind)
    receipt = world.hands.do(AT, looker.clerk.id, FinishInspection, unit_id=unit.id, run_made=run)
    world.papers(receipt, AT, looker.clerk.id)
    if kind == "monthly" and world.hands.get(Unit, unit.id).where is Where.EMERGENCY:
        yield 60
        seal = f"G2-{world.today:%y%m%d}"
        certified = world.hands.try_to(AT, looker.clerk.id, Certify, unit_id=unit.id, seal=seal)
        if certified is not None:
            world.papers(certified, AT, looker.clerk.id)
    world.busy.discard(unit.id)


def _change_along(world: World, looker: Looker, unit: TrueUnit) -> Doing:
    """With a new outer lens some hands fit a new pre-filter too, where the old one is well used."""
    place = unit.model.position("pre-filter")
    if place is None or not world.chance.happens(world.nature.figures["changed_along"]):
        return
    old = next((one for one in world.hands.standing(unit.id).fitted if one.position == "pre-filter"), None)
    if old is None or place.thumb_hours is None:
        return
    if old.worn(world.hands.standing(unit.id).unit.worn_hours) > 0.75 * place.thumb_hours:
        yield 30
        change(looker, unit, "pre-filter", "along with the outer cover lens")


def _past_soon(world: World, unit: TrueUnit) -> Fitted | None:
    """A part whose calendar limit is near."""
    standing = world.hands.standing(unit.id)
    known = world.dates.get(unit.id)
    if known is None or known[0] is not standing:
        known = world.dates[unit.id] = (standing, _first_past(unit, standing))
    return known[1]


def _first_past(unit: TrueUnit, standing: Standing) -> Fitted | None:
    for one in standing.fitted:
        place = unit.model.position(one.position)
        last = calendar_limit(place, one) if place else None
        if last is not None and last <= standing.today + DATES_AHEAD and place and not place.labelled:
            return one
    return None


def _by_the_calendar(world: World, looker: Looker, unit: TrueUnit, due: Fitted) -> Doing:
    yield 60
    if not change(looker, unit, due.position, "by the calendar"):
        yield 1800


def _repair(world: World, looker: Looker, unit: TrueUnit) -> Doing:
    """Puts right what holds the unit, inspects it, releases its holds."""
    hands, nature = world.hands, world.nature
    world.busy.add(unit.id)
    yield world.chance.between(300, 1500)
    for position in [code for code, sitting in unit.parts.items() if sitting.worn_out]:
        place = unit.model.position(position)
        if place is not None and place.labelled:
            _change_labelled(world, looker, unit, position)
        elif position != "particulate-filter" or unit.model.code == "HM1":
            change(looker, unit, position, "repair")
        yield 240
    for code in hands.condition(unit.id).parts:
        change(looker, unit, code, "by the calendar")
    if not _recalled_out(world, looker, unit):
        world.busy.discard(unit.id)
        world.repair_at[unit.id] = world.now + timedelta(days=4)
        return
    for step, mended_by in list(unit.mishaps.items()):
        if mended_by == "repair":
            nature.mend(unit, step, mended_by)
    run = yield from looker.check(unit, "bench")
    receipt = hands.do(AT, looker.clerk.id, FinishInspection, unit_id=unit.id, run_made=run)
    world.papers(receipt, AT, looker.clerk.id)
    world.busy.discard(unit.id)
    world.repair_at[unit.id] = world.now + timedelta(hours=20)
    if run.verdict != "pass":
        return
    for hold in hands.find(Hold, unit_id=unit.id, released_at=None):
        yield 20
        if looker.clerk.has(*QUALIFIED[hold.proof]):
            hands.try_to(AT, looker.clerk.id, ReleaseHold, hold_id=hold.id)
            hands.changed(unit.id)
    if not hands.find(Hold, unit_id=unit.id, released_at=None):
        world.repair_at.pop(unit.id, None)


def _recalled_out(world: World, looker: Looker, unit: TrueUnit) -> bool:
    """Whether no recalled lot is left in the unit; what can be changed is."""
    hands = world.hands
    done = True
    for hold in hands.find(Hold, unit_id=unit.id, reason="recall", released_at=None):
        lot_id = int(hold.detail.rpartition("#")[2])
        for one in [one for one in hands.standing(unit.id).fitted if one.lot_id == lot_id]:
            done = bool(change(looker, unit, one.position, "recalled lot")) and done
    return done


def _change_labelled(world: World, looker: Looker, unit: TrueUnit, position: str) -> None:
    """A part with a label of its own goes in; where none lies ready, one is labelled from stock."""
    hands = world.hands
    place = unit.model.position(position)
    assert place is not None
    with hands.looking() as reader:
        item = reader.first(StockItem, code=place.items[0])
        assert item is not None
        lots = [one for one in reader.find(Lot, item_id=item.id) if one.on_hand > 0]
        spares = [one for one in reader.find(Part, item_id=item.id, place=PartPlace.SHELF) if not one.fault]
    if not spares and not lots:
        return
    if not spares:
        hands.do(AT, looker.clerk.id, AddPart, item_id=item.id, lot_id=lots[0].id, serial="")
        spares = [hands.last(Part)]
    hands.do(
        AT, looker.clerk.id, ChangePart,
        unit_id=unit.id, position=position, item_id=item.id, part_id=spares[0].id, why="repair",
        old_fault="worn out or damaged",
    )  # fmt: skip
    world.nature.fitted(unit, position)


def put_in_cabinet(world: World, clerk: Person, model: str) -> Doing:
    """One ready unit of the model goes into the emergency cabinet."""
    yield 60
    ready = world.ready_units(model)
    if not ready:
        return
    unit = world.hands.get(Unit, ready[-1])
    entered = world.hands.do(
        AT, clerk.id, AddCabinet,
        cabinet_name="Cabinet at gate 2", cabinet_place="gate 2, plate shop side", for_danger=False,
        purpose="walking out of the fume when the exhaust fails",
    )  # fmt: skip
    (cabinet,) = world.hands.find(Cabinet, label=entered.subjects[0])
    world.hands.do(AT, clerk.id, PutInCabinet, unit_id=unit.id, cabinet_id=cabinet.id, seal="G2-0001")


def leave_for_the_user(world: World, clerk: Person) -> Doing:
    """On the last evening one unit, its particulate filter at its end, is left at the bench to be inspected."""
    units = [world.nature.units[id] for id in world.ready_units("WL1")]
    unit = max(units, key=lambda one: one.parts["particulate-filter"].share)
    world.busy.add(unit.id)  # nobody else takes it up
    filters = unit.parts["particulate-filter"]
    filters.used = max(filters.used, 1.02 * filters.life)
    yield 120
    looker = Looker(world.hands, world.nature, AT, clerk, 1.0)
    change(looker, unit, "pre-filter", "Airflow")
    yield 30
    place = "bench, air was weak"
    world.hands.do(AT, clerk.id, MoveUnit, unit_id=unit.id, where=Where.BENCH, place=place, why="to be inspected")
