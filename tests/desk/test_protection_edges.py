"""Findings at their edges: what an average hides, what a report leaves out, what a word in a control is worth."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.enough import protection_reasons
from cribdesk.crib.limits import LimitKind
from cribdesk.crib.protection import Weighing
from cribdesk.crib.records import (
    AreaCondition,
    AreaControl,
    Assessment,
    AssessmentBasis,
    Control,
    FactorEvidence,
    Sample,
    SiteLimit,
)
from cribdesk.crib.refusal import Level
from cribdesk.desk.protection import AreaRows, mixtures, protection_of, respirator_of
from tests.desk.shop import house
from tests.desk.test_protection import AREA, TODAY, found, made, sample


def area_of(*findings: Assessment, **rows: Any) -> AreaRows:
    """An area of which these findings and rows are stored."""
    there: dict[str, Any] = {
        "assessments": {1: list(findings)}, "samples": {}, "limits": (), "conditions": {}, "processes": {},
        "controls": {}, **rows,
    }  # fmt: skip
    return AreaRows(**there)


def levels(rows: AreaRows, model: str = "WL1") -> dict[str, Level]:
    """What is said of a unit there, by code."""
    area = protection_of(rows, house(), AREA, TODAY)
    respirator = respirator_of(house().models[model], house().rules)
    return {one.code: one.level for one in protection_reasons(area, respirator, Weighing(house().rules, TODAY))}


def test_a_short_term_level_that_stands_for_a_long_day_is_not_made_milder() -> None:
    """29 CFR 1910.1025(c)(2): 12 h at 0.045 mg/m3 of lead against 400 / 12 = 33.3 ug/m3; 1.35 times it, not 0.9.

    Every other substance keeps its limit and is added up over the day, divided by 8: 1910.1000(d)(1)(i).
    """
    for one in (found("lead", short_ng_m3=45_000, exposed=12.0), found("lead", sample(0.045, 10), exposed=12.0)):
        assert one.ratio == pytest.approx(1.35)
    assert found("copper_fume", short_ng_m3=90_000, exposed=12.0).ratio == pytest.approx(1.35)
    assert found("copper_fume", short_ng_m3=90_000, exposed=4.0).ratio == pytest.approx(0.9)


def test_a_ceiling_is_held_against_the_highest_that_was_found() -> None:
    """The highest quarter of an hour is no lower than what was found over hours: 8 mg/m3 of manganese is over 5."""
    stated = found("manganese", concentration_ng_m3=8_000_000, short_ng_m3=3_000_000)
    sampled = found("manganese", sample(3.0, 15), sample(8.0, 240))
    for one in (stated, sampled):
        assert one.short == pytest.approx(8.0)
        assert {held.kind: held.ratio for held in one.judged} == {LimitKind.CEILING: pytest.approx(1.6)}


def test_half_an_hour_over_what_is_immediately_dangerous_is_seen() -> None:
    """Cadmium: 30 min at 10 mg/m3 and clean hours make 0.63 over 8 h; 9 is immediately dangerous (NIOSH, 1994)."""
    one = found("cadmium", sample(10.0, 30), sample(0.001, 450))
    assert one.average == pytest.approx(0.626, abs=0.001)
    assert one.highest == pytest.approx(10.0)
    of = made("cadmium", basis=AssessmentBasis.SAMPLES)
    taken = [sample(10.0, 30), sample(0.001, 450)]
    assert levels(area_of(of, samples={1: taken}), "FF1")["maximum-use"] is Level.STOP
    milder = [sample(0.1, 30), sample(0.001, 450)]
    assert "maximum-use" not in levels(area_of(of, samples={1: milder}), "FF1")


def test_a_report_tells_of_no_more_than_its_samples() -> None:
    """Sampled on 1 Mar, the process changed on 3 Mar, the report of 10 Mar: the air after the change is not known."""
    changed = AreaCondition(area_id=1, changed="Stainless now", said_on=date(2026, 3, 3), by_id=1)
    report = made("iron_oxide_fume", basis=AssessmentBasis.SAMPLES, made_on=date(2026, 3, 10), measured_as="Fe2O3")
    before, after = ([sample(1.0, 480, on=date(2026, 3, day))] for day in (1, 4))
    rows = {"conditions": {1: [changed]}}
    assert levels(area_of(report, samples={1: before}, **rows))["process-changed"] is Level.STOP
    assert "process-changed" not in levels(area_of(report, samples={1: after}, **rows))
    assert "process-changed" not in levels(area_of(report, samples={1: before + after}, **rows))
    stated = made("iron_oxide_fume", concentration_ng_m3=1_000_000, measured_as="Fe2O3", made_on=date(2026, 3, 2))
    assert levels(area_of(stated, **rows))["process-changed"] is Level.STOP


def test_one_substance_in_two_forms_is_added() -> None:
    """Fume at 15 times the limit and dust of grinding at 12 are 27 together: factor 25 is not enough for both."""
    figures = (("fume", 15_000_000), ("dust of grinding", 12_000_000))
    rows = [
        made("nickel_insoluble", id=n, form=form, concentration_ng_m3=ng) for n, (form, ng) in enumerate(figures, 1)
    ]
    (one,) = protection_of(area_of(*rows), house(), AREA, TODAY).mixtures
    assert one.index == pytest.approx(27.0)
    assert levels(area_of(*rows))["mixture"] is Level.STOP
    assert "mixture" not in levels(area_of(*rows[:1]))
    silver = [replace(row, substance="silver") for row in rows]
    (one,) = protection_of(area_of(*silver), house(), AREA, TODAY).mixtures
    assert (one.name, one.index) == ("forms of silver, metal and soluble compounds", pytest.approx(2700.0))


def test_a_group_with_a_gas_in_it_is_no_group_of_particles() -> None:
    """Where a gas is added, no filter's factor covers the sum."""
    rules = house().rules
    group = replace(rules.like_effects[0], substances=("copper_fume", "ozone"))
    there = [found("copper_fume", concentration_ng_m3=50_000), found("ozone", concentration_ppb=60)]
    for one in (there, there[::-1]):
        (mixed,) = mixtures(one, replace(rules, like_effects=(group,)))
        assert (mixed.particle, mixed.index) == (False, pytest.approx(0.5 + 0.6))


