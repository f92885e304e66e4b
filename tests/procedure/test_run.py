"""A run: airflow, ladder, alarm, back and break-off."""

from __future__ import annotations

import math
from datetime import datetime

import pytest

from cribdesk.procedure.run import (
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
    can_go_back,
    page,
    start,
)
from tests.procedure.house import BY, METER, SIX, at, begin, models, procedures, say


def flow(*values: float) -> tuple[Measured, ...]:
    """Airflow readings of one meter."""
    return tuple(Measured(value, METER) for value in values)


def after_low(run: Run, remedies: int) -> Run:
    """The airflow step low, and that many rungs of its ladder done."""
    return say(run, *flow(148, 148, 148), *[RemedyDone()] * remedies)


def test_the_minimum_itself_passes_and_a_hair_less_does_not() -> None:
    """42 CFR 84.179(a), loose-fitting: 170 L/min is enough, 169.9 is not."""
    assert page(say(at("airflow"), *flow(170))).step == "alarm"
    low = say(at("airflow"), *flow(169.9))
    assert page(low).step == "airflow"
    assert low.not_good


def test_repeats_do_not_shop_for_a_pass() -> None:
    """After a low reading one good one is not enough: three are taken and their mean decides."""
    run = say(at("airflow"), *flow(160, 175))
    assert (page(run).kind, page(run).tried) == ("reading", 2)
    assert [e.value for e in page(run).earlier] == [160, 175]
    assert page(say(run, *flow(174))).kind == "remedy"
    passed = say(run, *flow(175))
    assert page(passed).step == "alarm"
    assert passed.asked[-1].mean == 170
    assert [asked.value for asked in passed.asked[-3:]] == [160, 175, 175]


def test_no_further_reading_goes_to_the_ladder() -> None:
    """After a first low reading the person may go straight to the ladder."""
    run = say(at("airflow"), *flow(150), NotGood())
    assert page(run).kind == "remedy"
    assert run.asked[-1].answer == "no further reading, mean of 1: 150 L/min"


def test_more_than_the_model_can_give_is_no_pass() -> None:
    """214 L/min where 206 is the most: look inside, retest, and when it stays so, fail."""
    run = say(at("airflow"), *flow(214))
    shown = page(run)
    assert shown.remedy is not None
    assert (shown.remedy.kind, shown.remedy.position) == ("look-inside", "particulate-filter")
    assert page(say(run, RemedyDone(), *flow(206))).step == "alarm"
    run = say(run, RemedyDone(), *flow(214), RemedyDone(), *flow(214))
    assert (run.verdict, run.fault) == ("fail", "airflow-high")
    assert run.fault_words == (
        "Airflow 214 L/min, over 206: more than this model can give. Filter or meter suspected."
    )


def test_a_high_reading_after_a_low_one_looks_inside_too() -> None:
    """Within the three readings a high one is not averaged away."""
    shown = page(say(at("airflow"), *flow(100, 240)))
    assert shown.remedy is not None
    assert shown.remedy.kind == "look-inside"


def test_low_after_looking_inside_takes_the_low_ladder() -> None:
    """Both ladders keep their own place, so the number of retests stays bounded."""
    run = say(at("airflow"), *flow(214), RemedyDone(), *flow(150, 150, 150))
    shown = page(run)
    assert shown.remedy is not None
    assert shown.remedy.short == "set-up right"


def test_the_whole_ladder_in_vain_is_said_on_the_tag() -> None:
    """After all six rungs and three retests the blower is suspected, in full sentences."""
    run = after_low(at("airflow"), 4)
    run = say(run, *flow(161, 161, 161), RemedyDone("lot K2608"), *flow(158, 158, 158), RemedyDone())
    assert page(run).heading == "Airflow, retest 3"
    run = say(run, *flow(157, 158, 159))
    assert (run.verdict, run.fault) == ("fail", "airflow")
    assert run.fault_words == (
        "Airflow 158 L/min after the whole ladder. At least 170 is needed. Blower suspected."
    )
    assert run.ended is not None


def test_a_ladder_with_a_gap_does_not_call_itself_whole() -> None:
    """A remedy that could not be done is named on the tag."""
    run = say(after_low(at("airflow"), 3), RemedyNotPossible("no pre-filter on the shelf"))
    assert page(run).heading == "Airflow, retest 1", "three things were done, so it is asked again"
    run = say(run, *flow(160, 160, 160), RemedyDone(), *flow(160, 160, 160), RemedyDone(), *flow(160, 160, 160))
    assert run.fault_words.startswith("Airflow 160 L/min after the ladder without: pre-filter changed.")


def test_nothing_done_means_no_retest() -> None:
    """Where no remedy could be done there is nothing to test again."""
    run = say(at("airflow"), *flow(1, 1, 1), *[RemedyNotPossible()] * 6)
    assert run.verdict == "fail"
    assert sum(asked.kind == "reading" for asked in run.asked) == 3


