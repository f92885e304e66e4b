"""The program administrator's day in the real window: the program's page, evaluations, the register; wearer's cards."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest

from cribdesk.crib.records import Custody, Print, ProgramEvaluation
from cribdesk.desk.printouts_register import COLUMNS
from cribdesk.window.start import wait_until
from tests.papers import seen
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit
from tests.window.test_shift_day import fits, paper

REGISTER = "use_register"


@pytest.fixture
def administrator(signed_on: DeskWindow) -> DeskWindow:
    """One unit went out this morning; then the program administrator signs on."""
    signed_on.issue()
    signed_on.scan("card sign-on", "Lindqvist")
    signed_on.says("Hana Lindqvist is signed on")
    return signed_on


def made(desk: DeskWindow) -> None:
    """Waits until the long paper is there, or is told why not."""
    assert wait_until(lambda: desk.window.paper() is not None, 20.0), desk.line()
    desk.rest()


def register(desk: DeskWindow, name: str = "", **values: str) -> None:
    """Asks for the register by the form of the journal's button, of what is scanned."""
    desk.window.open_place("journal")
    desk.rest()
    desk.click("Register of use")
    desk.shows("Register of use", "Scan a badge, a unit or an area, or choose.")
    if name:
        desk.scan(name)
    desk.window.entry.set_values(values)
    desk.press("F5")


def test_who_is_no_program_administrator_gets_no_register(administrator: DeskWindow) -> None:
    """No form, no preview, no print: the strip says who can, nothing is shown; not from the journal's entry either."""
    desk = administrator
    register(desk)
    made(desk)
    desk.press("F9")
    of = desk.entries(1)[0].papers[0][1]
    desk.scan("card sign-on", "Castel")
    desk.window.open_place("journal")
    desk.rest()
    desk.click("Register of use")
    desk.says("opens for a program administrator only")
    assert not desk.window.entry_open()
    for ask in (desk.window.doors.preview_paper, desk.window.doors.print_again):
        ask.emit(REGISTER, of)
        desk.pause(300)
        desk.says("It names who wore what: it opens for a program administrator only. Nothing changed.")
        assert desk.window.paper() is None
    assert REGISTER not in desk.printer.names()
    desk.window.open_place("shift", "program")
    desk.rest()
    desk.lacks("Against a rule today")


def test_the_register_of_a_unit_is_seen_saved_and_printed(administrator: DeskWindow, tmp_path: Path) -> None:
    """A scan chooses the unit; the preview pages; PDF and table are saved and read back; a print is journalled."""
    desk = administrator
    unit = desk.label("wl-1")
    register(desk, "wl-1")
    made(desk)
    preview = desk.window.paper()
    assert preview is not None
    assert unit in preview.words.text()
    preview.save(str(tmp_path / "register.pdf"))
    preview.save(str(tmp_path / "register.csv"))
    text = " ".join(seen.texts((tmp_path / "register.pdf").read_bytes()))
    wanted = ("Łucja Wronecka", "Full: bench, pass", "Then: hand-over", "Given by Rhea Castel on badge")
    for words in ("Register of use", unit, *wanted):
        assert words in text, words
    rows = list(csv.DictReader((tmp_path / "register.csv").read_text("utf-8-sig").splitlines()))
    assert list(rows[0]) == [name for name, _ in COLUMNS]
    assert [(row["unit"], row["wearer"], row["came_back"]) for row in rows] == [(unit, "Łucja Wronecka", "")]
    custody = desk.read(lambda reader: reader.latest(Custody))
    assert custody is not None
    assert rows[0]["custody"] == str(custody.id)
    assert preview.press("F7")
    assert preview.place.text().startswith("page 2 of") or preview.place.text() == "1 page"
    desk.press("F5")
    assert wait_until(lambda: REGISTER in desk.printer.names(), 20.0)
    desk.rest()
    assert unit in " ".join(seen.texts(paper(desk, REGISTER)))
    desk.press("F9")
    prints = desk.read(lambda reader: reader.find(Print, paper=REGISTER))
    assert [one.copy for one in prints] == [1]
    assert [entry.operation for entry in desk.entries(2)] == ["print", "register"]


def test_a_register_of_days_without_a_hand_over_says_so(administrator: DeskWindow) -> None:
    """An empty one is a page that says that nothing went out, and a day that is none is told beside its field."""
    desk = administrator
    register(desk, first="2025-01-01", last="2025-02-30")
    desk.shows("is a day that does not exist")
    desk.window.entry.set_values({"last": "2025-02-28"})
    desk.press("F5")
    made(desk)
    preview = desk.window.paper()
    assert preview is not None
    assert "Nothing went out in this period." in " ".join(seen.texts(preview.sheet._pdf))


