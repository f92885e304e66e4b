"""The rest of the crib's day: hand-outs, units assigned for weeks, audits, shifts handed over, used filters, notices.

It has a stream of chance of its own, so that what else happens in the year does not hang on it.
"""

from __future__ import annotations

from datetime import date, time, timedelta

from chance import Chance
from clockwork import Doing
from looking import Looker
from world import FIRST_ISSUES, LAST_DAY, Wearer, World, works_on

from cribdesk.crib.reasons import cautions, reasons, stops
from cribdesk.crib.records import Lot, Notice, NoticeKind, Person, Role, StockItem, Unit, WasteBag, Where
from cribdesk.desk.close_shift import CloseShift, closable
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.hand_out import HandItemsOut
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.notices import RecordRefusal, SeeNotice
from cribdesk.desk.own_check import CheckOwn
from cribdesk.desk.parts_sets import AddPartsSet, SetHandOutLimit
from cribdesk.desk.rack_audit import AuditRack
from cribdesk.desk.waste import BagWaste, CloseBag, OpenBag

AT = "Counter 1"
SETS = (
    ("Lens set, welding PAPR", (("WL1-COVER-OUT", 1), ("WL1-COVER-IN", 1))),
    ("Wearer's set, welding PAPR", (("WL1-COVER-OUT", 2), ("WL1-PREFILTER", 1), ("LENS-CELL", 1))),
)
LIMITS = (("WL1-COVER-OUT", 4), ("WL1-PREFILTER", 2), ("LENS-CELL", 2))
OFTEN = 0.2
"""The chance that somebody who wears a unit comes for a consumable on a working day."""

LEFT_ON_THE_SHELF = 25
"""Pieces below which nothing is handed out: they are for the bench."""

HANDED_OVER_SINCE = LAST_DAY - timedelta(days=30)
"""From when on the crib hands its shifts over by a page."""

ASSIGNED_ON = LAST_DAY - timedelta(days=16)
ASSIGNED_TO = 3
BAG_OPENED, BAG_FULL = LAST_DAY - timedelta(days=40), LAST_DAY - timedelta(days=12)
NOTICES = (
    (LAST_DAY - timedelta(days=33), NoticeKind.SIZE, "the head band does not go round", "the larger head band", True),
    (LAST_DAY - timedelta(days=9), NoticeKind.REFUSED, "says the helmet is too heavy", "another model to try", False),
    (LAST_DAY - timedelta(days=2), NoticeKind.WANTS_POWERED, "wears a half mask today", "", False),
)


def whole_day(world: World, day: date, chance: Chance) -> None:
    """Puts the rest of a working day on the clock."""
    start, local = world.clockwork.start, world.local
    if day == FIRST_ISSUES:
        start(_sets(world), local(day, time(9, 30)))
    if day < FIRST_ISSUES or works_on(day) == 0:
        return
    for wearer in world.wearers:
        told = wearer.told
        here = (told.joined_on is None or day >= told.joined_on) and (told.ends_on is None or day <= told.ends_on)
        if here and chance.happens(OFTEN * told.need * works_on(day)):
            hour, minute = chance.whole(7, 12) if told.crew == "day" else chance.whole(15, 20), chance.whole(0, 59)
            start(_hand_out(world, chance, wearer, chance.whole(1, 2)), local(day, time(hour, minute)))
    if day.weekday() == 4:
        start(_audit(world), local(day, time(13, 40)))
    if day >= HANDED_OVER_SINCE and day.weekday() < 5:
        start(_close(world, "day"), local(day, time(13, 55)))
        start(_close(world, "night"), local(day, time(22, 50)))
    _once(world, day, chance)


def _once(world: World, day: date, chance: Chance) -> None:
    start, local = world.clockwork.start, world.local
    if day == ASSIGNED_ON:
        start(_assign(world, chance), local(day, time(9, 5)))
    if day == BAG_OPENED:
        start(_bag(world), local(day, time(10, 20)))
    if day == BAG_FULL:
        start(_bag_full(world), local(day, time(10, 40)))
    for on, kind, detail, offered, answered in NOTICES:
        if day == on:
            start(_notice(world, chance, kind, detail, offered, answered), local(day, time(7, 15)))


def _sets(world: World) -> Doing:
    """The storekeeper enters what is handed out together, and how much a week without a question."""
    keeper = world.clerk(Role.STOREKEEPER, "day").id
    items = {one.code: one.id for one in world.hands.find(StockItem)}
    for name, lines in SETS:
        yield 60
        known = tuple((items[code], count) for code, count in lines)
        world.hands.do("Store room", keeper, AddPartsSet, set_name=name, lines=known)
    for code, per_week in LIMITS:
        yield 20
        world.hands.do("Store room", keeper, SetHandOutLimit, item_id=items[code], per_week=per_week)


def _hand_out(world: World, chance: Chance, wearer: Wearer, pieces: int) -> Doing:
    """Somebody takes a cover lens, a pre-filter or a cell along."""
    yield chance.whole(1, 50)
    model = world.hands.house.models[wearer.told.wears]
    theirs = [one for one in model.positions if one.wearer_changes]
    if not theirs:
        return
    cover = [one for one in theirs if "outer" in one.code]
    position = cover[0] if cover and chance.happens(0.6) else chance.pick(theirs)
    (item,) = world.hands.find(StockItem, code=position.items[0])
    today = world.today
    free = sum(
        lot.on_hand
        for lot in world.hands.find(Lot, item_id=item.id)
        if not lot.blocked and (lot.expires_on is None or lot.expires_on >= today)
    )
    if free < LEFT_ON_THE_SHELF:
        return
    clerk = world.clerk(Role.ATTENDANT, wearer.told.crew if wearer.told.crew in ("day", "night") else "day")
    world.hands.do(AT, clerk.id, HandItemsOut, person_id=wearer.person.id, lines=((item.id, pieces),))


