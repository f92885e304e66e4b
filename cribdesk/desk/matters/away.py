"""What becomes of a unit that is not here: missing, stolen, crushed, sent for repair, lent; and its way back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from cribdesk.crib.hold import CRUSHED
from cribdesk.crib.reasons import at_hand
from cribdesk.crib.records import AWAY, Away, AwayKind, Cleaning, Custody, Person, Unit, Where
from cribdesk.desk import typed
from cribdesk.desk.away import Arrive, ArrivedThere, Found, Lend, MarkMissing, SendOut
from cribdesk.desk.cards import UnitCard
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.saying import name_of
from cribdesk.desk.slate import AskForm, Slate

BACK_AFTER = timedelta(days=14)
"""When a unit is proposed to be due back (a house rule)."""

NOT_BACK = "Once it lies here, say that it is back."


def _unit(slate: Slate) -> UnitCard:
    assert slate.unit is not None
    return slate.unit


def _alone(slate: Slate) -> bool:
    return slate.unit is not None and slate.person is None and slate.unit.unit.where is not Where.SCRAPPED


def _may_be_missing(stolen: bool) -> Callable[[House, Slate], str | None]:
    def offered(house: House, slate: Slate) -> str | None:
        if not _alone(slate):
            return None
        card = _unit(slate)
        away = card.standing.away
        gone = card.unit.where is Where.MISSING
        if gone and (not stolen or (away is not None and away.kind is AwayKind.STOLEN)):
            return None
        return ""

    return offered


def _is_found(house: House, slate: Slate) -> str | None:
    if not _alone(slate) or _unit(slate).unit.where is not Where.MISSING:
        return None
    return "Take it back first: it is on somebody's name." if _unit(slate).is_out else ""


def _may_leave(house: House, slate: Slate) -> str | None:
    return "" if _alone(slate) and not _unit(slate).is_out and _unit(slate).unit.where not in AWAY else None


def _may_be_lent(house: House, slate: Slate) -> str | None:
    if _may_leave(house, slate) is None:
        return None
    state = _unit(slate).condition.state.value
    return "" if state == "ready" else f"Only a ready unit is lent; this one is {state}."


def _is_sent_out(house: House, slate: Slate) -> str | None:
    return "" if _alone(slate) and _unit(slate).unit.where is Where.SENT_OUT else None


def _is_in_transit(house: House, slate: Slate) -> str | None:
    if _is_sent_out(house, slate) is None:
        return None
    away = _unit(slate).standing.away
    return "" if away is not None and away.kind is AwayKind.LENT and away.arrived_at is None else None


def _may_be_crushed(house: House, slate: Slate) -> str | None:
    if not _alone(slate):
        return None
    there = any(line.hold.reason == CRUSHED.code for line in _unit(slate).holds)
    return "It is on hold for this already." if there else ""


def _about(
    slate: Slate, matter: str, title: str, go: str, *fields: EntryField, lead: str = "", cost: str = ""
) -> AskForm:
    card = _unit(slate)
    return AskForm(
        matter, title, label=card.label, lead=lead, fields=fields, go=go, cost=cost, ids=(("unit", card.unit.id),)
    )


def _ask_missing(matter: str, title: str) -> Callable[[House, Slate, datetime], AskForm]:
    said = EntryField("said", "Who says so, and where it was seen last", help="May stay empty.")
    kept = "The custody stays open: who has it on their name answers for it."

    def opens(house: House, slate: Slate, moment: datetime) -> AskForm:
        return _about(slate, matter, title, title, said, lead=kept if _unit(slate).is_out else "")

    return opens


def _mark(stolen: bool) -> Callable[[House, Slate, AskForm, str], Operation]:
    def builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
        return MarkMissing(operation_id=token, unit_id=form.id("unit"), stolen=stolen, said=form.value("said"))

    return builds


def _ask_send_out(house: House, slate: Slate, moment: datetime) -> AskForm:
    today = house.today(moment)
    clerk = slate.clerk.name if slate.clerk else ""
    return _about(
        slate, "send-out", "Send for repair", "Send it",
        EntryField("goes_to", "Goes to", needed=True, help="Who repairs it."),
        EntryField("wrong", "What is wrong with it", needed=True),
        EntryField("cleaned_how", "Decontaminated how", needed=True, help="With what, and what was done."),
        EntryField("cleaned_by", "Decontaminated by", needed=True, value=clerk),
        EntryField("cleaned_on", "Decontaminated on", needed=True, value=today.isoformat(), help="Like 2026-11-25."),
        EntryField("due_on", "Due back", needed=True, value=(today + BACK_AFTER).isoformat(), help="Like 2026-12-09."),
        EntryField("loaner", "Loaner", help="The label of a unit of ours, or what theirs is called. May stay empty."),
        lead="The note goes with the unit. Whoever opens it has to know what is in it.",
        cost="prints its note",
    )  # fmt: skip


def _fill_send_out(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """Once, as it opens: the holds, the last cleaning since the last wearer, and who repaired last."""
    if form.turn:
        return form
    unit = reader.get(Unit, form.id("unit"))
    found = dict(form.values)
    last = reader.latest(Away, kind=AwayKind.REPAIR)
    if last is not None:
        found["goes_to"] = last.goes_to
    found["wrong"] = dict(form.extra).get("holds", "")
    cleaned = reader.latest(Cleaning, unit_id=unit.id)
    back = reader.latest(Custody, unit_id=unit.id, returned_at=FILLED)
    since = back.returned_at if back is not None else None
    if cleaned is not None and (since is None or cleaned.at >= since):
        found["cleaned_how"] = f"Cleaned and disinfected{f' with {cleaned.product}' if cleaned.product else ''}"
        found["cleaned_by"] = name_of(reader.first(Person, id=cleaned.by_id))
        found["cleaned_on"] = house.today(cleaned.at).isoformat()
    return replace(form, values=tuple(found.items()))


def _open_send_out(house: House, slate: Slate, moment: datetime) -> AskForm:
    holds = "; ".join(line.words for line in _unit(slate).holds)
    return replace(_ask_send_out(house, slate, moment), extra=(("holds", holds),))


def _ask_lend(house: House, slate: Slate, moment: datetime) -> AskForm:
    due = (house.today(moment) + BACK_AFTER).isoformat()
    return _about(
        slate, "lend", "Lend", "Lend it",
        EntryField("goes_to", "To which crib", needed=True),
        EntryField("due_on", "Due back", needed=True, value=due, help="Like 2026-12-09."),
        lead="It is in transit until it is scanned at their counter, or they say that they have it.",
    )  # fmt: skip


def _fill_lend(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    last = reader.latest(Away, kind=AwayKind.LENT)
    if form.turn or last is None:
        return form
    return replace(form, values=(("goes_to", last.goes_to),))


def _ask_arrived(house: House, slate: Slate, moment: datetime) -> AskForm:
    away = _unit(slate).standing.away
    crib = away.goes_to if away else "the other crib"
    said = EntryField("said", "Who there has it in hand", help=f"May stay empty at a counter of {crib} only.")
    return _about(slate, "arrived-there", "It arrived", "It arrived", said, lead=f"At {crib}.")


def _dates_lack(form: AskForm) -> str:
    """What is wrong with a date that was typed, in words."""
    for asked in form.fields:
        if asked.name.endswith("_on"):
            try:
                typed.day_of(form.value(asked.name).strip())
            except ValueError as failure:
                return f"{asked.words}: {str(failure)[:1].lower()}{str(failure)[1:]}."
    return ""


def _send_out(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return SendOut(
        operation_id=token,
        unit_id=form.id("unit"),
        goes_to=form.value("goes_to"),
        wrong=form.value("wrong"),
        cleaned_by=form.value("cleaned_by"),
        cleaned_how=form.value("cleaned_how"),
        cleaned_on=typed.day_of(form.value("cleaned_on").strip()),
        due_on=typed.day_of(form.value("due_on").strip()),
        loaner=form.value("loaner"),
    )


def _lend(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    due = typed.day_of(form.value("due_on").strip())
    return Lend(operation_id=token, unit_id=form.id("unit"), goes_to=form.value("goes_to"), due_on=due)


def _arrived(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return ArrivedThere(operation_id=token, unit_id=form.id("unit"), said=form.value("said"))


def _takes_loaner(house: House, slate: Slate, form: AskForm, card: object) -> AskForm | str | None:
    """A unit scanned into it stands in meanwhile."""
    if not isinstance(card, UnitCard):
        return None
    if card.unit.id == form.id("unit"):
        return f"{card.label} is the one that goes. Scan another as its loaner. Nothing changed."
    if not at_hand(card.unit):
        return f"{card.label} is not here: {card.where_words}. Nothing changed."
    known = dict(form.values) | {"loaner": card.label}
    return replace(form, values=tuple(known.items()))


def _found(house: House, slate: Slate, token: str) -> Operation:
    return Found(operation_id=token, unit_id=_unit(slate).unit.id)


def _arrive(house: House, slate: Slate, token: str) -> Operation:
    return Arrive(operation_id=token, unit_id=_unit(slate).unit.id)


def _crushed(house: House, slate: Slate, token: str) -> Operation:
    return PlaceHold(operation_id=token, unit_id=_unit(slate).unit.id, reason=CRUSHED.code)


MATTERS = (
    Matter(
        id="missing", offered=_may_be_missing(stolen=False), opens=_ask_missing("missing", "It is missing"),
        builds=_mark(stolen=False),
    ),
    Matter(
        id="stolen", offered=_may_be_missing(stolen=True), opens=_ask_missing("stolen", "It was stolen"),
        builds=_mark(stolen=True),
    ),
    Matter(id="found", offered=_is_found, shown=True, acts=_found, cost="to the bench"),
    Matter(id="crushed", offered=_may_be_crushed, acts=_crushed, cost="on hold, prints its tag"),
    Matter(
        id="send-out", offered=_may_leave, opens=_open_send_out, asks=_fill_send_out, takes=_takes_loaner,
        lacks=_dates_lack, builds=_send_out,
    ),
    Matter(id="lend", offered=_may_be_lent, opens=_ask_lend, asks=_fill_lend, lacks=_dates_lack, builds=_lend),
    Matter(id="arrived-there", offered=_is_in_transit, shown=True, opens=_ask_arrived, builds=_arrived),
    Matter(id="arrive", offered=_is_sent_out, shown=True, acts=_arrive, cost="to the bench"),
)  # fmt: skip
