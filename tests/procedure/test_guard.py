"""The guard band in a run: JCGM 106:2012 with a meter of 3 L/min standard uncertainty, 175 to pass, 165 to fail."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cribdesk.procedure.page import mark, page, saying
from cribdesk.procedure.record import from_json, to_json
from cribdesk.procedure.run import Measured, NotGood, RemedyDone, Run, back
from tests.procedure.house import METER, SIX, at, say

GUARD = 4.9346


def read(value: float, actual: float | None = None) -> Measured:
    """A reading in air of 4 °C; the flow is what was read where nothing else is said."""
    true = value if actual is None else actual
    return Measured(value, METER, 3.0, temperature_c=4.0, actual=true, guard_lpm=GUARD)


def flow(*values: float) -> tuple[Measured, ...]:
    """Readings one after the other."""
    return tuple(read(one) for one in values)


def where(run: Run) -> str:
    """The step asked for now, or 'remedy'."""
    return "remedy" if page(run).kind == "remedy" else page(run).step


@pytest.mark.parametrize(("value", "then"), [(175, "alarm"), (174.9, "airflow"), (165.1, "airflow"), (165, "remedy")])
def test_one_reading_decides_only_where_it_is_sure(value: float, then: str) -> None:
    """Over the band it passes, under it the ladder begins at once, between a second one is asked."""
    assert where(say(at("airflow"), *flow(value))) == then


def test_between_the_mean_of_three_decides_and_then_the_ladder() -> None:
    """174, 176, 176 is 175.3; its own scatter asks for 175.1. 174, 175, 175 is 174.7 and is not sure."""
    passed = say(at("airflow"), *flow(174, 176, 176))
    assert where(passed) == "alarm"
    assert passed.asked[-1].mean == pytest.approx(175.3333, abs=1e-4)
    scatter = 2 / math.sqrt(3) / math.sqrt(3)  # deviation of the three, over the root of their number
    assert passed.asked[-1].needed == pytest.approx(170 + math.hypot(GUARD, GUARD / 3 * scatter))
    low = say(at("airflow"), *flow(174, 175, 175))
    assert where(low) == "remedy"
    assert low.not_good


def test_one_high_reading_does_not_shop_for_a_pass() -> None:
    """166, 176, 190 has a mean of 177.3, and scatters so that far more would be needed."""
    assert where(say(at("airflow"), *flow(166, 176, 190))) == "remedy"


def test_what_was_taken_back_does_not_decide_alone_again() -> None:
    """A reading too close taken back: the next one, however good, is one of three."""
    run = say(back(say(at("airflow"), *flow(172)), SIX), *flow(180))
    assert where(run) == "airflow"
    assert page(run).tried == 1


def test_what_flowed_is_judged_not_what_was_read() -> None:
    """176 read at 4 °C and 171 true: not sure; 184 read and 179 true passes; the limit above is the true flow's too."""
    run = say(at("airflow"), read(176, 171))
    assert where(run) == "airflow"
    asked = run.asked[-1]
    assert (asked.value, asked.actual, asked.temperature_c) == (176, 171, 4)
    assert asked.answer == "176 L/min at 4 °C is 171 true; 175 is needed to be sure"
    assert where(say(at("airflow"), read(184, 179))) == "alarm"
    assert where(say(at("airflow"), read(200, 207))) == "remedy"


def test_what_is_typed_says_the_same() -> None:
    """While one types: what flowed, what is needed, what comes next; and its sign."""
    run = at("airflow")
    assert saying(run, read(176, 171)) == (
        "176 read at 4 °C is 171 true; 175 is needed to be sure. 2 more, then their mean decides."
    )
    assert saying(run, read(184, 179)) == "184 read at 4 °C is 179 true: 9 above the minimum: passes."
    assert saying(run, read(160)) == "10 below the minimum. Next: set-up right."
    signs = [mark(run, read(one)) for one in (180, 172, 168, 160, 220)]
    assert signs == ["fine", "caution", "not good", "not good", "caution"]


def test_the_tag_says_why_a_figure_over_the_minimum_was_not_enough() -> None:
    """A mean of 172 after the whole ladder."""
    run = say(at("airflow"), *flow(150), *[RemedyDone()] * 4, *flow(150), RemedyDone("lot K2608"), *flow(150))
    run = say(run, RemedyDone(), *flow(172, 172, 172))
    assert run.fault_words.startswith("Airflow 172 L/min (175 is needed to be sure) after the whole ladder.")


def test_all_of_it_is_kept() -> None:
    """Raw reading, temperature, pressure, what flowed and what was needed come back from the record."""
    given = Measured(176.0, METER, 3.0, temperature_c=-4.5, pressure_hpa=985.2, actual=171.25, guard_lpm=GUARD)
    run = say(at("airflow"), given)
    kept = from_json(to_json(run)).asked[-1]
    assert (kept.value, kept.actual, kept.temperature_c, kept.pressure_hpa) == (176.0, 171.25, -4.5, 985.2)
    assert (kept.uncertainty, kept.needed, kept.counts) == (3.0, 174.935, 171.25)


def test_no_further_reading_is_the_ladder() -> None:
    """Too close, and nobody wants to read again."""
    assert where(say(at("airflow"), *flow(172), NotGood())) == "remedy"


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -1.0, 1001.0])
def test_a_flow_that_cannot_be_is_refused(wrong: float) -> None:
    """Whatever made it up: no number is invented, and nothing changed."""
    with pytest.raises(ValueError, match="Nothing changed"):
        say(at("airflow"), read(180, wrong))


@settings(max_examples=100)
@given(st.lists(st.floats(150, 200), min_size=3, max_size=3))
def test_no_pass_without_the_band(values: list[float]) -> None:
    """Whatever three readings say, a pass has one that is sure, or a mean that is."""
    run = at("airflow")
    used = []
    for one in values:
        if where(run) == "airflow":
            run = say(run, read(one))
            used.append(one)
    if where(run) == "alarm":
        assert used[0] >= 170 + GUARD - 1e-6 or sum(used) / 3 >= 170 + GUARD - 1e-6
