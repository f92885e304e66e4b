"""The wearer's own check before a use, at a check station; and the grid of a slip, entered at the desk."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.matters.swap_battery import against
from cribdesk.desk.operation import Operation
from cribdesk.desk.own_check import CheckOwn
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, also, named, say, weigh
from cribdesk.desk.slate import AskForm, Slate

RESULT, GOOD, BAD = "result", "good", "not good"
AIR, ALARM, BOTH, ELSE = "air", "alarm", "both", "else"


def _offered(house: House, slate: Slate) -> str | None:
    unit = slate.unit
    if unit is None or unit.custody is None or not unit.custody.assigned or unit.holder is None:
        return None
    if slate.person is None:
        return "Scan the badge of the wearer who checks it."
    if slate.person.person.id != unit.custody.person_id:
        return f"It is assigned to {unit.holder.name}: nobody else checks it."
    return ""


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    unit, person = slate.unit, slate.person
    assert unit is not None
    assert person is not None
    stands = against(unit)
    powered = unit.model.powered
    all_good = "Air and alarm good" if powered else "All of it good"
    bad = (RESULT, BAD)
    parts = ((AIR, "The air"), (ALARM, "The alarm"), (BOTH, "Air and alarm"), (ELSE, "Something else"))
    fields = [
        EntryField(RESULT, "What you found", "choice", True, choices=((GOOD, all_good), (BAD, "Not good")), value=GOOD)
    ]
    if powered:
        fields.append(EntryField("what", "What is not good", "choice", True, choices=parts, only=bad))
    note = (RESULT, BAD) if not powered else ("what", ELSE)
    fields.append(EntryField("note", "In words", needed=True, help="What is wrong with it.", only=note))
    ask = next((do for when, do in unit.model.cautions if when == "Before each use"), "")
    return AskForm(
        matter="own-check",
        title=f"Own check of {person.person.name}",
        label=unit.label,
        lead=f"{ask} As the maker's instructions say.".strip(),
        fields=tuple(fields),
        go=all_good,
        bad=(RESULT, BAD, "Hold it"),
        cost="before this use",
        ids=(("unit", unit.unit.id), ("person", person.person.id)),
        cautions=(stands,) if stands else (),
        extra=(("stands", stands),),
    )


def _lacks(form: AskForm) -> str:
    return dict(form.extra)["stands"] if form.value(RESULT) == GOOD else ""


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    bad = form.value(RESULT) == BAD
    asked = {one.name for one in form.shown()}
    what = form.value("what") if "what" in asked else ELSE
    return CheckOwn(
        operation_id=token,
        unit_id=form.id("unit"),
        person_id=form.id("person"),
        flow_good=not (bad and what in (AIR, BOTH)),
        alarm_good=not (bad and what in (ALARM, BOTH)),
        fault=form.value("note").strip() if bad and what == ELSE else "",
    )


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    """Good: the station is free for the next. Not good: the unit lies there, to be taken back or exchanged."""
    bad = form is not None and form.value(RESULT) == BAD
    words = named(slate, receipt.sentence, receipt.names)
    if not bad:
        said, requests = say(slate, "taken", words, moment)
        return replace(slate.cleared(), line=said.line, done=slate.done), requests
    alone = replace(slate, person=None, area=None, due_at=None, facts=None, reasons=())
    return also(say(alone, "caution", words, moment), *weigh(alone))


def _grid_offered(house: House, slate: Slate) -> str | None:
    unit = slate.unit
    if unit is None:
        return None
    custody = unit.custody or unit.standing.last_custody
    return "" if custody is not None and custody.assigned else None


MATTERS = (
    Matter(
        id="own-check",
        offered=_offered,
        shown=True,
        cost="before each use",
        opens=_opens,
        lacks=_lacks,
        builds=_builds,
        after=_after,
    ),
    Matter(
        id="own-check-slip",
        offered=_grid_offered,
        entry="own-checks",
        about=lambda slate: slate.unit.label if slate.unit else "",
    ),
)
