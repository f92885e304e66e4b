"""A unit in good order and somebody cleared to take it, as plain values, to be spoilt one fact at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from cribdesk.crib.change import outlook
from cribdesk.crib.clearance import ClearanceState
from cribdesk.crib.limits import LimitKind
from cribdesk.crib.protection import AgentFinding, AreaProtection, Judged, Weighing
from cribdesk.crib.reasons import Facts, Protection
from cribdesk.crib.records import (
    Area,
    Battery,
    Cleaning,
    ClearanceKind,
    Control,
    Custody,
    Fitted,
    Hold,
    Inspection,
    Instrument,
    Person,
    SealLook,
    Unit,
    Verdict,
    Where,
)
from cribdesk.crib.rules import RuleSet
from cribdesk.crib.serviceable import Standing
from cribdesk.desk.protection import respirator_of
from cribdesk.opening import load_house
from tests.procedure.house import models

NOW = datetime(2026, 11, 25, 5, 12, tzinfo=UTC)
TODAY = date(2026, 11, 25)
VIENNA = ZoneInfo("Europe/Vienna")
FOUND = date(2026, 3, 4)
ADDED = NOW - timedelta(days=40)
BENCHED = NOW - timedelta(minutes=32)


def unit(model: str = "WL1", **changes: Any) -> Unit:
    """A unit on the rack."""
    return replace(Unit(id=7, label="U000417Q", model=model, where=Where.RACK, added_at=ADDED), **changes)


def fitted(model: str = "WL1") -> tuple[Fitted, ...]:
    """A part at every position, new when the unit was put together."""
    return tuple(
        Fitted(id=n, unit_id=7, position=one.code, item_id=n, fitted_at=ADDED, fitted_at_hours=0.0)
        for n, one in enumerate(models()[model].positions, 1)
    )


def with_part(standing: Standing, position: str, **changes: Any) -> Standing:
    """The standing with one part otherwise."""
    parts = tuple(replace(one, **changes) if one.position == position else one for one in standing.fitted)
    return replace(standing, fitted=parts)


def passed(**changes: Any) -> Inspection:
    """A bench inspection that passed half an hour ago."""
    made = Inspection(
        id=3, unit_id=7, kind="bench", procedure="bench", wording_id=1, by_id=1,
        started_at=BENCHED - timedelta(minutes=5), ended_at=BENCHED, verdict=Verdict.PASS, answers="",
    )  # fmt: skip
    return replace(made, **changes)


def back(at: datetime, person_id: int = 2) -> Custody:
    """A custody that ended."""
    return Custody(
        id=5, unit_id=7, person_id=person_id, issued_at=at - timedelta(hours=6), issued_by=1, returned_at=at
    )


def cleaned(at: datetime) -> Cleaning:
    """A cleaning."""
    return Cleaning(id=4, unit_id=7, inspection_id=2, by_id=1, at=at)


def hold(reason: str = "airflow", proof: str = "bench inspection", **changes: Any) -> Hold:
    """An open hold, found five minutes ago."""
    made = Hold(
        id=9, unit_id=7, reason=reason, proof=proof, found_by=1, found_at=NOW - timedelta(minutes=5), tag="T0000012"
    )
    return replace(made, **changes)


def standing(model: str = "WL1", **changes: Any) -> Standing:
    """Ready: never worn, inspected, everything fitted."""
    made = Standing(
        unit=unit(model), model=models()[model], holds=(), fitted=fitted(model), last_custody=None, last_cleaning=None,
        last_pass=passed(), last_look=None, today=TODAY,
    )  # fmt: skip
    return replace(made, **changes)


def clearances(**stands: bool) -> tuple[ClearanceState, ...]:
    """All three on file; one named False has lapsed."""
    return tuple(
        ClearanceState(kind, good, date(2025, 3, 1), date(2027, 3, 1) if good else date(2026, 11, 22))
        for kind in ClearanceKind
        for good in [stands.get(kind.name.lower(), True)]
    )


@cache
def rules(code: str = "us_federal") -> RuleSet:
    """A shipped rule set."""
    house, _ = load_house()
    return house.rule_sets[code]


def judged(ratio: float, limit: float = 5.0, kind: LimitKind = LimitKind.SHIFT, verified: bool = True) -> Judged:
    """A figure at so many times its limit."""
    return Judged("osha", kind, ratio * limit, limit, ratio, "Fe2O3", "29 CFR 1910.1000 Table Z-1", verified)


def agent(ratio: float = 0.6, **changes: Any) -> AgentFinding:
    """What stands of one agent: iron oxide fume at so many times its limit."""
    one = judged(ratio, 10.0)
    made = AgentFinding(
        "iron_oxide_fume", "Iron oxide fume", True, "mg/m3", True, FOUND, average=one.concentration, judged=(one,)
    )
    return replace(made, **changes)


def asked(*findings: AgentFinding, **changes: Any) -> AreaProtection:
    """What an area asks: a respirator is required, local exhaust is in place."""
    made = AreaProtection(
        "Plate shop, bay 3", True, findings or (agent(),), controls=(Control.ENGINEERING,), exhaust=True,
        ventilated=True,
    )  # fmt: skip
    return replace(made, **changes)


def protection(model: str = "WL1", area: AreaProtection | None = None, **changes: Any) -> Protection:
    """A model against what an area asks."""
    respirator = replace(respirator_of(models()[model], rules()), **changes)
    return Protection(area or asked(), respirator, Weighing(rules(), TODAY, 7.0))


def facts(model: str = "WL1", at: Standing | None = None, **changes: Any) -> Facts:
    """Everything in favour of the issue."""
    good = at or standing(model)
    chosen = models()[model]
    made = Facts(
        unit=good.unit,
        model=chosen,
        standing=good,
        custody=None,
        holder=None,
        outlook=outlook(good, 7.0),
        person=Person(id=2, label="P000138F", name="Łucja Wronecka"),
        clearances=clearances(),
        holds_now=(),
        battery=Battery(id=1, label="B000077D", model=chosen.battery_models[0], charged_at=NOW)
        if chosen.battery_models
        else None,
        battery_in_use=False,
        area=Area(id=1, label="A000003P", name="Plate shop, bay 3"),
        due_at=NOW + timedelta(hours=8),
        planned_hours=7.0,
        needs_full_check=False,
        meters=(
            Instrument(
                id=1, label="M000002T", name="Flow meter 2", uncertainty_lpm=3.0, calibrated_on=date(2026, 5, 3),
                calibrated_until=date(2027, 5, 3),
            ),
        ),
        today=TODAY,
        zone=VIENNA,
        seal=SealLook(id=1, person_id=2, at=NOW - timedelta(minutes=1), by_id=1) if chosen.tight_fitting else None,
        protection=protection(model),
    )
    return replace(made, **changes)
