"""Density against the standard atmosphere, the float meter's correction, and the guarded verdict."""

import csv
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk import resources
from cribdesk.compute.airflow import (
    actual_flow,
    air_density,
    indication_for,
    judge,
    mean_uncertainty,
    resolution_uncertainty,
    standard_air,
    wrong_verdicts,
)

TABLE = list(
    csv.DictReader(
        (resources.data("resources") / "tables" / "atmosphere.csv").read_text("utf-8").splitlines()
    )
)


@pytest.mark.parametrize("line", TABLE, ids=lambda line: line["altitude_m"])
def test_standard_atmosphere(line: dict[str, str]) -> None:
    """US Standard Atmosphere 1976 (ISO 2533:1975), table in resources; published values, checked."""
    altitude = float(line["altitude_m"])
    kelvin, pascal = standard_air(altitude)
    assert kelvin == pytest.approx(float(line["temperature_K"]), abs=6e-4)
    assert pascal == pytest.approx(float(line["pressure_Pa"]), abs=0.07)
    # The table divides by 287.05287, the float-meter formula by 287.05.
    assert air_density(altitude) == pytest.approx(float(line["density_kg_m3"]), rel=2e-5)
    factor = actual_flow(1.0, air_density(altitude), air_density(0.0))
    assert factor == pytest.approx(float(line["float_meter_factor_vs_sea_level"]), abs=1.5e-5)


@pytest.mark.parametrize("altitude", [-400.0, 0.0, 123.0, 1609.0, 2240.0, 3650.0, 5100.0, 10_900.0])
def test_atmosphere_as_fluids_has_it(altitude: float) -> None:
    """Oracle: fluids.ATMOSPHERE_1976, an independent library, at altitudes that no table row has."""
    from fluids import ATMOSPHERE_1976

    oracle = ATMOSPHERE_1976(altitude)
    kelvin, pascal = standard_air(altitude)
    assert kelvin == pytest.approx(oracle.T, abs=1e-3)
    assert pascal == pytest.approx(oracle.P, rel=1e-5)
    assert air_density(altitude) == pytest.approx(oracle.rho, rel=2e-5)


def test_what_air_density_takes_for_granted() -> None:
    """Nothing, temperature alone, altitude with temperature, pressure with temperature: each as stated."""
    assert air_density() == 1.225
    assert air_density(temperature_c=20) == pytest.approx(101_325 / (287.05 * 293.15), rel=1e-12)
    assert air_density(1500, 20) == pytest.approx(standard_air(1500)[1] / (287.05 * 293.15), rel=1e-12)
    assert air_density(temperature_c=20, pressure_pa=84_559.67) == pytest.approx(1.0049, abs=5e-5)


@pytest.mark.parametrize(
    ("pressure", "celsius", "shown", "true"),
    [
        # worked examples fl3, fl4 (twice), fl5: constructed from EPA-330/1-78-003's formula (from memory)
        (84_559.67, 20.0, 155.3, 170.0),
        (101_325.0, -10.0, 170.0, 161.1),
        (101_325.0, -10.0, 179.4, 170.0),
        (101_325.0, 35.0, 165.8, 170.0),
    ],
)
def test_float_meter(pressure: float, celsius: float, shown: float, true: float) -> None:
    """A meter set at 20 C and 101 325 Pa, read in other air, both ways round."""
    here, set_at = air_density(temperature_c=celsius, pressure_pa=pressure), air_density(temperature_c=20)
    assert set_at == pytest.approx(1.2041, abs=5e-5)
    assert actual_flow(shown, here, set_at) == pytest.approx(true, abs=0.07)
    assert indication_for(true, here, set_at) == pytest.approx(shown, abs=0.07)


def test_air_sampler_text() -> None:
    """Air-sampler text, published: 9.74 shown, factor (760/765)(292.18/294.93), gives 9.66; rightly 9.67."""
    ratio = (760 / 765) * (292.18 / 294.93)
    assert actual_flow(9.74, 1 / ratio, 1.0) == pytest.approx(9.66, abs=5e-3)
    ratio = (760 / 765) * (292.15 / 294.26)
    assert actual_flow(9.74, 1 / ratio, 1.0) == pytest.approx(9.67, abs=5e-3)


