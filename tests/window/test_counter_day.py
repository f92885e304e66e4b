"""A day at the counter, driven by scanner and keys, read from the screen: issue, return, hold, release."""

from __future__ import annotations

from tests.window.desk_window import DeskWindow


def test_hand_over_from_scan_to_slip(signed_on: DeskWindow) -> None:
    """A pre-inspected unit goes out: four scans, one key, the check, the wearer's badge; then the slip."""
    desk = signed_on
    desk.put_down()
    desk.shows("Łucja Wronecka", desk.label("wl-1"), desk.label("pack-1"), "Plate shop, bay 3", "Check")
    desk.press("F5")
    desk.shows("step 1 of", "Good", "Not good")
    desk.answer_well()
    desk.says("Checked. Łucja Wronecka: scan your badge to take it")
    desk.scan("Wronecka")
    desk.says("Issued", "Łucja Wronecka", "Slip", "is printing")
    assert desk.printer.names() == ["issue_slip"]
    assert [one.operation for one in desk.entries(3)] == ["print", "issue", "sign-on"]
