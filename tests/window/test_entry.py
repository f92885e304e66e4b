"""Somebody's own store in the window: begun, filled form by form, until a unit is inspected and issued."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt

from cribdesk.crib.records import Area, Clearance, Fitted, Instrument, Lot, Part, Person, Role, StockItem, Unit
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import FORMS, form_of, may_open, operation_of
from cribdesk.desk.ports import Reader
from cribdesk.store.check import check
from cribdesk.window.components.fields import Field
from cribdesk.window.entry_form import ENTRIES, EntryPage
from tests.desk.shop import house
from tests.window.conftest import OPENED, Stand
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit, wearing


@pytest.fixture
def own(standing: Stand, tmp_path: Path) -> DeskWindow:
    """The window on an own store that was made this moment."""
    return standing(tmp_path / "own.sqlite", create=True)


@pytest.fixture
def begun(own: DeskWindow) -> DeskWindow:
    """The same with its first person signed on."""
    enter(own, "first", full_name="Wanda Ostrowicz")
    return own


def page_of(desk: DeskWindow) -> EntryPage:
    """The page of forms, which must be open."""
    assert desk.window.entry_open(), desk.shown()
    page = desk.window.entry
    assert isinstance(page, EntryPage)
    return page


def enter(desk: DeskWindow, form: str, **values: str) -> EntryPage:
    """Open a form, fill it in, press F5."""
    if not (desk.window.entry_open() and page_of(desk).form_id() == form):
        desk.window.doors.entry_wanted.emit(form, "")
        desk.rest()
    page = page_of(desk)
    assert page.form_id() == form
    page.set_values({name.replace("__", " "): value for name, value in values.items()})
    desk.press("F5")
    return page


def entered(desk: DeskWindow, form: str, **values: str) -> str:
    """The same, and it must have been done. Returns the first label it made, or ''."""
    before = desk.seq()
    page = enter(desk, form, **values)
    assert desk.seq() == before + 1, f"{page.trouble.text()} {faults(page)}"
    labels = desk.entries(1)[0].subjects
    return labels[0] if labels else ""


def faults(page: EntryPage) -> dict[str, str]:
    """What stands under the fields in red."""
    return {name: field.fault() for name, field in page.fields.items() if isinstance(field, Field) and field.fault()}


def put_together(desk: DeskWindow, model_code: str) -> str:
    """A stock item and a lot for every position, then the unit of them. Returns its label."""
    model = house().models[model_code]
    for position in model.positions:
        code = position.items[0]
        if desk.read(lambda reader, code=code: reader.first(StockItem, code=code)) is None:  # type: ignore[misc]
            label = entered(desk, "item", item_code=code, item_name=position.name)
            entered(desk, "lot", item=label, lot_code="A-1", quantity="3")
    desk.window.doors.entry_wanted.emit("unit", "")
    desk.rest()
    page = page_of(desk)
    values = {"model": model.code, "serial": "HR-01"}
    for position in model.positions:
        name = f"{model.code} {position.code}"
        field = next(one for one in page._form.fields if one.name == name)  # type: ignore[union-attr]
        values[name] = field.choices[1][0]
    return entered(desk, "unit", **{name.replace(" ", "__"): value for name, value in values.items()})


def test_first_start_by_keyboard_alone(own: DeskWindow) -> None:
    """An empty store asks who looks after it; a name, one key, and that person is signed on."""
    own.shows("This store is empty. Who looks after it?", "Your name", "Enter", "F5")
    own.type("Wanda Ostrowicz")
    own.press("F5")
    own.says("Wanda Ostrowicz")
    assert own.app.slate.clerk is not None
    assert own.app.slate.clerk.name == "Wanda Ostrowicz"
    assert [one.operation for one in own.entries()] == ["sign-on", "first-start"]
    own.shows("Enter a person", "Print its label", "F7")
    own.press("F7")
    assert own.printer.names() == ["label_sheet"]


def test_a_person_is_entered_with_keys_only(begun: DeskWindow) -> None:
    """Typing, Tab and Space fill the form; F5 enters it; it is free for the next."""
    desk = begun
    desk.type("Ilse Granvik")
    desk.key(Qt.Key.Key_Tab)
    desk.type("welder")
    for _ in range(4):
        desk.key(Qt.Key.Key_Tab)
    desk.type(" ")
    desk.press("F5")
    found = desk.read(lambda reader: reader.find(Person))[-1]
    assert (found.name, found.trade, found.roles) == ("Ilse Granvik", "welder", Role.ATTENDANT.value)
    desk.says("Ilse Granvik entered")
    assert page_of(desk).values()["full_name"] == ""


def test_own_store_from_nothing_to_an_issue(begun: DeskWindow) -> None:
    """From an empty file to a welding PAPR in a welder's hands, all by forms, scanner and keys."""
    desk = begun
    clerk = entered(desk, "person", full_name="Benedikt Laufer", attendant="yes", bench__technician="yes")
    wearer = entered(desk, "person", full_name="Ilse Grönvall", trade="welder")
    entered(desk, "clearance", person=wearer, kind="medical", given_on="2026-02-10")
    entered(desk, "clearance", person=wearer, kind="training", given_on="3 Mar 2026")
    area = entered(desk, "area", area_name="Hull bay", processes="GMAW, mild steel")
    desk.window.doors.entry_wanted.emit("assess", area)
    desk.rest()
    entered(
        desk, "assess", substance="manganese", basis="stated result", concentration="0.4",
        short="3", unit="mg/m3", made_on="2026-03-04", made_by="Nadja Brenner (invented)", document="IH-7",
    )  # fmt: skip
    meter = entered(
        desk, "meter", instrument_name="Flow meter 1", serial="FM-31", uncertainty_lpm="2,5",
        calibrated_on="2026-04-01", calibrated_until="2027-04-01", calibration_kg_m3="1,225",
    )  # fmt: skip
    assert [one.calibration_kg_m3 for one in desk.read(lambda reader: reader.find(Instrument))] == [1.225]
    pack = entered(desk, "battery", battery_model="WL1-PACK", serial="PK-1")
    unit = put_together(desk, "WL1")
    desk.shows("Print 3 labels")
    parts = desk.read(lambda reader: reader.find(Part))
    assert {part.unit_id for part in parts} == {1}
    fitted = desk.read(lambda reader: reader.find(Fitted, unit_id=1))
    assert len(fitted) == len(house().models["WL1"].positions)
    assert {one.on_hand for one in desk.read(lambda reader: reader.find(Lot))} == {2}
    desk.window.open_place("counter")
    desk.clock.later(minutes=20)
    desk.window.chosen.emit("sign-off", "")
    desk.rest()
    desk.scan(clerk, meter, unit)
    desk.click("Inspect at the bench")
    desk.answer_well()
    desk.press("F9")
    desk.scan(wearer, unit, pack, area)
    desk.press("F5")
    desk.answer_well()
    desk.scan(wearer)
    desk.says("Issued", unit, "Ilse Grönvall")
    store = desk.app.desk.store
    found: list[object] = []
    desk.session.background.run(lambda: check(store), found.append)
    desk.rest()
    assert found == [[]]


