"""Units away, parts that move and cabinets, by keyboard and scanner at the real window."""

from __future__ import annotations

from cribdesk.crib.records import Away, AwayKind, Cabinet, Unit, Where
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.entry_forms import FORMS
from cribdesk.desk.shift_lists import shift_lists
from cribdesk.papers.register import papers
from tests.window.desk_window import DeskWindow


def unit_of(desk: DeskWindow, name: str) -> Unit:
    """The unit as it stands."""
    found = desk.read(lambda reader: reader.first(Unit, label=desk.label(name)))
    assert found is not None
    return found


def test_more_on_the_units_page_opens_what_else_can_be_done(signed_on: DeskWindow) -> None:
    """F10 lays the unit on the counter and shows the list; a key press from there sends it for repair."""
    desk = signed_on
    desk.window.open_place("unit", desk.label("wl-1"))
    desk.rest()
    desk.press("F10")
    desk.rest()
    assert desk.window.place()[0] == "counter"
    desk.shows("What else?", "It is missing", "Send for repair", "Lend to another crib", "Swap parts with another unit")
    desk.app.choose("send-out")
    desk.rest()
    for name, value in (("goes_to", "Feldner Repair"), ("wrong", "fan hums"), ("cleaned_how", "wiped")):
        desk.window.doors.filled.emit(name, value)
        desk.rest()
    desk.press("F5")
    desk.rest()
    assert unit_of(desk, "wl-1").where is Where.SENT_OUT
    assert desk.printer.names()[-1] == "repair_note"
    desk.shows("At repair with Feldner Repair since today")


def test_the_list_of_what_is_away_takes_it_in_again(signed_on: DeskWindow) -> None:
    """The list's button brings the unit to the counter and says that it is back."""
    desk = signed_on
    desk.scan("wl-1")
    desk.scan(BY_ID["missing"].label)
    desk.press("F5")
    desk.rest()
    away = desk.read(lambda reader: reader.latest(Away))
    assert away is not None
    assert away.kind is AwayKind.MISSING
    desk.window.open_place("shift", "away")
    desk.rest()
    desk.shows("1 unit away.", "It turned up", "Since today")
    desk.window.doors.chosen.emit("found", desk.label("wl-1"))
    desk.rest()
    assert unit_of(desk, "wl-1").where is Where.BENCH


def test_a_cabinet_is_entered_from_its_list_and_filled_by_scans(desk: DeskWindow) -> None:
    """The form asks for what it may be used; then unit, cabinet, the seal's number, F5."""
    desk.sign_on("Office")
    desk.window.open_place("shift", "cabinets")
    desk.rest()
    desk.shows("There is no cabinet yet.", "Enter a cabinet")
    desk.window.doors.entry_wanted.emit("cabinet", "")
    desk.rest()
    page = desk.window.entry
    page.set_values({"cabinet_name": "Gate 2", "purpose": "walking out of the fume", "for_danger": "yes"})
    desk.press("F5")
    desk.rest()
    desk.shows("29 CFR 1910.134(d)(2)")
    page.set_values({"for_danger": "no"})
    desk.press("F5")
    desk.rest()
    cabinet = desk.read(lambda reader: reader.first(Cabinet, name="Gate 2"))
    assert cabinet is not None
    desk.press("F9")
    desk.window.open_place("counter")
    desk.rest()
    desk.scan("wl-1")
    desk.scan(cabinet.label)
    desk.scan("SEAL 0815")
    desk.press("F5")
    desk.rest()
    assert (unit_of(desk, "wl-1").where, unit_of(desk, "wl-1").place) == (Where.EMERGENCY, "Gate 2")
    desk.window.open_place("shift", "cabinets")
    desk.rest()
    desk.shows("Never certified here; seal SEAL 0815", "Monthly inspection", "Certify")


def test_every_button_of_the_two_lists_is_something_there_is(signed_on: DeskWindow) -> None:
    """A list names commands, forms and papers by their ids."""
    desk = signed_on
    desk.app.choose("missing", desk.label("wl-1"))
    desk.rest()
    desk.press("F5")
    desk.rest()
    known = {"command": set(BY_ID), "form": set(FORMS), "paper": set(papers()), "preview": set(papers())}
    house, moment = desk.app.house, desk.clock()
    for id_ in ("away", "cabinets"):
        page = desk.read(lambda reader, id_=id_: shift_lists()[id_].read(reader, house, moment))
        every = [*page.actions, *(one for row in page.rows for one in row.actions)]
        assert every
        assert all(one.id in known[one.kind] for one in every)
