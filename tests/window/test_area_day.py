"""Areas on screen: a finding entered by its form, the page that answers, each figure opened, limits and evidence."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from cribdesk.crib.records import Area, AreaCondition, AreaControl, AreaProcess, Assessment, FactorEvidence, SiteLimit
from cribdesk.desk.equipment import AddArea
from cribdesk.window.area_sheet import AreaSheet
from cribdesk.window.entry_form import EntryPage
from cribdesk.window.layout import Size
from cribdesk.window.limits_sheet import LimitsSheet
from tests.window.desk_window import DeskWindow
from tests.window.helpers import assert_words_fit, wearing
from tests.window.test_changes import open_form, page_of

FINDING = {
    "substance": "chromium_vi", "basis": "stated result", "concentration": "0.06", "unit": "mg/m3",
    "made_on": "2026-03-04", "made_by": "Ines Fabry (invented)", "document": "IH-1", "review_on": "2027-03-04",
}  # fmt: skip


@pytest.fixture
def office(desk: DeskWindow) -> DeskWindow:
    """The window with somebody of every role signed on, and an area of which nothing is known."""
    desk.sign_on("Office")
    page = open_form(desk, "area")
    page.set_values({"area_name": "Shed"})
    desk.press("F5")
    shed = desk.read(lambda reader: reader.first(Area, name="Shed"))
    assert shed is not None
    desk.names["shed"] = shed.label
    assert AddArea.code  # the form ends in it
    return desk


def sheet(desk: DeskWindow) -> AreaSheet:
    """The shed's page, opened."""
    desk.window.open_place("area", desk.label("shed"))
    desk.rest()
    found = desk.window.page().area
    assert isinstance(found, AreaSheet)
    return found


def enter(desk: DeskWindow, form: str, values: dict[str, str]) -> EntryPage:
    """A form about the shed, filled in and entered."""
    page = open_form(desk, form, "shed")
    page.set_values(values)
    desk.press("F5")
    return page


def troubles(page: EntryPage) -> str:
    """Everything red on the form."""
    fields = [one.fault() for one in page.fields.values() if hasattr(one, "fault")]
    return " ".join([*fields, page.trouble.text()])


def test_from_nothing_to_an_answer(office: DeskWindow) -> None:
    """The empty page says what to do first; F6 opens the form; entered, the page answers with the ratio."""
    desk = office
    found = sheet(desk)
    desk.shows("Not assessed: nothing is issued for it", "First ask the industrial hygienist")
    desk.shows("Assessing exposure is the work of an industrial hygienist")
    desk.press("F6")
    page = page_of(desk, "assess")
    assert page.values()["about"] == desk.label("shed")
    desk.shows("This tool repeats their finding and makes none")
    page.set_values(FINDING)
    desk.press("F5")
    desk.says(desk.label("shed"), "chromium(VI) compounds assessed")
    assert not desk.window.entry_open()
    assert found.page is not None
    assert found.page.answer.head.startswith("Enough here")
    desk.shows("Factor 12 is needed, for chromium(VI) compounds", "factor 12 needed", "to be reviewed by 4 Mar 2027")


def test_a_figure_opens_to_how_it_was_reached(office: DeskWindow) -> None:
    """The button opens the account, and stays open when the page is read anew; again it closes."""
    desk = office
    enter(desk, "assess", FINDING)
    found = sheet(desk)
    (block,) = found.blocks
    assert not block.opened
    desk.click("How this was reached, Chromium")
    desk.shows("0.06\u00a0mg/m³ / 0.005\u00a0mg/m³ = 12", "29 CFR 1910.1026(c) PEL")
    enter(desk, "area-control", {"control": "engineering", "what": "local exhaust"})
    desk.press("F9")
    assert sheet(desk).blocks[0].opened
    desk.click("How this was reached, Chromium")
    assert not sheet(desk).blocks[0].opened


def test_units_mixed_up_are_told_at_the_field(office: DeskWindow) -> None:
    """A particle in ppm, no unit, a zero, no figure: nothing is entered, what was typed stays."""
    desk = office
    for wrong, why in (
        ({"unit": "ppm"}, "ppm is for gases and vapours"),
        ({"unit": ""}, "This is needed."),
        ({"concentration": "0"}, "zero is no finding"),
        ({"concentration": "-1"}, "lies outside"),
        ({"concentration": ""}, "Say one of the two figures"),
        ({"measured_as": "Fe"}, "cannot be held against"),
        ({"made_on": "2030-01-01"}, "still to come"),
    ):
        page = enter(desk, "assess", FINDING | wrong)
        assert why in troubles(page), (wrong, troubles(page))
        assert page.values()["document"] == "IH-1"
        desk.press("F9")
    assert desk.read(lambda reader: reader.first(Assessment, document="IH-1")) is None


def test_samples_are_entered_one_after_another(office: DeskWindow) -> None:
    """The form stays on the same finding; three samples, one below detection, make statistics refuse in words."""
    desk = office
    enter(desk, "assess", FINDING | {"basis": "samples", "concentration": ""})
    sheet(desk)
    desk.click("Add a sample")
    page = page_of(desk, "sample")
    about = page.values()["about"]
    for day, value, below in (("2026-02-02", "12", "no"), ("2026-02-03", "20", "no"), ("2026-02-04", "5", "yes")):
        page.set_values({"value": value, "unit": "ug/m3", "minutes": "480", "taken_on": day, "below": below})
        desk.press("F5")
        desk.says("sample of")
        assert page_of(desk, "sample").values()["about"] == about
    desk.press("F9")
    found = sheet(desk)
    assert found.page is not None
    (one,) = found.page.agents
    assert one.needed == "factor 4 needed"
    assert one.note == "Statistics need 3 detected samples or more, not 2."
    desk.click("How this was reached, Chromium")
    desk.shows(one.note, "below detection, 0.005\u00a0mg/m³, 480 min")


