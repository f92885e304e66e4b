"""What an area asks of a unit: every rule reached, published examples, and what never turns a stop into fine."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.enough import enough
from cribdesk.crib.protection import STOPS, AgentFinding, AreaProtection, Weighing, area_notes, needed_factor
from cribdesk.crib.records import Control
from cribdesk.crib.refusal import Level, Reason
from cribdesk.desk.protection import respirator_of
from tests.crib.areas import CASES, CAUTION, CEILING, CHROMIUM, FINE, STOP, Case, gas, weigh
from tests.crib.given import TODAY, agent, asked, judged, rules
from tests.procedure.house import models

RANK = {FINE: 0, CAUTION: 1, STOP: 2}
SETS = ("us_federal", "us_california", "uk")


@pytest.mark.parametrize("case", list(CASES))
def test_each_rule(case: str) -> None:
    """The area gives the one reason, with this level and these words, and a paragraph."""
    one = CASES[case]
    found = [reason for reason in weigh(one) if reason.code == one.code]
    assert [(reason.level, reason.words) for reason in found] == [(one.level, one.words)]
    assert all(reason.basis for reason in found)


@pytest.mark.parametrize("code", SETS)
def test_every_rule_of_protection_is_reached(code: str) -> None:
    """Each rule that an area gives is given above, at every level its row names; never fine by a row from memory."""
    said: dict[str, set[str]] = {}
    for case in CASES.values():
        for reason in weigh(case, code):
            said.setdefault(reason.code, set()).add(reason.level.value)
    known = rules(code).rules
    assert {one for one in STOPS if one != "no-rules"} <= set(said)
    for reason_code, levels in said.items():
        row = known[reason_code]
        allowed = set(row.levels) | ({"caution"} if "fine" in row.levels else set())
        assert levels <= allowed, reason_code
        if not row.sound:
            assert "fine" not in levels, reason_code
        if code == "us_federal":
            assert set(row.levels) <= levels, reason_code


@pytest.mark.parametrize("case", list(CASES))
@pytest.mark.parametrize("code", SETS)
def test_words_and_basis(case: str, code: str) -> None:
    """Each reason has words and a basis under every set; a stop says what to do as well."""
    for reason in weigh(CASES[case], code):
        assert reason.words[:1].isupper(), reason
        assert not reason.words.endswith("."), reason
        assert reason.basis, reason
        if reason.level is STOP:
            assert reason.detail.endswith("."), reason


def test_nothing_of_the_united_kingdom_is_enough_without_a_caution() -> None:
    """Its factors are from memory: not one area is called fine by them."""
    for case in CASES.values():
        for reason in weigh(case, "uk"):
            assert (reason.code, reason.level) != ("enough", FINE)
    models_with_class = replace(models()["WL1"], performance="TH2")
    respirator = respirator_of(models_with_class, rules("uk"))
    (one,) = enough(asked(), [respirator], Weighing(rules("uk"), TODAY))
    assert respirator.factor == 20
    assert one.enough
    assert [reason.code for reason in one.cautions] == ["enough"]
    assert "from memory" in one.cautions[0].basis


def test_a_ceiling_is_met_by_a_short_term_figure() -> None:
    """worked_examples.md hr1: manganese 12 mg/m3 against a ceiling of 5 needs 2.4; factor 10 and 25 do."""
    for model in ("WL1", "HM1"):
        found = {one.code: one for one in weigh(Case(asked(CEILING), "", FINE, "", model))}
        assert found["enough"].words.startswith(f"Enough: factor {25 if model == 'WL1' else 10} against 2.4 needed")


@pytest.mark.parametrize(
    ("model", "changes", "good"),
    [("WL1", {}, False), ("WH1", {}, False), ("WH1", {"factor": 1000.0}, True), ("FF1", {}, True), ("HM1", {}, False)],
)
def test_chromium(model: str, changes: dict[str, Any], good: bool) -> None:
    """worked_examples.md hr2: ratio 36; factor 25 fails, 1000 with the maker's evidence (Table 1, note 4) does."""
    found = {one.code: one for one in weigh(Case(asked(CHROMIUM), "", FINE, "", model, changes))}
    assert ("enough" in found) is good
    assert ("factor" in found) is not good


