"""Findings of the hygienist: entered with their unit, sampled, withdrawn; bad input refused by name of the field."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.limits import LimitKind
from cribdesk.crib.records import Area, Assessment, AssessmentBasis, Sample, SiteLimit
from cribdesk.crib.refusal import AlreadyWithdrawn, NotQualified, Superseded, Unknown, WrongFigure
from cribdesk.desk.assessments import (
    AddSample,
    AssessArea,
    SampleTaken,
    WithdrawAssessment,
    assessments_of,
    has_finding,
)
from cribdesk.desk.equipment import AddArea
from cribdesk.desk.site_limits import AddSiteLimit, Held, bodies_of, limits_of
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house

MADE = date(2026, 3, 4)
STATED, SAMPLES, OBJECTIVE = AssessmentBasis.STATED, AssessmentBasis.SAMPLES, AssessmentBasis.OBJECTIVE


def area_id(shop: Shop) -> int:
    """An area of which nothing is noted but what a test notes."""
    return shop.record(Area, "shed").id


@pytest.fixture(autouse=True)
def _shed(own_shop: Shop) -> None:
    own_shop.names["shed"] = own_shop.do(AddArea, area_name="Shed", required=True).subjects[0]


def fields(shop: Shop, **more: Any) -> dict[str, Any]:
    """A sound finding of hexavalent chromium, a few things otherwise."""
    made = {
        "area_id": area_id(shop), "substance": "chromium_vi", "basis": STATED, "made_on": MADE,
        "unit": "mg/m3", "concentration": 0.18, "made_by": "Ines Fabry (invented)", "document": "report 12",
    }  # fmt: skip
    return made | more


def assess(shop: Shop, **more: Any) -> Assessment:
    """Entered, and read back."""
    shop.do(AssessArea, **fields(shop, **more))
    with shop.store.reading() as reader:
        found = reader.latest(Assessment)
    assert found is not None
    return found


def standing(shop: Shop) -> list[Assessment]:
    """What stands in the area."""
    id_ = area_id(shop)
    with shop.store.reading() as reader:
        return assessments_of(reader, id_)


def test_a_finding_is_kept_with_its_unit(own_shop: Shop) -> None:
    """In ng/m3; the sentence says figure, limit and day, and names nobody."""
    receipt = own_shop.do(AssessArea, **fields(own_shop, review_on=date(2027, 3, 4)))
    (made,) = standing(own_shop)
    assert (made.concentration_ng_m3, made.concentration_ppb, made.measured_as) == (180_000, None, "Cr(VI)")
    assert (made.limit, made.document, made.review_on) == ("osha", "report 12", date(2027, 3, 4))
    assert "0.18\u00a0mg/m³ over 8 h, against the OSHA limit, 4 Mar 2026" in receipt.sentence
    assert "Fabry" not in receipt.sentence
    assert receipt.topics >= {"assessment"}


def test_a_gas_is_kept_in_ppm(own_shop: Shop) -> None:
    """Given in mg/m3 it goes over by its molar mass; both figures of one finding."""
    made = assess(own_shop, substance="carbon_monoxide", concentration=28.65, short=60)
    assert made.concentration_ppb == pytest.approx(25_010, abs=10)
    assert made.short_ppb == pytest.approx(52_378, abs=10)
    assert made.concentration_ng_m3 is None


def test_what_is_counted_is_said(own_shop: Shop) -> None:
    """Iron counted as Fe against a limit counted as Fe2O3: kept as found; chromium as iron is refused."""
    made = assess(own_shop, substance="iron_oxide_fume", concentration=6, measured_as="Fe")
    assert (made.measured_as, made.concentration_ng_m3) == ("Fe", 6_000_000)
    with refused(own_shop, WrongFigure, "Measured as: a figure measured as Fe cannot be held against one"):
        own_shop.do(AssessArea, **fields(own_shop, measured_as="Fe"))


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"unit": "ppm"}, "8-hour average: ppm is for gases and vapours"),
        ({"unit": "mg"}, "8-hour average: 'mg' is no unit"),
        ({"concentration": -1}, "8-hour average: a concentration is a number above zero"),
        ({"concentration": 0}, "8-hour average: zero is no finding"),
        ({"concentration": float("nan")}, "8-hour average: a concentration is a number"),
        ({"short": 0}, "Highest short-term level: zero is no finding"),
        ({"substance": "fog"}, "Substance: 'fog' is not in the table of limits"),
        ({"limit": "aca"}, "Limit: chromium(VI) compounds can be held against the OSHA limit or the NIOSH"),
        ({"limit": ""}, "Limit: chromium(VI) compounds can be held against"),
        ({"made_on": date(2030, 1, 1)}, "Made on: 1 Jan 2030 is still to come"),
        ({"review_on": MADE}, "Review: 4 Mar 2026 is not after"),
        ({"made_by": " "}, "Made by: say whose finding"),
        ({"document": ""}, "Document: say which report"),
        ({"samples": (SampleTaken(0.1, 60, MADE),)}, "Basis: samples belong to a finding on samples"),
        ({"basis": SAMPLES, "samples": (SampleTaken(0.1, 0, MADE),)}, "Sample: it needs its duration"),
        ({"basis": SAMPLES, "samples": (SampleTaken(0.1, -5, MADE),)}, "Sample: it needs its duration"),
        ({"basis": SAMPLES, "samples": (SampleTaken(0.1, 1441, MADE),)}, "1441 minutes are more than 24 h"),
        ({"basis": SAMPLES, "samples": (SampleTaken(0, 60, MADE),)}, "Sample: zero is no finding"),
        (
            {"basis": SAMPLES, "samples": (SampleTaken(0.1, 60, MADE), SampleTaken(0.1, 60, MADE + timedelta(1)))},
            "Sample 2: 5 Mar 2026 lies after 4 Mar 2026",
        ),
        ({"basis": SAMPLES, "samples": (SampleTaken(0.1, 721, MADE),) * 2}, "make 1442 minutes, over 24 h"),
    ],
)
def test_bad_input_is_refused_by_its_field(own_shop: Shop, more: dict[str, Any], why: str) -> None:
    """Nothing is guessed, nothing kept."""
    with refused(own_shop, WrongFigure, why):
        own_shop.do(AssessArea, **fields(own_shop, **more))


def test_who_may(own_shop: Shop) -> None:
    """The office; an area has to be there."""
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(AssessArea, **fields(own_shop))
    with refused(own_shop, Unknown):
        own_shop.do(AssessArea, **fields(own_shop, area_id=9999))


def test_something_there_that_nobody_assessed(own_shop: Shop) -> None:
    """Noted without hygienist or report; it is no finding."""
    receipt = own_shop.do(
        AssessArea, **fields(own_shop, substance="ozone", concentration=None, made_by="", document="")
    )
    (made,) = standing(own_shop)
    assert not has_finding(made)
    assert "ozone is there and not assessed" in receipt.sentence


def test_samples_come_with_it_and_later(own_shop: Shop) -> None:
    """A finding on samples needs no figure of its own; a stated one takes no sample."""
    made = assess(own_shop, basis=SAMPLES, concentration=None, samples=(SampleTaken(0.02, 480, MADE, series="A"),))
    assert made.concentration_ng_m3 is None
    assert has_finding(made)
    more = {"assessment_id": made.id, "value": 15, "unit": "ug/m3", "minutes": 470, "taken_on": MADE}
    own_shop.do(AddSample, **more, detected=False, method="ID-215", series="B")
    with own_shop.store.reading() as reader:
        first, second = reader.find(Sample, assessment_id=made.id)
    assert (first.value_ng_m3, first.series) == (20_000, "A")
    assert (second.value_ng_m3, second.detected, second.method) == (15_000, False, "ID-215")
    for wrong, why in (
        ({"unit": "ppm"}, "Sample: ppm is for gases"),
        ({"minutes": 0}, "it needs its duration"),
        ({"value": 0}, "zero is no finding"),
        ({"taken_on": date(2030, 1, 1)}, "lies after"),
        ({"minutes": 961, "series": "A"}, "make 1441 minutes, over 24 h"),
    ):
        with refused(own_shop, WrongFigure, why):
            own_shop.do(AddSample, **more | wrong)
    stated = assess(own_shop, substance="manganese", concentration=0.3, limit="niosh")
    with refused(own_shop, WrongFigure, "rests on a stated result"):
        own_shop.do(AddSample, **more | {"assessment_id": stated.id})
    with refused(own_shop, Unknown):
        own_shop.do(AddSample, **more | {"assessment_id": 9999})


def test_the_last_one_stands(own_shop: Shop) -> None:
    """A newer finding takes the place; an older one cannot come back over it."""
    assess(own_shop)
    newer = assess(own_shop, made_on=date(2026, 9, 1), concentration=0.02)
    assert [one.id for one in standing(own_shop)] == [newer.id]
    with refused(own_shop, Superseded, "of 1 Sep 2026"):
        own_shop.do(AssessArea, **fields(own_shop))
    grinding = assess(own_shop, form="dust of grinding")
    assert {one.id for one in standing(own_shop)} == {newer.id, grinding.id}


def test_withdrawn_it_is_still_there_or_gone(own_shop: Shop) -> None:
    """Still in the air: not assessed from then on, and a corrected finding takes its place. Gone: gone."""
    old = assess(own_shop)
    made = assess(own_shop, concentration=18)
    with refused(own_shop, Superseded):
        own_shop.do(WithdrawAssessment, assessment_id=old.id, why="wrong")
    with refused(own_shop, WrongFigure, "Why"):
        own_shop.do(WithdrawAssessment, assessment_id=made.id, why=" ")
    receipt = own_shop.do(WithdrawAssessment, assessment_id=made.id, why="the unit was mixed up")
    assert "withdrawn: the unit was mixed up. It is still there, not assessed" in receipt.sentence
    (left,) = standing(own_shop)
    assert not has_finding(left)
    with refused(own_shop, AlreadyWithdrawn):
        own_shop.do(WithdrawAssessment, assessment_id=made.id, why="again")
    with refused(own_shop, AlreadyWithdrawn):
        own_shop.do(
            AddSample, assessment_id=made.id, value=1, unit="mg/m3", minutes=60, taken_on=MADE
        )
    right = assess(own_shop)
    assert [one.id for one in standing(own_shop)] == [right.id]
    own_shop.do(WithdrawAssessment, assessment_id=right.id, why="stainless is welded in bay 9 now", still_there=False)
    assert standing(own_shop) == []


# Limits of the site's own.


def own_limit(shop: Shop, **more: Any) -> None:
    """A limit of manganese from a list."""
    base = {"substance": "manganese", "kind": "8 h", "value": 0.1, "unit": "mg/m3", "source": "List 2024 (invented)"}
    shop.do(AddSiteLimit, **base | {"from_on": MADE} | more)


def held(shop: Shop, substance: str) -> list[Held]:
    """Every limit there is of it."""
    with shop.store.reading() as reader:
        return limits_of(reader, house(), substance, house().today(shop.moment))


def test_a_limit_of_the_site(own_shop: Shop) -> None:
    """It stands beside those of the table and a finding can be held against it; the last one of a kind holds."""
    before = len(held(own_shop, "manganese"))
    own_limit(own_shop)
    own_limit(own_shop, value=20, unit="ug/m3")
    own_limit(own_shop, value=3, kind="short term")
    rows = held(own_shop, "manganese")
    own = [(one.kind, str(one.amount)) for one in rows if one.own]
    assert own == [(LimitKind.SHIFT, "0.02\u00a0mg/m³"), (LimitKind.SHORT, "3\u00a0mg/m³")]
    assert len(rows) == before + 2
    assert bodies_of(rows) == ["osha", "niosh", "List 2024 (invented)"]
    made = assess(own_shop, substance="manganese", concentration=0.3, limit="List 2024 (invented)")
    assert made.measured_as == "Mn"


def test_a_substance_that_the_table_lacks(own_shop: Shop) -> None:
    """A vapour comes in ppm, and a finding of it after its limit."""
    own_limit(own_shop, substance="toluene", value=20, unit="ppm", particles=False)
    made = assess(own_shop, substance="toluene", concentration=4, unit="ppm", limit="List 2024 (invented)")
    assert made.concentration_ppb == 4000
    with refused(own_shop, WrongFigure, "toluene is on file as a gas"):
        own_limit(own_shop, substance="toluene", particles=True)
    with refused(own_shop, WrongFigure, "molar mass of this gas is not known here"):
        own_limit(own_shop, substance="xylene", value=20, particles=False)
    with refused(own_shop, WrongFigure, "molar mass of this substance is not known"):
        own_shop.do(AssessArea, **fields(own_shop, substance="toluene", limit="List 2024 (invented)"))


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"value": 0}, "Limit: a limit lies above zero"),
        ({"value": -1}, "Limit: a concentration is a number above zero"),
        ({"unit": "ppm"}, "Limit: ppm is for gases"),
        ({"kind": "weekly"}, "Kind: a limit is one of 8 h, short term, ceiling, idlh"),
        ({"source": " "}, "Source: say which list"),
        ({"source": "OSHA"}, "Source: the limits of OSHA are here already"),
        ({"substance": ""}, "Substance: it is empty"),
        ({"from_on": date(2030, 1, 1)}, "Holds from: 1 Jan 2030 is still to come"),
        ({"measured_as": "Fe"}, "Measured as: a figure measured as Fe"),
    ],
)
def test_a_bad_limit_is_refused(own_shop: Shop, more: dict[str, Any], why: str) -> None:
    """By its field; nothing is kept."""
    with refused(own_shop, WrongFigure, why):
        own_limit(own_shop, **more)
    with own_shop.store.reading() as reader:
        assert reader.find(SiteLimit) == []