def test_a_register_that_is_called_off_prints_nothing(administrator: DeskWindow) -> None:
    """Called off before it is there: the strip says so, no paper stands, and it can be asked for again."""
    desk = administrator
    desk.window.doors.preview_paper.emit(REGISTER, "all 2026-11-01 2026-11-25")
    desk.window.note.called_off.emit()
    assert wait_until(lambda: "called off" in desk.line(), 20.0)
    desk.says("The register of use was called off. Nothing was printed.")
    assert desk.window.paper() is None
    desk.window.doors.preview_paper.emit(REGISTER, "all 2026-11-01 2026-11-25")
    made(desk)


def test_it_is_not_shown_to_who_signed_on_meanwhile(administrator: DeskWindow) -> None:
    """It was asked for by the program administrator; an attendant has the counter when it is ready: it stays shut."""
    desk = administrator
    administrator_slate = desk.app.slate
    desk.window.doors.preview_paper.emit(REGISTER, "all 2026-11-01 2026-11-25")
    desk.app.begin(None)
    assert wait_until(lambda: "opens for a program administrator only" in desk.line(), 20.0)
    assert desk.window.paper() is None
    assert administrator_slate.clerk is not None


def test_a_second_long_paper_waits_for_the_first(administrator: DeskWindow) -> None:
    """Asked for twice at once the second is told; the first comes."""
    desk = administrator
    for _ in range(2):
        desk.window.doors.preview_paper.emit(REGISTER, "all 2026-11-01 2026-11-25")
    desk.says("A long paper is being made already.")
    made(desk)


def test_a_register_of_nothing_there_is_told(administrator: DeskWindow) -> None:
    """An address that leads nowhere, as from a journal of another store, is told in words."""
    desk = administrator
    desk.window.doors.preview_paper.emit(REGISTER, "nonsense")
    assert wait_until(lambda: "There is no register nonsense." in desk.line(), 20.0), desk.line()


def test_an_evaluation_is_entered_and_set_right(administrator: DeskWindow) -> None:
    """From the program's page: its form, the finding that waits, the day it is set right; every word has its room."""
    desk = administrator
    desk.window.open_place("shift", "program")
    desk.rest()
    desk.shows("The program", "What lapses", "Evaluations of the program", "Rules in force", "1910.134(l)")
    fits(desk)
    desk.click("Evaluate")
    fits(desk)
    desk.window.entry.set_values(
        {"topic": "use under the conditions of the workplace", "where": "bay 3", "finding": "Helmets up while tacking"}
    )
    desk.press("F5")
    desk.says("Evaluation of the program kept, use under the conditions of the workplace: bay 3: nothing planned yet.")
    desk.press("F9")
    desk.shows("1 finding to set right", "Helmets up while tacking")
    desk.click("Set right")
    assert_words_fit(desk.window)
    desk.window.entry.set_values({"fix": "Talked to both crews", "fixed_on": "2026-11-25"})
    desk.press("F5")
    (one,) = desk.read(lambda reader: reader.find(ProgramEvaluation))
    assert (one.fix, one.fixed_on) == ("Talked to both crews", date(2026, 11, 25))
    desk.shows("set right 25 Nov 2026: Talked to both crews")


def test_a_wearers_card_prints_from_the_counter_and_from_the_units_page(signed_on: DeskWindow) -> None:
    """By 'More' beside the unit; on its page it is looked at first, one page, and prints from there."""
    desk = signed_on
    desk.scan("wl-1")
    desk.press("F10")
    desk.click("Wearer's card")
    assert desk.printer.names() == ["wearer_card"]
    assert "Blower off: no protection." in " ".join(seen.texts(paper(desk, "wearer_card")))
    desk.press("F9")
    desk.window.open_place("unit", desk.label("wl-1"))
    desk.rest()
    desk.click("See and print the wearer's card")
    preview = desk.window.paper()
    assert preview is not None
    assert preview.place.text() == "1 page"
    desk.press("F5")
    assert desk.printer.names() == ["wearer_card", "wearer_card"]
    assert "Copy 2" in " ".join(seen.texts(paper(desk, "wearer_card")))


def test_pages_turn_by_the_keys_of_pages_too(administrator: DeskWindow) -> None:
    """Page Down and End go on, Home goes back to the first; past the ends nothing happens."""
    from PySide6.QtCore import Qt

    desk = administrator
    desk.window.doors.preview_paper.emit(REGISTER, "all 2026-11-01 2026-11-25")
    made(desk)
    preview = desk.window.paper()
    assert preview is not None
    words = preview.place.text()
    desk.key(Qt.Key.Key_End)
    last = preview.place.text()
    desk.key(Qt.Key.Key_PageDown)
    assert preview.place.text() == last
    desk.key(Qt.Key.Key_Home)
    assert preview.place.text() == words