def test_what_would_be_enough_is_named() -> None:
    """The stop names what of this crib has the factor."""
    (stop,) = [one for one in weigh(CASES["not enough"]) if one.code == "factor"]
    assert stop.detail.endswith("Enough by its factor: full-facepiece PAPR (1 000).".replace(" 000", "\u00a0000"))
    alone = replace(CASES["not enough"], with_={"shelf": ()})
    (stop,) = [one for one in weigh(alone) if one.code == "factor"]
    assert "Nothing in this crib is enough" in stop.detail


def test_which_classes_are_enough() -> None:
    """What is enough comes first, the lowest factor before the higher; each with what stands against it."""
    shelf = [respirator_of(model, rules()) for model in models().values()]
    found = enough(asked(agent(12.0)), shelf, Weighing(rules(), TODAY))
    told = [(one.respirator.model, one.enough, [stop.code for stop in one.stops]) for one in found]
    assert told == [
        ("AD1", True, []),
        ("WH1", True, []),
        ("WL1", True, []),
        ("FF1", True, []),
        ("HM1", False, ["factor"]),
    ]
    assert {one.ratio for one in found} == {12.0}
    (helmet,) = [one for one in found if one.respirator.model == "AD1"]
    assert [one.code for one in helmet.cautions] == ["no-air"]


def test_nothing_above_a_limit_where_none_is_required_says_nothing() -> None:
    """Worn by choice below every limit: no word of protection at the counter."""
    assert weigh(Case(asked(required=False), "", FINE, "")) == ()


def test_over_a_limit_a_respirator_is_required_whatever_the_area_is_marked_as() -> None:
    """29 CFR 1910.134(a)(2): the finding counts, not the mark."""
    area = asked(agent(3.0), required=False)
    assert area.over_limit
    assert [one.code for one in weigh(Case(area, "", FINE, ""))] == ["enough"]


def test_controls_are_a_note_and_no_reason() -> None:
    """Whoever plans sees that nothing above personal protection is recorded; the counter does not."""
    bare = asked(controls=(Control.PROTECTION,))
    (note,) = area_notes(bare, rules())
    assert "a respirator comes last" in note
    assert "29 CFR 1910.134(a)(1)" in note
    assert area_notes(asked(), rules()) == ()
    assert "controls" not in {one.code for one in weigh(Case(bare, "", FINE, ""))}


def test_a_review_today_is_in_time() -> None:
    """The day itself is not past."""
    area = asked(agent(review_on=TODAY))
    assert [one.code for one in weigh(Case(area, "", FINE, ""))] == ["enough"]
    late = asked(agent(review_on=TODAY - timedelta(days=1)))
    assert "review" in {one.code for one in weigh(Case(late, "", FINE, ""))}


def test_an_approved_unit_goes_into_an_explosive_location() -> None:
    """29 CFR 1910.307(c): approved, or without any electric part."""
    area = asked(explosive=True)
    assert "explosive" not in {one.code for one in weigh(Case(area, "", FINE, "", "WL1", {"explosive_approved": True}))}
    assert "explosive" not in {one.code for one in weigh(Case(area, "", FINE, "", "HM1"))}
    assert "explosive" in {one.code for one in weigh(Case(area, "", FINE, "", "AD1"))}


ratios = st.floats(0.001, 5000, allow_nan=False)
factors = st.sampled_from([5.0, 10.0, 25.0, 50.0, 1000.0])
agents = st.builds(
    lambda ratio, name, verified, idlh: agent(
        ratio, substance=name, name=name.capitalize(), judged=(judged(ratio, 10.0, verified=verified),), idlh=idlh
    ),
    ratios,
    st.sampled_from(["iron_oxide_fume", "lead", "cadmium", "beryllium", "zinc_oxide_fume"]),
    st.booleans(),
    st.one_of(st.none(), st.floats(1, 10_000)),
)
gases = st.builds(lambda ratio: gas(ratio=ratio), ratios)
areas = st.builds(
    lambda found, required, exhaust, confined, exposed: asked(
        *found,
        required=required,
        controls=(Control.ENGINEERING,) if exhaust else (),
        exhaust=exhaust,
        ventilated=exhaust,
        confined=confined,
        exposed_hours=exposed,
    ),
    st.lists(st.one_of(agents, gases), min_size=1, max_size=4, unique_by=lambda one: one.subject),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.one_of(st.none(), st.floats(1, 12)),
)


