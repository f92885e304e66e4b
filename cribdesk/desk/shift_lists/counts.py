"""What is to be counted: sheets that are not counted to their end, then items whose count is due."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from cribdesk.crib.records import Bin, CountSheet, CountSheetLine
from cribdesk.crib.words import count, day
from cribdesk.desk.counting import PAPER, Due, counts_due
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import moment_words
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows

LISTED = 60
"""So many items are listed; a counting sheet takes them all."""


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    """In six queries."""
    sheets = reader.find(CountSheet, closed_at=None)
    lines = reader.find(CountSheetLine, count_sheet_id=[one.id for one in sheets]) if sheets else []
    all_ = Counter(one.count_sheet_id for one in lines)
    done = Counter(one.count_sheet_id for one in lines if one.counted is not None)
    due = counts_due(reader, house, moment)
    bins = {one.id: one.code for one in reader.find(Bin)}
    rows = [_sheet(one, all_[one.id], done[one.id], house, moment) for one in sheets]
    rows += [_item(one, bins.get(one.item.bin_id or 0, ""), house, moment) for one in due[:LISTED]]
    sheet = (ShiftAction("Counting sheet", "form", "count-sheet"),) if due else ()
    more = f" The first {LISTED} are listed; a counting sheet takes them all." if len(due) > LISTED else ""
    return ShiftRows(
        f"{count(len(due), 'item')} to count.{more}" if due else "No count is due.", tuple(rows),
        "No count is due.", (ShiftAction("Count by scanning", "command", "count"), *sheet),
        "A monthly, B quarterly, C yearly, from the last count or the delivery on (a house rule, in the settings).",
    )  # fmt: skip


def _sheet(one: CountSheet, all_: int, done: int, house: House, moment: datetime) -> ShiftRow:
    what = f"Sheet {one.number}: {done} of {count(all_, 'lot')} counted"
    return ShiftRow(
        f"sheet {one.id}", "due", what, f"Made {moment_words(one.at, house, moment)}", "",
        (ShiftAction("Print again", "paper", PAPER, str(one.number)),
         ShiftAction("Close it", "form", "drop-count-sheet", str(one.number))), True,
    )  # fmt: skip


def _item(one: Due, bin_code: str, house: House, moment: datetime) -> ShiftRow:
    today = house.today(moment)
    place = f", bin {bin_code}" if bin_code else ""
    detail = f"{one.item.criticality}{place}, counted or delivered {day(one.last, today)}, due {day(one.due, today)}"
    act = (ShiftAction("Count", "form", "count", one.item.label),)
    return ShiftRow(f"item {one.item.id}", "due", one.item.name, detail, one.item.label, act)


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return len(counts_due(reader, house, moment))


LIST = ShiftList("counts", "Counts", 77, _read, _count)
