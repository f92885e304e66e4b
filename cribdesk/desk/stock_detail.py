"""Behind one row of the low-stock view: history and forecast, the units that make it up, and who would stand still."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import ceil

from cribdesk.crib.forecast import MIDDLE, Forecast
from cribdesk.crib.records import Fitted, Unit, Where
from cribdesk.crib.serviceable import position_name
from cribdesk.crib.stock_forecast import Demand
from cribdesk.desk.cards_stock import (
    MethodScore,
    StockDetail,
    StockOutlook,
    UnitDue,
    UnitMissed,
    UnitsMissed,
    UsePoint,
)
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.stock_outlook import arrives_on, outlook, outlooks

MOST_UNITS = 40
"""So many units are listed; the rest is a number."""

LEAST_CHANCE = 0.05
NEVER = 100_000.0


@dataclass(frozen=True)
class Coming:
    """One fitted part's next change: in how many days as likely as not, and the chance of it within so many days."""

    unit: Unit
    position: str
    hours: float
    a_day: float | None
    days: float
    chance: float


def detail(reader: Reader, house: House, moment: datetime, item_id: int) -> StockDetail:
    """All of it, in a constant number of queries."""
    row = outlook(reader, house, moment, item_id)
    demand = reader.demands([item_id]).get(item_id)
    if demand is None:
        return StockDetail(row, (), (), None, ())
    coming = _coming(reader, house, moment, {item_id: demand.horizon_days}).get(item_id, [])
    today = house.today(moment)
    missed = None
    if row.below_point:
        days = float((_next_on(row, demand, today) - today).days)
        missed = _missed(row, demand, _coming(reader, house, moment, {item_id: days}).get(item_id, []), today)
    return StockDetail(
        outlook=row,
        plot=_plot(demand, house),
        units=tuple(_due(one, today) for one in coming[:MOST_UNITS]),
        missed=missed,
        scores=tuple(
            MethodScore(one.method, one.pinball, one.miss, one.periods, one.method == demand.method)
            for one in demand.scores
        ),
    )


def units_missed(reader: Reader, house: House, moment: datetime) -> tuple[UnitsMissed, ...]:
    """For each item below its point: how many units would stand still, and from when; the soonest first."""
    return missed_of(reader, house, moment, outlooks(reader, house, moment))


def missed_of(
    reader: Reader, house: House, moment: datetime, rows: Sequence[StockOutlook]
) -> tuple[UnitsMissed, ...]:
    """The same for rows that were read already."""
    low = [row for row in rows if row.below_point]
    demands = reader.demands([row.item_id for row in low])
    today = house.today(moment)
    days = {id_: float((_next_on(row, demands[id_], today) - today).days)
            for row in low if (id_ := row.item_id) in demands}  # fmt: skip
    coming = _coming(reader, house, moment, days)
    found = [
        _missed(row, demands[row.item_id], coming.get(row.item_id, []), today)
        for row in low
        if row.item_id in demands
    ]
    far = today + timedelta(days=3650)
    return tuple(sorted(found, key=lambda one: (one.from_on or far, -one.expected, one.name)))


def _next_on(row: StockOutlook, demand: Demand, today: date) -> date:
    """When the next pieces could come: what is promised already, else what is ordered today."""
    ordered = arrives_on(demand, today)
    promised = row.next_arrival
    return promised if promised is not None and today <= promised < ordered else ordered


def _missed(row: StockOutlook, demand: Demand, coming: Sequence[Coming], today: date) -> UnitsMissed:
    next_on = _next_on(row, demand, today)
    days = (next_on - today).days
    spread = demand.until_delivery
    if spread is not None and days < demand.lead.median_days:
        spread = spread.within(days / demand.lead.median_days)
    usable = max(0, row.free)
    last = demand.likely_days_of(usable)
    from_on = today + timedelta(days=int(last)) if last is not None and last <= days else None
    expected = spread.missing(usable) if spread is not None else 0.0
    units = tuple(
        UnitMissed(
            one.unit.id, one.unit.label, one.position,
            max(from_on or today, today + timedelta(days=int(min(one.days, days)))), one.chance,
        )
        for one in coming[usable:]
        if one.chance >= LEAST_CHANCE
    )[:MOST_UNITS]  # fmt: skip
    return UnitsMissed(
        item_id=row.item_id,
        label=row.label,
        name=row.name,
        expected=expected,
        most=max(0, spread.point(0.95) - usable) if spread is not None else 0,
        from_on=from_on,
        next_delivery_on=next_on,
        units=units,
        other=max(0.0, expected - ceil(sum(one.chance for one in units))) if units else expected,
    )


