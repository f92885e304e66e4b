"""A requisition and its delivery in the real window, by keys and scanner; paper and table are read back."""

from __future__ import annotations

import csv
from pathlib import Path

from cribdesk.crib.records import Lot, Requisition, RequisitionLine, StockItem, Supplier
from cribdesk.desk.entry_orders import chosen_words
from cribdesk.desk.printouts_orders import COLUMNS
from tests.papers import seen
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit
from tests.window.test_shift_day import fits, paper

CODE = "]C10109501101530003" + "17271130" + "10K2608"


def entered(desk: DeskWindow, form: str, **values: str) -> None:
    """A form filled in and entered."""
    desk.window.doors.entry_wanted.emit(form, "")
    desk.rest()
    desk.window.entry.set_values(values)
    desk.press("F5")
    assert "entered" in desk.shown(), desk.shown()


def bought(desk: DeskWindow, *codes: str) -> None:
    """A supplier, and items that come from it."""
    entered(desk, "supplier", supplier="Keramion")
    supplier = desk.read(lambda reader: reader.first(Supplier, name="Keramion"))
    assert supplier is not None
    for code in codes:
        entered(
            desk, "item", item_code="other", other_code=code, item_name=code.capitalize(), pack_size="6", price="3.10",
            supplier=str(supplier.id), maker="Feldner", maker_number=f"FX-{code}",
        )  # fmt: skip
        item = desk.read(lambda reader, code=code: reader.first(StockItem, code=code))
        desk.names[code] = item.label


def one(desk: DeskWindow, kind: type) -> object:
    """The record made last."""
    return desk.read(lambda reader: reader.latest(kind))


def test_a_requisition_goes_out_and_comes_in(signed_on: DeskWindow, tmp_path: Path) -> None:
    """Ticked items, F5; handed over from the list, it prints; looked at, it saves as a table; the carton comes in."""
    desk = signed_on
    bought(desk, "GLOVE", "WIPE")
    about = chosen_words(((desk.label("GLOVE"), 12), (desk.label("WIPE"), 6)))
    desk.window.doors.entry_wanted.emit("requisition", about)
    desk.rest()
    desk.shows("Write a requisition", "Packs of 6.")
    fits(desk)
    desk.press("F5")
    desk.shows("Requisition 1 to Keramion: 2 lines, a draft.")
    desk.press("F9")
    desk.window.open_place("stock", desk.label("GLOVE"))
    desk.rest()
    desk.shows("12 pieces on a draft: nothing comes before that is handed over.")
    desk.app.want_entry("order-rule", desk.label("GLOVE"))
    desk.rest()
    desk.window.entry.set_values({"minimum": "8"})
    desk.press("F5")
    desk.window.open_place("stock")
    desk.rest()
    desk.says("1 item on a draft to be handed over")
    fits(desk)
    assert_words_fit(desk.window)
    desk.window.open_place("shift", "requisitions")
    desk.rest()
    desk.shows("Requisition 1 to Keramion", "1 requisition open, 1 draft.")
    fits(desk)
    desk.click("Hand over")
    assert desk.window.entry.values()["to"] == "sent"
    desk.press("F5")
    assert desk.printer.names() == ["requisition"]
    text = " ".join(seen.texts(paper(desk, "requisition")))
    for words in ("Requisition 1", "To Keramion", "Feldner FX-GLOVE", "2 × 6", "37.20", "55.80", "signature, day"):
        assert words in text
    desk.window.open_place("shift", "requisitions")
    desk.rest()
    desk.click("Its paper")
    preview = desk.window.paper()
    assert preview is not None
    preview.save(str(tmp_path / "one.csv"))
    preview.save(str(tmp_path / "one.pdf"))
    rows = list(csv.reader((tmp_path / "one.csv").read_text("utf-8-sig").splitlines()))
    assert rows[0] == list(COLUMNS)
    assert [row[COLUMNS.index("pieces")] for row in rows[1:]] == ["12", "6"]
    assert (tmp_path / "one.pdf").read_bytes().startswith(b"%PDF")
    desk.press("F9")
    desk.scan(CODE)
    assert desk.window.place()[0] == "counter"
    desk.shows("A delivery comes in", "Number 09501101530003 is unknown here.")
    desk.scan("GLOVE")
    desk.shows("Requisition 1 to Keramion: 12 of 12 expected", "K2608", "2027-11-30")
    fits(desk)
    desk.press("F5")
    desk.says("6 pieces of Glove came in, lot K2608, for requisition 1.")
    line, lot = desk.read(lambda reader: reader.find(RequisitionLine))[0], one(desk, Lot)
    assert (line.arrived, lot.on_hand) == (6, 6)  # type: ignore[attr-defined]
    assert one(desk, Requisition).state == "part delivered"  # type: ignore[attr-defined]
    for form, about in (
        ("change-requisition", "1"), ("step-requisition", "1"), ("price", desk.label("GLOVE")),
        ("supplier-return", desk.label("GLOVE")),
    ):  # fmt: skip
        desk.window.doors.entry_wanted.emit(form, about)
        desk.rest()
        fits(desk)
        assert_words_fit(desk.window)
