"""Run times out of the store's own battery runs: split between pack and unit, kept in a derived table, in short steps.

`compute`, and with it the heavy libraries, is loaded when the first fit is made. One crib stands at one altitude, so
altitude moves the mean alone.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from datetime import datetime
from math import ceil
from typing import TYPE_CHECKING

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Battery, BatteryPlace, BatteryRun, RunEnd, Unit
from cribdesk.crib.run_time import BATTERY, SAID_FROM, UNIT, Kind, RunFit, Share
from cribdesk.desk.forecasts import Step
from cribdesk.desk.house import House
from cribdesk.desk.ports import Store

if TYPE_CHECKING:
    from cribdesk.compute.runtime import Run, Separation

MOST_RUNS = 6000
"""So many of the newest runs with packs of one model count (a house rule): older ones tell of other packs."""

REFIT_SHARE = 0.01
"""All is fitted anew once runs have grown by this share, and by one at least (a house rule)."""

FEWEST_FLAT = 20
"""Below so many runs driven flat, and below one for each pack and unit, nothing is said (a house rule)."""

ALARM_SHARE = 0.95
"""The low-battery alarm comes at this share of the run time (common practice, no source)."""

TOO_LONG, TOO_SHORT, LONGEST = 1.8, 0.1, 24.0
"""Shares of the model's stated run time outside which a run is left out, and the hours where none is stated."""

LOOK_SECONDS = 0.02
RUNS_AT_ONCE, SHARES_AT_ONCE = 1500, 200
WORDS = "Telling packs from filters"
TELLING_PACKS = 20
K, H = 0.5, 5.0
"""Slack and limit of the cusum in sigmas: about one false signal of each side in 930 runs (methods: run lengths)."""


@dataclass
class Usable:
    """The runs that count, each with its record, and how many were left out by the words of the reason."""

    runs: list[Run] = field(default_factory=list)
    records: list[BatteryRun] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)

    def add(self, records: Sequence[BatteryRun], units: Mapping[int, Unit], house: House) -> None:
        """Takes in records; what cannot be true is left out and counted by its reason."""
        for record in records:
            run = run_of(record, house.models.get(units[record.unit_id].model))
            if isinstance(run, str):
                self.left_out[run] += 1
            else:
                self.runs.append(run)
                self.records.append(record)


def catch_up(store: Store, house: House, moment: datetime) -> Iterator[Step]:
    """Takes in the runs since the last time. Steps are yielded only where there is something to do."""
    with store.reading() as reader:
        seq, seen = reader.head().seq, reader.seen_runs()
        by_model: defaultdict[str, list[int]] = defaultdict(list)
        for id_, model in reader.columns(Battery, ("id", "model")):
            by_model[model].append(id_)
        counts = {model: reader.count(BatteryRun, battery_id=ids) for model, ids in sorted(by_model.items())}
    grown = [model for model, many in counts.items() if many != seen.get(model, 0)]
    for done, model in enumerate(grown):
        before, many, packs = seen.get(model, 0), counts[model], by_model[model]
        if many < before or many - before >= max(1, ceil(REFIT_SHARE * before)):
            for part in _refit(store, house, model, packs, many, seq, moment):
                yield Step((done + part) / len(grown), WORDS)
        else:
            _touch(store, house, model, packs, many - before, seq)
        yield Step((done + 1) / len(grown), WORDS)


