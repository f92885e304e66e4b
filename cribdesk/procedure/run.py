"""An immutable run through a procedure: start it, answer it, go back, break off."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from cribdesk.crib.flow import round_up
from cribdesk.crib.model import UnitModel
from cribdesk.crib.words import degrees
from cribdesk.procedure.answers import (
    BALL_PLACES,
    OUTCOMES,
    Answer,
    Asked,
    Ball,
    Chosen,
    Found,
    Good,
    Measured,
    NotGood,
    RemedyDone,
    RemedyNotPossible,
    Timed,
)
from cribdesk.procedure.limits import Limit, figure
from cribdesk.procedure.model import FAIL, FINDINGS, REMEDY, Procedure, Remedy, Step, limit_of, signals_of
from cribdesk.procedure.page import Page, can_go_back, heading, needed_words, page, read_words, saying
from cribdesk.procedure.paths import (
    ABOVE,
    Node,
    Place,
    after_finding,
    after_good,
    after_not_good,
    after_remedy,
    asked_once_more,
    chosen,
    first_place,
    remedy_at,
)
from cribdesk.procedure.rail import RailRow, rail
from cribdesk.procedure.state import BROKEN_OFF, Run, Standing, reading_words
from cribdesk.procedure.weigh import AGAIN, HIGH, NO_BAND, PASS, Band, Weighed, weigh
from cribdesk.procedure.weigh import FAIL as FAIL_SURE

__all__ = [
    "BROKEN_OFF", "Answer", "Asked", "Ball", "Chosen", "Found", "Good", "Measured", "NotGood", "Page", "RailRow",
    "RemedyDone", "RemedyNotPossible", "Run", "Timed", "answer", "back", "break_off", "can_go_back", "page",
    "rail", "saying", "start",
]

_MOST_READING = 1000.0
_MOST_SECONDS = 86400.0
_LONGEST_REMARK = 200


@dataclass(frozen=True)
class _Outcome:
    """What an answer came to: the words and figures for the record, and where the run stands after it."""

    words: str
    good: bool
    node: Node
    value: float | None = None
    mean: float | None = None
    instrument: str = ""
    given: Measured | Ball | None = None
    needed: float | None = None
    readings: tuple[float, ...] = ()
    band: Band = NO_BAND
    remark: str = ""
    stated: str = ""


def start(procedure: Procedure, model: UnitModel, moment: datetime, by: str) -> Run:
    """A run at its first step. Raises ValueError when the model does not name this procedure."""
    if procedure.code not in model.procedures.values():
        raise ValueError(f"Procedure {procedure.code} is not one of model {model.code}'s.")
    _aware(moment)
    return Run(procedure, model, moment, by, Standing(first_place(procedure, model)))


def answer(run: Run, given: Answer, moment: datetime, elapsed_s: float) -> Run:
    """The run after an answer to the page shown; `elapsed_s` is how long the page stood.

    Raises ValueError in plain words when the answer is of the wrong kind for the page, when a figure
    cannot be, or when the run has ended; the run stays as it was.
    """
    place = _open_place(run)
    _aware(moment)
    if not (math.isfinite(elapsed_s) and elapsed_s >= 0):
        raise ValueError("The time taken is not a number of seconds.")
    step = run.procedure.step(place.step)
    if place.shown != "ask":
        return _answer_remedy(run, step, place, given, moment, elapsed_s)
    outcome = _HANDLERS[step.kind](run, step, place, given)
    asked = Asked(
        step=step.code,
        number=run.number(step),
        kind=step.kind,
        title=step.title,
        question=heading(run, step),
        limit=_limit_words(run, step),
        answer=_with_remark(outcome.words, outcome.remark),
        good=outcome.good,
        moment=moment,
        elapsed_s=elapsed_s,
        by=run.by,
        value=outcome.value,
        mean=outcome.mean,
        unit=step.unit if outcome.value is not None else "",
        instrument=outcome.instrument,
        **_as_read(outcome),
        retest=run.standing.retest,
        tried=place.tried,
    )
    return _moved(run, asked, _standing_after(run.standing, place, outcome), moment)


def _standing_after(now: Standing, place: Place, outcome: _Outcome) -> Standing:
    node = outcome.node
    if isinstance(node, Place) and node.step != place.step:
        return Standing(node)
    words = outcome.stated or outcome.words
    if isinstance(node, Place) and node.shown == "ask":
        kept = replace(now, node=node, readings=outcome.readings, band=outcome.band)
        return replace(kept, value=words, remark=outcome.remark)
    return replace(
        now, node=node, readings=(), band=NO_BAND, averaging=False, value=words, remark=outcome.remark
    )


def _as_read(outcome: _Outcome) -> dict[str, Any]:
    """What a flow meter's answer keeps besides its words: the air it was read in, what flowed, what is needed."""
    given, figures = outcome.given, {"needed": outcome.needed}
    if given is not None:
        figures["temperature_c"] = given.temperature_c
    if isinstance(given, Measured):
        figures |= {
            "uncertainty": given.uncertainty_lpm, "pressure_hpa": given.pressure_hpa, "actual": given.actual,
        }
    return figures


