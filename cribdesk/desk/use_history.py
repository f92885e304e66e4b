"""What was used of each item, week by week; what parts' ends explain of it; how long deliveries took."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil
from typing import Any

from cribdesk.crib.lives import End, end_of
from cribdesk.crib.stock_forecast import Lead
from cribdesk.crib.words import count
from cribdesk.desk.house import House
from cribdesk.desk.past import ITEM, REMOVED_AT, WHY, Past, Sifted

WEEK = timedelta(weeks=1)
WEEKS = 52
SET_UP = timedelta(days=1)
"""What goes into a unit within a day of its entry is its first fitting, no use (a house rule)."""

SPREAD_START, SPREAD_WORTH = 0.4, 4
"""Delivery times spread like this (deviation of the log) until some were seen, worth so many (common practice, no
source)."""

AT_ONCE, UNITS_AT_ONCE = 5000, 200
"""So many movements, and the parts and uses of so many units, are sifted between two pauses."""

CALENDAR = "by the calendar"
NO_USE = ("return", "labelled at set-up")


@dataclass(frozen=True)
class Used:
    """One item's use: pieces by whole week, the latest last; pieces that parts' ends explain; the sum of squares."""

    weeks: tuple[int, ...]
    pieces: int
    explained: int
    squares: int
    days: float


NOTHING = Used((), 0, 0, 0, 0.0)


def used_until(past: Past, moment: datetime) -> dict[int, Used]:
    """The use of every item in the last WEEKS weeks before the moment, or since the first issue, or the item's first
    movement."""
    if past.begun_at is None or past.begun_at >= moment:
        return {}
    weeks = min(WEEKS, int((moment - past.begun_at) / WEEK))
    start = moment - WEEK * weeks if weeks else past.begun_at
    by_week: defaultdict[int, list[int]] = defaultdict(lambda: [0] * max(1, weeks))
    squares: defaultdict[int, int] = defaultdict(int)
    since = _sifted(past).since
    for week in range(max(1, weeks)):  # the last may be a little longer, or shorter
        end = start + WEEK * (week + 1) if week + 1 < weeks else moment
        for _, item, pieces, fitting in _events(past, start + WEEK * week, end):
            by_week[item][week] += pieces
            if not fitting:
                squares[item] += pieces * pieces
    ended = _ends(past, start, moment)
    return {
        item: _used(by_week[item], ended.get(item, 0), squares[item], max(start, since.get(item, start)), moment)
        for item in past.items
    }


def _used(row: list[int], ended: int, squares: int, since: datetime, moment: datetime) -> Used:
    """Without the weeks in which the item was not there yet."""
    days = max(0.0, (moment - since).total_seconds() / 86400)
    there = row[-min(len(row), max(1, ceil(days / 7))) :]
    return Used(tuple(max(0, one) for one in there), max(0, sum(row)), ended, squares, days)


def used_between(past: Past, start: datetime, end: datetime) -> dict[int, int]:
    """Pieces used from `start` on and before `end`, by item; what went before the first issue is set-up, no use."""
    found: defaultdict[int, int] = defaultdict(int)
    for _, item, pieces, _ in _events(past, max(start, past.begun_at or start), end):
        found[item] += pieces
    return found


def _events(past: Past, start: datetime, end: datetime) -> list[tuple[datetime, int, int, bool]]:
    """(moment, item, pieces, whether a part was fitted or labelled) of all use in the time; sifted once."""
    events = _sifted(past).events
    low = bisect_left(events, start, key=_when)
    return events[low : bisect_left(events, end, key=_when)]


def _when(event: tuple[Any, ...]) -> datetime:
    at: datetime = event[0]
    return at


def _sifted(past: Past) -> Sifted:
    for _ in sift(past):
        pass
    assert past.sifted is not None
    return past.sifted


def sift(past: Past) -> Iterator[None]:
    """Sifts what was read, once, with pauses: a large crib's takes a while."""
    if past.sifted is not None:
        return
    found = Sifted()
    for number, (item, quantity, why, unit_id, at) in enumerate(past.moves):
        found.since.setdefault(item, at)
        if _is_use(past, quantity, why, unit_id, at):
            found.events.append((at, item, -quantity, _is_fitting(why)))
        if number % AT_ONCE == 0:
            yield
    found.events.sort()
    yield
    for number, rows in enumerate(past.fitted.values()):
        found.ends += [(row[REMOVED_AT], row[ITEM]) for row in rows if _is_foreseen(row)]
        if number % UNITS_AT_ONCE == 0:
            yield
    found.ends.sort()
    yield
    for number, uses in enumerate(past.uses.values()):
        for _, _, back, hours in uses if past.begun_at is not None else ():
            found.hours[int((back - past.begun_at).total_seconds() // 86400)] += hours or 0.0
        if number % UNITS_AT_ONCE == 0:
            yield
    past.sifted = found


def _is_use(past: Past, quantity: int, why: str, unit_id: int | None, at: datetime) -> bool:
    """Whether a movement is use: pieces that went, and what a count put right; no delivery, no first fitting."""
    if why.startswith("count"):
        return True
    if quantity >= 0 or why.startswith(NO_USE):
        return False
    unit = past.units.get(unit_id) if unit_id is not None else None
    return unit is None or at - unit.added_at > SET_UP


def _is_fitting(why: str) -> bool:
    return why.startswith(("fitted", "labelled"))


def _ends(past: Past, start: datetime, moment: datetime) -> Mapping[int, int]:
    """Parts that came out at the end of their life or by their date, by item: what lives and dates foresee."""
    ends = _sifted(past).ends
    low, high = bisect_left(ends, start, key=_when), bisect_left(ends, moment, key=_when)
    return Counter(item for _, item in ends[low:high])


def _is_foreseen(row: tuple[Any, ...]) -> bool:
    """Whether the part came out at the end of its life, or by the calendar."""
    if row[REMOVED_AT] is None:
        return False
    return row[WHY].startswith(CALENDAR) or end_of(row[WHY], row[2]) is End.CHANGED


def leads_at(past: Past, house: House, moment: datetime) -> dict[int, Lead]:
    """Each supplier's delivery times as they were known then, drawn towards all suppliers' and the start value."""
    from math import exp, fsum, log, sqrt

    start_days = float(house.settings["lead_days"])
    days: defaultdict[int, list[float]] = defaultdict(list)
    for one in past.arrivals:
        if one.arrived_at < moment:
            took = (house.today(one.arrived_at) - one.asked_on).days
            days[one.supplier_id].append(log(max(1.0, took)))
    found = {}
    for supplier in past.suppliers.values():
        seen = days[supplier.id]
        centre = (fsum(seen) + log(start_days)) / (len(seen) + 1)
        variance = (fsum((one - centre) ** 2 for one in seen) + SPREAD_WORTH * SPREAD_START**2) / (
            len(seen) + SPREAD_WORTH
        )
        told = f"learnt from {count(len(seen), 'delivery', 'deliveries')}" if seen else "a start value: none came yet"
        found[supplier.id] = Lead(exp(centre), sqrt(variance * (1 + 1 / (len(seen) + 1))), len(seen), told)
    return found


def start_lead(house: House) -> Lead:
    """What stands in where an item has no supplier."""
    return Lead(float(house.settings["lead_days"]), SPREAD_START, 0, "a start value: no supplier is named")


def pace_ratios(past: Past, moment: datetime, ahead_days: int) -> list[float]:
    """The fleet's worn hours over so many days against what the four weeks before let expect, time after time."""
    if past.begun_at is None:
        return []
    days = max(0, int((moment - past.begun_at).total_seconds() // 86400))
    by_day = _sifted(past).hours_by_day[:days]
    return ratios([*by_day, *[0.0] * (days - len(by_day))], ahead_days)


BEFORE = 28


def ratios(by_day: Sequence[float], ahead: int) -> list[float]:
    """The sum of `ahead` days against BEFORE days before them, each a day's share; spans do not overlap."""
    found = []
    for end in range(len(by_day), BEFORE + ahead - 1, -ahead):
        expected = sum(by_day[end - ahead - BEFORE : end - ahead]) / BEFORE * ahead
        if expected > 0:
            found.append(sum(by_day[end - ahead : end]) / expected)
    return found
