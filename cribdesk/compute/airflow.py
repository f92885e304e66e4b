"""From what a flow meter shows to whether enough air flows: density, true flow, guarded verdict."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist
from typing import Literal

from cribdesk.compute import checks

# US Standard Atmosphere 1976, the lowest layer (the same as ISO 2533:1975).
SEA_LEVEL_PA = 101_325.0
SEA_LEVEL_K = 288.15
SEA_LEVEL_DENSITY = 1.225
LAPSE_K_PER_M = 0.0065
PRESSURE_EXPONENT = 9.80665 * 0.0289644 / (8.31432 * LAPSE_K_PER_M)  # g0 M / (R* L), 5.25588
EARTH_RADIUS_M = 6_356_766.0
LOWEST_M, HIGHEST_M = -5_000.0, 11_000.0

GAS_CONSTANT = 287.05  # J/(kg K), dry air; the figure that the float-meter formula is printed with
ZERO_C = 273.15

# What no weather or shop on land exceeds (common practice, no source): catches kelvin, hPa and inHg
# typed for degrees and Pa.
COLDEST_C, HOTTEST_C = -100.0, 100.0
LEAST_PA, MOST_PA = 20_000.0, 120_000.0

Verdict = Literal["pass", "too close", "fail"]


def air_density(
    altitude_m: float | None = None, temperature_c: float | None = None, pressure_pa: float | None = None
) -> float:
    """Density of dry air in kg/m3.

    Nothing given: 1.225, the standard's sea level. Temperature alone: at 101 325 Pa. Altitude alone
    (geometric, m): at the standard temperature there. Both: at the standard pressure there. Pressure is
    the station's own, never the weather report's, which is reduced to sea level; it needs a temperature.
    Source: US Standard Atmosphere 1976 for pressure; p / (287.05 T) for density.
    ValueError: pressure without temperature, pressure with altitude, or out of range.
    """
    if pressure_pa is not None and altitude_m is not None:
        raise ValueError("altitude and pressure are both given: one of the two")
    if pressure_pa is not None and temperature_c is None:
        raise ValueError("a pressure needs the temperature")
    if altitude_m is None and temperature_c is None and pressure_pa is None:
        return SEA_LEVEL_DENSITY
    kelvin, pascal = standard_air(0.0 if altitude_m is None else altitude_m)
    if temperature_c is not None:
        kelvin = ZERO_C + _within("The temperature in C", temperature_c, COLDEST_C, HOTTEST_C)
    if pressure_pa is not None:
        pascal = _within("The pressure in Pa", pressure_pa, LEAST_PA, MOST_PA)
    return pascal / (GAS_CONSTANT * kelvin)


def standard_air(altitude_m: float) -> tuple[float, float]:
    """Temperature in K and pressure in Pa at a geometric altitude, -5 000 to 11 000 m.

    Source: US Standard Atmosphere 1976, equations for the layer below 11 km; the geometric altitude is
    first turned into the geopotential one, as the standard does.
    """
    height = _within("The altitude in m", altitude_m, LOWEST_M, HIGHEST_M)
    geopotential = EARTH_RADIUS_M * height / (EARTH_RADIUS_M + height)
    kelvin = SEA_LEVEL_K - LAPSE_K_PER_M * geopotential
    return kelvin, SEA_LEVEL_PA * (kelvin / SEA_LEVEL_K) ** PRESSURE_EXPONENT


def actual_flow(indicated_lpm: float, density: float, calibration_density: float = 1.204) -> float:
    """True flow in L/min of a variable-area meter that shows `indicated_lpm` in air of that density.

    Q = indicated x sqrt(calibration density / density). The meter's scale holds at its calibration density,
    1.204 kg/m3 (20 C, 101 325 Pa) unless stated. Cold or dense air makes the true flow *less* than shown.
    Source: EPA-330/1-78-003 (1978), rotameter chapter, and OSHA Technical Manual (from memory). A maker's
    correction chart outranks this formula.
    """
    shown = checks.not_negative("The indicated flow", indicated_lpm)
    return shown * _factor(density, calibration_density)


def indication_for(flow_lpm: float, density: float, calibration_density: float = 1.204) -> float:
    """What the meter must show in air of that density for a true flow of `flow_lpm`; see `actual_flow`."""
    return checks.not_negative("The flow", flow_lpm) / _factor(density, calibration_density)


def _factor(density: float, calibration_density: float) -> float:
    here = checks.positive("The density", density)
    return math.sqrt(checks.positive("The calibration density", calibration_density) / here)


def _within(name: str, value: float, low: float, high: float) -> float:
    given = checks.number(name, value)
    if not low <= given <= high:
        raise ValueError(f"{name} must lie between {low:g} and {high:g}, not {given:g}")
    return given


@dataclass(frozen=True, slots=True)
class FlowVerdict:
    """A reading against its minimum: the verdict, how probable enough air is, and where pass begins."""

    verdict: Verdict
    probability_adequate: float
    accept_at: float


def judge(reading: float, minimum: float, standard_uncertainty: float, confidence: float = 0.95) -> FlowVerdict:
    """Weigh a reading against a lower limit with a guard band of w = z(one-sided confidence) x u.

    'pass' at or over minimum + w, 'fail' under minimum - w, 'too close' between: repeat once, averaged.
    `standard_uncertainty` is u, not the expanded U = 2u that certificates print. Values are compared unrounded.
    Source: JCGM 106:2012, guarded acceptance; ISO 14253-1. ValueError: a confidence of 0.5 or less (that
    would accept at or under the limit), an uncertainty of zero, a negative reading.
    """
    shown = checks.not_negative("The reading", reading)
    limit = checks.positive("The minimum", minimum)
    spread = checks.positive("The standard uncertainty", standard_uncertainty)
    if checks.fraction("The confidence", confidence) <= 0.5:
        raise ValueError(f"The confidence must be above 0.5, not {confidence:g}")
    guard = NormalDist().inv_cdf(confidence) * spread
    verdict: Verdict = "too close"
    if shown >= limit + guard:
        verdict = "pass"
    elif shown < limit - guard:
        verdict = "fail"
    return FlowVerdict(verdict, _chance_under((shown - limit) / spread), limit + guard)


def mean_uncertainty(systematic: float, spread: float, count: int) -> float:
    """Standard uncertainty of the mean of `count` readings: only the random part shrinks.

    u^2 = systematic^2 + spread^2 / count, `spread` being the standard deviation of one reading
    (GUM, JCGM 100, type A evaluation; from memory).
    """
    fixed = checks.not_negative("The systematic uncertainty", systematic)
    random = checks.not_negative("The spread", spread) / math.sqrt(checks.whole("The count", count, 1))
    return math.hypot(fixed, random)


def resolution_uncertainty(resolution: float) -> float:
    """Standard uncertainty of a scale read to steps of `resolution`: resolution / sqrt(12) (GUM)."""
    return checks.not_negative("The resolution", resolution) / math.sqrt(12.0)


@dataclass(frozen=True, slots=True)
class WrongVerdicts:
    """Shares of all units judged: passed though under the limit, and turned away though good."""

    false_accept: float
    false_reject: float


def wrong_verdicts(
    density: Callable[[float], float],
    span: tuple[float, float],
    minimum: float,
    standard_uncertainty: float,
    accept_at: float,
) -> WrongVerdicts:
    """How often a fleet is misjudged when readings at or over `accept_at` are accepted.

    `density` is the probability density of the fleet's true values, `span` where it is worth counting.
    Source: JCGM 106:2012, 9.5, global consumer's and producer's risk, by numerical integration.
    """
    from scipy.integrate import quad

    low, high = checks.number("The span's start", span[0]), checks.number("The span's end", span[1])
    limit = _within("The minimum", minimum, low, high)
    spread = checks.positive("The standard uncertainty", standard_uncertainty)
    mark = checks.number("The acceptance limit", accept_at)

    def passed_under(value: float) -> float:
        return density(value) * _chance_under((value - mark) / spread)

    def turned_away(value: float) -> float:
        return density(value) * _chance_under((mark - value) / spread)

    # Pieces that end at the limit and near the acceptance mark: nothing narrow is stepped over.
    marks = {low, limit, high} | {mark + step * spread for step in (-8, -3, 0, 3, 8)}
    edges = sorted(edge for edge in marks if low <= edge <= high)
    pieces = list(pairwise(edges))

    def total(function: Callable[[float], float], wanted: list[tuple[float, float]]) -> float:
        return math.fsum(quad(function, a, b, epsabs=1e-13, epsrel=1e-10)[0] for a, b in wanted)

    return WrongVerdicts(
        total(passed_under, [piece for piece in pieces if piece[1] <= limit]),
        total(turned_away, [piece for piece in pieces if piece[0] >= limit]),
    )


def _chance_under(z: float) -> float:
    """The standard normal distribution function, exact in both tails."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))
