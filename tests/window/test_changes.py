"""What is there already is changed in place: moved, relabelled, counted, blocked, calibrated, taken out of use."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Calibration,
    CycleCount,
    Instrument,
    Lot,
    Part,
    PartPlace,
    Person,
    Role,
    StockItem,
    Unit,
    Where,
)
from cribdesk.desk.entry_changes import CHANGE_FORMS
from cribdesk.desk.entry_forms import FORMS
from cribdesk.desk.operation import Operation
from cribdesk.window.entry_form import EntryPage
from tests.desk.shop import R
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit, wearing

ROOT = Path(__file__).parents[2] / "cribdesk"


def page_of(desk: DeskWindow, form: str) -> EntryPage:
    """The page of forms, which must show this one."""
    assert desk.window.entry_open(), desk.shown()
    page = desk.window.entry
    assert isinstance(page, EntryPage)
    assert page.form_id() == form
    return page


def open_form(desk: DeskWindow, form: str, name: str = "") -> EntryPage:
    """The form about a named thing."""
    desk.window.doors.entry_wanted.emit(form, desk.label(name) if name else "")
    desk.rest()
    return page_of(desk, form)


def record(desk: DeskWindow, kind: type[R], name: str) -> R:
    """A named record as it stands."""
    field = {"label": desk.label(name)}
    found = desk.read(lambda reader: reader.first(kind, **field))
    assert found is not None
    return found


def the_lot(desk: DeskWindow, item: str) -> Lot:
    """The item's one lot."""
    item_id = record(desk, StockItem, item).id
    return desk.read(lambda reader: reader.find(Lot, item_id=item_id))[0]


@pytest.fixture
def office(desk: DeskWindow) -> DeskWindow:
    """The window with somebody of every role signed on."""
    desk.sign_on("Office")
    return desk


def test_a_unit_is_moved_from_its_page_by_keyboard(signed_on: DeskWindow) -> None:
    """F6 on the unit's page opens the form about it; entered, the page is back and says where the unit is."""
    desk = signed_on
    desk.window.open_place("unit", desk.label("wl-1"))
    desk.rest()
    desk.press("F6")
    page = page_of(desk, "move")
    assert page.values()["about"] == desk.label("wl-1")
    assert page.fields["where"].editor.hasFocus()  # type: ignore[union-attr]
    asked = next(one for one in page._form.fields if one.name == "where")  # type: ignore[union-attr]
    assert Where.EMERGENCY.value not in dict(asked.choices)  # a cabinet takes it at the counter, with its new seal
    desk.shows("scan the unit at the counter, then the cabinet")
    desk.type("At")  # the list's own choice by letters
    assert page.values()["where"] == Where.BENCH.value
    page.set_values({"place": "shelf 2"})
    desk.press("F5")
    assert not desk.window.entry_open()
    desk.says(desk.label("wl-1"), "bench, shelf 2")
    desk.shows("at the bench, shelf 2")
    unit = record(desk, Unit, "wl-1")
    assert (unit.where, unit.place) == (Where.BENCH, "shelf 2")


def test_what_the_rules_forbid_is_refused_in_place(office: DeskWindow) -> None:
    """It stands at the foot of the form; the values stay, nothing is in the journal."""
    desk = office
    page = open_form(desk, "cabinet")
    values = {"cabinet_name": "Gate 2", "purpose": "walking out of the fume", "for_danger": "no"}
    page.set_values(values)
    desk.press("F5")
    desk.says("Gate 2", "entered")
    before = desk.seq()
    page.set_values(values)
    desk.press("F5")
    assert "a cabinet in this store" in page.trouble.text()
    assert page.trouble.text().endswith("Nothing changed.")
    assert page.values()["cabinet_name"] == "Gate 2"
    assert desk.seq() == before


