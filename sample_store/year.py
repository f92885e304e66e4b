"""The year: which shifts there are, who comes when, what else falls on a day."""

from __future__ import annotations

from datetime import date, time, timedelta

from bench_shift import bench_shift, leave_for_the_user, put_in_cabinet
from chance import Chance
from clockwork import Doing
from counter_shift import LOST_BY, counter_shift
from inputs import day_or_none, rows
from store_room import count_day, order_day
from whole_day import whole_day
from world import FIRST_DAY, FIRST_ISSUES, LAST_DAY, World, works_on

from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Fitted,
    Hold,
    Instrument,
    Lot,
    Person,
    Role,
    StockItem,
    Unit,
    Where,
)
from cribdesk.desk.away import MarkMissing
from cribdesk.desk.equipment import Calibrate, RetireBattery
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.labels import ReplaceLabel
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.stock import BlockLot
from cribdesk.desk.unit import MoveUnit

PRESENT = 0.72
"""Part of the wearers who are there on a usual day."""


MELTED = (date(2026, 1, 22), date(2026, 6, 11), date(2026, 10, 8))
"""Days on which a label has melted."""

BUSY_MORNING = 1.0
"""How much more than usual the last morning draws."""


NOBODY_CLEANS = 99


def plan(world: World, beside: Chance) -> None:
    """Puts every day of the year on the clock; `beside` is the chance of what the rest does not hang on."""
    day = FIRST_DAY + timedelta(days=1)  # the first one is for entering the crib
    while day <= LAST_DAY:
        world.clockwork.start(_day(world, day, beside), world.local(day, time(0, 1)))
        day += timedelta(days=1)


def _day(world: World, day: date, beside: Chance) -> Doing:
    work = works_on(day)
    if work == 0:
        return
    start, local = world.clockwork.start, world.local
    saturday = day.weekday() == 5
    relief = day.isocalendar().week % 9 == 5
    attendant = world.clerk(Role.ATTENDANT, "relief" if relief else "day")
    closing = local(day, time(11, 0) if saturday else time(14, 0))
    start(counter_shift(world, attendant, closing), local(day, time(5, 0)))
    technician = world.clerk(Role.TECHNICIAN, "day", spare=day.isocalendar().week)
    ends = local(day, time(11, 0) if saturday else time(13, 0))
    leave = NOBODY_CLEANS if day == LAST_DAY else 0
    start(bench_shift(world, technician, ends, leave), local(day, time(4, 45)))
    if not saturday:
        night = world.clerk(Role.ATTENDANT, "night")
        start(counter_shift(world, night, local(day, time(22, 55))), closing)
        at_night = world.clerk(Role.TECHNICIAN, "relief" if relief else "night")
        leave = 3 if day == LAST_DAY - timedelta(days=1) else 0
        start(bench_shift(world, at_night, local(day, time(22, 15)), leave), local(day, time(13, 30)))
    yield local(day, time(0, 30))
    if day >= FIRST_ISSUES:
        _wearers_come(world, day, work, saturday)
    if day.weekday() == 1:
        start(order_day(world), local(day, time(9, 10)))
    if day.weekday() == 3 and day >= FIRST_ISSUES:
        start(count_day(world), local(day, time(10, 15)))
    _on_the_day(world, day)
    whole_day(world, day, beside)


def _wearers_come(world: World, day: date, work: float, saturday: bool) -> None:
    chance = world.chance
    for wearer in world.wearers:
        told = wearer.told
        if told.joined_on is not None and day < told.joined_on:
            continue
        if told.ends_on is not None and day > told.ends_on + timedelta(days=1):
            continue
        if saturday and told.crew == "night":
            continue
        busy = BUSY_MORNING if day == LAST_DAY else 1.0
        if not chance.happens(told.need * work * PRESENT * busy):
            continue
        if told.crew == "day":
            at = world.local(day, time(6, 0)) + timedelta(minutes=min(max(chance.normal(-8, 13), -35), 60))
        else:
            at = world.local(day, time(14, 30)) + timedelta(minutes=min(max(chance.normal(-8, 12), -28), 50))
        world.post(at, "issue", wearer)


def _on_the_day(world: World, day: date) -> None:
    start, local = world.clockwork.start, world.local
    bench = world.clerk(Role.TECHNICIAN, "day")
    if day == FIRST_ISSUES + timedelta(days=1):
        start(put_in_cabinet(world, bench, "FF1"), local(day, time(11, 0)))
    if day == date(2026, 7, 20):
        start(_missing(world), local(day, time(11, 30)))
    if day == LAST_DAY - timedelta(days=1):
        start(leave_for_the_user(world, world.clerk(Role.TECHNICIAN, "night")), local(day, time(21, 35)))
    if day == date(2026, 5, 20):
        start(_scrap(world, bench), local(day, time(12, 10)))
    if day == date(2026, 4, 21):
        start(_recall(world), local(day, time(9, 40)))
    if day in (date(2026, 2, 18), date(2026, 9, 9)):
        start(_office_hold(world), local(day, time(11, 0)))
    if day.weekday() == 4 and world.lost_packs:
        start(_found(world, bench), local(day, time(12, 30)))
    if day == date(2026, 9, 15):
        start(_old_packs(world, bench), local(day, time(12, 0)))
    if day in MELTED:
        start(_melted(world, bench), local(day, time(12, 20)))
    for number, row in enumerate(rows("meters")):
        if day == day_or_none(row["recalibrated_on"]):
            start(_calibrate(world, bench, number), local(day, time(7, 40)))


