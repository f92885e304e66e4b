"""The picture behind a forecast on the unit page: what stands on it, and that it is of the open part."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from PySide6.QtWidgets import QApplication

from cribdesk.crib.forecast import HOURS, LOADING
from cribdesk.desk.cards import LifePicture
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
