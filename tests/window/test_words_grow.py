"""Words follow the text scale while the program runs."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from cribdesk.window.components.base import Words
from cribdesk.window.look import install
from tests.window.helpers import wearing


@pytest.mark.parametrize("ink", ["ink", "ink2"])
def test_words_grow_and_shrink_with_the_text_scale(qapp: QApplication, ink: str) -> None:
    """Shown, hidden or recoloured, words have the size of the scale in force, and of the next one."""
    install(qapp, 1.0, False)
    page = QWidget()
    column = QVBoxLayout(page)
    shown, hidden = Words("shown", ink=ink), Words("hidden", ink=ink)
    for one in (shown, hidden):
        column.addWidget(one)
    page.show()
    hidden.hide()
    qapp.processEvents()
    for u in (2.0, 1.25):
        with wearing(u=u):
            shown.set_ink("stopink")
            hidden.show()
            qapp.processEvents()
            sizes = {one.text(): one.fontInfo().pixelSize() for one in (shown, hidden)}
            assert sizes == dict.fromkeys(sizes, round(18 * u))
            hidden.hide()
    qapp.processEvents()
    assert shown.fontInfo().pixelSize() == 18
    page.deleteLater()
