"""Concentrations in the air with their unit: how they are typed, kept as whole numbers, and said.

Particles are kept in ng/m3, gases and vapours in ppb. Nothing goes from one into the other except by the molar mass
of a gas that is known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal

from cribdesk.crib.limits import GAS_UNIT, PARTICLE_UNIT, ppm_of

MG_M3, UG_M3, PPM = "mg/m3", "ug/m3", "ppm"
UNITS = ((MG_M3, "mg/m³"), (UG_M3, "µg/m³"), (PPM, "ppm"))
"""How a figure is given: the code, and as it is said."""
UNIT_WORDS = dict(UNITS)
IN_ONE_MG, IN_ONE_PPM = 1_000_000, 1_000
HIGHEST_MG_M3, HIGHEST_PPM = 1_000_000.0, 1_000_000.0
"""More than this is no concentration in air: a kilogram in a cubic metre; all of it."""


@dataclass(frozen=True, slots=True)
class Amount:
    """One concentration, of particles (`ng_m3`) or of a gas (`ppb`)."""

    ng_m3: int | None = None
    ppb: int | None = None

    @property
    def figure(self) -> float:
        """In the unit of the table of limits: mg/m3, or ppm."""
        return (self.ppb or 0) / IN_ONE_PPM if self.ng_m3 is None else self.ng_m3 / IN_ONE_MG

    @property
    def unit(self) -> str:
        """Of `figure`."""
        return GAS_UNIT if self.ng_m3 is None else PARTICLE_UNIT

    def __str__(self) -> str:
        return concentration_words(self.figure, self.unit)


def amount(ng_m3: int | None, ppb: int | None) -> Amount | None:
    """What two columns hold, or None where both are empty."""
    return None if ng_m3 is None and ppb is None else Amount(ng_m3, ppb)


def amount_of(value: float, unit: str, particle: bool, formula: str = "") -> Amount:
    """A figure with its unit, as it is kept.

    A gas given in mg/m3 or ug/m3 goes over into ppm by the molar mass of `formula`, at 25 C and 1 atm. Raises
    ValueError in plain words for a unit that does not fit, a figure at or below zero, or one too small to be kept.
    """
    if unit not in UNIT_WORDS:
        raise ValueError(f"'{unit}' is no unit of a concentration. Take one of {', '.join(UNIT_WORDS.values())}")
    if not math.isfinite(value) or value < 0:
        raise ValueError("a concentration is a number above zero")
    if value == 0:
        raise ValueError("zero is no finding: enter what the method could have found, its detection limit")
    if unit == PPM:
        if particle:
            raise ValueError("ppm is for gases and vapours; this is there as particles. Give it in mg/m³ or µg/m³")
        return _gas(value)
    mg_m3 = value / 1000 if unit == UG_M3 else value
    return _particles(mg_m3) if particle else _gas(ppm_of(mg_m3, formula))


def _particles(mg_m3: float) -> Amount:
    if mg_m3 > HIGHEST_MG_M3:
        raise ValueError(f"{plain(mg_m3)} mg/m³ is more than air can hold. Look at the unit")
    return Amount(ng_m3=_kept(mg_m3 * IN_ONE_MG, "0.000001 mg/m³"))


def _gas(ppm: float) -> Amount:
    if ppm > HIGHEST_PPM:
        raise ValueError(f"{plain(ppm)} ppm is more than all of the air. Look at the unit")
    return Amount(ppb=_kept(ppm * IN_ONE_PPM, "0.001 ppm"))


def _kept(small: float, least: str) -> int:
    if round(small) < 1:
        raise ValueError(f"less than {least} cannot be kept. Look at the unit")
    return round(small)


def concentration_words(figure: float, unit: str) -> str:
    """'0.18 mg/m³', '25 ppm': four digits that count, never as a power of ten."""
    return f"{plain(figure)}\u00a0{UNIT_WORDS.get(unit, unit)}"


def plain(figure: float, digits: int = 4) -> str:
    """A figure by its first digits that count, written out: '0.00018', '1 250'."""
    return _written(Decimal(repr(figure)), digits, ROUND_HALF_EVEN) if _tells(figure) else f"{figure:g}"


def needed(ratio: float) -> str:
    """Protection that is needed, in three digits and never told as less: 25.04 is '25.1', so that 25 reads as too
    little. What arithmetic adds beyond ten digits does not count.
    """
    if not _tells(ratio):
        return f"{ratio:g}"
    return _written(Decimal(f"{ratio:.9e}"), 3, ROUND_CEILING)


def clean(ratio: float) -> float:
    """A ratio without what arithmetic adds beyond ten digits: ten times a limit is 10, and factor 10 is enough."""
    return float(f"{ratio:.9e}")


def _tells(figure: float) -> bool:
    return figure != 0 and math.isfinite(figure)


def _written(figure: Decimal, digits: int, rounding: str) -> str:
    places = max(0, digits - 1 - figure.adjusted())
    rounded = figure.quantize(Decimal(1).scaleb(-places), rounding)
    text = f"{rounded:,f}".replace(",", "\u00a0")
    return text.rstrip("0").rstrip(".") if "." in text else text
