"""One position's lives as the fit takes them, at the edges: the last use, dust, one area, and what an hour loads."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from math import log
from types import SimpleNamespace
from typing import cast

import pytest

from cribdesk.compute.weibull import weibull_mle
from cribdesk.crib.forecast import EARLY, HOURS, LATE, LOADING, MIDDLE, PROBABILITIES, Fit
from cribdesk.crib.lives import End, Life
from cribdesk.crib.records import FAULT, Battery, BatteryPlace, Unit
from cribdesk.crib.run_time import Pair
from cribdesk.desk.fitting import ENOUGH_ALONE, LEAST_PER_HOUR, data_of, fit_of, forecast_of
from cribdesk.desk.life_pictures import life_picture
from cribdesk.desk.lives import Dust, Open
from cribdesk.desk.ports import Reader, Records
from cribdesk.desk.run_time_cards import _telling
from tests.desk.shop import house

AT = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
KEY = ("WL1", "particulate-filter")
DUST = Dust(2000, {1: 0.5, 2: 2.0}, {1: "Light bay", 2: "Heavy bay"})


def ended(hours: float, last: float = 0.0, **more: object) -> Life:
    """A life that ended in a change, found after a last use of so many hours."""
    return replace(Life(End.CHANGED, hours, hours, last, last), **more)  # type: ignore[arg-type]


def fit(lives: list[Life], thumb: float | None = 60.0) -> Fit | None:
    """The fit of these lives by that rule of thumb."""
    return fit_of(KEY, lives, DUST, thumb, 9, AT)


def test_an_end_is_put_in_the_middle_of_a_short_last_use_and_between_the_bounds_of_a_long_one() -> None:
    """A last use of 8 h: after 24 h the end counts at 20; after 22, less than two of them before it, from 14 to 22."""
    running = Life(End.RUNNING, 5.0, 5.0)
    assert data_of([ended(24.0, 8.0), ended(22.0, 8.0), running]) == ([20.0], [5.0], [(14.0, 22.0)])
    assert data_of([ended(7.1, 7.1)])[2] == [(0.0, 7.0)]  # to the quarter of an hour, never of no width


def test_loading_is_not_tried_where_little_dust_is_assessed() -> None:
    """Lives that loading explains to the hour: counted so with half the hours assessed, by hours with less."""
    lives = [ended(hours, loading=60.0, known=0.5 * hours) for hours in (30.0, 50.0, 60.0, 90.0, 120.0) * 4]
    loaded, bare = fit(lives), fit([replace(one, known=0.49 * one.hours) for one in lives])
    assert loaded is not None
    assert bare is not None
    assert (loaded.measure, bare.measure) == (LOADING, HOURS)


def test_lives_of_one_area_count_at_the_middle_of_their_last_use() -> None:
    """Oracle: the likeliest scale of those ends alone, with the shape of all; one life fewer and nothing is said."""
    lives = [ended(40.0 + 5 * n, 8.0, area_id=1) for n in range(ENOUGH_ALONE)]
    found = fit(lives)
    assert found is not None
    ((area, half, many),) = found.areas
    ages, shape = [36.0 + 5 * n for n in range(ENOUGH_ALONE)], found.shape[0]
    scale = (sum(age**shape for age in ages) / len(ages)) ** (1 / shape)
    assert (area, many) == (1, ENOUGH_ALONE)
    assert half == pytest.approx(scale * log(2) ** (1 / shape))
    assert abs(scale / weibull_mle(ages).scale - 1) < 0.05  # and near what they say with a shape of their own
    fewer = fit(lives[1:])
    assert fewer is not None
    assert fewer.areas == ()


def test_a_unit_that_met_hardly_any_dust_is_still_used() -> None:
    """No dust at all would keep a filter for ever: an hour loads a fiftieth of the average at least."""
    lives = [ended(hours, loading=60.0, known=hours) for hours in (30.0, 50.0, 60.0, 90.0, 120.0) * 4]
    found = fit(lives)
    assert found is not None
    part = Open(1, 7, 10.0, 10.0, 0.0, 2.0, 1)
    assert forecast_of(found, part, DUST, 9, AT).per_hour == LEAST_PER_HOUR == 0.02
    assert forecast_of(found, replace(part, dust=None), DUST, 9, AT).per_hour == 1.0


def test_the_picture_counts_in_the_measure_of_its_curve() -> None:
    """A unit in twice the average dust: what is left is told in loading, as the curve's foot is."""
    lives = [ended(hours, loading=60.0, known=hours) for hours in (30.0, 50.0, 60.0, 90.0, 120.0) * 4]
    found = fit(lives)
    assert found is not None
    forecast = forecast_of(found, Open(1, 7, 10.0, 20.0, 2.0, 2.0, 2), DUST, 9, AT)
    assert forecast.per_hour == 2.0
    unit = Unit(id=1, label="U1", model=KEY[0], worn_hours=10.0, added_at=AT)
    reader = SimpleNamespace(
        get=lambda kind, id_: unit, forecasts=lambda ids: {1: {KEY[1]: forecast}}, fits=lambda keys: {KEY: found}
    )
    picture = life_picture(cast("Reader", reader), house(), 1, KEY[1])
    assert picture is not None
    left = [forecast.left[PROBABILITIES.index(chance)] for chance in (EARLY, MIDDLE, LATE)]
    told = [one - picture.age for one in (picture.early, picture.middle, picture.late)]
    assert (picture.age, told) == (20.0, pytest.approx(left))


def test_no_faulty_pack_is_asked_to_tell() -> None:
    """Of the packs known best that are here, the best that is sound, and not the one in question."""
    packs = [
        Battery(id=id_, label=f"B{id_}", model="WL1-PACK", place=BatteryPlace.SHELF, note=note)
        for id_, note in ((5, ""), (4, ""), (3, f"{FAULT}: swollen"))
    ]
    records = cast("Records", SimpleNamespace(find=lambda kind, **_: packs))
    pair = cast("Pair", SimpleNamespace(fit=SimpleNamespace(known=(3, 4, 5))))
    assert _telling(records, pair, None) == "B4"
    assert _telling(records, pair, packs[1]) == "B5"
    packs[:] = packs[2:]
    assert _telling(records, pair, None) == ""