def test_what_is_wrong_stands_under_its_field_and_nothing_is_entered(begun: DeskWindow) -> None:
    """Every field says what is wrong with it; what was typed stays; nothing is in the journal."""
    desk, before = begun, begun.seq()
    page = enter(
        desk, "meter", instrument_name="", serial="FM-31", uncertainty_lpm="0", calibrated_on="1/2/2026",
        calibrated_until="2026-02-30",
    )  # fmt: skip
    told = faults(page)
    assert set(told) == {"instrument_name", "uncertainty_lpm", "calibrated_on", "calibrated_until"}
    assert told["instrument_name"] == "This is needed."
    assert "no date that can be read safely" in told["calibrated_on"]
    assert "does not exist" in told["calibrated_until"]
    assert page.values()["serial"] == "FM-31"
    desk.shows("Nothing is entered yet: see the red lines.")
    assert desk.seq() == before
    assert page.fields["instrument_name"].editor.hasFocus()  # type: ignore[union-attr]
    page.set_values({"instrument_name": "Meter 1", "uncertainty_lpm": "2.5", "calibrated_on": "2026-02-01",
                     "calibrated_until": "2027-02-01"})  # fmt: skip
    desk.press("F5")
    assert faults(page) == {}
    assert desk.seq() == before + 1


def test_what_the_rules_forbid_is_said_in_place(begun: DeskWindow) -> None:
    """An operation's own refusal stands at the foot of the form, with the values kept."""
    entered(begun, "supplier", supplier="Brückner Schutz (invented)")
    before = begun.seq()
    page = enter(begun, "supplier", supplier="Brückner Schutz (invented)")
    assert "already belongs to a supplier in this store" in page.trouble.text()
    assert page.trouble.text().endswith("Nothing changed.")
    assert page.values()["supplier"] == "Brückner Schutz (invented)"
    assert begun.seq() == before


