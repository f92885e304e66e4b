"""The page of a check: by keys, by touch, by the answer card; nothing pre-ticked, the time kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QScrollArea, QWidget

from cribdesk.desk.slate import Line
from cribdesk.procedure.model import Procedure, Step
from cribdesk.procedure.run import (
    Ball,
    Chosen,
    Good,
    Measured,
    NotGood,
    RemedyDone,
    RemedyNotPossible,
    Timed,
    answer,
    rail,
    start,
)
from cribdesk.window.check import timed
from cribdesk.window.check.page import steps_of
from cribdesk.window.check.reading import ReadingBody
from cribdesk.window.check.timed import TimedBody
from cribdesk.window.look import current
from cribdesk.window.scanner import Wedge
from tests.window import samples
from tests.window.desk_window import StepClock
from tests.window.helpers import wearing
from tests.window.standing import Standing, settle, stand


@pytest.fixture
def standing(qapp: QApplication, monkeypatch: pytest.MonkeyPatch) -> Iterator[Standing]:
    """A window whose timed steps show the time they are told."""
    monkeypatch.setattr(timed, "QElapsedTimer", StepClock)
    monkeypatch.setattr(StepClock, "ran", 0.0)
    made = stand()
    yield made
    made.window.close()


def answers(standing: Standing) -> list[object]:
    """The answers given so far, without their time."""
    return [args[0] for args in standing.asked("answered")]


def type_slowly(standing: Standing, text: str) -> None:
    """Keys at a person's pace."""
    for character in text:
        QTest.keyClick(standing.window.windowHandle(), character)
        QTest.qWait(Wedge.HOLD + 15)


def test_a_look_has_two_answers_of_one_weight_and_no_default(standing: Standing) -> None:
    """Good and not good are open at once; Return and Space press neither."""
    standing.lay(samples.check_slate(samples.run_at("spark-arrestor")))
    assert standing.button("Good").isEnabled()
    assert standing.button("Not good").isEnabled()
    standing.key(Qt.Key.Key_Return)
    standing.key(Qt.Key.Key_Space)
    QTest.qWait(60)
    assert answers(standing) == []
    standing.key(Qt.Key.Key_F5)
    standing.key(Qt.Key.Key_F8)
    assert answers(standing) == [Good(), NotGood()]


def test_the_time_since_the_page_came_up_goes_with_the_answer(standing: Standing) -> None:
    """A quarter of a second on the page is told as such."""
    standing.lay(samples.check_slate(samples.run_at("spark-arrestor")))
    QTest.qWait(250)
    standing.key(Qt.Key.Key_F5)
    (_, elapsed), *_ = standing.asked("answered")
    assert isinstance(elapsed, float)
    assert 0.2 <= elapsed < 5


def test_back_and_break_off_are_commands(standing: Standing) -> None:
    """F9 goes back, F12 breaks off, and Esc is F12: it never closes without a word."""
    standing.lay(samples.check_slate(samples.run_at("spark-arrestor")))
    for key in (Qt.Key.Key_F9, Qt.Key.Key_F12, Qt.Key.Key_Escape):
        standing.key(key)
    assert standing.asked("chosen") == [("back", ""), ("break-off", ""), ("break-off", "")]


def test_back_is_off_on_the_first_step(standing: Standing) -> None:
    """There is nothing to go back to."""
    standing.lay(samples.check_slate(samples.run_at("head")))
    assert not standing.button("Back").isEnabled()
    standing.key(Qt.Key.Key_F9)
    assert standing.asked("chosen") == []


def test_places_cannot_be_opened_over_a_check(standing: Standing) -> None:
    """Ctrl+2 and F2 do nothing while a step stands open."""
    standing.lay(samples.check_slate(samples.run_at("head")))
    standing.key(Qt.Key.Key_2, Qt.KeyboardModifier.ControlModifier)
    standing.key(Qt.Key.Key_F2)
    assert standing.window.place()[0] == "counter"
    assert not standing.window.typed.isVisible()


