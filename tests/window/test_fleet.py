"""The fleet page: what stands first, one model at a time, pictures and tables kept in files."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from cribdesk.crib.forecast import TOO_FEW
from cribdesk.desk.fleet_cards import (
    Change,
    FleetFault,
    FleetModel,
    FleetPicture,
    FleetUnit,
    Rate,
    Repairs,
)
from cribdesk.forecasting import trouble_words
from cribdesk.window import plot_file
from cribdesk.window.background import Fault
from cribdesk.window.doors import Doors
from cribdesk.window.fleet_page import FleetPage, doubt_words
from cribdesk.window.fleet_plots import plots, rate_words, repairs_plot, tables
from cribdesk.window.layout import Size
from cribdesk.window.start import wait_until
from tests.window import samples
from tests.window.desk_window import DeskWindow
from tests.window.helpers import wearing, words_that_do_not_fit
from tests.window.test_survival import PICTURE

NOW = datetime(2026, 11, 25, 5, 5, tzinfo=UTC)
WL1 = FleetModel(
    code="WL1", name="welding PAPR, loose-fitting", short_name="welding PAPR", units=31, lives=(PICTURE,),
    repairs=Repairs(((100.0, 0.5, 0.2), (200.0, 1.25, 0.5)), 400.0), rate=Rate(45, 13319.0, 3.4, 2.5, 4.5),
    changes=(Change("pre-filter", "Pre-filter", 306, 87, 41.3, 310.0), Change("belt", "Belt", 1, 0, 300.0, None)),
)  # fmt: skip
HM1 = FleetModel("HM1", "half mask", "half mask", 8, (), Repairs((), 90.0), Rate(0, 900.0, 0.0, 0.0, 3.3), ())
FLEET = FleetPicture(
    at=NOW, since=NOW - timedelta(days=365),
    worst=(
        FleetUnit("U000054D", "welding PAPR", 9, 206.7, 0.44, 2e-9, True, "Low-flow alarm not as it should be (9)"),
        FleetUnit("U000023R", "welding PAPR", 4, 434.7, 1.47, 0.0587, False, "=Breathing tube damaged"),
    ),
    faults=(FleetFault("Head assembly damaged", 13, 11, 0.2), FleetFault("Battery fault", 8, 7, 0.5)),
    all_faults=64, models=(WL1, HM1), tested=64, called=1, doubts=(("negative hours: left out", 2),),
)  # fmt: skip


@pytest.fixture
def page(qtbot: QtBot) -> FleetPage:
    """The page with a fleet on it."""
    doors = Doors(samples.HOUSE)
    doors.moment = NOW
    made = FleetPage(doors)
    qtbot.addWidget(made)
    made.resize(1312, 800)
    made.show()
    made.take(FLEET)
    return made


def cells(page: FleetPage, table: str) -> list[tuple[object, ...]]:
    """The words of a table's rows."""
    return [row.cells for row in getattr(page, table).rows_model.rows]


def test_nothing_is_said_of_the_fleet_before_it_was_read(qtbot: QtBot) -> None:
    """While it is read, and where that was called off, no table says that there was no repair and no fault."""
    made = FleetPage(Doors(samples.HOUSE))
    qtbot.addWidget(made)
    made.resize(1312, 800)
    made.show()
    made.want()
    assert "Reading the fleet" in made.as_of.text()
    assert not made._no_worst.isVisible()
    made.take(None)
    assert not made._no_fault.isVisible()
    made.take(FLEET)
    assert made.worst.isVisible()


def test_worst_and_commonest_come_first(page: FleetPage) -> None:
    """A unit that is called worse has its sign and word; one that chance explains says so."""
    worst = cells(page, "worst")
    assert worst[0][2:6] == ("9", "0.4", "under 1\u00a0%", "worse than the others")
    assert worst[1][5] == "no more than chance allows"
    assert [row.bold for row in page.worst.rows_model.rows] == [True, False]
    assert cells(page, "faults")[0][1:] == ("Head assembly damaged", "13", "11", "20\u00a0%")
    assert page.answer() == "1 unit is worse than chance allows"
    assert page.worst.y() < page.faults.y() < page.models.y()


def test_positions_without_a_forecast_are_no_records() -> None:
    """Two records and one position: each is counted as what it is; nothing doubtful says nothing."""
    assert doubt_words((("negative hours: left out", 2), (TOO_FEW, 1))) == (
        "2 records of parts doubtful: negative hours: left out (2). "
        "1 position: too few lives, and no rule of thumb: no forecast."
    )
    assert doubt_words(()) == ""


def test_doubts_are_told(page: FleetPage) -> None:
    """Doubtful records are counted with their reasons; where forecasts could not be made, that is said too."""
    assert page.as_of.text().endswith("2 records of parts doubtful: negative hours: left out (2).")
    page._doors.forecast_trouble = trouble_words(Fault(OSError("disk full"), ""))
    page.take(page.picture)
    assert "could not be brought up to date (disk full)" in page.as_of.text()
    assert "the rule of thumb stands" in page.as_of.text()


def test_the_rate_says_what_it_rests_on() -> None:
    """With repairs an interval; without any only how many at most."""
    assert "3.4 repairs in 1 000 h worn (2.5 to 4.5, 95 times in 100, chi-square)" in rate_words(WL1)
    assert rate_words(HM1) == "0 repairs in 900\u00a0h worn in the last year: at most 3.3 in 1 000 h, 95 times in 100."


