"""The storekeeper's morning in the real window: what to order, why, a notice, a count; by keys and scanner."""

from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from cribdesk.crib.records import CountSheet, Hold, Lot, OrderRule, Recall, StockItem
from cribdesk.desk import demands
from cribdesk.store.connect import open_store
from cribdesk.window.components.table import Table
from cribdesk.window.views.stock import Stock
from tests.desk.shop import house
from tests.papers import seen
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit

SIZES = ((1440, 900), (1024, 768), (960, 540))


def stock_page(desk: DeskWindow) -> Stock:
    """The place, open."""
    desk.window.open_place("stock", "")
    desk.rest()
    page = desk.window.page()
    assert isinstance(page, Stock)
    return page


def table(page: Stock) -> Table:
    """Its table."""
    return page.list.table


def item(desk: DeskWindow, name: str) -> StockItem:
    """The item as it stands."""
    return next(one for one in desk.read(lambda reader: reader.find(StockItem)) if one.label == desk.label(name))


def worked_out(desk: DeskWindow) -> None:
    """Expected use is worked out, as the background does."""
    with open_store(str(desk.store)) as store:
        for _ in demands.recompute(store, house(), desk.clock()):
            pass


def own_minimum(desk: DeskWindow, name: str, minimum: str, maximum: str = "") -> None:
    """The storekeeper sets their own."""
    desk.app.want_entry("order-rule", desk.label(name))
    desk.rest()
    desk.window.entry.set_values({"minimum": minimum, "maximum": maximum})
    desk.press("F5")


def test_an_own_minimum_goes_first_and_puts_the_item_on_top(signed_on: DeskWindow) -> None:
    """Below it the item is first, says so, and stands among what to order now; a maximum below it is told."""
    desk = signed_on
    page = stock_page(desk)
    own_minimum(desk, "WL1-BELT", "500", "400")
    assert desk.window.entry.fields["maximum"].fault() == "It is less than the minimum."
    desk.window.entry.set_values({"maximum": "600"})
    desk.press("F5")
    found = item(desk, "WL1-BELT")
    assert (found.minimum, found.maximum) == (500, 600)
    assert desk.read(lambda reader: reader.find(OrderRule)) == []
    page = stock_page(desk)
    row = table(page).rows_model.rows[0]
    assert (row.id, row.bold) == (desk.label("WL1-BELT"), True)
    assert row.cells[6:8] == ("500", "600")
    assert "1 item is below the minimum" in page.answer()
    assert "what comes is enough" not in page.answer()


def test_ticked_rows_become_a_requisition(signed_on: DeskWindow) -> None:
    """Space ticks, F5 opens the form with what was chosen; nothing ticked, nothing is opened."""
    desk = signed_on
    page = stock_page(desk)
    desk.press("F5")
    assert not desk.window.entry_open()
    table(page).setFocus()
    table(page).setCurrentIndex(table(page).rows_model.index(0, 0))
    QTest.keyClick(table(page), Qt.Key.Key_Space)
    assert page.ticked == {table(page).rows_model.rows[0].id}
    desk.shows("Chosen: 1 line")
    desk.press("F5")
    assert desk.window.entry_open()


def test_the_list_is_narrowed_by_model_and_by_what_to_order(signed_on: DeskWindow) -> None:
    """One unit model's items only; what to order now only; a wanted item takes the narrowing away."""
    desk = signed_on
    page = stock_page(desk)
    everything = len(table(page).rows_model.rows)
    page.model.setCurrentIndex(page.model.findData("model FF1"))
    page.model.activated.emit(page.model.currentIndex())
    desk.rest()
    codes = {row.id for row in table(page).rows_model.rows}
    assert 0 < len(codes) < everything
    assert desk.label("FF1-FACE") in codes
    assert desk.label("WL1-FACESEAL") not in codes
    desk.window.open_place("stock", desk.label("WL1-FACESEAL"))
    desk.rest()
    assert len(table(page).rows_model.rows) == everything
    page.only.set_value("now")
    page.only.chosen.emit("now")
    desk.rest()
    assert not table(page).rows_model.rows


