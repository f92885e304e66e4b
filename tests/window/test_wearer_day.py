"""The wearer at the window: the look at the seal, cautions accepted by name, work limits, a class, what lapses."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cribdesk.crib.records import CautionAccepted, Clearance, ClearanceKind, SealLook, WorkLimit
from cribdesk.desk.people import AddClearance
from cribdesk.desk.work_limits import SetWorkLimit
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit
from tests.window.moment import OPENED
from tests.window.test_call_in_day import elsewhere, person
from tests.window.test_changes import open_form
from tests.window.test_hold_day import write

TODAY = OPENED.date()


def limited(desk: DeskWindow, name: str, code: str) -> None:
    """The health professional names a limit today."""
    elsewhere(desk, SetWorkLimit, person_id=person(desk, name).id, code_of_limit=code, given_on=TODAY)


def test_the_face_is_looked_at_before_a_tight_fitting_unit_goes(signed_on: DeskWindow) -> None:
    """One key opens the question, one says clear; eyeglasses stop it until they are off. 1910.134(g)(1)(i)-(ii)."""
    desk = signed_on
    desk.put_down("Wronecka", "ff-1", "pack-ff", "bay-3")
    desk.shows("Seal not looked at yet", "29 CFR 1910.134(g)(1)", "Look at the seal")
    desk.press("F5")
    desk.shows("The face of Łucja Wronecka", "eyeglass temples", "Nothing under the seal")
    assert_words_fit(desk.window)
    desk.press("F8")
    desk.click("Eyeglass temples, straps or anything else")
    desk.press("F5")
    desk.says("something lies under it")
    desk.shows("Something lies under the seal", "Look at the seal")
    desk.press("F5", "F5")
    desk.says("nothing lies under it")
    desk.lacks("Seal not looked at yet", "Something lies under the seal")
    desk.shows("Check")
    looks = desk.read(lambda reader: reader.find(SealLook))
    assert [(one.hair, one.under_seal) for one in looks] == [(False, True), (False, False)]


def test_a_loose_fitting_unit_asks_for_no_look(signed_on: DeskWindow) -> None:
    """Three scans and a key are the plain case still."""
    desk = signed_on
    desk.put_down()
    desk.lacks("Look at the seal", "Seal not looked at")
    desk.press("F5")
    assert desk.window.check.isVisible()


def test_a_work_limit_stands_on_the_card_without_its_reason(signed_on: DeskWindow) -> None:
    """In the column of the wearer, among the reasons, on the person's page; it stops what it forbids."""
    desk = signed_on
    limited(desk, "Wronecka", "loose-fitting only")
    desk.put_down("Wronecka", "ff-1", "pack-ff", "bay-3")
    desk.shows("Work limit", "Loose-fitting only", "Take a loose-fitting unit.", "29 CFR 1910.134(e)(6)(i)(A)")
    desk.lacks("Look at the seal")  # it does not go out anyway
    desk.window.open_place("person", desk.label("Wronecka"))
    desk.rest()
    desk.shows("Work limit", "Loose-fitting only")


def test_a_caution_is_accepted_by_name(signed_on: DeskWindow) -> None:
    """Who accepts stands there, a reason has to be said, and both are in the store once the unit went out."""
    desk = signed_on
    limited(desk, "Wronecka", "not above 30 C")
    desk.put_down()
    desk.shows("A caution has to be accepted by name first.", "Accept the cautions")
    desk.press("F5")
    desk.shows("Rhea Castel", "accepts it", "The crib does not see how warm it is out there")
    desk.press("F5")
    desk.says("Why it may go out: say it.")
    desk.click("Another reason, in words")
    write(desk, "In words", "asked the foreman: 22 degrees")
    desk.press("F5")
    desk.says("Accepted by Rhea Castel: asked the foreman: 22 degrees")
    assert desk.read(lambda reader: reader.find(CautionAccepted)) == []  # nothing is kept of what does not go out
    desk.press("F5")
    desk.answer_well()
    desk.scan("Wronecka")
    desk.says("Issued", "cautions accepted by")
    (kept,) = desk.read(lambda reader: reader.find(CautionAccepted))
    assert (kept.code, kept.why, kept.by_id) == (
        "work-limit", "asked the foreman: 22 degrees", person(desk, "Castel").id,
    )  # fmt: skip


