"""The gallery: every component in light and dark at 100, 150 and 200 %, its words whole."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from cribdesk.window import look
from cribdesk.window.components.base import TARGET, Words
from tests.window import gallery
from tests.window.helpers import LOOKS, assert_words_fit, wearing, words_that_do_not_fit


@pytest.mark.parametrize(("dark", "u"), LOOKS, ids=lambda value: str(value))
@pytest.mark.parametrize("name", gallery.PAGES)
def test_every_component_paints_with_whole_words(qtbot: QtBot, name: str, dark: bool, u: float) -> None:
    """Nothing is cut, and something other than the ground is painted."""
    with wearing(dark, u):
        page = gallery.page(name)
        qtbot.addWidget(page)
        page.show()
        assert_words_fit(page)
        image = page.grab().toImage()
        colours = {image.pixelColor(x, y).rgb() for x in range(0, image.width(), 7)
                   for y in range(0, image.height(), 7)}  # fmt: skip
        assert len(colours) > 3
        page.close()


@pytest.mark.parametrize("name", gallery.PAGES)
@pytest.mark.parametrize("u", [1.0, 2.0])
def test_what_is_pressed_is_large_enough_and_named(qtbot: QtBot, name: str, u: float) -> None:
    """Every button is at least 44 px high at 100 % and has a name for screen readers."""
    with wearing(u=u):
        page = gallery.page(name)
        qtbot.addWidget(page)
        page.show()
        QApplication.processEvents()
        for button in page.findChildren(QAbstractButton):
            if button.isVisible() and type(button).__module__.startswith("cribdesk"):
                assert button.height() >= look.current().px(TARGET), button.accessibleName()
                assert button.accessibleName()
        page.close()


def test_the_checker_sees_cut_words(qtbot: QtBot) -> None:
    """A label, a stock button and a painted word that do not fit are each found."""
    page = QWidget()
    qtbot.addWidget(page)
    page.resize(300, 200)
    label, button = QLabel("Particulate filter, half mask pair", page), QPushButton("Print again", page)
    label.setGeometry(0, 0, 40, 24)
    button.setGeometry(0, 40, 20, 24)
    from cribdesk.window.components.plate import Plate
    from cribdesk.window.components.verdict import VerdictBand

    band = VerdictBand(page)
    band.set_verdict("caution", "Caution with a very long word")
    band.setGeometry(0, 80, 120, 88)
    plate = Plate("U000417Q", parent=page)
    plate.setGeometry(150, 0, 140, 44)
    page.show()
    found = "\n".join(words_that_do_not_fit(page))
    assert "Particulate" in found
    assert "Print again" in found
    assert "Caution with" in found
    assert "U000417" not in found
    page.close()


def test_figures_are_of_equal_width(qapp: QApplication) -> None:
    """Tabular figures: a 1 is as wide as an 8, in both weights."""
    from cribdesk.window.drawing import width

    for bold in (False, True):
        font = look.current().font(18, bold)
        assert font.family() == "FiraGO"
        assert width("1111", font) == width("8888", font)


def test_the_look_follows_a_change(qtbot: QtBot) -> None:
    """A widget made in one look takes the sizes and colours of the next."""
    words = Words("Ready", 24, True)
    qtbot.addWidget(words)
    with wearing(u=1.0):
        low = words.height()
    with wearing(dark=True, u=2.0):
        assert words.height() == 2 * low
        words.show()
        words.resize(words.sizeHint())
        image = words.grab().toImage()
        seen = {image.pixelColor(x, y).lightness() for x in range(image.width()) for y in range(image.height())}
        assert max(seen) > 200
        words.close()


@pytest.mark.parametrize("dark", [False, True])
def test_palette_carries_the_table(qapp: QApplication, dark: bool) -> None:
    """Menus and stock dialogs take page, sheet, ink and accent from the table."""
    with wearing(dark):
        colours = look.current().colours
        palette = qapp.palette()
        assert palette.window().color() == colours.page
        assert palette.base().color() == colours.sheet
        assert palette.text().color() == colours.ink
        assert palette.highlight().color() == colours.acc


def test_scale_is_kept_within_its_ends() -> None:
    """A text scale below 100 or above 200 % is brought to the nearer end."""
    assert look.make(u=0.4).u == 1.0
    assert look.make(u=3.0).u == 2.0
