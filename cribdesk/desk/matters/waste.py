"""Waste bags at the counter: one is scanned and something goes in, one is opened, one is closed."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.used import GENERATOR
from cribdesk.desk.cards import BagCard, Card
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.slate import AskForm, Slate
from cribdesk.desk.waste import BagWaste

PUT = "bag-waste"


def _never(house: House, slate: Slate) -> str | None:
    """It begins with the scan of a bag, never by itself."""
    return None


def _begins(house: House, slate: Slate, card: Card) -> bool:
    free = slate.person is None and slate.battery is None and slate.clerk is not None
    return isinstance(card, BagCard) and card.bag.closed_at is None and free


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    unit = slate.unit
    return AskForm(
        matter=PUT,
        title="Into a waste bag",
        label=unit.label if unit else "",
        fields=(
            EntryField("what", "What goes in", needed=True, help="Pre-filter, particulate filter, wipes."),
            EntryField("quantity", "How many", "number", True, value="1"),
        ),
        cautions=((unit.used.words,) if unit and unit.used else ()) + (GENERATOR,),
        go="Put in",
        ids=(("unit", unit.unit.id),) if unit else (),
    )


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    if not isinstance(card, BagCard):
        return None
    if card.bag.closed_at is not None:
        return f"Bag {card.label} is closed, in drum {card.bag.drum}. Scan an open one. Nothing changed."
    ids = (*(one for one in form.ids if one[0] != "bag"), ("bag", card.bag.id))
    return replace(form, ids=ids, lead=f"Bag {card.label}, {card.bag.stream}: {card.pieces} in it.")


def _lacks(form: AskForm) -> str:
    if not form.id("bag"):
        return "Scan the bag."
    return "" if form.value("quantity").isdigit() and form.value("quantity") != "0" else "How many: a whole number."


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> BagWaste:
    return BagWaste(
        operation_id=token,
        bag_id=form.id("bag"),
        what=form.value("what"),
        quantity=int(form.value("quantity")),
        unit_id=form.id("unit") or None,
    )


def _with_agents(house: House, slate: Slate) -> str | None:
    """Beside a unit that was worn among agents, and on the empty counter."""
    used = slate.unit.used if slate.unit and not slate.unit.is_out and slate.person is None else None
    return "" if slate.empty or used else None


def _area_of(slate: Slate) -> str:
    return slate.unit.used.area_label if slate.unit and slate.unit.used else ""


def _when_empty(house: House, slate: Slate) -> str | None:
    return "" if slate.empty else None


MATTERS = (
    Matter(id=PUT, offered=_never, opens=_opens, begins=_begins, takes=_takes, lacks=_lacks, builds=_builds),
    Matter(id="open-bag", offered=_with_agents, entry="open-bag", about=_area_of),
    Matter(id="close-bag", offered=_when_empty, entry="close-bag"),
)
