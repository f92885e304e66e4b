"""Cabinets at the counter: a unit goes in, is certified monthly, comes back used; a seal is found broken."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.reasons import at_hand
from cribdesk.crib.records import Where
from cribdesk.desk import checks
from cribdesk.desk.cabinet import BreakSeal, Certify, PutInCabinet, UsedFromCabinet
from cribdesk.desk.cards import CabinetCard, Card
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.routing import Routed
from cribdesk.desk.slate import AskForm, AskLine, Slate

SEAL = EntryField("seal", "Number of the new seal", needed=True, help="Scan it, or type it.")


def _may_go_in(house: House, slate: Slate) -> str | None:
    card = slate.unit
    if card is None or slate.person is not None or card.is_out or not at_hand(card.unit):
        return None
    state = card.condition.state.value
    return "" if state == "ready" else f"Only a ready unit goes in; this one is {state}."


def _begins(house: House, slate: Slate, card: Card) -> bool:
    free = slate.unit is not None and slate.form is None and slate.clerk is not None
    return isinstance(card, CabinetCard) and free and _may_go_in(house, slate) == ""


def _open_put_in(house: House, slate: Slate, moment: datetime) -> AskForm:
    assert slate.unit is not None
    return AskForm(
        "put-in-cabinet", "Put into a cabinet", label=slate.unit.label, fields=(SEAL,), go="It lies in it",
        lines_none="Scan the cabinet", ids=(("unit", slate.unit.unit.id),),
    )  # fmt: skip


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    if not isinstance(card, CabinetCard):
        return None
    cabinet = card.cabinet
    if not cabinet.active:
        return f"Cabinet {cabinet.name} is out of use. Nothing changed."
    there = f"{cabinet.place}; for {cabinet.purpose}".removeprefix("; ")
    line = AskLine(str(cabinet.id), cabinet.label, f"Cabinet {cabinet.name}", note=there)
    return replace(form, lines=(line,), ids=(("unit", form.id("unit")), ("cabinet", cabinet.id)))


def _lacks_cabinet(form: AskForm) -> str:
    return "" if form.id("cabinet") else "Scan the cabinet."


def _put_in(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return PutInCabinet(
        operation_id=token, unit_id=form.id("unit"), cabinet_id=form.id("cabinet"), seal=form.value("seal")
    )


def _lies_in_one(house: House, slate: Slate) -> str | None:
    card = slate.unit
    return "" if card is not None and card.unit.where is Where.EMERGENCY and slate.person is None else None


def _monthly(house: House, slate: Slate, moment: datetime) -> Routed:
    assert slate.unit is not None
    return checks.begin(house, slate, (slate.unit,), "monthly", "bench", moment)


def _open_certify(house: House, slate: Slate, moment: datetime) -> AskForm:
    assert slate.unit is not None
    card = slate.unit
    return AskForm(
        "certify", "Certify", label=card.label, go="Certify", cost="prints its tag",
        lead=f"On its monthly inspection passed today. It lies in {card.unit.place}.",
        fields=(
            SEAL,
            EntryField("findings", "Findings", needed=True, value="none"),
            EntryField("action", "Remedial action required", needed=True, value="none"),
        ),
        ids=(("unit", card.unit.id),),
    )  # fmt: skip


def _certify(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return Certify(
        operation_id=token,
        unit_id=form.id("unit"),
        seal=form.value("seal"),
        findings=form.value("findings"),
        action=form.value("action"),
    )


def _nothing_there(house: House, slate: Slate) -> str | None:
    return "" if slate.empty else None


def _open_break(house: House, slate: Slate, moment: datetime) -> AskForm:
    return AskForm(
        "break-seal", "Seal broken", go="Broken", lines_none="Scan the cabinet",
        lead="What lies in it is then due for its monthly inspection again.",
        fields=(EntryField("why", "How it came", help="May stay empty."),),
    )  # fmt: skip


def _break(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return BreakSeal(operation_id=token, cabinet_id=form.id("cabinet"), why=form.value("why"))


def _used(house: House, slate: Slate, token: str) -> Operation:
    assert slate.unit is not None
    return UsedFromCabinet(operation_id=token, unit_id=slate.unit.unit.id)


MATTERS = (
    Matter(
        id="put-in-cabinet", offered=_may_go_in, begins=_begins, opens=_open_put_in, takes=_takes,
        lacks=_lacks_cabinet, builds=_put_in,
    ),
    Matter(id="monthly", offered=_lies_in_one, shown=True, turns=_monthly),
    Matter(id="certify", offered=_lies_in_one, shown=True, opens=_open_certify, builds=_certify),
    Matter(
        id="break-seal", offered=_nothing_there, opens=_open_break, takes=_takes, lacks=_lacks_cabinet, builds=_break
    ),
    Matter(id="used-from-cabinet", offered=_lies_in_one, acts=_used, cost="on hold, prints its tag"),
)  # fmt: skip