def test_a_unit_out_is_moved_nowhere_and_scrapping_says_why(signed_on: DeskWindow) -> None:
    """The choices follow how the unit stands; a scrapped unit needs its reason, and a word for each labelled part."""
    desk = signed_on
    desk.issue()
    page = open_form(desk, "move", "wl-1")
    desk.shows("take it back at the counter first")
    asked = next(one for one in page._form.fields if one.name == "where")  # type: ignore[union-attr]
    assert asked.choices == ()
    page = open_form(desk, "scrap", "wl-1")
    assert list(page.fields) == ["about"]  # somebody has it: it cannot even be chosen
    page = open_form(desk, "scrap", "wl-2")
    parts = [name for name in page.fields if name.startswith("part ")]
    assert len(parts) >= 2
    desk.press("F5")
    desk.shows("This is needed.")
    page.set_values({"why": "crushed under a pallet"} | dict.fromkeys(parts, "scrap") | {parts[0]: "keep"})
    desk.press("F5")
    assert record(desk, Unit, "wl-2").where is Where.SCRAPPED
    kept, gone = (desk.read(lambda reader, id_=int(name[5:]): reader.get(Part, id_)) for name in parts[:2])
    assert (kept.place, gone.place) == (PartPlace.SHELF, PartPlace.SCRAPPED)


def test_a_scanned_unit_is_what_the_form_is_about(signed_on: DeskWindow) -> None:
    """Opened about nothing, the form asks for the unit; a scan chooses it, another scan another."""
    desk = signed_on
    page = open_form(desk, "move")
    assert list(page.fields) == ["about"]
    for name in ("wl-2", "wl-3"):
        desk.scan(name)
        assert page.values()["about"] == desk.label(name)
        assert "where" in page.fields
    assert desk.app.slate.unit is None
    desk.says(f"{desk.label('wl-3')} is taken into the form")


def test_a_melted_label_is_replaced_and_the_page_follows(signed_on: DeskWindow) -> None:
    """The old label dies, the new one prints by F7, back leads to the unit under its new label."""
    desk = signed_on
    old = desk.label("wl-1")
    desk.window.open_place("unit", old)
    desk.rest()
    desk.click("New label")
    page = page_of(desk, "relabel")
    assert page.values()["about"] == old
    desk.press("F5")
    fresh = desk.entries(1)[0].subjects[0]
    desk.shows(f"{old} is replaced by {fresh}; the old label scans no more.", "Print its label")
    assert page.values()["about"] == ""
    desk.press("F7")
    assert desk.printer.names() == ["label_sheet"]
    desk.press("F9")
    assert desk.window.place() == ("units", fresh)
    desk.shows(fresh, "Worn in all")
    desk.window.doors.open_label(old)
    desk.rest()
    desk.says(f"{old} was replaced by {fresh}")


def test_a_badge_gets_a_new_label_from_its_card(signed_on: DeskWindow) -> None:
    """The person's card has the same way."""
    desk = signed_on
    desk.window.open_place("person", desk.label("Wronecka"))
    desk.rest()
    desk.click("New label")
    desk.press("F5")
    fresh = desk.entries(1)[0].subjects[0]
    desk.press("F9")
    assert desk.window.place() == ("people", fresh)
    desk.shows(fresh, "Łucja Wronecka")


def test_a_person_is_changed_from_what_stands(office: DeskWindow) -> None:
    """The form is filled with what stands; one role more, another crew, the rest as before."""
    desk = office
    before = record(desk, Person, "Brandl")
    desk.window.open_place("person", before.label)
    desk.rest()
    desk.click("Change this person")
    page = page_of(desk, "change-person")
    values = page.values()
    assert (values["full_name"], values["trade"], values["active"]) == ("Otto Brandl", "welder", "yes")
    assert (values[Role.ATTENDANT.value], values[Role.STOREKEEPER.value]) == ("yes", "no")
    page.set_values({"crew": "night", Role.STOREKEEPER.value: "yes"})
    desk.press("F5")
    after = record(desk, Person, "Brandl")
    assert (after.name, after.trade, after.crew) == ("Otto Brandl", "welder", "night")
    assert after.roles == f"{Role.ATTENDANT.value},{Role.STOREKEEPER.value}"
    desk.shows("night")
    desk.click("Change this person")
    page_of(desk, "change-person").set_values({"active": "no"})
    desk.press("F5")
    desk.shows("no longer active")


