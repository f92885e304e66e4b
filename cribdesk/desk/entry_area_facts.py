"""Forms of what holds of an area besides its agents: conditions, processes, controls; and a model's test evidence."""

from __future__ import annotations

from math import ceil

from cribdesk.crib.records import Area, AreaControl, AreaProcess, Control, FactorEvidence
from cribdesk.crib.words import capital, date_words, number
from cribdesk.desk.area_facts import (
    IN_ONE_INCH,
    PROCESS_WORDS,
    EndAreaControl,
    EndAreaProcess,
    SayAreaCondition,
    SayAreaControl,
    SayAreaProcess,
    conditions_of,
    process_words,
    standing_condition,
)
from cribdesk.desk.entry_assessments import HYGIENIST, area_field, area_of, no_area
from cribdesk.desk.entry_form import NO, YES, Asked, EntryField, EntryKind, Fields, Filled, same
from cribdesk.desk.factor_evidence import (
    LEAST_TESTED,
    RecordFactorEvidence,
    WithdrawFactorEvidence,
    standing_evidence,
)
from cribdesk.desk.operation import Operation

ELECTRODES = tuple((str(n), f"{words} in ({mm} mm)") for n, words, mm in (
    (2, "1/16", 1.6), (3, "3/32", 2.4), (4, "1/8", 3.2), (5, "5/32", 4.0), (6, "3/16", 4.8), (7, "7/32", 5.6),
    (8, "1/4", 6.4), (9, "9/32", 7.1), (10, "5/16", 7.9), (12, "3/8", 9.5),
))  # fmt: skip
"""Usual electrodes, in 32nds of an inch."""


# Conditions.


def _condition_fields(asked: Asked) -> Fields:
    about = area_field(asked)
    if not about.value:
        return (about,)
    area = asked.reader.first(Area, label=about.value)
    now = standing_condition(conditions_of(asked.reader, area.id)) if area else None

    def tick(name: str, words: str, help: str = "") -> EntryField:
        return EntryField(name, words, "yes-no", help=help, value=YES if now and getattr(now, name) else NO)

    minutes = str(now.exposed_minutes) if now and now.exposed_minutes else ""
    return (
        about,
        EntryField("exposed_minutes", "Met in a shift", "number", unit="min", value=minutes,
                   help="How long somebody is in that air. Empty: 8 hours, 480."),
        EntryField("changed", "What changed in the process", help="Findings made before that day no longer do."),
        EntryField("said_on", "Said on", "date", True, value=asked.house.today(asked.moment).isoformat()),
        tick("oxygen_deficient", "Oxygen-deficient", "Below 19.5 %: no unit of this crib may be worn there."),
        tick("idlh", "Immediately dangerous to life or health", "No unit of this crib may be worn there."),
        tick("confined", "A confined space"),
        tick("explosive", "A hazardous (explosive) location", "Only units approved for it."),
    )  # fmt: skip


def _condition(filled: Filled, asked: Asked, token: str) -> Operation:
    return SayAreaCondition(
        operation_id=token,
        area_id=area_of(filled, asked),
        said_on=filled.the_day("said_on"),
        oxygen_deficient=filled.yes("oxygen_deficient"),
        idlh=filled.yes("idlh"),
        confined=filled.yes("confined"),
        explosive=filled.yes("explosive"),
        exposed_minutes=filled.whole("exposed_minutes", 0, 100_000),
        changed=filled.text("changed"),
    )


# Processes.


def _asked_of(asked: Asked, column: str) -> tuple[str, ...]:
    """The operations whose rows ask for this figure."""
    rows = asked.house.shades.rows
    return tuple(dict.fromkeys(one.operation for one in rows if getattr(one, column) is not None))


