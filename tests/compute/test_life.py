"""What lives and a rule of thumb say together, against worked examples, integration and simulation."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad
from scipy.optimize import minimize

from cribdesk.compute.life import LifeModel, better_measure, fit_life, scale_for_mean, weibull_mle
from cribdesk.compute.posterior import Prior, log_posterior
from cribdesk.compute.weibull import Lives, lives
from tests.compute import life_data

Between = Sequence[tuple[float, float]]

# Worked example 1d (computed on a 321 x 321 grid): changed, running, between, then the row's seven numbers and 90 %.
ROWS: list[tuple[Sequence[float], Sequence[float], Between, Sequence[float]]] = [
    ((), (), (), (3.68888, 0.69315, 0.07217, 0.22917, 0.54926, 3.285, 20.906, 72.38)),
    ((25,), (), (), (3.52837, 0.74183, 0.07064, 0.32072, 0.68226, 2.209, 14.322, 51.84)),
    ((), (60, 70, 80), (), (4.58714, 0.75750, 0.01531, 0.05354, 0.18177, 14.169, 59.02, 141.6)),
    ((22, 31, 35, 44), (10, 28, 50), (), (3.80777, 0.83786, 0.02803, 0.24794, 0.65671, 3.247, 16.877, 46.46)),
    ((), (20,), ((24, 32), (40, 48)), (3.72767, 0.82473, 0.03810, 0.28030, 0.67873, 2.782, 15.481, 47.44)),
]
LIKELIEST = [(40, 2), (31.8616, 2.2003), (95.0222, 2.2542), (42.9721, 2.5129)]
PRIOR = Prior(math.log(40), 0.5, math.log(2), 0.35)


@pytest.mark.parametrize(("changed", "running", "between", "expected"), ROWS)
def test_worked_rows(
    changed: Sequence[float], running: Sequence[float], between: Between, expected: Sequence[float]
) -> None:
    """Worked example 1d (computed), for a unit that is not in the data."""
    model = fit_life(changed, running, between, typical_hours=40)
    told = [model.mean_log_scale, model.mean_log_shape, model.chance(0, 8), model.chance(30, 8), model.chance(30, 24)]
    assert told == pytest.approx(expected[:5], abs=5e-5)
    quantiles = [model.remaining(30, part) for part in (0.1, 0.5, 0.9)]
    assert quantiles == pytest.approx(expected[5:], rel=4e-4)
    assert (model.changes, model.running) == (len(changed) + len(between), len(running))
    assert model.weight.sum() == pytest.approx(1, abs=1e-12)


def likeliest(data: Lives, prior: Prior) -> tuple[float, float]:
    """Scale and shape at the top of prior times likelihood, by a direct search."""
    top = minimize(
        lambda point: -float(log_posterior(data, prior, np.array([[point[0]]]), np.array([point[1]]))[0, 0]),
        [prior.log_scale, prior.log_shape],
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-12},
    )
    return math.exp(top.x[0]), math.exp(top.x[1])


@pytest.mark.parametrize(("row", "expected"), list(zip(ROWS, LIKELIEST, strict=False)))
def test_likeliest_laws(
    row: tuple[Sequence[float], Sequence[float], Between, object], expected: tuple[float, float]
) -> None:
    """Worked example 1d (computed): the top of prior times likelihood is where it should be."""
    assert likeliest(lives(*row[:3]), PRIOR) == pytest.approx(expected, abs=6e-5)


def test_own_age_is_told_once() -> None:
    """Trap (computed): prior 40 h, age 30, next 8 h: 0.2292; with survival to 30 in the data already, 0.3428."""
    model = fit_life((), typical_hours=40)
    assert model.chance(30, 8) == pytest.approx(0.2292, abs=5e-5)
    assert model.chance(30, 8, counted=True) == pytest.approx(0.3428, abs=5e-5)
    among = fit_life((), (30,), typical_hours=40)  # the unit's own age among the data: the same answer both ways
    assert among.chance(30, 8, counted=True) == pytest.approx(model.chance(30, 8), abs=2e-5)
    assert among.remaining(30, 0.5, counted=True) == pytest.approx(model.remaining(30, 0.5), rel=1e-4)


def test_direct_integration() -> None:
    """Oracle: scipy's adaptive double integral of prior times likelihood, written anew here."""
    changed, running = (12.0, 30.0), (20.0,)

    def posterior(v: float, u: float, hours: float) -> float:
        beta, eta = math.exp(v), math.exp(u)
        logs = sum(math.log(beta / eta) + (beta - 1) * math.log(x / eta) - (x / eta) ** beta for x in changed)
        logs -= sum((x / eta) ** beta for x in running) + (hours / eta) ** beta
        prior = math.exp(-0.5 * ((u - math.log(25)) / 0.4) ** 2 - 0.5 * ((v - math.log(1.5)) / 0.3) ** 2)
        return math.exp(logs) * prior / (2 * math.pi * 0.4 * 0.3)

    box = (math.log(25) - 2.4, math.log(25) + 2.4, math.log(1.5) - 1.8, math.log(1.5) + 1.8)
    whole, lasting, longer = (
        dblquad(posterior, *box, args=(hours,), epsrel=1e-7)[0] for hours in (0.0, 15.0, 25.0)
    )
    model = fit_life(changed, running, typical_hours=25, scale_sd=0.4, shape_centre=1.5, shape_sd=0.3)
    assert model.log_evidence == pytest.approx(math.log(whole), abs=1e-5)
    assert model.survival(15) == pytest.approx(lasting / whole, abs=1e-5)
    assert model.chance(15, 10) == pytest.approx(1 - longer / lasting, abs=1e-5)


