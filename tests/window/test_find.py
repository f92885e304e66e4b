"""Search as one types: from any place, by keys and by touch; a person found by name is confirmed first."""

from __future__ import annotations

import time

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from cribdesk.crib.records import HandOut
from cribdesk.desk.find import MOST, Found, FoundRow
from cribdesk.window.find import FindRow
from tests.window.desk_window import DeskWindow


def find(desk: DeskWindow, text: str) -> tuple[FoundRow, ...]:
    """F3, the text at a person's pace, and what is listed then."""
    desk.key(Qt.Key.Key_F3)
    desk.type(text)
    desk.pause(120)
    return desk.window.typed.found.rows()  # type: ignore[no-any-return]


def test_a_person_without_a_badge(signed_on: DeskWindow) -> None:
    """Half a name without its marks, Return, a question, F5: the person lies there, and a hand-out records it."""
    desk = signed_on
    rows = find(desk, "lucja wro")
    assert [row.label for row in rows] == [desk.label("Wronecka")]
    desk.shows("Łucja Wronecka", "welder, holds nothing" if "holds nothing" in rows[0].detail else "welder")
    desk.key(Qt.Key.Key_Return)
    desk.shows("Is this Łucja Wronecka?", "Ask for name and crew", "Yes, it is")
    assert desk.app.slate.person is None
    desk.press("F5")
    assert desk.app.slate.person is not None
    desk.shows("Found by name")
    desk.scan("WL1-COVER-OUT", "card done")
    (handed,) = desk.read(lambda reader: reader.find(HandOut))
    assert handed.found_by_name
    desk.says("found by name")


def test_it_is_somebody_else(signed_on: DeskWindow) -> None:
    """F9 puts the question away; nobody lies on the counter and nothing was written."""
    desk = signed_on
    before = desk.seq()
    find(desk, "nkemba")
    desk.key(Qt.Key.Key_Return)
    desk.shows("Is this Abel Nkemba?")
    desk.press("F9")
    assert desk.app.slate.empty
    assert desk.seq() == before


def test_an_ended_badge_is_told(signed_on: DeskWindow) -> None:
    """The list and the question say that the badge has ended; a hand-out is refused as with the badge."""
    desk = signed_on
    (row,) = find(desk, "marek")
    assert "badge ended" in row.detail
    desk.key(Qt.Key.Key_Return)
    desk.shows("This badge has ended.")
    desk.press("F5")
    desk.scan("WL1-COVER-OUT")
    desk.says("has ended", "Nothing changed.")


def test_units_by_serial_with_the_arrows(signed_on: DeskWindow) -> None:
    """Part of a serial finds the units; the arrow goes down one, Return lays that one on the counter."""
    desk = signed_on
    rows = find(desk, "wl-")
    assert [row.kind for row in rows[:5]] == ["U"] * 5
    desk.key(Qt.Key.Key_Down)
    desk.key(Qt.Key.Key_Return)
    assert desk.app.slate.unit is not None
    assert desk.app.slate.unit.label == rows[1].label


def test_by_touch_from_another_place(signed_on: DeskWindow) -> None:
    """A touch on the strip opens it anywhere; a touch on a result lays the pack down and shows the counter."""
    desk = signed_on
    desk.window.open_place("areas")
    desk.rest()
    desk.click_on(desk.window.scan_line)
    desk.type("wl1-pack")
    desk.pause(120)
    row = next(one for one in desk.window.findChildren(FindRow) if one.isVisible() and one.row.kind == "B")
    desk.click_on(row)
    assert desk.window.place()[0] == "counter"
    assert desk.app.slate.battery is not None


def test_an_item_opens_its_page_or_goes_into_what_is_open(signed_on: DeskWindow) -> None:
    """On an empty counter an item opens the stock; beside a badge it goes into the hand-out."""
    desk = signed_on
    find(desk, "cover-out")
    desk.key(Qt.Key.Key_Return)
    assert desk.window.place()[0] == "stock"
    desk.scan("Wronecka")
    find(desk, "cover-out")
    desk.key(Qt.Key.Key_Return)
    desk.shows("Handed to Łucja Wronecka", "× 1")


def test_return_before_the_answer(signed_on: DeskWindow) -> None:
    """Return right after the last key waits for the answer and takes the first result."""
    desk = signed_on
    desk.key(Qt.Key.Key_F3)
    desk.window.typed.field.setText("verran")
    desk.window.typed.field.textEdited.emit("verran")
    desk.key(Qt.Key.Key_Return)
    desk.pause(50)
    desk.shows("Is this Paolo Verrani?")


def test_a_whole_label_comes_first(signed_on: DeskWindow) -> None:
    """A label typed whole, in small letters, is the first result, and taken as if scanned."""
    desk = signed_on
    rows = find(desk, desk.label("wl-3").lower())
    assert rows[0].label == desk.label("wl-3")
    desk.key(Qt.Key.Key_Return)
    desk.says("Unit on the counter")


