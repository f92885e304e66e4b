"""The last resort: an exception nobody caught is written down, shown, and the person decides."""

from __future__ import annotations

import datetime as dt
import platform
import sys
import threading
import traceback
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QObject, Qt, Signal, qVersion
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPlainTextEdit, QVBoxLayout, QWidget

import cribdesk
from cribdesk.window import look
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Words

MOST_LOG = 2_000_000  # bytes; a longer log starts anew, the old one is kept beside it


def report(kind: type[BaseException], error: BaseException, trace: TracebackType | None, now: dt.datetime) -> str:
    """Everything somebody needs to find the cause; it names no person and holds no row of the store."""
    version = getattr(cribdesk, "__version__", "unknown")
    head = (
        f"CribDesk {version}, {now.isoformat(timespec='seconds')}\n"
        f"Python {platform.python_version()}, Qt {qVersion()}, {platform.platform()}\n\n"
    )
    return head + "".join(traceback.format_exception(kind, error, trace))


def write_log(path: Path, text: str) -> bool:
    """Add the report to the log; False when the disk does not take it."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists() and path.stat().st_size > MOST_LOG:
            path.replace(path.with_suffix(".old"))
        with path.open("a", encoding="utf-8") as file:
            file.write(text.rstrip("\n") + "\n\n")
    except OSError:
        return False
    return True


class CrashDialog(QDialog):
    """What happened, the report to copy, and two ways on; Esc carries on."""

    def __init__(self, text: str, log: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("CribDesk: something went wrong")
        look.ground(self, "page")
        px = look.current().px
        column = QVBoxLayout(self)
        column.setContentsMargins(*(px(24),) * 4)
        column.setSpacing(px(16))
        column.addWidget(Words("Something in CribDesk went wrong", 24, True, wrap=True))
        kept = f"The report below is kept in {log}." if log else "The report could not be written to the disk."
        said = (
            "What was being done may not have been finished. Look at the journal before doing it again. "
            f"{kept} Copy it for whoever looks after this program."
        )
        column.addWidget(Words(said, 18, wrap=True))
        self.text = QPlainTextEdit(text)
        self.text.setReadOnly(True)
        self.text.setAccessibleName("Report")
        self.text.setMinimumSize(px(640), px(240))
        column.addWidget(self.text, 1)
        row = QHBoxLayout()
        row.setSpacing(px(8))
        column.addLayout(row)
        self.copy, self.close_it = ActionButton("Copy the report"), ActionButton("Close CribDesk")
        self.carry_on = ActionButton("Carry on", "go")
        for button, act in ((self.copy, self._copy), (self.close_it, self._quit), (self.carry_on, self.reject)):
            button.clicked.connect(act)
            row.addWidget(button)
        self.wants_close = False

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.text.toPlainText())
        self.copy.set_word("Copied")

    def _quit(self) -> None:
        self.wants_close = True
        self.accept()


Clock = Callable[[], dt.datetime]


class LastResort(QObject):
    """Takes over the exceptions nobody caught, of every thread, and shows one at a time.

    `closing` asks the program to close itself in good order.
    """

    closing = Signal()
    _caught = Signal(str, bool)

    def __init__(self, log: Path, clock: Clock, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._log, self._clock = log, clock
        self.dialog: CrashDialog | None = None
        self._before = (sys.excepthook, threading.excepthook)
        # Queued: the slot then runs in the window's thread, after the paint or the event that failed.
        self._caught.connect(self._show, Qt.ConnectionType.QueuedConnection)

    def install(self) -> None:
        """From now on this is where uncaught exceptions end."""
        sys.excepthook = self._take
        threading.excepthook = self._take_thread

    def remove(self) -> None:
        """Give the hooks back."""
        sys.excepthook, threading.excepthook = self._before

    def _take_thread(self, args: threading.ExceptHookArgs) -> None:
        if args.exc_value is not None:
            self._take(args.exc_type, args.exc_value, args.exc_traceback)

    def _take(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            self.closing.emit()
            return
        text = report(kind, error, trace, self._clock())
        sys.stderr.write(text)
        self._caught.emit(text, write_log(self._log, text))

    def take_report(self, text: str) -> None:
        """Show a report that came another way, such as the Fault of background work."""
        self._caught.emit(text, write_log(self._log, text))

    def _show(self, text: str, logged: bool) -> None:
        if self.dialog is not None:  # one at a time: a fault in each repaint must not bury the screen
            return
        self.dialog = CrashDialog(text, str(self._log) if logged else "")
        self.dialog.finished.connect(self._answered)
        self.dialog.open()

    def _answered(self) -> None:
        dialog, self.dialog = self.dialog, None
        if dialog is not None:
            dialog.deleteLater()
            if dialog.wants_close:
                self.closing.emit()
