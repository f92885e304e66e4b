"""What happens to units that stay out, driven through the window: swaps, exchanges, assignments, own checks."""

from __future__ import annotations

import os

import pytest

from cribdesk.crib.records import BatteryRun, Carried, OwnCheck
from cribdesk.desk.shift_lists.assigned import LIST
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit, wearing
from tests.window.test_check_day import operations
from tests.window.test_counter_day import where

PICTURES = os.environ.get("CRIBDESK_PICTURES", "")
"""A folder to keep pictures of the forms in, for eyes; none in an ordinary run."""


def look(desk: DeskWindow, name: str) -> None:
    """The words fit at both usual sizes; a picture of each where somebody wants to look."""
    desk.window.show_clock(desk.clock.moment)  # the window's own beat comes once a second
    desk.app.refresh_board()
    desk.rest()
    for wide, high in ((1440, 900), (1024, 768)):
        desk.window.resize(wide, high)
        desk.rest()
        assert_words_fit(desk.window)
        if PICTURES:
            desk.window.grab().save(f"{PICTURES}/{name}_{wide}.png")
    desk.window.resize(1440, 900)
    desk.rest()


def assign(desk: DeskWindow) -> None:
    """wl-1 is assigned to Wronecka."""
    desk.put_down()
    desk.scan("card assign")
    desk.press("F5")
    desk.answer_well()
    desk.scan("Wronecka")


def test_a_battery_is_swapped(signed_on: DeskWindow) -> None:
    """The flat pack, the charged one, how it ended, F5: four, and the counter is free again."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=3)
    desk.scan("wl-1")
    desk.shows("Swap the battery", "Exchange it")
    look(desk, "out")
    desk.press("F6")
    desk.shows("Scan the flat pack that comes in.")
    desk.press("F9", "F9")
    desk.scan("pack-1")
    desk.says("is out with", "Wronecka")
    desk.scan("pack-2")
    desk.shows("Flat pack in", "Charged pack out", "How its run ended")
    look(desk, "swap")
    desk.click("Ran flat")
    desk.press("F5")
    desk.says("went out to", "ran flat after 3")
    assert operations(desk, 1) == ["swap-battery"]
    assert where(desk, "wl-1") == "out"
    (run,) = desk.read(lambda reader: reader.find(BatteryRun))
    assert run.ended.value == "ran flat"
    assert desk.app.slate.empty


def test_a_swap_tells_of_a_pack_not_seen_charged(signed_on: DeskWindow) -> None:
    """The caution stands over the form before it is done."""
    desk = signed_on
    desk.issue()
    desk.scan("pack-1", "pack-flat")
    desk.shows("was not seen on a charger since its last use")
    look(desk, "swap_caution")
    desk.press("F5")
    assert operations(desk, 1) == ["swap-battery"]


def test_a_bad_unit_is_exchanged(signed_on: DeskWindow) -> None:
    """F7, the reason, F5; the wearer stays, the other unit goes through the check and out."""
    desk = signed_on
    desk.issue()
    desk.clock.later(hours=2)
    desk.scan("wl-1")
    desk.press("F7")
    desk.shows("Exchange the unit of", "What is wrong with it")
    look(desk, "exchange")
    desk.click("Airflow too low")
    desk.press("F5")
    desk.says("Scan the unit that goes out instead.")
    desk.shows("Łucja Wronecka", "Plate shop, bay 3")
    assert desk.printer.names()[-1] == "tag"
    look(desk, "exchanged")
    desk.scan("wl-2", "pack-2")
    desk.press("F5")
    desk.answer_well()
    desk.scan("Wronecka")
    assert operations(desk, 2) == ["issue", "exchange"]
    assert where(desk, "wl-2") == "out"


def test_a_unit_is_assigned_and_checked_by_its_wearer(signed_on: DeskWindow) -> None:
    """Assigned by the form of area and time; the own check by F11 and F5; not good by F8 holds it."""
    desk = signed_on
    desk.put_down()
    desk.press("F6")
    desk.click("Assigned, no time of return")
    look(desk, "area")
    desk.press("F5")
    desk.shows("Assigned, no time of return", "At the bench by")
    look(desk, "assign")
    desk.press("F5")
    desk.answer_well()
    desk.scan("Wronecka")
    desk.says("Assigned")
    assert where(desk, "wl-1") == "assigned"
    desk.clock.later(hours=20)
    desk.scan("Wronecka", "wl-1")
    look(desk, "badge_and_unit")
    desk.press("F11")
    desk.shows("Own check of", "Air and alarm good", "Not good")
    look(desk, "own_check")
    desk.press("F5")
    desk.says("own check of", "good")
    desk.clock.later(hours=20)
    desk.scan("Wronecka", "wl-1")
    desk.press("F11", "F8")
    desk.shows("What is not good", "Hold it")
    look(desk, "own_check_bad")
    desk.click("The air")
    desk.press("F5")
    desk.says("Do not use", "On hold")
    look(desk, "do_not_use")
    assert desk.printer.names()[-1] == "call_in_slip"
    checks = desk.read(lambda reader: reader.find(OwnCheck))
    assert [one.flow_good for one in checks] == [True, False]


def test_the_list_of_the_assigned_and_the_grid_of_a_slip(signed_on: DeskWindow) -> None:
    """The list leads to the form of the slip's days; what is ticked is kept."""
    desk = signed_on
    assign(desk)
    desk.clock.later(days=3)
    desk.window.open_place("shift", LIST.id)
    desk.rest()
    desk.shows("1 unit assigned", "No own check yet", "ench inspection by")
    look(desk, "assigned_list")
    desk.click("Own checks of the slip")
    desk.shows("Enter the own checks of a slip", "Yesterday")
    look(desk, "own_checks_form")
    desk.click("Yesterday")
    desk.press("F5")
    assert operations(desk, 1) == ["own-checks"]
    (check,) = desk.read(lambda reader: reader.find(OwnCheck))
    assert (check.source, check.flow_good) == ("slip", True)


