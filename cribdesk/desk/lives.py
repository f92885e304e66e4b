"""Lives of fitted parts out of a store's own records, and each unit's use, read for many units at once."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from cribdesk.crib.lives import End, Life, Use, end_of, known_to_the_hour, life_of
from cribdesk.crib.records import Area, Custody, Fitted, Unit, Where
from cribdesk.desk.ports import FILLED, Reader

Key = tuple[str, str]
"""Unit model and position."""

WEEKS = (timedelta(weeks=4), timedelta(weeks=12))
"""A unit's own rate is that of its last four weeks; with too few uses in them, of its last twelve (a house rule)."""

FEWEST_USES = 3
"""Fewer uses than this tell no rate: the house's hours a day stand in (a house rule)."""

LEAST_DAYS = 7.0


@dataclass(frozen=True, slots=True)
class Open:
    """A part that is fitted now: its record, hours, loading, and what its unit makes of them."""

    unit_id: int
    fitted_id: int
    hours: float
    loading: float
    dust: float | None
    a_day: float | None
    area_id: int | None = None


@dataclass
class Gathered:
    """Lives by model and position, what is fitted now, and what was doubted, each counted."""

    lives: defaultdict[Key, list[Life]] = field(default_factory=lambda: defaultdict(list))
    fitted: defaultdict[Key, list[Open]] = field(default_factory=lambda: defaultdict(list))
    doubts: Counter[str] = field(default_factory=Counter)


@dataclass(frozen=True)
class Dust:
    """Each area's assessed dust against the average, which is `reference` in ug/m3; None where none is assessed.

    `names` are those of all areas.
    """

    reference: int | None
    by_area: Mapping[int, float]
    names: Mapping[int, str] = field(default_factory=dict)


def assessed(areas: Iterable[Area]) -> list[Area]:
    """The areas with an assessed dust."""
    return [one for one in areas if one.dust_ug_m3 is not None]


def dust_of(areas: Sequence[Area], reference: int | None) -> Dust:
    """Dust by area against the reference, at which one hour counts as one."""
    names = {one.id: one.name for one in areas}
    if not reference:
        return Dust(None, {}, names)
    return Dust(reference, {one.id: (one.dust_ug_m3 or 0) / reference for one in assessed(areas)}, names)


def lasting_parts(reader: Reader) -> dict[int, int]:
    """The last record of each labelled part: earlier ones go on in it, so they are no life of their own."""
    found = reader.columns(Fitted, ("part_id", "id"), part_id=FILLED)
    return dict(found)  # by id, so the last one stays


def gather(
    reader: Reader,
    units: Sequence[Unit],
    dust: Dust,
    lasting: Mapping[int, int],
    moment: datetime,
    into: Gathered,
    wanted: frozenset[Key] | None = None,
) -> None:
    """Adds the lives of these units' parts, in two queries; only those at `wanted` positions where named."""
    by_id = {one.id: one for one in units}
    positions = None if wanted is None else sorted({position for _, position in wanted})
    narrowed: dict[str, object] = {} if positions is None else {"position": positions}
    uses = _uses(reader, list(by_id), dust)
    rates = {id_: rate_of(uses[id_], unit, moment) for id_, unit in by_id.items()}
    places = {id_: uses[id_][-1].area_id if uses[id_] else None for id_ in by_id}
    for row in reader.columns(Fitted, FITTED, unit_id=list(by_id), **narrowed):
        unit_id, position = row[1], row[2]
        unit = by_id[unit_id]
        key = (unit.model, position)
        if wanted is not None and key not in wanted:
            continue
        _add(row, unit, uses[unit_id], lasting, moment, key, (*rates[unit_id], places[unit_id]), into)


FITTED = (
    "id", "unit_id", "position", "part_id", "fitted_at", "fitted_at_hours", "worn_before_hours",
    "removed_at", "removed_at_hours", "removed_why",
)  # fmt: skip


def _add(
    row: tuple[Any, ...],
    unit: Unit,
    uses: Sequence[Use],
    lasting: Mapping[int, int],
    now: datetime,
    key: Key,
    about: tuple[float | None, float | None, int | None],
    into: Gathered,
) -> None:
    id_, _, position, part_id, fitted_at, at_hours, before, removed_at, removed_hours, why = row
    end = End.RUNNING if removed_at is None else end_of(why, position)
    if end is not End.CHANGED and removed_at is not None and part_id is not None and lasting.get(part_id) != id_:
        end = End.MOVED
    if end is End.MOVED:
        return
    until = removed_at or now
    # What a wearer fits stands ahead of the meter until the unit is back: none of it is known yet.
    since = max(0.0, unit.worn_hours - at_hours) if removed_hours is None else removed_hours - at_hours
    within = _between(uses, fitted_at, until)
    elapsed = (until - fitted_at).total_seconds() / 3600
    life, doubt = life_of(end, before + since, since, elapsed, within)
    if doubt is not None:
        into.doubts[doubt.value] += 1
    if life is None:
        return
    if removed_at is not None and known_to_the_hour(why):
        life = replace(life, last=0.0, last_loading=0.0)
    into.lives[key].append(life)
    if removed_at is None and unit.where is not Where.SCRAPPED:
        a_day, dust, area_id = about
        if dust is None and life.known > 0:
            dust = life.loading / life.hours if life.hours > 0 else None
        into.fitted[key].append(Open(unit.id, id_, life.hours, life.loading, dust, a_day, area_id))


def _between(uses: Sequence[Use], start: datetime, end: datetime) -> Sequence[Use]:
    """The uses that came back after the start and not after the end; they stand in that order."""
    return uses[bisect_right(uses, start, key=_back) : bisect_right(uses, end, key=_back)]


def _back(use: Use) -> datetime:
    return use.back


def _uses(reader: Reader, units: list[int], dust: Dust) -> defaultdict[int, list[Use]]:
    found: defaultdict[int, list[Use]] = defaultdict(list)
    names = ("unit_id", "area_id", "returned_at", "worn_hours")
    for unit_id, area, back, hours in reader.columns(Custody, names, unit_id=units, returned_at=FILLED):
        found[unit_id].append(Use(back, hours or 0.0, dust.by_area.get(area), area))
    for uses in found.values():
        uses.sort(key=_back)
    return found


def rate_of(uses: Sequence[Use], unit: Unit, moment: datetime) -> tuple[float | None, float | None]:
    """Worn hours a calendar day over the unit's last weeks, and the dust it met in them; None where too few tell."""
    dust: float | None = None
    for span in WEEKS:
        since = max(moment - span, min(unit.added_at, moment - timedelta(days=LEAST_DAYS)))
        last = _between(uses, since, moment)
        known = [use for use in last if use.dust is not None]
        worn = sum(use.hours for use in known)
        if dust is None and worn > 0:
            dust = sum(use.hours * (use.dust or 0.0) for use in known) / worn
        hours = sum(use.hours for use in last)
        if len(last) >= FEWEST_USES and hours > 0:
            return hours / max(LEAST_DAYS, (moment - since).total_seconds() / 86400), dust
    return None, dust
