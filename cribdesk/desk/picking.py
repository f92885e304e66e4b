"""Choosing by scanner alone: the printed codes 'First' to 'Ninth' pick from the list that waits in the open form."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.records import RunEnd
from cribdesk.desk.entry_form import NO, YES
from cribdesk.desk.slate import AreaForm, AskForm, ChangeForm, Form, HoldForm, MoreForm, ReturnForm

PICK = "pick-"
ALARMS = ("none", "low flow", "low battery", "both")


@dataclass(frozen=True)
class Waiting:
    """The list that waits: the field it fills and its (value, words) in order. A command's list fills no field."""

    field: str
    options: tuple[tuple[str, str], ...]


def waiting_in(form: Form | None) -> Waiting | None:
    """The first list of the form that nothing was taken from; where something was from each, the first of all."""
    lists = [(Waiting(name, options), value) for name, options, value in _lists(form) if options]
    if not lists:
        return None
    return next((one for one, value in lists if not value), lists[0][0])


def picked(form: Form | None, command: str) -> tuple[Waiting, str] | None:
    """What a printed number takes: the list and the value; None where the list is not that long, or there is none."""
    found, number = waiting_in(form), int(command.removeprefix(PICK))
    if found is None or number > len(found.options):
        return None
    return found, found.options[number - 1][0]


def _lists(form: Form | None) -> list[tuple[str, tuple[tuple[str, str], ...], str]]:
    match form:
        case MoreForm():
            return [("", tuple((command, words) for command, words, why in form.choices if not why), "")]
        case HoldForm():
            return [("reason", tuple((one.code, one.words) for one in form.reasons), form.reason)]
        case ChangeForm():
            return _change(form)
        case ReturnForm():
            return _return(form)
        case AreaForm():
            areas = tuple((one.label, one.area.name) for one in form.areas)
            return [("due", form.times, form.due), ("area", areas, form.area)]
        case AskForm():
            yes_no = ((YES, "yes"), (NO, "no"))
            fields = [(one, yes_no if one.kind == "yes-no" else one.choices) for one in form.shown()]
            return [(one.name, options, form.value(one.name)) for one, options in fields]
    return []


def _change(form: ChangeForm) -> list[tuple[str, tuple[tuple[str, str], ...], str]]:
    offered = tuple((str(number), one.words) for number, one in enumerate(form.choices))
    chosen = "" if form.chosen is None else str(form.chosen)
    return [("position", form.positions, form.position), ("choice", offered, chosen)]


def _return(form: ReturnForm) -> list[tuple[str, tuple[tuple[str, str], ...], str]]:
    found = [
        ("speed", tuple((one, one) for one in form.speeds), form.speed),
        ("alarms", tuple((one, one) for one in ALARMS), form.alarms),
    ]
    if form.battery_label:
        back = {True: YES, False: NO}.get(form.battery_back, "") if form.battery_back is not None else ""
        end = form.battery_end.value if form.battery_end else ""
        found.append(("battery_back", ((YES, "back"), (NO, "not back")), back))
        found.append(("battery_end", tuple((one.value, one.value) for one in RunEnd), end))
    found.append(("any_fault", ((NO, "no fault"), (YES, "a fault")), YES if form.any_fault else ""))
    if form.any_fault:
        found.append(("fault", tuple((one.code, one.words) for one in form.reasons), form.fault))
    return found
