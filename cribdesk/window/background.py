"""One worker thread that owns what runs on it; results come back in the window's thread."""

from __future__ import annotations

import itertools
import queue
import threading
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Protocol

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


class Step(Protocol):
    """What a short step tells when it is done: how far the whole is, and what is being done."""

    @property
    def share(self) -> float: ...
    @property
    def words(self) -> str: ...


@dataclass
class _Steps:
    """Work in short steps, made into an iterator on the worker's thread."""

    make: Callable[[], Iterator[Step]]
    done: Callable[[Any], None]
    progress: Progress
    steps: Iterator[Step] | None = None

    def one(self) -> bool:
        """Does one step; whether there may be more. Called off: there is none."""
        if self.steps is None:
            self.steps = self.make()
        step = None if self.progress.cancelled() else next(self.steps, None)
        if step is None:
            return False
        self.progress.tell(step.share, step.words)
        return True


FIRST, LATER = 0, 1


class _Worker(QThread):
    """Takes jobs in order until it is told to stop; what was asked before the stop is still done.

    One step of what is to be done in steps is taken only while no job waits, and none after the stop.
    """

    landed = Signal(object, object)

    def __init__(self) -> None:
        super().__init__()
        self._jobs: queue.PriorityQueue[tuple[int, int, _Job | _Steps | None]] = queue.PriorityQueue()
        self._number = itertools.count()

    def put(self, job: _Job | _Steps | None) -> None:
        """One more, behind those of its kind; None is the stop."""
        self._jobs.put((LATER if isinstance(job, _Steps) else FIRST, next(self._number), job))

    def run(self) -> None:
        while (job := self._jobs.get()[2]) is not None:
            result: Any = None
            try:
                if isinstance(job, _Job):
                    result = job.work()
                elif job.one():
                    self.put(job)
                    continue
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
        self._worker.put(_Job(work, done))

    def run_long(
        self, work: Callable[[Progress], Any], done: Callable[[Any], None],
        told: Callable[[float, str], None],
    ) -> Progress:  # fmt: skip
        """Ask for long work that tells its progress to `told` in the window's thread; the answer can cancel it."""
        progress = Progress(lambda share, words: self._progressed.emit(told, share, words))
        self.run(lambda: work(progress), done)
        return progress

    def run_steps(
        self, make: Callable[[], Iterator[Step]], done: Callable[[Any], None], told: Callable[[float, str], None]
    ) -> Progress:
        """Ask for work in short steps that keeps nobody waiting: a step is taken only while no job waits.

        It does not count as busy. Called off, or at the close, it ends after the step under way; what the steps
        before it did stays. `done` gets None, or the Fault that ended it.
        """
        if self._closed:
            raise RuntimeError("the background is closed")
        progress = Progress(lambda share, words: self._progressed.emit(told, share, words))
        self._worker.put(_Steps(make, done, progress))
        return progress

    def busy(self) -> bool:
        """Whether something is asked and not back."""
        return self._waiting > 0

    def close(self) -> None:
        """Finish what was asked and join the thread; answers that come after this are dropped."""
        if self._closed:
            return
        self._closed = True
        self._worker.put(None)
        self._worker.wait()

    def _land(self, job: _Job | _Steps, result: Any) -> None:
        if isinstance(job, _Job):
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
