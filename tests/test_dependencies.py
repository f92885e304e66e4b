"""What CribDesk is built on: every version bounded on both sides, and the bounds that are unusual say why."""

import subprocess
import sys
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
EXTRAS = PROJECT["project"]["optional-dependencies"]
REQUIREMENTS = [
    Requirement(text)
    for text in (
        *PROJECT["build-system"]["requires"],
        *PROJECT["project"]["dependencies"],
        *(text for extra in EXTRAS.values() for text in extra),
    )
]
# What every emit and every plain Qt call may not do: give away a reference to None or True. Versions of the
# binding that do (6.12.0 under Python 3.11) end the whole program after some hundred calls.
COUNT_REFERENCES = """
import sys
from PySide6.QtCore import QCoreApplication, QObject, Signal

class Sender(QObject):
    sent = Signal()

application = QCoreApplication([])
sender = Sender()
before = sys.getrefcount(None), sys.getrefcount(True)
for _ in range(200):
    sender.sent.emit()
    sender.setObjectName("x")
after = sys.getrefcount(None), sys.getrefcount(True)
print(before[0] - after[0], before[1] - after[1])
"""


@pytest.mark.parametrize("requirement", REQUIREMENTS, ids=lambda requirement: str(requirement.name))
def test_version_is_bounded_on_both_sides(requirement: Requirement) -> None:
    """Neither an old version we never tried nor a future one that breaks us is installed."""
    operators = {part.operator for part in requirement.specifier}
    assert operators & {">=", "=="}
    assert operators & {"<", "<=", "=="}
    assert requirement.url is None


def test_qt_stays_below_the_version_that_ends_the_program() -> None:
    """PySide6 6.12.0 drops references to None on Python 3.11 (PYSIDE-3474): lift with proof only."""
    (qt,) = [requirement for requirement in REQUIREMENTS if requirement.name == "PySide6-Essentials"]
    assert not qt.specifier.contains("6.12.0")
    assert qt.specifier.contains("6.11.3")


def test_time_zones_have_no_real_upper_bound() -> None:
    """tzdata is numbered by year and only ever adds rules: its upper bound is a formality, not a limit."""
    (zones,) = [requirement for requirement in REQUIREMENTS if requirement.name == "tzdata"]
    assert zones.specifier.contains("2090.1")


def test_qt_keeps_reference_counts() -> None:
    """200 emits and 200 plain calls leave the counts of None and True where they were."""
    done = subprocess.run(
        [sys.executable, "-c", COUNT_REFERENCES], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr
    lost_none, lost_true = map(int, done.stdout.split())
    assert lost_none < 50
    assert lost_true < 50


@pytest.mark.parametrize("requirement", REQUIREMENTS[1:], ids=lambda requirement: str(requirement.name))
def test_installed_version_is_the_promised_one(requirement: Requirement) -> None:
    """What the tests run on is inside the bounds that users get."""
    assert requirement.specifier.contains(Version(version(requirement.name)))


def test_counter_needs_no_test_library() -> None:
    """What only tests use is not asked of a user."""
    plain = {Requirement(text).name for text in PROJECT["project"]["dependencies"]}
    assert plain.isdisjoint({"pytest", "pytest-qt", "hypothesis", "psycopg", "ruff", "mypy"})
