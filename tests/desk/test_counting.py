"""Cycle counts: due by criticality, sheets and what meets them, every change with who and why."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cribdesk.crib.counting import DAYS, counted_on, due_on
from cribdesk.crib.records import Bin, CountSheet, CountSheetLine, CycleCount, Lot, Movement, StockItem, Unit
from cribdesk.crib.refusal import NotOnTheShelf, NotQualified, WrongFigure
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.counting import DropCountSheet, MakeCountSheet, counts_due, lots_to_count
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts_stock import CountingSheet
from cribdesk.desk.settings import BY_NAME
from cribdesk.desk.shift_lists import shift_page
from cribdesk.desk.stock import AddBin, AddItem, CountLot, ReceiveLot
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house


def records(shop: Shop, kind: type, **equal: object) -> list:  # type: ignore[type-arg]
    """Records as they stand."""
    with shop.store.reading() as reader:
        return reader.find(kind, **equal)


def item_of(shop: Shop, criticality: str) -> StockItem:
    """An item of that class with one lot of ten pieces, delivered now."""
    code = f"ITEM-{criticality}"
    shop.do(AddItem, item_code=code, item_name=f"Item {criticality}", criticality=criticality)
    (item,) = records(shop, StockItem, code=code)
    shop.do(ReceiveLot, item_id=item.id, lot_code="L1", quantity=10)
    return item


def due_ids(shop: Shop) -> set[int]:
    """Items whose count is due."""
    with shop.store.reading() as reader:
        return {one.item.id for one in counts_due(reader, house(), shop.moment)}


@pytest.mark.parametrize("criticality", ["A", "B", "C"])
def test_a_count_is_due_by_how_badly_the_item_is_missed(own_shop: Shop, criticality: str) -> None:
    """From the delivery on, then from the last count on: a month, a quarter, a year (a house rule)."""
    item = item_of(own_shop, criticality)
    days = DAYS[criticality]
    own_shop.moment += timedelta(days=days - 1)
    assert item.id not in due_ids(own_shop)
    own_shop.moment += timedelta(days=1)
    assert item.id in due_ids(own_shop)
    (lot,) = records(own_shop, Lot, item_id=item.id)
    own_shop.do(CountLot, lot_id=lot.id, counted=10)
    assert item.id not in due_ids(own_shop)
    own_shop.moment += timedelta(days=days)
    assert item.id in due_ids(own_shop)


def test_the_settings_say_the_same_as_the_rule() -> None:
    """The defaults of the three settings are the house rule's days."""
    assert {key: int(BY_NAME[f"count_days_{key.lower()}"].default) for key in DAYS} == DAYS


def test_what_was_counted_longest_ago_makes_an_item_due() -> None:
    """One lot counted today does not count the other; a used-up lot tells nothing."""
    old = Lot(id=1, item_id=1, code="L1", on_hand=3, received_on=date(2026, 1, 2))
    new = Lot(id=2, item_id=1, code="L2", on_hand=3, received_on=date(2026, 3, 1))
    gone = Lot(id=3, item_id=1, code="L0", on_hand=0, received_on=date(2025, 1, 1))
    assert counted_on([old, new, gone], {2: date(2026, 5, 1)}) == date(2026, 1, 2)
    assert counted_on([old, new, gone], {1: date(2026, 6, 1)}) == date(2026, 3, 1)
    assert counted_on([gone], {}) is None
    assert due_on(date(2026, 1, 2), 30) == date(2026, 2, 1)


def test_a_sheet_is_met_by_counts_and_closes_with_the_last(own_shop: Shop) -> None:
    """It prints without the book's figures; each count is on it with its reason; the last one closes it."""
    first, second = item_of(own_shop, "A"), item_of(own_shop, "B")
    receipt = own_shop.do(MakeCountSheet, item_ids=(first.id, second.id))
    (sheet,) = records(own_shop, CountSheet)
    assert receipt.papers == (("count_sheet", str(sheet.number)),)
    with own_shop.store.reading() as reader:
        made = record_for(reader, house(), "count_sheet", str(sheet.number), own_shop.moment, 1)
    assert isinstance(made, CountingSheet)
    assert [(row.item, row.lot) for row in made.rows] == [("Item A", "L1"), ("Item B", "L1")]
    lots = {lot.item_id: lot for lot in records(own_shop, Lot) if lot.item_id in (first.id, second.id)}
    own_shop.do(CountLot, lot_id=lots[first.id].id, counted=8, why="broken or thrown away")
    line = records(own_shop, CountSheetLine, item_id=first.id)[0]
    assert (line.booked, line.counted, line.why) == (10, 8, "broken or thrown away")
    assert records(own_shop, CountSheet)[0].closed_at is None
    with own_shop.store.reading() as reader:
        rows = shift_page(reader, house(), "counts", own_shop.moment).rows.rows
    assert rows[0].what == "Sheet 1: 1 of 2 lots counted"
    own_shop.do(CountLot, lot_id=lots[second.id].id, counted=10)
    assert records(own_shop, CountSheet)[0].closed_at == own_shop.moment
    movement = records(own_shop, Movement, item_id=first.id)[-1]
    assert (movement.quantity, movement.why) == (-2, "count: broken or thrown away")
    by = records(own_shop, CycleCount, lot_id=lots[first.id].id)[0].by_id
    assert by == own_shop.clerk_id