def test_no_history_gives_the_rule_of_thumb_and_much_the_data() -> None:
    """From the rule of thumb alone the answer moves, one life after the other, to maximum likelihood."""
    generator = np.random.default_rng(11)
    ages = 90 * generator.weibull(2.5, 3_000)
    counts = (0, 1, 3, 10, 30, 100, 300, 1_000, 3_000)
    models = [fit_life(ages[:count], typical_hours=40) for count in counts]
    assert models[0].mean_log_scale == pytest.approx(math.log(40), abs=1e-9)
    best = weibull_mle(ages)
    assert models[-1].typical().scale == pytest.approx(best.scale, rel=2e-3)
    assert models[-1].typical().shape == pytest.approx(best.shape, rel=5e-3)
    assert all(a.sd_log_scale > b.sd_log_scale for a, b in pairwise(models))
    assert models[0].mean_log_scale < models[1].mean_log_scale < models[3].mean_log_scale


@pytest.mark.parametrize("count", [200, 2_000, 40_000])
def test_much_data_are_resolved(count: int) -> None:
    """When the data are sharper than the first grid's steps, a finer one follows; sd as the information has it."""
    ages = 400 * np.random.default_rng(3).weibull(2.2, count)
    model, best = fit_life(ages, typical_hours=40), weibull_mle(ages)
    # Asymptotic sd of ln scale 1.053 / (shape sqrt n), of ln shape 0.780 / sqrt n: Bain 1978 (from memory).
    assert model.sd_log_scale == pytest.approx(1.053 / (best.shape * math.sqrt(count)), rel=0.1)
    assert model.sd_log_shape == pytest.approx(0.780 / math.sqrt(count), rel=0.1)
    low, high = model.scale_interval()
    assert math.log(high / low) == pytest.approx(2 * 1.96 * model.sd_log_scale, rel=0.03)


def test_handbook_lives_under_a_vague_prior() -> None:
    """NIST/SEMATECH e-Handbook 8.4.1.3 (published): where beliefs hardly weigh, its estimate is the likeliest."""
    lot = (life_data.TEN_OF_TWENTY, life_data.TEN_RUNNING)
    assert likeliest(lives(*lot, ()), Prior(math.log(40), 1e3, math.log(2), 1e3)) == pytest.approx(
        (606.5280, 1.7208), rel=1e-4
    )
    model = fit_life(*lot, typical_hours=600, scale_sd=3, shape_sd=3)
    for (low, high), estimate in ((model.scale_interval(), 606.528), (model.shape_interval(), 1.7208)):
        assert low < estimate < high


