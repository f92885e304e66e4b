"""Scan anything, anywhere: caught whatever has the focus, told when it makes no sense, nothing leaked or pressed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QPlainTextEdit, QWidget

from cribdesk.crib.label import with_check
from cribdesk.window.components.table import Table
from tests.window.desk_window import DeskWindow


def focus_button(desk: DeskWindow) -> QWidget:
    """The keyboard stands on a button of the counter."""
    return desk.button("Put aside")


def focus_typed_field(desk: DeskWindow) -> QWidget:
    """The field for a label by hand is open and empty."""
    desk.key(Qt.Key.Key_F2)
    return desk.window.typed.field  # type: ignore[no-any-return]


def focus_search(desk: DeskWindow) -> QWidget:
    """The search of the list of units."""
    desk.window.open_place("units")
    desk.rest()
    return next(one for one in desk.window.page().findChildren(QLineEdit) if one.isVisible())


def focus_list(desk: DeskWindow) -> QWidget:
    """The list of people."""
    desk.window.open_place("people")
    desk.rest()
    return next(one for one in desk.window.page().findChildren(Table) if one.isVisible())


def focus_form(desk: DeskWindow) -> QWidget:
    """A field of several lines in an open form."""
    desk.press("F8")
    return next(one for one in desk.window.findChildren(QPlainTextEdit) if one.isVisible())


def focus_setting(desk: DeskWindow) -> QWidget:
    """A field of the site's settings."""
    desk.window.open_place("settings")
    desk.rest()
    return next(one for one in desk.window.page().findChildren(QLineEdit) if one.isVisible())


@pytest.mark.parametrize(
    "focus", [focus_button, focus_typed_field, focus_search, focus_list, focus_form, focus_setting]
)
def test_scan_is_caught_whatever_has_the_focus(signed_on: DeskWindow, focus: Callable[[DeskWindow], QWidget]) -> None:
    """The scan is taken or told in the strip; no character lands in a field, no button is pressed."""
    desk = signed_on
    desk.scan("wl-1")
    widget = focus(desk)
    widget.setFocus(Qt.FocusReason.TabFocusReason)
    desk.rest()
    assert QApplication.focusWidget() is widget
    pressed: list[str] = []
    for button in desk.window.findChildren(QAbstractButton):
        button.clicked.connect(lambda _=False, one=button: pressed.append(one.text()))
    before = desk.seq()
    desk.scan("wl-2")
    line = desk.line()
    assert desk.label("wl-2") in line.replace(" ", "")
    fields = [one.text() for one in desk.window.findChildren(QLineEdit) if one.isVisible()]
    fields += [one.toPlainText() for one in desk.window.findChildren(QPlainTextEdit) if one.isVisible()]
    assert not [one for one in fields if "U0" in one or "000" in one]
    assert pressed == []
    assert desk.seq() == before


def test_a_label_typed_by_hand(signed_on: DeskWindow) -> None:
    """F2 opens a field; the label with its last character is taken like a scan; a slip is caught."""
    desk = signed_on
    good = desk.label("wl-1")
    wrong = good[:-1] + ("0" if good[-1] != "0" else "1")
    desk.key(Qt.Key.Key_F2)
    desk.shows("Label, as printed, with its last character")
    desk.type(wrong.lower())
    desk.key(Qt.Key.Key_Return)
    desk.says("last character does not fit", "Nothing changed.")
    desk.key(Qt.Key.Key_F2)
    desk.type(good.lower())
    desk.key(Qt.Key.Key_Return)
    desk.says("Unit on the counter")
    desk.shows("Ready")
    desk.key(Qt.Key.Key_F2)
    desk.key(Qt.Key.Key_Escape)
    desk.lacks("Label, as printed, with its last character")


def test_labels_that_make_no_sense_now(signed_on: DeskWindow) -> None:
    """Wrong check character, unknown, foreign, stock, tag, slip, command: each says what it is; nothing changes."""
    desk = signed_on
    before = desk.seq()
    told = {
        desk.label("wl-1")[:-1] + "7": "last character does not fit",
        with_check("U000999"): "unknown here",
        "EMP-00417": "F6 binds it",
        "WL1-PREFILTER": "on the shelf",
        with_check("T000999"): "unknown here",
        "card take-back": "makes no sense at this moment",
    }
    for text, words in told.items():
        desk.scan(text)
        desk.says(words)
        assert "Nothing changed." in desk.line() or "binds" in desk.line(), text
    assert desk.seq() == before


def test_badge_from_elsewhere_is_bound_and_scans(signed_on: DeskWindow) -> None:
    """An employee badge is unknown, F6 binds it to the next record scanned, from then on it is that person."""
    desk = signed_on
    desk.scan("EMP-00417")
    desk.press("F6")
    desk.shows("Bind this label", "EMP-00417", "Nothing changes until then.")
    desk.scan("Wronecka")
    desk.scan("EMP-00417")
    desk.says("Łucja Wronecka")


@pytest.mark.parametrize("text", ["W" * 10_000, "ab\tcdefgh", "🔥🔥🔥🔥🔥🔥🔥🔥"])
def test_bursts_that_are_no_label(signed_on: DeskWindow, text: str) -> None:
    """10 000 characters, control characters, emoji: told, nothing changed, and the next scan works."""
    desk = signed_on
    before = desk.seq()
    if text.isascii():
        desk.scan(text)
    else:
        desk.window.raw_scan.emit(text, "")  # no scanner's keys make these
        desk.rest()
    desk.says("Nothing changed.")
    assert desk.seq() == before
    desk.scan("wl-1")
    desk.says("Unit on the counter")


def test_scan_of_a_unit_is_never_a_toggle(signed_on: DeskWindow) -> None:
    """Scanning a unit that is out, or in, shows it; only a key or a printed command does anything."""
    desk = signed_on
    desk.issue()
    before = desk.seq()
    desk.scan("wl-1", "wl-1", "wl-2", "wl-2")
    assert desk.seq() == before
    desk.scan("wl-1")
    desk.says("Out with Łucja Wronecka")


def test_scans_queue_while_something_is_under_way(signed_on: DeskWindow) -> None:
    """Scans that come while the store is at work are taken afterwards, in order, none lost."""
    from cribdesk.window.hands import scan

    desk = signed_on
    for name in ("Wronecka", "wl-1", "pack-1", "bay-3"):
        scan(desk.window, desk.label(name))
    desk.rest()
    assert desk.button("Check").isEnabled()
    desk.shows("Łucja Wronecka", desk.label("wl-1"), desk.label("pack-1"), "Plate shop, bay 3")


def test_nobody_signed_on(desk: DeskWindow) -> None:
    """Without a clerk things are shown and nothing is done; a wearer's badge signs nobody on."""
    before = desk.seq()
    desk.says("Scan a staff badge to sign on")
    desk.scan("Wronecka")
    desk.says("is no clerk of this crib", "Nothing changed.")
    desk.scan("wl-1")
    desk.shows("Ready", "nobody signed on")
    desk.press("F8", "F6")
    assert desk.seq() == before
    desk.says("Nobody is signed on")
    desk.scan("Marek")
    assert desk.seq() == before
