"""The fleet picture: which units are worse than chance allows, what fails most, how each model lives and what it costs.

It is read in short steps, some units at a time, so that a scan never waits for ten years of history.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import accumulate

from cribdesk.crib.hold import BATTERY, DIRTY, METER, NOT_FINISHED, OFFICE, RECALL, ROBBED, USED, reason_of
from cribdesk.crib.lives import End, end_of
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Custody, Fitted, Hold, StockItem, Unit, Where
from cribdesk.crib.serviceable import position_name
from cribdesk.desk.fleet_cards import Change, FleetFault, FleetModel, FleetPicture, FleetUnit, Rate, Repairs
from cribdesk.desk.forecasts import Step
from cribdesk.desk.house import House
from cribdesk.desk.life_pictures import fleet_pictures
from cribdesk.desk.ports import FILLED, Reader, Store

YEAR = timedelta(days=365)
"""Worst units, faults, failure rate and cost are those of the last year (a house rule); lives those of all years."""

UNITS_AT_ONCE = 25
SHOWN = 5
FALSE_ALARMS, CONFIDENCE = 0.05, 0.95

NO_FAULT = frozenset(one.code for one in (NOT_FINISHED, DIRTY, RECALL, METER, ROBBED, USED, OFFICE))
"""Holds that tell nothing about the unit itself: they count as no fault (a house rule)."""

NO_REPAIR = NO_FAULT | {BATTERY.code}
"""A pack goes from unit to unit: its fault is none of the unit's (a house rule)."""

COUNTED = (
    "A repair is a hold for a fault of the unit itself (a house rule). Not counted: a check broken off, dirt, a "
    "recalled lot, a meter found wrong, a part taken out for another unit, use out of a cabinet, the program "
    "administrator's word, and faults of packs. Parts that wear out stand below by themselves."
)


@dataclass
class _Unit:
    """What was read of one unit: (when back, hours known by then) of each use, and its faults."""

    unit: Unit
    backs: list[datetime] = field(default_factory=list)
    hours: list[float] = field(default_factory=list)
    faults: list[tuple[datetime, str]] = field(default_factory=list)

    @property
    def worn(self) -> float:
        """Hours worn since the crib has it."""
        return self.hours[-1] if self.hours else 0.0

    def worn_by(self, moment: datetime) -> float:
        """The hours it had by then; a use that came back at that very moment counts."""
        known = bisect_right(self.backs, moment)
        return self.hours[known - 1] if known else 0.0

    def repairs(self, since: datetime | None = None) -> list[datetime]:
        """The moments of its repairs."""
        return [at for at, code in self.faults if code not in NO_REPAIR and (since is None or at >= since)]


@dataclass(frozen=True)
class Told(Step):
    """The last step, with what was read."""

    data: object = None


def fleet_steps(store: Store, house: House, moment: datetime) -> Iterator[Step]:
    """Reads the fleet some units at a time; the last step is a `Told` with the `FleetPicture`."""
    since = moment - YEAR
    with store.reading() as reader:
        units = [one for one in reader.find(Unit) if one.model in house.models]
        prices = {one.id: one.price_cents for one in reader.find(StockItem)}
        cover = reader.cover()
        lives = fleet_pictures(reader, house)
    found: list[_Unit] = []
    fitted: defaultdict[tuple[str, str], list[tuple[float, int, bool]]] = defaultdict(list)
    for start in range(0, len(units), UNITS_AT_ONCE):
        with store.reading() as reader:
            some = units[start : start + UNITS_AT_ONCE]
            found += _read(reader, some)
            _read_changes(reader, some, since, fitted)
        yield Step(0.9 * start / len(units), "Reading the fleet")
    kept = [one for one in found if one.unit.where is not Where.SCRAPPED]
    worst, tested, called = _worst(kept, found, house, since)
    faults, total = _faults(found, house, since)
    yield Step(0.95, "Reading the fleet")
    yield Told(
        1.0,
        "The fleet is read",
        FleetPicture(
            at=moment,
            since=since,
            worst=worst,
            faults=faults,
            all_faults=total,
            models=tuple(
                FleetModel(
                    code=code,
                    name=model.name,
                    short_name=model.short_name,
                    units=sum(one.unit.model == code for one in kept),
                    lives=tuple(
                        lives[code, place.code]
                        for place in sorted(model.positions, key=lambda one: one.order)
                        if (code, place.code) in lives
                    ),
                    repairs=_repairs([one for one in found if one.unit.model == code]),
                    rate=_rate([one for one in found if one.unit.model == code], since),
                    changes=_changes(model, fitted, prices),
                )
                for code, model in _largest_first(house, kept)
                if any(one.unit.model == code for one in found)
            ),
            tested=tested,
            called=called,
            doubts=cover.doubts if cover else (),
        ),
    )


def _largest_first(house: House, kept: Sequence[_Unit]) -> list[tuple[str, UnitModel]]:
    there = Counter(one.unit.model for one in kept)
    return sorted(house.models.items(), key=lambda one: (-there[one[0]], one[0]))


def _read(reader: Reader, units: Sequence[Unit]) -> list[_Unit]:
    """Uses and faults of these units, in two queries."""
    ids = [one.id for one in units]
    uses: defaultdict[int, list[tuple[datetime, float]]] = defaultdict(list)
    for id_, back, hours in reader.columns(
        Custody, ("unit_id", "returned_at", "worn_hours"), unit_id=ids, returned_at=FILLED
    ):
        uses[id_].append((back, max(0.0, hours or 0.0)))
    faults: defaultdict[int, list[tuple[datetime, str]]] = defaultdict(list)
    for id_, at, code in reader.columns(Hold, ("unit_id", "found_at", "reason"), unit_id=ids):
        if code not in NO_FAULT:
            faults[id_].append((at, code))
    made = []
    for unit in units:
        mine = sorted(uses[unit.id])
        made.append(
            _Unit(unit, [at for at, _ in mine], list(accumulate(hours for _, hours in mine)), sorted(faults[unit.id]))
        )
    return made


