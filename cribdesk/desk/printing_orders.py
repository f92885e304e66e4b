"""The record behind a requisition's paper, out of the store."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import (
    Lot,
    Person,
    Requisition,
    RequisitionLine,
    RequisitionStep,
    StockItem,
    Supplier,
    SupplierReturn,
)
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import by_id
from cribdesk.desk.printouts_orders import RequisitionRow, RequisitionSheet, SentBackRow
from cribdesk.desk.requisition_steps import lines_of
from cribdesk.desk.saying import name_of


def requisition_sheet(reader: Reader, house: House, of: str, moment: datetime) -> RequisitionSheet:
    """The requisition of that number; eight queries."""
    made = reader.first(Requisition, number=int(of)) if of.isascii() and of.isdigit() and len(of) < 10 else None
    if made is None:
        raise LookupError(f"There is no requisition {of} in this store.")
    lines = lines_of(reader, made.id)
    items = by_id(reader, StockItem, *(one.item_id for one in lines))
    steps = reader.find(RequisitionStep, requisition_id=made.id)
    wrote = by_id(reader, Person, steps[0].by_id).get(steps[0].by_id) if steps else None
    return RequisitionSheet(
        number=made.number,
        supplier=reader.get(Supplier, made.supplier_id).name,
        state=made.state,
        since=house.today(steps[-1].at) if steps else made.made_on,
        made_on=made.made_on,
        by=name_of(wrote) if wrote else "",
        rows=tuple(_row(one, items[one.item_id]) for one in lines),
        note=made.note,
        step_note=steps[-1].note if steps else "",
        sent_back=_sent_back(reader, house, lines),
    )


def _row(line: RequisitionLine, item: StockItem) -> RequisitionRow:
    return RequisitionRow(
        code=item.code,
        item=item.name,
        maker=item.maker,
        maker_number=item.maker_number,
        pack_size=item.pack_size,
        pieces=line.quantity,
        price_cents=line.price_cents,
        promised_on=line.promised_on,
        arrived=line.arrived,
    )


def _sent_back(reader: Reader, house: House, lines: list[RequisitionLine]) -> tuple[SentBackRow, ...]:
    gone = reader.find(SupplierReturn, requisition_line_id=[one.id for one in lines])
    lots = by_id(reader, Lot, *(one.lot_id for one in gone))
    items = by_id(reader, StockItem, *(one.item_id for one in gone))
    return tuple(
        SentBackRow(house.today(one.at), items[one.item_id].name, lots[one.lot_id].code, one.quantity, one.why)
        for one in gone
    )