def test_what_is_used_up_by_the_book_is_counted_too(own_shop: Shop) -> None:
    """Its newest lot stands on the sheet, as something may be left; with pieces there only lots that have some do."""
    item = item_of(own_shop, "A")
    for code in ("FIRST", "SECOND"):
        own_shop.do(ReceiveLot, item_id=item.id, lot_code=code, quantity=3)
    for lot in records(own_shop, Lot, item_id=item.id):
        if lot.on_hand:
            own_shop.do(CountLot, lot_id=lot.id, counted=0, why="not explained")

    def listed() -> list[str]:
        with own_shop.store.reading() as reader:
            return [one.code for one in lots_to_count(reader, [item.id])]

    assert listed() == ["SECOND"]
    first = next(one for one in records(own_shop, Lot, item_id=item.id) if one.code == "FIRST")
    own_shop.do(CountLot, lot_id=first.id, counted=2, why="lay in another bin")
    assert listed() == ["FIRST"]


def test_a_sheet_left_unfinished_is_closed_with_its_reason(own_shop: Shop) -> None:
    """Without a reason it stays open; closed, later counts leave it alone."""
    item = item_of(own_shop, "A")
    own_shop.do(MakeCountSheet, item_ids=(item.id,))
    (sheet,) = records(own_shop, CountSheet)
    with refused(own_shop, WrongFigure, "say why"):
        own_shop.do(DropCountSheet, count_sheet_id=sheet.id, why=" ")
    assert "1 lot not counted" in own_shop.do(DropCountSheet, count_sheet_id=sheet.id, why="printed twice").sentence
    with refused(own_shop, WrongFigure, "closed already"):
        own_shop.do(DropCountSheet, count_sheet_id=sheet.id, why="again")
    (lot,) = records(own_shop, Lot, item_id=item.id)
    own_shop.do(CountLot, lot_id=lot.id, counted=10)
    assert records(own_shop, CountSheetLine)[0].counted is None


def test_a_sheet_of_nothing_or_by_the_wrong_clerk_is_refused(own_shop: Shop) -> None:
    """What never came in cannot be counted; a sheet is the storekeeper's."""
    own_shop.do(AddItem, item_code="NONE", item_name="Never came")
    (item,) = records(own_shop, StockItem, code="NONE")
    with refused(own_shop, WrongFigure, "nothing of it ever came in"):
        own_shop.do(MakeCountSheet, item_ids=(item.id,))
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(MakeCountSheet, item_ids=(item.id,))


def test_stock_never_falls_below_zero(own_shop: Shop) -> None:
    """The program says what the book has and what to do; nothing is fitted."""
    item = own_shop.record(StockItem, "WL1-HEFILTER")
    lot = own_shop.lot(item)
    own_shop.do(CountLot, lot_id=lot.id, counted=0, why="not explained")
    unit = own_shop.record(Unit, "wl-1")
    fields = {"unit_id": unit.id, "position": "particulate-filter", "item_id": item.id, "lot_id": lot.id}
    with refused(own_shop, NotOnTheShelf, "0 on the shelf. Take another lot, or count the bin."):
        own_shop.do(ChangePart, **fields)
    with refused(own_shop, WrongFigure, "not below zero"):
        own_shop.do(CountLot, lot_id=lot.id, counted=-1, why="typed wrong")


def test_the_form_makes_a_sheet_of_what_is_due_of_a_class_or_of_a_bin(own_shop: Shop) -> None:
    """Each choice names its items; a bin is scanned."""
    first = item_of(own_shop, "A")
    own_shop.do(AddBin, bin_code="A1-02")
    (place,) = records(own_shop, Bin)
    own_shop.do(AddItem, item_code="B-IN", item_name="In a bin", bin_id=place.id, criticality="C")
    (inside,) = records(own_shop, StockItem, code="B-IN")
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment, place.label)
        assert next(one.value for one in form_of(asked, "count-sheet").fields if one.name == "what") == "bin"
        made = operation_of(asked, "count-sheet", {"what": "bin", "bin": place.label}, "t")
        assert made == MakeCountSheet(operation_id="t", item_ids=(inside.id,))
        made = operation_of(asked, "count-sheet", {"what": "A"}, "t")
        assert made == MakeCountSheet(operation_id="t", item_ids=(first.id,))
        with pytest.raises(FormTroubles):
            operation_of(asked, "count-sheet", {"what": "bin"}, "t")
        later = Asked(reader, house(), own_shop.moment + timedelta(days=40))
        made = operation_of(later, "count-sheet", {"what": "due"}, "t")
        assert first.id in made.item_ids  # type: ignore[attr-defined]
