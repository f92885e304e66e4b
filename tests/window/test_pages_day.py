"""Pages, papers and settings on a real store: histories, copies, previews, a missing printer, an empty store."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit

from cribdesk.crib.records import Person
from cribdesk.store.connect import open_store
from cribdesk.window.components.table import Table
from cribdesk.window.look import current
from tests.desk.shop import BUILT, Shop, Tokens
from tests.window.conftest import Stand
from tests.window.desk_window import DeskWindow, said
from tests.window.helpers import assert_words_fit


def text_of(pdf: bytes, folder: Path) -> str:
    """The words of a paper."""
    file = folder / "paper.pdf"
    file.write_bytes(pdf)
    return " ".join(page.extract_text() for page in PdfReader(file).pages)


def open_row(desk: DeskWindow, row: int = 0) -> None:
    """Open a row of the list that is shown."""
    table = next(one for one in desk.window.page().findChildren(Table) if one.isVisible())
    table.opened.emit(table.rows_model.rows[row].id)
    desk.rest()


def test_unit_page_grows_as_one_scrolls(
    standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]
) -> None:
    """The first page of a long history, then the next where it ends, down to the day it was entered."""
    with open_store(str(shop_file)) as store:
        shop = Shop(store, BUILT + timedelta(minutes=20), dict(shop_built[1]), tokens=Tokens(9))
        shop.clerk_id = shop.record(Person, "Office").id
        for _ in range(24):
            shop.inspect("wl-3")
    desk = standing(shop_file, shop_built[1])
    desk.window.open_place("unit", desk.label("wl-3"))
    desk.rest()
    desk.shows("History", "26 entries", "Bench inspection of")
    desk.lacks("entered")
    desk.click("Earlier")
    desk.shows("entered")
    assert desk.shown().count(f"Bench inspection of {desk.label('wl-3')} passed") >= 25
    assert not [one for one in desk.buttons() if said(one) == "Earlier"]


def test_person_page(signed_on: DeskWindow) -> None:
    """What they hold, what is overdue, clearances with dates, history."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=12)
    desk.window.open_place("person", desk.label("Wronecka"))
    desk.rest()
    desk.shows("Łucja Wronecka", desk.label("wl-1"), "overdue", "Medical", "Training", "3 Feb 2027")
    desk.shows("Fit, full-facepiece PAPR size M")
    desk.press("F5")  # a badge left at home: the person goes on the counter by name
    assert desk.window.place()[0] == "counter"
    desk.shows("Scan the unit.", "Łucja Wronecka")
    desk.window.open_place("people")
    desk.rest()
    desk.shows("Łucja Wronecka", "Imre Dobrosi", "something overdue or lapsed")


def plate(label: str) -> str:
    """A label as its plate is painted: the check character apart."""
    return f"{label[:-1]} {label[-1]}"


def test_lists_filter_and_search(signed_on: DeskWindow) -> None:
    """A filter and a text narrow the list of units; what fits nothing says so."""
    desk = signed_on
    desk.issue()
    desk.window.open_place("units", "out")
    desk.rest()
    desk.shows("1 unit", "Ready, out with Łucja Wronecka", plate(desk.label("wl-1")))
    desk.lacks(plate(desk.label("wl-2")))
    desk.window.open_place("units")
    desk.rest()
    search = next(one for one in desk.window.page().findChildren(QLineEdit) if one.isVisible())
    search.setFocus(Qt.FocusReason.TabFocusReason)
    desk.type("ff-1")
    desk.pause(200)
    desk.shows("1 unit", plate(desk.label("ff-1")))
    desk.type("zzz")
    desk.pause(200)
    desk.shows("Nothing fits")


def test_printed_again_is_a_copy(signed_on: DeskWindow, tmp_path: Path) -> None:
    """From the journal the slip prints again, marked as copy 2; the journal keeps each print."""
    desk = signed_on
    desk.issue()
    desk.window.open_place("journal")
    desk.rest()
    row = next(one for one, entry in enumerate(desk.entries(5)) if entry.operation == "issue")
    open_row(desk, row)
    slip = desk.label("slip")
    desk.shows(f"Issue slip {slip}", "Print again", "See")
    desk.click(f"Print Issue slip {slip} again")
    assert desk.printer.names() == ["issue_slip", "issue_slip"]
    first, second = (text_of(pdf, tmp_path).lower() for _, pdf in desk.printer.papers)
    assert "copy" in second
    assert "copy" not in first.replace("wearer's copy", "")
    assert desk.entries(1)[0].operation == "print"


def test_preview_shows_and_prints(signed_on: DeskWindow) -> None:
    """A paper is seen before it is printed; F5 prints it, F9 goes back; a sheet of labels asks first what for."""
    desk = signed_on
    desk.window.open_place("settings")
    desk.rest()
    desk.click("See answer card")
    desk.shows("Answer card", "page 1 of", "Print", "Save", "Close")
    desk.press("F5")
    assert desk.printer.names() == ["answer_card"]
    desk.press("F9")
    desk.shows("This workstation")
    desk.click("See label sheet")
    desk.says("Choose first what the labels are for.")