def test_who_may_not_change_people_is_told(signed_on: DeskWindow) -> None:
    """Castel administers nothing: the form says whose badge it takes."""
    open_form(signed_on, "change-person", "Brandl")
    signed_on.shows("This takes a program administrator or system administrator. Rhea Castel is none")
    before = signed_on.seq()
    signed_on.press("F5")
    assert signed_on.seq() == before


def test_nobody_signed_on_is_told_shortly(desk: DeskWindow) -> None:
    """Where any role may, the form asks for a staff badge, not for a list of roles."""
    open_form(desk, "move", "wl-1")
    desk.shows("Nobody is signed on: scan a staff badge first.")


def test_a_battery_goes_out_of_use_and_is_found_again(signed_on: DeskWindow) -> None:
    """From the list's opened row; the reason is needed; a scrapped pack is scanned into the form to be found again."""
    desk = signed_on
    pack = desk.label("pack-1")
    desk.window.open_place("batteries", pack)
    desk.rest()
    desk.shows("Charged", "Take out of use, or back")
    desk.click("Take out of use, or back")
    page = page_of(desk, "retire-battery")
    page.set_values({"place": BatteryPlace.SCRAPPED.value})
    desk.press("F5")
    assert page.fields["why"].fault() == "This is needed."  # type: ignore[union-attr]
    page.set_values({"why": "holds too little"})
    desk.press("F5")
    assert record(desk, Battery, "pack-1").place is BatteryPlace.SCRAPPED
    desk.window.doors.open_label(pack)
    desk.rest()
    desk.says(f"{pack} is not in this list")
    page = open_form(desk, "retire-battery")
    desk.scan("pack-1")
    page.set_values({"place": BatteryPlace.SHELF.value, "why": "found in a locker"})
    desk.press("F5")
    found = record(desk, Battery, "pack-1")
    assert (found.place, found.note) == (BatteryPlace.SHELF, "found in a locker")


def test_a_pack_out_with_its_unit_can_only_be_missing(signed_on: DeskWindow) -> None:
    """The choices follow where the pack is."""
    signed_on.issue()
    page = open_form(signed_on, "retire-battery", "pack-1")
    asked = next(one for one in page._form.fields if one.name == "place")  # type: ignore[union-attr]
    assert [value for value, _ in asked.choices] == [BatteryPlace.MISSING.value]


def test_lots_are_counted_one_after_the_other_by_scanning(signed_on: DeskWindow) -> None:
    """Scan the item, type the count, F5; a difference asks why, in place; the form stands there for the next."""
    desk = signed_on
    desk.window.open_place("stock", desk.label("WL1-FACESEAL"))
    desk.rest()
    desk.click("Count a lot")
    page = page_of(desk, "count")
    lot = the_lot(desk, "WL1-FACESEAL")
    assert page.values()["lot"] == str(lot.id)
    page.set_values({"counted": str(lot.on_hand - 2)})
    desk.press("F5")
    assert "2 apart from the book; say why" in page.trouble.text()
    page.set_values({"why": "not booked when fitted"})
    desk.press("F5")
    assert the_lot(desk, "WL1-FACESEAL").on_hand == lot.on_hand - 2
    desk.shows("was 395 in the book" if lot.on_hand == 395 else f"was {lot.on_hand} in the book")
    assert page_of(desk, "count").values()["about"] == ""
    desk.scan("WL1-COVER-OUT")
    other = the_lot(desk, "WL1-COVER-OUT")
    page.set_values({"counted": str(other.on_hand)})
    desk.press("F5")
    made = desk.read(lambda reader: reader.find(CycleCount))
    assert [(one.lot_id, one.booked - one.counted) for one in made] == [(lot.id, 2), (other.id, 0)]