@pytest.mark.parametrize(
    ("where", "mark", "passes"),
    [
        ("above", None, True), ("at", None, True), ("below", None, False),
        ("at", 170, True), ("at", 180, True), ("at", 169, False), ("above", 169, False), ("below", 180, False),
    ],
)
def test_a_ball_without_numbers(where: str, mark: float | None, passes: bool) -> None:
    """At or above a mark that stands at the minimum or higher passes; no number is made up."""
    run = say(at("airflow"), Ball(where, METER, mark))
    asked = run.asked[-1]
    assert asked.good is passes
    assert asked.value is None
    assert f"ball {where} the mark" in asked.answer
    assert page(run).step == "alarm" if passes else page(run).kind == "remedy"


def test_a_ball_does_not_follow_a_low_number() -> None:
    """The number is not traded for a kinder ball."""
    run = say(at("airflow"), *flow(160))
    assert not page(run).allows_ball
    with pytest.raises(ValueError, match="needs a number"):
        say(run, Ball("above", METER))


@pytest.mark.parametrize("value", [-1, 1000.5, math.nan, math.inf, True])
def test_a_figure_that_cannot_be_is_refused(value: float) -> None:
    """Readings are finite and from 0 to 1000; else a plain sentence, and nothing changed."""
    run = at("airflow")
    with pytest.raises(ValueError, match="a number from 0 to 1000"):
        say(run, Measured(value, METER))
    assert page(run).step == "airflow"


def test_a_reading_needs_its_meter() -> None:
    """A number without the instrument's label is not taken."""
    with pytest.raises(ValueError, match="Which flow meter was it"):
        say(at("airflow"), Measured(180))


@pytest.mark.parametrize(
    ("given", "passes"),
    [
        (Timed(15), True), (Timed(20), True), (Timed(14.9), False), (Timed(20.1), False), (Timed(0), False),
        (Timed(17, "one"), False), (Timed(20, "none"), False), (Timed(17, "before"), False),
        (Timed(17, "stays"), False), (NotGood("sounded before the tube was closed"), False),
    ],
)
def test_the_alarm_must_come_inside_its_window(given: Timed | NotGood, passes: bool) -> None:
    """15 to 20 s for the shipped model, with every signal; earlier and later are both not good."""
    run = say(at("alarm"), given)
    assert run.asked[-1].good is passes
    assert page(run).step == ("alarm-stops" if passes else "alarm")


def test_the_alarm_has_one_repeat_and_then_fails() -> None:
    """Twice outside the window is a hold, with the value on the tag."""
    run = say(at("alarm"), Timed(20.5, "none"))
    assert page(run).tried == 1
    assert page(say(run, Timed(16))).step == "alarm-stops"
    run = say(run, Timed(23.1))
    assert (run.verdict, run.fault) == ("fail", "alarm")
    assert run.fault_words == (
        "Low-flow alarm: sounds and vibrates at 23.1 s, twice. It must come at 15 to 20 s with every signal."
    )


def test_an_alarm_that_does_not_stop_fails_too() -> None:
    """The second page of the alarm's step: open again, it must fall silent."""
    run = say(at("alarm"), Timed(16.8))
    assert (page(run).number, page(run).of) == (13, 13)
    assert say(run, Good()).verdict == "pass"
    run = say(run, NotGood(), RemedyDone(), NotGood())
    assert (run.verdict, run.fault) == ("fail", "alarm")


def test_a_model_without_alarm_is_not_asked_for_one() -> None:
    """The helmet model has no alarm: its full inspection is one step shorter and ends with the airflow."""
    run = at("airflow", "WH1")
    assert (page(run).number, page(run).of) == (12, 12)
    assert str(page(run).limit) == "at least 175 L/min"
    assert say(run, *flow(175)).verdict == "pass"


def test_the_tight_fitting_model_has_its_own_minimum() -> None:
    """42 CFR 84.179(a), tight-fitting: 115 L/min."""
    assert page(say(at("airflow", "FF1"), *flow(115))).step == "alarm"
    assert say(at("airflow", "FF1"), *flow(114.9)).not_good


def test_a_remark_ends_up_on_the_tag() -> None:
    """What the person adds to 'not good' follows the sentence."""
    run = say(begin(kind="hand-over"), NotGood("hole  above the left eye"))
    assert run.fault_words == (
        "Damage seen at hand-over: helmet, seal, tube or belt. Hole above the left eye."
    )
    assert run.asked[0].answer == "not good: hole above the left eye"


def test_back_keeps_the_answer_as_replaced() -> None:
    """An answer taken back stays in the record, marked, with the moment."""
    run = back(say(begin(), Good(), Good()), SIX)
    assert page(run).step == "cover-lenses"
    assert [asked.replaced for asked in run.asked] == [False, True]
    assert run.asked[1].replaced_at == SIX
    assert page(say(run, Good())).step == "auto-darkening-lens"


def test_a_not_good_answer_taken_back_still_counts_as_not_good() -> None:
    """`not_good` never becomes false again, and the second 'not good' of a step stands."""
    run = back(say(begin(), NotGood()), SIX)
    assert run.not_good
    run = say(run, NotGood())
    assert not can_go_back(run)
    with pytest.raises(ValueError, match="taken back once already"):
        back(run, SIX)


