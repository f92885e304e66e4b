"""What to do first today: what is overdue, what waits at the bench, what falls due, what the calendar asks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta

from cribdesk.crib.records import Custody, Instrument, StockItem
from cribdesk.crib.words import clock, count, day, joined
from cribdesk.desk.cards_lists import FirstRow
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.recheck import Rechecked
from cribdesk.desk.saying import age_words, moment_words, name_of
from cribdesk.desk.standings import FAR, WITH_SOMEBODY, Member, due_now

BENCH, COUNTER, PEOPLE, STOCK, SHIFT = "bench", "counter", "people", "stock", "shift"
NAMED = 3
"""So many overdue units have a line each; more share one."""
SOON = timedelta(days=7)
"""What ends by the calendar within so many days is told beforehand (a house rule)."""


def first_rows(
    reader: Reader,
    house: House,
    units: Sequence[Member],
    short: Sequence[StockItem],
    against: Sequence[Rechecked],
    moment: datetime,
) -> tuple[FirstRow, ...]:
    """What to do first today, the most pressing first, in two queries. `against` are those to be called in."""
    returns = reader.find(Custody, returned_at=FILLED, completed_at=None)
    meters = reader.find(Instrument, active=True)
    found = [*_call_in_row(against), *_overdue_rows(house, units, moment)]
    if returns:
        words = labels([unit for unit in units if unit.unit.id in {one.unit_id for one in returns}])
        found.append(FirstRow("not checked", f"{count(len(returns), 'return')} to complete", words, COUNTER))
    for state, one, many in (
        ("needs cleaning", "unit needs cleaning", "units need cleaning"),
        ("not checked", "unit waits for its check", "units wait for their check"),
    ):
        found += _state_row(house, units, state, one, many, moment)
    found += _due_row(house, units, moment)
    if short:
        words = named([item.name for item in short])
        found.append(FirstRow("due", f"{count(len(short), 'stock item')} below the minimum", words, STOCK))
    return (*found, *calendar_rows(units, meters, house, moment))


def calendar_rows(
    units: Iterable[Member], meters: Iterable[Instrument], house: House, moment: datetime
) -> tuple[FirstRow, ...]:
    """What the calendar asks for within the week: flow meters, and units whose last inspection grows old."""
    today = house.today(moment)
    found = []
    for meter in sorted(meters, key=lambda one: one.calibrated_until):
        if meter.calibrated_until < today:
            words = f"Calibration ended {day(meter.calibrated_until, today)}"
            found.append(FirstRow("caution", f"{meter.name} {meter.label}", words, BENCH, meter.label))
        elif meter.calibrated_until <= today + SOON:
            words = f"Calibration ends {day(meter.calibrated_until, today)}"
            found.append(FirstRow("due", f"{meter.name} {meter.label}", words, BENCH, meter.label))
    soon = [unit for unit in units if (last := inspect_by(unit, house)) is not None and last <= today + SOON]
    if soon:
        first = min(last for unit in soon if (last := inspect_by(unit, house)) is not None)
        late = first < today
        words = f"{labels(soon)}; the first {'was due' if late else 'by'} {day(first, today)}"
        what = f"{count(len(soon), 'unit')} to inspect by the calendar"
        found.append(FirstRow("caution" if late else "due", what, words, BENCH))
    return tuple(found)


def inspect_by(unit: Member, house: House) -> date | None:
    """The day by which a unit that is here wants its regular inspection; None where its model asks for none."""
    standing = unit.standing
    if standing is None or standing.last_pass is None or standing.model.inspect_days is None:
        return None
    if unit.state == "on hold" or unit.unit.where in (*FAR, *WITH_SOMEBODY):
        return None
    return house.today(standing.last_pass.ended_at) + timedelta(days=standing.model.inspect_days)


def _overdue_rows(house: House, units: Sequence[Member], moment: datetime) -> list[FirstRow]:
    late = sorted((unit for unit in units if unit.overdue), key=lambda unit: due_at(unit, moment))
    if len(late) > NAMED:
        since = moment_words(due_at(late[0], moment), house, moment)
        words = f"{labels(late)}; the first since {since}"
        return [FirstRow("overdue", f"{len(late)} units are overdue", words, PEOPLE)]
    return [
        FirstRow(
            "overdue",
            f"{unit.unit.label} is overdue",
            f"{name_of(unit.holder)}, since {moment_words(due_at(unit, moment), house, moment)}",
            PEOPLE,
            unit.unit.label,
        )
        for unit in late
    ]


def _call_in_row(against: Sequence[Rechecked]) -> list[FirstRow]:
    if not against:
        return []
    waiting = sum(one.call_in is None for one in against)
    told = f"{waiting} without a slip yet" if waiting else "each has its slip"
    words = f"{named([one.unit.label for one in against])}; {told}"
    return [FirstRow("stop", f"{count(len(against), 'unit')} to call in", words, SHIFT, "call-in")]


def _state_row(
    house: House, units: Sequence[Member], state: str, one: str, many: str, moment: datetime
) -> list[FirstRow]:
    there = [unit for unit in units if unit.state == state]
    if not there:
        return []
    oldest = oldest_words(there, moment)
    detail = f"{labels(there)}; {oldest}" if oldest else labels(there)
    return [FirstRow(state, count(len(there), one, many), detail, BENCH)]


def _due_row(house: House, units: Sequence[Member], moment: datetime) -> list[FirstRow]:
    names = Counter(part.name for _, parts in due_now(units, house, moment) for part in parts)
    if not names:
        return []
    what = f"{count(names.total(), 'change')} before {clock(house.turn(moment).end, house.zone)}"
    detail = joined([f"{name}: {n}" for name, n in names.most_common(4)])
    return [FirstRow("due", what, detail, BENCH)]


def named(names: Sequence[str], most: int = NAMED) -> str:
    """'U0211, U0235, U0247 and 2 more'."""
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return joined(list(names))


def labels(units: Sequence[Member]) -> str:
    """The units' labels, the first few of them."""
    return named([unit.unit.label for unit in units])


def due_at(unit: Member, moment: datetime) -> datetime:
    """When the unit is, or was, due back; the moment itself where that was left open."""
    return unit.custody.due_at if unit.custody and unit.custody.due_at else moment


def oldest_words(units: Iterable[Member], moment: datetime) -> str:
    """'oldest 9 h', since the unit that came back first came back."""
    back = [unit.standing.last_custody.returned_at for unit in units if unit.standing and unit.standing.last_custody]
    known = [one for one in back if one is not None]
    return f"oldest {age_words(moment - min(known))}" if known else ""