def test_a_reading_is_typed_and_judged_while_it_is_typed(standing: Standing) -> None:
    """178 passes the second retest; F5 enters it with the meter's label."""
    standing.lay(samples.check_slate(samples.ladder_run()))
    assert "Airflow, retest 2" in standing.shown()
    assert not standing.button("Enter").isEnabled()
    type_slowly(standing, "178")
    assert "8 above the minimum: passes." in standing.shown()
    assert "Retest 1 was 9 short" in standing.shown()
    standing.key(Qt.Key.Key_F5)
    meter = samples.check_slate(samples.ladder_run()).check.instrument_label  # type: ignore[union-attr]
    assert answers(standing) == [Measured(178.0, meter, temperature_c=20.0)]


@pytest.mark.parametrize(("typed", "said"), [("161", "9 below the minimum"), ("214", "Next: open the door and look.")])
def test_what_a_bad_reading_leads_to_is_said(standing: Standing, typed: str, said: str) -> None:
    """Too low and too high to be true are told with what comes next, before they are entered."""
    standing.lay(samples.check_slate(samples.ladder_run()))
    type_slowly(standing, typed)
    assert said in standing.shown()


def test_the_pad_types_too(standing: Standing) -> None:
    """Gloved fingers: 1, 8, 5, take back one, 4."""
    standing.lay(samples.check_slate(samples.run_at("airflow")))
    for key in ("1", "8", "5", "Take back one", "4"):
        standing.button(key).click()
    settle()
    assert standing.button("Enter 184").isEnabled()


def test_the_ball_of_a_meter_without_numbers(standing: Standing) -> None:
    """F6, F7 and F8 say above, at and below the mark."""
    standing.lay(samples.check_slate(samples.run_at("airflow")))
    for key in (Qt.Key.Key_F6, Qt.Key.Key_F7, Qt.Key.Key_F8):
        standing.key(key)
    assert [one.where for one in answers(standing) if isinstance(one, Ball)] == ["above", "at", "below"]


@pytest.mark.parametrize(("wide", "high"), [(1024, 768), (960, 540)])
def test_balls_and_pad_are_whole_in_a_small_window(standing: Standing, wide: int, high: int) -> None:
    """Before a figure is typed the balls stand whole in sight; then the verdict has their room and F6 says nothing."""
    standing.window.resize(wide, high)
    settle()
    standing.lay(samples.check_slate(samples.run_at("airflow")))
    settle()
    body = standing.window.check.findChild(ReadingBody)
    assert body is not None
    area = body.parentWidget()
    while not isinstance(area, QScrollArea):
        area = area.parentWidget()
        assert area is not None
    seen = QRect(area.viewport().mapToGlobal(QPoint()), area.viewport().size())

    def whole(widget: QWidget) -> bool:
        return seen.contains(QRect(widget.mapToGlobal(QPoint()), widget.size()))

    balls = [standing.button(words) for words in ("Above the mark", "At the mark", "Below the mark")]
    assert all(whole(one) for one in [*balls, body.field, body.pad])
    type_slowly(standing, "171")
    standing.key(Qt.Key.Key_F6)
    assert answers(standing) == []
    assert whole(body.verdict)
    assert whole(body.pad)
    assert "Above the mark" not in standing.shown()
    standing.button("Take back one").click()
    standing.button("Take back one").click()
    standing.button("Take back one").click()
    settle()
    assert standing.button("Above the mark").isVisible()


def test_a_long_verdict_is_whole_in_the_least_room(standing: Standing) -> None:
    """Text of 200 % in 1440 x 900, cold air and a guard band: three lines of verdict, none below the edge."""
    with wearing(u=2.0):
        standing.window.resize(1440, 900)
        slate = samples.check_slate(samples.ladder_run())
        assert slate.check is not None
        standing.lay(replace(slate, check=replace(slate.check, uncertainty_lpm=8.0)))
        body = standing.window.check.findChild(ReadingBody)
        assert body is not None
        body.air.temperature.setText("-9.5")
        body.field.setFocus()
        assert "Airflow, retest 2" in standing.shown()
        type_slowly(standing, "178.5")
        settle()
        area = body.parentWidget()
        while not isinstance(area, QScrollArea):
            area = area.parentWidget()
            assert area is not None
        assert "183.2 is needed to be sure. 2 more, then their mean decides." in standing.shown()
        words, _ = body.verdict._lines(current())
        assert len(words) == 3
        last = body.verdict.mapTo(area.viewport(), QPoint(0, current().px(8 + 30 * len(words)))).y()
        assert last <= area.viewport().height()
        body.field.clear()
        settle()
        assert body._heading is not None
        assert body._heading.isVisible()