def worst(found: tuple[Reason, ...]) -> int:
    """How bad the worst of them is; nothing said is as good as fine."""
    return max((RANK[one.level] for one in found), default=0)


def assert_no_better(before: Case, after: Case) -> None:
    """No stop disappears, and the whole is never milder."""
    was, now = weigh(before), weigh(after)
    gone = {one.key for one in was if one.level is STOP} - {one.key for one in now if one.level is STOP}
    # one stop may give way to another of the same agent, never to nothing
    assert not {key for key in gone if not any(one.level is STOP and one.subject == key[1] for one in now)}
    assert worst(now) >= (2 if worst(was) == 2 else 0)
    if worst(was) == 2:
        assert not any(one.code == "enough" and one.level is FINE for one in now)


@given(areas, factors, st.floats(1, 50), st.data())
def test_more_in_the_air_never_helps(area: AreaProtection, factor: float, times: float, data: st.DataObject) -> None:
    """More of one agent never turns a stop into fine."""
    which = data.draw(st.integers(0, len(area.findings) - 1))
    more = replace(area, findings=tuple(_more(one, times if n == which else 1) for n, one in enumerate(area.findings)))
    of: dict[str, Any] = {"respirator": {"factor": factor}}
    assert_no_better(Case(area, "", FINE, "", **of), Case(more, "", FINE, "", **of))


def _more(one: AgentFinding, times: float) -> AgentFinding:
    taken = tuple(
        replace(each, concentration=each.concentration * times, ratio=each.ratio * times) for each in one.judged
    )
    return replace(one, judged=taken, average=None if one.average is None else one.average * times)


@given(areas, factors, factors)
def test_a_lower_factor_never_helps(area: AreaProtection, one: float, other: float) -> None:
    """What a low factor is enough for, a higher one is as well."""
    low, high = sorted((one, other))
    assert_no_better(
        Case(area, "", FINE, "", respirator={"factor": high}), Case(area, "", FINE, "", respirator={"factor": low})
    )


@given(areas, st.floats(1, 25), st.floats(1, 25))
def test_less_worn_never_helps(area: AreaProtection, one: float, other: float) -> None:
    """A factor that is left for a shorter part never makes a caution disappear."""
    low, high = sorted((one, other))
    if area.exposed_hours is None:
        area = replace(area, exposed_hours=8.0)
    more = weigh(Case(area, "", FINE, "", with_={"effective": high, "exposed_hours": 8.0}))
    less = weigh(Case(area, "", FINE, "", with_={"effective": low, "exposed_hours": 8.0}))
    assert worst(less) >= worst(more)


@given(areas)
def test_unknown_is_never_better_than_known(area: AreaProtection) -> None:
    """A finding withdrawn never turns a stop into fine: what is there and not known stops."""
    blank = tuple(replace(one, known=False, judged=(), average=None) for one in area.findings)
    assert worst(weigh(Case(replace(area, findings=blank), "", FINE, ""))) == RANK[Level.STOP]


@given(areas)
def test_every_reason_has_a_basis(area: AreaProtection) -> None:
    """Whatever the area, each line names its paragraph or the house rule."""
    assert all(one.basis and one.words for one in weigh(Case(area, "", FINE, "")))


def test_what_is_needed() -> None:
    """The highest of the particles, alone or together; gases need no factor."""
    assert needed_factor(asked(agent(2.0), agent(7.0, substance="other"), gas(ratio=9.0))) == 7.0
    assert needed_factor(asked(gas())) is None