def test_a_carrier_takes_it_back_to_its_wearer(signed_on: DeskWindow) -> None:
    """After it was in, F6 at the acknowledgement lets another badge carry it; the slip is printed."""
    desk = signed_on
    assign(desk)
    desk.clock.later(hours=5)
    desk.scan("wl-1")
    desk.press("F5")
    desk.press("F9", "F9")
    desk.put_down(pack="pack-2")
    desk.scan("card assign")
    desk.press("F5")
    desk.answer_well()
    desk.scan("Nkemba")
    desk.says("This badge is Abel Nkemba's.")
    look(desk, "acknowledge")
    desk.press("F6")
    desk.says("Scan the badge of who carries it to")
    desk.shows("Both stand on the slip.")
    desk.lacks("A carrier takes it", "says yes")
    look(desk, "carrier")
    desk.scan("Nkemba")
    desk.says("carried by Abel Nkemba")
    assert len(desk.read(lambda reader: reader.find(Carried))) == 1


@pytest.mark.parametrize(("dark", "u"), [(True, 2.0), (False, 1.0)])
def test_words_of_the_forms_fit_in_other_clothes(signed_on: DeskWindow, dark: bool, u: float) -> None:
    """Larger words and dark clothes cut nothing of the forms."""
    desk = signed_on
    assign(desk)
    desk.clock.later(hours=5)
    with wearing(dark, u):
        desk.window.resize(1920, 1080)
        for key in ("F6", "F7"):
            desk.scan("wl-1")
            desk.press(key)
            assert_words_fit(desk.window)
            desk.press("F9", "F9")
        desk.scan("Wronecka", "wl-1")
        desk.press("F11")
        assert_words_fit(desk.window)
        desk.press("F8")
        assert_words_fit(desk.window)
