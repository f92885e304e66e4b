"""TOML text to Procedure, or all its faults at once, each with file, step and line."""

from __future__ import annotations

import hashlib
import string
from collections.abc import Sequence

from cribdesk.crib.model import PROCEDURE_KINDS, UnitModel
from cribdesk.crib.reference import METER_KIND, PROVED_WITH
from cribdesk.crib.toml_text import Fault, Section, parse
from cribdesk.procedure.limits import LIMITS
from cribdesk.procedure.model import (
    CONDITIONS,
    FAIL,
    FAIL_FIELDS,
    FINDINGS,
    NEXT,
    PASS,
    REMEDY,
    REMEDY_KINDS,
    STEP_KINDS,
    WINDOW_NAMES,
    Figure,
    Option,
    Procedure,
    Remedy,
    Step,
)
from cribdesk.procedure.prove import prove

_CODE = r"[a-z][a-z0-9]*(-[a-z0-9]+)*"
_MOST_STEPS, _MOST_RUNGS, _MOST_TRIES = 60, 12, 3
_RESERVED = (PASS, FAIL, NEXT, REMEDY)


class ProcedureFaults(Exception):
    """A procedure's text cannot be used; `faults` lists everything that is wrong in it."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


def load(text: str, file: str, models: Sequence[UnitModel]) -> Procedure:
    """The procedure in a TOML text, proved against every model that names it.

    Proved of each such model: every path ends in pass or fail, no step is unreachable, every remedy
    names a real position, every fail a hold reason, every limit a figure the model has. Raises
    ProcedureFaults with every fault at once.
    """
    top, book = parse(text, file)
    if book.faults:
        raise ProcedureFaults(tuple(book.faults))
    sections = top.sections("step")
    procedure = Procedure(
        code=top.text("code", pattern=_CODE),
        name=top.text("name", limit=40),
        kind=top.one_of("kind", (*PROCEDURE_KINDS, METER_KIND)),
        revision=top.whole("revision", required=True) or 0,
        file=file,
        text=text,
        digest=hashlib.sha256(text.encode("utf-8")).hexdigest(),
        steps=tuple(_read_step(section) for section in sections),
    )
    top.text("origin")
    top.finish()
    _check_steps(top, sections, procedure)
    if not book.faults:
        prove(top, sections, procedure, (*models, PROVED_WITH))
    if book.faults:
        raise ProcedureFaults(tuple(book.faults))
    return procedure


def _check_steps(top: Section, sections: Sequence[Section], procedure: Procedure) -> None:
    if not 1 <= len(procedure.steps) <= _MOST_STEPS:
        top.fault("step", f"a procedure has 1 to {_MOST_STEPS} steps.")
    codes = [step.code for step in procedure.steps]
    for index, (section, step) in enumerate(zip(sections, procedure.steps, strict=True)):
        if step.code in codes[:index]:
            section.fault("code", f"step '{step.code}' is there twice.")
        if step.continues and (index == 0 or procedure.steps[index - 1].only_if != step.only_if):
            section.fault("continues", "there is no step before it that is asked of the same units.")
        known = (*codes, NEXT, PASS)
        if step.then not in known:
            section.fault("then", f"there is no step '{step.then}'.")
        for option in step.options:
            if option.leads_to not in (*known, REMEDY, FAIL):
                section.fault("option", f"'{option.text}' leads to '{option.leads_to}', which is no step.")


def _read_step(section: Section) -> Step:
    kind = section.one_of("kind", STEP_KINDS)
    low, high, limit_kind, window = _read_limit(section, kind)
    ladder = _read_ladder(section, "remedy")
    above = _read_ladder(section, "above_remedy") if kind == "reading" else ()
    step = Step(
        code=section.text("code", pattern=_CODE),
        kind=kind,
        title=section.text("title", limit=32),
        question=section.text("question", limit=80),
        instruction=section.text("instruction", limit=240),
        good=section.text("good", "" if kind != "look" else None, limit=120),
        bad=section.texts("bad", required=kind == "look"),
        picture=section.text("picture", "", pattern=_CODE) or None,
        position=section.text("position", "", pattern=_CODE) or None,
        only_if=section.one_of("only_if", CONDITIONS) if section.has("only_if") else None,
        continues=section.flag("continues", default=False),
        then=section.text("then", NEXT) if kind != "choice" else NEXT,
        quantity=section.text("quantity", limit=24) if kind == "reading" else "",
        unit=section.text("unit", limit=12) if kind in ("reading", "timed") else "",
        instrument=section.text("instrument", "", limit=24) if kind == "reading" else "",
        allows_ball=section.flag("allows_ball", default=False) if kind == "reading" else False,
        limit_kind=limit_kind,
        low=low,
        high=high,
        window=window,
        signals=section.flag("signals", default=False) if kind == "timed" else False,
        options=_read_options(section) if kind == "choice" else (),
        tries=(section.whole("tries", 1) or 1) if kind in ("reading", "timed") else 1,
        ladder=ladder,
        above_ladder=above,
        **_read_fail(section, kind, bool(ladder), bool(above)),
    )
    if step.code in _RESERVED:
        section.fault("code", f"'{step.code}' is a word with a meaning of its own; no step may have it.")
    if step.tries > _MOST_TRIES:
        section.fault("tries", f"a step is asked at most {_MOST_TRIES} times before its ladder.")
    section.finish()
    return step


def _read_limit(section: Section, kind: str) -> tuple[Figure, Figure, str | None, str | None]:
    if kind not in ("reading", "timed"):
        return None, None, None, None
    limit_kind = section.one_of("limit", tuple(LIMITS))
    if section.has("window"):
        return None, None, limit_kind, section.one_of("window", WINDOW_NAMES)
    needs = LIMITS[limit_kind].needs
    figures = {key: _read_figure(section, key) if key in needs else None for key in ("low", "high")}
    low, high = figures["low"], figures["high"]
    if isinstance(low, float) and isinstance(high, float) and low >= high:
        section.fault("high", "this must be above low.")
    return low, high, limit_kind, None


def _read_figure(section: Section, key: str) -> Figure:
    if isinstance(section.values.get(key), str):
        return section.text(key)
    figure = section.number(key)
    if figure is None and not section.has(key):
        section.fault(key, "this limit needs a figure, or the name of a figure of the unit model.")
    return figure


def _read_options(section: Section) -> tuple[Option, ...]:
    options: list[Option] = []
    for part in section.sections("option"):
        options.append(Option(part.text("text", limit=60), part.text("leads_to")))
        part.finish()
    if len(options) < 2 or len({option.text for option in options}) < len(options):
        section.fault("option", "a choice needs at least two different options.")
    return tuple(options)


def _read_ladder(section: Section, key: str) -> tuple[Remedy, ...]:
    rungs: list[Remedy] = []
    parts = section.sections(key)
    for part in parts:
        kind = part.one_of("kind", REMEDY_KINDS)
        position = part.text("position", None if kind == "change" else "", pattern=_CODE)
        rungs.append(
            Remedy(
                kind=kind,
                position=position or None,
                title=part.text("title", limit=60),
                words=part.text("words", limit=240),
                short=part.text("short", limit=32),
                then_retest=part.flag("then_retest", default=False),
                **_read_finding(part),
            )
        )
        part.finish()
    if rungs and not rungs[-1].then_retest:
        parts[-1].fault("then_retest", "the last remedy must be followed by a retest, or it proves nothing.")
    if len(rungs) > _MOST_RUNGS:
        section.fault(key, f"a ladder has at most {_MOST_RUNGS} rungs.")
    return tuple(rungs)


def _read_finding(part: Section) -> dict[str, str]:
    if not part.has("finding"):
        return {}
    words = part.text("finding_words", limit=200)
    _check_fields(part, "finding_words", words, FAIL_FIELDS)
    return {
        "finding": part.one_of("finding", tuple(FINDINGS)),
        "finding_fail": part.text("finding_fail"),
        "finding_words": words,
    }


def _read_fail(section: Section, kind: str, ladder: bool, above: bool) -> dict[str, str]:
    leads = [part.values.get("leads_to") for part in section.sections("option")] if kind == "choice" else []
    needed = kind != "choice" or ladder or FAIL in leads or REMEDY in leads
    none = None if needed else ""
    short = "still not good: on hold" if ladder else "on hold"
    read = {
        "fail": section.text("fail", none),
        "fail_words": section.text("fail_words", none, limit=200),
        "fail_short": section.text("fail_short", short, limit=32),
    }
    if above:
        read["fail_above"] = section.text("fail_above")
        read["fail_above_words"] = section.text("fail_above_words", limit=200)
    known = FAIL_FIELDS if kind in ("reading", "timed") else ("ladder",)
    for key in ("fail_words", "fail_above_words"):
        _check_fields(section, key, read.get(key, ""), known)
    return read


def _check_fields(section: Section, key: str, words: str, known: tuple[str, ...]) -> None:
    """A sentence for the tag may only ask for what a run can fill in."""
    try:
        fields = [name for _, name, _, _ in string.Formatter().parse(words) if name is not None]
    except ValueError:
        section.fault(key, "the braces in this sentence do not pair up.")
        return
    for name in fields:
        if name not in known:
            section.fault(key, f"'{{{name}}}' is not one of: {', '.join(known)}.")
