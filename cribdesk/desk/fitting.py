"""One position of one model: from lives to a fit, and from a fit to the forecast of one part."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from math import exp, log
from statistics import median
from typing import TYPE_CHECKING

from cribdesk.crib.forecast import HOURS, LATE, LOADING, MIDDLE, PROBABILITIES, Fit, Forecast
from cribdesk.crib.lives import End, Life
from cribdesk.desk.lives import Dust, Key, Open

if TYPE_CHECKING:
    from cribdesk.compute.life import LifeModel

ENOUGH_ALONE = 10
"""So many changes seen are enough for a forecast where the model names no rule of thumb (a house rule)."""

WEAK_SD = 1.0  # of ln scale where the centre comes from the lives themselves: right within a factor of 7
PRIOR_SD = 0.5  # where a rule of thumb is the centre: right within a factor of 2.7

NARROW = 2.0
"""An end found between two looks counts at the middle where it is at least so many gaps old, else as between."""

KNOWN_SHARE = 0.5
"""Loading is tried where at least this share of the hours was worn in areas with an assessed dust (a house rule)."""

LEAST_PER_HOUR = 0.02
STEP = 0.25  # hours, to which the bounds of an early end are rounded

Data = tuple[list[float], list[float], list[tuple[float, float]]]
"""Changed at, running at, changed between; see compute.life.fit_life."""


def fit_of(
    key: Key, lives: Sequence[Life], dust: Dust, thumb_hours: float | None, seq: int, moment: datetime
) -> Fit | None:
    """What these lives and the rule of thumb say, in the measure that explains them better.

    None where there is no rule of thumb and fewer than ENOUGH_ALONE changes, or where the lives and the rule of
    thumb are too far apart to be reconciled.
    """
    from cribdesk.compute.laws import thinned
    from cribdesk.compute.life_table import life_table

    ended = [life.hours for life in lives if life.end is End.CHANGED]
    if thumb_hours is None and len(ended) < ENOUGH_ALONE:
        return None
    centre = thumb_hours if thumb_hours is not None else median(ended)
    spread = PRIOR_SD if thumb_hours is not None else WEAK_SD
    worn = sum(life.hours for life in lives)
    known = sum(life.known for life in lives) / worn if worn > 0 else 0.0
    try:
        model, measure = _better(key, lives, dust, known, centre, spread)
    except ValueError:
        return None
    ages = [life.loading if measure == LOADING else life.hours for life in lives if life.end is End.RUNNING]
    table = life_table(model, PROBABILITIES, max(ages, default=0.0))
    new = table.left[0]
    return Fit(
        model=key[0],
        position=key[1],
        measure=measure,
        dust_ug_m3=dust.reference if measure == LOADING else None,
        changed=len(ended),
        running=len(ages),
        thumb_hours=thumb_hours,
        typical=new[PROBABILITIES.index(MIDDLE)],
        whole=new[PROBABILITIES.index(LATE)],
        scale=(exp(model.mean_log_scale), *model.scale_interval()),
        shape=(exp(model.mean_log_shape), *model.shape_interval()),
        ages=table.ages,
        left=table.left,
        curve=table.curve,
        known=known,
        seq=seq,
        at=moment,
        laws=thinned(model),
        areas=_by_area(lives, exp(model.mean_log_shape)) if measure == HOURS else (),
        band=table.band,
    )


def forecast_of(fit: Fit, part: Open, dust: Dust, seq: int, moment: datetime) -> Forecast:
    """What is left of one part by the fit of its position."""
    loading = fit.measure == LOADING
    area, typical_there, changed_there = _there(fit, part, dust)
    use = part.loading if loading else part.hours
    return Forecast(
        position=fit.position,
        fitted_id=part.fitted_id,
        worn_hours=part.hours,
        use=use,
        per_hour=max(LEAST_PER_HOUR, part.dust if part.dust is not None else 1.0) if loading else 1.0,
        left=fit.left_at(use),
        a_day=part.a_day,
        measure=fit.measure,
        dust_ug_m3=fit.dust_ug_m3,
        changed=fit.changed,
        running=fit.running,
        typical=fit.typical,
        whole=fit.whole,
        seq=seq,
        at=moment,
        area=area,
        typical_there=typical_there,
        changed_there=changed_there,
    )


def _there(fit: Fit, part: Open, dust: Dust) -> tuple[str, float, int]:
    """Where the unit was worn last, the worn hours half of such parts last there, by how many lives.

    By loading all lives tell of any area with an assessed dust; by hours only those that ended in it.
    """
    name, against = dust.names.get(part.area_id or 0, ""), dust.by_area.get(part.area_id or 0)
    if not name:
        return "", 0.0, 0
    if fit.measure == LOADING:
        return (name, fit.typical / against, fit.changed) if against and fit.changed else ("", 0.0, 0)
    found = next((one for one in fit.areas if one[0] == part.area_id), None)
    return (name, found[1], found[2]) if found else ("", 0.0, 0)


def _by_area(lives: Sequence[Life], shape: float) -> tuple[tuple[int, float, int], ...]:
    """(Area, hours half of those worn there last, lives ended) where ENOUGH_ALONE ended, by the model's own shape."""
    from cribdesk.compute.weibull import scale_of

    found = []
    for area in sorted({life.area_id for life in lives if life.area_id is not None}):
        here = [life for life in lives if life.area_id == area]
        ended = [life.hours - life.last / 2 for life in here if life.end is End.CHANGED]
        if len(ended) >= ENOUGH_ALONE:
            scale = scale_of(ended, [life.hours for life in here if life.end is End.RUNNING], shape)
            found.append((area, scale * log(2) ** (1 / shape), len(ended)))
    return tuple(found)


def _better(
    key: Key, lives: Sequence[Life], dust: Dust, known: float, centre: float, spread: float
) -> tuple[LifeModel, str]:
    """The fit on worn hours, or on loading where that is told, makes sense and explains the lives better."""
    from cribdesk.compute.life import better_measure, fit_life

    changed, running, between = data_of(lives)
    by_hours = fit_life(changed, running, between, typical_hours=centre, scale_sd=spread)
    loaded = [life for life in lives if life.end is End.CHANGED]
    if (
        dust.reference is None
        or "filter" not in key[1]
        or known < KNOWN_SHARE
        or any(life.loading <= 0 or life.last_loading <= 0 < life.last for life in loaded)
    ):
        return by_hours, HOURS
    changed, running, between = data_of(lives, loading=True)
    by_loading = fit_life(changed, running, between, typical_hours=centre, scale_sd=spread)
    ended = [life for life in loaded if _exact(life)]
    rates = [life.last_loading / life.last if life.last else life.loading / life.hours for life in ended]
    measure = better_measure(by_hours, by_loading, rates)
    return (by_loading, LOADING) if measure == LOADING else (by_hours, HOURS)


def data_of(lives: Sequence[Life], *, loading: bool = False) -> Data:
    """The lives as `fit_life` takes them.

    An end is found at the look after a use, so it lies within that use: at its middle, or where that is a large
    part of the life, between its bounds. What is not used yet says nothing; it is kept out.
    """
    changed, running, between = [], [], []
    for life in lives:
        use, last = (life.loading, life.last_loading) if loading else (life.hours, life.last)
        if life.end is End.RUNNING:
            running.append(use)
        elif _exact(life):
            changed.append(use - last / 2)
        else:
            low = round(max(0.0, use - last) / STEP) * STEP
            between.append((low, max(low + STEP, round(use / STEP) * STEP)))
    return changed, running, between


def _exact(life: Life) -> bool:
    return life.hours - life.last >= NARROW * life.last