def test_an_opened_item_says_why_and_shows_its_shelf(signed_on: DeskWindow) -> None:
    """What is left, the storekeeper's own figures, lots, count, delivery and movements; all words fit."""
    desk = signed_on
    worked_out(desk)
    page = stock_page(desk)
    desk.window.open_place("stock", desk.label("WL1-PREFILTER"))
    desk.rest()
    desk.shows("left", "No own minimum, no own maximum", "Lot OLD: 3 pieces, good until 31 Dec 2026")
    desk.shows("Last count", "not counted yet", "Movements", "delivery")
    for wide, high in SIZES:
        desk.window.resize(wide, high)
        desk.rest()
        assert_words_fit(desk.window)
    desk.window.resize(*SIZES[0])
    desk.rest()
    assert page.answer()


def test_a_makers_notice_is_entered_from_the_lot(signed_on: DeskWindow) -> None:
    """From the lot's own button: where it all is, then one F5 blocks and holds; the list says how far it is."""
    desk = signed_on
    desk.issue()
    desk.window.open_place("stock", desk.label("WL1-PREFILTER"))
    desk.rest()
    lot = next(one for one in desk.read(lambda reader: reader.find(Lot)) if one.code == "LTER-1"
               and one.item_id == item(desk, "WL1-PREFILTER").id)  # fmt: skip
    desk.click(f"Recall, lot {lot.code}")
    desk.shows("On the shelf: 395 pieces.", "Fitted in", "out with Łucja Wronecka", "Follow the maker's notice itself")
    desk.press("F5")
    assert desk.window.entry.fields["notice"].fault() == "This is needed."
    desk.window.entry.set_values({"notice": "FN 26-114", "why": "seam opens when damp"})
    desk.printer.papers.clear()
    desk.press("F5")
    assert len(desk.read(lambda reader: reader.find(Recall))) == 1
    assert sorted(desk.printer.names()) == ["call_in_slip", *["tag"] * 4]
    tag = next(pdf for kind, pdf in desk.printer.papers if kind == "tag")
    held = {one.tag for one in desk.read(lambda reader: reader.find(Hold, reason="recall"))}
    assert {code.text for code in seen.codes(seen.pictures(tag)[0])} & held
    desk.window.open_place("shift", "recalls")
    desk.rest()
    desk.shows("1 recall open, 5 units not cleared.", "Recall FN 26-114: lot LTER-1", "0 of 5 units cleared")
    for wide, high in SIZES:
        desk.window.resize(wide, high)
        desk.rest()
        assert_words_fit(desk.window)


@pytest.mark.parametrize("way", ["keys", "codes"])
def test_a_bin_is_counted_with_four_scans_or_keys(signed_on: DeskWindow, way: str) -> None:
    """Count, the item, the number, done: the next is asked for at once; a difference asks why in place."""
    desk = signed_on
    if way == "codes":
        desk.scan("card count", "WL1-FACESEAL")
    else:
        desk.app.choose("count", "")
        desk.rest()
        desk.scan("WL1-FACESEAL")
    desk.shows("What lies there?", "Pieces counted")
    before = desk.seq()
    desk.window.doors.filled.emit("counted", "390")
    desk.rest()
    desk.shows("The book says 395: 5 pieces fewer. Count once more, then say why.")
    desk.window.doors.filled.emit("counted", "395")
    desk.rest()
    desk.press("F5")
    desk.says("395 counted, agrees.")
    assert desk.seq() == before + 1
    desk.shows("Scan the bin, or the item.")


def test_a_counting_sheet_prints_from_the_stock(signed_on: DeskWindow) -> None:
    """One button, what is counted, F5: the sheet prints without the book's figures and waits in the list."""
    desk = signed_on
    desk.clock.later(days=40)
    stock_page(desk)
    desk.click("Counting sheet")
    desk.window.entry.set_values({"what": "all"})
    desk.printer.papers.clear()
    desk.press("F5")
    assert desk.printer.names() == ["count_sheet"]
    (sheet,) = desk.read(lambda reader: reader.find(CountSheet))
    assert abs(sheet.at - desk.clock()) < timedelta(minutes=1)
    text = " ".join(seen.texts(desk.printer.papers[0][1]))
    assert "Counting sheet 1" in text
    assert "395" not in text
    desk.window.open_place("shift", "counts")
    desk.rest()
    desk.shows("Sheet 1: 0 of")
