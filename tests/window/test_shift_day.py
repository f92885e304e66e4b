"""The shift made ready, counted and handed over in the real window, by scanner and keys; its papers read back."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from cribdesk.crib.records import Print, RackAudit, ShiftClose, Unit, Where
from cribdesk.desk.slate import MoreForm, ReturnForm
from cribdesk.window.components.base import Pressable
from cribdesk.window.counter.forms import ReturnBody
from tests.papers import seen
from tests.window.desk_window import DeskWindow, said
from tests.window.helpers import assert_words_fit

SIZES = ((1440, 900), (1024, 768), (960, 540))


def fits(desk: DeskWindow) -> None:
    """Every word has its room at each size of the window."""
    for wide, high in SIZES:
        desk.window.resize(wide, high)
        desk.rest()
        assert_words_fit(desk.window)
    desk.window.resize(*SIZES[0])
    desk.rest()


def paper(desk: DeskWindow, name: str) -> bytes:
    """The last paper of that name."""
    return next(pdf for kind, pdf in reversed(desk.printer.papers) if kind == name)


def test_units_are_sealed_in_a_row(signed_on: DeskWindow) -> None:
    """The bench place's button begins it; each unit is a scan; its seal decodes; at the end the list comes up."""
    desk = signed_on
    desk.clock.later(hours=10)
    desk.window.open_place("bench", "")
    desk.rest()
    desk.click("For the next shift")
    assert desk.window.place()[0] == "counter"
    desk.shows("Scan each unit to be inspected", "For Day, tomorrow 06:00", "None done yet.")
    fits(desk)
    desk.scan("meter", "wl-1")
    desk.answer_well()
    desk.says("passed and sealed, good until 13:30")
    desk.scan("wl-2")
    desk.answer_well()
    desk.shows("2 units done now", "ready and sealed")
    assert desk.printer.names() == ["ready_seal", "ready_seal"]
    (picture,) = seen.pictures(paper(desk, "ready_seal"))
    assert [code.text for code in seen.codes(picture)] == [desk.label("wl-2")]
    sealed = desk.read(lambda reader: reader.find(Print, paper="ready_seal", failed=""))
    assert len(sealed) == 2
    desk.press("F9")
    assert desk.window.place() == ("shift", "ready")
    desk.shows("Ready for the next shift", "2 sealed", "New, waits for its first inspection")
    fits(desk)


def test_the_seal_that_did_not_print_is_not_counted(signed_on: DeskWindow) -> None:
    """Without paper the unit stands as inspected and not sealed; its seal prints from the list later."""
    desk = signed_on
    desk.clock.later(hours=10)
    desk.printer.trouble = "the printer has no paper"
    desk.scan("card pre-stage", "meter", "wl-1")
    desk.answer_well()
    desk.press("F9")
    desk.shows("0 sealed", "Needs its seal alone")
    desk.printer.trouble = ""
    desk.click("Print its seal")
    assert desk.printer.names() == ["ready_seal"]
    desk.window.open_place("shift", "ready")
    desk.rest()
    desk.shows("1 sealed")


def test_returns_are_completed_one_after_the_other(signed_on: DeskWindow) -> None:
    """F9 ends the rush on the list; one button brings the oldest, its completion the next, then says that is all."""
    desk = signed_on
    desk.issue()
    desk.issue("Nkemba", "wl-2", "pack-2")
    desk.clock.later(hours=8)
    desk.press("F6")
    desk.scan("wl-2", "wl-1")
    desk.press("F9")
    assert desk.window.place() == ("shift", "to-complete")
    desk.shows("2 returns to complete.")
    fits(desk)
    desk.click("Complete one after the other")
    assert desk.window.place()[0] == "counter"
    for name, pack in (("wl-2", "pack-2"), ("wl-1", "pack-1")):
        form = desk.app.slate.form
        assert isinstance(form, ReturnForm)
        assert form.unit_label == desk.label(name)
        desk.scan(pack)
        desk.press("F5")
    assert desk.app.slate.empty
    desk.says("Every return is complete.")