def _refit(
    store: Store, house: House, model: str, packs: Sequence[int], many: int, seq: int, moment: datetime
) -> Iterator[float]:
    yield 0.0
    with store.reading() as reader:
        ids = [id_ for (id_,) in reader.columns(BatteryRun, ("id",), battery_id=list(packs))][-MOST_RUNS:]
    usable = Usable()
    for start in range(0, len(ids), RUNS_AT_ONCE):
        with store.reading() as reader:
            records = reader.find(BatteryRun, id=ids[start : start + RUNS_AT_ONCE])
            units = {one.id: one for one in reader.find(Unit, id=sorted({one.unit_id for one in records}))}
        usable.add(records, units, house)
        yield 0.3 * start / len(ids)
    found: Separation | None = None
    if enough(usable.runs):
        pool = ThreadPoolExecutor(1)  # beside the thread that scans wait for
        fitting = pool.submit(_separated, usable.runs)
        pool.shutdown(wait=False)
        while not wait([fitting], timeout=LOOK_SECONDS).done:
            yield 0.5
        found = fitting.result()
    shares: list[Share] = []
    for part in shares_of(model, found, usable) if found is not None else ():
        shares += part
        yield 0.9
    with store.reading() as reader:
        known = reader.find(Battery, id=[int(name) for name in found.battery]) if found is not None else []
    with store.deriving() as deriving:
        if found is not None:
            deriving.put_runs(_fit(model, found, usable, known, seq, moment), shares)
        deriving.put_seen_runs([(model, many)], seq)


def _separated(runs: Sequence[Run]) -> Separation | None:
    from cribdesk.compute.runtime import separate

    try:
        return separate(runs)
    except ValueError:  # they do not settle: nothing is said, the next runs try again
        return None


def enough(runs: Sequence[Run]) -> bool:
    """Whether so many runs were driven flat that packs and units can be told from noise at all."""
    flat = sum(run.flat for run in runs)
    return flat >= max(FEWEST_FLAT, len({run.battery for run in runs}) + len({run.unit for run in runs}))


def run_of(record: BatteryRun, model: UnitModel | None) -> Run | str:
    """One record as a run, or why it does not count. Each rule is a house rule."""
    from cribdesk.compute.runtime import Run

    if model is None:
        return "of a unit model without a file"
    speed = record.speed or (model.speeds[0] if len(model.speeds) == 1 else "")
    if speed not in model.speeds and model.speeds:
        return "without their speed"
    if not record.worn_hours > 0:
        return "without hours"
    if record.filter_hours is not None and record.filter_hours < 0:
        return "with filter hours below none"
    hours = record.worn_hours / (ALARM_SHARE if record.ended is RunEnd.ALARM else 1.0)
    stated = model.run_hours.get(speed)
    if hours > (TOO_LONG * stated if stated else LONGEST):
        return "longer than one charge lasts"
    flat = record.ended is not RunEnd.STOPPED
    if flat and stated and hours < TOO_SHORT * stated:
        return "flat within a tenth of the usual time, not charged or faulty"
    return Run(
        str(record.battery_id), str(record.unit_id), hours, flat, f"{model.code} {speed}", record.cycles,
        record.filter_hours or 0.0,
    )  # fmt: skip


def _fit(
    model: str, found: Separation, usable: Usable, packs: Sequence[Battery], seq: int, moment: datetime
) -> RunFit:
    here = {str(one.id) for one in packs if one.place not in (BatteryPlace.SCRAPPED, BatteryPlace.MISSING)}
    known = sorted(here & set(found.battery), key=lambda name: found.standard_errors["battery", name])
    first, *others = found.speeds
    effects = [(first, 0.0)]
    for name in others:
        effects.append((name, found.slopes["speed" if len(others) == 1 else f"speed {name}"]))
    kinds = [[kind for kind, _ in group] for group in found.components]
    return RunFit(
        model=model,
        mean=found.mean_log,
        speeds=tuple(effects),
        fade=(found.slopes["cycles"], found.standard_errors["cycles"]),
        load=(found.slopes["filter_hours"], found.standard_errors["filter_hours"]),
        sigma=found.sigma_corrected,
        runs=len(usable.runs),
        flat=sum(run.flat for run in usable.runs),
        most_cycles=int(max(run.cycles for run in usable.runs)),
        groups=tuple((kind.count(BATTERY), kind.count(UNIT)) for kind in kinds),
        known=tuple(int(name) for name in known[:TELLING_PACKS]),
        left_out=tuple(sorted((why, many) for why, many in usable.left_out.items())),
        seq=seq,
        at=moment,
    )