def test_who_may_not_is_told_before_typing(begun: DeskWindow) -> None:
    """With the wrong badge, or none, the form says whose it takes and F5 does nothing; the right badge opens it."""
    desk = begun
    first = desk.read(lambda reader: reader.get(Person, 1)).label
    keeper = entered(desk, "person", full_name="Otto Brandl", **{Role.STOREKEEPER.value: "yes"})
    desk.window.chosen.emit("sign-off", "")
    desk.rest()
    desk.window.doors.entry_wanted.emit("area", "")
    desk.rest()
    desk.shows("This takes a program administrator or system administrator. Nobody is signed on")
    desk.scan(keeper)
    desk.shows("Otto Brandl is none: sign off, then scan the badge of one.")
    before = desk.seq()
    enter(desk, "area", area_name="Hull bay")
    assert desk.seq() == before
    assert desk.read(lambda reader: reader.find(Area)) == []
    desk.window.chosen.emit("sign-off", "")
    desk.rest()
    desk.scan(first)
    assert page_of(desk).values()["area_name"] == "Hull bay"
    desk.press("F5")
    assert len(desk.read(lambda reader: reader.find(Area))) == 1


def test_a_scanned_badge_is_chosen_in_the_form(begun: DeskWindow) -> None:
    """While a clearance is entered, the wearer's badge chooses the wearer and leaves the counter alone."""
    desk = begun
    wearer = entered(desk, "person", full_name="Ilse Grönvall")
    desk.window.doors.entry_wanted.emit("clearance", "")
    desk.rest()
    desk.scan(wearer)
    assert page_of(desk).values()["person"] == wearer
    assert desk.app.slate.person is None
    how = "qualitative: saccharin aerosol"
    entered(desk, "clearance", person=wearer, kind="fit test", model="FF1", size__FF1="M", method=how)
    made = desk.read(lambda reader: reader.find(Clearance))
    assert [(one.model, one.size, one.given_on) for one in made] == [("FF1", "M", OPENED.date())]


def test_a_card_leads_to_the_persons_clearance(begun: DeskWindow) -> None:
    """The button on a person's card opens the form with that person chosen."""
    wearer = entered(begun, "person", full_name="Ilse Grönvall")
    begun.window.open_place("person", wearer)
    begun.rest()
    begun.click("Enter a clearance")
    assert page_of(begun).values()["person"] == wearer


def test_back_from_the_first_form_leads_to_it_again(own: DeskWindow) -> None:
    """Whatever is to be entered, an empty store asks for its first person."""
    own.press("F9")
    assert not own.window.entry_open()
    own.click("Enter a person")
    assert page_of(own).form_id() == "first"


def test_only_what_is_asked_for_is_shown_and_read(begun: DeskWindow) -> None:
    """The fields of a fit test come with it and go with it; what they hold then does not count."""
    begun.window.doors.entry_wanted.emit("clearance", "")
    begun.rest()
    page = page_of(begun)
    model = page.fields["model"]
    assert not model.isVisible()
    page.set_values({"kind": "fit test", "model": "FF1"})
    assert model.isVisible()
    assert page.fields["size FF1"].isVisible()
    page.set_values({"kind": "training"})
    assert not model.isVisible()
    assert not page.fields["size FF1"].isVisible()


def test_each_place_has_its_one_button(begun: DeskWindow) -> None:
    """The button opens the place's form; F9 leads back to the place."""
    for place, (form, words) in ENTRIES.items():
        begun.window.open_place(place)
        begun.rest()
        begun.click(words)
        assert page_of(begun).form_id() == form
        begun.press("F9")
        assert not begun.window.entry_open()
        assert begun.window.place()[0] == place
        assert begun.button(words).isVisible()


def test_a_second_press_enters_nothing_twice(begun: DeskWindow) -> None:
    """F5 pressed again before the answer is back does nothing."""
    begun.window.doors.entry_wanted.emit("area", "")
    begun.rest()
    page = page_of(begun)
    page.set_values({"area_name": "Hull bay"})
    before = begun.seq()
    page.enter()
    page.enter()
    begun.rest()
    assert begun.seq() == before + 1


