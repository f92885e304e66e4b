"""Conditions, processes and controls of an area; test evidence of a model."""

from __future__ import annotations

import csv
from datetime import date
from typing import Any

import pytest

from cribdesk import resources
from cribdesk.crib.records import Area, AreaControl, AreaProcess, Control, FactorEvidence
from cribdesk.crib.refusal import AlreadyWithdrawn, NotAllowed, NothingToSay, NotQualified, Unknown, WrongFigure
from cribdesk.desk.area_facts import (
    EndAreaControl,
    EndAreaProcess,
    SayAreaCondition,
    SayAreaControl,
    SayAreaProcess,
    conditions_of,
    last_change,
    shade_of,
    standing_condition,
)
from cribdesk.desk.equipment import AddArea
from cribdesk.desk.factor_evidence import (
    LEAST_TESTED,
    WITH_EVIDENCE,
    RecordFactorEvidence,
    WithdrawFactorEvidence,
    standing_evidence,
    why_no_evidence,
)
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house

SAID = date(2026, 3, 4)


def area_id(shop: Shop) -> int:
    """An area of which nothing is noted but what a test notes."""
    return shop.record(Area, "shed").id


@pytest.fixture(autouse=True)
def _shed(own_shop: Shop) -> None:
    own_shop.names["shed"] = own_shop.do(AddArea, area_name="Shed", required=True).subjects[0]


def latest(shop: Shop, kind: type[Any]) -> Any:
    """The newest record of a kind."""
    with shop.store.reading() as reader:
        return reader.latest(kind)


def test_the_last_saying_stands(own_shop: Shop) -> None:
    """A change of process is not taken back by a saying without one."""
    base: dict[str, Any] = {"area_id": area_id(own_shop), "said_on": SAID}
    receipt = own_shop.do(SayAreaCondition, **base, confined=True, exposed_minutes=600, changed="cored wire")
    assert "a confined space, exposed 600 min a shift. Process changed: cored wire" in receipt.sentence
    own_shop.do(SayAreaCondition, **base, explosive=True)
    with own_shop.store.reading() as reader:
        rows = conditions_of(reader, base["area_id"])
    now, change = standing_condition(rows), last_change(rows)
    assert now is not None
    assert (now.confined, now.explosive, now.exposed_minutes) == (False, True, None)
    assert change is not None
    assert (change.changed, change.said_on) == ("cored wire", SAID)
    assert standing_condition([]) is last_change([]) is None


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"exposed_minutes": 0}, "Exposed time: it lies above zero"),
        ({"exposed_minutes": -5}, "Exposed time"),
        ({"exposed_minutes": 1441}, "within 24 h"),
        ({"said_on": date(2030, 1, 1)}, "Said on: 1 Jan 2030 is still to come"),
    ],
)
def test_a_condition_that_cannot_be(own_shop: Shop, more: dict[str, Any], why: str) -> None:
    """By its field."""
    with refused(own_shop, WrongFigure, why):
        own_shop.do(SayAreaCondition, **{"area_id": area_id(own_shop), "said_on": SAID} | more)


def test_a_process_gives_its_shade(own_shop: Shop) -> None:
    """29 CFR 1910.133(a)(5): arc welding with a 4/32 in electrode at 120 A, shade 8; ended it counts no more."""
    fields = {"area_id": area_id(own_shop), "operation": "SMAW", "current_a": 120, "electrode_32nds": 4}
    receipt = own_shop.do(SayAreaProcess, **fields)
    assert "Stick welding (SMAW), 120 A, 4/32 in electrode noted, shade 8 at least" in receipt.sentence
    process = latest(own_shop, AreaProcess)
    assert shade_of(process, house().shades) == 8
    with refused(own_shop, NothingToSay):
        own_shop.do(SayAreaProcess, **fields)
    own_shop.do(EndAreaProcess, process_id=process.id)
    assert not latest(own_shop, AreaProcess).active
    with refused(own_shop, NothingToSay):
        own_shop.do(EndAreaProcess, process_id=process.id)
    own_shop.do(SayAreaProcess, area_id=area_id(own_shop), operation="OXYGEN_CUTTING", plate_64ths=128)
    assert shade_of(latest(own_shop, AreaProcess), house().shades) == 4  # 2 in: medium, 1 to 6 in


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"operation": "LASER"}, "not in the table of shades"),
        ({"operation": "GMAW_FCAW"}, "the shade depends on the current, which is not given"),
        ({"operation": "GMAW_FCAW", "current_a": 900}, "outside the shade table"),
        ({"operation": "GMAW_FCAW", "current_a": 900}, "the maker's instructions or a qualified person decide"),
        ({"operation": "GMAW_FCAW", "current_a": 0}, "a number above zero"),
        ({"operation": "GMAW_FCAW", "current_a": -3}, "a number above zero"),
        ({"operation": "GAS_WELDING", "plate_64ths": 0}, "a number above zero"),
    ],
)
def test_a_process_outside_the_table(own_shop: Shop, more: dict[str, Any], why: str) -> None:
    """Nothing is guessed between rows."""
    with refused(own_shop, WrongFigure, why):
        own_shop.do(SayAreaProcess, **{"area_id": area_id(own_shop)} | more)


