"""The fleet as it stood at a moment: every fitted part with its age and what lies ahead of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Generator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from cribdesk.crib.forecast import LOADING, Fit
from cribdesk.crib.records import Unit, Where
from cribdesk.desk.fitting import LEAST_PER_HOUR, fit_of
from cribdesk.desk.forecasts import UNITS_AT_ONCE, Step
from cribdesk.desk.house import House
from cribdesk.desk.lives import Gathered, Key, Open, dust_of, gather
from cribdesk.desk.past import EXPIRES, FITTED_AT, ITEM, REMOVED_AT, Past

MANY = 500
"""After so many parts, or units, whatever the counter asks comes first."""

QUIET_DAYS = 84
"""A unit with too few uses to tell a rate is worn as much as in these last days."""


@dataclass(frozen=True)
class PartNow:
    """One fitted part: its use so far, what a calendar day adds, and how many days its dates and limits leave it."""

    unit_id: int
    key: Key
    item_id: int
    use: float
    use_a_day: float
    hours_a_day: float
    days_left: float | None


@dataclass(frozen=True)
class Sight:
    """Parts by item, and the fits they are judged by."""

    moment: datetime
    fits: Mapping[Key, Fit]
    parts: Mapping[int, list[PartNow]]
    thumbs: Mapping[Key, float]


def sight_at(
    past: Past, house: House, moment: datetime, kept: Mapping[Key, Fit] | None = None
) -> Generator[Step, None, Sight]:
    """The fleet at that moment by what was known then; by the fits `kept` where they are given, else fitted anew."""
    reader, gathered = past.at(moment), Gathered()
    there: list[Unit] = []
    for number, one in enumerate(past.units.values()):
        there += past.unit_at(one, moment)
        if number % MANY == 0:
            yield Step(0.3, "Reading how old parts are")
    units = [one for one in there if one.where is not Where.SCRAPPED]
    everything = units if kept is not None else there
    dust = dust_of(past.areas, past.reference)
    for start in range(0, len(everything), UNITS_AT_ONCE):
        some = everything[start : start + UNITS_AT_ONCE]
        gather(reader, some, dust, past.lasting, moment, gathered)  # type: ignore[arg-type]
        yield Step(0.3, "Reading how old parts are")
    fits: dict[Key, Fit] = dict(kept or {})
    if kept is None:
        for key in sorted(gathered.lives):
            position = house.models[key[0]].position(key[1])
            thumb = position.thumb_hours if position else None
            fit = fit_of(key, gathered.lives[key], dust, thumb, 0, moment)
            yield Step(0.3, "Fitting how long parts last")
            if fit is not None:
                fits[key] = fit
    parts = yield from _parts(past, house, moment, gathered, fits, {one.id: one for one in units})
    thumbs = {
        (model.code, one.code): one.thumb_hours
        for model in house.models.values()
        for one in model.positions
        if one.thumb_hours
    }
    return Sight(moment, fits, parts, thumbs)


def _parts(
    past: Past, house: House, moment: datetime, gathered: Gathered, fits: Mapping[Key, Fit], units: Mapping[int, Unit]
) -> Generator[Step, None, dict[int, list[PartNow]]]:
    rows: dict[int, tuple[Any, ...]] = {}
    then = past.at(moment)
    for number, unit_id in enumerate(units):
        rows.update((row[0], row) for row in then.fitted(unit_id) if row[REMOVED_AT] is None)
        if number % MANY == 0:
            yield Step(0.3, "Reading how old parts are")
    found: defaultdict[int, list[PartNow]] = defaultdict(list)
    quiet: dict[int, float] = {}
    for key, parts in gathered.fitted.items():
        for part in parts:
            row = rows.get(part.fitted_id)
            if row is None or row[ITEM] not in past.items:
                continue
            unit = units[part.unit_id]
            a_day = part.a_day if part.a_day is not None else quiet.setdefault(unit.id, _quiet(past, unit, moment))
            found[row[ITEM]].append(_part(house, key, part, row, fits.get(key), a_day, moment))
            if part.fitted_id % MANY == 0:
                yield Step(0.3, "Reading how old parts are")
        yield Step(0.3, "Reading how old parts are")
    return found


def _part(
    house: House, key: Key, part: Open, row: tuple[Any, ...], fit: Fit | None, a_day: float, moment: datetime
) -> PartNow:
    loading = fit is not None and fit.measure == LOADING
    per_hour = max(LEAST_PER_HOUR, part.dust if part.dust is not None else 1.0) if loading else 1.0
    position = house.models[key[0]].position(key[1])
    ends: list[float] = []
    if position is not None and position.max_days is not None:
        ends.append((row[FITTED_AT] + timedelta(days=position.max_days) - moment).total_seconds() / 86400)
    if row[EXPIRES] is not None:
        ends.append(float((row[EXPIRES] - house.today(moment)).days + 1))
    if position is not None and position.max_hours is not None and a_day > 0:
        ends.append((position.max_hours - part.hours) / a_day)
    return PartNow(
        unit_id=part.unit_id,
        key=key,
        item_id=row[ITEM],
        use=part.loading if loading else part.hours,
        use_a_day=a_day * per_hour,
        hours_a_day=a_day,
        days_left=max(0.0, min(ends)) if ends else None,
    )


def _quiet(past: Past, unit: Unit, moment: datetime) -> float:
    since = moment - timedelta(days=QUIET_DAYS)
    hours = sum(row[3] or 0.0 for row in past.uses[unit.id] if since < row[2] <= moment)
    days = max(7.0, min(float(QUIET_DAYS), (moment - unit.added_at).total_seconds() / 86400))
    return hours / days