def _moved(run: Run, asked: Asked, standing: Standing, moment: datetime) -> Run:
    run = replace(run, asked=(*run.asked, asked), trail=(*run.trail, run.standing), standing=standing)
    return replace(run, ended=moment) if run.verdict else run


def back(run: Run, moment: datetime) -> Run:
    """The run with its last answer taken back; the answer stays in the record as replaced.

    Raises ValueError where there is no way back: at the first page, over a remedy that was done, after
    the end, or when a not-good answer of that step was taken back once already. After a number that
    was not good has been taken back, one reading no longer decides: three are taken and averaged.
    """
    _open_place(run)
    _aware(moment)
    if not run.trail:
        raise ValueError("There is no way back from here: nothing was answered, or a remedy was done.")
    index = max(n for n, asked in enumerate(run.asked) if not asked.replaced)
    last, before = run.asked[index], run.trail[-1]
    if not last.good:
        if last.step in run.taken_back:
            raise ValueError(f"{last.title}: 'not good' was taken back once already. It stands now.")
        run = replace(run, taken_back=run.taken_back | {last.step})
        step = run.procedure.step(last.step)
        before = replace(before, averaging=before.averaging or (last.value is not None and step.tries > 1))
    gone = replace(last, replaced=True, replaced_at=moment)
    asked = (*run.asked[:index], gone, *run.asked[index + 1 :])
    return replace(run, standing=before, trail=run.trail[:-1], asked=asked)


def break_off(run: Run, moment: datetime, why: str) -> Run:
    """The run ended without a verdict on the unit; `why` is kept."""
    _open_place(run)
    _aware(moment)
    return replace(run, broken_off=why, ended=moment)


def _open_place(run: Run) -> Place:
    node = run.standing.node
    if run.verdict or not isinstance(node, Place):
        raise ValueError("This run has ended. Start a new one.")
    return node


def _aware(moment: datetime) -> None:
    if moment.tzinfo is None:
        raise ValueError("A moment without a time zone cannot be kept.")


def _limit_words(run: Run, step: Step) -> str:
    limit = limit_of(step, run.model)
    return limit.words if limit else ""


def _with_remark(words: str, remark: str) -> str:
    return f"{words}: {remark}" if remark else words


def _remark(text: str) -> str:
    remark = " ".join(text.split())
    if len(remark) > _LONGEST_REMARK:
        raise ValueError(f"The remark is longer than {_LONGEST_REMARK} characters. Make it shorter.")
    return remark


def _wrong_kind(step: Step, given: Answer) -> ValueError:
    return ValueError(f"'{type(given).__name__}' does not answer the step '{step.title}'. Nothing changed.")


def _not_good(step: Step, place: Place, given: NotGood, words: str = "not good") -> _Outcome:
    return _Outcome(words, False, after_not_good(step, place), remark=_remark(given.remark))


def _look(run: Run, step: Step, place: Place, given: Answer) -> _Outcome:
    if isinstance(given, Good):
        words = "done" if step.kind == "action" else "good"
        return _Outcome(words, True, after_good(run.procedure, run.model, place))
    if isinstance(given, NotGood):
        return _not_good(step, place, given, "not done" if step.kind == "action" else "not good")
    raise _wrong_kind(step, given)


def _choice(run: Run, step: Step, place: Place, given: Answer) -> _Outcome:
    if not isinstance(given, Chosen):
        raise _wrong_kind(step, given)
    option = next((option for option in step.options if option.text == given.option), None)
    if option is None:
        raise ValueError(f"'{given.option}' is not one of the answers to '{step.title}'. Nothing changed.")
    good = option.leads_to not in (REMEDY, FAIL)
    return _Outcome(option.text, good, chosen(run.procedure, run.model, place, option.leads_to))