def test_a_slip_of_the_hand_is_still_caught(signed_on: DeskWindow) -> None:
    """A label with a wrong last character finds nothing and says so as when it is typed."""
    desk = signed_on
    good = desk.label("wl-1")
    assert find(desk, good[:-1] + ("0" if good[-1] != "0" else "1")) == ()
    desk.shows("Nothing fits.")
    desk.key(Qt.Key.Key_Return)
    desk.says("last character does not fit")


def test_words_that_fit_nothing_stay(signed_on: DeskWindow) -> None:
    """Words that nothing has are no scan: the field stays, nothing is said to be unknown; Esc closes it."""
    desk = signed_on
    before = desk.line()
    assert find(desk, "zzz") == ()
    desk.key(Qt.Key.Key_Return)
    assert desk.window.typed.isVisible()
    assert desk.line() == before
    desk.key(Qt.Key.Key_Escape)
    assert not desk.window.typed.isVisible()


WORST = ("a", "%", "_", "'", '"; DROP TABLE person', "😀", "\\", "x" * 400, "a b c d e f g h i")


@pytest.mark.parametrize("text", WORST)
def test_worst_input(signed_on: DeskWindow, text: str) -> None:
    """Whatever is typed: an answer within its bound, at most a few of a kind, and the window goes on."""
    desk = signed_on
    desk.key(Qt.Key.Key_F3)
    begun = time.perf_counter()
    desk.window.typed.field.setText(text)
    desk.window.typed.field.textEdited.emit(text)
    on_the_thread = time.perf_counter() - begun
    desk.pause(150)
    rows = desk.window.typed.found.rows()
    kinds = [row.kind for row in rows]
    assert all(kinds.count(kind) <= MOST for kind in kinds)
    assert bool(rows) == (text == "a")
    assert on_the_thread < 0.1
    desk.key(Qt.Key.Key_Escape)
    desk.scan("wl-1")
    desk.says("Unit on the counter")


def test_an_old_answer_is_dropped(signed_on: DeskWindow) -> None:
    """What was found for another text than the one that stands there is not shown."""
    desk = signed_on
    find(desk, "verrani")
    desk.window.show_place("find", Found("nkem", (FoundRow("P", "P000000X", "person", "Nobody"),)))
    assert [row.words for row in desk.window.typed.found.rows()] == ["Paolo Verrani"]


def test_not_over_a_check(signed_on: DeskWindow) -> None:
    """While a step stands open there is no search."""
    desk = signed_on
    desk.put_down()
    desk.press("F5")
    assert desk.app.slate.check is not None
    desk.key(Qt.Key.Key_F3)
    assert not desk.window.typed.isVisible()


def test_no_clerk_no_person(desk: DeskWindow) -> None:
    """Nobody signed on: a clerk is not signed on by a name."""
    find(desk, "castel")
    desk.key(Qt.Key.Key_Return)
    desk.says("Nobody is signed on", "not by name")
    assert desk.app.slate.clerk is None


def test_the_keys_go_back(signed_on: DeskWindow) -> None:
    """Closed again, the field gives the keys back to where they were."""
    desk = signed_on
    desk.window.open_place("people")
    desk.rest()
    search = desk.window.page().list.search
    search.setFocus()
    find(desk, "a")
    desk.key(Qt.Key.Key_Escape)
    assert QApplication.focusWidget() is search


def test_the_lists_have_their_search(signed_on: DeskWindow) -> None:
    """Packs and stock are narrowed while one types; the place's sentence stays about all of it."""
    desk = signed_on
    for place, text, rows in (("batteries", "ff1", 1), ("stock", "cover", 2)):
        desk.window.open_place(place)
        desk.rest()
        page = desk.window.page()
        before, all_rows = page.answer(), len(page.list.table.rows_model.rows)
        page.list.search.setFocus()
        desk.type(text)
        desk.pause(250)
        assert len(page.list.table.rows_model.rows) == rows < all_rows
        assert page.answer() == before


def test_the_journal_of_somebody(signed_on: DeskWindow) -> None:
    """A name or a label in the journal's field leaves only their entries; empty again, all are there."""
    desk = signed_on
    desk.issue("Wronecka", "wl-1", "pack-1", "bay-3")
    desk.window.open_place("journal")
    desk.rest()
    page = desk.window.page()
    page.search.setFocus()
    desk.type("wronec")
    desk.pause(250)
    assert "of Łucja Wronecka" in page.list.count.text()
    assert all("Wronecka" in row.what or desk.label("Wronecka") in row.what for row in page._rows)
    assert any("Issued" in row.what for row in page._rows)
    page.search.clear()
    desk.type(desk.label("wl-2").lower())
    desk.pause(250)
    assert f"of {desk.label('wl-2')}" in page.list.count.text()
    page.search.clear()
    desk.type("zzzz")
    desk.pause(250)
    assert "nothing of that name" in page.list.count.text()
    assert page._rows == ()
