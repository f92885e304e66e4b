"""The records behind the papers of the shelf."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Bin, CountSheet, CountSheetLine, Lot, Person, StockItem
from cribdesk.crib.words import date_words
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import local
from cribdesk.desk.printouts_stock import CountingSheet, CountRow
from cribdesk.desk.saying import name_of


def count_sheet(reader: Reader, house: House, of: str, moment: datetime) -> CountingSheet:
    """The counting sheet of that number, in its order along the shelf; six queries."""
    sheet = reader.first(CountSheet, number=int(of)) if of.isascii() and of.isdigit() else None
    if sheet is None:
        raise LookupError(f"There is no counting sheet {of} in this store.")
    lines = reader.find(CountSheetLine, count_sheet_id=sheet.id)
    items = {one.id: one for one in reader.find(StockItem, id=sorted({one.item_id for one in lines}))}
    lots = {one.id: one for one in reader.find(Lot, id=sorted({one.lot_id for one in lines}))}
    bins = {one.id: one.code for one in reader.find(Bin, id=sorted({one.bin_id or 0 for one in items.values()}))}
    rows = tuple(
        CountRow(
            bin=bins.get(items[one.item_id].bin_id or 0, ""),
            item=items[one.item_id].name,
            label=items[one.item_id].label,
            lot=lots[one.lot_id].code,
            until=date_words(expires) if (expires := lots[one.lot_id].expires_on) else "",
        )
        for one in lines
    )
    return CountingSheet(sheet.number, local(house, sheet.at), name_of(reader.get(Person, sheet.by_id)), rows)
