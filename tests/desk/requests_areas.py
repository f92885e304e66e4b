"""Requests for what is assessed of areas, said of them, and held as evidence, by code."""

from __future__ import annotations

from datetime import date

from cribdesk.crib.records import (
    Area,
    AreaControl,
    AreaProcess,
    Assessment,
    AssessmentBasis,
    Control,
    FactorEvidence,
)
from cribdesk.desk.area_facts import SayAreaControl, SayAreaProcess
from cribdesk.desk.assessments import AssessArea, SampleTaken
from cribdesk.desk.equipment import AddArea
from cribdesk.desk.factor_evidence import RecordFactorEvidence
from tests.desk.requests_common import NOBODY, Fields, Makes, in_days
from tests.desk.scene import Scene, tried_house
from tests.desk.shop import Shop

MADE = date(2026, 3, 4)


def assess_a_shed(shop: Shop) -> None:
    """An area of its own with a finding on samples, a process, a control; evidence of each model that takes it."""
    shop.names["shed"] = shop.do(AddArea, area_name="Shed", required=True).subjects[0]
    area_id = shop.record(Area, "shed").id
    shop.do(AssessArea, **_finding(area_id))
    shop.do(SayAreaProcess, area_id=area_id, operation="GTAW", current_a=90)
    shop.do(SayAreaControl, area_id=area_id, control=Control.ENGINEERING, what="local exhaust", from_on=MADE)
    for model in _helmets():
        shop.do(RecordFactorEvidence, model=model, factor=1000, document="T1", dated_on=MADE)


def _helmets() -> list[str]:
    models = tried_house().models.values()
    return [one.code for one in models if one.powered and one.facepiece == "helmet_hood"]


def _finding(area_id: int) -> Fields:
    return {
        "area_id": area_id, "substance": "manganese", "basis": AssessmentBasis.SAMPLES, "made_on": MADE,
        "made_by": "Somebody", "document": "R1", "samples": (SampleTaken(0.2, 480, MADE),),
    }  # fmt: skip


def _assess(scene: Scene) -> list[Fields]:
    good = _finding(scene.id(Area, "shed"))
    return [good, good | {"made_on": in_days(scene, 1)}, good | {"limit": ""}, good | {"unit": "ppm"}]


def _sample(scene: Scene) -> list[Fields]:
    rest = {"value": 0.1, "unit": "mg/m3", "minutes": 15, "taken_on": MADE}
    found = [rest | {"assessment_id": one.id} for one in scene.find(Assessment)]
    return [*found, rest | {"assessment_id": NOBODY}, found[0] | {"minutes": 0}, found[0] | {"value": 0.0}]


def _withdraw(scene: Scene) -> list[Fields]:
    return [
        {"assessment_id": one.id, "why": why, "still_there": there}
        for one in scene.find(Assessment) for why, there in (("wrong", True), ("gone", False), (" ", True))
    ]  # fmt: skip


def _condition(scene: Scene) -> list[Fields]:
    good = {"area_id": scene.id(Area, "shed"), "said_on": MADE}
    return [good | {"oxygen_deficient": True}, good | {"exposed_minutes": 0}, good | {"said_on": in_days(scene, 1)}]


def _process(scene: Scene) -> list[Fields]:
    good = {"area_id": scene.id(Area, "shed"), "operation": "SMAW", "current_a": 120}
    return [good, good | {"current_a": 9000}, good | {"operation": "none"}]


def _end_process(scene: Scene) -> list[Fields]:
    return [{"process_id": id_} for id_ in (*(one.id for one in scene.find(AreaProcess)), NOBODY)]


def _control(scene: Scene) -> list[Fields]:
    good = {"area_id": scene.id(Area, "shed"), "control": Control.WORK_PRACTICE, "what": "one at a time"}
    return [good | {"from_on": MADE}, good | {"from_on": MADE, "what": " "}, good | {"from_on": in_days(scene, 1)}]


def _end_control(scene: Scene) -> list[Fields]:
    ids = (*(one.id for one in scene.find(AreaControl)), NOBODY)
    return [{"control_id": id_, "ended_on": on} for id_ in ids for on in (MADE, date(2020, 1, 1))]


def _limit(scene: Scene) -> list[Fields]:
    good = {"substance": "manganese", "kind": "8 h", "value": 0.1, "unit": "mg/m3", "source": "List", "from_on": MADE}
    return [good, good | {"value": 0.0}, good | {"unit": "ppm"}, good | {"source": "osha"}]


def _evidence(scene: Scene) -> list[Fields]:
    rest = {"factor": 1000, "document": "T2", "dated_on": MADE}
    models = tried_house().models
    return [rest | {"model": code} for code in sorted(models)] + [rest | {"model": sorted(models)[0], "factor": 0}]


def _withdraw_evidence(scene: Scene) -> list[Fields]:
    ids = (*(one.id for one in scene.find(FactorEvidence)), NOBODY)
    return [{"evidence_id": id_, "why": why} for id_ in ids for why in ("taken back", " ")]


AREAS: dict[str, Makes] = {
    "assess-area": _assess,
    "add-sample": _sample,
    "withdraw-assessment": _withdraw,
    "say-area-condition": _condition,
    "say-area-process": _process,
    "end-area-process": _end_process,
    "say-area-control": _control,
    "end-area-control": _end_control,
    "add-site-limit": _limit,
    "record-factor-evidence": _evidence,
    "withdraw-factor-evidence": _withdraw_evidence,
}
