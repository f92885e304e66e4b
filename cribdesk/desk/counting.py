"""Cycle counts: what is due, the counting sheet, and a count that meets one. Stock itself changes in stock.py."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import ClassVar

from cribdesk.crib.counting import counted_on, due_on
from cribdesk.crib.records import Bin, CountSheet, CountSheetLine, CycleCount, Lot, Role, StockItem
from cribdesk.crib.refusal import WrongFigure
from cribdesk.crib.words import count
from cribdesk.desk.house import House
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Reader, Records, Work
from cribdesk.desk.stock import SHELF

MOST_LINES = 400
"""Lots on one sheet, at most."""

PAPER = "count_sheet"


@dataclass(frozen=True)
class Due:
    """An item, the day it was counted last, and the day it is due again."""

    item: StockItem
    last: date
    due: date


def days_of(house: House, criticality: str) -> int:
    """Days from one count to the next, by the site's settings."""
    return int(house.settings[f"count_days_{criticality.lower()}"])


def counts_due(reader: Reader, house: House, moment: datetime) -> tuple[Due, ...]:
    """Items whose count is due today, the longest overdue first; three queries."""
    today = house.today(moment)
    return tuple(one for one in next_counts(reader, house) if one.due <= today)


def next_counts(reader: Reader, house: House) -> tuple[Due, ...]:
    """Every item on the shelf with its next count, the first due first; three queries."""
    lots: defaultdict[int, list[Lot]] = defaultdict(list)
    for lot in reader.find(Lot):
        lots[lot.item_id].append(lot)
    counts = {id_: house.today(one.at) for id_, one in reader.latest_of_each(CycleCount, "lot_id").items()}
    found = []
    for item in reader.find(StockItem, active=True):
        last = counted_on(lots[item.id], counts)
        if last is not None:
            found.append(Due(item, last, due_on(last, days_of(house, item.criticality))))
    return tuple(sorted(found, key=lambda one: (one.due, one.item.criticality, one.item.name, one.item.id)))


@dataclass(frozen=True, kw_only=True)
class MakeCountSheet(Operation):
    """A counting sheet for some items: each of their lots is a line, whose number is said later."""

    item_ids: tuple[int, ...]

    code: ClassVar[str] = "count-sheet"
    words: ClassVar[str] = "Making a counting sheet"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Numbers it, keeps what the book says now, and prints it without that."""
        lots = lots_to_count(work, self.item_ids)
        if not lots:
            raise WrongFigure("Counting sheet", "nothing of it ever came in")
        if len(lots) > MOST_LINES:
            raise WrongFigure("Counting sheet", f"{len(lots)} lots; {MOST_LINES} fit")
        last = work.latest(CountSheet)
        sheet = work.save(
            CountSheet(number=last.number + 1 if last else 1, at=context.moment, by_id=context.clerk.id)
        )
        for lot in lots:
            work.save(CountSheetLine(count_sheet_id=sheet.id, item_id=lot.item_id, lot_id=lot.id, booked=lot.on_hand))
        words = f"Counting sheet {sheet.number}: {count(len(lots), 'lot')} to count."
        return Outcome(words, (), ((PAPER, str(sheet.number)),))


@dataclass(frozen=True, kw_only=True)
class DropCountSheet(Operation):
    """A counting sheet is closed although lines of it were not counted."""

    count_sheet_id: int
    why: str

    code: ClassVar[str] = "drop-count-sheet"
    words: ClassVar[str] = "Closing a counting sheet"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Closes it with the reason; what was counted stays counted."""
        sheet = fetch(work, CountSheet, self.count_sheet_id, "This counting sheet")
        work.take(sheet)
        if sheet.closed_at is not None:
            raise WrongFigure(f"Counting sheet {sheet.number}", "it is closed already")
        if not self.why.strip():
            raise WrongFigure(f"Counting sheet {sheet.number}", "say why it is not counted to its end")
        work.save(replace(sheet, closed_at=context.moment))
        left = sum(1 for line in work.find(CountSheetLine, count_sheet_id=sheet.id) if line.counted is None)
        words = f"Counting sheet {sheet.number} closed, {count(left, 'lot')} not counted: {self.why.strip()}."
        return Outcome(words, ())


def lots_to_count(records: Records, item_ids: Sequence[int]) -> list[Lot]:
    """What lies there by the book; of an item that is used up by the book its newest lot, for something may be left.

    By bin, then by item, as one walks along the shelf.
    """
    items = {one.id: one for one in records.find(StockItem, id=sorted(item_ids))}
    bins = {one.id: one.code for one in records.find(Bin)}
    by_item: defaultdict[int, list[Lot]] = defaultdict(list)
    for lot in records.find(Lot, item_id=sorted(items)):
        by_item[lot.item_id].append(lot)
    found = [lot for lots in by_item.values() for lot in [one for one in lots if one.on_hand] or lots[-1:]]
    return sorted(
        found,
        key=lambda lot: (bins.get(items[lot.item_id].bin_id or 0, "~"), items[lot.item_id].name, lot.item_id, lot.id),
    )
