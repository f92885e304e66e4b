"""The form that changes a cabinet, or takes it out of use."""

from __future__ import annotations

from dataclasses import replace

from cribdesk.crib.records import Cabinet
from cribdesk.desk.change_cabinet import ChangeCabinet
from cribdesk.desk.entry_form import ABOUT, NO, YES, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.entry_things import DANGER, cabinet_fields
from cribdesk.desk.operation import Operation

FORM = "change-cabinet"


def _fields(asked: Asked) -> Fields:
    known = sorted(asked.reader.find(Cabinet), key=lambda one: (not one.active, one.name))
    told = {one.label: f"{one.name}, {one.label}{'' if one.active else ', out of use'}" for one in known}
    value = asked.label if asked.label in told else ""
    about = EntryField(ABOUT, "Cabinet", "choice", True, "Choose it, or scan its label.", tuple(told.items()), value)
    cabinet = next((one for one in known if one.label == value), None)
    if cabinet is None:
        return (about,)
    values = {"cabinet_name": cabinet.name, "cabinet_place": cabinet.place, "purpose": cabinet.purpose}
    words = {"cabinet_name": "Name"}
    asked_again = (
        replace(one, value=values.get(one.name, ""), words=words.get(one.name, one.words))
        for one in cabinet_fields(asked) if one.name != "seal"
    )  # fmt: skip
    return (
        about,
        *asked_again,
        EntryField("active", "It is used", "yes-no", value=YES if cabinet.active else NO,
                   help="No tick: out of use. What lies in it is taken out first."),
    )  # fmt: skip


def _build(filled: Filled, asked: Asked, token: str) -> Operation:
    cabinet = asked.reader.first(Cabinet, label=filled.pick(ABOUT))
    if filled.pick("for_danger") == YES:
        filled.troubles["for_danger"] = DANGER
    return ChangeCabinet(
        operation_id=token,
        cabinet_id=cabinet.id if cabinet else 0,
        cabinet_name=filled.text("cabinet_name"),
        cabinet_place=filled.text("cabinet_place"),
        purpose=filled.text("purpose"),
        for_danger=filled.pick("for_danger") != NO,
        active=filled.yes("active"),
    )


def _none(asked: Asked) -> str:
    return "" if asked.reader.first(Cabinet) else "There is no cabinet yet. Enter one first."


CABINET_FORMS = (
    EntryKind(
        FORM, "cabinets", "Change a cabinet", "Change a cabinet", ChangeCabinet, _fields, _build,
        "What lies in it goes on lying there under the new name.", _none, again=False,
    ),
)  # fmt: skip
