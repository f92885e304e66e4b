"""Forecasts of the next change: fits out of the store's own lives, kept in derived tables, made anew in small steps.

Every step is short, so that it never keeps a scan waiting: units are read some at a time, each position is fitted
by itself. `compute`, and with it the heavy libraries, is loaded when the first fit is asked for.
"""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import ceil

from cribdesk.crib.entry import Entry, canonical
from cribdesk.crib.forecast import APART, TOO_FEW, Cover, Fit
from cribdesk.crib.records import Area, Custody, Unit
from cribdesk.desk.fitting import fit_of, forecast_of
from cribdesk.desk.house import House
from cribdesk.desk.lives import Dust, Gathered, Key, assessed, dust_of, gather, lasting_parts
from cribdesk.desk.ports import Reader, Store

UNITS_AT_ONCE, PARTS_AT_ONCE = 10, 100
ENTRIES_AT_ONCE = 200
"""More entries than this since the last time: everything is made anew."""

WORDS = "Learning how long parts last"

REFIT_SHARE = 0.01
"""A position is fitted anew once its ended lives have grown by this share, and by one at least (a house rule)."""


@dataclass(frozen=True)
class Step:
    """One short step was done: how much of it all, 0 to 1, and what was done."""

    share: float
    words: str


def warm_up() -> None:
    """Loads the heavy libraries; on a thread that keeps nobody waiting."""
    import cribdesk.compute.life_table  # noqa: F401
    from cribdesk.compute.horizon import negative_binomial
    from cribdesk.compute.life import fit_life

    fit_life((), typical_hours=1.0)
    negative_binomial(1.0, 2.0)


def recompute(store: Store, house: House, moment: datetime) -> Iterator[Step]:
    """Makes everything anew. Whoever stops between two steps keeps what is done so far."""
    yield from _remake(store, house, moment, None)


def catch_up(store: Store, house: House, moment: datetime) -> Iterator[Step]:
    """Takes in what was done since the last time: the units it touched, and the positions whose lives grew.

    Everything is made anew where nothing is kept yet, the rules of thumb or an area's dust changed, or too much
    was done meanwhile, by another counter or before this one was started.
    """
    with store.reading() as reader:
        cover, head = reader.cover(), reader.head().seq
        behind = head - (cover.seq if cover else 0)
        since = reader.entries(count=behind).entries if cover and 0 < behind <= ENTRIES_AT_ONCE else ()
        units = {one.id: one for one in reader.find(Unit, id=sorted(touched(since)))} if since else {}
    if cover is None or cover.basis != basis_of(house) or not 0 <= behind <= ENTRIES_AT_ONCE or _dust_changed(since):
        yield from recompute(store, house, moment)
        return
    if not behind:
        return
    ids = [id_ for id_, one in units.items() if one.model in house.models]
    for start in range(0, len(ids), UNITS_AT_ONCE):
        refresh(store, house, ids[start : start + UNITS_AT_ONCE], moment)
        yield Step(0.5 * start / len(ids), "Taking in what was done")
    fresh = Counter({(model, position): count for model, position, count in cover.fresh})
    fresh.update(_ended(since, units))
    with store.reading() as reader:
        kept = reader.fits(list(fresh))
    grown = frozenset(key for key, count in fresh.items() if count >= _enough(kept.get(key)))
    if grown:
        yield from _remake(store, house, moment, grown)
    left = tuple((*key, count) for key, count in sorted(fresh.items()) if key not in grown)
    with store.deriving() as deriving:
        deriving.cover(replace(cover, seq=head, at=moment, fresh=left))
    yield Step(1.0, "Forecasts are up to date")


def refresh(store: Store, house: House, unit_ids: Sequence[int], moment: datetime) -> None:
    """Makes the forecasts of these units anew by the fits that are kept."""
    gathered = Gathered()
    with store.reading() as reader:
        cover, seq = reader.cover(), reader.head().seq
        units = reader.find(Unit, id=list(unit_ids))
        dust = dust_of(reader.find(Area), cover.reference_ug_m3 if cover else None)
        gather(reader, units, dust, {}, moment, gathered)
        fits = reader.fits(list(gathered.fitted))
    made = [
        (part.unit_id, forecast_of(fits[key], part, dust, seq, moment))
        for key, parts in gathered.fitted.items()
        if key in fits
        for part in parts
    ]
    with store.deriving() as deriving:
        deriving.drop_forecasts(unit_ids)
        deriving.put_forecasts(made)


def basis_of(house: House) -> str:
    """A digest of the rules of thumb: where one changes, everything rests on another ground."""
    thumbs = [
        [model.code, position.code, str(position.thumb_hours)]
        for model in house.models.values()
        for position in model.positions
    ]
    return hashlib.sha256(canonical({"thumbs": sorted(thumbs)})).hexdigest()[:16]


def touched(entries: Sequence[Entry]) -> set[int]:
    """The units whose use or parts these entries changed."""
    found = set()
    for entry in entries:
        for table, row in entry.rows:
            if table in ("custody", "fitted"):
                found.add(int(row["unit_id"]))  # type: ignore[arg-type]
            elif table == "unit":
                found.add(int(row["id"]))  # type: ignore[arg-type]
    return found


