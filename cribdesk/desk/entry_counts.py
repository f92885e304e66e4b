"""Forms for counting: a sheet for some items, and the end of one that is not counted to its end."""

from __future__ import annotations

from cribdesk.crib.counting import CLASSES
from cribdesk.crib.records import Bin, CountSheet, Lot, StockItem
from cribdesk.crib.words import count
from cribdesk.desk.counting import DropCountSheet, MakeCountSheet, counts_due
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation

DUE, ALL, BIN = "due", "all", "bin"


def _sheet_fields(asked: Asked) -> Fields:
    due = counts_due(asked.reader, asked.house, asked.moment)
    bins = sorted(asked.reader.find(Bin), key=lambda one: one.code)
    classes = tuple((one, f"All of {one}") for one in CLASSES)
    some = ((DUE, f"What is due: {count(len(due), 'item')}"),) if due else ()
    one_bin = ((BIN, "One bin"),) if bins else ()
    here = next((one.label for one in bins if one.label == asked.label), "")
    first = BIN if here else DUE if due else ALL
    choices = (*some, *classes, *one_bin, (ALL, "Everything"))
    return (
        EntryField("what", "What is counted", "choice", True, choices=choices, value=first),
        EntryField(
            "bin", "Bin", "choice", True, "Choose it, or scan its label.",
            tuple((one.label, one.code) for one in bins), here, ("what", BIN),
        ),
    )  # fmt: skip


def _sheet(filled: Filled, asked: Asked, token: str) -> Operation:
    what = filled.pick("what")
    if what == DUE:
        ids = [one.item.id for one in counts_due(asked.reader, asked.house, asked.moment)]
    else:
        items = asked.reader.find(StockItem, active=True)
        place = asked.reader.first(Bin, label=filled.pick("bin")) if what == BIN else None
        ids = [
            one.id for one in items
            if what == ALL or (what == BIN and place and one.bin_id == place.id) or one.criticality == what
        ]  # fmt: skip
    return MakeCountSheet(operation_id=token, item_ids=tuple(ids))


def _no_lots(asked: Asked) -> str:
    return "" if asked.reader.first(Lot) else "Nothing ever came in. Receive a lot first."


def _drop_fields(asked: Asked) -> Fields:
    sheets = asked.reader.find(CountSheet, closed_at=None)
    choices = tuple((str(one.number), f"Sheet {one.number}") for one in sheets)
    value = asked.about if asked.about in dict(choices) else choices[0][0] if len(choices) == 1 else ""
    return (
        EntryField(ABOUT, "Counting sheet", "choice", True, choices=choices, value=value),
        EntryField("why", "Why it is not counted to its end", needed=True),
    )


def _drop(filled: Filled, asked: Asked, token: str) -> Operation:
    chosen = filled.pick(ABOUT)
    sheet = asked.reader.first(CountSheet, number=int(chosen)) if chosen else None
    return DropCountSheet(operation_id=token, count_sheet_id=sheet.id if sheet else 0, why=filled.text("why"))


def _none_open(asked: Asked) -> str:
    return "" if asked.reader.first(CountSheet, closed_at=None) else "No counting sheet is open."


COUNT_FORMS = (
    EntryKind(
        "count-sheet", "count", "Counting sheet", "Make a counting sheet", MakeCountSheet, _sheet_fields, _sheet,
        "It prints without what the book says, so that it is counted and not copied.", _no_lots, again=False,
    ),
    EntryKind(
        "drop-count-sheet", "drop-count-sheet", "Close a sheet", "Close a counting sheet", DropCountSheet,
        _drop_fields, _drop, "What was counted stays counted.", _none_open, again=False,
    ),
)  # fmt: skip
