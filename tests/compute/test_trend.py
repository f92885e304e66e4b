"""Lines, crossings and control charts against published examples, root finding and simulation."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.stats import t, theilslopes

from cribdesk.compute.normal import mean_beyond
from cribdesk.compute.trend import (
    crossing,
    cusum,
    ewma,
    learned_level,
    robust_line,
    run_length,
    shrunk_slope,
)

HOURS = (0, 20, 40, 60, 80, 100)
FLOWS = (205, 201, 196, 190, 187, 181)
READINGS = st.lists(st.tuples(st.integers(0, 500), st.integers(100, 300)), min_size=3, max_size=15)

GROUPS = (
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
    328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
)  # fmt: skip
HIGH = (0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035)
LOW = (0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, 0, 0, 0, 0, 0, 0, 0, 0, 0)

AVERAGED = (
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6,
    52.1,
)  # fmt: skip
AVERAGES = (
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92,
    50.73, 51.23, 51.94, 51.99,
)  # fmt: skip


def test_line_through_an_outlier() -> None:
    """Helsel and Hirsch (from memory): y 1 to 7 with a 16 among them has slope 1 and intercept 0."""
    line = robust_line(range(1, 8), (1, 2, 3, 4, 5, 16, 7))
    assert (line.slope, line.intercept) == (1.0, 0.0)


@given(READINGS)
def test_scipy_has_the_same_line(readings: list[tuple[int, int]]) -> None:
    """Oracle: scipy.stats.theilslopes with the joint intercept; pairs of equal x are skipped."""
    x, y = zip(*readings, strict=True)
    assume(len(set(x)) > 1)
    with np.errstate(invalid="ignore"):  # its own interval of the slope, not asked for here
        oracle = theilslopes(y, x, method="joint")
    line = robust_line(x, y)
    assert (line.slope, line.intercept) == pytest.approx((oracle.slope, oracle.intercept), abs=1e-9)


def test_outlier_does_not_move_the_crossing() -> None:
    """Worked example 2c (computed). Trap: separate intercept 139.6, least squares 84.3 with one reading of 120."""
    spoiled = [*FLOWS]
    spoiled[3] = 120
    for flows in (FLOWS, spoiled):
        line = robust_line(HOURS, flows)
        assert line.slope == pytest.approx(-0.24, abs=1e-12)
        assert line.reaches(170) == pytest.approx(147.0833, abs=5e-5)
    assert robust_line(HOURS, FLOWS).intercept == pytest.approx(205.3)
    separate = theilslopes(spoiled, HOURS, method="separate")
    assert (170 - separate.intercept) / separate.slope == pytest.approx(139.6, abs=0.05)
    assert crossing(HOURS, spoiled, 170).estimate == pytest.approx(84.3, abs=0.05)


@given(READINGS, st.floats(-5, 5), st.floats(-100, 100), st.floats(0.1, 10))
def test_line_follows_what_is_done_to_the_readings(
    readings: list[tuple[int, int]], tilt: float, lift: float, factor: float
) -> None:
    """Tilting, lifting and stretching all readings does the same to the line; their order means nothing."""
    x, y = (np.array(part, dtype=float) for part in zip(*readings, strict=True))
    assume(np.ptp(x) > 0)
    line = robust_line(x, y)
    other = robust_line(x[::-1], (factor * y + tilt * x + lift)[::-1])
    assert other.slope == pytest.approx(factor * line.slope + tilt, abs=1e-8)
    assert other.intercept == pytest.approx(factor * line.intercept + lift, abs=1e-5)


def test_calibration_line() -> None:
    """An analytical chemistry textbook (published: x0 6.207): Fieller 5.5906 to 6.8251 (computed)."""
    x, y = (0, 2, 4, 6, 8, 10, 12), (2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7)
    found = crossing(x, y, 13.5, confidence=0.95, future_readings=1)
    assert found.estimate == pytest.approx(6.207, abs=5e-4)
    assert (found.low, found.high) == pytest.approx((5.5906, 6.8251), abs=5e-5)
    assert not found.far


@pytest.mark.parametrize(
    ("confidence", "again", "low", "high"),
    [(0.95, None, 137.7169, 158.7307), (0.95, 1, 134.7143, 161.7333), (0.8, None, 141.7624, 153.2886)],
)
def test_flow_crossing(confidence: float, again: int | None, low: float, high: float) -> None:
    """Worked example 2c (computed): Fieller bounds of reaching 170 L/min, for the line and for a reading."""
    found = crossing(HOURS, FLOWS, 170, confidence, again)
    assert found.estimate == pytest.approx(147.2222, abs=5e-5)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize("again", [None, 1, 3])
def test_bounds_are_where_the_band_meets_the_level(again: int | None) -> None:
    """Oracle: the confidence band of the least-squares line, its crossings found by root finding."""
    x, y = np.array(HOURS, dtype=float), np.array(FLOWS, dtype=float)
    slope, intercept = np.polyfit(x, y, 1)
    left = y - intercept - slope * x
    deviation = math.sqrt(float(left @ left) / 4)

    def band(at: float, sign: int) -> float:
        part = (0 if again is None else 1 / again) + 1 / 6 + (at - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum()
        return float(intercept + slope * at + sign * t.ppf(0.9, 4) * deviation * math.sqrt(part) - 170)

    found = crossing(x, y, 170, 0.8, again)
    assert found.low == pytest.approx(brentq(band, 50, 300, args=(-1,)), abs=1e-7)
    assert found.high == pytest.approx(brentq(band, 50, 300, args=(1,)), abs=1e-7)


def test_no_decline_has_no_interval() -> None:
    """Worked example 2c (computed): a flat noisy row has slope 0 and no bounds; never a number."""
    flat = (190, 201, 185, 199, 188, 195)
    assert (crossing(HOURS, flat, 170).low, crossing(HOURS, flat, 170).high) == (None, None)
    assert crossing(HOURS, flat, 170).estimate is None
    slight = crossing(HOURS, (190, 201, 185, 199, 188, 194), 170)
    assert slight.estimate is not None
    assert (slight.low, slight.high) == (None, None)
    assert crossing((0, 1, 2), (190.1, 190.1, 190.1), 170).estimate is None
    assert robust_line((0, 1, 2), (190.1, 190.1, 190.1)).reaches(170) is None


def test_far_crossings_are_marked() -> None:
    """Trap: an extrapolation beyond twice the observed span is marked, behind the readings as well as ahead."""
    assert not crossing(HOURS, FLOWS, 170).far
    assert crossing(HOURS, FLOWS, 120).far
    assert crossing(HOURS, FLOWS, 280).far
    assert not crossing(HOURS, FLOWS, 190).far


@given(READINGS, st.floats(50, 400), st.floats(0.5, 0.99), st.floats(0.01, 60))
def test_bounds_enclose_and_scale(
    readings: list[tuple[int, int]], level: float, confidence: float, factor: float
) -> None:
    """Bounds enclose the estimate, widen with confidence and with a reading to come, and follow the unit of hours."""
    x, y = zip(*readings, strict=True)
    assume(len(set(x)) > 1)
    found = crossing(x, y, level, confidence)
    if found.low is None or found.high is None:
        assert found.low is found.high
        return
    assert found.estimate is not None
    slack = 1e-6 * (1 + abs(found.estimate))
    assert found.low - slack <= found.estimate <= found.high + slack
    scaled = crossing([value * factor for value in x], y, level, confidence)
    if scaled.low is not None and scaled.high is not None and found.high - found.low < 1e4:
        assert (scaled.low, scaled.high) == pytest.approx((found.low * factor, found.high * factor), rel=1e-4, abs=1e-4)
    narrower = crossing(x, y, level, confidence - 0.3)
    assert narrower.low is not None
    assert narrower.low >= found.low - slack
    wider = crossing(x, y, level, confidence, 1)
    assert wider.low is not None
    assert wider.low <= found.low + slack


@pytest.mark.parametrize(
    ("x", "y"),
    [((), ()), ((1,), (1,)), ((1, 2), (1, 2, 3)), ((1, 1, 1), (1, 2, 3)), ((1, 2, math.nan), (1, 2, 3)),
     ((1, 2, 3), (1, 2, math.inf)), ((1, 2, "x"), (1, 2, 3))],
)  # fmt: skip
def test_rows_that_are_refused(x: tuple[float, ...], y: tuple[float, ...]) -> None:
    """Too few, unequal, unreal readings, or all at the same hours."""
    with pytest.raises(ValueError, match=r"."):
        robust_line(x, y)
    with pytest.raises(ValueError, match=r"."):
        crossing(x, y, 170)


def test_crossings_that_are_refused() -> None:
    """Two readings have no interval; a level, a confidence or a number of readings must be real."""
    with pytest.raises(ValueError, match="3 readings"):
        crossing((0, 10), (200, 190), 170)
    assert robust_line((0, 10), (200, 190)).reaches(170) == pytest.approx(30)
    for extra in ((math.nan,), (170, 0.0), (170, 1.0), (170, 80), (170, 0.8, 0), (170, 0.8, 1.5)):
        with pytest.raises(ValueError, match="must"):
            crossing(HOURS, FLOWS, *extra)


def test_few_readings_lean_on_the_fleet() -> None:
    """Formula of methods 2 (c): equal errors meet half way, none of its own takes the fleet's, sure keeps its own."""
    assert shrunk_slope(-0.2, 0.1, -0.4, 0.1) == pytest.approx(-0.3)
    assert shrunk_slope(0.0, math.inf, -0.4, 0.1) == -0.4
    assert shrunk_slope(-0.2, 0.0, -0.4, 0.1) == -0.2
    assert shrunk_slope(-0.2, 0.2, -0.4, 0.1) == pytest.approx((-0.2 / 0.04 - 0.4 / 0.01) / (1 / 0.04 + 1 / 0.01))
    for wrong in ((math.nan, 0.1, 0, 1), (0, -0.1, 0, 1), (0, 0.1, math.inf, 1), (0, 0.1, 0, 0)):
        with pytest.raises(ValueError, match="must"):
            shrunk_slope(*wrong)