def _process_fields(asked: Asked) -> Fields:
    about = area_field(asked)
    if not about.value:
        return (about,)
    choices = tuple((one, PROCESS_WORDS.get(one, one)) for one in asked.house.shades.operations)
    return (
        about,
        EntryField("operation", "Process", "choice", True, choices=choices),
        EntryField("current_a", "Highest current", "number", unit="A",
                   only=("operation", *_asked_of(asked, "current_a"))),
        EntryField("electrode", "Thickest electrode", "choice", choices=ELECTRODES,
                   only=("operation", *_asked_of(asked, "electrode_32nds"))),
        EntryField("plate", "Thickest plate", "number", unit="in", decimals=3, help="In inches: 3 mm is 0.118.",
                   only=("operation", *_asked_of(asked, "plate_in"))),
    )  # fmt: skip


def _process(filled: Filled, asked: Asked, token: str) -> Operation:
    plate, electrode = filled.figure("plate", 0.0, 100.0), filled.pick("electrode")
    return SayAreaProcess(
        operation_id=token,
        area_id=area_of(filled, asked),
        operation=filled.pick("operation"),
        current_a=filled.whole("current_a", 0, 100_000),
        electrode_32nds=int(electrode) if electrode else None,
        plate_64ths=None if plate is None else ceil(plate * IN_ONE_INCH),
    )


def _of_area(asked: Asked, words: str, rows: list[tuple[int, int, str]]) -> EntryField:
    """One of several rows (id, area's id, words), those of the asked area alone where there is one."""
    areas = {one.id: one for one in asked.reader.find(Area)}
    wanted = [row for row in rows if not asked.label or areas[row[1]].label == asked.label]
    choices = tuple((f"{areas[area].label} {id_}", f"{areas[area].name}: {said}") for id_, area, said in wanted)
    known = asked.about if asked.about in dict(choices) else choices[0][0] if len(choices) == 1 else ""
    return EntryField("row", words, "choice", True, choices=choices, value=known)


def _id_of(filled: Filled) -> int:
    part = filled.pick("row").partition(" ")[2]
    return int(part) if part else 0


def _end_process_fields(asked: Asked) -> Fields:
    rows = [(one.id, one.area_id, process_words(one)) for one in asked.reader.find(AreaProcess, active=True)]
    return (_of_area(asked, "Process", rows),)


def _end_process(filled: Filled, asked: Asked, token: str) -> Operation:
    return EndAreaProcess(operation_id=token, process_id=_id_of(filled))


# Controls.


def _control_fields(asked: Asked) -> Fields:
    about = area_field(asked)
    if not about.value:
        return (about,)
    return (
        about,
        EntryField("control", "Kind of control", "choice", True, "The best first.", same(Control)),
        EntryField("what", "What is in place", needed=True,
                   help="Say exhaust, extraction or ventilation where it is that: some rules ask for it."),
        EntryField("from_on", "In place from", "date", True, value=asked.house.today(asked.moment).isoformat()),
    )


def _control(filled: Filled, asked: Asked, token: str) -> Operation:
    picked = filled.pick("control")
    return SayAreaControl(
        operation_id=token,
        area_id=area_of(filled, asked),
        control=Control(picked) if picked else Control.PROTECTION,
        what=filled.text("what"),
        from_on=filled.the_day("from_on"),
    )


def _end_control_fields(asked: Asked) -> Fields:
    rows = [(one.id, one.area_id, f"{capital(one.control.value)}, {one.what}")
            for one in asked.reader.find(AreaControl, ended_on=None)]  # fmt: skip
    today = asked.house.today(asked.moment).isoformat()
    return (_of_area(asked, "Control", rows), EntryField("ended_on", "Last day", "date", True, value=today))


def _end_control(filled: Filled, asked: Asked, token: str) -> Operation:
    return EndAreaControl(operation_id=token, control_id=_id_of(filled), ended_on=filled.the_day("ended_on"))


# Test evidence.


