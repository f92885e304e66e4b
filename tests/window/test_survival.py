"""The picture behind a forecast on the unit page: what stands on it, and that it is of the open part."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QImage, QPainterPath, QPainterPathStroker
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from cribdesk.crib.forecast import HOURS, LOADING
from cribdesk.desk.cards_lists import LifePicture
from cribdesk.window import drawing
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.plot import Plot
from cribdesk.window.plot_file import png
from cribdesk.window.start import wait_until
from cribdesk.window.survival import Survival, rests_on, share_at, survival_plot
from tests.window.desk_window import DeskWindow

PICTURE = LifePicture(
    position="pre-filter", name="Pre-filter", measure=HOURS, dust_ug_m3=None,
    curve=((0.0, 1.0), (40.0, 0.8), (80.0, 0.2), (120.0, 0.005), (500.0, 0.0)),
    age=60.0, early=66.0, middle=75.0, late=110.0, typical=60.0, changed=31, running=32, thumb_hours=50.0,
    scale=(70.0, 60.0, 80.0), shape=(2.0, 1.6, 2.4), as_of=datetime(2026, 11, 25, 5, 5, tzinfo=UTC),
)  # fmt: skip


def test_the_share_is_read_between_two_points() -> None:
    """At 60 h, half way from 80 % to 20 %: 50 %. Beyond the end it is the last share."""
    assert share_at(PICTURE, 60.0) == pytest.approx(0.5)
    assert share_at(PICTURE, 0.0) == 1.0
    assert share_at(PICTURE, 900.0) == 0.0


def test_what_stands_on_the_picture() -> None:
    """Now on the curve, the three estimates as uprights, the rule of thumb beside them; the far tail is left out."""
    data = survival_plot(PICTURE, "U000417Q")
    assert data.now is not None
    assert (data.now.x, data.now.words) == (60.0, "U000417Q: 60\u00a0h now")
    assert data.now.y == pytest.approx(0.5)
    assert [mark.x for mark in data.marks] == [66.0, 75.0, 110.0, 50.0]
    assert [mark.dashed for mark in data.marks] == [False, False, False, True]
    assert data.x[1] == pytest.approx(120 * 1.02)


def test_no_word_stands_on_the_curve(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    """A young part: its name would lie on the curve at the top, so it goes lower; all words stay inside the axes."""
    rooms: dict[str, QRectF] = {}
    paths: list[QPainterPath] = []
    text, polyline = drawing.text, drawing.polyline

    def noted(painter: Any, room: QRectF, words: str, *rest: Any, **more: Any) -> float:
        rooms[words] = QRectF(room)
        return text(painter, room, words, *rest, **more)

    def kept(points: list[QPointF]) -> QPainterPath:
        paths.append(polyline(points))
        return paths[-1]

    monkeypatch.setattr(drawing, "text", noted)
    monkeypatch.setattr(drawing, "polyline", kept)
    plot = Plot(survival_plot(replace(PICTURE, age=5.0, early=20.0), "U000417Q"), 280)
    qtbot.addWidget(plot)
    plot.resize(700, 280)
    plot.grab()
    stroke = QPainterPathStroker().createStroke(paths[0])
    named = [words for words in rooms if words.startswith(("U000417Q", "1 in 10", "half", "9 in 10", "rule of thumb"))]
    assert len(named) == 5
    assert not [words for words in named if stroke.intersects(rooms[words])]
    assert all(plot.rect().contains(rooms[words].toRect()) for words in named)
    assert rooms["U000417Q: 5\u00a0h now"].top() > rooms["9 in 10: 110\u00a0h"].top()


def test_an_old_part_is_still_on_the_picture() -> None:
    """A part older than any curve shows: its age and its late bound stay inside the axes."""
    data = survival_plot(replace(PICTURE, age=300.0, late=340.0), "U000417Q")
    assert data.now is not None
    assert data.x[1] > 340.0 > data.now.x


def test_what_it_rests_on_is_said() -> None:
    """Lives, how many ended and how many run, the measure, the figures with their spread."""
    words = rests_on(PICTURE)
    assert "63 lives: 31 ended in a change, 32 still run" in words
    assert "scale 70\u00a0h (60 to 80), shape 2.0" in words
    loaded = rests_on(replace(PICTURE, measure=LOADING, dust_ug_m3=2000))
    assert "worn hours in 2.0 mg/m³ of dust. It explains these lives better" in loaded


def test_none_hides_it(qapp: QApplication) -> None:
    """Without a forecast there is no picture and no empty frame."""
    panel = Survival()
    panel.show_picture(PICTURE, "U000417Q")
    assert not panel.isHidden()
    panel.show_picture(None)
    assert panel.isHidden()
    panel.deleteLater()


def test_a_part_opens_to_its_picture(signed_on: DeskWindow) -> None:
    """The page shows the part that is next; another that is pressed shows its own."""
    signed_on.app.begin_forecasts()
    forecasting = signed_on.app.forecasting
    assert forecasting is not None
    assert wait_until(lambda: not forecasting.under_way, 30.0)
    signed_on.window.open_place("unit", signed_on.label("wl-1"))
    signed_on.rest()
    page = signed_on.window.page().unit
    assert page.survival.isVisible()
    page.parts.opened.emit("particulate-filter")
    signed_on.rest()
    assert page.survival.head.text() == "How long it lasts on this model: particulate filter"
    signed_on.shows("rule of thumb, 280\u00a0h")


def test_without_a_forecast_there_is_none(signed_on: DeskWindow) -> None:
    """While only the rule of thumb stands, the page has its sentence and no picture."""
    signed_on.window.open_place("unit", signed_on.label("wl-1"))
    signed_on.rest()
    assert not signed_on.window.page().unit.survival.isVisible()


def test_the_band_and_what_it_is_stand_on_the_picture() -> None:
    """The grey band has its bounds at each point that is drawn, and the plot says in words what it is."""
    banded = replace(PICTURE, band=((1.0, 1.0), (0.7, 0.9), (0.1, 0.3), (0.0, 0.02), (0.0, 0.0)))
    data = survival_plot(banded, "U000417Q")
    assert data.bands[0].points == ((0.0, 1.0, 1.0), (40.0, 0.7, 0.9), (80.0, 0.1, 0.3), (120.0, 0.0, 0.02))
    assert "grey: the curve 95 times in 100" in data.y_name
    assert not survival_plot(PICTURE).bands


def test_the_picture_is_kept_in_files(qapp: QApplication, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """PNG, SVG with its words, and CSV with curve and bounds; a folder that cannot be written is told, nothing else."""
    monkeypatch.setattr("cribdesk.window.plot_file.folder", lambda: tmp_path / "kept")
    panel, told = Survival(), []
    panel.said.connect(told.append)
    band = ((1.0, 1.0), (0.7, 0.9), (0.1, 0.3), (0.0, 0.02), (0.0, 0.0))
    panel.show_picture(replace(PICTURE, band=band), "U000417Q", "WL1")
    for word in ("Save PNG", "Save SVG", "Save CSV"):
        next(one for one in panel.findChildren(ActionButton) if one.accessibleName().startswith(word)).click()
    names = [f"U000417Q pre-filter life.{kind}" for kind in ("png", "svg", "csv")]
    assert told == [f"Saved as {tmp_path / 'kept' / name}" for name in names]
    assert (tmp_path / "kept" / names[0]).read_bytes().startswith(b"\x89PNG")
    assert "rule of thumb" in (tmp_path / "kept" / names[1]).read_text("utf-8")
    rows = list(csv.reader((tmp_path / "kept" / names[2]).read_text("utf-8-sig").splitlines()))
    assert rows[0][-3:] == ["share_that_lasts_longer", "low_95", "high_95"]
    assert rows[2] == ["WL1", "pre-filter", "worn hours", "", "40.0", "0.8", "0.7", "0.9"]
    (tmp_path / "in the way").write_text("")
    monkeypatch.setattr("cribdesk.window.plot_file.folder", lambda: tmp_path / "in the way")
    panel._save("csv")
    assert told[-1].endswith("Nothing was saved.")
    panel.deleteLater()


def test_the_band_is_told_from_its_ground_in_grey(qapp: QApplication) -> None:
    """On the picture file, turned to grey: the curve is dark, the band lighter than it and darker than the paper."""
    band = ((1.0, 1.0), (0.6, 0.95), (0.05, 0.4), (0.0, 0.1), (0.0, 0.0))
    image = QImage.fromData(png(survival_plot(replace(PICTURE, band=band)))).convertToFormat(
        QImage.Format.Format_Grayscale8
    )
    shades = {image.pixelColor(x, y).red() for x in range(700, 900) for y in range(0, image.height(), 2)}
    assert min(shades) < 60
    assert any(200 < one < 240 for one in shades)
    assert max(shades) == 255
