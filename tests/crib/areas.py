"""An area for every rule of protection: what it asks, which model is weighed, and what must be said of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from cribdesk.crib.enough import protection_reasons
from cribdesk.crib.limits import LimitKind
from cribdesk.crib.protection import AgentFinding, AreaProtection, Mixture, ProcessShade, Weighing
from cribdesk.crib.refusal import Level, Reason
from cribdesk.desk.protection import respirator_of
from tests.crib.given import TODAY, agent, asked, judged, rules
from tests.procedure.house import models

STOP, CAUTION, FINE = Level.STOP, Level.CAUTION, Level.FINE
LATER = date(2026, 10, 1)
EUROPEAN = {"WL1": "TH2", "WH1": "TH3", "FF1": "TM3", "HM1": "P3"}
"""Classes of the invented models under a European standard, invented too."""
ARC = ProcessShade("TIG welding (GTAW), 180 A", 10.0)


@dataclass(frozen=True)
class Case:
    """One area with one unit model, the reason it must give, and its words; `with_` changes how it is weighed."""

    area: AreaProtection
    code: str
    level: Level
    words: str
    model: str = "WL1"
    respirator: dict[str, Any] = field(default_factory=dict)
    with_: dict[str, Any] = field(default_factory=dict)


def weigh(case: Case, set_code: str = "us_federal") -> tuple[Reason, ...]:
    """Every reason of the case under a rule set."""
    kinds = {
        code: respirator_of(replace(one, performance=EUROPEAN.get(code, "")), rules(set_code))
        for code, one in models().items()
    }
    respirator = replace(kinds[case.model], **case.respirator)
    shelf = tuple(kinds[code] for code in ("FF1", "HM1", "WH1", "WL1"))
    with_ = replace(Weighing(rules(set_code), TODAY, 7.0, shelf=shelf), **case.with_)
    return tuple(protection_reasons(case.area, respirator, with_))


def gas(substance: str = "carbon_monoxide", name: str = "Carbon monoxide", ratio: float = 0.24) -> AgentFinding:
    """A gas at so many times its limit of 50 ppm."""
    one = replace(judged(ratio, 50.0), measured_as="CO")
    return agent(substance=substance, name=name, particle=False, unit="ppm", average=50.0 * ratio, judged=(one,))


def metal(substance: str, name: str, ratio: float) -> AgentFinding:
    """A metal of 29 CFR 1910.252(c) at so many times its limit."""
    return agent(ratio, substance=substance, name=name)


UNKNOWN = agent(known=False, average=None, judged=())
MANGANESE = {"substance": "manganese", "name": "Manganese compounds and fume"}
NO_CONTROLS: dict[str, Any] = {"controls": (), "exhaust": False, "ventilated": False}
CHROMIUM = agent(36.0, substance="chromium_vi", name="Chromium(VI) compounds")

CASES: dict[str, Case] = {
    "nothing known": Case(replace(asked(), findings=()), "not-assessed", STOP, "Plate shop, bay 3 is not assessed"),
    "one agent not known": Case(asked(agent(), UNKNOWN), "not-assessed", STOP, "Iron oxide fume is not assessed"),
    "process changed": Case(
        asked(changed="Stainless now", changed_on=LATER),
        "process-changed",
        STOP,
        "Process changed since the assessment, 1 Oct 2026",
    ),
    "process changed where none is required": Case(
        asked(required=False, changed="Stainless now", changed_on=LATER),
        "process-changed",
        CAUTION,
        "Process changed since the assessment, 1 Oct 2026",
    ),
    "review overdue": Case(
        asked(agent(review_on=date(2026, 9, 1))),
        "review",
        CAUTION,
        "Assessment of iron oxide fume was to be reviewed by 1 Sep 2026",
    ),
    "too little oxygen": Case(
        asked(oxygen_deficient=True), "oxygen", STOP, "Oxygen-deficient: no unit that filters the air helps there"
    ),
    "immediately dangerous": Case(
        asked(idlh=True),
        "idlh",
        STOP,
        "Immediately dangerous to life or health: no unit that filters the air goes there",
    ),
    "confined": Case(
        asked(confined=True, **NO_CONTROLS), "confined", STOP, "Confined space without recorded ventilation"
    ),
    "confined, ventilated": Case(asked(confined=True), "confined", CAUTION, "Confined space"),
    "explosive": Case(
        asked(explosive=True), "explosive", STOP, "Explosive location, and this unit is not approved for it"
    ),
    "only a gas known where a respirator is required": Case(
        asked(gas()), "not-assessed", STOP, "Plate shop, bay 3: nothing is assessed that this unit filters"
    ),
    "no limit": Case(
        asked(agent(judged=())), "no-limit", STOP, "Iron oxide fume: no limit to hold it against"
    ),
    "not comparable": Case(
        asked(agent(judged=(), trouble="A figure measured as Fe cannot be held against one measured as V")),
        "not-comparable",
        STOP,
        "Iron oxide fume cannot be held against its limit",
    ),
    # worked_examples.md ceil1: 29 CFR 1910.1000(a)(1)
    "only an average of manganese": Case(
        asked(agent(judged=(), average=3.0, short_missing=True, ceiling_only=True, **MANGANESE)),
        "ceiling",
        STOP,
        "Manganese compounds and fume: no short-term finding",
    ),
    "no short-term figure": Case(
        asked(agent(short_missing=True)), "short-term", CAUTION, "Iron oxide fume: no short-term finding"
    ),
    "another country's limit": Case(
        asked(agent(foreign="OSHA limit")), "limit-foreign", CAUTION, "Iron oxide fume is held against the OSHA limit"
    ),
    "no factor": Case(
        asked(),
        "no-factor",
        STOP,
        "No assigned protection factor is known for this unit",
        respirator={"factor": None},
    ),
    # worked_examples.md hr2: Cr(VI) 0.18 against 0.005 mg/m3
    "not enough": Case(
        asked(CHROMIUM), "factor", STOP, "Not enough: factor 25 against 36 needed (chromium(VI) compounds)"
    ),
    "over what may be": Case(
        asked(agent(2.0, idlh=15.0)),
        "maximum-use",
        STOP,
        "Iron oxide fume over what any filtering unit may be used in, 15\u00a0mg/m³",
    ),
    "not enough together": Case(
        asked(
            metal("chromium_vi", "Chromium(VI) compounds", 15.0),
            metal("nickel_insoluble", "Nickel", 12.0),
            mixtures=(Mixture("cancer of the lung", 27.0, ("chromium_vi", "nickel_insoluble"), True),),
        ),
        "mixture",
        STOP,
        "Not enough together: factor 25 against 27 needed",
    ),
    "enough": Case(asked(), "enough", FINE, "Enough: factor 25 against 0.6 needed"),
    "enough by a figure from memory": Case(
        asked(agent(judged=(judged(0.6, 10.0, verified=False),))),
        "enough",
        CAUTION,
        "Enough: factor 25 against 0.6 needed",
    ),
    "worn for a part": Case(
        asked(agent(8.0), exposed_hours=8.0),
        "worn-part",
        CAUTION,
        "Worn 7\u00a0h of 8\u00a0h it protects like 6.25, 8 needed",
        with_={"effective": 6.25, "exposed_hours": 8.0},
    ),
    "gas over its limit": Case(
        asked(agent(), gas(ratio=1.2)), "gas-over", STOP, "Carbon monoxide over its limit: 60 of 50\u00a0ppm"
    ),
    "gas not known": Case(
        asked(agent(), replace(gas(), known=False, judged=(), average=None)),
        "gas-not-assessed",
        STOP,
        "Carbon monoxide is there and not assessed",
    ),
    "gas not known that its elements are made for": Case(
        asked(agent(), replace(gas(), known=False, judged=(), average=None)),
        "gas-not-assessed",
        STOP,
        "Carbon monoxide is there and not assessed",
        respirator={"gases": ("carbon_monoxide",)},
    ),
    "gas below its limit": Case(
        asked(agent(), gas()), "gas", CAUTION, "Carbon monoxide below its limit: 12 of 50\u00a0ppm"
    ),
    "gases together": Case(
        asked(
            agent(),
            gas("ozone", "Ozone", 0.7),
            gas("nitrogen_dioxide", "Nitrogen dioxide", 0.6),
            mixtures=(Mixture("irritation", 1.3, ("ozone", "nitrogen_dioxide"), False),),
        ),
        "mixture",
        STOP,
        "Gases of like effect together over their limit: 1.3 of 1",
    ),
    "beryllium": Case(
        asked(metal("beryllium", "Beryllium", 1.5)), "beryllium", STOP, "Beryllium not shown to be within its limit"
    ),
    "beryllium without its short-term figure": Case(
        asked(replace(metal("beryllium", "Beryllium", 0.4), short_missing=True)),
        "beryllium",
        STOP,
        "Beryllium not shown to be within its limit",
    ),
    "beryllium that cannot be compared": Case(
        asked(replace(metal("beryllium", "Beryllium", 0.4), trouble="Measured as something else")),
        "beryllium",
        STOP,
        "Beryllium not shown to be within its limit",
    ),
    "cadmium": Case(
        asked(metal("cadmium", "Cadmium", 1.5), **NO_CONTROLS),
        "cadmium",
        STOP,
        "Cadmium not shown to be within its limit, and no local exhaust is recorded",
    ),
    "lead over its limit": Case(
        asked(metal("lead", "Lead", 1.5), **NO_CONTROLS),
        "lead",
        STOP,
        "Lead there, and no local exhaust is recorded",
    ),
    "lead within its limit": Case(
        asked(metal("lead", "Lead", 0.5), **NO_CONTROLS),
        "lead",
        CAUTION,
        "Lead there, and no local exhaust is recorded",
    ),
    "lens too light": Case(
        asked(shades=(ProcessShade("Carbon arc welding", 14.0),)),
        "shade",
        STOP,
        "Lens too light: shade 14 needed, it reaches 13",
    ),
    "lens dark enough": Case(
        asked(shades=(ARC,)), "shade", FINE, "Lens dark enough: shade 10 needed"
    ),
    "shade not known": Case(
        asked(shades=(ProcessShade("TIG welding (GTAW)", None, "the current is not given"),)),
        "shade-unknown",
        CAUTION,
        "Shade not known for TIG welding (GTAW)",
    ),
    "no lens": Case(
        asked(shades=(ARC,)), "no-lens", CAUTION, "No lens in this unit: TIG welding (GTAW), 180 A", model="HM1"
    ),
    "no air": Case(asked(), "no-air", CAUTION, "A respirator is required there", model="AD1"),
    "no air where nobody breathes the air": Case(
        asked(required=False, oxygen_deficient=True), "no-air", CAUTION, "A respirator is required there", model="AD1"
    ),
    "no air in a confined space": Case(
        asked(required=False, confined=True, **NO_CONTROLS),
        "no-air",
        CAUTION,
        "A respirator is required there",
        model="AD1",
    ),
}

CEILING = agent(2.4, judged=(judged(2.4, 5.0, LimitKind.CEILING),), short=12.0, average=None, **MANGANESE)
"""worked_examples.md hr1: manganese at 12 mg/m3 against the ceiling of 5."""
