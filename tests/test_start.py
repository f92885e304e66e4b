"""What may not be loaded at start, so that the counter opens at once."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
HEAVY = ("reportlab", "PIL", "numpy", "scipy", "barcode", "pypdfium2", "psycopg", "pymupdf_fonts")


def loaded_by(statement: str, *, without: tuple[str, ...] = (), whole: bool = False) -> set[str]:
    """Top-level modules that a fresh Python holds after the statement; `without` stands for not installed.

    With `whole` all modules, by their whole names.
    """
    name = "name" if whole else "name.split('.')[0]"
    program = (
        "import sys\n"
        f"sys.modules.update(dict.fromkeys({without!r}))\n"
        f"{statement}\n"
        f"print(*{{{name} for name, module in sys.modules.items() if module is not None}})"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


@pytest.mark.parametrize("module", ["cribdesk.app", "cribdesk.window.main"])
def test_start_loads_nothing_heavy(module: str) -> None:
    """The window comes up without the `postgres` extra and without what only papers and numbers need."""
    loaded = loaded_by(f"import {module}", without=("psycopg", "psycopg2"))
    assert loaded.isdisjoint(HEAVY), loaded & set(HEAVY)
    assert "PySide6" in loaded


LATER = (
    "desk.entry_forms", "desk.questions", "desk.printing", "desk.printouts_orders", "desk.fleet_picture", "desk.due",
)  # fmt: skip
"""What the first picture does without: it is loaded beside the work, once the window stands."""


def test_start_loads_no_forms_places_and_papers() -> None:
    """What comes after the first picture is not loaded before it."""
    loaded = loaded_by("import cribdesk.session", without=("psycopg", "psycopg2"), whole=True)
    assert loaded.isdisjoint(f"cribdesk.{one}" for one in LATER)
    assert "cribdesk.window.main" in loaded


def test_command_line_help_loads_no_window() -> None:
    """Reading the command line loads neither Qt nor a database."""
    loaded = loaded_by("import cribdesk.__main__")
    assert loaded.isdisjoint({"PySide6", "peewee", *HEAVY}), loaded


def test_the_heavy_would_be_seen() -> None:
    """The measure itself sees a heavy library when one is loaded."""
    assert "numpy" in loaded_by("import numpy")


def test_first_run_starts_on_a_bare_python() -> None:
    """`first_run` is imported and prints its help with no site-packages and no environment at all."""
    done = subprocess.run(
        [sys.executable, "-S", "-E", "-s", "-m", "cribdesk.first_run", "--help"],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "--tests" in done.stdout
