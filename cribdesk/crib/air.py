"""What a unit model's maker says of readings in other air: the ball's range and the correction chart."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TypedDict

from cribdesk.crib.toml_text import Section

COLDEST_C, HOTTEST_C = -30.0, 50.0
"""Air in which a flow meter is read (a house rule): beyond it a figure in Fahrenheit is more likely."""
LEAST_HPA, MOST_HPA = 500.0, 1100.0
USUAL_KG_M3 = 1.204
"""The air a meter's scale holds in where its certificate names no other: 20 °C, 101 325 Pa."""
THINNEST_KG_M3, DENSEST_KG_M3 = 0.8, 1.5
"""What a certificate may say (a house rule): beyond it, it is a figure in another unit."""


@dataclass(frozen=True)
class MustShow:
    """One row of the maker's chart: what the flow meter must show in such air where the minimum flows.

    `pressure_hpa` is None in a chart that knows the temperature alone.
    """

    temperature_c: float
    pressure_hpa: float | None
    lpm: float


class Air(TypedDict):
    """The two keys of a unit model that speak of air."""

    ball_range_c: tuple[float, float] | None
    must_show: tuple[MustShow, ...]


def read_air(top: Section) -> Air:
    """The ball's range and the chart out of a unit model's text."""
    rows = []
    for section in top.sections("must_show"):
        temperature, flow = section.signed("temperature_c"), section.number("lpm")
        for key, value in (("temperature_c", temperature), ("lpm", flow)):
            if value is None and not section.has(key):
                section.fault(key, "this key is missing.")
        rows.append(MustShow(temperature or 0.0, section.number("pressure_hpa"), flow or 0.0))
        section.finish()
    found = top.section("ball_range_c")
    low, high = found.signed("low"), found.signed("high")
    found.finish()
    if not found.values:
        return Air(ball_range_c=None, must_show=tuple(rows))
    if low is None or high is None or low >= high:
        top.fault("ball_range_c", "it needs low and high, the lower first.")
        return Air(ball_range_c=None, must_show=tuple(rows))
    return Air(ball_range_c=(low, high), must_show=tuple(rows))


def check_air(
    top: Section, powered: bool, ball: tuple[float, float] | None, rows: tuple[MustShow, ...]
) -> None:
    """Notes what cannot be: a chart with gaps, or one that asks less in colder air."""
    if not powered and (ball or rows):
        top.fault("must_show" if rows else "ball_range_c", "a unit that is not powered has none.")
    ways = {(row.temperature_c, row.pressure_hpa) for row in rows}
    pressures = {row.pressure_hpa for row in rows}
    if len(ways) < len(rows):
        top.fault("must_show", "two rows speak of the same air.")
    elif len(ways) < len({row.temperature_c for row in rows}) * len(pressures):
        top.fault("must_show", "every temperature needs a row at every pressure.")
    for pressure in pressures:
        shown = [row.lpm for row in sorted(rows, key=lambda row: row.temperature_c) if row.pressure_hpa == pressure]
        if any(later > earlier for earlier, later in pairwise(shown)):
            top.fault("must_show", "colder air never asks for less.")


def asked_by_chart(rows: tuple[MustShow, ...], temperature_c: float, pressure_hpa: float) -> float:
    """What the meter must show by the maker's chart; between two rows the one that asks for more.

    Raises ValueError outside the chart: no number is invented.
    """
    pressures = sorted({row.pressure_hpa for row in rows if row.pressure_hpa is not None})
    warm = _round_it(sorted({row.temperature_c for row in rows}), temperature_c, "°C")
    thick: tuple[float, ...] | None = _round_it(pressures, pressure_hpa, "hPa") if pressures else None
    fits = (row for row in rows if row.temperature_c in warm and (thick is None or row.pressure_hpa in thick))
    return max(row.lpm for row in fits)


def _round_it(known: list[float], value: float, unit: str) -> tuple[float, ...]:
    """The two figures of the chart that a value lies between; one where it is met."""
    if not known[0] <= value <= known[-1]:
        span = f"{known[0]:g} to {known[-1]:g} {unit}"
        raise ValueError(f"The maker's chart knows {span}, not {value:g}. Measure in such air.")
    return tuple({known[bisect_right(known, value) - 1], known[bisect_left(known, value)]})
