"""The shipped unit models and procedures, and short ways to answer a run in tests."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from cribdesk.crib.model import UnitModel, read_floors, read_model
from cribdesk.crib.reference import PROVED_WITH
from cribdesk.procedure.load import load
from cribdesk.procedure.model import FAIL, REMEDY, Procedure
from cribdesk.procedure.run import (
    Answer,
    Chosen,
    Good,
    Measured,
    NotGood,
    RemedyDone,
    RemedyNotPossible,
    Run,
    Timed,
    answer,
    page,
    start,
)

RESOURCES = Path(__file__).parents[2] / "resources"
SIX = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
BY = "P000138F"
METER = "M000001X"


def text_of(folder: str, name: str) -> str:
    """The text of one shipped file."""
    return (RESOURCES / folder / name).read_text("utf-8")


@cache
def models() -> dict[str, UnitModel]:
    """All shipped unit models by code."""
    floors = read_floors(text_of("tables", "airflow_minimums.csv"))
    read = [read_model(path.read_text("utf-8"), path.name, floors) for path in _files("units")]
    return {model.code: model for model in read}


def every_model() -> dict[str, UnitModel]:
    """The unit models and the reference blower, that a flow meter is checked on."""
    return models() | {PROVED_WITH.code: PROVED_WITH}


@cache
def procedures() -> dict[str, Procedure]:
    """All shipped procedures by code."""
    every = tuple(models().values())
    read = [load(path.read_text("utf-8"), path.name, every) for path in _files("procedures")]
    return {procedure.code: procedure for procedure in read}


def _files(folder: str) -> list[Path]:
    return sorted((RESOURCES / folder).glob("*.toml"))


def pairs() -> list[tuple[str, str]]:
    """Every (model, procedure) that the shipped models name."""
    return [(m.code, code) for m in every_model().values() for code in m.procedures.values()]


def begin(model: str = "WL1", kind: str = "pre-use") -> Run:
    """A run of a shipped model's procedure at its first page."""
    chosen = models()[model]
    return start(procedures()[chosen.procedures[kind]], chosen, SIX, BY)


def say(run: Run, *answers: Answer) -> Run:
    """The run after these answers, each two seconds after the one before."""
    for given in answers:
        run = answer(run, given, SIX + timedelta(seconds=2 * len(run.asked)), 2.0)
    return run


def good_answer(run: Run) -> Answer:
    """The answer that is good for the page shown; a remedy is done."""
    shown = page(run)
    if shown.kind == "reading" and shown.limit:
        return Measured(shown.limit.low or 0.0, METER)
    if shown.kind == "timed" and shown.limit:
        return Timed(shown.limit.low or 0.0)
    if shown.kind == "choice":
        step = run.procedure.step(shown.step)
        return Chosen(next(o.text for o in step.options if o.leads_to not in (REMEDY, FAIL)))
    return RemedyDone() if shown.kind == "remedy" else Good()


def bad_answer(run: Run) -> Answer:
    """An answer that is not good for the page shown; a remedy cannot be done."""
    shown = page(run)
    if shown.kind == "reading" and shown.limit:
        return Measured((shown.limit.low or 1.0) - 1.0, METER)
    if shown.kind == "timed":
        return Timed(0.5)
    if shown.kind == "choice":
        return good_answer(run)
    return RemedyNotPossible() if shown.kind == "remedy" else NotGood()


def walk(run: Run, pick: Callable[[Run], Answer], until: Callable[[Run], bool]) -> Run:
    """The run answered by `pick` until it ends or `until` holds; more than 500 answers are a fault."""
    for _ in range(500):
        if run.verdict or until(run):
            return run
        run = say(run, pick(run))
    raise AssertionError("the run does not come to its end")


def at(step: str, model: str = "WL1", kind: str = "pre-use") -> Run:
    """A run with every answer good up to the page of that step."""
    run = walk(begin(model, kind), good_answer, lambda run: page(run).step == step)
    assert page(run).step == step
    return run