def test_everything_else_of_an_area_by_its_forms(office: DeskWindow) -> None:
    """Conditions, a process and a control come, and go again; the page says each."""
    desk = office
    enter(desk, "assess", FINDING)
    enter(desk, "area-condition", {"exposed_minutes": "600", "confined": "yes"})
    enter(desk, "area-process", {"operation": "SMAW", "current_a": "120", "electrode": "4"})
    desk.says("shade 8 at least")
    desk.press("F9")
    enter(desk, "area-control", {"control": "engineering", "what": "local exhaust"})
    desk.press("F9")
    page = sheet(desk).page
    assert page is not None
    assert page.processes[0].words == "Stick welding (SMAW), 120 A, 4/32 in electrode"
    assert [one.name for one in page.conditions] == ["Place", "Met in a shift"]
    assert page.controls[0].what == "local exhaust"
    enter(desk, "end-process", {})
    enter(desk, "end-control", {"ended_on": "2026-11-25"})
    page = sheet(desk).page
    assert page is not None
    assert (page.processes, page.controls) == ((), ())
    assert desk.read(lambda reader: reader.count(AreaCondition)) == 1
    assert desk.read(lambda reader: reader.count(AreaProcess, active=False)) == 1
    assert desk.read(lambda reader: reader.count(AreaControl, ended_on=None)) == desk.read(
        lambda reader: reader.count(AreaControl) - 1
    )


def test_a_process_outside_the_table_is_refused(office: DeskWindow) -> None:
    """In words that say who decides then."""
    page = enter(office, "area-process", {"operation": "GMAW_FCAW", "current_a": "900"})
    assert "The maker's instructions or a qualified person decide" in troubles(page).replace("the maker", "The maker")


def test_a_finding_is_withdrawn(office: DeskWindow) -> None:
    """Still there: it stands as not assessed, and the page says so."""
    desk = office
    enter(desk, "assess", FINDING)
    sheet(desk)
    desk.click("Withdraw")
    page_of(desk, "withdraw-finding").set_values({"why": "the wire was another"})
    desk.press("F5")
    desk.says("It is still there, not assessed")
    found = sheet(desk).page
    assert found is not None
    assert [one.found for one in found.agents] == ["there, not assessed"]
    assert len(found.earlier) == 1


def test_limits_and_evidence(office: DeskWindow) -> None:
    """F7 from the list; a limit and test evidence come by their forms; a loose-fitting facepiece is refused."""
    desk = office
    desk.window.open_place("areas")
    desk.press("F7")
    desk.shows("No limit of the site's own", "Record test evidence")
    desk.click("Add a limit")
    page = page_of(desk, "site-limit")
    page.set_values({"substance": "other"})
    page.set_values({"name": "toluene", "air": "gas", "kind": "8 h", "value": "20", "unit": "ppm", "source": "List"})
    desk.press("F5")
    desk.says("Limit added: toluene")
    limit = desk.read(lambda reader: reader.latest(SiteLimit))
    assert limit is not None
    assert (limit.limit_ppb, limit.limit_ng_m3) == (20_000, None)
    page = open_form(desk, "factor-evidence")
    page.set_values({"model": "WL1", "document": "TR-9", "dated_on": "2026-03-04"})
    desk.press("F5")
    assert "whatever its maker tested" in page.trouble.text()
    page.set_values({"model": "WH1"})
    desk.press("F5")
    assert desk.read(lambda reader: reader.count(FactorEvidence, model="WH1")) == 1
    desk.press("F9")
    desk.window.open_place("limits")
    desk.rest()
    shown = desk.window.page().limits
    assert isinstance(shown, LimitsSheet)
    assert shown.answer() == "1 limit of the site's own; test evidence held for 1 model"
    desk.shows("TR-9 of 4 Mar 2026")
    desk.press("F9")
    desk.shows("Not assessed", "Shed")


def test_an_attendant_reads_and_enters_nothing(desk: DeskWindow) -> None:
    """The page opens for everybody; the form says whose it is."""
    desk.sign_on("Brandl")
    page = open_form(desk, "assess", "bay-3")
    assert not page.go.isEnabled()
    assert "program administrator" in page.trouble.text()


@pytest.mark.parametrize("size", list(Size))
@pytest.mark.parametrize("dark", [False, True])
def test_words_of_the_pages_fit(office: DeskWindow, size: Size, dark: bool) -> None:
    """Nothing is cut, opened or not, in every layout."""
    desk = office
    enter(desk, "assess", FINDING | {"basis": "samples", "concentration": ""})
    wide, high = {Size.WIDE: (1440, 900), Size.MIDDLE: (1024, 768), Size.SMALL: (960, 540)}[size]
    with wearing(dark):
        desk.window.resize(wide, high)
        for place, argument in (("area", desk.label("shed")), ("area", desk.label("bay-3")), ("limits", "")):
            desk.window.open_place(place, argument)
            desk.rest()
            if place == "area":
                for block in desk.window.page().area.blocks:
                    block.button.click()
                QApplication.processEvents()
            assert_words_fit(desk.window)