def test_cusum_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.3 (published data, k, h). Trap: k and h are in the data's unit."""
    chart = cusum(GROUPS, 325, 0.3175, 4.1959)
    assert chart.high == pytest.approx(HIGH, abs=1e-9)
    assert chart.low == pytest.approx(LOW, abs=1e-9)
    assert chart.first_signal == 14
    assert chart.began() == 13
    assert sum(GROUPS) - 20 * 325 == pytest.approx(19.075, abs=1e-9)
    assert cusum(GROUPS, 325, 0.5, 4).first_signal != cusum(GROUPS, 325, 0.5 * 0.635, 4 * 0.635).first_signal


def test_cusum_mirrored() -> None:
    """The same data mirrored put the same sums on the low side."""
    chart = cusum([650 - group for group in GROUPS], 325, 0.3175, 4.1959)
    assert chart.low == pytest.approx(HIGH, abs=1e-9)
    assert chart.high == pytest.approx(LOW, abs=1e-9)
    assert (chart.first_signal, chart.began()) == (14, 13)


def test_cusum_signals_over_h_only() -> None:
    """A sum that just reaches h is no signal; without one there is no beginning."""
    chart = cusum((1.5, 1.5), 0, 0.5, 2)
    assert (chart.high, chart.first_signal, chart.began()) == ((1.0, 2.0), None, None)
    assert cusum((1.5, 1.5, 1.5), 0, 0.5, 2).first_signal == 3
    assert cusum((1.5, 1.5, 1.5), 0, 0.5, 2).began() == 1


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=30), st.floats(0.01, 100), st.floats(-50, 50))
def test_cusum_in_another_unit(values: list[float], factor: float, lift: float) -> None:
    """The sums follow the unit of the readings and forget where its zero lies."""
    one = cusum(values, 0.0, 0.5, 4.0)
    other = cusum([factor * value + lift for value in values], lift, factor * 0.5, factor * 4.0)
    assert other.high == pytest.approx([factor * value for value in one.high], abs=1e-6)
    assert other.low == pytest.approx([factor * value for value in one.low], abs=1e-6)
    assert min(*one.high, *one.low) >= 0


