"""Start to a usable window, against a bare Qt window plus opening the same file."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

from tests.bench.measure import Row

RUNS = 7
NO_POSTGRES = "import sys; sys.modules['psycopg'] = None; sys.modules['psycopg2'] = None\n"
BARE = """
import sqlite3
from PySide6.QtWidgets import QApplication, QMainWindow
app = QApplication([])
window = QMainWindow(); window.resize(1440, 900); window.show()
base = sqlite3.connect({file!r}); base.execute('select count(*) from unit').fetchall()
app.processEvents(); window.repaint()
"""
OURS = """
import gc
gc.disable()  # as the command line does
from pathlib import Path
from cribdesk.session import ready, start
from cribdesk.station import Station
session = start(None, Station(Path({station!r})))
session.window.show()
session.open({file!r})
assert ready(session)
session.window.repaint()
import sys
heavy = [one for one in ('reportlab', 'numpy', 'scipy', 'barcode', 'pypdfium2') if one in sys.modules]
assert not heavy, heavy
import os; sys.stdout.flush(); os._exit(0)
"""


def row(sample: Path, folder: Path) -> Row:
    """Whole processes in turn, the median of each."""
    bare = BARE.format(file=str(sample))
    ours = OURS.format(file=str(sample), station=str(folder / "station.json"))
    kept = folder / "bytecode"
    _run(bare, kept)
    _run(ours, kept)
    pairs = [(_run(ours, kept), _run(bare, kept)) for _ in range(RUNS)]
    made, held = (statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = statistics.median(one / other for one, other in pairs)
    return Row(
        "Start to usable window",
        f"median {made * 1000:.0f} ms",
        f"a bare window and the file opened: median {held * 1000:.0f} ms",
        f"{ratio:.2f}",
        "at most 1.5",
    )


def _run(code: str, kept: Path) -> float:
    """One whole process; modules are compiled once and kept, as wherever a program is installed."""
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONPYCACHEPREFIX": str(kept)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    begun = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", NO_POSTGRES + code], env=environment, check=True, capture_output=True,
    )  # fmt: skip
    return time.perf_counter() - begun
