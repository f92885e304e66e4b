"""Parts that go from one unit to another: swapped, or taken out of one that is on hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.model import UnitModel
from cribdesk.crib.reasons import at_hand
from cribdesk.crib.records import Unit
from cribdesk.crib.words import capital
from cribdesk.desk.cards import Card, ItemCard, PartCard, UnitCard
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.part_moves import RobPart, SwapParts
from cribdesk.desk.slate import AskForm, AskLine, Slate

SWAP, ROB = "swap-parts", "rob-part"


def _offered(house: House, slate: Slate) -> str | None:
    card = slate.unit
    return "" if card is not None and slate.person is None and not card.is_out and at_hand(card.unit) else None


def _open_swap(house: House, slate: Slate, moment: datetime) -> AskForm:
    return _open(slate, SWAP, "Swap parts", "Swapped", "Scan the other unit, or the part in it.")


def _open_rob(house: House, slate: Slate, moment: datetime) -> AskForm:
    lead = "Scan the unit that gives the part, or the part in it. It has to be on hold."
    return _open(slate, ROB, "Take a part over", "Fitted", lead)


def _open(slate: Slate, matter: str, title: str, go: str, lead: str) -> AskForm:
    card = slate.unit
    assert card is not None
    return AskForm(
        matter, title, label=card.label, lead=lead, go=go, cost="both then go to the bench",
        ids=(("unit", card.unit.id),), lines_none="No other unit yet", extra=(("model", card.model.code),),
    )  # fmt: skip


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    """The other unit, the part in it, or an item: which position."""
    model = house.models[dict(form.extra)["model"]]
    if isinstance(card, UnitCard):
        if card.is_out or not at_hand(card.unit):
            return f"{card.label} is not here: {card.where_words}. Nothing changed."
        return _with_other(form, model, card.unit, card.model, _wanted(form, slate, model, card.model))
    if isinstance(card, PartCard):
        if card.unit is None:
            return f"{card.label} sits in no unit: it lies on the shelf. Change the part instead. Nothing changed."
        other = house.models.get(card.unit.model)
        position = next((one.code for one in model.positions if one.labelled and card.item.code in one.items), "")
        if other is None or not position:
            return f"{card.label} goes into no position of {form.label}. Nothing changed."
        return _with_other(form, model, card.unit, other, position)
    if isinstance(card, ItemCard) and form.matter == ROB and form.id("other"):
        position = next((one.code for one in model.positions if card.item.code in one.items), "")
        if position not in {code for code, _ in form.fields[0].choices}:
            return f"{card.item.name} goes into no position of both. Nothing changed."
        return replace(form, values=(("position", position),))
    return None


def _with_other(form: AskForm, model: UnitModel, other: Unit, theirs: UnitModel, position: str) -> AskForm | str:
    if other.id == form.id("unit"):
        return f"{other.label} is the one on the counter. Scan the other unit. Nothing changed."
    choices = _positions(form.matter, model, theirs)
    if not choices:
        return f"{other.label} has no position in common with {form.label}. Nothing changed."
    if position not in {code for code, _ in choices}:
        position = choices[0][0] if len(choices) == 1 else ""
    asked = EntryField("position", "Which part", "choice", True, choices=choices)
    role = "gives the part" if form.matter == ROB else "swaps with it"
    return replace(
        form,
        fields=(asked,),
        values=(("position", position),),
        lines=(AskLine(str(other.id), other.label, capital(f"{theirs.short_name}, {role}")),),
        ids=(("unit", form.id("unit")), ("other", other.id)),
    )


def _positions(matter: str, mine: UnitModel, theirs: UnitModel) -> tuple[tuple[str, str], ...]:
    """The positions that both models have, by the air path; for a swap those whose parts carry labels."""
    known = {one.code: one for one in theirs.positions}
    both = [one for one in sorted(mine.positions, key=lambda one: one.order) if one.code in known]
    if matter == SWAP:
        both = [one for one in both if one.labelled and known[one.code].labelled]
    return tuple((one.code, one.name) for one in both)


def _wanted(form: AskForm, slate: Slate, mine: UnitModel, theirs: UnitModel) -> str:
    """For robbing, the one position that is empty or past a limit here, where there is just one."""
    if form.matter != ROB or slate.unit is None:
        return ""
    short = slate.unit.condition.parts
    return short[0] if len(short) == 1 else ""


def _lacks(form: AskForm) -> str:
    return "" if form.id("other") else "Scan the other unit."


def _swap(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return SwapParts(
        operation_id=token, unit_id=form.id("unit"), other_id=form.id("other"), position=form.value("position")
    )


def _rob(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return RobPart(
        operation_id=token, unit_id=form.id("unit"), from_id=form.id("other"), position=form.value("position")
    )


MATTERS = (
    Matter(id=SWAP, offered=_offered, opens=_open_swap, takes=_takes, lacks=_lacks, builds=_swap),
    Matter(id=ROB, offered=_offered, opens=_open_rob, takes=_takes, lacks=_lacks, builds=_rob),
)
