"""A shift at the counter: people come for units and bring them back, packs go on and off the chargers."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil

from areas import where_to
from clockwork import Doing
from hands import Hands
from looking import Looker
from office_year import size_of
from world import LAST_DAY, Out, Wearer, World

from cribdesk.crib.reasons import cautions, reasons, stops
from cribdesk.crib.records import Battery, BatteryPlace, Custody, Person, RunEnd, Slip
from cribdesk.desk.equipment import EndCharge, StartCharge
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.issue import IssueUnit, PrepareSlip
from cribdesk.desk.people import SignOff, SignOn
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.seal_look import LookAtSeal

AT = "Counter 1"
LOST_BY = "Iker Zubizarreta"
LOST_FROM = (2026, 6, 1)
QUAY_JOB = (LAST_DAY - timedelta(days=2), LAST_DAY - timedelta(days=1))
"""Days on which units are taken along until the end of the week."""

FAULTS = ("damage", "damage", "tube", "lens", "battery", "blower", "dirty", "head", "facepiece", "valve")
DAMAGE = {
    "damage": ("dropped from the ladder", "burnt by spatter", "buckle torn off"),
    "tube": ("tube pinched in a door",),
    "lens": ("lens flickers",),
    "battery": ("pack got hot",),
    "blower": ("blower rattles",),
    "dirty": ("full of anti-spatter spray",),
    "head": ("shell cracked at the hinge",),
    "facepiece": ("visor scratched through",),
    "valve": ("valve sticks",),
}
LOOK_AGAIN = timedelta(minutes=10)


def counter_shift(world: World, clerk: Person, ends: datetime) -> Doing:
    """One attendant from signing on to signing off."""
    hands = world.hands
    hands.do(AT, clerk.id, SignOn)
    yield 20
    pace = world.chance.between(0.9, 1.25)
    while world.now < ends:
        due = world.next_at()
        if due is None or due > world.now:
            yield min(ends, world.now + LOOK_AGAIN, due or ends)
            continue
        what, about = world.take_next()
        if what == "issue":
            yield from _issue(world, clerk, pace, about)  # type: ignore[arg-type]
        elif what == "return":
            yield from _take_back(world, clerk, about)  # type: ignore[arg-type]
        elif what == "complete":
            yield from _complete(world, clerk, about)  # type: ignore[arg-type]
        elif what == "charge":
            yield from _charge(world, clerk, about)  # type: ignore[arg-type]
        else:
            yield from _off_the_charger(world, clerk, about)  # type: ignore[arg-type]
    hands.do(AT, clerk.id, SignOff)


def _issue(world: World, clerk: Person, pace: float, wearer: Wearer) -> Doing:
    if wearer.holds is not None:
        return
    for _ in range(3):
        unit_id = _choose(world, wearer)
        if unit_id is None:
            world.turned_away += 1
            return
        world.busy.add(unit_id)
        done = yield from _try_one(world, clerk, pace, wearer, unit_id)  # type: ignore[misc]
        world.busy.discard(unit_id)
        if done:
            return


def _choose(world: World, wearer: Wearer) -> int | None:
    """Mostly their own unit of last time, else one inspected this shift or the last, else any."""
    ready = world.ready_units(wearer.told.wears)
    model = world.hands.house.models[wearer.told.wears]
    if model.tight_fitting:
        ready = [id for id in ready if world.hands.standing(id).unit.size == size_of(wearer.person)]
    if not ready:
        return None
    since = world.hands.house.inspected_since(world.now)
    current = [id for id in ready if (last := world.hands.standing(id).last_pass) and last.ended_at >= since]
    if wearer.own_unit in current and world.chance.happens(0.5):
        return wearer.own_unit
    return world.chance.pick(current if current and world.chance.happens(0.9) else ready)


def _try_one(world: World, clerk: Person, pace: float, wearer: Wearer, unit_id: int) -> Doing:
    """Scans, looks at the list, checks, hands over. Its value: whether the wearer is served."""
    hands, chance = world.hands, world.chance
    unit = world.nature.units[unit_id]
    packs = unit.model.battery_models
    battery_id = world.charged(packs) if packs else None
    if packs and battery_id is None:
        world.turned_away += 1
        return True
    area = _area(world, wearer)
    days = _days(world, wearer)
    due = hands.house.turn(world.now).end + timedelta(days=days)
    yield chance.between(6, 14)
    ids = IssueIds(unit_id, wearer.person.id, battery_id, world.areas[area].id, due)
    if unit.model.tight_fitting:
        hands.do(AT, clerk.id, LookAtSeal, person_id=wearer.person.id, unit_id=unit_id)
        yield chance.between(3, 6)
    with hands.looking() as reader:
        facts = facts_of(reader, hands.house, ids, world.now)
    if stops(reasons(facts, world.now)):
        world.turned_away += 1
        yield 30
        return True
    looker = Looker(hands, world.nature, AT, clerk, pace, *world.good_meter())
    looker.swap = lambda: _swap(world, battery_id)
    kind = "pre-use" if facts.needs_full_check else "hand-over"
    looker.break_off_at = chance.whole(1, 3) if chance.happens(0.004) else None
    run = yield from looker.check(unit, kind)
    if looker.swapped_to is not None:
        battery_id = looker.swapped_to
        ids = IssueIds(unit_id, wearer.person.id, battery_id, world.areas[area].id, due)
    if run.verdict != "pass" or (kind == "hand-over" and run.not_good):
        receipt = hands.do(AT, clerk.id, FinishInspection, unit_id=unit_id, run_made=run)
        world.papers(receipt, AT, clerk.id)
        if looker.swapped_to is not None:
            world.ready_since.pop(looker.swapped_to, None)
        yield 10
        return False
    slip_id = None
    if chance.happens(0.03):
        slip_id = yield from _slip(world, clerk, wearer, ids)
    yield chance.between(2, 6)
    with hands.looking() as reader:
        found = reasons(facts_of(reader, hands.house, ids, world.now), world.now)
    receipt = hands.try_to(
        AT, clerk.id, IssueUnit,
        unit_id=unit_id, person_id=wearer.person.id, battery_id=battery_id, area_id=world.areas[area].id,
        due_at=due, run_made=run, shown=tuple(one.key for one in cautions(found)), slip_id=slip_id,
    )  # fmt: skip
    if receipt is None:
        return False
    _went_out(world, wearer, unit_id, battery_id, area, days, due)
    return True


def _slip(world: World, clerk: Person, wearer: Wearer, ids: IssueIds) -> Doing:
    world.hands.do(
        AT, clerk.id, PrepareSlip,
        unit_id=ids.unit_id, person_id=wearer.person.id, battery_id=ids.battery_id, area_id=ids.area_id,
        due_at=ids.due_at,
    )  # fmt: skip
    slip = world.hands.last(Slip)
    yield 35
    return slip.id


def _swap(world: World, first: int | None) -> int | None:
    """Another charged pack; the first one is put by for the charger."""
    if first is None:
        return None
    model = world.battery_models[first]
    taken = world.ready_since.pop(first, None)
    other = world.charged((model,))
    if other is None and taken is not None:
        world.ready_since[first] = taken
        return None
    world.battery_used(first)
    return other


def _area(world: World, wearer: Wearer) -> str:
    return where_to(world, wearer.told.wears, wearer.told.home_area)


def _days(world: World, wearer: Wearer) -> int:
    """Further days it stays out: contractors and the yard take units along for a few days."""
    often = 0.3 if wearer.told.home_area == "Yard" else 0.035
    if world.today in QUAY_JOB and wearer.told.crew == "day":
        often = 0.16
    if not world.chance.happens(often):
        return 0
    days = world.chance.whole(2, 4) if world.today in QUAY_JOB else world.chance.whole(1, 4)
    weekday = world.today.weekday() + days
    return days + (2 if weekday in (5, 6) else 0)


def _went_out(
    world: World, wearer: Wearer, unit_id: int, battery_id: int | None, area: str, days: int, due: datetime
) -> None:
    chance, model = world.chance, world.nature.units[unit_id].model
    custody = world.hands.last(Custody, unit_id=unit_id)
    speed = ""
    if model.speeds:
        speed = wearer.speed if chance.happens(0.85) else chance.pick(model.speeds)
    out = Out(custody.id, unit_id, wearer, area, battery_id, speed, world.now, days)
    world.out[unit_id] = out
    wearer.holds = wearer.own_unit = unit_id
    if battery_id is not None:
        world.ready_since.pop(battery_id, None)
    if wearer.told.name == LOST_BY and world.today >= datetime(*LOST_FROM).date():
        return
    late = chance.between(1, 40) * 60 if chance.happens(0.03) else -chance.between(4, 50)
    if chance.happens(0.06):
        late = -chance.between(90, 240)
    if world.today == LAST_DAY - timedelta(days=1) and not days and wearer.told.crew == "night" and world.late_left:
        world.late_left -= 1
        late = chance.between(9, 15) * 60
    world.post(due + timedelta(minutes=late), "return", out)


def _take_back(world: World, clerk: Person, out: Out) -> Doing:
    yield world.chance.between(2, 5)
    receipt = world.hands.do(AT, clerk.id, TakeBack, unit_id=out.unit_id)
    world.papers(receipt, AT, clerk.id)
    del world.out[out.unit_id]
    out.wearer.holds = None
    world.incomplete.add(out.unit_id)
    if world.chance.happens(0.85):
        yield world.chance.between(12, 30)
        yield from _complete(world, clerk, out)
    else:
        world.post(world.now + timedelta(minutes=world.chance.between(20, 150)), "complete", out)


def _complete(world: World, clerk: Person, out: Out) -> Doing:
    hands, chance = world.hands, world.chance
    unit = world.nature.units[out.unit_id]
    custody = hands.get(Custody, out.custody_id)
    assert custody.returned_at is not None
    hours_out = (custody.returned_at - custody.issued_at).total_seconds() / 3600
    wanted = chance.between(0.5, 0.86) * min(hours_out, 8.5)
    if out.days:
        wanted = (out.days + 1) * chance.between(2.5, 5.0)
    worn, end, bars = _battery_run(world, hands, out, min(wanted, hours_out))
    world.nature.wear(unit, worn, out.area)
    back = None if out.battery_id is None else not chance.happens(0.003)
    fault, damage = "", ""
    last_day_but_one = world.today == LAST_DAY - timedelta(days=1)
    wanted_faults = last_day_but_one and world.faults_left > 0 and worn > 2
    if chance.happens(0.013) or wanted_faults:
        known = [one.code for one in unit.model.hold_reasons]
        fault = chance.pick([one for one in FAULTS if one in known])
        damage = chance.pick(DAMAGE[fault])
        if fault not in ("dirty", "battery"):
            unit.mishaps["whole"] = "repair"
        world.faults_left -= 1 if last_day_but_one else 0
    others = world.wearers
    brought = chance.pick(others).person.id if chance.happens(0.03) else None
    receipt = hands.do(
        AT, clerk.id, CompleteReturn,
        custody_id=out.custody_id, worn_hours=worn, brought_by=brought, speed=out.speed,
        alarms="low battery" if end is RunEnd.ALARM else "", battery_back=back, battery_end=end if back else None,
        bars_left=bars if back else None, damage=damage, fault=fault,
    )  # fmt: skip
    hands.changed(out.unit_id)
    world.papers(receipt, AT, clerk.id)
    world.incomplete.discard(out.unit_id)
    if out.battery_id is not None and back:
        world.battery_used(out.battery_id)
    elif out.battery_id is not None and chance.happens(0.6):
        world.lost_packs.append(out.battery_id)
    yield 2


def _battery_run(
    world: World, hands: Hands, out: Out, wanted: float
) -> tuple[float, RunEnd | None, int | None]:
    """Hours worn, how the pack's run ended, bars left."""
    if out.battery_id is None or out.days:
        return round(wanted, 1), None, None
    unit = world.nature.units[out.unit_id]
    cycles = hands.get(Battery, out.battery_id).cycles
    lasts = world.nature.run_hours(unit, out.battery_id, out.speed, cycles, unit.filter_hours + wanted)
    if wanted >= lasts:
        if world.chance.happens(0.6):
            return round(lasts, 1), RunEnd.FLAT, 0
        return round(0.95 * lasts, 1), RunEnd.ALARM, 1
    worn = round(wanted, 1)
    if world.chance.happens(0.1):
        return worn, None, None
    return worn, RunEnd.STOPPED, max(1, min(5, ceil(5 * (1 - wanted / lasts))))


def _charge(world: World, clerk: Person, battery_id: int) -> Doing:
    if not world.slots:
        world.post(world.now + timedelta(minutes=30), "charge", battery_id)
        return
    battery = world.hands.get(Battery, battery_id)
    if battery.place in (BatteryPlace.MISSING, BatteryPlace.SCRAPPED):
        return
    slot = world.slots.pop(0)
    yield 4
    world.hands.do(AT, clerk.id, StartCharge, battery_id=battery_id, slot_id=slot)
    world.slot_of[battery_id] = slot
    world.post(world.now + timedelta(hours=world.chance.between(2.8, 4.2)), "off", battery_id)


def _off_the_charger(world: World, clerk: Person, battery_id: int) -> Doing:
    yield 3
    world.hands.do(AT, clerk.id, EndCharge, battery_id=battery_id)
    world.slots.append(world.slot_of.pop(battery_id))
    world.ready_since[battery_id] = world.now


__all__ = ["counter_shift"]