def test_a_missing_printer_costs_no_record(signed_on: DeskWindow) -> None:
    """The issue stands, the strip says that the slip waits, and it prints when the printer is back."""
    desk = signed_on
    desk.printer.trouble = "No printer is set up on this machine."
    desk.issue()
    desk.says("is not printed", "It is kept; print it again from the journal.")
    assert [one.operation for one in desk.entries(2)] == ["print", "issue"]
    desk.printer.trouble = ""
    desk.shows("Print again")
    desk.click(f"Print Issue slip {desk.label('slip')} again")
    assert desk.printer.names() == ["issue_slip"]


def test_text_size_and_shade_are_kept(signed_on: DeskWindow) -> None:
    """150 % and dark hold at once, are kept for the next start, and the page says what is set."""
    desk = signed_on
    desk.window.open_place("settings")
    desk.rest()
    desk.click("150 %")
    assert current().u == 1.5
    desk.click("dark")
    assert current().dark
    kept = desk.session.station.file.read_text("utf-8")
    assert '"scale": "1.5"' in kept
    assert '"shade": "dark"' in kept
    assert desk.button("150 %").isChecked()
    assert desk.button("dark").isChecked()
    desk.click("light")
    desk.click("100 %")
    assert (current().u, current().dark) == (1.0, False)


def test_a_site_setting_is_journalled(signed_on: DeskWindow) -> None:
    """The administrator changes the paper size and an hour's figure; what cannot be is told under its field."""
    desk = signed_on
    desk.scan("card sign-on", "Okafor")
    desk.window.open_place("settings")
    desk.rest()
    hours = desk.window.page().fields["hours_a_day"]
    hours.editor.setFocus(Qt.FocusReason.TabFocusReason)
    hours.editor.selectAll()
    desk.type("25")
    desk.shows("no whole number from 1 to 24")
    field = desk.window.page().fields["page"]
    field.editor.setFocus(Qt.FocusReason.TabFocusReason)
    desk.key(Qt.Key.Key_Down)
    desk.click("Save Paper in the printer")
    assert desk.entries(1)[0].operation == "set-setting"
    assert desk.app.house.settings["page"] == "letter"


def test_an_empty_store_says_what_to_do_first(standing: Stand, tmp_path: Path) -> None:
    """A store made just now: every place tells what to do, and the first person can be entered."""
    desk = standing(tmp_path / "new.sqlite", create=True)
    desk.says("This store is empty. Who looks after it?")
    for place in ("counter", "units", "bench", "batteries", "stock", "people", "areas", "journal", "settings"):
        desk.window.open_place(place)
        desk.rest()
        assert_words_fit(desk.window)
        assert desk.shown().strip()


PLACES = (
    ("unit", "wl-1"), ("person", "Wronecka"), ("units", ""), ("bench", ""), ("batteries", ""), ("stock", ""),
    ("people", ""), ("areas", ""), ("area", "bay-3"), ("limits", ""), ("journal", ""), ("settings", ""),
)  # fmt: skip


SIZES = ((1440, 900, "1"), (1024, 768, "1"), (960, 540, "1"), (2160, 1350, "1.5"), (1920, 1080, "2"))
EACH = [one if one[1:] in ((768, "1"), (1080, "2")) else pytest.param(*one, marks=pytest.mark.long) for one in SIZES]
"""The other sizes are in the long run; the places themselves are tried at all of them on invented cards."""


@pytest.mark.parametrize(("width", "height", "scale"), EACH)
def test_nothing_is_cut_on_the_real_store(signed_on: DeskWindow, width: int, height: int, scale: str) -> None:
    """In each place and state, at each size and text scale, every word fits its box."""
    desk = signed_on
    desk.window.resize(width, height)
    desk.app._station_set("scale", scale)
    desk.rest()
    try:
        assert_words_fit(desk.window)
        desk.scan("Dobrosi", "wl-2")
        assert_words_fit(desk.window)
        desk.press("F9")
        desk.clock.later(hours=24)
        desk.put_down()
        assert_words_fit(desk.window)
        desk.press("F5")
        assert_words_fit(desk.window)
        desk.answer_well("reading")
        assert_words_fit(desk.window)
        desk.answer_well("timed")
        assert_words_fit(desk.window)
        desk.press("F12", "F9")
        desk.scan("wl-3")
        desk.press("F8")
        assert_words_fit(desk.window)
        for place, argument in PLACES:
            desk.window.open_place(place, desk.label(argument))
            desk.rest()
            assert_words_fit(desk.window)
    finally:
        desk.app._station_set("scale", "1")
