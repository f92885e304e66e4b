"""Issue and return at the counter, driven by scanner, keys and mouse, read from the screen."""

from __future__ import annotations

import pytest

from cribdesk.crib.records import Custody, Unit
from tests.window.desk_window import DeskWindow


def where(desk: DeskWindow, name: str) -> str:
    """Where a unit is, by the store."""
    label = desk.label(name)
    found = desk.read(lambda reader: reader.first(Unit, label=label))
    assert found is not None
    return found.where.value


def test_hand_over_from_scan_to_slip(signed_on: DeskWindow) -> None:
    """A pre-inspected unit goes out: four scans, one key, the check, the wearer's badge; then the slip."""
    desk = signed_on
    desk.put_down()
    desk.shows("Łucja Wronecka", desk.label("wl-1"), desk.label("pack-1"), "Plate shop, bay 3", "Check", "F5")
    desk.press("F5")
    desk.shows("step 1 of", "Good", "Not good", "Back", "Break off")
    desk.answer_well()
    desk.says("Checked. Łucja Wronecka: scan your badge to take it")
    desk.shows("The check passed", "Somebody else's badge changes nothing")
    desk.scan("Wronecka")
    desk.says("Issued", desk.label("wl-1"), "Łucja Wronecka", "Slip", "is printing")
    assert desk.printer.names() == ["issue_slip"]
    assert [one.operation for one in desk.entries(3)] == ["print", "issue", "sign-on"]
    assert where(desk, "wl-1") == "out"


def test_things_go_on_the_counter_in_any_order(signed_on: DeskWindow) -> None:
    """Whatever comes first, second, third and last, it ends at the same offer, with the same reasons."""
    desk, seen = signed_on, set()
    things = ["Wronecka", "wl-1", "pack-1", "bay-3"]
    for turned in range(4):
        order = things[turned:] + things[:turned]
        order = order if turned % 2 else order[::-1]
        desk.scan(*order)
        assert desk.button("Check").isEnabled(), order
        findings = [one.accessibleName() for one in desk.buttons() if "1910.134" in one.accessibleName()]
        seen.add(tuple(findings))
        desk.press("F9")
        assert not [one for one in desk.buttons() if one.text() == "Check"]
    assert len(seen) == 1
    assert desk.entries(1)[0].operation == "sign-on"


def test_what_is_still_missing_is_said(signed_on: DeskWindow) -> None:
    """The button says what has to be scanned next, and its key does nothing but say it again."""
    desk = signed_on
    desk.scan("Wronecka", "wl-1")
    desk.shows("Scan the battery that goes along.")
    desk.press("F5")
    desk.says("Scan the battery that goes along.")
    desk.scan("pack-1")
    desk.shows("Scan the area, or choose it with F6.")
    desk.scan("bay-3")
    assert desk.button("Check").isEnabled()


def test_full_inspection_by_keyboard_alone(signed_on: DeskWindow) -> None:
    """A day after the bench inspection the whole one is asked for, from the first look to the alarm."""
    desk = signed_on
    desk.clock.later(hours=24)
    desk.put_down()
    desk.shows("Inspect", "full check, 13 steps")
    desk.press("F5")
    desk.says("Full inspection of", desk.label("wl-1"))
    desk.shows("step 1 of 13", "If it is not good, next:")
    desk.answer_well("reading")
    desk.shows("Airflow at the tube end?", "At least 170", "Flow meter meter, calibrated until 3 May 2027")
    desk.answer_well("timed")
    desk.shows("Start the clock", "At 20 s the step closes by itself as not good")
    desk.answer_well()
    desk.says("Checked. Łucja Wronecka")
    desk.scan("Wronecka")
    desk.says("Issued", desk.label("wl-1"))
    assert [one.operation for one in desk.entries(2)] == ["print", "issue"]


def test_a_stop_cannot_be_issued(signed_on: DeskWindow) -> None:
    """With training lapsed there is no blue field, and F5 does nothing."""
    desk = signed_on
    before = desk.seq()
    desk.scan("pack-2", "bay-3", "Dobrosi", "wl-2")
    desk.says("Not to Imre Dobrosi: training ended")
    desk.shows("Stop", "Not to be issued to Imre Dobrosi", "1910.134")
    assert not [one for one in desk.buttons() if one.text() in ("Check", "Inspect", "Issue")]
    desk.press("F5")
    desk.shows("Not to be issued to Imre Dobrosi")
    assert desk.app.slate.check is None
    assert desk.seq() == before


@pytest.mark.parametrize(
    ("person", "unit", "words"),
    [
        ("Halvorsen", "wl-1", "medical"),
        ("Marek", "wl-1", "badge"),
        ("Nkemba", "ff-1", "fit test"),
    ],
)
def test_other_stops_are_said(signed_on: DeskWindow, person: str, unit: str, words: str) -> None:
    """No medical clearance, an ended badge, no fit test for a tight-fitting unit: each is a stop with its words."""
    desk = signed_on
    desk.scan(person, unit)
    desk.shows("Stop")
    assert words in desk.shown().lower()
    assert not [one for one in desk.buttons() if one.text() in ("Check", "Inspect", "Issue")]


def test_somebody_elses_badge_changes_nothing(signed_on: DeskWindow) -> None:
    """Only the wearer's own badge takes the unit."""
    desk = signed_on
    desk.put_down()
    desk.press("F5")
    desk.answer_well()
    before = desk.seq()
    desk.scan("Verrani")
    desk.says("Paolo Verrani", "The wearer is Łucja Wronecka", "Nothing changed.")
    desk.scan("wl-2")
    desk.says("The check is done: scan the badge of Łucja Wronecka")
    assert desk.seq() == before
    assert where(desk, "wl-1") == "rack"


