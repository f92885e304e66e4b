"""What the dialog shows, and what it says under a figure while it is typed."""

from __future__ import annotations

import pytest

from cribdesk.procedure.run import Good, Measured, NotGood, RemedyDone, Timed, page, saying
from tests.procedure.house import METER, at, begin, say


def test_a_look_page_shows_good_and_not_good() -> None:
    """Question, instruction, what good and bad look like, which picture and position."""
    shown = page(at("spark-arrestor"))
    assert (shown.kind, shown.number, shown.of, shown.title) == ("look", 4, 13, "Spark arrestor")
    assert shown.heading == "Spark arrestor whole, flat, not clogged?"
    assert shown.instruction == "Open the filter door. Hold the arrestor up to the light."
    assert (shown.good, shown.bad) == ("even mesh, flat rim", ("burnt through", "rim bent", "clogged"))
    assert (shown.picture, shown.position) == ("spark-arrestor", "spark-arrestor")
    assert (shown.otherwise, shown.can_go_back) == ("Clean the spark arrestor", True)


def test_a_reading_page_shows_limit_meter_and_ball() -> None:
    """The limit comes from the unit model; the meter's kind and the ball are offered."""
    shown = page(at("airflow"))
    assert shown.limit is not None
    assert (shown.limit.low, shown.limit.high, shown.limit.words) == (170, 206, "at least 170 L/min")
    assert (shown.unit, shown.instrument, shown.allows_ball, shown.tries) == ("L/min", "flow meter", True, 3)
    assert shown.otherwise == "2 more, then their mean decides"


def test_a_retest_says_which_and_keeps_the_earlier_readings() -> None:
    """The mean of each attempt stays in place by its name."""
    run = say(at("airflow"), *[Measured(148, METER)] * 3, *[RemedyDone()] * 4, *[Measured(161, METER)] * 3)
    run = say(run, RemedyDone())
    shown = page(run)
    assert shown.heading == "Airflow, retest 2"
    assert [(one.name, one.value) for one in shown.earlier] == [("first", 148), ("retest 1", 161)]


def test_a_remedy_page_tells_what_to_do() -> None:
    """Kind, position, heading and words of the rung that is due."""
    shown = page(say(at("pre-filter"), NotGood()))
    assert (shown.kind, shown.position, shown.heading) == ("remedy", "pre-filter", "Change the pre-filter")
    assert shown.remedy is not None
    assert (shown.remedy.kind, shown.remedy.then_retest) == ("change", True)


def test_a_timed_page_names_the_signals() -> None:
    """Sound, and vibration where the model has it."""
    assert page(at("alarm")).signals == ("sounds", "vibrates")
    assert page(at("alarm", "FF1")).signals == ("sounds",)
    assert page(at("alarm")).otherwise == "the same once more"
    assert page(say(at("alarm"), Timed(3))).otherwise == "the unit goes on hold"


def test_the_last_page_says_how_it_ended() -> None:
    """Verdict and, when it failed, why."""
    shown = page(say(begin(kind="hand-over"), *[Good()] * 4))
    assert (shown.kind, shown.heading, shown.instruction) == ("ended", "pass", "")
    shown = page(say(begin(kind="hand-over"), NotGood()))
    assert (shown.kind, shown.heading) == ("ended", "fail")
    assert shown.instruction == "Damage seen at hand-over: helmet, seal, tube or belt."


@pytest.mark.parametrize(
    ("earlier", "value", "words"),
    [
        ((), 178, "8 above the minimum: passes."),
        ((), 170, "At the minimum: passes."),
        ((), 161, "9 below the minimum. 2 more, then their mean decides."),
        ((), 214, "214 is more than this model can give. Next: open the door and look."),
        ((161,), 180, "10 above the minimum. 1 more, then their mean decides."),
        ((161, 180), 172, "Mean of 3 is 171: passes."),
        ((161, 161), 161, "Mean of 3 is 161. Next: set-up right."),
    ],
)
def test_the_line_under_the_figure(earlier: tuple[float, ...], value: float, words: str) -> None:
    """The verdict is said as one types, and agrees with what the answer then does."""
    run = say(at("airflow"), *[Measured(one, METER) for one in earlier])
    assert saying(run, Measured(value, METER)) == words
    after = page(say(run, Measured(value, METER)))
    assert ("passes" in words) == (after.step == "alarm")
    assert ("Next:" in words) == (after.kind == "remedy")


def test_no_line_where_no_figure_is_asked() -> None:
    """A look step has nothing to say about a number."""
    with pytest.raises(ValueError, match="No reading is asked"):
        saying(begin(), Measured(170, METER))
