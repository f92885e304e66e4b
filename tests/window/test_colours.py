"""The contrasts that the look promises, computed from the colour tables."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor

from cribdesk.window import look

# Pairs and ratios as the look's description states them (light, dark).
PROMISED = {
    ("ink", "page"): (14.6, 15.3), ("ink", "sheet"): (16.7, 13.5), ("ink2", "page"): (7.4, 9.0),
    ("ink2", "rail"): (6.1, 9.8), ("off", "page"): (5.0, 5.8), ("off", "sheet"): (5.7, 5.1),
    ("onacc", "acc"): (8.3, 8.9), ("acc", "page"): (7.0, 8.6), ("onstop", "stop"): (7.1, 5.5),
    ("stopink", "page"): (6.8, 8.0), ("oncaut", "caut"): (9.7, 9.2), ("onstrip", "strip"): (14.3, 18.3),
    ("onstrip2", "strip"): (8.3, 9.4), ("edge", "page"): (3.9, 5.5), ("edge", "sheet"): (4.4, 4.8),
    ("edge", "rail"): (3.2, 5.9), ("steel", "track"): (4.3, 4.5),
}  # fmt: skip
NOT_TEXT = {"edge", "steel"}


def test_contrast_agrees_with_the_definition_s_own_ends() -> None:
    """Black on white is 21 to 1 and a colour on itself 1 to 1 (WCAG 2.2, contrast ratio)."""
    assert look.contrast(QColor("#000000"), QColor("#FFFFFF")) == pytest.approx(21.0)
    assert look.contrast(QColor("#777777"), QColor("#777777")) == pytest.approx(1.0)


def test_contrast_of_a_grey_known_from_the_guidelines() -> None:
    """#767676 on white is the well known lightest grey that passes 4.5 (WCAG 2.2, 1.4.3; from memory)."""
    assert look.contrast(QColor("#767676"), QColor("#FFFFFF")) >= 4.5
    assert look.contrast(QColor("#777777"), QColor("#FFFFFF")) < 4.5


@pytest.mark.parametrize(("pair", "ratios"), PROMISED.items(), ids=lambda value: str(value))
def test_promised_contrast(pair: tuple[str, str], ratios: tuple[float, float]) -> None:
    """Each promised ratio holds to its one decimal in light and dark."""
    for colours, promised in zip((look.LIGHT, look.DARK), ratios, strict=True):
        found = look.contrast(colours.role(pair[0]), colours.role(pair[1]))
        assert found == pytest.approx(promised, abs=0.051)


@pytest.mark.parametrize("colours", [look.LIGHT, look.DARK], ids=["light", "dark"])
def test_words_and_outlines_can_be_read(colours: look.Colours) -> None:
    """Text keeps 4.5 to 1 and outlines 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11)."""
    for front, ground in PROMISED:
        least = 3.0 if front in NOT_TEXT else 4.5
        assert look.contrast(colours.role(front), colours.role(ground)) >= least


def test_weak_pairs_are_known() -> None:
    """Amber on light paper and red on the strip are too weak alone, which is why they get a rim."""
    assert look.contrast(look.LIGHT.caut, look.LIGHT.page) < 3
    assert look.contrast(look.LIGHT.stop, look.LIGHT.strip) < 3
    assert look.contrast(look.DARK.stop, look.DARK.sheet) < 3
    assert look.contrast(look.DARK.stopink, look.DARK.sheet) >= 3