def test_a_class_is_entered_badge_after_badge(signed_on: DeskWindow) -> None:
    """From the place People; an attendant is told whose work it is. One entry for all."""
    desk = signed_on
    desk.window.open_place("people", "")
    desk.rest()
    desk.click("Class or test day")
    desk.says("A program administrator enters a class or a test day.")
    desk.scan("card sign-on", "Lindqvist")
    desk.window.open_place("people", "")
    desk.rest()
    desk.click("Class or test day")
    desk.click("Training")
    desk.scan("Nkemba", "Wronecka", "Dobrosi")
    desk.shows("Abel Nkemba", "Łucja Wronecka", "Imre Dobrosi", "3 people in the list.")
    assert_words_fit(desk.window)
    before = desk.seq()
    desk.press("F5")
    desk.says("entered for 3 people")
    assert desk.seq() == before + 1
    made = desk.read(lambda reader: reader.find(Clearance, kind=ClearanceKind.TRAINING, given_on=TODAY))
    assert len(made) == 3


def test_what_lapses_is_listed_for_the_administrator_alone(signed_on: DeskWindow) -> None:
    """What lapsed first, then by 30, 60, 90 days; the card says the days left."""
    desk = signed_on
    fields = {"kind": ClearanceKind.MEDICAL, "given_on": TODAY, "until": TODAY + timedelta(days=12)}
    elsewhere(desk, AddClearance, person_id=person(desk, "Nkemba").id, **fields)
    desk.window.open_place("shift", "lapses")
    desk.rest()
    desk.lacks("Within 30 days", "Medical clearance ends in 12 days")
    desk.window.open_place("person", desk.label("Nkemba"))
    desk.rest()
    desk.shows("ends in 12 days")
    desk.scan("card sign-on", "Lindqvist")
    desk.window.open_place("shift", "lapses")
    desk.rest()
    desk.shows("Lapsed, not renewed", "Imre Dobrosi", "Training ended 22 Nov 2026, 3 days ago.")
    desk.shows("Within 30 days", "Abel Nkemba", "Medical clearance ends in 12 days, 7 Dec 2026.")
    desk.shows("In 31 to 60 days", "Fit test with full-facepiece PAPR, size M ends in 45 days, 9 Jan 2027.")
    assert_words_fit(desk.window)


def test_a_limit_is_entered_and_ended_by_forms(signed_on: DeskWindow) -> None:
    """The figure is asked for where the limit has one; ended, it is on file and counts no more."""
    desk = signed_on
    desk.scan("card sign-on", "Lindqvist")
    form = open_form(desk, "work-limit", "Nkemba")
    desk.shows("Never the reason, never a diagnosis.")
    assert not form.fields["figure hours"].isVisible()
    form.set_values({"limit": "hours"})
    assert form.fields["figure hours"].isVisible()
    form.set_values({"figure hours": "99"})
    form.go.click()
    desk.rest()
    assert desk.read(lambda reader: reader.find(WorkLimit)) == []
    form.set_values({"figure hours": "2,5"})
    form.go.click()
    desk.rest()
    (made,) = desk.read(lambda reader: reader.find(WorkLimit))
    assert (made.code, made.ended_on, made.given_on) == ("hours at most 2.5", None, date(2026, 11, 25))
    form = open_form(desk, "end-work-limit", "Nkemba")
    form.go.click()
    desk.rest()
    (ended,) = desk.read(lambda reader: reader.find(WorkLimit))
    assert ended.ended_on == TODAY


@pytest.mark.parametrize("name", ["Wronecka", "Nkemba"])
def test_what_is_on_file_opens_for_the_role_alone(signed_on: DeskWindow, name: str) -> None:
    """An attendant is told whose form it is; the administrator reads it above the fields."""
    desk = signed_on
    detail = "no climbing, sees the doctor in May"
    fields = {"kind": ClearanceKind.MEDICAL, "given_on": TODAY, "detail": detail}
    elsewhere(desk, AddClearance, person_id=person(desk, name).id, **fields)
    desk.window.open_place("person", desk.label(name))
    desk.rest()
    desk.lacks(detail)
    desk.click("Enter a clearance")
    desk.says("opens for a program administrator or system administrator only")
    desk.lacks(detail)
    desk.scan("card sign-on", "Lindqvist")
    open_form(desk, "clearance", name)
    desk.shows(detail)