@pytest.mark.parametrize(
    ("changed", "running", "between"),
    [
        ((), (10_000,) * 50, ()), ((1e-6,) * 5, (), ()), ((), (), ((0, 1e-3),)), ((40,) * 50, (), ()),
        ((), (0, 0, 0), ()), ((5_000, 100), (100,) * 50, ()), ((40, 40.5, 41, 39.5), (), ((39, 42),)),
    ],
)  # fmt: skip
def test_edges_have_an_answer(changed: Sequence[float], running: Sequence[float], between: Between) -> None:
    """One datum, all censored, none used, all the same, far from the rule of thumb: always a finite answer."""
    model = fit_life(changed, running, between, typical_hours=40)
    early, middle, late = (model.remaining(0, part) for part in (0.05, 0.5, 0.95))
    assert 0 < early < middle < late < math.inf
    assert 0 < model.sd_log_scale < 1.5
    assert model.survival(0) == pytest.approx(1)


@settings(max_examples=40)
@given(
    st.lists(st.floats(1, 300), max_size=5), st.lists(st.floats(0, 300), max_size=5), st.floats(0, 300),
    st.floats(1, 200), st.floats(0.01, 0.99), st.booleans(), st.floats(0.01, 60),
)  # fmt: skip
def test_order_and_unit(
    changed: list[float], running: list[float], age: float, further: float, part: float, counted: bool, factor: float
) -> None:
    """More hours, more chance; remaining undoes chance; minutes instead of hours change nothing but the unit."""
    model = fit_life(changed, running, typical_hours=50)
    assert 0 <= model.chance(age, further, counted) <= model.chance(age, further * 1.5, counted) <= 1
    hours = model.remaining(age, part, counted)
    assert model.chance(age, hours, counted) == pytest.approx(part, rel=1e-8)
    assert model.remaining(age, part / 2, counted) < hours
    scaled = fit_life([x * factor for x in changed], [x * factor for x in running], typical_hours=50 * factor)
    assert scaled.remaining(age * factor, part, counted) == pytest.approx(hours * factor, rel=1e-6)


def test_fleet_at_once() -> None:
    """Arrays of units give what each unit gives alone; 5 000 units stay quick."""
    model = fit_life((22, 31, 35, 44), (10, 28, 50), typical_hours=40)
    ages = np.array([0.0, 1e-6, 30.0, 400.0])
    for counted in (False, True):
        alone = [model.remaining(float(age), 0.1, counted) for age in ages]
        assert model.remaining(ages, 0.1, counted) == pytest.approx(alone, rel=1e-12)
        alone = [model.chance(float(age), 8.0, counted) for age in ages]
        assert model.chance(ages, 8.0, counted) == pytest.approx(alone, rel=1e-12)
    assert model.survival(ages).shape == (4,)
    assert model.remaining(np.linspace(0, 200, 5_000), 0.05, counted=True).shape == (5_000,)
    assert model.remaining(np.empty(0), 0.05).size == 0


@pytest.mark.parametrize(
    "wrong",
    [
        {"typical_hours": 0}, {"typical_hours": -5}, {"typical_hours": math.nan}, {"typical_hours": 40, "scale_sd": 0},
        {"typical_hours": 40, "shape_sd": -1}, {"typical_hours": 40, "shape_centre": 0},
        {"typical_hours": 40, "changed": (0.0,)}, {"typical_hours": 40, "changed": (-3.0,)},
        {"typical_hours": 40, "running": (-3.0,)}, {"typical_hours": 40, "running": (math.inf,)},
        {"typical_hours": 40, "between": ((5.0, 5.0),)}, {"typical_hours": 40, "between": ((5.0, math.nan),)},
    ],
)  # fmt: skip
def test_lives_that_are_refused(wrong: dict[str, object]) -> None:
    """Unreal ages or beliefs are refused with the reason."""
    with pytest.raises(ValueError, match=r"must|between"):
        fit_life(**{"changed": (), **wrong})  # type: ignore[arg-type]


