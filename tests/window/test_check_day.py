"""Checks driven end to end: by keys, by answer card, by mouse; the ladder, the alarm's window, fails and breaks."""

from __future__ import annotations

import pytest

from cribdesk.crib.records import Lot, StockItem
from cribdesk.procedure.run import page
from tests.window.desk_window import DeskWindow, StepClock


def begun(desk: DeskWindow, until: str = "") -> DeskWindow:
    """A full inspection of wl-1 before an issue, answered well up to there."""
    desk.clock.later(hours=24)
    desk.put_down()
    desk.press("F5")
    if until:
        desk.answer_well(until)
    if until == "reading":
        desk.air()
    return desk


def read_flow(desk: DeskWindow, *readings: int) -> None:
    """Type the readings, one after the other."""
    for one in readings:
        desk.type(str(one))
        desk.press("F5")


def stock(desk: DeskWindow, code: str) -> int:
    """How many are on the shelf, over all lots."""

    def count(reader: object) -> int:
        item = reader.first(StockItem, code=code)  # type: ignore[attr-defined]
        return sum(lot.on_hand for lot in reader.find(Lot, item_id=item.id))  # type: ignore[attr-defined]

    return desk.read(count)


def operations(desk: DeskWindow, count: int) -> list[str]:
    """The last operations, newest first, prints left out."""
    return [one.operation for one in desk.entries(30) if one.operation != "print"][:count]


def test_by_answer_card_alone(signed_on: DeskWindow) -> None:
    """The whole hand-over without a key: go, good, good ... from printed codes, then the badge."""
    desk = signed_on
    desk.put_down()
    desk.scan("card go")
    for _ in range(20):
        check = desk.app.slate.check
        if check is None:
            break
        desk.scan("card next" if page(check.run).kind == "action" else "card good")
    desk.says("Checked. Łucja Wronecka")
    desk.scan("Wronecka")
    desk.says("Issued", desk.label("wl-1"))


def test_answer_cards_go_back_and_break_off(signed_on: DeskWindow) -> None:
    """'Back' and 'break off' are on the card too; 'next' never passes a look."""
    desk = signed_on
    desk.put_down()
    desk.scan("card go", "card good", "card back")
    desk.shows("step 1 of")
    desk.scan("card next")
    desk.shows("step 1 of")
    desk.scan("card break-off")
    desk.says("broken off at step 1")


def test_by_mouse_alone(signed_on: DeskWindow) -> None:
    """Every answer can be touched: the buttons, the number pad, the alarm's field."""
    desk = begun(signed_on, "reading")
    for figure in "184":
        desk.click(figure)
    desk.shows("14 above the minimum")
    desk.click("Enter")
    desk.click("Start the clock")
    StepClock.ran = 17.0
    desk.click_on(desk.window.check._body.field)
    StepClock.ran = 0.0
    desk.click("Good")
    desk.says("Checked. Łucja Wronecka")


def test_a_reading_is_judged_while_it_is_typed(signed_on: DeskWindow) -> None:
    """Under the field stands at once what the figure comes to; above the band is no pass either."""
    desk = begun(signed_on, "reading")
    desk.shows("Type the reading.")
    desk.type("158")
    desk.shows("12 below the minimum. Next: set-up right.")
    for _ in "158":
        desk.click("Take back one")
    desk.type("172")
    desk.shows("2 above the minimum; 175 is needed to be sure. 2 more, then their mean decides.")
    for _ in "172":
        desk.click("Take back one")
    desk.type("214")
    desk.shows("more than this model can give. Next: open the door and look.")


def test_ball_stands_for_a_number(signed_on: DeskWindow) -> None:
    """A meter without figures: the ball above the mark is a pass, kept with the meter."""
    desk = begun(signed_on, "reading")
    desk.press("F6")
    desk.shows("Low-flow alarm")
    desk.shows("step 13 of 13")


def test_ladder_with_parts_from_the_list_and_by_scan(signed_on: DeskWindow) -> None:
    """Low flow goes down the ladder; the pre-filter comes from the list, the filter from its scanned stock label."""
    desk = begun(signed_on, "reading")
    read_flow(desk, 168)
    assert operations(desk, 1) == ["hold-unfinished"]
    desk.shows("168")
    read_flow(desk, 170, 169)
    desk.press("F5")
    desk.shows("charged pack")
    desk.press("F5")
    desk.says("Scan the charged pack that goes in.")
    desk.scan("pack-1")
    desk.says(desk.label("pack-1"), "is the pack that is in it now", "Nothing changed.")
    assert operations(desk, 1) == ["hold-unfinished"]
    desk.scan("pack-2")
    assert operations(desk, 1) == ["put-battery"]
    desk.press("F5")
    before = stock(desk, "WL1-PREFILTER")
    desk.press("F5")
    desk.shows("lot OLD, good until 31 Dec 2026", "there", "Choose what goes in.")
    desk.press("F5")
    assert stock(desk, "WL1-PREFILTER") == before
    desk.click("Wl1 prefilter, lot OLD")
    desk.press("F5")
    assert stock(desk, "WL1-PREFILTER") == before - 1
    desk.shows("Airflow, retest 1", "First was 1 short", "pre-filter changed: Wl1 prefilter, lot OLD")
    read_flow(desk, 161)
    filters = stock(desk, "WL1-HEFILTER")
    desk.press("F5")
    desk.scan("WL1-HEFILTER")
    desk.press("F5")
    assert stock(desk, "WL1-HEFILTER") == filters - 1, desk.shown()
    read_flow(desk, 183)
    desk.timed(17)
    desk.press("F5")
    desk.says("Checked. Łucja Wronecka")
    desk.scan("Wronecka")
    desk.says("Issued", desk.label("wl-1"), desk.label("pack-2"))