def _coming(
    reader: Reader, house: House, moment: datetime, days: Mapping[int, float]
) -> dict[int, list[Coming]]:
    """The next change of every fitted part of these items, in order of need; three queries."""
    names = ("id", "unit_id", "position", "item_id", "fitted_at", "expires_on")
    rows = reader.columns(Fitted, names, item_id=sorted(days), removed_at=None) if days else []
    ids = sorted({row[1] for row in rows})
    units = {one.id: one for one in reader.find(Unit, id=ids) if one.where is not Where.SCRAPPED} if ids else {}
    forecasts = reader.forecasts(sorted(units)) if units else {}
    found: defaultdict[int, list[Coming]] = defaultdict(list)
    for _, unit_id, position, item_id, fitted_at, expires_on in rows:
        unit = units.get(unit_id)
        if unit is None or unit.model not in house.models:
            continue
        one = forecasts.get(unit_id, {}).get(position)
        until = _by_date(house, unit, position, fitted_at, expires_on, moment)
        found[item_id].append(_one(house, unit, position, one, until, days[item_id]))
    for some in found.values():
        some.sort(key=lambda one: (one.days, -one.chance, one.unit.label))
    return found


def _by_date(
    house: House, unit: Unit, position: str, fitted_at: datetime, expires_on: date | None, moment: datetime
) -> float:
    """Days until its date or the position's limit ends its use."""
    place = house.models[unit.model].position(position)
    ends = [NEVER]
    if place is not None and place.max_days is not None:
        ends.append((fitted_at + timedelta(days=place.max_days) - moment).total_seconds() / 86400)
    if expires_on is not None:
        ends.append(float((expires_on - house.today(moment)).days + 1))
    return max(0.0, min(ends))


def _one(house: House, unit: Unit, position: str, one: Forecast | None, until: float, days: float) -> Coming:
    name = position_name(house.models[unit.model], position)
    if one is None or not one.a_day:
        return Coming(unit, name, one.worn_hours if one else 0.0, None, until, 1.0 if until <= days else 0.0)
    middle = one.hours_left(MIDDLE, one.worn_hours) / one.a_day
    chance = 1.0 if until <= days else one.chance(one.a_day * days)
    return Coming(unit, name, one.worn_hours, one.a_day, min(middle, until), chance)


def _due(one: Coming, today: date) -> UnitDue:
    due = today + timedelta(days=int(one.days)) if one.days < NEVER / 10 else None
    return UnitDue(one.unit.id, one.unit.label, one.position, one.hours, one.a_day, one.chance, due)


def _plot(demand: Demand, house: House) -> tuple[UsePoint, ...]:
    """Pieces used by week, then the use expected week by week; its band is that of the whole time until then."""
    end = house.today(demand.history_to)
    weeks = len(demand.history)
    past = [
        UsePoint(end - timedelta(weeks=weeks - number), used=pieces) for number, pieces in enumerate(demand.history)
    ]
    ahead, before = [], (0.0, 0.0, 0.0, 0.0)
    for row in demand.path:
        span = max(1.0, row[0] - before[0])
        a_week = [7 * (row[n] - before[n]) / span for n in (1, 2, 3)]
        on = end + timedelta(days=round(row[0]))
        ahead.append(UsePoint(on, expected=a_week[0], low=max(0.0, a_week[1]), high=max(a_week[0], a_week[2])))
        before = row
    return tuple(past + ahead)
