"""Calling in, contractors, voluntary use and refusals, driven through the window."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

from cribdesk.crib.records import Area, Clearance, ClearanceKind, Custody, Evidence, Notice, Person, Role
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.counter import Counter
from cribdesk.desk.office import SetSetting
from cribdesk.desk.operation import Operation
from cribdesk.desk.people import AddClearance, ChangePerson
from tests.window.desk_window import DeskWindow
from tests.window.test_changes import open_form, page_of
from tests.window.test_hold_day import write

OFFICE = "Office"


def elsewhere(desk: DeskWindow, operation: type[Operation], **fields: Any) -> None:
    """An operation at another counter, by somebody of every role."""
    clerk = person(desk, OFFICE).id
    made = operation(operation_id=str(uuid.uuid4()), **fields)
    done: list[Any] = []
    counter = Counter(desk.app.desk.store, desk.app.house, desk.clock, "Counter 2")
    desk.session.background.run(lambda: counter.do(made, clerk), done.append)
    desk.rest()
    assert not hasattr(done[0], "report"), done[0]
    desk.app.refresh_board()
    desk.rest()


def person(desk: DeskWindow, name: str) -> Person:
    """Somebody as they stand now."""
    found = desk.read(lambda reader: reader.first(Person, label=desk.label(name)))
    assert found is not None
    return found


def not_cleared(desk: DeskWindow, name: str) -> None:
    """The health professional takes somebody's clearance back today."""
    today = desk.app.house.today(desk.clock.moment)
    fields = {"kind": ClearanceKind.MEDICAL, "given_on": today, "cleared": False}
    elsewhere(desk, AddClearance, person_id=person(desk, name).id, **fields)


def contractor(desk: DeskWindow, name: str, employer: str = "Nordbau (invented)") -> None:
    """Somebody is of another employer from now on."""
    one = person(desk, name)
    elsewhere(desk, ChangePerson, person_id=one.id, full_name=one.name, trade=one.trade, employer=employer)


def voluntary(desk: DeskWindow, name: str) -> None:
    """An area where no respirator is required."""
    area = desk.read(lambda reader: reader.first(Area, label=desk.label(name)))
    assert area is not None
    elsewhere(desk, ChangeArea, area_id=area.id, area_name=area.name, required=False)



def test_who_may_no_longer_is_called_in(signed_on: DeskWindow) -> None:
    """The empty counter and the rail tell how many; the list says who and why; one button prints each slip."""
    desk = signed_on
    desk.issue("Wronecka", "wl-1", "pack-1")
    desk.issue("Nkemba", "wl-2", "pack-2")
    not_cleared(desk, "Wronecka")
    not_cleared(desk, "Nkemba")
    desk.shows("2 units to call in", "2 without a slip yet")
    assert [one for one in desk.buttons() if one.accessibleName() == "Shift, 2 waiting"]
    desk.window.open_place("shift", "call-in")
    desk.rest()
    desk.shows("To call in", "2 units to call in, 2 without a slip yet.", "Łucja Wronecka", "Abel Nkemba")
    desk.shows("Medical clearance: not cleared, since today; not called in yet")
    desk.click(f"Call-in slip, Łucja Wronecka, welder {desk.label('wl-1')}")
    desk.says(f"{desk.label('wl-1')} called in from Łucja Wronecka: medical clearance: not cleared.")
    assert desk.printer.names()[-1] == "call_in_slip"
    desk.shows("Call it in", "Medical clearance: not cleared", "Take back")
    desk.press("F9")
    desk.window.open_place("shift", "call-in")
    desk.rest()
    desk.shows("2 units to call in, 1 without a slip yet.", "called in today 06:1")
    desk.lacks("Call all in")
    desk.click(f"Take back, Łucja Wronecka, welder {desk.label('wl-1')}")
    desk.says("back from Łucja Wronecka")
    desk.press("F9", "F9")
    desk.window.open_place("shift", "call-in")
    desk.rest()
    desk.shows("1 unit to call in, 1 without a slip yet.")


def test_all_are_called_in_at_once(signed_on: DeskWindow) -> None:
    """The button over the list opens the counter with everybody who has no slip yet; F5 prints them."""
    desk = signed_on
    desk.issue("Wronecka", "wl-1", "pack-1")
    desk.issue("Nkemba", "wl-2", "pack-2")
    not_cleared(desk, "Wronecka")
    not_cleared(desk, "Nkemba")
    desk.window.open_place("shift", "call-in")
    desk.rest()
    desk.click("Call all in")
    desk.shows("Each gets a slip", "Łucja Wronecka", "Abel Nkemba", "Print the slips")
    desk.press("F5")
    assert desk.printer.names()[-2:] == ["call_in_slip", "call_in_slip"]
    desk.says("2 units called in")


def test_a_wearer_to_be_called_in_is_told(signed_on: DeskWindow) -> None:
    """Their badge at the counter says it, and so does their page."""
    desk = signed_on
    desk.issue("Wronecka", "wl-1", "pack-1")
    not_cleared(desk, "Wronecka")
    desk.scan("Wronecka")
    desk.says(f"Łucja Wronecka holds {desk.label('wl-1')}, to be called in: medical clearance: not cleared")
    desk.window.open_place("person", desk.label("Wronecka"))
    desk.rest()
    desk.shows("To be called in: medical clearance: not cleared", "not cleared")