def test_ladder_to_the_end_prints_the_tag(signed_on: DeskWindow) -> None:
    """Still low after every rung: the blower fails, the unit is held, its tag prints, another unit is asked for."""
    desk = begun(signed_on, "reading")
    read_flow(desk, 150)
    desk.press("F5", "F5")
    desk.scan("pack-2")
    desk.press("F5", "F5")
    desk.scan("WL1-PREFILTER")
    desk.press("F5")
    read_flow(desk, 151)
    desk.press("F5")
    desk.scan("WL1-HEFILTER")
    desk.press("F5")
    read_flow(desk, 152)
    desk.press("F5")
    read_flow(desk, 158)
    desk.says("on hold: Airflow 158 L/min after the whole ladder", "At least 170 is needed")
    assert desk.printer.names() == ["tag"]
    desk.shows("Łucja Wronecka", "Scan the unit")
    desk.scan("wl-1")
    desk.shows("Stop", "Airflow 158 L/min after the whole ladder")


@pytest.mark.parametrize(("seconds", "end", "passes"), [(15.5, "F5", True), (19.9, "F5", True), (12.0, "F5", False)])
def test_alarm_must_come_inside_its_window(signed_on: DeskWindow, seconds: float, end: str, passes: bool) -> None:
    """15 to 20 s pass; earlier is told and is no pass."""
    desk = begun(signed_on, "timed")
    desk.timed(seconds, end)
    desk.shows("Tube open again: alarm off?" if passes else "Low-flow alarm")
    assert (operations(desk, 1) == ["hold-unfinished"]) is not passes


def test_alarm_that_does_not_come_closes_the_step(signed_on: DeskWindow) -> None:
    """When the window has closed the step ends by itself as not good, nobody pressing anything."""
    desk = begun(signed_on, "timed")
    desk.press("F5")
    desk.shows("Wait", "The window opens in 15.0 s")
    StepClock.ran = 17.0
    desk.window.check._body._tick()
    desk.shows("Now", "It must come within 3.0 s")
    StepClock.ran = 20.05
    desk.window.check._body._tick()
    desk.rest()
    StepClock.ran = 0.0
    assert "hold-unfinished" in operations(desk, 2)


def test_not_good_is_written_at_once_and_outlives_the_break(signed_on: DeskWindow) -> None:
    """The first 'not good' is a hold before anything else; breaking off leaves it; the unit shows why."""
    desk = begun(signed_on)
    desk.press("F8")
    assert operations(desk, 1) == ["hold-unfinished"]
    desk.press("F12")
    desk.says("broken off at step 1", "Nothing was issued")
    desk.press("F9")
    desk.scan("wl-1")
    desk.shows("On hold", "nspection not finished")


def test_a_check_left_alone_ends(signed_on: DeskWindow) -> None:
    """Ten idle minutes end the run; it is never resumed."""
    desk = begun(signed_on)
    desk.press("F5")
    desk.clock.later(minutes=11)
    desk.app._second()
    desk.rest()
    desk.says("stood for 10 minutes and ended", "Begin again from its first step")
    desk.lacks("step 2 of")


def test_another_scan_in_a_check_is_told(signed_on: DeskWindow) -> None:
    """While a check is open a unit, a badge or an area is told and changes nothing; a meter is taken."""
    desk = begun(signed_on)
    for name in ("wl-2", "Verrani", "bay-7", "pack-3"):
        desk.scan(name)
        desk.says(f"The check of {desk.label('wl-1')} is open", "Nothing changed.")
    desk.scan("meter-old")
    desk.says("calibration ended", "Nothing changed.")
    desk.scan("meter")
    desk.says("is the meter now")
    desk.shows("step 1 of")


@pytest.mark.long
def test_alarm_in_real_time(desk: DeskWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    """The step's own clock, waited for: 16 s after the start the alarm is inside its window."""
    from PySide6.QtCore import QElapsedTimer

    from cribdesk.window.check import timed
    from cribdesk.window.hands import settle

    monkeypatch.setattr(timed, "QElapsedTimer", QElapsedTimer)
    desk.sign_on()
    begun(desk, "timed")
    desk.press("F5")
    settle(16_000)
    desk.shows("Now")
    desk.press("F5")
    desk.shows("Tube open again: alarm off?")