def test_questions_that_are_refused() -> None:
    """Unreal ages and probabilities are refused, alone and in arrays."""
    model = fit_life((), typical_hours=40)
    for call in (
        lambda: model.chance(-1, 8), lambda: model.chance(1, -8), lambda: model.chance(math.nan, 8),
        lambda: model.remaining(1, 0), lambda: model.remaining(1, 1), lambda: model.remaining(math.inf, 0.5),
        lambda: model.survival(-1), lambda: model.chance(np.array([1.0, 2.0]), np.array([1.0, 2.0, 3.0])),
        lambda: model.remaining(np.array([1.0, -2.0]), 0.5), lambda: model.scale_interval(1.0),
    ):  # fmt: skip
        with pytest.raises(ValueError, match="must"):
            call()


def test_rule_of_thumb_as_a_mean() -> None:
    """A rule of thumb meant as the mean life is centred on mean / Gamma(1 + 1 / shape): 45.135 for 40 and shape 2."""
    assert scale_for_mean(40) == pytest.approx(40 / (math.sqrt(math.pi) / 2), rel=1e-12)
    assert scale_for_mean(40, 1.0) == pytest.approx(40)


def test_better_measure_of_use() -> None:
    """Lives that truly follow loading are explained by it, those that follow hours by hours, in any unit."""
    generator = np.random.default_rng(4)
    dust = generator.lognormal(0, 0.8, 40)
    loads, hours = 60 * generator.weibull(3, 40), 60 * generator.weibull(3, 40)

    def choice(ages: np.ndarray, factors: np.ndarray, unit: float) -> str:
        worn = fit_life(ages, typical_hours=60)
        loading = fit_life(ages * factors * unit, typical_hours=60 * unit)
        return better_measure(worn, loading, factors * unit)

    for unit in (1.0, 1_000.0):
        assert choice(loads / dust, dust, unit) == "filter loading"
        assert choice(hours, dust, unit) == "worn hours"
    assert choice(hours, np.ones(40), 7.0) == "worn hours" or choice(hours, np.ones(40), 1.0) == "worn hours"
    with pytest.raises(ValueError, match="same lives"):
        better_measure(fit_life((1,), typical_hours=1), fit_life((), typical_hours=1), ())
    with pytest.raises(ValueError, match="more loadings"):
        better_measure(fit_life((), typical_hours=1), fit_life((), typical_hours=1), (1.0,))


def store(generator: np.random.Generator, count: int) -> LifeModel:
    """A simulated store: true scale 55 and shape 2.2, some changed by the calendar, some still running."""
    ages, stops = 55 * generator.weibull(2.2, count), generator.uniform(10, 110, count)
    return fit_life(ages[ages <= stops], stops[ages > stops], typical_hours=40)


def coverage(stores: int, count: int) -> tuple[float, float, float]:
    """Shares of 95 % intervals that hold the true scale and shape, and of 80 % intervals that hold a new life."""
    generator = np.random.default_rng(2024)
    scale = shape = life = 0
    for _ in range(stores):
        model = store(generator, count)
        low, high = model.scale_interval()
        scale += low <= 55 <= high
        low, high = model.shape_interval()
        shape += low <= 2.2 <= high
        age = generator.uniform(0, 40)
        left = 55 * ((age / 55) ** 2.2 + generator.exponential()) ** (1 / 2.2) - age
        life += model.remaining(age, 0.1) <= left <= model.remaining(age, 0.9)
    return scale / stores, shape / stores, life / stores


def test_recovery_of_a_known_life() -> None:
    """Own simulation, 100 stores: intervals hold the truth about as often as they say."""
    scale, shape, life = coverage(100, 40)
    assert scale >= 0.88
    assert shape >= 0.88
    assert 0.68 <= life <= 0.92


@pytest.mark.long
def test_recovery_of_a_known_life_in_full() -> None:
    """The same over 400 stores: 95 % within three binomial deviations, 80 % between 74 and 86 %."""
    scale, shape, life = coverage(400, 40)
    assert scale >= 0.95 - 3 * math.sqrt(0.95 * 0.05 / 400)
    assert shape >= 0.95 - 3 * math.sqrt(0.95 * 0.05 / 400)
    assert 0.74 <= life <= 0.86
