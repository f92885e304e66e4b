"""One worker thread that owns what runs on it; results come back in the window's thread."""

from __future__ import annotations

import queue
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, QThread, Signal
from shiboken6 import isValid


@dataclass(frozen=True)
class Fault:
    """An exception that ended a piece of work: what it was, and the whole report for the log."""

    error: BaseException
    report: str


class Progress:
    """Handed to long work: it tells how far it is, and asks whether it was called off."""

    def __init__(self, told: Callable[[float, str], None]) -> None:
        self._told = told
        self._cancelled = threading.Event()

    def tell(self, share: float, words: str = "") -> None:
        """How much is done, 0 to 1, and what is being done."""
        self._told(share, words)

    def cancelled(self) -> bool:
        """Whether somebody called it off; the work then returns early with whatever it has."""
        return self._cancelled.is_set()

    def cancel(self) -> None:
        """Call it off; it ends at its next look."""
        self._cancelled.set()


@dataclass(frozen=True)
class _Job:
    work: Callable[[], Any]
    done: Callable[[Any], None]


class _Worker(QThread):
    """Takes jobs in order until it is told to stop; what was asked before the stop is still done."""

    landed = Signal(object, object)

    def __init__(self) -> None:
        super().__init__()
        self.jobs: queue.SimpleQueue[_Job | None] = queue.SimpleQueue()

    def run(self) -> None:
        while (job := self.jobs.get()) is not None:
            try:
                result: Any = job.work()
            except Exception as error:
                result = Fault(error, traceback.format_exc())
            self.landed.emit(job, result)


class Background(QObject):
    """`run(work, done)`: work on the worker thread, then `done(result or Fault)` in the window's thread.

    Jobs run one at a time in the order asked, so that a connection made by one of them stays on one thread.
    `busy_changed(bool)` tells when the first starts to wait and when the last is back.
    """

    busy_changed = Signal(bool)
    _progressed = Signal(object, float, str)

    def __init__(self, name: str = "store", parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._waiting = 0
        self._closed = False
        self._worker = _Worker()
        self._worker.setObjectName(name)
        self._worker.landed.connect(self._land)
        self._progressed.connect(self._tell)
        self._worker.start()

    def run(self, work: Callable[[], Any], done: Callable[[Any], None]) -> None:
        """Ask for one piece of work; RuntimeError after `close`."""
        if self._closed:
            raise RuntimeError("the background is closed")
        self._waiting += 1
        if self._waiting == 1:
            self.busy_changed.emit(True)
        self._worker.jobs.put(_Job(work, done))

    def run_long(
        self, work: Callable[[Progress], Any], done: Callable[[Any], None],
        told: Callable[[float, str], None],
    ) -> Progress:  # fmt: skip
        """Ask for long work that tells its progress to `told` in the window's thread; the answer can cancel it."""
        progress = Progress(lambda share, words: self._progressed.emit(told, share, words))
        self.run(lambda: work(progress), done)
        return progress

    def busy(self) -> bool:
        """Whether something is asked and not back."""
        return self._waiting > 0

    def close(self) -> None:
        """Finish what was asked and join the thread; answers that come after this are dropped."""
        if self._closed:
            return
        self._closed = True
        self._worker.jobs.put(None)
        self._worker.wait()

    def _land(self, job: _Job, result: Any) -> None:
        self._waiting -= 1
        if self._waiting == 0:
            self.busy_changed.emit(False)
        if not self._closed and _alive(job.done):
            job.done(result)

    def _tell(self, told: Callable[[float, str], None], share: float, words: str) -> None:
        if not self._closed and _alive(told):
            told(share, words)


def _alive(slot: Callable[..., None]) -> bool:
    """False for a method of a Qt object that is gone."""
    owner = getattr(slot, "__self__", None)
    return not isinstance(owner, QObject) or isValid(owner)