def _audit(world: World) -> Doing:
    """The rack is scanned; it agrees with the book."""
    yield 30
    there = tuple(sorted(one.id for one in world.hands.find(Unit, where=Where.RACK)))
    if there:
        world.hands.do(AT, world.clerk(Role.ATTENDANT, "day").id, AuditRack, unit_ids=there)


def _close(world: World, crew: str) -> Doing:
    yield 40
    turns = closable(world.hands.house, world.now)
    if turns:
        clerk = world.clerk(Role.ATTENDANT, crew)
        world.hands.try_to(AT, clerk.id, CloseShift, start=turns[0].start)


def _assign(world: World, chance: Chance) -> Doing:
    """Some of the day crew keep a unit for weeks; from then on they check it before each use."""
    clerk = world.clerk(Role.ATTENDANT, "day")
    free = [
        one
        for one in world.wearers
        if one.holds is None and one.told.crew == "day" and one.told.wears == "WL1" and not one.told.employer
    ]
    done = 0
    for wearer in free:
        if done == ASSIGNED_TO:
            return
        yield 120
        unit_ids, battery_id = world.ready_units("WL1"), world.charged(("WL1-PACK",))
        if not unit_ids or battery_id is None:
            return
        unit_id = unit_ids[-1]
        ids = IssueIds(
            unit_id, wearer.person.id, battery_id, world.areas[wearer.told.home_area].id, None, assigned=True
        )
        if stops(_against(world, ids)):
            continue
        world.busy.add(unit_id)
        given = yield from _give(world, chance, clerk, wearer, ids)  # type: ignore[misc]
        world.busy.discard(unit_id)
        done += bool(given)


def _against(world: World, ids: IssueIds) -> tuple:  # type: ignore[type-arg]
    with world.hands.looking() as reader:
        return reasons(facts_of(reader, world.hands.house, ids, world.now), world.now)


def _give(world: World, chance: Chance, clerk: Person, wearer: Wearer, ids: IssueIds) -> Doing:
    """The check and the issue. Its value: whether it went out."""
    unit = world.nature.units[ids.unit_id]
    looker = Looker(world.hands, world.nature, AT, clerk, 1.0, *world.good_meter())
    run = yield from looker.check(unit, "pre-use")
    if run.verdict != "pass":
        world.papers(
            world.hands.do(AT, clerk.id, FinishInspection, unit_id=unit.id, run_made=run), AT, clerk.id
        )
        return False
    yield 5
    shown = tuple(one.key for one in cautions(_against(world, ids)))
    receipt = world.hands.try_to(
        AT, clerk.id, IssueUnit,
        unit_id=unit.id, person_id=ids.person_id, battery_id=ids.battery_id, area_id=ids.area_id,
        due_at=None, run_made=run, shown=shown, assigned=True,
    )  # fmt: skip
    if receipt is None or ids.battery_id is None:
        return False
    world.gone.add(unit.id)
    world.ready_since.pop(ids.battery_id, None)
    wearer.holds = unit.id
    world.clockwork.start(_own_checks(world, chance, wearer, unit.id), world.now + timedelta(hours=18))
    return True


def _own_checks(world: World, chance: Chance, wearer: Wearer, unit_id: int) -> Doing:
    day = world.today + timedelta(days=1)
    while day <= LAST_DAY:
        if works_on(day) and day.weekday() < 5 and chance.happens(0.9):
            at = world.local(day, time(5, 35)) + timedelta(minutes=chance.whole(0, 25))
            if at > world.now:
                yield at
            clerk = world.clerk(Role.ATTENDANT, "day")
            world.hands.try_to(AT, clerk.id, CheckOwn, unit_id=unit_id, person_id=wearer.person.id)
        day += timedelta(days=1)


def _bag(world: World) -> Doing:
    bench, area = world.clerk(Role.TECHNICIAN, "day").id, world.areas["Stainless cell"].id
    yield 60
    world.hands.do("Bench", bench, OpenBag, stream="used filters, chromium", area_id=area)
    bag = world.hands.last(WasteBag)
    for count in (4, 6, 3):
        yield 6 * 24 * 3600
        world.hands.do("Bench", bench, BagWaste, bag_id=bag.id, what="Particulate filter HE", quantity=count)


def _bag_full(world: World) -> Doing:
    bench, area = world.clerk(Role.TECHNICIAN, "day").id, world.areas["Stainless cell"].id
    yield 60
    world.hands.do("Bench", bench, CloseBag, bag_id=world.hands.last(WasteBag).id, drum="D-26-014")
    world.hands.do("Bench", bench, OpenBag, stream="used filters, chromium", area_id=area)
    yield 5 * 24 * 3600
    bag = world.hands.last(WasteBag)
    world.hands.do("Bench", bench, BagWaste, bag_id=bag.id, what="Particulate filter HE", quantity=2)


def _notice(
    world: World, chance: Chance, kind: NoticeKind, detail: str, offered: str, answered: bool
) -> Doing:
    yield chance.whole(5, 300)
    day_crew = [one for one in world.wearers if one.told.crew == "day" and one.told.wears == "WL1"]
    wearer = chance.pick(day_crew)
    clerk = world.clerk(Role.ATTENDANT, "day").id
    world.hands.do(
        AT, clerk, RecordRefusal, person_id=wearer.person.id, kind=kind, detail=detail, offered=offered
    )
    if answered:
        yield 26 * 3600
        program = world.clerk(Role.PROGRAM, "day").id
        notice = world.hands.last(Notice)
        world.hands.do("Office", program, SeeNotice, notice_id=notice.id, answer="the larger band sits well")
