"""What is true of the crib and nobody can see directly: lives, loading, health, mishaps."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp

from chance import Chance
from inputs import figures, lives, rows

from cribdesk.crib.model import UnitModel

SHOWN_AT = {
    "cover-lenses": ("outer-cover-lens", "inner-cover-lens"),
    "auto-darkening-lens": ("lens-battery", "auto-darkening-lens"),
    "head-assembly": ("seal", "head-assembly"),
    "shell": ("head-assembly",),
    "shade": (),
    "straps": ("head-straps",),
    "filter": ("particulate-filter",),
    "body": ("head-assembly", "facepiece"),
}
"""Positions whose end of life a look step shows, where it is not the step's own name."""

LOADED_AT_AIRFLOW = ("WL1", "WH1", "FF1")
"""Models whose particulate filter ends its life at the airflow reading, not at a look."""


@dataclass
class Sitting:
    """A part at a position: the life it was dealt and how much of it is used, in true hours."""

    life: float
    used: float = 0.0

    @property
    def share(self) -> float:
        """Used life as a part of the whole."""
        return self.used / self.life

    @property
    def worn_out(self) -> bool:
        """Whether its life is over."""
        return self.used >= self.life


@dataclass
class TrueUnit:
    """One unit as it truly is."""

    id: int
    label: str
    model: UnitModel
    base_flow: float
    run_effect: float
    parts: dict[str, Sitting] = field(default_factory=dict)
    mishaps: dict[str, str] = field(default_factory=dict)  # step and what mends it
    worn_hours: float = 0.0
    filter_hours: float = 0.0  # since the particulate filter was changed


class Nature:
    """Deals lives and effects, lets units wear, and knows what a look or a meter would show."""

    def __init__(self, chance: Chance, models: dict[str, UnitModel], steps: dict[str, frozenset[str]]) -> None:
        self.chance = chance
        self.figures = figures()
        self.lives = lives()
        self.units: dict[int, TrueUnit] = {}
        self.batteries: dict[int, float] = {}
        self.flows = {row["model"]: row for row in rows("units")}
        self.mishaps = [(row["step"], float(row["chance_a_use"]), row["mended_by"]) for row in rows("mishaps")]
        self.dust = {row["name"]: float(row["true_dust_ug_m3"]) for row in rows("areas")}
        self.steps = steps  # by model

    def new_unit(self, id: int, label: str, model: UnitModel) -> TrueUnit:
        """A unit with new parts at every position."""
        effect = self.chance.normal(0.0, self.figures["unit_sd"])
        unit = TrueUnit(id, label, model, self._blower_flow(model), effect)
        for position in model.positions:
            self._deal(unit, position.code)
        self.units[id] = unit
        return unit

    def new_battery(self, id: int) -> float:
        """The pack's effect on the log run time."""
        effect = self.chance.normal(0.0, self.figures["battery_sd"])
        if self.chance.happens(self.figures["weak_batteries"]):
            effect += self.figures["weak_effect"]
        self.batteries[id] = effect
        return effect

    def fitted(self, unit: TrueUnit, position: str) -> None:
        """A new part sits at the position."""
        self._deal(unit, position)
        if position == "particulate-filter":
            unit.filter_hours = 0.0
        if position == "blower":
            unit.base_flow = self._blower_flow(unit.model)

    def wear(self, unit: TrueUnit, hours: float, area: str) -> None:
        """The unit is worn so long in the area."""
        dusty = self.dust.get(area, self.figures["reference_dust_ug_m3"]) / self.figures["reference_dust_ug_m3"]
        for position, sitting in unit.parts.items():
            by_dust = self.lives[unit.model.code, position].by_dust
            sitting.used += hours * (dusty if by_dust else 1.0)
        unit.worn_hours += hours
        unit.filter_hours += hours
        for step, chance, mended_by in self.mishaps:
            if step in self.steps[unit.model.code] and self.chance.happens(chance):
                unit.mishaps.setdefault(step, mended_by)

    def causes(self, unit: TrueUnit, step: str) -> list[tuple[str, str]]:
        """What is wrong where this step looks: (kind of remedy, position)."""
        found = []
        for position in SHOWN_AT.get(step, (step,)):
            sitting = unit.parts.get(position)
            seen = not (position == "particulate-filter" and unit.model.code in LOADED_AT_AIRFLOW)
            if sitting is not None and sitting.worn_out and seen:
                found.append(("change", position))
        if step in unit.mishaps and step not in ("airflow", "alarm"):
            found.append((unit.mishaps[step], ""))
        return found

    def lens_spattered(self, unit: TrueUnit) -> bool:
        """What the hand-over's look through the lens would show."""
        return bool(self.causes(unit, "cover-lenses"))

    def mend(self, unit: TrueUnit, step: str, kind: str) -> None:
        """A mishap of that step is put right by its remedy."""
        if unit.mishaps.get(step) == kind:
            del unit.mishaps[step]

    def flow(self, unit: TrueUnit) -> float:
        """The true airflow at the lowest speed, in L/min."""
        row = self.flows[unit.model.code]
        least = (unit.model.flow_minimum_lpm or 0.0) + self.figures["sure_lpm"]
        if "airflow" in unit.mishaps:
            return float(unit.model.flow_plausible_lpm or 0.0) + 9.0
        base = unit.base_flow - float(row["blower_drop_per_1000_h"]) * unit.parts["blower"].used / 1000
        pre = float(row["prefilter_drop_lpm"]) * min(unit.parts["pre-filter"].share, 1.2)
        share = unit.parts["particulate-filter"].share
        loaded = (base - least) * share ** self.figures["particulate_exponent"]
        return base - pre - loaded

    def reading(self, unit: TrueUnit, meter_error: float, shows: float) -> float:
        """One reading of the airflow, in whole L/min as read off; the meter `shows` so many for 1 in this air."""
        wrong = meter_error + self.chance.normal(0.0, self.figures["reading_sd_lpm"])
        return float(round(self.flow(unit) * shows + wrong))

    def run_hours(self, unit: TrueUnit, battery_id: int, speed: str, cycles: int, filter_hours: float) -> float:
        """How long this pack would run this unit."""
        figure = self.figures
        log_hours = (
            figure[f"mu_{speed}"]
            + self.batteries[battery_id]
            + unit.run_effect
            + figure["fade_per_100_cycles"] * cycles / 100
            + figure["load_per_100_h"] * filter_hours / 100
            + self.chance.normal(0.0, figure["run_sigma"])
        )
        return exp(log_hours)

    def _deal(self, unit: TrueUnit, position: str) -> None:
        life = self.lives[unit.model.code, position]
        unit.parts[position] = Sitting(max(1.0, self.chance.weibull(life.shape, life.scale_hours)))

    def _blower_flow(self, model: UnitModel) -> float:
        row = self.flows[model.code]
        if not row["base_flow_lpm"]:
            return 0.0
        mean, sd = float(row["base_flow_lpm"]), float(row["base_flow_sd"])
        return self.chance.normal(mean, min(sd, 3.0))
