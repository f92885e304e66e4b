"""Where a unit's airflow is heading: the worked figures, the fleet's help, and what an 80 % interval really covers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.compute.decline import Decline, Fleet, band, decline, fleet_of
from cribdesk.compute.trend import crossing

HOURS = (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
FLOWS = (205.0, 201.0, 196.0, 190.0, 187.0, 181.0)
FLEET = Fleet(-0.24, 0.06, 1.5)


def test_the_worked_row() -> None:
    """Worked example 2c (computed): robust crossing of 170 at 147.0833 h, Fieller 141.7624 to 153.2886."""
    found = decline(HOURS, FLOWS, 100.0, 170.0)
    assert found is not None
    assert (found.slope, found.intercept) == pytest.approx((-0.24, 205.3))
    assert (found.left, found.early, found.late) == pytest.approx((47.0833, 41.7624, 53.2886), abs=5e-5)
    assert not found.far


def test_a_wild_reading_does_not_turn_the_line() -> None:
    """Worked example 2c: the fourth reading 120 leaves the crossing at 147.0833, and the interval holds it."""
    found = decline(HOURS, (*FLOWS[:3], 120.0, *FLOWS[4:]), 100.0, 170.0)
    assert found is not None
    assert found.left == pytest.approx(47.0833, abs=5e-5)
    assert found.wild == 1
    assert found.early is not None
    assert found.late is not None
    assert 30 < found.early < 47.0833 < found.late < 60


def test_a_flat_row_has_no_decline() -> None:
    """Worked example 2c: 190, 201, 185, 199, 188, 195 has slope 0: no date, never a number."""
    found = decline(HOURS, (190, 201, 185, 199, 188, 195), 100.0, 170.0)
    assert found is not None
    assert (found.left, found.early, found.late) == (None, None, None)


def test_what_was_reached_already_is_now() -> None:
    """Past the crossing nothing is left, and no time is below zero."""
    found = decline(HOURS, FLOWS, 200.0, 170.0)
    assert found is not None
    assert (found.left, found.early, found.late) == (0.0, 0.0, 0.0)


def test_far_beyond_what_was_seen_is_marked() -> None:
    """More than twice the observed span beyond the readings."""
    found = decline((0, 5, 10, 15), (205, 203.9, 202.7, 201.4), 15.0, 170.0)
    assert found is not None
    assert found.far


def test_few_readings_lean_on_the_fleet() -> None:
    """One reading takes the fleet's slope through itself; two draw it a little; none, or no fleet, say nothing."""
    one = decline((50.0,), (194.0,), 60.0, 170.0, FLEET)
    assert one is not None
    assert one.leans
    assert one.left == pytest.approx(24 / 0.24 - 10)
    assert one.early is not None
    assert one.late is not None
    assert one.early < one.left < one.late
    two = decline((0.0, 50.0), (205.0, 190.0), 50.0, 170.0, FLEET)
    assert two is not None
    assert -0.30 < two.slope < -0.24
    assert decline((), (), 60.0, 170.0, FLEET) is None
    assert decline((50.0,), (194.0,), 60.0, 170.0) is None
    same = decline((50.0, 50.0), (194.0, 192.0), 60.0, 170.0, FLEET)
    assert same is not None
    assert same.slope == FLEET.slope, "equal hours tell no slope"


def test_a_fleet_needs_five_units_with_three_readings() -> None:
    """Four units, or units read twice, are no fleet; five of the same slope have its mean."""
    rows = [((0.0, 40.0, 80.0), (205.0 + n, 195.5 + n, 186.0 + n + n / 10)) for n in range(5)]
    assert fleet_of(rows[:4]) is None
    assert fleet_of([(x[:2], y[:2]) for x, y in rows]) is None
    found = fleet_of(rows)
    assert found is not None
    assert found.slope == pytest.approx(-0.2375 + 0.2 / 80, abs=1e-9)


def test_the_band_meets_the_level_at_fiellers_bounds() -> None:
    """Oracle: `crossing`, itself held to root finding; at its low bound the band's lower line is 170, and so on."""
    bounds = crossing(HOURS, FLOWS, 170)
    assert bounds.low is not None
    assert bounds.high is not None
    (_, low, _), (_, _, high) = band(HOURS, FLOWS, (bounds.low, bounds.high))
    assert (low, high) == pytest.approx((170.0, 170.0), abs=1e-7)


WORN = st.integers(0, 5000).map(lambda tenths: tenths / 10)
FLOW = st.integers(10, 4000).map(lambda tenths: tenths / 10)


@given(st.lists(st.tuples(WORN, FLOW), max_size=8), st.floats(0, 900), st.booleans())
def test_no_readings_crash_it_and_time_is_never_below_zero(
    readings: list[tuple[float, float]], now: float, helped: bool
) -> None:
    """Equal hours, one reading, none, a clock set back: a sound answer or none."""
    found = decline([x for x, _ in readings], [y for _, y in readings], now, 170.0, FLEET if helped else None)
    if found is None:
        return
    known = [one for one in (found.left, found.early, found.late) if one is not None]
    assert all(one >= 0 and not math.isnan(one) for one in known)
    if found.left is not None:
        assert found.early is None or found.early <= found.left
        assert found.late is None or found.late >= found.left


def coverage(units: int, readings: int, fleet: Fleet | None) -> float:
    """Share of 80 % intervals that hold the true hours to 170 L/min, among those that have bounds."""
    generator = np.random.default_rng(11)
    held = bounded = 0
    for _ in range(units):
        hours = np.sort(generator.uniform(0, 100, readings))
        slope = min(-0.02, generator.normal(-0.24, 0.06))
        flows = 205 + slope * hours + generator.normal(0, 1.5, readings)
        found: Decline | None = decline(list(hours), list(flows), 0.0, 170.0, fleet)
        if found is not None and found.early is not None and found.late is not None:
            bounded += 1
            held += found.early <= (170 - 205) / slope <= found.late
    assert bounded > 0.9 * units
    return held / bounded


@pytest.mark.parametrize("readings", [6, 10])
def test_the_interval_covers_what_it_says(readings: int) -> None:
    """Own simulation, 400 units: an 80 % interval covers 74 to 86 %, three binomial deviations."""
    assert 0.74 <= coverage(400, readings, None) <= 0.86


@pytest.mark.long
@pytest.mark.parametrize("readings", [1, 2, 3])
def test_leaning_covers_at_least_what_it_says(readings: int) -> None:
    """With few readings slope and last reading are bounded together: 80 % or more, never under 74."""
    assert coverage(400, readings, FLEET) >= 0.74