@pytest.mark.parametrize(
    ("what", "exhaust", "ventilated"),
    [
        ("Local exhaust on an arm", True, True),
        ("extraction arms at the tables", True, True),
        ("booth with a downdraught table", True, True),
        ("general ventilation", False, True),
        ("welding curtain", False, False),
        ("sound screen", False, False),
        ("no exhaust yet", False, False),
        ("Extraction arm, broken since Monday", False, False),
        ("general ventilation planned", False, False),
    ],
)
def test_a_curtain_is_no_exhaust(what: str, exhaust: bool, ventilated: bool) -> None:
    """29 CFR 1910.252(c): lead and cadmium ask for local exhaust, a confined space for ventilation; no screen is."""
    control = AreaControl(area_id=1, control=Control.ENGINEERING, what=what, from_on=date(2026, 1, 1))
    confined = AreaCondition(area_id=1, confined=True, said_on=date(2026, 1, 1), by_id=1)
    lead = made("lead", concentration_ng_m3=60_000)
    rows = {"controls": {1: [control]}, "conditions": {1: [confined]}}
    said = levels(area_of(lead, **rows))
    assert ("lead" in said) is not exhaust
    assert said["confined"] is (Level.CAUTION if ventilated else Level.STOP)
    practice = {**rows, "controls": {1: [replace(control, control=Control.WORK_PRACTICE)]}}
    assert {"lead", "confined"} <= {code for code, level in levels(area_of(lead, **practice)).items()
                                    if level is Level.STOP}  # fmt: skip
    ended = {**rows, "controls": {1: [replace(control, ended_on=TODAY)]}}
    assert levels(area_of(lead, **ended))["confined"] is Level.STOP


def test_lead_within_its_limit_without_exhaust_is_a_caution() -> None:
    """What the rule asks indoors, a filtering unit does not replace; the program administrator answers for it."""
    assert levels(area_of(made("lead", concentration_ng_m3=20_000)))["lead"] is Level.CAUTION