def test_back_does_not_shop_for_a_pass() -> None:
    """A low number taken back: one good number no longer decides alone, and no ball stands in for it."""
    run = back(say(at("airflow"), *flow(160)), SIX)
    assert not page(run).allows_ball
    run = say(run, *flow(171))
    assert (page(run).step, page(run).tried) == ("airflow", 1)
    assert page(say(run, *flow(171, 171))).step == "alarm"
    assert page(say(run, *flow(171, 165))).kind == "remedy"


def test_back_goes_no_further_than_a_remedy_done() -> None:
    """The part has been changed: that stays."""
    run = after_low(at("airflow"), 4)
    assert not can_go_back(run)
    with pytest.raises(ValueError, match="no way back"):
        back(run, SIX)
    skipped = say(after_low(at("airflow"), 3), RemedyNotPossible())
    assert page(back(skipped, SIX)).kind == "remedy"


def test_back_on_the_first_page_is_refused() -> None:
    """Nothing was answered yet."""
    assert not page(begin()).can_go_back
    with pytest.raises(ValueError, match="nothing was answered"):
        back(begin(), SIX)


def test_breaking_off_is_no_verdict_on_the_unit() -> None:
    """The run ends, its answers and the reason stay, nothing more is taken."""
    run = break_off(say(begin(), Good()), SIX, "ten idle minutes")
    assert (run.verdict, run.broken_off, run.fault, run.ended) == ("broken off", "ten idle minutes", None, SIX)
    assert page(run).kind == "ended"
    for refused in (lambda: say(run, Good()), lambda: back(run, SIX), lambda: break_off(run, SIX, "")):
        with pytest.raises(ValueError, match="has ended"):
            refused()


def test_every_answer_carries_what_it_was_asked_with() -> None:
    """Wording, limit, figure, meter, time and person stand in each answer."""
    asked = say(at("airflow"), Measured(184, METER, 4.0)).asked[-1]
    assert (asked.number, asked.kind, asked.title) == (12, "reading", "Airflow")
    assert (asked.question, asked.limit) == ("Airflow at the tube end?", "at least 170 L/min")
    assert (asked.answer, asked.value, asked.unit) == ("184 L/min", 184, "L/min")
    assert (asked.instrument, asked.uncertainty, asked.by, asked.elapsed_s) == (METER, 4.0, BY, 2.0)


def test_a_choice_decides_the_way() -> None:
    """The disinfectant chosen leads to its own contact time, and joins again at the rinse."""
    run = say(begin(kind="cleaning"), Good(), Good(), Good())
    options = page(run).options
    assert len(options) == 3
    soak = say(run, Chosen(options[0]))
    assert (page(soak).step, str(page(soak).limit)) == ("soak", "at least 120 s")
    contact = say(run, Chosen(options[2]))
    assert (page(contact).step, str(page(contact).limit)) == ("contact", "at least 600 s")
    assert page(say(soak, Timed(121))).step == page(say(contact, Timed(600))).step == "rinse"
    with pytest.raises(ValueError, match="is not one of the answers"):
        say(run, Chosen("vodka"))


def test_a_contact_time_cut_short_is_started_again() -> None:
    """Too short twice: the disinfection starts anew, then the unit stays dirty."""
    run = say(begin(kind="cleaning"), Good(), Good(), Good())
    run = say(run, Chosen(page(run).options[0]), Timed(60), Timed(119))
    assert page(run).kind == "remedy"
    assert page(say(run, RemedyDone(), Timed(120))).step == "rinse"
    run = say(run, RemedyDone(), Timed(60), Timed(100))
    assert (run.verdict, run.fault) == ("fail", "dirty")
    assert run.fault_words == "Disinfection lasted 100 s; at least 120 s is needed."


@pytest.mark.parametrize("wrong", [Measured(3, METER), Timed(3), Chosen("x"), Ball("at", METER), RemedyDone()])
def test_a_look_takes_good_or_not_good_only(wrong: Measured | Timed | Chosen | Ball | RemedyDone) -> None:
    """The wrong kind of answer is refused in plain words."""
    with pytest.raises(ValueError, match="does not answer the step 'Head assembly, seal'"):
        say(begin(), wrong)


def test_a_moment_needs_its_zone_and_a_time_its_sense() -> None:
    """Naive moments and negative times would spoil the record."""
    with pytest.raises(ValueError, match="time zone"):
        answer(begin(), Good(), datetime(2026, 11, 25, 6, 0), 1.0)
    for elapsed in (-1.0, math.nan):
        with pytest.raises(ValueError, match="not a number of seconds"):
            answer(begin(), Good(), SIX, elapsed)


def test_a_remark_has_an_end() -> None:
    """Two hundred characters are a remark, more is a letter."""
    with pytest.raises(ValueError, match="longer than 200"):
        say(begin(), NotGood("x" * 201))


def test_a_procedure_of_another_model_is_refused() -> None:
    """A half mask is not inspected as a welding PAPR."""
    with pytest.raises(ValueError, match="is not one of model HM1's"):
        start(procedures()["welding-papr-pre-use"], models()["HM1"], SIX, BY)