def test_the_band_is_as_wide_as_its_error() -> None:
    """After 200 h the mean is 1.25, its band 1.96 standard errors of 0.5 to each side; it never goes below nought."""
    data = repairs_plot(WL1)
    assert data is not None
    assert data.bands[0].points[-1] == (400.0, pytest.approx(0.27), pytest.approx(2.23))
    assert min(low for _, low, _ in data.bands[0].points) == 0.0
    assert repairs_plot(HM1) is None


def test_only_one_file_a_plot_and_a_table_each() -> None:
    """Names tell model and what it is; a model without a repair has no empty picture."""
    assert [name for name, _ in plots(FLEET)] == ["WL1 repairs", "WL1 pre-filter life"]
    found = dict(tables(FLEET))
    assert found["changes"][1] == ("WL1", "pre-filter", 306, 87, 41.3, 3.1)
    assert found["changes"][2][-1] == ""
    assert len(found["repairs"]) == 3


def test_a_png_holds_the_picture_in_light(qapp: QApplication) -> None:
    """Whatever is worn, the file is light with ink on it, twice as many dots as px; and the look is given back."""
    data = repairs_plot(WL1)
    assert data is not None
    with wearing(dark=True, u=2.0):
        image = QImage.fromData(plot_file.png(data))
    assert (image.width(), image.height()) == (1920, 840)
    assert image.pixelColor(0, 0).lightness() == 255
    values = {image.pixelColor(x, y).lightness() for x in range(0, 1920, 7) for y in range(0, 840, 7)}
    assert min(values) < 60


def test_an_svg_is_words_and_lines(qapp: QApplication) -> None:
    """Its axis words are text, what it tells is its description."""
    data = repairs_plot(WL1)
    assert data is not None
    tree = ElementTree.fromstring(plot_file.svg(data))
    words = " ".join(text for one in tree.iter() if one.tag.endswith("text") for text in one.itertext())
    assert "hours worn since the crib has it" in words
    assert any(one.tag.endswith("desc") and one.text == data.told for one in tree.iter())


def test_a_table_file_is_read_back(tmp_path: Path) -> None:
    """UTF-8 with its mark; a text that begins like a formula is set off."""
    file = tmp_path / "new" / "worst units.csv"
    plot_file.save_table(file, dict(tables(FLEET))["worst units"])
    assert file.read_bytes().startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(file.read_text("utf-8-sig"))))
    assert rows[0][:3] == ["label", "model", "repairs"]
    assert rows[2][-1] == "'=Breathing tube damaged"


@pytest.mark.parametrize(("key", "files"), [("F6", 2), ("F7", 2), ("F8", 7)])
def test_saved_by_a_key(
    page: FleetPage, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, key: str, files: int
) -> None:
    """One key saves all pictures or tables into one folder, and the strip says where."""
    monkeypatch.setattr(plot_file, "folder", lambda: tmp_path)
    said: list[str] = []
    page._doors.say.connect(said.append)
    assert page.press(key)
    qtbot.waitUntil(lambda: bool(said))
    (folder,) = tmp_path.iterdir()
    assert folder.name == "fleet 2026-11-25 06.05"
    assert len(list(folder.iterdir())) == files
    assert said == [f"{files} files saved in {folder}"]


def test_what_cannot_be_saved_is_said(
    page: FleetPage, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder that is a file: plain words, and that nothing was saved; the next try begins anew."""
    (tmp_path / "taken").write_text("")
    monkeypatch.setattr(plot_file, "folder", lambda: tmp_path / "taken")
    said: list[str] = []
    page._doors.say.connect(said.append)
    page.press("F8")
    qtbot.waitUntil(lambda: bool(said))
    assert "cannot be written" in said[0]
    assert said[0].endswith("Nothing was saved.")
    page.press("F8")
    qtbot.waitUntil(lambda: len(said) == 2)


def test_called_off_it_says_so(page: FleetPage) -> None:
    """Nothing came: the page says how to go on, what it showed before stays."""
    page.take(None)
    assert page.as_of.text() == "Not read. F5 reads it again."
    assert page.worst.rows_model.rows


@pytest.mark.parametrize("size", list(Size))
def test_its_words_fit(page: FleetPage, size: Size) -> None:
    """In every layout no word is wider than its box."""
    page.resize({Size.WIDE: 1312, Size.MIDDLE: 896, Size.SMALL: 832}[size], 700)
    page.fit(size)
    page._choose("WL1")
    QApplication.processEvents()
    assert not words_that_do_not_fit(page)


def test_opened_from_the_units(signed_on: DeskWindow) -> None:
    """Ctrl+3, F7: the fleet is read beside the work; Esc leads back to the list. It asks once, and again by F5."""
    signed_on.window.open_place("units")
    signed_on.press("F7")
    fleet = signed_on.window.page().fleet
    assert wait_until(lambda: fleet.picture is not None, 20.0)
    signed_on.rest()
    signed_on.shows("Five worst units", "Five commonest faults")
    signed_on.says("No unit is worse than chance allows")
    first = fleet.picture
    signed_on.window.show_changed(frozenset({"unit"}))
    signed_on.rest()
    assert fleet.picture is first
    signed_on.press("F5")
    assert wait_until(lambda: fleet.picture is not first, 20.0)
    signed_on.key(Qt.Key.Key_Escape)
    assert not fleet.isVisible()
