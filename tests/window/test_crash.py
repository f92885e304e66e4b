"""The last resort: written down, shown once, and the person decides."""

from __future__ import annotations

import datetime as dt
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from cribdesk.window.crash import CrashDialog, LastResort, write_log
from tests.window.helpers import assert_words_fit, wearing

NOW = dt.datetime(2026, 11, 25, 5, 12, tzinfo=dt.UTC)


@pytest.fixture
def resort(qapp: QApplication, tmp_path: Path) -> Iterator[LastResort]:
    """A last resort whose log is in the test's own folder."""
    made = LastResort(tmp_path / "logs" / "cribdesk.log", lambda: NOW)
    yield made
    made.remove()
    if made.dialog is not None:
        made.dialog.done(0)


def break_down(resort: LastResort) -> None:
    """Raise and hand over as the interpreter would."""
    try:
        raise LookupError("the shelf is not there")
    except LookupError as error:
        resort._take(type(error), error, error.__traceback__)


def test_report_is_logged_and_shown(resort: LastResort, qtbot: QtBot, tmp_path: Path) -> None:
    """The log and the dialog carry the same report, with moment, versions and trace."""
    break_down(resort)
    qtbot.waitUntil(lambda: resort.dialog is not None)
    text = (tmp_path / "logs" / "cribdesk.log").read_text(encoding="utf-8")
    assert "2026-11-25T05:12:00+00:00" in text
    assert "LookupError: the shelf is not there" in text
    assert "break_down" in text
    assert resort.dialog is not None
    assert resort.dialog.text.toPlainText().strip() == text.strip()


def test_only_one_dialog_at_a_time(resort: LastResort, qtbot: QtBot, tmp_path: Path) -> None:
    """A fault that repeats is logged each time and shown once."""
    for _ in range(5):
        break_down(resort)
    qtbot.waitUntil(lambda: resort.dialog is not None)
    first = resort.dialog
    QApplication.processEvents()
    assert resort.dialog is first
    assert (tmp_path / "logs" / "cribdesk.log").read_text(encoding="utf-8").count("\nLookupError: ") == 5


def test_carry_on_and_close(resort: LastResort, qtbot: QtBot) -> None:
    """Carry on closes the dialog alone; close asks the program to close."""
    asked: list[bool] = []
    resort.closing.connect(lambda: asked.append(True))
    break_down(resort)
    qtbot.waitUntil(lambda: resort.dialog is not None)
    assert resort.dialog is not None
    resort.dialog.carry_on.click()
    assert resort.dialog is None
    assert asked == []
    break_down(resort)
    qtbot.waitUntil(lambda: resort.dialog is not None)
    resort.dialog.close_it.click()
    assert asked == [True]


def test_another_thread_s_exception_is_shown_in_the_window_s(resort: LastResort, qtbot: QtBot) -> None:
    """What breaks on a thread arrives as a dialog of the window's thread."""
    try:
        raise OSError("disk gone")
    except OSError as error:
        args = threading.ExceptHookArgs((type(error), error, error.__traceback__, None))
    thread = threading.Thread(target=resort._take_thread, args=(args,))
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: resort.dialog is not None)
    assert resort.dialog is not None
    assert "disk gone" in resort.dialog.text.toPlainText()


def test_hooks_are_taken_and_given_back(resort: LastResort) -> None:
    """Install takes the interpreter's hooks, remove gives the former ones back."""
    before = sys.excepthook
    resort.install()
    assert sys.excepthook == resort._take
    resort.remove()
    assert sys.excepthook is before


def test_copy_puts_the_report_on_the_clipboard(qtbot: QtBot) -> None:
    """The copy button takes the whole report."""
    dialog = CrashDialog("the report", "cribdesk.log")
    qtbot.addWidget(dialog)
    dialog.copy.click()
    assert QApplication.clipboard().text() == "the report"


@pytest.mark.parametrize("u", [1.0, 2.0])
def test_dialog_words_fit(qtbot: QtBot, u: float) -> None:
    """The dialog's words are whole at 100 and 200 %."""
    with wearing(u=u):
        dialog = CrashDialog("the report", "cribdesk.log")
        qtbot.addWidget(dialog)
        dialog.show()
        assert_words_fit(dialog)
        dialog.close()


def test_a_long_log_starts_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Past its limit the log is put aside once and a new one begun."""
    monkeypatch.setattr("cribdesk.window.crash.MOST_LOG", 10)
    path = tmp_path / "c.log"
    assert write_log(path, "one two three four")
    assert write_log(path, "five")
    assert path.read_text(encoding="utf-8") == "five\n\n"
    assert "one two" in path.with_suffix(".old").read_text(encoding="utf-8")


def test_a_disk_that_takes_nothing_is_said(tmp_path: Path) -> None:
    """A log that cannot be written is told as False, and raises nothing."""
    (tmp_path / "file").write_text("x")
    assert not write_log(tmp_path / "file" / "c.log", "x")
