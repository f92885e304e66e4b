"""What an area asks and what a unit gives, as plain values: the figures are handed in, worked out.

Assessing exposure is the work of an industrial hygienist; what stands here repeats their finding and makes none.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cribdesk.crib.limits import LimitKind
from cribdesk.crib.records import Control
from cribdesk.crib.refusal import Reason
from cribdesk.crib.rules import RuleSet

HYGIENIST = "An industrial hygienist decides."
STOPS = (
    "no-rules", "idlh", "oxygen", "explosive", "maximum-use", "gas-over", "factor", "mixture", "no-factor",
    "not-assessed", "gas-not-assessed", "process-changed", "confined", "beryllium", "cadmium", "lead", "ceiling",
    "not-comparable", "no-limit", "shade",
)  # fmt: skip
"""Codes of what can stop a unit for an area, worst first (a house rule)."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One figure against one limit, both in the limit's unit and measured as the limit is.

    `lawful` says that the limit was lowered by law for a long day; `ratio` is concentration / limit.
    """

    body: str
    kind: LimitKind
    concentration: float
    limit: float
    ratio: float
    measured_as: str
    source: str
    verified: bool
    lawful: bool = False


@dataclass(frozen=True, slots=True)
class AgentFinding:
    """What stands of one agent: the hygienist's figures, and what they come to.

    `unit` is that of every figure: mg/m3 of particles, ppm of a gas. `known` is False where nobody has a finding;
    `trouble` says why the figures cannot be held against the limits; `foreign` names a limit that does not bind here.
    `short_missing`: a short-term limit stands and no short-term figure; `ceiling_only`: and nothing else binds.
    `peak` is the highest figure of all, a single sample's too. `sampled_on` is the day of the last sample it rests on.
    `long_day` multiplies an 8-hour limit on a longer day: advice beside the limit, None where there is none.
    """

    substance: str
    name: str
    particle: bool
    unit: str
    known: bool
    made_on: date
    form: str = ""
    basis: str = ""
    measured_as: str = ""
    average: float | None = None
    short: float | None = None
    judged: tuple[Judged, ...] = ()
    short_missing: bool = False
    ceiling_only: bool = False
    idlh: float | None = None
    idlh_verified: bool = True
    trouble: str = ""
    foreign: str = ""
    review_on: date | None = None
    long_day: float | None = None
    peak: float | None = None
    sampled_on: date | None = None

    @property
    def subject(self) -> str:
        """What tells its reasons from those of other agents."""
        return f"{self.substance} {self.form}".strip()

    @property
    def worst(self) -> Judged | None:
        """The figure that needs most protection."""
        return max(self.judged, key=lambda one: one.ratio, default=None)

    @property
    def ratio(self) -> float | None:
        """Protection that is needed: concentration / limit, the highest; None where nothing could be judged."""
        return self.worst.ratio if self.worst else None

    @property
    def over(self) -> bool:
        """Whether a limit is exceeded."""
        return self.ratio is not None and self.ratio > 1

    @property
    def highest(self) -> float | None:
        """The highest concentration known, for what is immediately dangerous."""
        return max((one for one in (self.average, self.short, self.peak) if one is not None), default=None)

    @property
    def tells_of(self) -> date:
        """The last day it tells of: a report written later tells of no more than its samples."""
        return min(self.made_on, self.sampled_on) if self.sampled_on else self.made_on


@dataclass(frozen=True, slots=True)
class Mixture:
    """Substances of like effect and their index: the sum of concentration / limit, over 1 is over the limit."""

    name: str
    index: float
    substances: tuple[str, ...]
    particle: bool


@dataclass(frozen=True, slots=True)
class ProcessShade:
    """A process done there: the least shade for it, or why the table cannot tell."""

    words: str
    minimum: float | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class AreaProtection:
    """All that an issue is weighed by of one area. `changed` tells of a change of process that asks for new findings.

    `exposed_hours` is how long the air is met in a shift, None where nobody said. `exhaust`: local exhaust is in
    place; `ventilated`: that, or other ventilation.
    """

    name: str
    required: bool
    findings: tuple[AgentFinding, ...] = ()
    oxygen_deficient: bool = False
    idlh: bool = False
    confined: bool = False
    explosive: bool = False
    exposed_hours: float | None = None
    changed: str = ""
    changed_on: date | None = None
    shades: tuple[ProcessShade, ...] = ()
    controls: tuple[Control, ...] = ()
    exhaust: bool = False
    ventilated: bool = False
    mixtures: tuple[Mixture, ...] = ()

    @property
    def assessed(self) -> bool:
        """Whether exposure is known or reasonably estimated: a finding of at least one agent stands."""
        return any(one.known for one in self.findings)

    @property
    def over_limit(self) -> bool:
        """Whether a limit is exceeded, alone or by substances of like effect: then a respirator is required."""
        return any(one.over for one in self.findings) or any(one.index > 1 for one in self.mixtures)

    @property
    def outdated(self) -> tuple[AgentFinding, ...]:
        """Findings of before the process was changed."""
        if self.changed_on is None:
            return ()
        return tuple(one for one in self.findings if one.known and one.tells_of < self.changed_on)

    @property
    def air_forbidden(self) -> bool:
        """Whether nobody breathes the air of the place itself, by what is marked of it."""
        return self.oxygen_deficient or self.idlh or (self.confined and not self.ventilated)

    @property
    def only_worn(self) -> bool:
        """Whether nothing above personal protection is recorded."""
        return not any(one is not Control.PROTECTION for one in self.controls)


@dataclass(frozen=True, slots=True)
class Respirator:
    """A unit model as protection. `factor` is the assigned one, None where the rule set has none for its class.

    `evidence` names the maker's test evidence that raised it; `raised` what it would be with such evidence, where that
    is possible and none is held. `gases` are substances its approved elements remove; `respirator_class` is '' for
    what gives no air.
    """

    model: str
    name: str
    respirator_class: str
    mode: str
    facepiece: str
    factor: float | None
    sound: bool = True
    evidence: str = ""
    raised: float | None = None
    gases: tuple[str, ...] = ()
    electric: bool = True
    explosive_approved: bool = False
    shade_range: tuple[int, int] | None = None

    @property
    def breathes(self) -> bool:
        """Whether it gives filtered air at all."""
        return bool(self.respirator_class)


@dataclass(frozen=True, slots=True)
class Weighing:
    """Under which rules, on which day, and for how long: `worn_hours` of `exposed_hours` until it is due, a day.

    `effective` is the factor that is left then; None where it is worn all the time that it is exposed, or where nobody
    said how long that is. `shelf` are the other models of the crib, to name what would be enough.
    """

    rules: RuleSet
    today: date
    worn_hours: float | None = None
    exposed_hours: float | None = None
    effective: float | None = None
    shelf: tuple[Respirator, ...] = ()


@dataclass(frozen=True, slots=True)
class Enough:
    """Whether one class of unit is enough for an area, with what stands against it; `ratio` is what is needed."""

    respirator: Respirator
    stops: tuple[Reason, ...]
    cautions: tuple[Reason, ...]
    ratio: float | None

    @property
    def enough(self) -> bool:
        """Nothing stops it."""
        return not self.stops


def needed_factor(area: AreaProtection) -> float | None:
    """The protection that the particles of an area need: the highest ratio, alone or together; None while unknown."""
    alone = [one.ratio for one in area.findings if one.particle and one.ratio is not None]
    together = [one.index for one in area.mixtures if one.particle]
    return max((*alone, *together), default=None)


def area_notes(area: AreaProtection, rules: RuleSet) -> tuple[str, ...]:
    """What whoever plans the work should see of an area; nothing of it is said at the counter."""
    if area.required and area.only_worn:
        basis = rules.paragraph("controls")
        return (f"Nothing above personal protection is recorded here: a respirator comes last. {basis}.",)
    return ()