def _dust_changed(entries: Sequence[Entry]) -> bool:
    return any(table == "area" for entry in entries for table, _ in entry.rows)


def _ended(entries: Sequence[Entry], units: dict[int, Unit]) -> Counter[Key]:
    """Parts that came out, by model and position."""
    found: Counter[Key] = Counter()
    for entry in entries:
        for table, row in entry.rows:
            unit = units.get(int(row["unit_id"])) if table == "fitted" else None  # type: ignore[arg-type]
            if unit is not None and row["removed_at"] is not None:
                found[unit.model, str(row["position"])] += 1
    return found


def _enough(fit: Fit | None) -> int:
    return max(1, ceil(REFIT_SHARE * fit.changed)) if fit else 1


def _remake(store: Store, house: House, moment: datetime, wanted: frozenset[Key] | None) -> Iterator[Step]:
    """Lives read and positions fitted, all or only those wanted, each with the forecasts of what is fitted there."""
    with store.reading() as reader:
        head, cover = reader.head().seq, reader.cover()
        by_model: defaultdict[str, list[int]] = defaultdict(list)
        for id_, model in reader.columns(Unit, ("id", "model")):
            if _is_wanted(model, house, wanted):
                by_model[model].append(id_)
    yield Step(0.0, WORDS)
    with store.reading() as reader:
        lasting = lasting_parts(reader)
        areas = reader.find(Area)
    yield Step(0.0, WORDS)
    reference = cover.reference_ug_m3 if wanted and cover else None
    if not wanted:
        worn = {}
        for area in assessed(areas):
            with store.reading() as reader:
                worn[area.id] = _worn_in(reader, area)
            yield Step(0.0, WORDS)
        reference = reference_of(assessed(areas), worn)
    dust, doubts = dust_of(areas, reference), Counter[str]()
    # One model's lives at a time: with all of a big fleet's in memory the interpreter's own tidying makes long pauses.
    for done, (model, ids) in enumerate(sorted(by_model.items())):
        gathered = Gathered()
        for start in range(0, len(ids), UNITS_AT_ONCE):
            with store.reading() as reader:
                units = reader.find(Unit, id=ids[start : start + UNITS_AT_ONCE])
                gather(reader, units, dust, lasting, moment, gathered, wanted)
            yield Step((done + 0.5 * start / len(ids)) / len(by_model), WORDS)
        here = {*gathered.lives, *gathered.fitted} if wanted is None else {key for key in wanted if key[0] == model}
        for share in _fit_all(store, house, dust, gathered, sorted(here), head, moment):
            yield Step((done + 0.5 + 0.5 * share) / len(by_model), WORDS)
        doubts.update(gathered.doubts)
    if wanted is None:
        with store.deriving() as deriving:
            deriving.cover(Cover(head, moment, basis_of(house), reference, tuple(sorted(doubts.items()))))
    yield Step(1.0, "Forecasts are up to date")


def _fit_all(
    store: Store, house: House, dust: Dust, gathered: Gathered, keys: Sequence[Key], head: int, moment: datetime
) -> Iterator[float]:
    """Fits these positions and keeps the forecasts of what is fitted there; after each step, the share that is done."""
    for done, key in enumerate(keys):
        position = house.models[key[0]].position(key[1])
        fit = fit_of(key, gathered.lives[key], dust, position.thumb_hours if position else None, head, moment)
        if fit is None:
            gathered.doubts[APART if position and position.thumb_hours is not None else TOO_FEW] += 1
            with store.deriving() as deriving:  # what was kept rests on a rule of thumb or on lives that stand no more
                deriving.drop_fit(*key, [part.unit_id for part in gathered.fitted[key]])
            continue
        yield done / len(keys)
        with store.deriving() as deriving:
            deriving.put_fits([fit])
        parts = gathered.fitted[key]
        for start in range(0, len(parts), PARTS_AT_ONCE):
            some = parts[start : start + PARTS_AT_ONCE]
            made = [(part.unit_id, forecast_of(fit, part, dust, head, moment)) for part in some]
            with store.deriving() as deriving:
                deriving.put_forecasts(made)
            yield (done + 0.5) / len(keys)


def _is_wanted(model: str, house: House, wanted: frozenset[Key] | None) -> bool:
    return model in house.models and (wanted is None or any(model == other for other, _ in wanted))


def _worn_in(reader: Reader, area: Area) -> float:
    return reader.total(Custody, "worn_hours", area_id=area.id)


def reference_of(areas: Sequence[Area], worn: dict[int, float]) -> int | None:
    """The dust at which loading is told: the mean over all assessed worn hours, so that one hour counts as one."""
    whole = sum(worn.values())
    if whole <= 0:
        return None
    mean = sum((area.dust_ug_m3 or 0) * worn[area.id] for area in areas) / whole
    return round(mean / 100) * 100 or None


