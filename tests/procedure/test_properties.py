"""Random runs: they end, they never lose a not-good, they follow the graph that the loader proved."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from cribdesk.procedure.paths import Place, graph, remedy_at
from cribdesk.procedure.record import from_json, record_of, to_json
from cribdesk.procedure.run import (
    Answer,
    Ball,
    Chosen,
    Good,
    Measured,
    NotGood,
    RemedyDone,
    RemedyNotPossible,
    Run,
    Timed,
    answer,
    back,
    break_off,
    page,
    rail,
    start,
)
from tests.procedure.house import BY, METER, SIX, every_model, models, pairs, procedures

FLOWS = st.one_of(st.floats(0, 1000), st.sampled_from([169.9, 170.0, 115.0, 114.9, 206.0, 206.1, 160.0]))
OUTCOMES = st.sampled_from(["all", "one", "none", "before", "stays"])


@st.composite
def fitting(draw: st.DrawFn, run: Run) -> Answer:
    """Any answer that the page shown may take."""
    shown = page(run)
    if shown.kind == "remedy":
        return draw(st.sampled_from([RemedyDone("lot"), RemedyNotPossible("none left")]))
    if shown.kind == "choice":
        return Chosen(draw(st.sampled_from(shown.options)))
    kinds: list[st.SearchStrategy[Answer]] = [st.builds(NotGood)]
    if shown.kind == "reading":
        kinds.append(st.builds(Measured, FLOWS, st.just(METER)))
        if shown.allows_ball:
            kinds.append(st.builds(Ball, st.sampled_from(["above", "at", "below"]), st.just(METER)))
    elif shown.kind == "timed":
        outcomes = OUTCOMES if shown.signals else st.just("all")
        kinds.append(st.builds(Timed, st.one_of(st.floats(0, 900), st.sampled_from([15.0, 20.0])), outcomes))
    else:
        kinds = [st.sampled_from([Good(), Good(), Good(), NotGood("remark")])]
    return draw(st.one_of(*kinds))


def longest(run: Run) -> int:
    """More answers than this no run can take: every step, each try, each rung, each retest's tries."""
    return sum(
        (1 + len(step.ladder) + len(step.above_ladder)) * (step.tries + 1) for step in run.procedure.steps
    )


def unresolved(run: Run) -> set[str]:
    """Steps whose last standing answer is not good."""
    last = {asked.step: asked.good for asked in run.asked if not asked.replaced}
    return {step for step, good in last.items() if not good}


@settings(max_examples=150)
@given(st.data())
def test_a_run_always_ends_and_keeps_its_promises(data: st.DataObject) -> None:
    """Whatever is answered: an end within the bound, moves along the proved graph, not_good for good,
    and no pass while a not-good answer is unresolved."""
    model, code = data.draw(st.sampled_from(pairs()))
    run = start(procedures()[code], every_model()[model], SIX, BY)
    proved = graph(run.procedure, run.model)
    for _ in range(longest(run)):
        before = run
        run = answer(run, data.draw(fitting(run)), SIX + timedelta(seconds=len(run.asked)), 1.0)
        assert run.standing.node in proved[before.standing.node]
        assert run.not_good or not before.not_good
        assert len(rail(run)) >= 1
        if run.verdict:
            break
    assert run.verdict in ("pass", "fail")
    if run.verdict == "pass":
        assert not unresolved(run)
    else:
        assert run.not_good
        assert run.model.hold_reason(run.fault or "")
        assert run.fault_words.endswith(".")
    assert from_json(to_json(run)).verdict == record_of(run).verdict


@settings(max_examples=150)
@given(st.data())
def test_back_and_break_off_lose_nothing(data: st.DataObject) -> None:
    """With back and break-off mixed in: nothing recorded is ever lost, not_good stays, a pass is clean."""
    model, code = data.draw(st.sampled_from(pairs()))
    run = start(procedures()[code], every_model()[model], SIX, BY)
    for _ in range(60):
        before, move = run, data.draw(st.sampled_from(["answer"] * 8 + ["back"] * 3 + ["break off"]))
        if move == "back" and page(run).can_go_back:
            run = back(run, SIX)
            assert len(run.asked) == len(before.asked)
        elif move == "break off" and len(run.asked) > 20:
            run = break_off(run, SIX, "idle")
        else:
            run = answer(run, data.draw(fitting(run)), SIX, 1.0)
            assert run.asked[:-1] == before.asked
        assert run.not_good or not before.not_good
        if run.verdict:
            break
    if run.verdict == "pass":
        assert not unresolved(run)


@settings(max_examples=100)
@given(st.lists(FLOWS, min_size=4, max_size=4), st.booleans())
def test_a_low_first_number_passes_only_by_the_mean(values: list[float], taken_back: bool) -> None:
    """With a first reading under 170, taken back or not, only a mean of three at 170 or more passes."""
    model = models()["WL1"]
    run = start(procedures()["welding-papr-pre-use"], model, SIX, BY)
    while page(run).step != "airflow":
        run = answer(run, Good(), SIX, 1.0)
    first = min(values[0], 169.0)
    run = answer(run, Measured(first, METER), SIX, 1.0)
    used = [first]
    if taken_back:
        run, used = back(run, SIX), []
    for value in values[1:]:
        if isinstance(run.standing.node, Place) and page(run).kind == "reading" and page(run).step == "airflow":
            run = answer(run, Measured(value, METER), SIX, 1.0)
            used.append(value)
    passed = page(run).step == "alarm"
    assert passed == (len(used) == 3 and max(used) <= 206 and round(sum(used) / 3, 6) >= 170)


def test_every_node_of_every_graph_is_whole() -> None:
    """Each place shows a real question or a real remedy, and leads somewhere."""
    for model, code in pairs():
        procedure = procedures()[code]
        for node, ways in graph(procedure, every_model()[model]).items():
            if isinstance(node, Place):
                assert ways
                if node.shown != "ask":
                    assert remedy_at(procedure.step(node.step), node).title