RUN_LENGTHS = {
    0: 168, 0.25: 74.2, 0.5: 26.6, 0.75: 13.3, 1: 8.38, 1.5: 4.75, 2: 3.34, 2.5: 2.62, 3: 2.19, 4: 1.71,
}  # fmt: skip


def exact_run_length(shift: float, k: float, h: float, points: int = 80) -> float:
    """One side's mean run length by the integral equation (Page 1954), on Gauss-Legendre points."""
    from scipy.stats import norm

    nodes, weights = np.polynomial.legendre.leggauss(points)
    nodes, weights = (nodes + 1) * h / 2, weights * h / 2
    kernel = norm.pdf(nodes[None, :] + k - shift - nodes[:, None]) * weights
    at_zero = norm.cdf(k - shift - nodes)
    matrix = np.eye(points + 1)
    matrix[1:, 1:] -= kernel
    matrix[1:, 0] -= at_zero
    matrix[0, 1:] -= norm.pdf(nodes + k - shift) * weights
    matrix[0, 0] -= norm.cdf(k - shift)
    return float(np.linalg.solve(matrix, np.ones(points + 1))[0])


@pytest.mark.parametrize(("shift", "published"), RUN_LENGTHS.items())
def test_run_lengths(shift: float, published: float) -> None:
    """Two-sided k 0.5, h 4 (published table, from memory): the integral equation agrees, the closed form nearly."""
    sides = exact_run_length(shift, 0.5, 4), exact_run_length(-shift, 0.5, 4)
    assert 1 / (1 / sides[0] + 1 / sides[1]) == pytest.approx(published, rel=4e-3)
    assert run_length(0.5, 4, shift) == pytest.approx(published, rel=0.02 if shift <= 1.5 else 0.17)


