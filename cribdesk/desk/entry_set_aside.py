"""Forms for pieces that are set aside: the bench's tray filled from its due list, and any item for any purpose."""

from __future__ import annotations

from cribdesk.crib.records import SetAside, StockItem
from cribdesk.crib.words import number
from cribdesk.desk.due import due_list
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation
from cribdesk.desk.set_aside import BENCH, SetPiecesAside, kept_words, set_asides

TRAY, OTHER = "tray", "other"


def _fields(asked: Asked) -> Fields:
    items = sorted(asked.reader.find(StockItem, active=True), key=lambda one: (one.name, one.label))
    item = next((one for one in items if one.label == asked.label), None)
    choices = tuple((one.label, f"{one.name}, {one.code}") for one in items)
    about = EntryField(
        ABOUT, "Item", "choice", True, "Choose it, or scan its label.", choices, item.label if item else ""
    )
    if item is None:
        return (about,)
    some = set_asides(asked.reader, [item.id]).get(item.id, ())
    what = f"Set aside now: {kept_words(some)}." if some else "Nothing of it is set aside now."
    purposes = ((TRAY, "The bench's tray"), (OTHER, "Something else"))
    return (
        about,
        EntryField("what_for", "What for", "choice", True, choices=purposes, value=TRAY),
        EntryField("purpose", "For what", needed=True, help="A job, a person, a day.", only=("what_for", OTHER)),
        EntryField("pieces", "Pieces in all", "number", True, f"{what} 0 puts back what was."),
    )


def _build(filled: Filled, asked: Asked, token: str) -> Operation:
    item = asked.reader.first(StockItem, label=filled.pick(ABOUT))
    purpose = filled.text("purpose") if filled.pick("what_for") == OTHER else BENCH
    return SetPiecesAside(
        operation_id=token,
        lines=((item.id if item else 0, filled.whole("pieces", 0) or 0),),
        purpose=purpose,
    )


def _tray_fields(asked: Asked) -> Fields:
    """Each item to be fetched with as many as fall due, but no more than are there."""
    fetch = [one for one in due_list(asked.reader, asked.house, asked.moment).fetch if one.number and one.there]
    return tuple(
        EntryField(
            f"pieces_{one.label}", f"{one.name}, {one.code}", "number", True,
            ", ".join(part for part in (f"{number(one.there)} there", one.bin and f"bin {one.bin}", one.lot) if part),
            value=str(min(one.number, one.there)),
        )
        for one in fetch
    )  # fmt: skip


def _tray(filled: Filled, asked: Asked, token: str) -> Operation:
    lines = []
    for field in filled.form.fields:
        item = asked.reader.first(StockItem, label=field.name.removeprefix("pieces_"))
        pieces = filled.whole(field.name, 0)
        if item is not None:
            lines.append((item.id, pieces or 0))
    return SetPiecesAside(operation_id=token, lines=tuple(lines))


def _nothing_due(asked: Asked) -> str:
    there = asked.reader.find(SetAside, purpose=BENCH)
    more = " Put back what lies in the tray item by item." if any(one.quantity for one in there) else ""
    return f"Nothing that falls due before the next shift lies on the shelf.{more}"


def _no_items(asked: Asked) -> str:
    return "" if asked.reader.first(StockItem) else "There is no stock item yet. Enter one first."


_KEPT = "It stays on the book, and is not offered to others without a word."

SET_ASIDE_FORMS = (
    EntryKind(
        "tray", "set-aside", "The bench's tray", "Fill the bench's tray", SetPiecesAside, _tray_fields, _tray,
        f"What falls due now and before the next shift. {_KEPT}", _nothing_due, again=False, without=True,
    ),
    EntryKind(
        "set-aside", "set-aside", "Set aside", "Set pieces of an item aside", SetPiecesAside, _fields, _build, _KEPT,
        _no_items, again=False,
    ),
)  # fmt: skip
