"""The step track: behind, now, ahead, and the open ladder."""

from __future__ import annotations

from cribdesk.procedure.run import (
    Chosen,
    Good,
    Measured,
    RailRow,
    RemedyDone,
    RemedyNotPossible,
    Run,
    Timed,
    page,
    rail,
)
from tests.procedure.house import METER, at, begin, good_answer, say, walk


def rungs(run: Run) -> list[tuple[str, str, str]]:
    """Text, state and value of the indented rows."""
    return [(row.text, row.state, row.value) for row in rail(run) if row.indent]


def test_a_fresh_run_has_one_now_and_the_rest_ahead() -> None:
    """Thirteen rows, numbered, the first open."""
    rows = rail(begin())
    assert [row.state for row in rows] == ["now"] + ["ahead"] * 12
    assert [row.number for row in rows] == list(range(1, 14))
    assert rows[0].text == "Head assembly, seal"


def test_the_open_ladder_shows_what_is_behind_and_ahead() -> None:
    """Attempts with their means, remedies done, the retest now, what is left, and the end of it."""
    run = say(at("airflow"), *[Measured(148, METER)] * 3, *[RemedyDone()] * 3, RemedyDone("lot K2608"))
    run = say(run, *[Measured(161, METER)] * 3, RemedyDone())
    assert RailRow("Airflow", "remedied", number=12) in rail(run)
    assert rungs(run) == [
        ("first, mean of 3", "done", "148"),
        ("set-up right", "done", ""),
        ("charged pack, no alarm", "done", ""),
        ("spark arrestor cleaned", "done", ""),
        ("pre-filter changed: lot K2608", "done", ""),
        ("retest 1, mean of 3", "done", "161"),
        ("particulate filter changed", "done", ""),
        ("retest 2", "now", ""),
        ("tube and seals", "ahead", ""),
        ("still low: on hold", "ahead", ""),
    ]


def test_a_remedy_now_shows_its_retest_ahead() -> None:
    """While a remedy stands open the coming retests are seen too."""
    run = say(at("airflow"), *[Measured(148, METER)] * 3, *[RemedyDone()] * 2, RemedyNotPossible())
    assert rungs(run)[3:] == [
        ("spark arrestor cleaned: not done", "failed", ""),
        ("pre-filter changed", "now", ""),
        ("retest", "ahead", ""),
        ("particulate filter changed", "ahead", ""),
        ("retest", "ahead", ""),
        ("tube and seals", "ahead", ""),
        ("still low: on hold", "ahead", ""),
    ]


def test_a_step_saved_by_its_ladder_folds_to_one_row() -> None:
    """'2 retests, 178' and no rungs any more."""
    run = say(at("airflow"), *[Measured(148, METER)] * 3, *[RemedyDone()] * 4, *[Measured(161, METER)] * 3)
    run = say(run, RemedyDone(), Measured(178, METER), Timed(16.8))
    assert RailRow("Airflow", "done", "2 retests, 178", number=12) in rail(run)
    assert not rungs(run)
    assert rail(run)[-1] == RailRow("Low-flow alarm", "now", number=13)
    assert rail(say(run, Good()))[-1] == RailRow("Low-flow alarm", "done", "16.8", number=13)


def test_a_low_first_reading_opens_no_ladder_yet() -> None:
    """Between readings the step is simply now."""
    assert not rungs(say(at("airflow"), Measured(148, METER)))


def test_a_failed_run_ends_in_the_failed_row() -> None:
    """The step and the closing rung are marked, what came after stays ahead."""
    run = walk(at("airflow"), lambda r: RemedyNotPossible() if page(r).remedy else Measured(1, METER), lambda _: False)
    rows = rail(run)
    assert [row.text for row in rows if row.state == "failed"][-1] == "still low: on hold"
    assert rows[-1] == RailRow("Low-flow alarm", "ahead", number=13)


def test_both_ways_behind_a_choice_share_one_row() -> None:
    """The contact time is one row, whichever disinfectant was chosen."""
    run = say(begin(kind="cleaning"), Good(), Good(), Good())
    other = say(run, Chosen(page(run).options[2]))
    assert [row.text for row in rail(other) if row.state == "now"] == ["Contact time"]
    ended = walk(other, good_answer, lambda _: False)
    assert [row.state for row in rail(ended)] == ["done"] * page(begin(kind="cleaning")).of