def test_without_a_meter_nothing_is_entered(standing: Standing) -> None:
    """The page asks for the meter; F5 and the ball wait for it; its scan keeps what was typed."""
    slate = samples.check_slate(samples.run_at("airflow"), instrument_label="", instrument_words="")
    standing.lay(slate)
    type_slowly(standing, "184")
    assert "Scan the flow meter first" in standing.shown()
    for key in (Qt.Key.Key_F5, Qt.Key.Key_F6):
        standing.key(key)
    assert answers(standing) == []
    standing.lay(samples.check_slate(samples.run_at("airflow")))
    standing.key(Qt.Key.Key_F5)
    assert [one.value for one in answers(standing) if isinstance(one, Measured)] == [184.0]


def test_a_scan_leaves_the_typed_reading_alone(standing: Standing) -> None:
    """A meter scanned while the field has the focus is a scan, not figures."""
    standing.lay(samples.check_slate(samples.run_at("airflow")))
    type_slowly(standing, "18")
    standing.burst("M0000012")
    QTest.qWait(60)
    body = standing.window.check.findChild(ReadingBody)
    assert body is not None
    assert body.field.text() == "18"
    assert standing.asked("raw_scan") == [("M0000012", "M0000012")]


def test_the_alarm_inside_its_window(standing: Standing) -> None:
    """The clock starts with F5; at 16.8 s the whole field says now; F5 takes the time."""
    standing.lay(samples.check_slate(samples.run_at("alarm")))
    assert "Ready to start" in standing.shown()
    standing.key(Qt.Key.Key_F5)
    body = standing.window.check.findChild(TimedBody)
    assert body is not None
    StepClock.ran = 16.8
    QTest.qWait(120)
    assert "Now: listen, feel" in standing.shown()
    assert not standing.button("Back").isEnabled()
    body.field.click()
    assert answers(standing) == [Timed(16.8, "all")]


def test_the_window_closes_by_itself(standing: Standing) -> None:
    """At the end of the window the step answers 'none', once."""
    standing.lay(samples.check_slate(samples.run_at("alarm")))
    standing.key(Qt.Key.Key_F5)
    StepClock.ran = 20.3
    QTest.qWait(200)
    assert answers(standing) == [Timed(20.3, "none")]


def test_only_one_signal_and_a_signal_before_the_start(standing: Standing) -> None:
    """F8 before the start: it sounds already; F8 while it runs: only one of two."""
    standing.lay(samples.check_slate(samples.run_at("alarm")))
    standing.key(Qt.Key.Key_F8)
    standing.key(Qt.Key.Key_F5)
    StepClock.ran = 17.0
    standing.key(Qt.Key.Key_F8)
    assert answers(standing) == [Timed(0.0, "before"), Timed(17.0, "one")]


def test_a_clock_without_an_end_waits_until_it_is_long_enough(standing: Standing) -> None:
    """Contact time of a cleaning: before 10 min F5 is off and says why; then it takes the time."""
    soak = Step(
        "soak",
        "timed",
        "Contact time",
        "Leave it wet",
        "Start when it is wet all over.",
        unit="s",
        limit_kind="at least",
        low=600.0,
    )
    procedure = Procedure("wl1-hand-over", "Cleaning", "cleaning", 1, "", "", "", (soak,))
    standing.lay(samples.check_slate(start(procedure, samples.MODEL, samples.NOW, samples.CASTEL.label), "cleaning"))
    standing.key(Qt.Key.Key_F5)
    StepClock.ran = 300.0
    QTest.qWait(120)
    assert not standing.button("Done").isEnabled()
    standing.key(Qt.Key.Key_F5)
    assert answers(standing) == []
    StepClock.ran = 601.0
    QTest.qWait(120)
    standing.key(Qt.Key.Key_F5)
    assert answers(standing) == [Timed(601.0, "all")]


