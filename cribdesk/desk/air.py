"""A flow meter's reading in today's air: what really flowed, the guard band it is weighed with, and what is refused."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from cribdesk.compute.airflow import (
    GAS_CONSTANT,
    SEA_LEVEL_PA,
    ZERO_C,
    actual_flow,
    air_density,
    judge,
    standard_air,
)
from cribdesk.crib.air import COLDEST_C, HOTTEST_C, LEAST_HPA, MOST_HPA, USUAL_KG_M3, asked_by_chart
from cribdesk.crib.model import UnitModel
from cribdesk.crib.words import degrees, number
from cribdesk.desk.house import House
from cribdesk.procedure.answers import Ball, Measured

CALIBRATION_DENSITY = SEA_LEVEL_PA / (GAS_CONSTANT * (ZERO_C + 20.0))
"""Air that a flow meter's scale usually holds in: 20 °C, 101 325 Pa, which certificates round to 1.204 kg/m3."""
WEATHER = 0.07
"""How far weather moves the pressure from the altitude's standard (common practice, no source)."""
NOT_ASKED = "Type the air temperature at the meter first: in cold air it shows more than flows."


@dataclass(frozen=True)
class AirNow:
    """The air at the meter as it was entered last: pressure None where the altitude tells it."""

    temperature_c: float
    pressure_hpa: float | None
    at: datetime


def today(house: House, air: AirNow | None, moment: datetime) -> AirNow | None:
    """The air entered last, while that was today."""
    return air if air is not None and house.today(air.at) == house.today(moment) else None


def standard_hpa(house: House) -> float:
    """The standard pressure at the site's altitude."""
    return standard_air(float(house.settings["altitude_m"]))[1] / 100


def check(house: House, temperature_c: float, pressure_hpa: float | None) -> None:
    """Raises ValueError in plain words for air that cannot be, or that is of another place."""
    if not COLDEST_C <= temperature_c <= HOTTEST_C:
        raise ValueError(
            f"The air at the meter must lie between {degrees(COLDEST_C)} and {degrees(HOTTEST_C)}. Nothing changed."
        )
    if pressure_hpa is None:
        return
    if not LEAST_HPA <= pressure_hpa <= MOST_HPA:
        raise ValueError(
            f"The pressure must lie between {number(LEAST_HPA)} and {number(MOST_HPA)} hPa. Nothing changed."
        )
    usual = standard_hpa(house)
    if abs(pressure_hpa / usual - 1) > WEATHER:
        raise ValueError(
            f"{number(pressure_hpa)} hPa is not the pressure at {number(float(house.settings['altitude_m']))} m: about "
            f"{number(usual)} is. A weather report's figure is reduced to sea level; read the barometer here. "
            "Nothing changed."
        )


def flowed(
    house: House,
    model: UnitModel,
    shown: float,
    temperature_c: float,
    pressure_hpa: float | None,
    calibration_kg_m3: float = USUAL_KG_M3,
) -> float:
    """What really flowed where a meter showed so much: by the maker's chart where there is one, else by density.

    `calibration_kg_m3` is the air the meter's scale holds in. A chart speaks of a meter of the usual scale: what one of
    another scale shows is first turned into what that one would. Raises ValueError outside the maker's chart.
    """
    pressure = pressure_hpa if pressure_hpa is not None else standard_hpa(house)
    scale = CALIBRATION_DENSITY if calibration_kg_m3 == USUAL_KG_M3 else calibration_kg_m3
    if model.must_show and model.flow_minimum_lpm:
        usual = actual_flow(shown, CALIBRATION_DENSITY, scale)
        return usual * model.flow_minimum_lpm / asked_by_chart(model.must_show, temperature_c, pressure)
    density = air_density(temperature_c=temperature_c, pressure_pa=pressure * 100)
    return actual_flow(shown, density, scale)


def guard_of(house: House, minimum_lpm: float | None, uncertainty_lpm: float | None) -> float | None:
    """The guard band for a meter of that uncertainty: one in twenty at most passes wrongly; None where it is off."""
    if house.settings["guard_band"] != "on" or not minimum_lpm or not uncertainty_lpm:
        return None
    return judge(minimum_lpm, minimum_lpm, uncertainty_lpm).accept_at - minimum_lpm


def measured(
    house: House,
    model: UnitModel,
    given: Measured,
    air: AirNow | None,
    uncertainty_lpm: float | None,
    guarded: bool,
    calibration_kg_m3: float = USUAL_KG_M3,
) -> Measured:
    """The reading with what flowed and its guard band. Raises ValueError where the air is not known or cannot be."""
    temperature, pressure = _air_of(given.temperature_c, air), given.pressure_hpa
    if pressure is None and given.temperature_c is None and air is not None:
        pressure = air.pressure_hpa
    check(house, temperature, pressure)
    return replace(
        given,
        uncertainty_lpm=uncertainty_lpm,
        temperature_c=temperature,
        pressure_hpa=pressure,
        actual=flowed(house, model, given.value, temperature, pressure, calibration_kg_m3),
        guard_lpm=guard_of(house, model.flow_minimum_lpm, uncertainty_lpm) if guarded else None,
        by_chart=bool(model.must_show),
    )


def ball(house: House, model: UnitModel, given: Ball, air: AirNow | None) -> Ball:
    """The ball with the air it was seen in. Raises ValueError outside the range that its mark holds in."""
    temperature = _air_of(given.temperature_c, air)
    check(house, temperature, None)
    held = model.ball_range_c
    if held is None:
        raise ValueError(f"{model.name}: its maker names no air in which a ball's mark holds. A number is needed.")
    if not held[0] <= temperature <= held[1]:
        raise ValueError(
            f"The ball's mark holds from {degrees(held[0])} to {degrees(held[1])}, not at {degrees(temperature)}: in "
            "cold air the ball stands too high. Use a meter with numbers, or measure in such air. Nothing changed."
        )
    return replace(given, temperature_c=temperature)


def _air_of(entered: float | None, air: AirNow | None) -> float:
    if entered is not None:
        return entered
    if air is None:
        raise ValueError(NOT_ASKED)
    return air.temperature_c


def way_words(
    house: House,
    model: UnitModel,
    temperature_c: float,
    pressure_hpa: float | None,
    calibration_kg_m3: float = USUAL_KG_M3,
) -> str:
    """Which way the meter errs in this air, in a sentence; raises ValueError outside the maker's chart."""
    factor = flowed(house, model, 100.0, temperature_c, pressure_hpa, calibration_kg_m3) / 100
    by = " By the maker's chart." if model.must_show else ""
    if round(factor, 3) == 1:
        return f"In this air the meter shows what flows.{by}"
    less = f"{number(abs(1 - factor) * 100, 1)} %"
    if factor < 1:
        return f"Cold or dense air: {less} less flows than the meter shows.{by}"
    return f"Warm or thin air: {less} more flows than the meter shows.{by}"


__all__ = [
    "CALIBRATION_DENSITY", "NOT_ASKED", "USUAL_KG_M3", "AirNow", "ball", "check", "flowed", "guard_of", "measured",
    "standard_hpa", "today", "way_words",
]
