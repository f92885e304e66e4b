"""What the desk knows besides the store: unit models, procedures, the site's settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from cribdesk.crib.clearance import YEAR
from cribdesk.crib.limits import Substance
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import ClearanceKind, Person, SiteSetting, Unit
from cribdesk.crib.rules import NO_RULES, RuleSet
from cribdesk.crib.shade import ShadeTable
from cribdesk.crib.shift import Shift, Turn, read_plan, turn_at, turn_before
from cribdesk.crib.used import Handling
from cribdesk.desk.settings import BY_NAME, values
from cribdesk.procedure.model import Procedure

NO_SHADES = ShadeTable(())
MONTH_DAYS = 30


@dataclass(frozen=True)
class House:
    """Models and procedures by code, settings by name (settings.py has them all)."""

    models: Mapping[str, UnitModel]
    procedures: Mapping[str, Procedure]
    settings: Mapping[str, str]
    handling: tuple[Handling, ...] = ()  # of used filters, by what was in the air; none where there is no table
    substances: Mapping[str, Substance] = field(default_factory=dict)  # the table of limits
    shades: ShadeTable = NO_SHADES
    rule_sets: Mapping[str, RuleSet] = field(default_factory=dict)

    @classmethod
    def of(cls, models: Mapping[str, UnitModel], procedures: Mapping[str, Procedure]) -> House:
        """A house with every setting at its default."""
        return cls(models, procedures, values(()))

    def as_stored(self, stored: Sequence[SiteSetting]) -> House:
        """The house by the settings that the store has now; itself where it goes by them already."""
        own = {one.name: one.value for one in stored if one.name in BY_NAME}
        if own.items() <= self.settings.items():
            return self
        return replace(self, settings={**self.settings, **own})

    @cached_property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        return ZoneInfo(self.settings["zone"])

    @cached_property
    def plan(self) -> tuple[Shift, ...]:
        """The site's shifts."""
        return read_plan(self.settings["shift_plan"])

    @property
    def rules(self) -> RuleSet:
        """The rule set that the site chose; an empty one where it has no file."""
        return self.rule_sets.get(self.settings.get("rule_set", ""), NO_RULES)

    @property
    def clearance_months(self) -> dict[ClearanceKind, int]:
        """Months that a training and a fit test run for, by the rule set in force."""
        found = self.rules.intervals
        return {kind: found[kind.value].months if kind.value in found else usual for kind, usual in YEAR.items()}

    def substance(self, code: str) -> Substance | None:
        """A substance of the table of limits, with the limits of the rule set in force; None for none of it."""
        known = self.substances.get(code)
        return known if known is None else self.rules.substance(known)

    @property
    def hours_a_day(self) -> float:
        """Hours a unit is worn on a usual day."""
        return float(self.settings["hours_a_day"])

    @property
    def due_chance(self) -> float:
        """The chance of a change from which on the bench's lists name a part: 0.05 at the 95 % early bound."""
        return 1 - int(self.settings["due_bound"]) / 100

    def model_of(self, unit: Unit) -> UnitModel:
        """The unit's model. Raises LookupError with plain words where its file is missing."""
        model = self.models.get(unit.model)
        if model is None:
            raise LookupError(f"{unit.label} is of model {unit.model}, which has no file in resources/units")
        return model

    def from_elsewhere(self, person: Person) -> bool:
        """Whether another employer answers for the person: a contractor or a visitor."""
        return bool(person.employer.strip()) and not self.same_employer(person.employer, self.settings["own_employer"])

    @staticmethod
    def same_employer(one: str, other: str) -> bool:
        """Whether two texts name one employer: case and blanks at the ends do not count."""
        return one.strip().casefold() == other.strip().casefold()

    def inspection_days(self, model: UnitModel) -> int:
        """Days an assigned unit is used from one bench inspection to the next: the site's, or what is shorter.

        That is the model's, and of powered units the thorough examination with a measured flow, where the rule set in
        force asks for one.
        """
        examination = self.rules.intervals.get("thorough examination")
        by_law = examination.months * MONTH_DAYS if examination and model.powered else None
        days = (int(self.settings["assigned_inspection_days"]), model.inspect_days, by_law)
        return min(one for one in days if one is not None)

    def procedure_of(self, model: UnitModel, kind: str) -> Procedure | None:
        """The model's procedure of a kind ('hand-over', 'pre-use', ...), or None."""
        code = model.procedures.get(kind)
        return self.procedures.get(code) if code else None

    def today(self, moment: datetime) -> date:
        """The site's date."""
        return moment.astimezone(self.zone).date()

    def turn(self, moment: datetime) -> Turn:
        """The shift units are issued for at that moment."""
        return turn_at(self.plan, self.zone, moment, timedelta(minutes=int(self.settings["early_minutes"])))

    def inspected_since(self, moment: datetime) -> datetime:
        """From when on a bench inspection is current: this shift and the last (a house rule)."""
        early = timedelta(minutes=int(self.settings["early_minutes"]))
        return turn_before(self.plan, self.zone, self.turn(moment)).start - early