def _reading(run: Run, step: Step, place: Place, given: Answer) -> _Outcome:
    limit = limit_of(step, run.model)
    assert limit is not None  # the loader lets no reading without a limit through
    if isinstance(given, NotGood):
        return _not_read(run, step, place, given)
    if isinstance(given, Ball):
        return _ball(run, step, place, given, limit)
    if not isinstance(given, Measured):
        raise _wrong_kind(step, given)
    _instrument(step, given.instrument_label)
    value = _number(given.value, _MOST_READING, "The reading must be a number from 0 to 1000.")
    readings, band = (*run.standing.readings, _true(given)), run.standing.band.with_one(given)
    found = weigh(limit, readings, step.tries, run.standing.averaging, band)
    words, stated = read_words(given, step.unit), reading_words(given.counts, step.unit)
    if found.mean is not None:
        stated = reading_words(found.mean, step.unit)
        words = f"{words}, mean of {len(readings)}: {stated}"
    stated = _with_needed(stated, found, limit)
    return _Outcome(
        words=words if found.verdict == PASS else f"{words}{needed_words(found)}",
        good=found.good,
        node=_node_after(run, step, place, found.verdict),
        value=value,
        mean=found.mean,
        instrument=given.instrument_label,
        given=given,
        needed=found.needed,
        readings=readings,
        band=band,
        stated=stated,
    )


def _true(given: Measured) -> float:
    """The figure that is judged; raises ValueError where what makes it up cannot be."""
    for one in (given.guard_lpm, given.uncertainty_lpm, given.temperature_c, given.pressure_hpa):
        if one is not None and not math.isfinite(one):
            raise ValueError("What was read with it is no number. Nothing changed.")
    return _number(given.counts, _MOST_READING, "What flows must be a number from 0 to 1000.")


def _with_needed(stated: str, found: Weighed, limit: Limit) -> str:
    """On the tag a figure over the minimum says why it was not enough."""
    decided = found.needed is not None and found.verdict == FAIL_SURE and found.mean is not None
    over = decided and limit.low is not None and found.mean is not None and found.mean >= limit.low
    return f"{stated} ({figure(round_up(found.needed or 0.0))} is needed to be sure)" if over else stated


def _node_after(run: Run, step: Step, place: Place, verdict: str) -> Node:
    if verdict == PASS:
        return after_good(run.procedure, run.model, place)
    if verdict == AGAIN:
        return asked_once_more(place)
    return after_not_good(step, place, ABOVE) if verdict == HIGH else after_not_good(step, place)


def _not_read(run: Run, step: Step, place: Place, given: NotGood) -> _Outcome:
    """It cannot be read at all, or no further reading is wanted: on to the ladder."""
    readings = run.standing.readings
    if not readings:
        return _not_good(step, place, given, "could not be read")
    stated = reading_words(math.fsum(readings) / len(readings), step.unit)
    words = f"no further reading, mean of {len(readings)}: {stated}"
    return replace(_not_good(step, place, given, words), stated=stated)


def _ball(run: Run, step: Step, place: Place, given: Ball, limit: Limit) -> _Outcome:
    """The ball of a meter without numbers; its mark must stand at the minimum or above to prove anything."""
    if not step.allows_ball or run.standing.readings or run.standing.averaging:
        raise ValueError(f"'{step.title}' needs a number here. Nothing changed.")
    if given.where not in BALL_PLACES:
        raise ValueError("The ball stands above, at or below the mark. Nothing changed.")
    _instrument(step, given.instrument_label)
    air = f" at {degrees(given.temperature_c)}" if given.temperature_c is not None else ""
    words = f"ball {given.where} the mark{air}"
    mark = limit.low
    if given.mark is not None:
        mark = _number(given.mark, _MOST_READING, "The mark must be a number from 0 to 1000.")
        words += f" of {reading_words(mark, step.unit)}"
    proves = mark is not None and limit.low is not None and mark >= limit.low
    if proves and given.where != "below":
        node = after_good(run.procedure, run.model, place)
        return _Outcome(words, True, node, instrument=given.instrument_label, given=given)
    return _Outcome(words, False, after_not_good(step, place), instrument=given.instrument_label, given=given)


def _instrument(step: Step, label: str) -> None:
    if step.instrument and not label:
        raise ValueError(f"Which {step.instrument} was it? Scan its label first. Nothing changed.")