@given(
    st.floats(1, 500), st.floats(-40, 60), st.floats(-40, 60), st.floats(60_000, 108_000), st.floats(60_000, 108_000)
)
def test_colder_and_denser_air_flows_less(shown: float, a: float, b: float, p: float, q: float) -> None:
    """Trap: the unsafe direction is cold or dense air; there the true flow is less than the meter shows."""
    cold, warm = sorted((a, b))
    assert actual_flow(shown, air_density(temperature_c=cold)) <= actual_flow(shown, air_density(temperature_c=warm))
    thin, dense = sorted((p, q))
    flows = [actual_flow(shown, air_density(temperature_c=20, pressure_pa=value)) for value in (thin, dense)]
    assert flows[0] >= flows[1]


@given(st.floats(0.1, 1000), st.floats(0.3, 2), st.floats(0.3, 2))
def test_flow_and_indication_are_inverse(flow: float, density: float, calibration: float) -> None:
    """What must be shown for a flow, read back, is that flow."""
    shown = indication_for(flow, density, calibration)
    assert actual_flow(shown, density, calibration) == pytest.approx(flow, rel=1e-12)


@pytest.mark.parametrize(
    "given_air",
    [
        {"pressure_pa": 90_000.0},
        {"altitude_m": 0.0, "pressure_pa": 90_000.0},
        {"altitude_m": 0.0, "temperature_c": 20.0, "pressure_pa": 90_000.0},
        {"altitude_m": math.nan},
        {"altitude_m": 12_000.0},
        {"altitude_m": -6_000.0},
        {"temperature_c": math.inf},
        {"temperature_c": -300.0},
        {"temperature_c": 293.15},  # kelvin
        {"temperature_c": 20.0, "pressure_pa": 1013.25},  # hPa
        {"temperature_c": 20.0, "pressure_pa": -1.0},
        {"temperature_c": 20.0, "pressure_pa": math.nan},
    ],
)
def test_air_that_is_refused(given_air: dict[str, float]) -> None:
    """Missing, doubled, impossible or wrongly measured air is refused, never guessed."""
    with pytest.raises(ValueError, match=r"."):
        air_density(**given_air)


@pytest.mark.parametrize(
    "arguments",
    [(-1.0, 1.2), (math.nan, 1.2), (170.0, 0.0), (170.0, -1.2), (170.0, math.inf), (170.0, 1.2, 0.0)],
)
def test_flow_that_is_refused(arguments: tuple[float, ...]) -> None:
    """A negative or unreal reading or density is refused."""
    with pytest.raises(ValueError, match=r"must"):
        actual_flow(*arguments)


@pytest.mark.parametrize(
    ("reading", "u", "probability"),
    [(175.0, 3.0, 0.95221), (180.0, 5.0, 0.97725), (170.0, 3.0, 0.5)],
)
def test_probability_of_enough(reading: float, u: float, probability: float) -> None:
    """JCGM 106:2012 7.2's formula; values computed with scipy. At the limit it is a coin's toss (trap)."""
    assert judge(reading, 170, u).probability_adequate == pytest.approx(probability, abs=5e-6)


def test_probability_in_published_examples() -> None:
    """A metrology guide (published: 0.02275) and JCGM 106 7.3.2 (from memory: 0.92), both mirrored to a lower limit."""
    assert 1 - judge(10.2, 10.0, 0.1).probability_adequate == pytest.approx(0.02275, abs=5e-6)
    assert judge(5.47, 5.40, 0.05).probability_adequate == pytest.approx(0.919, abs=5e-4)


def test_guard_band() -> None:
    """ISO 14253-1, JCGM 106: accept at 174.9346 for 170 and u 3 (computed); both edges belong as stated."""
    verdict = judge(174.9346, 170, 3)
    assert verdict.accept_at == pytest.approx(174.9346, abs=5e-5)
    assert verdict.verdict == "pass"
    assert judge(verdict.accept_at, 170, 3).verdict == "pass"
    assert judge(math.nextafter(verdict.accept_at, 0), 170, 3).verdict == "too close"
    reject = 170 - (verdict.accept_at - 170)
    assert judge(reject + 1e-9, 170, 3).verdict == "too close"
    assert judge(reject - 1e-9, 170, 3).verdict == "fail"
    assert judge(170, 170, 3).verdict == "too close"  # trap: never simple acceptance in silence
    assert judge(0, 170, 3).verdict == "fail"


