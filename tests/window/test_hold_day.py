"""Holds, tags, releases, cleaning and the bench, driven through the window."""

from __future__ import annotations

from PySide6.QtWidgets import QLineEdit, QPlainTextEdit

from cribdesk.window.components.table import Table
from tests.window.desk_window import DeskWindow
from tests.window.test_check_day import operations, stock
from tests.window.test_counter_day import where


def write(desk: DeskWindow, name: str, text: str) -> None:
    """Type into the field of that name."""
    fields = [*desk.window.findChildren(QPlainTextEdit), *desk.window.findChildren(QLineEdit)]
    field = next(one for one in fields if one.isVisible() and one.accessibleName() == name)
    desk.click_on(field.viewport() if isinstance(field, QPlainTextEdit) else field)
    desk.type(text)


def test_hold_by_hand_prints_its_tag(signed_on: DeskWindow) -> None:
    """A reason from the list, words of one's own, the tag; without a reason F5 only says what is missing."""
    desk = signed_on
    desk.scan("wl-1")
    desk.shows("Ready", "Hold")
    desk.press("F8")
    desk.shows("Why may it not be used?", "Choose the reason.")
    before = desk.seq()
    desk.press("F5")
    assert desk.seq() == before
    desk.click("Damaged, or a part missing")
    write(desk, "In your words", "clip gone")
    desk.press("F5")
    desk.says("on hold", "clip gone", "Tag")
    desk.shows("On hold", "Cleared by")
    assert desk.printer.names() == ["tag"]
    desk.press("F9")
    desk.scan("tag")
    desk.says("Tag of", "clip gone")
    desk.scan("Wronecka")
    desk.shows("Stop", "clip gone")


def test_hold_while_out_calls_it_in(signed_on: DeskWindow) -> None:
    """A hold on a unit that is out prints a call-in slip, survives the return, and prints its tag then."""
    desk = signed_on
    desk.issue()
    desk.scan("wl-1")
    desk.press("F8")
    desk.click("Breathing tube damaged")
    desk.press("F5")
    assert desk.printer.names() == ["issue_slip", "call_in_slip"]
    assert where(desk, "wl-1") == "out"
    desk.clock.later(hours=2)
    desk.press("F9")
    desk.scan("wl-1")
    desk.press("F5")
    assert desk.printer.names()[-1] == "tag"
    desk.press("F9", "F9")
    desk.scan("wl-1")
    desk.shows("On hold")


def test_release_by_proof_and_by_a_qualified_person(signed_on: DeskWindow) -> None:
    """Airflow is cleared by a passed bench inspection; then F5 releases, and only then is it ready."""
    desk = signed_on
    desk.scan("wl-1")
    desk.press("F8")
    desk.click("Airflow too low")
    desk.press("F5")
    desk.clock.later(minutes=1)
    desk.press("F5")
    desk.shows("Bench inspection of", "step 1 of 16")
    desk.answer_well()
    desk.shows("Release", "its proof is there")
    desk.press("F5")
    desk.says("released")
    desk.shows("Ready")


def test_release_by_the_administrators_word(signed_on: DeskWindow) -> None:
    """A hold that only the program administrator may end takes their word, and their badge at the counter."""
    desk = signed_on
    desk.scan("wl-1")
    desk.press("F8")
    desk.click(_office(desk))
    desk.press("F5")
    desk.shows("by the program administrator's word")
    desk.press("F5")
    desk.shows("This hold ends by the program administrator's word", "Write the program administrator's word.")
    write(desk, "Why it may be used again", "maker's letter of 20 Nov says these are fine")
    desk.press("F5")
    desk.says("takes a program administrator", "Nothing changed.")
    desk.press("F9", "F9")
    desk.scan("card sign-on", "Lindqvist", "wl-1")
    desk.press("F5")
    write(desk, "Why it may be used again", "maker's letter says these are fine")
    desk.press("F5")
    desk.lacks("Stop")
    assert operations(desk, 1) == ["release"]


def _office(desk: DeskWindow) -> str:
    form = desk.app.slate.form
    return next(one.words for one in form.reasons if one.proof == "program administrator")  # type: ignore[union-attr]


def test_part_changed_from_the_unit_page(signed_on: DeskWindow) -> None:
    """From the unit's page to the counter: position, lot, why; stock goes down by one, the page shows it."""
    desk = signed_on
    desk.window.open_place("unit", desk.label("wl-1"))
    desk.rest()
    desk.shows("Parts", "How this was reached", "Airflow readings", "History")
    before = stock(desk, "WL1-PREFILTER")
    desk.press("F7")
    desk.shows("Which part is changed?", "Choose the position.")
    desk.click("Pre-filter")
    desk.click("Wl1 prefilter, lot OLD")
    desk.press("F5")
    assert stock(desk, "WL1-PREFILTER") == before - 1
    assert operations(desk, 1) == ["change-part"]


def test_part_scanned_beside_the_unit(signed_on: DeskWindow) -> None:
    """A stock label scanned beside a unit opens the change at the position it goes to."""
    desk = signed_on
    desk.scan("wl-1", "WL1-PREFILTER")
    desk.says("Pre-filter of", "choose what goes in")
    desk.press("F9")
    desk.scan("wl-1", "meter")
    desk.says("is the flow meter of this counter now")


def test_tray_from_the_bench_list(signed_on: DeskWindow) -> None:
    """Two units that came back are ticked, cleaned in one run, and both are clean."""
    desk = signed_on
    for name, pack, who in (("wl-1", "pack-1", "Wronecka"), ("wl-2", "pack-2", "Verrani")):
        desk.issue(who, name, pack)
    desk.clock.later(hours=7)
    desk.press("F6")
    desk.scan("wl-1", "wl-2")
    desk.press("F9")
    desk.window.open_place("bench")
    desk.rest()
    desk.shows("Tick the units that are cleaned together", desk.label("wl-1"), desk.label("wl-2"))
    tables = desk.window.page().findChildren(Table)
    for table in tables:
        for row in table.rows_model.rows:
            if row.id in (desk.label("wl-1"), desk.label("wl-2")):
                table.ticked.emit(row.id, True)
    desk.rest()
    desk.shows("Clean 2 units")
    desk.press("F5")
    desk.shows("On the tray", desk.label("wl-1"), desk.label("wl-2"))
    desk.press("F5")
    desk.shows("and 1 more")
    desk.answer_well()
    assert operations(desk, 1) == ["clean"]
    desk.scan("wl-2")
    desk.lacks("Needs cleaning")


def test_tray_takes_more_by_scan(signed_on: DeskWindow) -> None:
    """A unit scanned beside a tray goes on it, once; one that is out does not."""
    desk = signed_on
    desk.issue("Wronecka", "wl-1", "pack-1")
    desk.app.choose("clean", desk.label("wl-2"))
    desk.rest()
    desk.scan("wl-3")
    desk.says("2 on the tray")
    desk.scan("wl-3")
    desk.says("is on the tray already")
    desk.scan("wl-1")
    desk.says("is out. Take it back first. Nothing changed.")
