"""The bench's due list: every part that falls due now, before the next shift or this week, worst first.

Sorted by risk x consequence (a house rule), a stop first among equals. Risk is the chance that the part falls due
within seven days at its unit's own rate: 1 where it is past due, by limit, date or rule of thumb, or a limit or date
falls in them; a half where a rule of thumb alone says it will.
Consequence is 3, 2 or 1 for an item of criticality A, B or C, doubled while somebody has the unit.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from cribdesk.crib.change import CAUTION, THUMB, PartOutlook, due_within
from cribdesk.crib.records import Bin, Cabinet, Certification, Instrument, Lot, MeterCheck, StockItem, Where
from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import capital, clock, date_words, day, hours, percent, span
from cribdesk.desk.due_cards import GROUPS, NOW, SHIFT, WEEK, DueList, DueRow, Duty, FetchRow
from cribdesk.desk.facts import planned_hours
from cribdesk.desk.first import SOON, inspect_by
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.recheck import bench_by
from cribdesk.desk.saying import moment_words
from cribdesk.desk.shift_lists.cabinets import due_state
from cribdesk.desk.standings import FAR, WITH_SOMEBODY, Member, fleet

CONSEQUENCE = {"A": 3.0, "B": 2.0, "C": 1.0}
WORN = 2.0
BY_THUMB = 0.5
FINE = 2  # of cabinets.due_state
SORTED_BY = (
    "Sorted by risk x consequence (a house rule); a stop first among equals. Risk: the chance that it falls due within "
    "7 days at its unit's own rate; 1 where it is past due, or a limit or date falls in them, a half where only a rule "
    "of thumb says so. Consequence: 3, 2 or 1 by how badly the item is missed (A, B, C), doubled while somebody has "
    "the unit."
)


@dataclass(frozen=True)
class _Span:
    """Until when it is asked: the hours and days of this shift and of the week."""

    house: House
    moment: datetime
    today: date
    end: datetime
    shift_hours: float


def due_list(reader: Reader, house: House, moment: datetime) -> DueList:
    """The whole list, in a constant number of queries."""
    units = [unit for unit in fleet(reader, house, moment) if unit.unit.where not in FAR and unit.standing]
    items = {one.code: one for one in reader.find(StockItem)}
    end = house.turn(moment).end
    asked = _Span(house, moment, house.today(moment), end, planned_hours(house, moment, end))
    rows = [row for unit in units for row in _rows(unit, items, asked)]
    rows.sort(key=lambda row: (GROUPS.index(row.group), -row.score, row.level != "stop", row.label))
    return DueList(
        at=moment,
        end=end,
        bound=int(house.settings["due_bound"]),
        rows=tuple(rows),
        fetch=_fetch(reader, rows, items, asked.today),
        duties=_duties(reader, house, units, moment),
    )


def _rows(unit: Member, items: dict[str, StockItem], asked: _Span) -> Iterator[DueRow]:
    assert unit.standing is not None
    codes = {one.position: unit.standing.items.get(one.item_id, "") for one in unit.standing.fitted}
    for part in unit.parts:
        group = _group(unit, part, asked)
        position = unit.standing.model.position(part.position)
        if not group or position is None:
            continue
        code = codes.get(part.position, "")
        if code not in position.items and position.items:
            code = position.items[0]
        item = items.get(code)
        yield DueRow(
            group=group,
            label=unit.unit.label,
            model=unit.standing.model.short_name,
            position=part.position,
            name=part.name,
            item=code,
            item_name=item.name if item else code,
            level=_level(unit, part, group, asked),
            figure=(figure := _figure(part, asked.today)),
            why=_why(unit, part, group, asked).removesuffix(f", {figure}"),  # nothing is said twice in a row
            standing=_standing(unit, asked),
            in_hand=unit.unit.where not in WITH_SOMEBODY,
            score=_score(unit, part, group, item, asked),
            early=part.early,
            late=part.late,
            life_hours=part.life_hours,
            needed=_worn_now(unit, asked),
        )


def _group(unit: Member, part: PartOutlook, asked: _Span) -> str:
    """Now, before next shift, this week, or '' for later."""
    if _passed(unit, part, asked.today):
        return NOW
    if part.fitted is None:
        return ""
    least = asked.house.due_chance
    if due_within(part, _worn_now(unit, asked), asked.house.today(asked.end), least):
        return SHIFT
    week = asked.today + SOON
    return WEEK if due_within(part, _worn_in_week(unit, part, asked), week, least) else ""


def _passed(unit: Member, part: PartOutlook, today: date) -> bool:
    """Whether a limit, its last day or a rule of thumb is reached, or what is required is missing."""
    if unit.condition is not None and part.position in unit.condition.parts:
        return True
    if part.fitted is None:
        return False
    return (part.middle is not None and part.middle <= 0) or (part.last_day is not None and part.last_day <= today)


def _worn_now(unit: Member, asked: _Span) -> float:
    """Hours it may be worn until the shift ends: none while it is on hold or lies in a cabinet."""
    idle = unit.state == "on hold" or unit.unit.where is Where.EMERGENCY
    return 0.0 if idle else asked.shift_hours


def _worn_in_week(unit: Member, part: PartOutlook, asked: _Span) -> float:
    return 0.0 if unit.unit.where is Where.EMERGENCY else part.a_day * SOON.days


def _score(unit: Member, part: PartOutlook, group: str, item: StockItem | None, asked: _Span) -> float:
    consequence = CONSEQUENCE.get(item.criticality if item else "B", CONSEQUENCE["B"])
    if unit.unit.where in WITH_SOMEBODY:
        consequence *= WORN
    if group == NOW:
        return consequence
    chance = part.chance(max(_worn_in_week(unit, part, asked), _worn_now(unit, asked)), asked.today + SOON)
    return consequence * (BY_THUMB if chance is None else chance)


def _level(unit: Member, part: PartOutlook, group: str, asked: _Span) -> str:
    if group == NOW:
        held = unit.condition is not None and part.position in unit.condition.parts
        return "stop" if held else "caution"
    if group == SHIFT and due_within(part, _worn_now(unit, asked), asked.house.today(asked.end), CAUTION):
        return "caution"
    return "due"


def _figure(part: PartOutlook, today: date) -> str:
    if part.fitted is None:
        return "none"
    if part.last_day is not None and part.due_on == part.last_day and part.last_day <= today + SOON:
        return f"ends {day(part.last_day, today)}" if part.last_day >= today else f"ended {day(part.last_day, today)}"
    if part.middle is None or part.early is None or part.late is None:
        return ""
    return f"{hours(-part.middle)} past" if part.middle <= 0 else f"{span(part.early, part.late)}"


def _why(unit: Member, part: PartOutlook, group: str, asked: _Span) -> str:
    """The chance before the shift ends, or within the week, where a forecast tells one; else the limit or rule."""
    faults = unit.condition.parts if unit.condition is not None else ()
    if part.position in faults and unit.condition is not None:
        told = next((words for words in unit.condition.why if words.startswith(f"{part.name}: ")), "")
        return told.removeprefix(f"{part.name}: ") or part.why
    if part.forecast is not None and part.middle is not None and part.middle > 0:
        if group == SHIFT:
            chance = part.chance(_worn_now(unit, asked), asked.house.today(asked.end))
            when = f"before {clock(asked.end, asked.house.zone)}"
        else:
            chance, when = part.chance(_worn_in_week(unit, part, asked), asked.today + SOON), "within 7 days"
        return f"{percent(chance)} {when}" if chance is not None and chance < 1 else part.why
    if part.basis == THUMB and part.life_hours is not None:
        return f"rule of thumb {hours(part.life_hours)}"
    return part.why


def _standing(unit: Member, asked: _Span) -> str:
    if unit.unit.where in WITH_SOMEBODY:
        due = unit.custody.due_at if unit.custody else None
        return f"back {moment_words(due, asked.house, asked.moment)}" if due else "assigned"
    if unit.unit.where is Where.EMERGENCY:
        return "in a cabinet"
    return unit.condition.state.value if unit.condition else Serviceable.ON_HOLD.value


def _fetch(reader: Reader, rows: Sequence[DueRow], items: dict[str, StockItem], today: date) -> tuple[FetchRow, ...]:
    """What the rows need, the most first, with the lot that goes first: two queries."""
    wanted = Counter(row.item for row in rows if row.item in items and row.group != WEEK)
    later = Counter(row.item for row in rows if row.item in items and row.group == WEEK)
    codes = list(dict.fromkeys([*wanted, *later]))
    ids = [items[code].id for code in codes]
    lots: defaultdict[int, list[Lot]] = defaultdict(list)
    for lot in reader.find(Lot, item_id=ids):
        if lot.on_hand > 0 and not lot.blocked and (lot.expires_on is None or lot.expires_on >= today):
            lots[lot.item_id].append(lot)
    bins = {one.id: one.code for one in reader.find(Bin)}
    found = []
    for code in codes:
        item, number = items[code], wanted[code]
        good = sorted(lots[item.id], key=lambda lot: (lot.expires_on is None, lot.expires_on, lot.id))
        there = sum(lot.on_hand for lot in good)
        name = bins.get(item.bin_id, "") if item.bin_id else ""
        found.append(FetchRow(item.label, code, item.name, number, name, there, _lot_words(good, number), later[code]))
    return tuple(sorted(found, key=lambda row: (not row.short, -row.number, row.name)))


def _lot_words(lots: Sequence[Lot], number: int) -> str:
    """'lot K2608 first, good until 31 Dec 2026'; with further ones where that is too small."""
    if not lots:
        return ""
    first, left, more = lots[0], number, 0
    for lot in lots:
        if left <= 0:
            break
        left -= lot.on_hand
        more += 1
    until = f", good until {date_words(first.expires_on)}" if first.expires_on else ""
    then = f", then {lots[1].code}" if more > 1 else ""
    return f"lot {first.code} first{until}{then}"


def _duties(reader: Reader, house: House, units: Sequence[Member], moment: datetime) -> tuple[Duty, ...]:
    """What the calendar asks within seven days, the first first; in four queries."""
    today = house.today(moment)
    meters = reader.find(Instrument, active=True)
    found = [*_meters(reader, house, meters, today)]
    cabinets = {one.name: one for one in reader.find(Cabinet)}
    certified = reader.latest_of_each(Certification, "unit_id")
    for unit in units:
        label = unit.unit.label
        if unit.unit.where is Where.EMERGENCY:
            rank, words, due = due_state(cabinets.get(unit.unit.place), certified.get(unit.unit.id), today)
            if rank < FINE:
                sign = "overdue" if rank == 0 else "due"
                where = unit.unit.place or "a cabinet"
                found.append(Duty(sign, f"Monthly inspection, {where}", capital(words), label, due))
        elif unit.custody is not None and unit.custody.assigned:
            by = bench_by(house, unit.custody, unit.standing)
            if by is not None and by <= today + SOON:
                found.append(_by(label, "Bench inspection of an assigned unit", by, today))
        else:
            last = inspect_by(unit, house)
            if last is not None and last <= today + SOON:
                found.append(_by(label, "Inspection by its model's interval", last, today))
    return tuple(sorted(found, key=lambda duty: (duty.by, duty.what, duty.label)))


def _by(label: str, what: str, last: date, today: date) -> Duty:
    past = last < today
    return Duty("overdue" if past else "due", what, f"{'Was due' if past else 'By'} {day(last, today)}", label, last)


def _meters(reader: Reader, house: House, meters: Sequence[Instrument], today: date) -> Iterator[Duty]:
    daily = house.settings.get("meter_check") == "daily"
    checks = reader.latest_of_each(MeterCheck, "instrument_id") if daily else {}
    for meter in meters:
        until = meter.calibrated_until
        if until <= today + SOON:
            past = until < today
            words = f"Calibration {'ended' if past else 'ends'} {day(until, today)}"
            yield Duty("stop" if past else "due", meter.name, words, meter.label, until)
        last = checks.get(meter.id)
        if daily and until >= today and (last is None or house.today(last.at) != today):
            yield Duty("due", meter.name, "Daily check not made yet today", meter.label, today)


__all__ = ["SORTED_BY", "due_list"]
