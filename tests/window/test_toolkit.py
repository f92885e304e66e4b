"""What we rely on in the toolkit and on the screen's scale."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from PySide6.QtCore import QObject, Signal

_HAIRLINES = """
from PySide6.QtWidgets import QApplication, QWidget
from PySide6.QtGui import QPainter
from cribdesk.window import drawing, look
class Page(QWidget):
    def paintEvent(self, event):
        painter = QPainter(self)
        painter.fillRect(self.rect(), look.current().colours.page)
        for row in range(20):
            drawing.hairline(painter, 0, 20, 3 + row * 7, look.current().colours.ink)
app = QApplication([])
page = Page()
page.resize(20, 160)
image = page.grab().toImage()
column = [image.pixelColor(10, y) == look.current().colours.ink for y in range(image.height())]
runs = "".join("x" if dark else " " for dark in column).split()
print(image.devicePixelRatio(), sorted({len(run) for run in runs}), len(runs))
"""


class _Sender(QObject):
    sent = Signal()


def test_signals_keep_the_counts_of_shared_values() -> None:
    """200 emits and plain calls leave the reference counts of None and True where they were.

    A release of the toolkit lost them on Python 3.11 and ended the program; its range in pyproject.toml keeps
    that one out, and this test keeps the next.
    """
    sender = _Sender()
    sender.sent.connect(lambda: None)
    before = sys.getrefcount(None), sys.getrefcount(True)
    for _ in range(200):
        sender.sent.emit()
        sender.setObjectName("x")
    after = sys.getrefcount(None), sys.getrefcount(True)
    assert before[0] - after[0] < 50
    assert before[1] - after[1] < 50


@pytest.mark.parametrize(("scale", "thick"), [("1.25", 1), ("2", 2)])
def test_hairlines_keep_one_width_on_a_scaled_screen(scale: str, thick: int) -> None:
    """At 125 and 200 % of the screen every hairline has the same count of device pixels, wherever it lies."""
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "QT_SCALE_FACTOR": scale}
    command = [sys.executable, "-c", _HAIRLINES]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.split(maxsplit=1) == [f"{float(scale)}", f"[{thick}] 20\n"]
