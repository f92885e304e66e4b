"""What the dialog shows now: one page of a run, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.flow import round_up
from cribdesk.crib.words import capital, degrees
from cribdesk.procedure.answers import Measured
from cribdesk.procedure.limits import Limit, Plausible, figure
from cribdesk.procedure.model import Remedy, Step, limit_of, signals_of
from cribdesk.procedure.paths import ABOVE, MAIN, End, Place, after_not_good, remedy_at
from cribdesk.procedure.state import Run, reading_words
from cribdesk.procedure.weigh import AGAIN, HIGH, PASS, Weighed, weigh


@dataclass(frozen=True)
class Earlier:
    """An earlier reading of the step in hand: 'first', 'retest 1', 'reading 2'. No value for a ball."""

    name: str
    value: float | None
    words: str


@dataclass(frozen=True)
class Page:
    """One page. `kind` is the step's kind, 'remedy' or 'ended'; `heading` is the large line, `title` the
    short name on the track. `tried` is how often it was asked already in this attempt, of `tries`.
    `otherwise` says what comes after a not-good answer."""

    kind: str
    step: str = ""
    number: int = 0
    of: int = 0
    title: str = ""
    heading: str = ""
    instruction: str = ""
    good: str = ""
    bad: tuple[str, ...] = ()
    picture: str | None = None
    position: str | None = None
    quantity: str = ""
    unit: str = ""
    instrument: str = ""
    limit: Limit | None = None
    earlier: tuple[Earlier, ...] = ()
    remedy: Remedy | None = None
    retest: int = 0
    tried: int = 0
    tries: int = 1
    options: tuple[str, ...] = ()
    allows_ball: bool = False
    signals: tuple[str, ...] = ()
    otherwise: str = ""
    can_go_back: bool = False


def page(run: Run) -> Page:
    """The page that stands open; of kind 'ended' when the run has a verdict."""
    node, of = run.standing.node, len(run.numbered)
    if run.verdict or isinstance(node, End):
        return Page("ended", number=of, of=of, heading=run.verdict or "", instruction=run.fault_words)
    step = run.procedure.step(node.step)
    if node.shown != "ask":
        return _remedy_page(run, step, node, of)
    return Page(
        kind=step.kind,
        step=step.code,
        number=run.number(step),
        of=of,
        title=step.title,
        heading=heading(run, step),
        instruction=step.instruction,
        good=step.good,
        bad=step.bad,
        picture=step.picture,
        position=step.position,
        quantity=step.quantity,
        unit=step.unit,
        instrument=step.instrument,
        limit=limit_of(step, run.model),
        earlier=earlier(run, step),
        retest=run.standing.retest,
        tried=node.tried,
        tries=step.tries,
        options=tuple(option.text for option in step.options),
        allows_ball=_ball_fits(run, step),
        signals=signals_of(step, run.model),
        otherwise=_otherwise(step, node),
        can_go_back=can_go_back(run),
    )


def _ball_fits(run: Run, step: Step) -> bool:
    """A number is not traded for a kinder ball; a ball needs the air in which its mark holds."""
    now = run.standing
    return step.allows_ball and run.model.ball_range_c is not None and not now.readings and not now.averaging


def _remedy_page(run: Run, step: Step, place: Place, of: int) -> Page:
    remedy = remedy_at(step, place)
    return Page(
        kind="remedy",
        step=step.code,
        number=run.number(step),
        of=of,
        title=step.title,
        heading=remedy.title,
        instruction=remedy.words,
        position=remedy.position,
        unit=step.unit,
        limit=limit_of(step, run.model),
        earlier=earlier(run, step),
        remedy=remedy,
        retest=run.standing.retest,
        can_go_back=can_go_back(run),
    )


def can_go_back(run: Run) -> bool:
    """Whether the last answer can be taken back."""
    if run.verdict or not run.trail:
        return False
    last = next(asked for asked in reversed(run.asked) if not asked.replaced)
    return last.good or last.step not in run.taken_back


def heading(run: Run, step: Step) -> str:
    """The question; on a retest the short name and which retest it is: 'Airflow, retest 2'."""
    retest = run.standing.retest
    return f"{step.title}, retest {retest}" if retest else step.question


def _otherwise(step: Step, place: Place) -> str:
    left = step.tries - place.tried - 1
    if left > 0 and step.kind == "timed":
        return "the same once more"
    if left > 0:
        return f"{left} more, then their mean decides"
    return _next_words(step, place, MAIN)


def _next_words(step: Step, place: Place, side: str) -> str:
    node = after_not_good(step, place, side)
    return "the unit goes on hold" if isinstance(node, End) else remedy_at(step, node).title


def earlier(run: Run, step: Step) -> tuple[Earlier, ...]:
    """The readings of the step so far: one a former attempt, then each of the present attempt."""
    found: dict[str, Earlier] = {}
    for asked in run.standing_answers(step.code):
        if asked.kind != "reading":
            continue
        past = asked.retest < run.standing.retest or not run.asking
        name = attempt_name(asked.retest) if past else f"reading {asked.tried + 1}"
        value = asked.counts
        words = asked.answer if value is None else reading_words(value, asked.unit)
        found[name] = Earlier(name, value, words)
    return tuple(found.values())


def attempt_name(retest: int) -> str:
    """'first', 'retest 1', 'retest 2' ..."""
    return f"retest {retest}" if retest else "first"


def saying(run: Run, given: Measured) -> str:
    """What stands under a figure while it is typed: '8 above the minimum: passes'. Raises ValueError when
    no reading is asked for."""
    node = run.standing.node
    step = run.procedure.step(node.step)
    if run.verdict or not isinstance(node, Place) or node.shown != "ask" or step.kind != "reading":
        raise ValueError("No reading is asked for here.")
    limit = limit_of(step, run.model)
    assert limit is not None  # the loader lets no reading without a limit through
    readings, found = run.standing.readings, weighed(run, step, limit, given)
    if found.verdict == HIGH and limit.high is not None:
        much = "more than this model can give" if isinstance(limit, Plausible) else f"over {figure(limit.high)}"
        return f"{_shown(given)} is {much}. Next: {_in_sentence(_next_words(step, node, ABOVE))}."
    off = _gap_words(given, limit, found)
    if found.verdict == AGAIN:
        left = step.tries - len(readings) - 1
        return f"{off}{needed_words(found)}. {left} more, then their mean decides."
    words = off if found.mean is None or not readings else f"Mean of {len(readings) + 1} is {figure(found.mean)}"
    if found.verdict == PASS:
        return f"{words}: passes." if limit.low is not None else "Passes."
    below = found.needed is not None and found.mean is None
    needed = "" if below else needed_words(found)
    return f"{words}{needed}. Next: {_in_sentence(_next_words(step, node, MAIN))}."


def weighed(run: Run, step: Step, limit: Limit, given: Measured) -> Weighed:
    """What the reading would come to if it were entered now."""
    now = run.standing
    return weigh(limit, (*now.readings, given.counts), step.tries, now.averaging, now.band.with_one(given))


def mark(run: Run, given: Measured) -> str:
    """The sign of a figure while it is typed: fine, caution or not good."""
    step = run.procedure.step(run.standing.node.step)
    limit = limit_of(step, run.model)
    if limit is None:
        return ""
    found = weighed(run, step, limit, given)
    if found.verdict == AGAIN:
        return "fine" if found.good else "caution" if limit.holds(given.counts) else "not good"
    return {PASS: "fine", HIGH: "caution"}.get(found.verdict, "not good")


def read_words(given: Measured, unit: str) -> str:
    """'176 L/min', or '176 L/min at 4 °C is 171 L/min true' where the air was known."""
    words = reading_words(given.value, unit)
    if given.actual is None or given.temperature_c is None:
        return words
    chart = " by the maker's chart" if given.by_chart else ""
    return f"{words} at {degrees(given.temperature_c)} is {figure(given.actual)} true{chart}"


def needed_words(found: Weighed) -> str:
    """'; 175 is needed to be sure'; nothing where no guard band decided."""
    return "" if found.needed is None else f"; {figure(round_up(found.needed))} is needed to be sure"


def _shown(given: Measured) -> str:
    if given.actual is None or given.temperature_c is None or figure(given.actual) == figure(given.value):
        return figure(given.counts)
    return f"{figure(given.value)} read at {degrees(given.temperature_c)} is {figure(given.actual)} true:"


def _gap_words(given: Measured, limit: Limit, found: Weighed) -> str:
    gap = given.counts - limit.low if limit.low is not None else 0.0
    moved = given.actual is not None and figure(given.actual) != figure(given.value)
    off = f"{figure(abs(gap))} {'above' if gap > 0 else 'below'} the minimum"
    off = off if round(gap, 6) else "at the minimum"
    if moved and found.verdict == AGAIN and found.needed is not None:
        return _shown(given).removesuffix(":")  # what is needed is said next: that is enough
    return f"{_shown(given)} {off}" if moved else capital(off)


def _in_sentence(title: str) -> str:
    """A heading as part of a sentence: 'Change the pre-filter' to 'change the pre-filter'."""
    return title[0].lower() + title[1:].rstrip("?")