def test_a_lot_is_blocked_and_freed_in_place(signed_on: DeskWindow) -> None:
    """Both from the lot's own line under the item; a block needs its reason."""
    desk = signed_on
    item = desk.label("WL1-FACESEAL")
    desk.window.open_place("stock", item)
    desk.rest()
    lot = the_lot(desk, "WL1-FACESEAL")
    desk.click(f"Block, lot {lot.code}")
    page = page_of(desk, "block")
    assert (page.values()["lot"], page.values()["what"]) == (str(lot.id), "block")
    desk.press("F5")
    assert page.fields["why"].fault() == "This is needed."  # type: ignore[union-attr]
    page.set_values({"why": "recalled by its maker"})
    desk.press("F5")
    assert the_lot(desk, "WL1-FACESEAL").blocked == "recalled by its maker"
    assert not desk.window.entry_open()
    desk.shows("blocked: recalled by its maker")
    desk.click(f"Lift the block, lot {lot.code}")
    assert page_of(desk, "block").values()["what"] == "lift"
    desk.press("F5")
    assert the_lot(desk, "WL1-FACESEAL").blocked == ""


def test_flow_meters_stand_at_the_bench_and_are_calibrated_there(signed_on: DeskWindow) -> None:
    """Each with its state, the one past its date first; calibrated it counts again."""
    desk = signed_on
    old = desk.label("meter-old")
    desk.window.open_place("bench")
    desk.rest()
    desk.shows("Flow meters", "Flow meter meter-old, meter-old: calibration ended yesterday", "good until 3 May 2027")
    desk.click(f"Calibrate, {old}")
    page = page_of(desk, "calibrate")
    page.set_values({"made_on": "2026-11-26", "good_until": "2026-11-20"})
    desk.press("F5")
    desk.shows("26 Nov 2026 is still to come.", "20 Nov 2026 lies before 26 Nov 2026.")
    page.set_values(
        {"made_on": "2026-11-24", "good_until": "2027-11-24", "found_error_lpm": "-1,5", "certificate": "KL-7"}
    )
    desk.press("F5")
    assert record(desk, Instrument, "meter-old").calibrated_until == date(2027, 11, 24)
    made = desk.read(lambda reader: reader.find(Calibration))[-1]
    assert (made.found_error_lpm, made.certificate) == (-1.5, "KL-7")
    desk.shows("Flow meter meter-old, meter-old: good until 24 Nov 2027")


def test_the_calendars_meter_leads_to_its_calibration(signed_on: DeskWindow) -> None:
    """Pressing the meter's line beside the bench opens the form about it."""
    desk = signed_on
    desk.window.open_place("bench")
    desk.rest()
    desk.click(f"caution: Flow meter meter-old {desk.label('meter-old')}")
    assert page_of(desk, "calibrate").values()["about"] == desk.label("meter-old")


def test_plates_of_the_journal_lead_to_every_kind_of_thing(office: DeskWindow) -> None:
    """Packs, items, areas, meters, parts and tags open where they are shown."""
    desk = office
    blower = desk.label("wl-1 blower")
    for label, place in (
        (desk.label("pack-2"), ("batteries", desk.label("pack-2"))),
        (desk.label("WL1-FACESEAL"), ("stock", desk.label("WL1-FACESEAL"))),
        (desk.label("bay-3"), ("areas", desk.label("bay-3"))),
        (desk.label("meter"), ("bench", desk.label("meter"))),
        (blower, ("units", desk.label("wl-1"))),
    ):
        desk.window.open_place("journal")
        desk.rest()
        desk.window.doors.open_label(label)
        desk.rest()
        assert desk.window.place() == place
    desk.window.open_place("areas", desk.label("bay-3"))
    desk.rest()
    desk.shows("Plate shop, bay 3", "Enter a finding", "New label")