def test_a_return_is_completed_without_scrolling(signed_on: DeskWindow) -> None:
    """At 1440 x 900 the whole form is seen at once, in two columns; a fault brings up which one, and is needed then."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=2)
    desk.scan("wl-1")
    desk.press("F5")
    forms = desk.window.counter.forms
    body = forms._body
    assert isinstance(body, ReturnBody)
    assert forms.scroller.verticalScrollBar().maximum() == 0
    assert body.back is not None
    beside = body.back.mapTo(forms, body.back.rect().topLeft())
    assert beside.x() > body.hours.mapTo(forms, body.hours.rect().topRight()).x()
    assert not body.fault.isVisible()
    fits(desk)
    desk.scan("pack-1")
    desk.click("a fault")
    assert body.fault.isVisible()
    desk.press("F5")
    desk.says("Choose the fault, or say there is none.")
    desk.click("no fault")
    desk.press("F5")
    assert desk.app.slate.form is None


def test_the_rack_is_audited(signed_on: DeskWindow) -> None:
    """Scans, F5, and the list of what differs with the way to set each right; nothing is moved before that."""
    desk = signed_on
    desk.scan("card rack-audit", "wl-1", "wl-2", "wl-5", "ff-1")
    desk.shows("By the book 5 units on the rack: 3 scanned, 1 not expected.")
    fits(desk)
    desk.press("F5")
    assert desk.window.place() == ("shift", "rack-audits")
    desk.shows("2 units absent", "Say it is missing", "Put on the rack")
    fits(desk)
    audit = desk.read(lambda reader: reader.latest(RackAudit))
    assert audit is not None
    assert audit.surplus == desk.label("wl-5")
    desk.click("Put on the rack")
    assert desk.window.entry_open()
    desk.window.entry.set_values({"where": Where.RACK.value})
    desk.press("F5")
    moved = desk.read(lambda reader: reader.first(Unit, label=desk.label("wl-5")))
    assert moved is not None
    assert moved.where is Where.RACK
    desk.window.open_place("shift", "rack-audits")
    desk.rest()
    desk.lacks("Put on the rack")


@pytest.mark.parametrize("taker", ["Brandl", ""])
def test_a_shift_is_handed_over(signed_on: DeskWindow, taker: str) -> None:
    """The figures stand on the form and on the page, which names both or leaves the line free; it prints again."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=7, minutes=50)
    desk.scan("card close-shift")
    desk.shows("Since today 05:00", "Issued: 1", "Still out: 1", "None at all")
    fits(desk)
    if taker:
        desk.scan(taker)
        desk.shows("Otto Brandl takes it over")
    desk.press("F5")
    text = " ".join(seen.texts(paper(desk, "shift_page")))
    assert "Shift handed over" in text
    assert "Rhea Castel" in text
    assert ("Otto Brandl" in text) == bool(taker)
    assert desk.label("wl-1") in text
    closed = desk.read(lambda reader: reader.latest(ShiftClose))
    assert closed is not None
    desk.window.open_place("shift", "closed")
    desk.rest()
    desk.shows("1 shift handed over.", "Day, handed over by Rhea Castel")
    fits(desk)
    desk.click("Print its page")
    again = " ".join(seen.texts(paper(desk, "shift_page")))
    assert "Copy 2" in again
    assert "".join(again.replace("Copy 2", "").split()) == "".join(text.split())


def test_scrapping_opens_from_the_unit_page_and_from_more(signed_on: DeskWindow) -> None:
    """The form is about that unit, with a choice for each labelled part; it says what becomes of used filters."""
    desk = signed_on
    desk.window.open_place("unit", desk.label("wl-2"))
    desk.rest()
    desk.click("Scrap it")
    assert desk.window.entry.form_id() == "scrap"
    desk.shows("Used filters are waste")
    fits(desk)
    desk.press("F9")
    desk.scan("wl-1")
    desk.press("F10")
    desk.click("Scrap it")
    assert desk.window.entry.values()["about"] == desk.label("wl-1")


def test_more_goes_by_the_keyboard_and_what_is_not_possible_stands_last(signed_on: DeskWindow) -> None:
    """F10, arrows and Enter take one; each reason why not lies within its button; closing leaves the focus alone."""
    desk = signed_on
    desk.press("F10")
    form = desk.app.slate.form
    assert isinstance(form, MoreForm)
    rows = [one for one in desk.buttons() if said(one) in {words for _, words, _ in form.choices}]
    assert [one.isEnabled() for one in rows] == sorted((not why for _, _, why in form.choices), reverse=True)
    assert all(one.height() >= 56 for one in rows if not one.isEnabled())
    assert not any(one.hasFocus() for one in rows)
    desk.key(Qt.Key.Key_Down)
    desk.key(Qt.Key.Key_Down)
    desk.key(Qt.Key.Key_Up)
    assert [one.hasFocus() for one in rows].index(True) == 0
    desk.key(Qt.Key.Key_Return)
    assert not isinstance(desk.app.slate.form, MoreForm)
    desk.press("F9")
    assert desk.window.focusWidget() is desk.window or desk.window.focusWidget() is None


def test_no_place_is_marked_that_nobody_went_to(signed_on: DeskWindow) -> None:
    """In the smallest window the places shown change with each place: the ring stays away until a key brings it."""
    desk = signed_on
    desk.window.resize(960, 540)
    desk.rest()
    for place in ("journal", "areas", "counter"):
        desk.window.open_place(place)
        desk.rest()
        focused = desk.window.focusWidget()
        assert not (isinstance(focused, Pressable) and focused.ringed()), place
