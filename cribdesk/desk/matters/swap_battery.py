"""A flat pack in, a charged one out, while the unit stays with its wearer."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.records import RunEnd, Where
from cribdesk.crib.words import capital, in_sentence
from cribdesk.desk.cards import BatteryCard, Card, UnitCard
from cribdesk.desk.entry_form import NO, YES, EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, named, say
from cribdesk.desk.saying import name_of
from cribdesk.desk.slate import AskForm, AskLine, Slate
from cribdesk.desk.swap import SwapBattery, not_free

IN_HAND = "in_hand"
"""The key of the flat pack's line once it is in hand."""

ENDS = (
    (RunEnd.ALARM.value, "Low-battery alarm"),
    (RunEnd.FLAT.value, "Ran flat"),
    (RunEnd.STOPPED.value, "Stopped before"),
)


def _offered(house: House, slate: Slate) -> str | None:
    unit = slate.unit
    if unit is None or unit.custody is None or unit.custody.battery_id is None:
        return None
    if slate.person is not None and slate.person.person.id != unit.custody.person_id:
        return None
    return "It may not be used: no new pack, take it back." if against(unit) else ""


def against(unit: UnitCard) -> str:
    """Why nothing is done that would let the wearer go on with the unit, or nothing."""
    if unit.unit.where is Where.MISSING:
        return f"{unit.label} is missing: see to that first."
    if unit.against:
        return f"Do not use {unit.label}: {in_sentence(unit.against[0].words)}. Take it back."
    if unit.call_in is not None:
        return f"Do not use {unit.label}: it is called in. Take it back."
    return ""


def _begins(house: House, slate: Slate, card: Card) -> bool:
    return isinstance(card, BatteryCard) and slate.clerk is not None and _offered(house, slate) is not None


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    unit = slate.unit
    assert unit is not None
    assert unit.custody is not None
    flat_id, speeds = unit.custody.battery_id or 0, unit.model.speeds
    seen = slate.battery is not None and slate.battery.battery.id == flat_id
    speed = EntryField("speed", "Speed it ran at", "choice", choices=tuple((one, capital(one)) for one in speeds))
    label = unit.battery.label if unit.battery and unit.battery.id == flat_id else ""
    # what mostly brings a wearer to the counter stands there first
    ended = EntryField("ended", "How its run ended", "choice", True, choices=ENDS, value=RunEnd.ALARM.value)
    form = AskForm(
        matter="swap-battery",
        title=f"Swap the battery of {name_of(unit.holder)}",
        label=unit.label,
        fields=(ended, *((speed,) if len(speeds) > 1 else ())),
        values=(("speed", speeds[0]),) if len(speeds) == 1 else (),
        go="Swap it",
        cost="the unit stays out; its run is kept",
        ids=(("unit", unit.unit.id), ("flat", flat_id)),
        extra=(("flat", label), (IN_HAND, YES if seen else NO)),
    )
    return _worded(form)


def _worded(form: AskForm) -> AskForm:
    """The form with its lines and its lead as far as it is."""
    known = dict(form.extra)
    there = known[IN_HAND] == YES
    flat = AskLine(
        "flat", known["flat"], "Flat pack in", note="In hand, to be charged" if there else "Scan it, or bring it first",
        level="" if there else "caution",
    )  # fmt: skip
    lines = [flat]
    if form.id("charged"):
        lines.append(AskLine("charged", known["charged"], "Charged pack out", note=known["note"]))
    lead = "" if there and form.id("charged") else "Scan both packs, in any order."
    cautions = tuple(one for one in (known.get("caution", ""),) if one)
    return replace(form, lines=tuple(lines), lead=lead, cautions=cautions)


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    if not isinstance(card, BatteryCard):
        return None
    known = dict(form.extra)
    if card.battery.id == form.id("flat"):
        return _worded(replace(form, extra=tuple((known | {IN_HAND: YES}).items())))
    unit = slate.unit
    assert unit is not None
    why = not_free(card.battery, unit.model.battery_models, unit.model.short_name)
    if card.in_use:
        why = f"it is {card.where_words}"
    if why:
        return f"{card.label} cannot go along: {why}. Take another pack. Nothing changed."
    uncharged = card.battery.charged_at is None
    caution = f"{card.label} was not seen on a charger since its last use: look at its bars." if uncharged else ""
    note = "Not seen on a charger" if uncharged else "Charged"
    known |= {"charged": card.label, "note": note, "caution": caution}
    ids = dict(form.ids) | {"charged": card.battery.id}
    return _worded(replace(form, ids=tuple(ids.items()), extra=tuple(known.items())))


def _lacks(form: AskForm) -> str:
    if dict(form.extra)[IN_HAND] != YES:
        return "Scan the flat pack that comes in."
    return "" if form.id("charged") else "Scan the charged pack that goes out."


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return SwapBattery(
        operation_id=token,
        unit_id=form.id("unit"),
        flat_id=form.id("flat"),
        battery_id=form.id("charged"),
        ended=RunEnd(form.value("ended")),
        speed=form.value("speed"),
        charge_shown=bool(form.cautions),
    )


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    said, requests = say(slate, "taken", named(slate, receipt.sentence, receipt.names), moment)
    return replace(slate.cleared(), line=said.line, done=slate.done), requests


MATTERS = (
    Matter(
        id="swap-battery",
        offered=_offered,
        shown=True,
        cost="flat in, charged out",
        opens=_opens,
        begins=_begins,
        takes=_takes,
        lacks=_lacks,
        builds=_builds,
        after=_after,
    ),
)
