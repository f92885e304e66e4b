"""Forms for the program as a whole: an evaluation, what is done about a finding, and the register of use."""

from __future__ import annotations

from datetime import timedelta

from cribdesk.crib.records import Area, Person, ProgramEvaluation, Unit
from cribdesk.crib.words import capital, date_words
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled, same
from cribdesk.desk.operation import Operation
from cribdesk.desk.program import LOOKED_AT, AskRegister, FixFinding, RecordEvaluation
from cribdesk.desk.saying import name_of
from cribdesk.desk.use_register import EVERYTHING

OTHER = "something else"
REGISTER_DAYS = 30
Choices = tuple[tuple[str, str], ...]


def _evaluation_fields(asked: Asked) -> Fields:
    return (
        EntryField("topic", "What was looked at", "choice", True, choices=same((*LOOKED_AT, OTHER))),
        EntryField("made_on", "Evaluated on", "date", True, value=asked.house.today(asked.moment).isoformat()),
        EntryField("where", "Where, and whom was asked", help="An area, a crew, how many; no names, nothing medical."),
        EntryField("finding", "Finding", needed=True, help="What was seen or said. 'Nothing to mend' is one too."),
        EntryField("fix", "What is done about it", help="Empty while nothing is planned."),
        EntryField("fixed_on", "Set right on", "date", help="Empty while it is not done."),
    )


def _evaluation(filled: Filled, asked: Asked, token: str) -> Operation:
    topic, where = filled.pick("topic"), filled.text("where")
    if topic == OTHER and not where:
        filled.troubles.setdefault("where", "Say what was looked at.")
    what = where if topic == OTHER else f"{topic}: {where}" if where else topic
    return RecordEvaluation(
        operation_id=token,
        made_on=filled.the_day("made_on"),
        what=what or topic,
        finding=filled.text("finding"),
        fix=filled.text("fix"),
        fixed_on=filled.day("fixed_on"),
    )


def _open_findings(asked: Asked) -> list[ProgramEvaluation]:
    return asked.reader.find(ProgramEvaluation, fixed_on=None)


def _fix_fields(asked: Asked) -> Fields:
    found = {str(one.id): one for one in _open_findings(asked)}
    choices = tuple(
        (key, f"{date_words(one.made_on)}, {one.what}: {one.finding}") for key, one in reversed(found.items())
    )
    known = asked.about if asked.about in found else choices[0][0] if len(choices) == 1 else ""
    about = EntryField(ABOUT, "Finding", "choice", True, choices=choices, value=known)
    if not known:
        return (about,)
    today = asked.house.today(asked.moment).isoformat()
    return (
        about,
        EntryField("fix", "What is done about it", needed=True, value=found[known].fix),
        EntryField("fixed_on", "Set right on", "date", value=today, help="Empty while it is only planned."),
    )


def _fix(filled: Filled, asked: Asked, token: str) -> Operation:
    chosen = filled.pick(ABOUT)
    return FixFinding(
        operation_id=token,
        evaluation_id=int(chosen) if chosen else 0,
        fix=filled.text("fix"),
        fixed_on=filled.day("fixed_on"),
    )


def _nothing_open(asked: Asked) -> str:
    return "" if _open_findings(asked) else "No finding is open: enter an evaluation first."


def _subjects(asked: Asked) -> Choices:
    """Everything, then areas, people and units, each by name."""
    areas = sorted(asked.reader.find(Area), key=lambda one: one.name.casefold())
    people = sorted(asked.reader.find(Person), key=lambda one: name_of(one).casefold())
    units = sorted(asked.reader.find(Unit), key=lambda one: one.label)
    return (
        (EVERYTHING, "Every hand-over of the period"),
        *((one.label, f"Area {one.name}, {one.label}") for one in areas),
        *((one.label, f"{name_of(one)}, {one.label}") for one in people),
        *((one.label, f"Unit {one.label}, {one.model} {one.serial}".rstrip()) for one in units),
    )


def _register_fields(asked: Asked) -> Fields:
    choices = _subjects(asked)
    today = asked.house.today(asked.moment)
    known = asked.label if asked.label in dict(choices) else EVERYTHING
    return (
        EntryField("of", "Of", "choice", True, "Scan a badge, a unit or an area, or choose.", choices, known),
        EntryField(
            "first", "From", "date", True, begins=True, value=(today - timedelta(days=REGISTER_DAYS)).isoformat(),
            help="A hand-over counts where any moment of it lies in these days.",
        ),
        EntryField("last", "To", "date", True, value=today.isoformat(), help="This day counts too."),
    )  # fmt: skip


def _register(filled: Filled, asked: Asked, token: str) -> Operation:
    return AskRegister(
        operation_id=token, of=filled.pick("of"), first=filled.the_day("first"), last=filled.the_day("last")
    )


PROGRAM_FORMS = (
    EntryKind(
        "evaluation", "evaluation", "Evaluation", "Evaluate the program", RecordEvaluation, _evaluation_fields,
        _evaluation,
        "The workplace is evaluated as needed, and users are asked regularly: 29 CFR 1910.134(l). What is found is "
        "set right. The judgement is the program administrator's; this form keeps it.",
    ),
    EntryKind(
        "fix-finding", "fix-finding", "Set right", capital("what is done about a finding"), FixFinding, _fix_fields,
        _fix, "", _nothing_open, again=False,
    ),
    EntryKind(
        "register", "register", "Register", "Register of use", AskRegister, _register_fields, _register,
        "Who wore what, where, when, with which checks: to look at, to print, to save as PDF or as a table. It names "
        "people and holds no medical detail. The journal keeps that it was asked for, and by whom.",
        again=False, private=True,
    ),
)  # fmt: skip