def test_nothing_but_a_gas_is_known() -> None:
    """A respirator is required and no finding says against what: 29 CFR 1910.134(d)(1)(iii)."""
    assert levels(area_of(made("carbon_monoxide", concentration_ppb=12_000)))["not-assessed"] is Level.STOP
    both = (
        made("carbon_monoxide", concentration_ppb=12_000),
        made("iron_oxide_fume", id=2, concentration_ng_m3=1_000_000, measured_as="Fe2O3"),
    )
    assert "not-assessed" not in levels(area_of(*both))


def test_samples_that_only_tell_short_levels_have_a_day() -> None:
    """The day of the last sample, whichever it is."""
    day = date(2026, 3, 4)
    one = found("manganese", sample(3.0, 15, on=day), sample(1.0, 15, on=date(2026, 3, 1)))
    assert one.sampled_on == day
    assert one.tells_of == min(day, one.made_on)
    assert found("manganese", short_ng_m3=1_000_000).sampled_on is None


def test_what_cannot_be_named_is_no_sample() -> None:
    """A sample without a value is none: the store refuses it, and nothing is worked out of it."""
    with pytest.raises(AssertionError, match="a sample has a value"):
        found("manganese", Sample(assessment_id=1, minutes=5, taken_on=TODAY))


RESPIRABLE = SiteLimit(
    substance="try dust", form="respirable", kind="8 h", limit_ng_m3=4_000_000, source="own list", from_on=TODAY
)


def test_a_limit_of_another_form_takes_no_limit_away() -> None:
    """A limit of 10 for all of a dust, added after that of 4 for what is respirable, leaves the 4 where it was."""
    coarse = replace(RESPIRABLE, id=2, form="Inhalable", limit_ng_m3=10_000_000)
    later = replace(coarse, id=3, limit_ng_m3=8_000_000)
    for order in ((RESPIRABLE, coarse, later), (coarse, later, RESPIRABLE)):
        ratios = {
            form: found("try dust", concentration_ng_m3=8_000_000, form=form, site=order, limit="own list").ratio
            for form in ("respirable", "inhalable", "", "dust of grinding")
        }
        assert ratios == {"respirable": 2.0, "inhalable": 1.0, "": 2.0, "dust of grinding": 2.0}
    both = (RESPIRABLE, replace(coarse, form=""))
    assert found("try dust", concentration_ng_m3=8_000_000, form="x", site=both, limit="own list").ratio == 2.0


def test_a_laxer_limit_of_the_site_replaces_no_legal_one() -> None:
    """A finding held against the site's own list is held against the OSHA limit besides; the stricter decides."""
    lax = replace(RESPIRABLE, substance="copper_fume", form="", limit_ng_m3=1_000_000, measured_as="Cu")
    for body in ("own list", "osha"):
        one = found("copper_fume", concentration_ng_m3=500_000, limit=body, site=(lax,))
        assert one.ratio == 5.0
        assert one.worst is not None
        assert one.worst.body == "osha"
    raised = replace(lax, kind="idlh", limit_ng_m3=900_000_000)
    assert found("copper_fume", concentration_ng_m3=500_000, site=(raised,)).idlh == 100.0


def test_what_no_paper_stands_behind_is_not_known() -> None:
    """A figure without the report it stands in is nobody's finding."""
    assert found("silver", concentration_ng_m3=5_000).known
    assert not found("silver", concentration_ng_m3=5_000, document="").known


def test_evidence_says_nothing_where_the_rule_set_has_no_such_route() -> None:
    """HSG53 knows no maker's evidence: factor and words stay."""
    paper = FactorEvidence(model="WH1", factor=1000, document="Test 7", dated_on=date(2026, 2, 1), by_id=1)
    model, rules = replace(house().models["WH1"], performance="TH3"), house().rule_sets["uk"]
    assert respirator_of(model, rules, paper) == respirator_of(model, rules)
    assert respirator_of(model, rules, paper).evidence == ""


def test_a_control_counts_from_its_first_day() -> None:
    """On a workstation whose clock was set back, what begins tomorrow is not in place."""
    control = AreaControl(area_id=1, control=Control.ENGINEERING, what="local exhaust", from_on=TODAY)
    for on, there in ((TODAY, True), (TODAY - timedelta(days=1), False)):
        area = protection_of(area_of(controls={1: [control]}), house(), AREA, on)
        assert (area.exhaust, area.ventilated, bool(area.controls)) == (there, there, there)