def _evidence_fields(asked: Asked) -> Fields:
    models = sorted((one for one in asked.house.models.values() if one.powered), key=lambda one: one.code)
    choices = tuple((one.code, f"{one.code}: {one.name}") for one in models)
    known = asked.label if asked.label in dict(choices) else ""
    return (
        EntryField("model", "Unit model", "choice", True, "Helmets and hoods; others need none, or have none.",
                   choices, known),
        EntryField("factor", "Protection factor the testing showed", "number", True, value=str(LEAST_TESTED)),
        EntryField("document", "The maker's paper", needed=True, help="Its name and number."),
        EntryField("dated_on", "Dated", "date", True),
    )  # fmt: skip


def _evidence(filled: Filled, asked: Asked, token: str) -> Operation:
    return RecordFactorEvidence(
        operation_id=token,
        model=filled.pick("model"),
        factor=filled.whole("factor", 0, 1_000_000) or 0,
        document=filled.text("document"),
        dated_on=filled.the_day("dated_on"),
    )


def _on_file(asked: Asked) -> list[FactorEvidence]:
    return asked.reader.find(FactorEvidence, withdrawn_on=None)


def _withdraw_fields(asked: Asked) -> Fields:
    choices = tuple(
        (str(one.id), f"{one.model}: {one.document}, {date_words(one.dated_on)}") for one in _on_file(asked)
    )
    standing = standing_evidence(_on_file(asked)).get(asked.label)
    known = str(standing.id) if standing else choices[0][0] if len(choices) == 1 else ""
    return (
        EntryField("evidence", "Evidence", "choice", True, choices=choices, value=known),
        EntryField("why", "Why", needed=True, help="It stands in the journal."),
    )


def _withdraw(filled: Filled, asked: Asked, token: str) -> Operation:
    picked = filled.pick("evidence")
    return WithdrawFactorEvidence(
        operation_id=token, evidence_id=int(picked) if picked else 0, why=filled.text("why")
    )


EVIDENCE_LEAD = (
    "A powered helmet or hood counts with 25 until the site holds its maker's testing that shows "
    f"{number(LEAST_TESTED)} or more (29 CFR 1910.134(d)(3)(i)(A), Table 1 note 4). "
    "A loose-fitting facepiece stays at 25."
)


AREA_FACT_FORMS = (
    EntryKind(
        "area-condition", "area-condition", "Conditions", "Say what holds of an area", SayAreaCondition,
        _condition_fields, _condition, HYGIENIST, no_area, again=False,
    ),
    EntryKind(
        "area-process", "area-process", "Process", "Add a process", SayAreaProcess, _process_fields, _process,
        "It gives the least shade by 29 CFR 1910.133(a)(5). Outside that table the maker's instructions decide.",
        no_area, keeps=True,
    ),
    EntryKind(
        "end-process", "end-process", "End", "A process is no longer done", EndAreaProcess, _end_process_fields,
        _end_process, "", lambda asked: "" if asked.reader.first(AreaProcess, active=True) else "No process is noted.",
        again=False,
    ),
    EntryKind(
        "area-control", "area-control", "Control", "Add a control", SayAreaControl, _control_fields, _control,
        "Respirators come last: first what takes the agent away, then what keeps it from the worker "
        "(29 CFR 1910.134(a)(1)).", no_area, keeps=True,
    ),
    EntryKind(
        "end-control", "end-control", "End", "A control is no longer in place", EndAreaControl, _end_control_fields,
        _end_control, "",
        lambda asked: "" if asked.reader.first(AreaControl, ended_on=None) else "No control is noted.",
        again=False,
    ),
    EntryKind(
        "factor-evidence", "limits", "Test evidence", "Record a maker's test evidence", RecordFactorEvidence,
        _evidence_fields, _evidence, EVIDENCE_LEAD,
    ),
    EntryKind(
        "withdraw-evidence", "limits", "Withdraw evidence", "Withdraw test evidence", WithdrawFactorEvidence,
        _withdraw_fields, _withdraw, "",
        lambda asked: "" if _on_file(asked) else "No test evidence is on file.", again=False,
    ),
)  # fmt: skip