def _number(value: float, most: float, words: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{words} Nothing changed.")
    if not (math.isfinite(value) and 0 <= value <= most):
        raise ValueError(f"{words} Nothing changed.")
    return float(value)


_TIMED_WORDS = {
    "one": "only one signal at {at}",
    "none": "no signal",
    "before": "signal before the start",
    "stays": "signal does not stop",
}


def _timed(run: Run, step: Step, place: Place, given: Answer) -> _Outcome:
    limit = limit_of(step, run.model)
    assert limit is not None  # the loader lets no clock without a limit through
    if isinstance(given, NotGood):
        return replace(_not_good(step, place, given), node=_again_or_ladder(step, place))
    if not isinstance(given, Timed):
        raise _wrong_kind(step, given)
    known = OUTCOMES if step.signals else ("all", "none")
    if given.outcome not in known:
        raise ValueError(f"'{given.outcome}' is not one of: {', '.join(known)}. Nothing changed.")
    seconds = _number(given.seconds, _MOST_SECONDS, "The clock must show a number of seconds within a day.")
    at = reading_words(seconds, step.unit)
    value = seconds if given.outcome in ("all", "one") else None
    signals = " and ".join(signals_of(step, run.model))
    if given.outcome != "all":
        words = _TIMED_WORDS[given.outcome].format(at=at) if step.signals else f"broken off at {at}"
        return _Outcome(words, False, _again_or_ladder(step, place), value)
    words = f"{signals} at {at}" if signals else at
    if limit.holds(seconds):
        return _Outcome(words, True, after_good(run.procedure, run.model, place), value)
    return _Outcome(words, False, _again_or_ladder(step, place), value)


def _again_or_ladder(step: Step, place: Place) -> Node:
    return asked_once_more(place) if place.tried + 1 < step.tries else after_not_good(step, place)


_HANDLERS: dict[str, Callable[[Run, Step, Place, Answer], _Outcome]] = {
    "look": _look,
    "action": _look,
    "reading": _reading,
    "timed": _timed,
    "choice": _choice,
}


def _answer_remedy(
    run: Run, step: Step, place: Place, given: Answer, moment: datetime, elapsed_s: float
) -> Run:
    """A remedy done stands: back goes no further than it. One that could not be done leads on, to the
    retest only when something else was done since the step was last asked."""
    if isinstance(given, Found):
        return _answer_found(run, step, place, given, moment, elapsed_s)
    if not isinstance(given, RemedyDone | RemedyNotPossible):
        raise _wrong_kind(step, given)
    remedy, done = remedy_at(step, place), isinstance(given, RemedyDone)
    remark = _remark(given.detail if isinstance(given, RemedyDone) else given.remark)
    now = run.standing
    helped = now.helped or done
    retest = remedy.then_retest and helped
    node = after_remedy(step, place, retest)
    skipped = now.skipped if done else (*now.skipped, remedy.short)
    standing = replace(now, node=node, helped=helped, skipped=skipped)
    if retest:
        standing = replace(standing, retest=now.retest + 1, helped=False)
    words = _with_remark(remedy.short if done else f"{remedy.short}: not done", remark)
    asked = _remedy_asked(run, step, remedy, words, done, moment, elapsed_s)
    moved = _moved(run, asked, standing, moment)
    return replace(moved, trail=()) if done else moved


def _answer_found(run: Run, step: Step, place: Place, given: Found, moment: datetime, elapsed_s: float) -> Run:
    """What was found ends the run: whoever wore it so is to be known, whatever a retest would read now."""
    remedy = remedy_at(step, place)
    if not remedy.finding or given.finding != remedy.finding:
        raise _wrong_kind(step, given)
    asked = _remedy_asked(run, step, remedy, FINDINGS[given.finding], False, moment, elapsed_s)
    standing = replace(run.standing, node=after_finding(step, place))
    return _moved(run, replace(asked, finding=given.finding), standing, moment)


def _remedy_asked(
    run: Run, step: Step, remedy: Remedy, words: str, done: bool, moment: datetime, elapsed_s: float
) -> Asked:
    return Asked(
        step=step.code,
        number=run.number(step),
        kind="remedy",
        title=step.title,
        question=remedy.title,
        limit="",
        answer=words,
        good=done,
        moment=moment,
        elapsed_s=elapsed_s,
        by=run.by,
        retest=run.standing.retest,
        remedy_kind=remedy.kind,
        position=remedy.position or "",
    )
