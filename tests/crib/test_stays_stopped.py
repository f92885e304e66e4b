"""Other roads on which a stop could turn into fine: what is out already, intervals and headings from memory, edges."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.acceptance import WHO_ACCEPTS, wants_accepting, who_accepts
from cribdesk.crib.clearance import ClearanceState, factor_by_fit
from cribdesk.crib.concentration import clean
from cribdesk.crib.protection import AreaProtection, Mixture, Weighing
from cribdesk.crib.reasons import Protection, reasons
from cribdesk.crib.recheck import against_keeping
from cribdesk.crib.records import ClearanceKind, Role, SealLook
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.work_limit import Wear, limit_reasons
from cribdesk.desk.protection import respirator_of
from tests.crib.areas import CASES, NO_CONTROLS, Case, gas, metal, weigh
from tests.crib.given import (
    FOUND,
    NOW,
    TODAY,
    agent,
    asked,
    back,
    cleaned,
    clearances,
    facts,
    protection,
    rules,
    standing,
)
from tests.crib.test_recheck import AREA, holding
from tests.procedure.house import models

SMOKE, COUNTER = "qualitative: irritant smoke", "quantitative: ambient aerosol counter"


def fit_tested(method: str) -> tuple[ClearanceState, ...]:
    """All three on file, the fit test made in that way."""
    return tuple(replace(one, method=method) if one.kind is ClearanceKind.FIT_TEST else one for one in clearances())


@pytest.mark.parametrize(("method", "good"), [(COUNTER, True), (SMOKE, False), ("", False)])
def test_a_fit_test_carries_what_is_out_no_further_than_what_goes_out(method: str, good: bool) -> None:
    """29 CFR 1910.134(f)(6): by taste or smell up to factor 10; nor is a test of no known method worth more.

    The area came to need 12 while the unit was out: whoever may not take it may not keep it.
    """
    asks = protection("HM1", asked(agent(12.0)), factor=50.0)
    out = holding("HM1", area=AREA, protection=asks, clearances=fit_tested(method))
    assert ("fit-test" in [one.reason.code for one in against_keeping(out)]) is not good
    goes = [one for one in reasons(facts("HM1", clearances=fit_tested(method), protection=asks), NOW)
            if one.code == "fit-test"]  # fmt: skip
    assert [one.level for one in goes] == [Level.FINE if good else Level.STOP]
    if not good:
        assert "good for factor 10, 12 needed" in goes[0].words
    at_ten = protection("HM1", asked(agent(10.0)), factor=50.0)
    assert against_keeping(replace(out, protection=at_ten)) == ()


def test_hair_seen_calls_in_nothing_loose_fitting() -> None:
    """29 CFR 1910.134(g)(1)(i): with a seal, what is out is no better than what goes out."""
    for model, codes in (("FF1", ["facial-hair"]), ("HM1", ["facial-hair"]), ("WL1", []), ("AD1", [])):
        assert [one.reason.code for one in against_keeping(holding(model, hair_at=NOW))] == codes


def test_a_powered_facepiece_has_no_such_bound() -> None:
    """29 CFR 1910.134(f)(8): tested either way."""
    (fit,) = [one for one in fit_tested(SMOKE) if one.kind is ClearanceKind.FIT_TEST]
    assert factor_by_fit(models()["FF1"], fit) is None
    assert factor_by_fit(models()["HM1"], replace(fit, method=COUNTER)) is None


def test_what_is_called_in_cites_the_rule_set_in_force() -> None:
    """No paragraph of another country stands on a slip."""
    kingdom = Protection(asked(), respirator_of(models()["WL1"], rules("uk")), Weighing(rules("uk"), TODAY))
    out = holding("WL1", area=AREA, protection=kingdom, clearances=clearances(medical=False))
    (found,) = [one.reason for one in against_keeping(out) if one.reason.code == "medical"]
    assert found.basis == "house rule; see HSG53, Medical fitness"


def test_no_paragraph_of_another_country_at_an_issue() -> None:
    """Under the set of the United Kingdom no line rests on a paragraph of the United States alone."""
    for model in ("WL1", "FF1", "HM1"):
        for area in (None, asked(), asked(required=False)):
            kind = respirator_of(replace(models()[model], performance="TH2"), rules("uk"))
            weighed = Protection(area or asked(), kind, Weighing(rules("uk"), TODAY, 7.0))
            given = facts(model, protection=weighed, work_limits=("powered only",), clearances=fit_tested(COUNTER))
            if area is not None and not area.required:
                assert given.area is not None
                given = replace(given, area=replace(given.area, required=False))
            for one in reasons(given, NOW):
                assert not one.basis.startswith("29 CFR"), one


def test_an_interval_from_memory_makes_nothing_fine() -> None:
    """Two years between fit tests (INDG479) are from memory: a caution. A year, and a loose-fitting unit, are fine."""
    own = clearances()
    for model, code, level in (
        ("FF1", "uk", Level.CAUTION), ("FF1", "us_federal", Level.FINE), ("WL1", "uk", Level.FINE),
    ):  # fmt: skip
        weighed = Protection(asked(), respirator_of(models()[model], rules(code)), Weighing(rules(code), TODAY, 7.0))
        (fit,) = [
            one for one in reasons(facts(model, clearances=own, protection=weighed), NOW) if one.code == "fit-test"
        ]
        assert fit.level is level, (model, code)
    stop = Reason(Level.STOP, "fit-test", "None", "", "x")
    assert rules("uk").by_interval(stop, "fit test") == stop


def test_a_heading_is_no_rule_that_was_seen() -> None:
    """What was seen of HSG53 is the list of its contents: a row that rests on that alone is our own, and says so."""
    for rule in rules("uk").rules.values():
        if "heading" in rule.source:
            assert (rule.checked, rule.paragraph.startswith("house rule")) == ("house", True), rule.code


def test_lead_without_exhaust_is_accepted_by_the_program_administrator_alone() -> None:
    """Within its limit it is a caution: 29 CFR 1910.252(c)(7) asks for exhaust indoors whatever was measured."""
    found = weigh(Case(asked(metal("lead", "Lead", 0.5), **NO_CONTROLS), "lead", Level.CAUTION, ""))
    asked_for = wants_accepting(found)
    assert [one.code for one in asked_for] == ["lead"]
    assert who_accepts(asked_for) == (Role.PROGRAM,)


def test_enough_by_memory_is_shown_and_takes_no_name() -> None:
    """It is the same at every issue of an area: a name given each time would be given unread."""
    found = weigh(CASES["enough by a figure from memory"])
    assert [one.level for one in found if one.code == "enough"] == [Level.CAUTION]
    assert wants_accepting(found) == ()
    assert set(WHO_ACCEPTS) <= set(rules().rules)


@pytest.mark.parametrize("factor", [4, 5, 10, 20, 25, 40, 50, 1000])
def test_so_many_times_a_limit_is_met_by_that_factor(factor: int) -> None:
    """29 CFR 1910.134(d)(3)(i)(A): at the factor it is enough, a part in a thousand above it is not.

    In binary 0.021 / 0.0021 is a little more than 10.
    """
    for limit in (0.0021, 0.0003, 0.0002, 0.005, 5.0):
        for times, code in ((1.0, "enough"), (1.001, "factor")):
            ratio = clean(round(limit * factor * times, 9) / limit)
            (one,) = [each for each in weigh(Case(asked(agent(ratio)), "", Level.FINE, "", "WL1", {"factor": factor}))
                      if each.code in ("enough", "factor")]  # fmt: skip
            assert one.code == code, (limit, times)


# At their edges.


def coded(area: AreaProtection, model: str = "WL1", **with_: Any) -> dict[str, Level]:
    """What is said of a unit in an area, by code."""
    return {one.code: one.level for one in weigh(Case(area, "", Level.FINE, "", model, with_=with_))}


def test_a_finding_of_the_day_of_a_change_tells_of_after_it() -> None:
    """A finding on the day itself stands (the office was asked); of the day before it does not."""
    for made_on, there in ((FOUND, False), (FOUND - timedelta(days=1), True)):
        area = asked(agent(made_on=made_on), changed="Stainless now", changed_on=FOUND)
        assert ("process-changed" in coded(area)) is there


def test_at_what_is_immediately_dangerous_nobody_goes() -> None:
    """29 CFR 1910.134(d)(3)(i)(B): the cap itself is no more allowed than what lies above it."""
    for average, there in ((14.99, False), (15.0, True)):
        assert ("maximum-use" in coded(asked(agent(1.499, average=average, idlh=15.0)))) is there


@pytest.mark.parametrize(("index", "stopped"), [(25.0, False), (25.1, True)])
def test_together_a_little_over_the_factor_is_not_enough(index: float, stopped: bool) -> None:
    """29 CFR 1910.1000(d)(2)(i) with 1910.134(d)(3)(i)(A); and 'enough' names what they need together."""
    both = (metal("chromium_vi", "Chromium(VI) compounds", 13.0), metal("nickel_insoluble", "Nickel", index - 13))
    mixed = Mixture("cancer of the lung", index, ("chromium_vi", "nickel_insoluble"), True)
    area = asked(*both, mixtures=(mixed,))
    found = {one.code: one for one in weigh(Case(area, "", Level.FINE, ""))}
    assert ("mixture" in found) is stopped
    if not stopped:
        assert found["enough"].words == "Enough: factor 25 against 25 needed"


@pytest.mark.parametrize(("index", "stopped"), [(1.0, False), (1.01, True)])
def test_gases_a_little_over_one_together_stop(index: float, stopped: bool) -> None:
    """Over 1 is over the limit: 29 CFR 1910.1000(d)(2)(i)."""
    gases = (gas("ozone", "Ozone", 0.5), gas("nitrogen_dioxide", "Nitrogen dioxide", index - 0.5))
    mixed = Mixture("irritation", index, ("ozone", "nitrogen_dioxide"), False)
    found = weigh(Case(asked(agent(), *gases, mixtures=(mixed,)), "", Level.FINE, ""))
    assert [one.level for one in found if one.code == "mixture"] == ([Level.STOP] if stopped else [])
    assert sum(one.code == "gas" for one in found) == (0 if stopped else 2)


def test_over_a_limit_an_outdated_finding_stops_whatever_the_area_is_marked_as() -> None:
    """A respirator counts as required there, alone over a limit or by substances of like effect."""
    change = {"required": False, "changed": "Stainless now", "changed_on": date(2026, 10, 1)}
    assert coded(asked(agent(3.0), **change))["process-changed"] is Level.STOP
    mixed = Mixture("the nerves", 1.1, ("manganese", "lead"), True)
    parts = (metal("manganese", "Manganese", 0.6), metal("lead", "Lead", 0.5))
    assert coded(asked(*parts, mixtures=(mixed,), **change))["process-changed"] is Level.STOP
    assert coded(asked(*parts, **change))["process-changed"] is Level.CAUTION
    assert asked(*parts, mixtures=(mixed,)).over_limit
    assert not asked(*parts, mixtures=(replace(mixed, index=1.0),)).over_limit


def test_worn_for_a_part_what_is_needed_together_counts() -> None:
    """Factor 25 worn 7 of 8 h protects like 6.25: enough for 5 alone, not for 8 together."""
    parts = (metal("chromium_vi", "Chromium(VI) compounds", 5.0), metal("nickel_insoluble", "Nickel", 3.0))
    mixed = Mixture("cancer of the lung", 8.0, ("chromium_vi", "nickel_insoluble"), True)
    worn: dict[str, Any] = {"effective": 6.25, "exposed_hours": 8.0}
    assert "worn-part" in coded(asked(*parts, mixtures=(mixed,), exposed_hours=8.0), **worn)
    assert "worn-part" not in coded(asked(*parts, exposed_hours=8.0), **worn)


def test_general_ventilation_is_no_local_exhaust_for_cadmium() -> None:
    """29 CFR 1910.252(c)(9): local exhaust, airline respirators, or shown to be within the limit."""
    over = metal("cadmium", "Cadmium", 1.5)
    assert "cadmium" in coded(asked(over, exhaust=False, ventilated=True))
    assert "cadmium" not in coded(asked(over, exhaust=True))
    assert "cadmium" not in coded(asked(metal("cadmium", "Cadmium", 1.0), exhaust=False))


def test_an_average_alone_shows_beryllium_within_nothing() -> None:
    """Only a ceiling stands and no short-term figure is there: 'within' is not shown."""
    one = replace(metal("beryllium", "Beryllium", 0.4), ceiling_only=True)
    assert coded(asked(one))["beryllium"] is Level.STOP


@pytest.mark.parametrize(
    ("idlh", "highest", "sure"),
    [(60.0, 6.0, True), (59.0, 6.0, False), (251.0, 200.0, True), (249.0, 200.0, False), (100.0, 6.0, True)],
)
def test_what_is_dangerous_from_memory_casts_doubt_near_by(idlh: float, highest: float, sure: bool) -> None:
    """Factor 25 of a limit of 10 goes to 250: a cap below that, from memory, less than ten times off, is a doubt."""
    one = agent(0.6, average=highest, idlh=idlh, idlh_verified=False)
    assert coded(asked(one))["enough"] is (Level.FINE if sure else Level.CAUTION)


def test_no_air_where_it_is_immediately_dangerous() -> None:
    """A helmet without air goes there for the eyes: the line says that no filtering unit does for the air."""
    (one,) = weigh(Case(asked(required=False, idlh=True), "", Level.FINE, "", "AD1"))
    assert (one.code, one.detail.startswith("No filtering one helps there.")) == ("no-air", True)


def test_over_a_limit_the_wearer_is_asked_for_all_that_a_required_one_is() -> None:
    """29 CFR 1910.134(a)(2): training and fit test count though the area is marked as voluntary."""
    given = facts("FF1", clearances=clearances(training=False, fit_test=False), sheet_given=TODAY)
    assert given.area is not None
    by_choice = replace(given, area=replace(given.area, required=False))
    for ratio, asked_for in ((1.0, set()), (1.1, {"training", "fit-test"})):
        area = asked(agent(ratio), required=False)
        found = reasons(replace(by_choice, protection=protection("FF1", area)), NOW)
        assert {one.code for one in found if one.level is Level.STOP} == asked_for


def test_hair_at_a_look_stops_though_its_notice_was_set_aside() -> None:
    """The last look decides while it counts: whoever is clear again is looked at again."""
    for seen, level in ((SealLook(person_id=2, hair=True, at=NOW, by_id=1), Level.STOP),
                        (SealLook(person_id=2, at=NOW, by_id=1), None)):  # fmt: skip
        found = {one.code: one.level for one in reasons(facts("FF1", seal=seen), NOW)}
        assert found.get("under-seal") is level


def test_a_work_limit_ends_where_it_says() -> None:
    """Four hours at most: four are kept, a minute more is not."""
    for worn, level in ((0.0, Level.FINE), (1 / 60, Level.STOP)):
        (one,) = limit_reasons(("hours at most 4",), Wear(models()["WL1"], 4.0, worn))
        assert one.level is level


def test_only_what_is_carried_back_to_its_own_wearer_goes_without_a_look() -> None:
    """Assigned to somebody else before: the face is here to be looked at, or it stays."""
    for person_id, level in ((2, Level.CAUTION), (3, Level.STOP)):
        before = replace(back(NOW - timedelta(days=1), person_id), assigned=True)
        ready = standing("FF1", last_custody=before, last_cleaning=cleaned(NOW - timedelta(hours=2)))
        found = {one.code: one.level for one in reasons(facts("FF1", ready, seal=None, assigned=True), NOW)}
        assert found["seal-look"] is level
        (here,) = [one for one in reasons(facts("FF1", ready, seal=None), NOW) if one.code == "seal-look"]
        assert here.level is Level.STOP