def test_the_slate_knows_what_a_form_changed(signed_on: DeskWindow) -> None:
    """A unit that lies on the counter while it is moved is shown as it is now."""
    desk = signed_on
    desk.scan("wl-1")
    page = open_form(desk, "move", "wl-1")
    page.set_values({"where": Where.BENCH.value, "place": "for a look"})
    desk.press("F5")
    assert desk.app.slate.unit is not None
    assert desk.app.slate.unit.unit.where is Where.BENCH


@pytest.mark.parametrize(("dark", "u", "wide", "high"), [(False, 1.0, 1440, 900), (True, 2.0, 1920, 1080)])
def test_words_of_every_changing_form_fit(office: DeskWindow, dark: bool, u: float, wide: int, high: int) -> None:
    """No form cuts a word once it is about something, nor do the places it is opened from."""
    desk = office
    about = {
        "move": "wl-1", "relabel": "Wronecka", "change-person": "Marek", "retire-battery": "pack-1",
        "count": "WL1-PREFILTER", "block": "WL1-PREFILTER", "calibrate": "meter-old",
    }  # fmt: skip
    assert set(about) == {kind.id for kind in CHANGE_FORMS}
    with wearing(dark, u):
        desk.window.resize(wide, high)
        for form, name in about.items():
            page = open_form(desk, form, name)
            assert_words_fit(page)
            assert page.go.isVisible()
        for place, name in (
            ("unit", "wl-1"), ("person", "Wronecka"), ("batteries", "pack-1"), ("stock", "WL1-PREFILTER"),
            ("areas", "bay-3"), ("bench", ""),
        ):  # fmt: skip
            desk.window.open_place(place, desk.label(name) if name else "")
            desk.rest()
            assert_words_fit(desk.window)


def test_every_operation_is_reached() -> None:
    """Each operation is behind a form, or made by the counter's own files; one sent at once is a sample's only."""
    counter = "".join(
        path.read_text("utf-8")
        for path in [*ROOT.glob("*.py"), *(ROOT / "desk").rglob("*.py")]
        if not path.name.startswith(("entry_", "intake"))
    )
    by_form = {kind.operation for kind in FORMS.values()}
    everything = {one for one in subclasses(Operation) if one.__module__.startswith("cribdesk.")}
    assert len(everything) > 30
    missing = {
        one.__name__ for one in everything - by_form if not re.search(rf"\b{one.__name__}\(\s*operation_id=", counter)
    }
    assert missing == {"SendRequisition"}


def subclasses(of: type[Operation]) -> set[type[Operation]]:
    """Every class made from this one."""
    return {found for one in of.__subclasses__() for found in (one, *subclasses(one))}


def test_what_is_kept_of_somebody_who_left_is_erased_from_their_page(office: DeskWindow) -> None:
    """The button stands once the badge has ended; the form says how long it is kept, and refuses until then."""
    desk = office
    desk.window.open_place("person", desk.label("Verrani"))
    desk.rest()
    desk.lacks("Erase what is kept")
    form = open_form(desk, "change-person", "Verrani")
    form.set_values({"active": "no"})
    desk.press("F5")
    desk.window.open_place("person", desk.label("Verrani"))
    desk.rest()
    desk.click("Erase what is kept")
    form = page_of(desk, "erase-person")
    desk.shows("It cannot be undone", "backups and dumps made before", "29 CFR 1910.1020(d)")
    assert_words_fit(desk.window)
    today = desk.app.house.today(desk.clock.moment)
    before = desk.seq()
    form.set_values({"left_on": today.isoformat()})
    desk.press("F5")
    assert "Tick it" in form.trouble.text()
    form.set_values({"left_on": today.isoformat(), "sure": "yes"})
    desk.press("F5")
    assert "is not erased: it is kept until" in form.trouble.text()
    assert desk.seq() == before
    desk.press("F9")
    desk.window.open_place("counter")
    desk.scan("card sign-on", "Castel")
    desk.window.doors.entry_wanted.emit("erase-person", desk.label("Verrani"))
    desk.rest()
    desk.says("opens for a program administrator or system administrator only")
