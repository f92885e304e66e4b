"""Forms for used filters: a bag is opened, something goes into it, it is closed."""

from __future__ import annotations

from cribdesk.crib.records import Area, Unit, WasteBag, Where
from cribdesk.crib.used import GENERATOR, first_step
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled, or_none
from cribdesk.desk.operation import Operation
from cribdesk.desk.waste import BagWaste, CloseBag, OpenBag


def _open_fields(asked: Asked) -> Fields:
    areas = sorted(asked.reader.find(Area), key=lambda one: one.name)
    area = next((one for one in areas if one.label == asked.label), None)
    choices = or_none(((one.label, one.name) for one in areas), "of several areas")
    help_words = "Its agents suggest the words of the stream."
    about = EntryField(ABOUT, "From which area", "choice", False, help_words, choices, area.label if area else "")
    suggested = first_step(area.agents, asked.house.handling).stream if area and asked.house.handling else ""
    return (about, EntryField("stream", "Waste stream", needed=True, value=suggested, help=GENERATOR))


def _open(filled: Filled, asked: Asked, token: str) -> Operation:
    area = asked.reader.first(Area, label=filled.pick(ABOUT)) if filled.pick(ABOUT) else None
    return OpenBag(operation_id=token, stream=filled.text("stream"), area_id=area.id if area else None)


def _bags(asked: Asked) -> EntryField:
    bags = asked.reader.find(WasteBag, closed_at=None)
    choices = tuple((one.label, f"{one.label}, {one.stream}") for one in bags)
    known = asked.label if asked.label in dict(choices) else choices[0][0] if len(choices) == 1 else ""
    return EntryField(ABOUT, "Bag", "choice", True, "Choose it, or scan its label.", choices, known)


def _put_fields(asked: Asked) -> Fields:
    units = [one for one in asked.reader.find(Unit) if one.where is not Where.SCRAPPED]
    return (
        _bags(asked),
        EntryField("what", "What goes in", needed=True, help="Pre-filter, particulate filter, wipes."),
        EntryField("quantity", "How many", "number", True, value="1"),
        EntryField("unit", "Out of which unit", "choice", choices=or_none((one.label, one.label) for one in units)),
    )


def _put(filled: Filled, asked: Asked, token: str) -> Operation:
    bag = asked.reader.first(WasteBag, label=filled.pick(ABOUT))
    unit = asked.reader.first(Unit, label=filled.pick("unit")) if filled.pick("unit") else None
    return BagWaste(
        operation_id=token,
        bag_id=bag.id if bag else 0,
        what=filled.text("what"),
        quantity=filled.whole("quantity", 1, 1000) or 0,
        unit_id=unit.id if unit else None,
    )


def _close_fields(asked: Asked) -> Fields:
    return (_bags(asked), EntryField("drum", "Drum", needed=True, help="The number on the drum it goes into."))


def _close(filled: Filled, asked: Asked, token: str) -> Operation:
    bag = asked.reader.first(WasteBag, label=filled.pick(ABOUT))
    return CloseBag(operation_id=token, bag_id=bag.id if bag else 0, drum=filled.text("drum"))


def _no_bag(asked: Asked) -> str:
    return "" if asked.reader.first(WasteBag, closed_at=None) else "No waste bag is open. Open one first."


WASTE_FORMS = (
    EntryKind("open-bag", "waste", "Open a bag", "Open a waste bag", OpenBag, _open_fields, _open, "Its label prints."),
    EntryKind(
        "bag-waste", "waste", "Put into a bag", "Put into a waste bag", BagWaste, _put_fields, _put, missing=_no_bag
    ),
    EntryKind(
        "close-bag", "waste", "Close a bag", "Close a waste bag", CloseBag, _close_fields, _close, GENERATOR, _no_bag
    ),
)