def test_controls_come_and_go(own_shop: Shop) -> None:
    """By rank, with their days."""
    fields = {"area_id": area_id(own_shop), "control": Control.ENGINEERING, "what": "local exhaust", "from_on": SAID}
    own_shop.do(SayAreaControl, **fields)
    control = latest(own_shop, AreaControl)
    assert (control.control, control.what, control.ended_on) == (Control.ENGINEERING, "local exhaust", None)
    for more, why in (({"what": " "}, "Control: say what"), ({"from_on": date(2030, 1, 1)}, "still to come")):
        with refused(own_shop, WrongFigure, why):
            own_shop.do(SayAreaControl, **fields | more)
    with refused(own_shop, WrongFigure, "it was in place from 4 Mar 2026"):
        own_shop.do(EndAreaControl, control_id=control.id, ended_on=date(2026, 3, 3))
    own_shop.do(EndAreaControl, control_id=control.id, ended_on=date(2026, 9, 1))
    with refused(own_shop, AlreadyWithdrawn, "1 Sep 2026"):
        own_shop.do(EndAreaControl, control_id=control.id, ended_on=date(2026, 9, 2))


def test_who_may_say_it(own_shop: Shop) -> None:
    """The office, of an area that is there."""
    sayings: tuple[tuple[Any, dict[str, Any]], ...] = (
        (SayAreaCondition, {"area_id": 9999, "said_on": SAID}),
        (SayAreaProcess, {"area_id": 9999, "operation": "SMAW", "current_a": 100}),
        (EndAreaProcess, {"process_id": 9999}),
        (SayAreaControl, {"area_id": 9999, "control": Control.ENGINEERING, "what": "x", "from_on": SAID}),
        (EndAreaControl, {"control_id": 9999, "ended_on": SAID}),
        (WithdrawFactorEvidence, {"evidence_id": 9999, "why": "x"}),
    )
    for operation, fields in sayings:
        with refused(own_shop, Unknown):
            own_shop.do(operation, **fields)
        with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
            own_shop.do(operation, **fields)


# Test evidence.


def helmet() -> str:
    """A powered helmet or hood of those shipped."""
    return next(one.code for one in house().models.values() if one.powered and one.facepiece == "helmet_hood")


def test_evidence_is_recorded_and_withdrawn(own_shop: Shop) -> None:
    """29 CFR 1910.134(d)(3)(i)(A), Table 1 note 4: per model, with date and document."""
    fields = {"model": helmet(), "factor": 1000, "document": "TR-9 (invented)", "dated_on": SAID}
    own_shop.do(RecordFactorEvidence, **fields)
    one = latest(own_shop, FactorEvidence)
    assert standing_evidence([one]) == {helmet(): one}
    with refused(own_shop, WrongFigure, "Why"):
        own_shop.do(WithdrawFactorEvidence, evidence_id=one.id, why=" ")
    own_shop.do(WithdrawFactorEvidence, evidence_id=one.id, why="the maker took it back")
    assert standing_evidence([latest(own_shop, FactorEvidence)]) == {}
    with refused(own_shop, AlreadyWithdrawn):
        own_shop.do(WithdrawFactorEvidence, evidence_id=one.id, why="again")
    for more, why in (
        ({"factor": 999}, "has to show 1\u00a0000 or more"),
        ({"factor": 0}, "has to show"),
        ({"factor": 10**7}, "has to show"),
        ({"document": " "}, "Document: say which paper"),
        ({"dated_on": date(2030, 1, 1)}, "Dated: 1 Jan 2030 is still to come"),
        ({"model": "XX9"}, "there is no unit model XX9"),
    ):
        with refused(own_shop, WrongFigure, why):
            own_shop.do(RecordFactorEvidence, **fields | more)


def test_a_loose_fitting_facepiece_has_no_such_route(own_shop: Shop) -> None:
    """Nor has what is not powered, nor a tight-fitting one: each with its words."""
    said = {}
    for model in house().models.values():
        try:
            own_shop.do(RecordFactorEvidence, model=model.code, factor=1000, document="x", dated_on=SAID)
        except NotAllowed as failure:
            said[model.facepiece if model.powered else "not powered"] = failure.sentence
    assert "has the factor 25 whatever its maker tested" in said["loose_fitting_facepiece"]
    assert "needs no test evidence" in said["full_facepiece"]
    assert "not a powered respirator" in said["not powered"]
    assert "helmet_hood" not in said


def test_the_evidence_route_is_that_of_the_table() -> None:
    """Table 1 of 29 CFR 1910.134: exactly the powered classes whose factor differs without evidence, and the level."""
    text = (resources.data("resources") / "tables" / "assigned_protection_factors.csv").read_text("utf-8")
    rows = [row for row in csv.DictReader(text.splitlines()) if row["mode"] == "powered"]
    raised = {row["facepiece"] for row in rows if row["apf"] != row["apf_without_evidence"]}
    assert raised == set(WITH_EVIDENCE)
    assert {int(row["apf"]) for row in rows if row["facepiece"] in raised} == {LEAST_TESTED}
    assert all(bool(why_no_evidence(row["facepiece"], True)) == (row["facepiece"] not in raised) for row in rows)
