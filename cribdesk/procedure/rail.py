"""The step track beside the page: where one is, what is behind and what remains."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cribdesk.procedure.answers import Asked
from cribdesk.procedure.limits import figure
from cribdesk.procedure.model import Remedy, Step
from cribdesk.procedure.page import attempt_name
from cribdesk.procedure.paths import ABOVE, End, Place
from cribdesk.procedure.state import Run


@dataclass(frozen=True)
class RailRow:
    """One row. `state` is 'done', 'now', 'ahead', 'remedied' (the step whose ladder is open) or 'failed';
    `indent` 1 marks a rung of the ladder; `number` is the step's, 0 on rungs."""

    text: str
    state: str
    value: str = ""
    indent: int = 0
    number: int = 0


def rail(run: Run) -> tuple[RailRow, ...]:
    """The rows of all numbered steps, with the rungs of the ladder that is open."""
    node = run.standing.node
    here = node.step if isinstance(node, Place) else ""
    failed = node.step if isinstance(node, End) else ""
    now = run.number(run.procedure.step(here or failed)) if here or failed else len(run.numbered) + 1
    rows: list[RailRow] = []
    for number, step in enumerate(run.numbered, start=1):
        group = _group(run, step)
        codes = [part.code for part in group]
        open_step = next((part for part in group if part.code in (here, failed)), None)
        if open_step is None:
            row = _plain_row(run, step, codes, number)
            if row.state == "done" or number > now:  # what a choice passed over is neither behind nor ahead
                rows.append(row)
            continue
        rungs = tuple(_rungs(run, open_step))
        state = "failed" if failed else "remedied" if rungs else "now"
        rows.append(RailRow(step.title, state, number=number))
        rows.extend(rungs)
    return tuple(rows)


def _group(run: Run, step: Step) -> tuple[Step, ...]:
    """A step and those that continue it."""
    steps = run.procedure.steps
    group = [step]
    for other in steps[steps.index(step) + 1 :]:
        if not other.continues:
            break
        group.append(other)
    return tuple(group)


def _plain_row(run: Run, step: Step, codes: list[str], number: int) -> RailRow:
    answers = [asked for code in codes for asked in run.standing_answers(code)]
    if not answers:
        return RailRow(step.title, "ahead", number=number)
    retests = max(asked.retest for asked in answers)
    words = [f"{retests} retest{'s' if retests > 1 else ''}"] if retests else []
    figures = [_value(asked) for asked in answers if asked.kind != "remedy"]
    words += [word for word in figures if word][-1:]
    return RailRow(step.title, "done", ", ".join(words), number=number)


def _value(asked: Asked) -> str:
    value = asked.value if asked.mean is None else asked.mean
    return "" if value is None else figure(value)


def _rungs(run: Run, step: Step) -> Iterator[RailRow]:
    """Behind, now and ahead on the open ladder; nothing while the ladder is not open."""
    node, answers = run.standing.node, run.standing_answers(step.code)
    opened = isinstance(node, End) or node.shown != "ask" or run.standing.retest > 0
    if not opened or not (step.ladder or step.above_ladder):
        return
    yield from _behind(run, answers)
    if isinstance(node, End):
        yield RailRow(step.fail_short, "failed", indent=1)
        return
    ladder, done = (step.above_ladder, node.above) if node.shown == ABOVE else (step.ladder, node.rung)
    ahead = ladder[done:]
    if node.shown == "ask":
        yield RailRow(attempt_name(run.standing.retest), "now", indent=1)
    else:
        yield RailRow(ahead[0].short, "now", indent=1)
        if ahead[0].then_retest and ahead[1:]:
            yield RailRow("retest", "ahead", indent=1)
        ahead = ahead[1:]
    yield from _ahead(ahead)
    yield RailRow(step.fail_short, "ahead", indent=1)


def _behind(run: Run, answers: tuple[Asked, ...]) -> Iterator[RailRow]:
    """One row an attempt (its mean where several readings were taken) and one a remedy."""
    present = run.standing.retest if run.asking else -1
    for index, asked in enumerate(answers):
        if asked.kind == "remedy":
            yield RailRow(asked.answer, "done" if asked.good else "failed", indent=1)
            continue
        later = answers[index + 1] if index + 1 < len(answers) else None
        if asked.retest == present or (later and later.kind != "remedy" and later.retest == asked.retest):
            continue
        mean = f", mean of {asked.tried + 1}" if asked.mean is not None else ""
        yield RailRow(attempt_name(asked.retest) + mean, "done", _value(asked), indent=1)


def _ahead(rungs: tuple[Remedy, ...]) -> Iterator[RailRow]:
    """What is left of a ladder; the retest after the last rung is what the closing row tells."""
    for index, remedy in enumerate(rungs):
        yield RailRow(remedy.short, "ahead", indent=1)
        if remedy.then_retest and index + 1 < len(rungs):
            yield RailRow("retest", "ahead", indent=1)