def test_run_length_of_one_side() -> None:
    """In control, h 4: 335.37; h 5: 931 exact, 938 by the closed form (methods 3, computed)."""
    assert exact_run_length(0, 0.5, 4) == pytest.approx(335.37, abs=0.01)
    assert run_length(0.5, 4, both_sides=False) == pytest.approx(335.37, rel=0.01)
    assert run_length(0.5, 5, both_sides=False) == pytest.approx(938, abs=0.5)
    assert run_length(0.5, 4, 0.5, both_sides=False) == pytest.approx(5.166**2)
    assert run_length(0.5, 400, -1, both_sides=False) == math.inf


def simulated(shift: float, rows: int) -> float:
    """Mean readings to the first signal of our own chart, by simulation."""
    generator = np.random.default_rng(7)
    return float(np.mean([cusum(generator.normal(shift, 1, 120), 0, 0.5, 4).first_signal or 120 for _ in range(rows)]))


def test_run_length_simulated() -> None:
    """Our chart on random readings that moved by one sigma signals after 8.38 on average (published table)."""
    assert simulated(1.0, 1_000) == pytest.approx(8.38, abs=4 * 5.0 / math.sqrt(1_000))


@pytest.mark.long
def test_run_length_simulated_in_full() -> None:
    """The same with 20 000 rows."""
    assert simulated(1.0, 20_000) == pytest.approx(8.38, abs=4 * 5.0 / math.sqrt(20_000))