def _calibrate(world: World, clerk: Person, number: int) -> Doing:
    yield world.chance.between(30, 900)
    meter, error = world.meters[number]
    until = world.today.replace(year=world.today.year + 1)
    world.hands.do(
        "Bench", clerk.id, Calibrate,
        instrument_id=meter.id, made_on=world.today, good_until=until,
        found_error_lpm=round(error + world.chance.normal(0, 0.3), 1),
        certificate=f"KL-{world.today:%y%m}-{world.chance.whole(100, 999)}",
    )  # fmt: skip
    world.meters[number] = (world.hands.get(Instrument, meter.id), error)


def _missing(world: World) -> Doing:
    """The unit a contractor took along is given up."""
    yield 300
    for out in [one for one in world.out.values() if one.wearer.told.name == LOST_BY]:
        program = world.clerk(Role.PROGRAM, "day")
        world.hands.do(
            "Office", program.id, MarkMissing,
            unit_id=out.unit_id, said="not brought back; the contractor has left",
        )  # fmt: skip
        world.gone.add(out.unit_id)


def _scrap(world: World, clerk: Person) -> Doing:
    """One unit ends under a pallet."""
    yield 60
    ready = world.ready_units("WL1")
    unit_id = ready[len(ready) // 2]
    world.gone.add(unit_id)
    world.hands.do(
        "Bench", clerk.id, MoveUnit,
        unit_id=unit_id, where=Where.SCRAPPED, why="crushed under a pallet",
    )  # fmt: skip


RECALLABLE = ("WL1-PREFILTER", "WL1-FACESEAL", "WL1-COVER-OUT", "WL1-HEFILTER", "WL1-ARRESTOR")


def _recall(world: World) -> Doing:
    """A maker calls a lot back: it is blocked, and every unit it sits in is held, also those that are out."""
    hands, program = world.hands, world.clerk(Role.PROGRAM, "day").id
    found = _lot_in_few_units(world)
    yield 240
    if found is None:
        return
    item, lot, sits = found
    hands.do("Office", program, BlockLot, lot_id=lot.id, why="recalled by its maker")
    for unit_id in sits:
        yield 90
        detail = f"{item.name} lot {lot.code} #{lot.id}"
        hands.try_to("Office", program, PlaceHold, unit_id=unit_id, reason="recall", detail=detail)


def _lot_in_few_units(world: World) -> tuple[StockItem, Lot, list[int]] | None:
    """The delivered lot that sits in some five units, or about."""
    hands = world.hands
    found = []
    for code in RECALLABLE:
        item = hands.find(StockItem, code=code)[0]
        sitting = hands.find(Fitted, item_id=item.id, removed_at=None)
        for lot in reversed(hands.find(Lot, item_id=item.id)[1:]):
            units = [one.unit_id for one in sitting if one.lot_id == lot.id and one.unit_id not in world.gone]
            if units:
                found.append((abs(len(units) - 5), len(found), item, lot, units))
    return min(found)[2:] if found else None


def _office_hold(world: World) -> Doing:
    """The program administrator keeps a unit back for some days."""
    program = world.clerk(Role.PROGRAM, "day").id
    yield 120
    unit_id = world.ready_units("WL1")[0]
    world.hands.do(
        "Office", program, PlaceHold,
        unit_id=unit_id, reason="program", detail="wearer reported a headache; to be looked at",
    )  # fmt: skip
    hold = world.hands.last(Hold, unit_id=unit_id)
    yield 3 * 24 * 3600
    world.hands.do("Office", program, ReleaseHold, hold_id=hold.id, word="looked at; the unit was not the cause")
    world.hands.changed(unit_id)


def _found(world: World, clerk: Person) -> Doing:
    """Packs that did not come back with their unit turn up."""
    while world.lost_packs:
        yield 60
        battery = world.lost_packs.pop(0)
        world.hands.do(
            "Bench", clerk.id, RetireBattery,
            battery_id=battery, place=BatteryPlace.SHELF, why="found in a locker",
        )  # fmt: skip
        world.battery_used(battery)


def _old_packs(world: World, clerk: Person) -> Doing:
    """The oldest packs go."""
    here = [one for one in world.hands.find(Battery) if one.id in world.ready_since]
    for battery in sorted(here, key=lambda one: -one.cycles)[:4]:
        yield 45
        del world.ready_since[battery.id]
        world.hands.do(
            "Bench", clerk.id, RetireBattery,
            battery_id=battery.id, place=BatteryPlace.SCRAPPED, why="holds too little",
        )  # fmt: skip


def _melted(world: World, clerk: Person) -> Doing:
    """A label that melted is replaced."""
    yield 60
    unit = world.nature.units[world.chance.pick(world.ready_units("WL1"))]
    world.hands.do("Bench", clerk.id, ReplaceLabel, label=unit.label)
    unit.label = world.hands.get(Unit, unit.id).label
    world.hands.changed(unit.id)