def test_a_contractor_without_proof(signed_on: DeskWindow) -> None:
    """No proof, no unit; the form takes the proof of each clearance; then the unit goes out."""
    desk = signed_on
    contractor(desk, "Verrani")
    desk.put_down("Verrani")
    desk.shows("Not to be issued", "Medical clearance: no proof of the employer", "Training: no proof of the employer")
    desk.press("F9")
    desk.scan("card sign-on", "Lindqvist")
    form = open_form(desk, "evidence", "Verrani")
    form.set_values({"document": "letter 117", "dated_on": "2026-11-20"})
    who = person(desk, "Verrani").id
    for kind in (ClearanceKind.MEDICAL, ClearanceKind.TRAINING):
        waiting = desk.read(lambda reader, kind=kind: reader.latest(Clearance, person_id=who, kind=kind))
        form.set_values({"clearance": str(waiting.id), "document": "letter 117", "dated_on": "2026-11-20"})
        form.go.click()
        desk.rest()
        form = page_of(desk, "evidence")
    desk.press("F9")
    found = desk.read(lambda reader: reader.find(Evidence))
    assert [(one.document, one.dated_on, one.employer) for one in found] == [
        ("letter 117", date(2026, 11, 20), "Nordbau (invented)")
    ] * 2
    desk.put_down("Verrani")
    desk.lacks("no proof")


def test_the_clearance_form_asks_a_contractor_for_proof(signed_on: DeskWindow) -> None:
    """The fields of the proof stand there for people of another employer only."""
    desk = signed_on
    contractor(desk, "Verrani")
    desk.scan("card sign-on", "Lindqvist")
    form = open_form(desk, "clearance", "Wronecka")
    desk.lacks("The employer's proof")
    form = open_form(desk, "clearance", "Verrani")
    desk.shows("The employer's proof", "Dated", "Seen here on")
    assert form.fields["document"].isVisible()


def test_voluntary_use_at_the_window(signed_on: DeskWindow) -> None:
    """Not required there: said in the column, the sheet is the one stop, F5 records and prints it."""
    desk = signed_on
    voluntary(desk, "bay-7")
    desk.put_down("Dobrosi", area="bay-7")
    desk.shows("A respirator is not required there", "Information sheet: not given", "Information sheet given")
    desk.press("F5")
    assert desk.printer.names() == ["information_sheet"]
    desk.lacks("Information sheet: not given")
    desk.shows("Check", "not needed")


def test_a_refusal_is_seen_by_the_administrator_only(signed_on: DeskWindow) -> None:
    """Recorded at the counter; the list is the role's, also while it stands open, and so is what was said."""
    desk = signed_on
    desk.put_down("Wronecka", "ff-1", "pack-ff", "bay-3")
    desk.press("F10")
    desk.click("Refusal or wish")
    desk.click("facial hair at the seal")
    desk.shows("Nothing tight-fitting goes out while hair lies at the seal", "29 CFR 1910.134(g)(1)(i)")
    write(desk, "In words", "grew it for a film")
    desk.press("F5")
    desk.says("does not go out: put it back")
    assert desk.app.slate.unit is None
    desk.press("F9")
    desk.window.open_place("shift", "administrator")
    desk.rest()
    desk.shows("Still out")
    desk.lacks("For the program administrator", "Facial hair at the seal", "grew it for a film", "Łucja Wronecka")
    waiting = desk.read(lambda reader: reader.latest(Notice))
    assert waiting is not None
    desk.window.doors.entry_wanted.emit("see-notice", str(waiting.id))
    desk.rest()
    desk.says("opens for a program administrator only")
    desk.lacks("grew it for a film")
    desk.scan("card sign-on", "Lindqvist")
    desk.window.open_place("shift", "administrator")
    desk.rest()
    desk.shows("1 notice waits for the program administrator.", "Facial hair at the seal")
    desk.click("Read and answer")
    desk.shows("grew it for a film")
    form = page_of(desk, "see-notice")
    form.set_values({"answer": "shaves, or takes the loose-fitting one"})
    form.go.click()
    desk.rest()
    (notice,) = desk.read(lambda reader: reader.find(Notice))
    assert (notice.answer, notice.seen_by) == ("shaves, or takes the loose-fitting one", person(desk, "Lindqvist").id)
    assert person(desk, "Lindqvist").has(Role.PROGRAM)


def test_rules_that_another_counter_brought_into_force(signed_on: DeskWindow) -> None:
    """What lies here is weighed by them once it is confirmed, and looked at by them from then on."""
    desk = signed_on
    desk.put_down()
    elsewhere(desk, SetSetting, setting="rule_set", value="uk")
    assert desk.app.house.settings["rule_set"] == "us_federal"
    desk.press("F5")
    desk.answer_well()
    desk.scan("Wronecka")
    desk.rest()
    assert desk.read(lambda reader: reader.find(Custody)) == []
    assert desk.app.house.settings["rule_set"] == "uk"
    elsewhere(desk, SetSetting, setting="rule_set", value="us_california")
    desk.app._half_minute()
    desk.rest()
    assert desk.app.house.settings["rule_set"] == "us_california"