def shares_of(model: str, found: Separation, usable: Usable) -> Iterator[list[Share]]:
    """What belongs to each pack and unit, units with whether their runs changed; some at a time."""
    group = {node: number for number, nodes in enumerate(found.components) for node in nodes}
    shares: list[Share] = []
    both: tuple[tuple[Kind, Mapping[str, float]], ...] = ((BATTERY, found.battery), (UNIT, found.unit))
    for kind, effects in both:
        rows = _by_name(usable, kind)
        for name, effect in effects.items():
            mine = rows[name]
            node = (kind, name)
            since, longer = None, False
            if kind == UNIT:
                since, longer = changed([(found.residual(run), record.ended_at) for run, record in mine])
            shares.append(
                Share(
                    kind, int(name), model, effect, found.standard_errors[node], len(mine),
                    sum(run.flat for run, _ in mine), group[node], since, longer,
                )
            )  # fmt: skip
            if len(shares) == SHARES_AT_ONCE:
                yield shares
                shares = []
    yield shares


def _by_name(usable: Usable, kind: Kind) -> defaultdict[str, list[tuple[Run, BatteryRun]]]:
    rows: defaultdict[str, list[tuple[Run, BatteryRun]]] = defaultdict(list)
    for run, record in zip(usable.runs, usable.records, strict=True):
        rows[run.battery if kind == BATTERY else run.unit].append((run, record))
    return rows


def changed(residuals: Sequence[tuple[float, datetime]]) -> tuple[datetime | None, bool]:
    """Since when a unit's runs have been other than they were, and whether longer; None where they have not.

    Only what stands at the newest run counts: a change that went away again is none. Fewer than five: learning.
    """
    from cribdesk.compute.trend import cusum

    if len(residuals) < SAID_FROM:
        return None, False
    chart = cusum([value for value, _ in residuals], 0.0, K, H)
    for side, longer in ((chart.low, False), (chart.high, True)):
        if side[-1] > H:
            began = max((at for at, value in enumerate(side, 1) if value == 0.0), default=0)
            return residuals[began][1], longer
    return None, False


def _touch(store: Store, house: House, model: str, packs: Sequence[int], new: int, seq: int) -> None:
    """Few runs came: the charts of their units go on, by the fit that is kept; the shares stay."""
    ids = list(packs)
    with store.reading() as reader:
        fits, shares = reader.run_times(ids, None)
        if model not in fits:
            return
        unit_ids = sorted({one.unit_id for one in reader.newest(BatteryRun, new, battery_id=ids)})
        records = reader.find(BatteryRun, unit_id=unit_ids, battery_id=ids)
        units = {one.id: one for one in reader.find(Unit, id=unit_ids)}
    usable = Usable()
    usable.add(records, units, house)
    made = []
    for name, mine in _by_name(usable, UNIT).items():
        share = shares.get((UNIT, int(name), model))
        if share is None:
            continue
        told = [
            (off, record.ended_at)
            for run, record in mine
            if (off := _off(fits[model], run, shares.get((BATTERY, int(run.battery), model)), share)) is not None
        ]
        since, longer = changed(told)
        made.append(replace(share, runs=len(mine), flat=sum(r.flat for r, _ in mine), since=since, longer=longer))
    with store.deriving() as deriving:
        deriving.put_shares(made, seq)


def _off(fit: RunFit, run: Run, battery: Share | None, unit: Share) -> float | None:
    """A run's residual in sigmas by what is kept; None where its speed is new."""
    from math import log

    from cribdesk.compute.normal import mean_beyond

    effect = fit.speed(str(run.speed))
    if effect is None:
        return None
    expected = fit.mean + effect + unit.effect + (battery.effect if battery else 0.0)
    expected += fit.fade[0] * run.cycles + fit.load[0] * run.filter_hours
    z = (log(run.hours) - expected) / fit.sigma
    return z if run.flat else mean_beyond(z)
