"""The Weibull law and its maximum likelihood against published sets of lives and independent solvers."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq, minimize
from scipy.stats import CensoredData, weibull_min

from cribdesk.compute.life import Weibull, weibull_mle
from cribdesk.compute.weibull import scale_of
from tests.compute import life_data

AGES = st.floats(0.5, 5_000)


def test_handbook_lives() -> None:
    """NIST/SEMATECH e-Handbook 8.4.1.3, published; lifelines and reliability give the same."""
    found = weibull_mle(life_data.TEN_OF_TWENTY, life_data.TEN_RUNNING)
    assert found.shape == pytest.approx(1.7208, rel=1e-4)
    assert found.scale == pytest.approx(606.5280, rel=1e-5)
    assert found.log_likelihood == pytest.approx(-75.135, abs=5e-4)
    assert found.mean() == pytest.approx(540.737, rel=1e-4)
    assert found.deviation() == pytest.approx(323.806, rel=1e-4)


def test_the_scale_for_a_known_shape() -> None:
    """scipy's own fit with the shape held, on the handbook's lives (8.4.1.3); its own likeliest pair among them."""
    data = CensoredData(uncensored=life_data.TEN_OF_TWENTY, right=life_data.TEN_RUNNING)
    for shape in (1.0, 1.7208, 3.0):
        _, _, scale = weibull_min.fit(data, fc=shape, floc=0)
        assert scale_of(life_data.TEN_OF_TWENTY, life_data.TEN_RUNNING, shape) == pytest.approx(scale, rel=1e-4)
    assert scale_of(life_data.TEN_OF_TWENTY, life_data.TEN_RUNNING, 1.7208) == pytest.approx(606.528, rel=1e-4)
    with pytest.raises(ValueError, match="Without a change"):
        scale_of([], [5.0], 2.0)


def test_shock_absorbers() -> None:
    """Meeker and Escobar 1998, p. 630, published (lifelines' literals): mu 10.2298631, sigma 0.3164092."""
    found = weibull_mle(life_data.ABSORBERS_FAILED, life_data.ABSORBERS_RUNNING)
    assert math.log(found.scale) == pytest.approx(10.2298631, abs=1e-6)
    assert 1 / found.shape == pytest.approx(0.3164092, abs=1e-6)
    assert found.log_likelihood == pytest.approx(-123.9954, abs=5e-5)


def test_slip_in_a_copy_of_the_absorbers() -> None:
    """Trap: a copy with 18420 for 18450 gives 27717.36; so the right data really were used above."""
    wrong = [18420.0 if age == 18450 else age for age in life_data.ABSORBERS_RUNNING]
    assert weibull_mle(life_data.ABSORBERS_FAILED, wrong).scale == pytest.approx(27717.36, abs=0.01)


def test_turbine_cracks() -> None:
    """Nelson 1982, interval and right censored: counts published, estimates from memory, recomputed."""
    found = weibull_mle((), life_data.UNCRACKED, life_data.CRACKED_BETWEEN)
    assert found.shape == pytest.approx(1.4854, abs=5e-5)
    assert found.scale == pytest.approx(71.6904, abs=5e-5)
    assert found.log_likelihood == pytest.approx(-309.668, abs=5e-4)


def test_known_law() -> None:
    """Worked example 1d, shape 2.2 and scale 45 (computed); means by scipy."""
    law = Weibull(2.2, 45.0)
    assert [law.chance(age, 8) for age in (0, 30, 60)] == pytest.approx([0.022125, 0.243877, 0.449505], abs=5e-7)
    assert law.remaining(30, 0.5) == pytest.approx(17.05006, abs=5e-6)
    assert law.mean() == pytest.approx(39.85311, abs=5e-6)
    assert law.deviation() == pytest.approx(weibull_min(2.2, scale=45).std(), rel=1e-12)
    for age, left in ((0, 39.85311), (30, 19.99289)):
        area = quad(lambda more, age=age: 1 - law.chance(age, more), 0, 400)[0]
        assert area == pytest.approx(left, abs=5e-6)
    hours = np.array([0.0, 1.0, 30.0, 300.0])
    assert law.survival(hours) == pytest.approx(weibull_min(2.2, scale=45).sf(hours), rel=1e-12)
    assert [law.survival(hour) for hour in hours] == pytest.approx(law.survival(hours), rel=1e-12)


def score_root(changed: Sequence[float], running: Sequence[float]) -> tuple[float, float]:
    """Shape and scale by the one-dimensional equation of methods 1, an independent route."""
    times = np.log(np.array([*changed, *running]))
    times, top = times - times.max(), times.max()
    ended = times[: len(changed)]

    def score(b: float) -> float:
        power = np.exp(b * times)
        return float(power @ times / power.sum() - 1 / b - ended.mean())

    shape = brentq(score, 1e-6, 1e7, xtol=1e-14, rtol=1e-14, maxiter=500)
    scale = (np.exp(shape * times).sum() / len(changed)) ** (1 / shape) * math.exp(top)
    return shape, float(scale)


@given(st.lists(AGES, min_size=2, max_size=12), st.lists(AGES, max_size=12))
def test_root_of_the_score(changed: list[float], running: list[float]) -> None:
    """Any exact and running ages: the same answer as a bracketed root of the score equation."""
    assume(max(changed) > 1.01 * min(changed))
    found = weibull_mle(changed, running)
    assert (found.shape, found.scale) == pytest.approx(score_root(changed, running), rel=1e-7)


def test_scipy_agrees() -> None:
    """Oracle: scipy's censored fit with floc=0 (trap: without it three parameters are fitted); good to 1e-4."""
    data = CensoredData(
        uncensored=life_data.TEN_OF_TWENTY, right=life_data.TEN_RUNNING, interval=[(100, 300), (380, 420)]
    )
    shape, _, scale = weibull_min.fit(data, floc=0)
    found = weibull_mle(life_data.TEN_OF_TWENTY, life_data.TEN_RUNNING, [(100, 300), (380, 420)])
    assert (found.shape, found.scale) == pytest.approx((shape, scale), rel=1e-4)


@settings(max_examples=25)
@given(
    st.lists(AGES, max_size=4),
    st.lists(AGES, max_size=5),
    st.lists(st.tuples(st.floats(0, 300), st.floats(1, 300)), min_size=1, max_size=8),
)
def test_no_better_law_beside_it(
    changed: list[float], running: list[float], bounds: list[tuple[float, float]]
) -> None:
    """With intervals too, a direct search from the answer finds nothing likelier, and moves nowhere."""
    between = [(low, low + width) for low, width in bounds]
    try:
        found = weibull_mle(changed, running, between)
    except ValueError:
        assume(False)
    assume(found.shape < 50)

    def loss(point: Sequence[float]) -> float:
        law = weibull_min(math.exp(point[0]), scale=math.exp(point[1]))
        inside = sum(math.log(max(law.sf(a) - law.sf(b), 1e-300)) for a, b in between)
        return -float(np.sum(law.logpdf(changed)) + np.sum(law.logsf(running))) - inside

    at = [math.log(found.shape), math.log(found.scale)]
    assert -loss(at) == pytest.approx(found.log_likelihood, rel=1e-6, abs=1e-6)
    near = minimize(loss, at, method="Nelder-Mead", options={"maxiter": 60})
    assert -near.fun <= found.log_likelihood + 1e-6 * (1 + abs(found.log_likelihood))


@given(st.lists(AGES, min_size=2, max_size=9), st.lists(AGES, max_size=9), st.floats(1e-3, 1e3))
def test_another_unit_of_hours(changed: list[float], running: list[float], factor: float) -> None:
    """Ages in minutes instead of hours scale the scale and leave the shape."""
    assume(max(changed) > 1.01 * min(changed))
    one = weibull_mle(changed, running)
    other = weibull_mle([age * factor for age in changed], [age * factor for age in running])
    assert (other.shape, other.scale) == pytest.approx((one.shape, one.scale * factor), rel=1e-7)


def test_what_running_units_and_repeats_say() -> None:
    """Traps: units still running are never dropped, same hours count twice, an age of zero says nothing."""
    alone, with_running = weibull_mle([20, 30, 40]), weibull_mle([20, 30, 40], [60, 60])
    assert with_running.scale > alone.scale
    assert weibull_mle([20, 30, 30, 40]).shape > alone.shape
    assert weibull_mle([20, 30, 40], [0, 60, 60, 0]) == with_running
    left = weibull_mle([20, 30], (), [(0, 10), (25, 50)])
    assert left.log_likelihood > weibull_mle([20, 30], (), [(1e-9, 10), (25, 50)]).log_likelihood - 1e-6


def test_bias_of_small_samples() -> None:
    """Trap: maximum likelihood overstates the shape of few lives; own simulation in methods: 1.44 at n = 5."""
    generator = np.random.default_rng(5)
    shapes = [weibull_mle(generator.weibull(2.0, 5)).shape / 2.0 for _ in range(600)]
    assert np.mean(shapes) == pytest.approx(1.44, abs=0.12)


@pytest.mark.parametrize(
    ("changed", "running", "between", "reason"),
    [
        ((), (), (), "No change"),
        ((), (50, 60), (), "No change"),
        ((0, 20), (), (), "above zero"),
        ((-1, 20), (), (), "above zero"),
        ((10, 20), (-1,), (), "negative"),
        ((10, math.nan), (), (), "finite"),
        ((10, math.inf), (), (), "finite"),
        ((10, 20), (math.inf,), (), "finite"),
        ((10, "x"), (), (), "."),
        ((10, None), (), (), "."),
        ((25,), (), (), "spread"),
        ((25,), (10,), (), "spread"),  # trap: one change and nothing later
        ((25, 25, 25), (), (), "spread"),
        ((25, 25 * (1 + 1e-15)), (), (), "spread"),
        ((), (20,), ((24, 32),), "spread"),
        ((), (), ((0, 10), (0, 20)), "spread"),
        ((25,), (25,), ((20, 30),), "spread"),
        ((), (20,), ((0, 10),), "too early"),
        ((10, 20), (), ((5, 5),), "between"),
        ((10, 20), (), ((9, 5),), "between"),
        ((10, 20), (), ((-1, 5),), "negative"),
        ((10, 20), (), ((1, 2, 3),), "pairs"),
    ],
)
def test_lives_that_are_refused(
    changed: Sequence[float], running: Sequence[float], between: Sequence[tuple[float, float]], reason: str
) -> None:
    """No answer exists, or the ages are unreal: refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        weibull_mle(changed, running, between)


@pytest.mark.parametrize(
    "lives",
    [((25,), (26,), ()), ((1e-300, 1e300), (), ()), ((10, 10.0001), (), ()), ((5,), (1e9,), ()),
     ((), (5, 10), ((0, 10), (8, 9))), ((3,), (), ((5, 8),))],
)  # fmt: skip
def test_thin_data_that_have_an_answer(
    lives: tuple[Sequence[float], Sequence[float], Sequence[tuple[float, float]]],
) -> None:
    """As long as a maximum exists it is found, however far from ordinary."""
    found = weibull_mle(*lives)
    assert math.isfinite(found.log_likelihood)
    assert found.shape > 0 < found.scale


@given(st.floats(0.2, 20), st.floats(1e-2, 1e4), st.floats(0, 1e4), st.floats(1e-3, 1 - 1e-3))
def test_remaining_undoes_chance(shape: float, scale: float, age: float, probability: float) -> None:
    """The hours to a chance, asked for their chance, give it back, at any age."""
    law = Weibull(shape, scale)
    assert law.chance(age, law.remaining(age, probability)) == pytest.approx(probability, rel=1e-6)


@given(st.floats(0.2, 20), st.floats(0, 1e4), st.floats(0, 1e4), st.floats(0, 1e4))
def test_more_hours_more_chance(shape: float, age: float, a: float, b: float) -> None:
    """A longer look ahead never has the smaller chance; the survival never rises."""
    law = Weibull(shape, 100.0)
    less, more = sorted((a, b))
    assert law.chance(age, less) <= law.chance(age, more)
    assert law.survival(less) >= law.survival(more)
    assert 0 <= law.chance(age, a) <= 1


def test_law_that_is_refused() -> None:
    """Shapes, ages and probabilities out of range are refused."""
    law = Weibull(2.0, 40.0)
    for wrong in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="must"):
            Weibull(wrong, 40.0)
        with pytest.raises(ValueError, match="must"):
            Weibull(2.0, wrong)
    for call in (
        lambda: law.survival(-1), lambda: law.survival(math.inf), lambda: law.chance(-1, 8),
        lambda: law.chance(1, -8), lambda: law.chance(math.nan, 8), lambda: law.remaining(1, 0),
        lambda: law.remaining(1, 1), lambda: law.remaining(-1, 0.5), lambda: law.survival(np.array([1.0, -1.0])),
    ):  # fmt: skip
        with pytest.raises(ValueError, match="must"):
            call()