def test_expanded_uncertainty_is_not_u() -> None:
    """Trap: U = 2u used as u doubles the guard; the 2u option is a confidence of 0.97725, not another u."""
    assert judge(175.5, 170, 3).verdict == "pass"
    assert judge(175.5, 170, 6).verdict == "too close"
    assert judge(176, 170, 3, confidence=0.9772498680518208).accept_at == pytest.approx(176, abs=1e-9)


@given(st.floats(0, 400), st.floats(0, 400), st.floats(50, 250), st.floats(0.1, 30), st.floats(0.51, 0.999))
def test_more_flow_is_never_judged_worse(a: float, b: float, minimum: float, u: float, confidence: float) -> None:
    """Verdict and probability follow the reading; a pass has at least the stated confidence."""
    rank = {"fail": 0, "too close": 1, "pass": 2}
    less, more = (judge(reading, minimum, u, confidence) for reading in sorted((a, b)))
    assert rank[less.verdict] <= rank[more.verdict]
    assert less.probability_adequate <= more.probability_adequate
    if more.verdict == "pass":
        assert more.probability_adequate >= confidence - 1e-9


@pytest.mark.parametrize(
    "arguments",
    [
        (-1, 170, 3), (math.nan, 170, 3), (175, math.inf, 3), (175, 0, 3), (175, 170, 0), (175, 170, -3),
        (175, 170, math.nan), (175, 170, 3, 0.5), (175, 170, 3, 1.0), (175, 170, 3, 95), (175, 170, 3, math.nan),
    ],
)  # fmt: skip
def test_judgement_that_is_refused(arguments: tuple[float, ...]) -> None:
    """An unreal reading, no uncertainty at all, or a confidence that would accept under the limit."""
    with pytest.raises(ValueError, match=r"must"):
        judge(*arguments)


def test_repeats_shrink_only_what_is_random() -> None:
    """GUM: the mean of n readings has u^2 = systematic^2 + s^2 / n; a scale's step adds step / sqrt 12."""
    assert mean_uncertainty(2, 3, 1) == pytest.approx(math.sqrt(13))
    assert mean_uncertainty(2, 3, 9) == pytest.approx(math.sqrt(5))
    assert mean_uncertainty(2, 0, 3) == 2
    assert resolution_uncertainty(6) == pytest.approx(math.sqrt(3))
    for count in (0, -1, 1.5, math.nan):
        with pytest.raises(ValueError, match=r"count"):
            mean_uncertainty(2, 3, count)  # type: ignore[arg-type]


def test_wrong_verdicts_of_jcgm_106() -> None:
    """JCGM 106:2012 9.5.4, published, mirrored to a lower limit: 0.00802, and 0.1 % at 1.67183."""
    from scipy.stats import gamma

    def density(value: float) -> float:
        return float(gamma.pdf(-value, 4, scale=0.25))

    assert gamma.sf(2, 4, scale=0.25) == pytest.approx(0.0424, abs=5e-5)
    assert wrong_verdicts(density, (-8, 0), -2, 0.25, -2).false_accept == pytest.approx(0.00802, abs=5e-6)
    assert wrong_verdicts(density, (-8, 0), -2, 0.25, -1.67183).false_accept == pytest.approx(0.001, abs=1e-7)


@pytest.mark.parametrize(
    ("accept_at", "false_accept", "false_reject"),
    [(170, 0.0018265, 0.0082905), (174.93456, 0.00012157, 0.0606587), (176, 0.000051127, 0.0836977)],
)
def test_wrong_verdicts_of_a_fleet(accept_at: float, false_accept: float, false_reject: float) -> None:
    """A fleet N(185, 6), u 3 (computed; oracle here: scipy's bivariate normal)."""
    from scipy.stats import multivariate_normal, norm

    wrong = wrong_verdicts(norm(185, 6).pdf, (115, 255), 170, 3, accept_at)
    assert wrong.false_accept == pytest.approx(false_accept, rel=5e-5)
    assert wrong.false_reject == pytest.approx(false_reject, rel=5e-6)
    both = multivariate_normal([185, 185], [[36, 36], [36, 45]]).cdf([170, accept_at])
    assert wrong.false_accept == pytest.approx(norm(185, 6).cdf(170) - both, abs=2e-7)
    with pytest.raises(ValueError, match="between"):
        wrong_verdicts(norm(185, 6).pdf, (175, 255), 170, 3, accept_at)