def test_ewma_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.4 (published). Trap: it draws asymptotic limits, ours are exact and narrower."""
    chart = ewma(AVERAGED, 50, 2.0539, 0.3, 3)
    assert chart.values == pytest.approx(AVERAGES, abs=0.006)
    assert (chart.upper[-1], chart.lower[-1]) == pytest.approx((52.5884, 47.4115), abs=2e-4)
    assert chart.first_signal is None
    assert chart.upper[0] == pytest.approx(50 + 3 * 2.0539 * 0.3)
    assert all(a < b for a, b in zip(chart.upper[:5], chart.upper[1:6], strict=True))


def test_ewma_signals_early_with_exact_limits() -> None:
    """A first reading inside the asymptotic limits but outside the exact ones signals; weight 1 has no memory."""
    chart = ewma((57.0, 50.0), 50, 2.0539, 0.3, 3)
    assert chart.values[0] < 52.5884
    assert chart.first_signal == 1
    plain = ewma((1.0, -4.0, 2.0), 0, 1, 1, 3)
    assert plain.values == (1.0, -4.0, 2.0)
    assert plain.first_signal == 2
    assert plain.lower == pytest.approx((-3, -3, -3))


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=20), st.floats(0.01, 1))
def test_ewma_stays_within_what_it_saw(values: list[float], weight: float) -> None:
    """An average never leaves the range of target and readings; limits lie evenly about the target."""
    chart = ewma(values, 0, 1, weight, 3)
    assert min(0, *values) - 1e-9 <= min(chart.values) <= max(chart.values) <= max(0, *values) + 1e-9
    assert [-value for value in chart.lower] == pytest.approx(list(chart.upper))


def test_charts_that_are_refused() -> None:
    """No readings, unreal ones, limits of zero."""
    for wrong in (((), 0, 0.5, 4), ((math.nan,), 0, 0.5, 4), ((1,), math.inf, 0.5, 4), ((1,), 0, -0.5, 4),
                  ((1,), 0, 0.5, 0)):  # fmt: skip
        with pytest.raises(ValueError, match=r"must|none"):
            cusum(*wrong)
    for wrong in (((), 0, 1, 0.3, 3), ((math.nan,), 0, 1, 0.3, 3), ((1,), 0, 0, 0.3, 3), ((1,), 0, 1, 0, 3),
                  ((1,), 0, 1, 1.1, 3), ((1,), 0, 1, 0.3, 0)):  # fmt: skip
        with pytest.raises(ValueError, match=r"must|none"):
            ewma(*wrong)


def test_level_is_learned_first() -> None:
    """Fewer than five readings: still learning. Readings that happen to agree get the fleet's sigma."""
    assert learned_level((1.0, 1.1, 0.9, 1.0), 0.05) is None
    level = learned_level((1.0, 1.1, 0.9, 1.0, 1.0), 0.05)
    assert level is not None
    assert (level.mean, level.sigma) == pytest.approx((1.0, math.sqrt(0.005)))
    same = learned_level((1.0,) * 6, 0.05)
    assert same is not None
    assert same.sigma == 0.05


def test_mean_beyond() -> None:
    """Oracle: scipy's truncated normal; far out it is z + 1/z, where the plain quotient would be 0/0 (trap)."""
    from scipy.stats import truncnorm

    for z in (-8.0, -1.0, 0.0, 0.5, 3.0, 7.0):
        assert mean_beyond(z) == pytest.approx(float(truncnorm(z, np.inf).mean()), rel=1e-6, abs=1e-12)
        assert mean_beyond(z) > z
    for z in (50.0, 1e4):
        assert mean_beyond(z) == pytest.approx(z + 1 / z, rel=1e-6)
    assert mean_beyond(np.array([0.0, 1.0])) == pytest.approx([mean_beyond(0.0), mean_beyond(1.0)])


def crossing_coverage(units: int) -> float:
    """Share of 80 % intervals that hold the true hours to 170 L/min, of those that have bounds."""
    generator = np.random.default_rng(8)
    held = bounded = 0
    for _ in range(units):
        hours = np.sort(generator.uniform(0, 100, 8))
        slope = -generator.uniform(0.15, 0.35)
        flows = 205 + slope * hours + generator.normal(0, 1.5, 8)
        found = crossing(hours, flows, 170, 0.8)
        if found.low is not None and found.high is not None:
            bounded += 1
            held += found.low <= (170 - 205) / slope <= found.high
    assert bounded > 0.9 * units
    return held / bounded


def test_recovery_of_a_crossing() -> None:
    """Own simulation, 400 units: a calibrated 80 % interval covers 74 to 86 % (three binomial deviations)."""
    assert 0.74 <= crossing_coverage(400) <= 0.86


@pytest.mark.long
def test_recovery_of_a_crossing_in_full() -> None:
    """The same over 5 000 units, three binomial deviations."""
    assert crossing_coverage(5_000) == pytest.approx(0.8, abs=0.017)