def _read_changes(
    reader: Reader,
    units: Sequence[Unit],
    since: datetime,
    into: defaultdict[tuple[str, str], list[tuple[float, int, bool]]],
) -> None:
    """Parts that came out since then and stay out, as (worn hours, item, still good), in one query."""
    models = {one.id: one.model for one in units}
    names = (
        "unit_id", "position", "item_id", "fitted_at_hours", "worn_before_hours",
        "removed_at", "removed_at_hours", "removed_why",
    )  # fmt: skip
    for row in reader.columns(Fitted, names, unit_id=list(models), removed_at=FILLED):
        id_, position, item, at_hours, before, removed_at, removed_hours, why = row
        end = end_of(why, position)
        if removed_at < since or end is End.MOVED:
            continue
        worn = max(0.0, before + (removed_hours or 0.0) - at_hours)
        into[models[id_], position].append((worn, item, end is not End.CHANGED))


def _worst(
    kept: Sequence[_Unit], all_of_them: Sequence[_Unit], house: House, since: datetime
) -> tuple[tuple[FleetUnit, ...], int, int]:
    """The five units least like the others, how many were compared, and how many are called worse."""
    from cribdesk.compute.fleet import as_many_by_chance, worse

    repairs: Counter[str] = Counter()
    hours: defaultdict[str, float] = defaultdict(float)
    mine: dict[int, tuple[int, float]] = {}
    for one in all_of_them:
        figures = len(one.repairs(since)), one.worn - one.worn_by(since)
        mine[one.unit.id] = figures
        repairs[one.unit.model] += figures[0]
        hours[one.unit.model] += figures[1]
    compared = [one for one in kept if hours[one.unit.model] > 0]
    chances = []
    for one in compared:
        count, worn = mine[one.unit.id]
        code = one.unit.model
        chances.append(as_many_by_chance(count, worn, repairs[code], hours[code]))
    verdicts = worse(chances, FALSE_ALARMS) if chances else []
    rows = []
    for one, chance, verdict in zip(compared, chances, verdicts, strict=True):
        count, worn = mine[one.unit.id]
        if not count:
            continue
        model = house.models[one.unit.model]
        expected = repairs[model.code] * worn / hours[model.code]
        named = Counter(fault_words(model, code) for at, code in one.faults if at >= since and code not in NO_REPAIR)
        told = "; ".join(f"{words}{f' ({n})' if n > 1 else ''}" for words, n in named.most_common(3))
        rows.append(FleetUnit(one.unit.label, model.short_name, count, worn, expected, chance, verdict, told))
    rows.sort(key=lambda row: (row.chance, -row.repairs, row.label))
    return tuple(rows[:SHOWN]), len(compared), sum(verdicts)


def _faults(units: Sequence[_Unit], house: House, since: datetime) -> tuple[tuple[FleetFault, ...], int]:
    """The five commonest faults of the year, and how many faults there were in all."""
    from cribdesk.compute.fleet import pareto

    counts: Counter[str] = Counter()
    where: defaultdict[str, set[int]] = defaultdict(set)
    for one in units:
        for at, code in one.faults:
            if at >= since:
                words = fault_words(house.models[one.unit.model], code)
                counts[words] += 1
                where[words].add(one.unit.id)
    if not counts:
        return (), 0
    ranked = pareto(counts)[:SHOWN]
    return tuple(FleetFault(name, int(n), len(where[name]), share) for name, n, share in ranked), counts.total()


def fault_words(model: UnitModel, code: str) -> str:
    """A fault in words; its code where the model has it no more."""
    try:
        return reason_of(model, code).words
    except LookupError:
        return code


def _repairs(units: Sequence[_Unit]) -> Repairs:
    """Over hours worn since the crib has a unit: what it wore before nobody here saw."""
    from cribdesk.compute.fleet import mean_cumulative

    systems = [([one.worn_by(at) for at in one.repairs()], one.worn) for one in units]
    return Repairs(tuple(mean_cumulative(systems)) if systems else (), max((end for _, end in systems), default=0.0))


def _rate(units: Sequence[_Unit], since: datetime) -> Rate | None:
    from cribdesk.compute.fleet import failure_rate

    hours = sum(one.worn - one.worn_by(since) for one in units)
    if hours <= 0:
        return None
    count = sum(len(one.repairs(since)) for one in units)
    rate, low, high = failure_rate(hours, count, CONFIDENCE)
    return Rate(count, hours, rate * 1000, low * 1000, high * 1000)


def _changes(
    model: UnitModel, fitted: dict[tuple[str, str], list[tuple[float, int, bool]]], prices: dict[int, int]
) -> tuple[Change, ...]:
    """The positions of a model where something was changed, by what it cost in all, the dearest first."""
    made = []
    for (code, position), rows in fitted.items():
        if code != model.code:
            continue
        priced = [prices[item] for _, item, _ in rows if prices.get(item)]
        cost = sum(priced) / len(priced) if priced else None
        mean = sum(worn for worn, _, _ in rows) / len(rows)
        good = sum(still for _, _, still in rows)
        made.append(Change(position, position_name(model, position), len(rows), good, mean, cost))
    return tuple(sorted(made, key=lambda one: (-(one.cost_cents or 0) * one.count, -one.count, one.name)))