@pytest.mark.parametrize(("dark", "u", "wide", "high"), [(False, 1.0, 1440, 900), (True, 2.0, 1920, 1080)])
def test_words_of_every_form_fit(begun: DeskWindow, dark: bool, u: float, wide: int, high: int) -> None:
    """No form cuts a word, in a wide window at 100 % and in the smallest at 200 %."""
    with wearing(dark, u):
        begun.window.resize(wide, high)
        for form in FORMS:
            begun.window.doors.entry_wanted.emit(form, "")
            begun.rest()
            page = page_of(begun)
            assert (page.form_id() == form) is (not may_open(form, Role.SYSTEM.value))  # who begins a store
            assert_words_fit(page)
            assert page.go.isVisible()


def test_an_empty_form_becomes_nothing(begun: DeskWindow) -> None:
    """A form without values names its needed fields, and no operation comes of it."""

    def ask(reader: Reader) -> dict[str, tuple[str, ...]]:
        asked, found = Asked(reader, house(), OPENED), {}
        for form in FORMS:
            with pytest.raises(FormTroubles) as caught:
                operation_of(asked, form, {}, "token")
            found[form] = tuple(name for name, _ in caught.value.troubles)
            needed = tuple(one.name for one in form_of(asked, form).shown({}) if one.needed)
            assert found[form] in (needed, ("",)), form
        return found

    found = begun.read(ask)
    first = {  # what they are about comes first
        "lot", "part", "move", "retire-battery", "count", "block", "calibrate", "parts-set", "change-parts-set",
        "limit", "own-checks", "bag-waste", "close-bag", "evidence", "see-notice", "scrap", "requisition",
        "change-requisition", "step-requisition", "price", "supplier-return",
        "hold-recalled", "close-recall", "count-sheet", "drop-count-sheet", "order-rule",
        "assess", "sample", "withdraw-finding", "area-condition", "area-process", "end-process", "area-control",
        "end-control", "withdraw-evidence", "end-work-limit", "fix-finding", "set-aside", "tray", "erase-person",
        "change-cabinet",
    }  # fmt: skip
    assert {form for form, names in found.items() if names == ("",)} == first
    assert all(found.values())


def test_values_off_the_list_are_refused(begun: DeskWindow) -> None:
    """A choice that was never offered is told, whoever sends it."""

    def ask(reader: Reader) -> str:
        with pytest.raises(FormTroubles) as caught:
            operation_of(Asked(reader, house(), OPENED), "battery", {"battery_model": "ZZ"}, "token")
        return dict(caught.value.troubles)["battery_model"]

    assert begun.read(ask) == "This is not on the list."


def test_records_are_what_was_typed(begun: DeskWindow) -> None:
    """A figure with a comma, a price, an item of one's own: all of it arrives in the store."""
    desk = begun
    entered(desk, "bin", bin_code="A1-02")
    entered(desk, "item", item_code="other", other_code="GLOVE-9", item_name="Gloves, size 9", price="12,5", bin="1")
    item = desk.read(lambda reader: reader.find(StockItem))[0]
    assert (item.code, item.price_cents, item.bin_id) == ("GLOVE-9", 1250, 1)
    entered(
        desk, "meter", instrument_name="Meter", serial="1", uncertainty_lpm="1,75", calibrated_on="1.2.2026",
        calibrated_until="1.2.2027",
    )  # fmt: skip
    assert desk.read(lambda reader: reader.find(Instrument))[0].uncertainty_lpm == 1.75
    assert desk.read(lambda reader: reader.find(Unit)) == []


def test_what_was_entered_stands_in_its_list(begun: DeskWindow) -> None:
    """Areas, packs, items and lots are in their places right after they were entered."""
    entered(begun, "area", area_name="Hull bay", required="no")
    entered(begun, "battery", battery_model="WL1-PACK")
    item = entered(begun, "item", item_code="WL1-BELT", item_name="Belt", minimum="5")
    entered(begun, "lot", item=item, lot_code="A-7", quantity="3")
    for place, words in (
        ("areas", ("Hull bay", "voluntary", "1 area")),
        ("batteries", ("WL1-PACK", "on the shelf", "1 pack")),
        ("stock", ("Belt", "1 item", "1 item is below the minimum")),
        ("people", ("Wanda Ostrowicz",)),
    ):
        begun.window.open_place(place)
        begun.rest()
        begun.shows(*words)