def test_a_signed_slip_stands_for_the_badge(signed_on: DeskWindow) -> None:
    """The slip is printed, signed, and its number scanned; another slip is told."""
    desk = signed_on
    desk.put_down()
    desk.press("F5")
    desk.answer_well()
    desk.press("F7")
    assert desk.printer.names() == ["issue_slip"]
    desk.says("prints. Scan it when it is signed.")
    desk.scan("slip")
    desk.says("Issued", desk.label("wl-1"))
    assert where(desk, "wl-1") == "out"


def test_breaking_off_a_good_check_leaves_one_entry(signed_on: DeskWindow) -> None:
    """F12 at the second step: said, one entry, nothing issued, no hold."""
    desk = signed_on
    desk.put_down()
    desk.press("F5", "F5")
    before = desk.seq()
    desk.press("F12")
    desk.says(f"Check of {desk.label('wl-1')} broken off at step 2", "Nothing was issued; the journal has it.")
    assert desk.seq() == before + 1
    assert where(desk, "wl-1") == "rack"
    desk.lacks("On hold")


def test_back_is_allowed_and_recorded(signed_on: DeskWindow) -> None:
    """F9 goes one step back; the answer given first stays in the record."""
    desk = signed_on
    desk.put_down()
    desk.press("F5", "F5")
    desk.shows("step 2 of")
    desk.press("F9")
    desk.shows("step 1 of")
    desk.answer_well()
    assert desk.app.slate.passed is not None
    run = desk.app.slate.passed.run
    assert len(run.asked) > len({asked.step for asked in run.asked})


def test_other_area_and_time_are_chosen_by_touch(signed_on: DeskWindow) -> None:
    """F6 opens what can be chosen; the slate takes the area and the later time."""
    desk = signed_on
    desk.put_down()
    desk.press("F6")
    desk.shows("Where to, and until when?", "Plate shop, bay 3", "Repair, bay 7")
    desk.click("Repair, bay 7")
    desk.click("22:30")
    desk.press("F5")
    desk.says("For Repair, bay 7")
    desk.shows("Due back 22:30")


def test_return_now(signed_on: DeskWindow) -> None:
    """Taken back by a key; hours, speed, battery and damage at once."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=7)
    desk.scan("wl-1")
    desk.shows("Out", "Łucja Wronecka", "Take back")
    desk.press("F5")
    desk.says("The rest now, or later with F9")
    desk.shows("Back from Łucja Wronecka", "Hours worn", "the clock proposes", desk.label("pack-1"))
    desk.click("back")
    desk.click("stopped before")
    desk.press("F5")
    desk.lacks("Back from Łucja Wronecka")
    custody = desk.read(lambda reader: reader.latest(Custody))
    assert custody is not None
    assert custody.completed_at is not None
    assert custody.worn_hours == pytest.approx(7.0)
    desk.shows("Not checked")
    assert where(desk, "wl-1") != "out"


def test_return_later_waits_at_the_bench(signed_on: DeskWindow) -> None:
    """F9 leaves the rest for later; the bench list has it and finishes it."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=7)
    desk.scan("wl-1")
    desk.press("F5", "F9", "F9")
    desk.window.open_place("bench")
    desk.rest()
    desk.shows("Returns to complete", desk.label("wl-1"))
    desk.click(f"Complete the return of {desk.label('wl-1')}")
    desk.shows("Back from Łucja Wronecka", "Hours worn")
    desk.scan("pack-1")
    desk.press("F5")
    custody = desk.read(lambda reader: reader.latest(Custody))
    assert custody is not None
    assert custody.completed_at is not None


def test_returns_in_a_rush(signed_on: DeskWindow) -> None:
    """F6 on the empty counter: each scan takes one unit back; a unit that is in is shown, not toggled."""
    desk = signed_on
    desk.issue("Wronecka", "wl-1", "pack-1")
    desk.issue("Verrani", "wl-2", "pack-2")
    desk.clock.later(hours=7)
    desk.press("F6")
    desk.shows("Scan each unit that comes back")
    desk.scan("wl-1", "wl-2")
    assert where(desk, "wl-1") != "out"
    assert where(desk, "wl-2") != "out"
    before = desk.seq()
    desk.scan("wl-1")
    desk.says("is already back", "not checked", "Nothing changed.")
    desk.scan("pack-1")
    desk.says("is no unit")
    assert desk.seq() == before
    desk.press("F9")
    desk.lacks("Scan each unit that comes back")


def test_somebody_else_brings_it_with_a_fault(signed_on: DeskWindow) -> None:
    """Another's badge names who brought it; a fault puts the unit on hold and prints the tag."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=7)
    desk.scan("wl-1")
    desk.press("F5")
    desk.scan("Verrani")
    desk.shows("Brought by Paolo Verrani")
    desk.click("low flow")
    desk.click("a fault")
    desk.click("Airflow too low")
    desk.press("F5")
    desk.says("Is its battery back? Scan it.")
    desk.scan("pack-1")
    desk.press("F5")
    assert "tag" in desk.printer.names()
    desk.shows("On hold")


def test_no_fault_can_be_said_again(signed_on: DeskWindow) -> None:
    """A fault that was touched by mistake is taken back by 'no fault'."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=7)
    desk.scan("wl-1")
    desk.press("F5")
    desk.click("a fault")
    desk.click("Airflow too low")
    desk.click("no fault")
    desk.lacks("not on the list")
    desk.press("F5")
    desk.lacks("On hold")
    assert "tag" not in desk.printer.names()
