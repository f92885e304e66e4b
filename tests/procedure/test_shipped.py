"""Every shipped procedure, walked on every model that uses it: all good to pass, each not-good to its end."""

from __future__ import annotations

import pytest

from cribdesk.procedure.model import asked_of
from cribdesk.procedure.run import RemedyDone, Run, answer, page, start
from tests.procedure.house import (
    BY,
    SIX,
    bad_answer,
    every_model,
    good_answer,
    models,
    pairs,
    procedures,
    walk,
)

PAIRS = pairs()
OTHER_ARM = "contact"  # the one step behind an option that the walk does not choose; test_run.py asks it


def never(_run: object) -> bool:
    """Walk to the end."""
    return False


def reach(model: str, code: str, step: str) -> Run:
    """A run of that procedure, all good up to the step; at its end when the walk does not meet the step."""
    begun = start(procedures()[code], every_model()[model], SIX, BY)
    return walk(begun, good_answer, lambda run: page(run).step == step)


@pytest.mark.parametrize(("model", "code"), PAIRS)
def test_all_good_ends_in_pass(model: str, code: str) -> None:
    """With every answer good the run passes, once through its numbered steps, nothing not good."""
    begun = start(procedures()[code], every_model()[model], SIX, BY)
    run = walk(begun, good_answer, never)
    assert run.verdict == "pass"
    assert not run.not_good
    assert not run.fault
    assert all(asked.good for asked in run.asked)
    assert len({asked.number for asked in run.asked}) == page(begun).of


@pytest.mark.parametrize(("model", "code"), PAIRS)
def test_each_not_good_without_remedy_ends_in_its_hold(model: str, code: str) -> None:
    """A step that stays not good, its remedies impossible, fails with the step's own hold reason."""
    for step in procedures()[code].steps:
        if not asked_of(step, every_model()[model]) or step.kind == "choice":
            continue
        run = reach(model, code, step.code)
        if run.verdict:
            assert step.code == OTHER_ARM
            continue
        run = walk(run, bad_answer, never)
        assert run.verdict == "fail"
        assert run.fault == step.fail
        assert every_model()[model].hold_reason(step.fail)
        assert run.fault_words.endswith(".")
        assert "{" not in run.fault_words
        assert "whole ladder" not in run.fault_words, "no remedy was done"


@pytest.mark.parametrize(("model", "code"), PAIRS)
def test_each_remedy_can_save_the_run(model: str, code: str) -> None:
    """A first not-good answer, every remedy done, then good: the run passes and says it was not good."""
    for step in procedures()[code].steps:
        if not asked_of(step, every_model()[model]) or not step.ladder:
            continue
        run = reach(model, code, step.code)
        if run.verdict:
            assert step.code == OTHER_ARM
            continue
        run = walk(run, bad_answer, lambda r: page(r).kind == "remedy")
        run = walk(run, good_answer, never)
        assert run.verdict == "pass", step.code
        assert run.not_good


@pytest.mark.parametrize(("model", "code"), PAIRS)
def test_a_ladder_done_in_vain_ends_in_its_hold(model: str, code: str) -> None:
    """Every remedy done and every retest still not good: bounded retests, then fail."""
    for step in procedures()[code].steps:
        if not asked_of(step, every_model()[model]) or not step.ladder:
            continue
        run = reach(model, code, step.code)
        if run.verdict:
            assert step.code == OTHER_ARM
            continue
        run = walk(run, lambda r: RemedyDone() if page(r).kind == "remedy" else bad_answer(r), never)
        assert (run.verdict, run.fault) == ("fail", step.fail)
        retests = sum(remedy.then_retest for remedy in step.ladder)
        assert max(asked.retest for asked in run.asked) == retests


def test_the_loose_fitting_full_inspection_has_its_thirteen_steps() -> None:
    """Thirteen numbered steps in the order of hand and eye, the airflow twelfth, the alarm last."""
    begun = start(procedures()["welding-papr-pre-use"], models()["WL1"], SIX, BY)
    assert [step.code for step in begun.numbered] == [
        "head-assembly", "cover-lenses", "auto-darkening-lens", "spark-arrestor", "pre-filter",
        "particulate-filter", "filter-door", "breathing-tube", "belt", "battery", "blower", "airflow", "alarm",
    ]


def test_the_low_flow_ladder_stands_in_its_order() -> None:
    """Set-up, pack, arrestor, pre-filter and retest, filter and retest, tube and seals."""
    ladder = procedures()["welding-papr-pre-use"].step("airflow").ladder
    assert [(remedy.kind, remedy.position, remedy.then_retest) for remedy in ladder] == [
        ("set-up", None, False),
        ("swap-battery", None, False),
        ("clean", "spark-arrestor", False),
        ("change", "pre-filter", True),
        ("change", "particulate-filter", True),
        ("set-up", "breathing-tube", True),
    ]


def test_bench_and_full_inspection_ask_the_same_of_the_air() -> None:
    """A bench inspection leaves out nothing that the full inspection asks."""
    for model in models().values():
        full = procedures()[model.procedures["pre-use"]].steps
        bench = procedures()[model.procedures["bench"]].steps
        assert set(full) <= set(bench)


def test_hand_over_is_short() -> None:
    """At most four steps, none with a clock or an instrument: forty people wait."""
    for model in models().values():
        steps = procedures()[model.procedures["hand-over"]].steps
        assert 1 <= len(steps) <= 4
        assert {step.kind for step in steps} == {"look"}


def test_no_procedure_washes_a_filter() -> None:
    """Filters and pre-filters are changed, never cleaned: no remedy cleans one."""
    for procedure in procedures().values():
        for step in procedure.steps:
            for remedy in (*step.ladder, *step.above_ladder):
                assert not (remedy.kind == "clean" and "filter" in (remedy.position or "")), step.code


@pytest.mark.parametrize("code", ["welding-papr-cleaning", "facepiece-cleaning"])
def test_disinfection_lasts_as_long_as_the_published_step(code: str) -> None:
    """29 CFR 1910.134 Appendix B-2 D: two minutes in the solution; water at most 43 °C (steps B, C, E)."""
    procedure = procedures()[code]
    assert procedure.step("soak").low == 120
    assert procedure.step("soak").then == "rinse"
    for step in ("wash", "rinse"):
        assert "no more than 43 °C (110 °F)" in procedure.step(step).instruction


def test_every_procedure_says_where_its_content_comes_from() -> None:
    """Each text marks common practice as such, and the airflow figure by its source."""
    for procedure in procedures().values():
        assert "common practice, no source" in procedure.text
        if any(step.quantity == "airflow" for step in procedure.steps):
            assert "42 CFR 84.179(a)" in procedure.text


def test_the_answer_of_one_page_does_not_fit_another() -> None:
    """A remedy's answer on a question is refused, and the run stays as it was."""
    run = start(procedures()["return-look"], models()["WL1"], SIX, BY)
    with pytest.raises(ValueError, match="does not answer the step"):
        answer(run, RemedyDone(), SIX, 1.0)
    assert run.asked == ()