def test_a_recommendation_of_the_same_country_is_not_foreign() -> None:
    """A hygienist may choose the NIOSH figure under the federal set; under another country's neither binds."""
    for under, told in (("us_federal", ("", "")), ("uk", ("OSHA limit", "NIOSH recommendation"))):
        for body, words in zip(("osha", "niosh"), told, strict=True):
            assert found("silver", concentration_ng_m3=5_000, limit=body, under=under).foreign == words


def test_one_body_with_a_ceiling_alone_is_enough_to_ask_for_a_short_term_figure() -> None:
    """Manganese held against the NIOSH average: the OSHA ceiling binds besides, and no average shows anything of it."""
    one = found("manganese", concentration_ng_m3=500_000, limit="niosh")
    assert (one.ceiling_only, one.short_missing) == (True, True)
    assert found("carbon_monoxide", concentration_ppb=10_000, limit="niosh").short_missing
    assert not found("carbon_monoxide", concentration_ppb=10_000).short_missing
    short = found("carbon_monoxide", concentration_ppb=10_000, short_ppb=20_000, limit="niosh")
    assert not short.short_missing


def test_by_law_only_the_limit_of_lead_falls_on_a_long_day() -> None:
    """29 CFR 1910.1025(c)(2): 10 h, 40 ug/m3 (worked_examples.md lead10); copper keeps its 0.1, with advice beside."""
    lead = found("lead", concentration_ng_m3=40_000, exposed=10.0)
    assert lead.worst is not None
    assert (lead.worst.lawful, lead.worst.limit, lead.ratio) == (True, pytest.approx(0.04), pytest.approx(1.0))
    copper = found("copper_fume", concentration_ng_m3=40_000, exposed=10.0)
    assert copper.worst is not None
    assert (copper.worst.lawful, copper.worst.limit) == (False, 0.1)
    assert copper.long_day == pytest.approx(0.7)  # worked_examples.md bs10
    stated, eight = (found("lead", concentration_ng_m3=40_000, exposed=hours) for hours in (None, 8.0))
    assert stated.ratio == eight.ratio == pytest.approx(0.8)


def test_an_older_limit_entered_late_takes_no_newer_ones_place() -> None:
    """What holds from a later day stands, in whatever order they were entered; what begins tomorrow does not yet."""
    newer = replace(RESPIRABLE, id=1, limit_ng_m3=4_000_000)
    older = replace(RESPIRABLE, id=2, limit_ng_m3=10_000_000, from_on=TODAY - timedelta(days=400))
    coming = replace(RESPIRABLE, id=3, limit_ng_m3=20_000_000, from_on=TODAY + timedelta(days=1))
    one = found("try dust", concentration_ng_m3=8_000_000, site=(newer, older, coming), limit="own list")
    assert one.ratio == 2.0


def test_ten_times_a_limit_needs_ten() -> None:
    """In binary 0.021 / 0.0021 is a little more than 10: it is ten all the same, alone and added up."""
    limit = replace(RESPIRABLE, form="", limit_ng_m3=2_100)
    one = found("try dust", concentration_ng_m3=21_000, site=(limit,), limit="own list")
    assert one.ratio == 10.0
    group = replace(house().rules.like_effects[0], substances=("try dust",))
    (mixed,) = mixtures((one, replace(one, form="x")), replace(house().rules, like_effects=(group,)))
    assert mixed.index == 20.0


def test_a_state_replaces_only_the_kinds_of_limit_that_it_names() -> None:
    """A stricter average leaves the ceiling of the same body where it was."""
    rules, beryllium = house().rules, house().substances["beryllium"]
    own = next(one for one in beryllium.limits if one.kind is LimitKind.SHIFT and one.body == "osha")
    state = replace(rules, limits={("beryllium", LimitKind.SHIFT): replace(own, value=0.00005)})
    kept = state.substance(beryllium)
    assert {(one.body, one.kind) for one in kept.limits} == {(one.body, one.kind) for one in beryllium.limits}
    strict, short = kept.limit("osha", LimitKind.SHIFT), kept.limit("osha", LimitKind.SHORT)
    assert strict is not None
    assert short == beryllium.limit("osha", LimitKind.SHORT)
    assert strict.value == 0.00005