def test_a_choice_has_a_key_for_each_answer(standing: Standing) -> None:
    """F5, F6, F7 take the first three."""
    standing.lay(samples.check_slate(samples.run_at("speed", samples.CHOICE)))
    standing.key(Qt.Key.Key_F6)
    standing.button("It stopped by itself").click()
    assert answers(standing) == [Chosen("high"), Chosen("it stopped by itself")]


def test_a_remedy_is_done_or_not_possible(standing: Standing) -> None:
    """F5 done, F8 not possible; what it waits for is said."""
    standing.lay(samples.check_slate(samples.remedy_run()))
    standing.key(Qt.Key.Key_F5)
    standing.lay(samples.check_slate(samples.remedy_run(), ask="battery"))
    assert "Scan the charged pack that goes in." in standing.shown()
    standing.key(Qt.Key.Key_F5)  # only the scan goes on from here
    standing.key(Qt.Key.Key_F8)
    assert answers(standing) == [RemedyDone(), RemedyNotPossible()]


@pytest.mark.parametrize(
    ("step", "command", "fits"),
    [
        ("spark-arrestor", "good", True), ("spark-arrestor", "next", False), ("spark-arrestor", "not-good", True),
        ("blower", "next", True), ("airflow", "good", False), ("airflow", "next", False), ("airflow", "not-good", True),
        ("alarm", "next", True),
    ],
)  # fmt: skip
def test_the_answer_card_fits_the_page_or_is_refused(standing: Standing, step: str, command: str, fits: bool) -> None:
    """'Next' never passes a look, 'good' never passes a reading that was not typed."""
    standing.lay(samples.check_slate(samples.run_at(step)))
    assert standing.window.answer_by_command(command) is fits
    given = answers(standing)
    if command == "not-good":
        assert given == [NotGood()]
    elif not fits:
        assert given == []


def test_the_answer_card_goes_back_and_breaks_off(standing: Standing) -> None:
    """Both are told as commands; without a check there is nothing to answer."""
    assert not standing.window.answer_by_command("good")
    standing.lay(samples.check_slate(samples.run_at("lens")))
    assert standing.window.answer_by_command("back")
    assert standing.window.answer_by_command("break-off")
    assert standing.asked("chosen") == [("back", ""), ("break-off", "")]


def test_what_is_said_stays_until_the_next_page(standing: Standing) -> None:
    """A refused scan is read in the strip over the step, and gone with the next step."""
    slate = samples.check_slate(samples.run_at("spark-arrestor"))
    standing.lay(slate)
    standing.window.show_line(Line("refused", "This is not the meter. Nothing changed.", "U000418M", samples.NOW))
    assert standing.window.check.strip.said().words == "This is not the meter. Nothing changed."
    assert slate.check is not None
    further = answer(slate.check.run, Good(), samples.NOW, 2.0)
    standing.window.show_slate(replace(slate, check=replace(slate.check, run=further)), ())
    assert standing.window.check.strip.said().words.startswith("Full inspection at the bench")


def test_the_track_folds_the_good_steps_behind_an_open_ladder() -> None:
    """'1 to 11 good', the ladder's rungs, then what remains."""
    steps = steps_of(rail(samples.ladder_run()))
    assert (steps[0].words, steps[0].figure) == ("1 to 11", "good")
    assert [step.words for step in steps if step.state == "now"] == ["retest 2"]
    assert steps[-1].words == "Low-flow alarm"


def test_leaving_a_check_stops_its_clock(standing: Standing) -> None:
    """A clock that runs when the check is broken off elsewhere says nothing any more."""
    standing.lay(samples.check_slate(samples.run_at("alarm")))
    standing.key(Qt.Key.Key_F5)
    standing.lay(samples.EMPTY)
    StepClock.ran = 30.0
    QTest.qWait(150)
    settle()
    assert answers(standing) == []
