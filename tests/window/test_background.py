"""Work beside the window: order, threads, faults, progress, closing."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from cribdesk.window.background import Background, Fault, Progress


@pytest.fixture
def background(qapp: object) -> Iterator[Background]:
    """A worker that is joined whatever the test does."""
    made = Background()
    yield made
    made.close()


def test_work_runs_on_one_other_thread_and_answers_here(background: Background, qtbot: QtBot) -> None:
    """Every job sees the same thread, which is not the window's; every answer is given on the window's."""
    worked: list[int] = []
    answered: list[int] = []
    for _ in range(3):
        background.run(threading.get_ident, worked.append)
        background.run(int, lambda _: answered.append(threading.get_ident()))
    qtbot.waitUntil(lambda: len(answered) == 3)
    assert len(set(worked)) == 1
    assert set(answered) == {threading.get_ident()}
    assert worked[0] != answered[0]


def test_answers_come_in_the_order_asked(background: Background, qtbot: QtBot) -> None:
    """Twenty jobs come back as they were asked."""
    back: list[int] = []
    for number in range(20):
        background.run(lambda n=number: n, back.append)  # type: ignore[misc]
    qtbot.waitUntil(lambda: len(back) == 20)
    assert back == list(range(20))


def test_an_exception_comes_back_as_a_fault_and_the_next_job_runs(background: Background, qtbot: QtBot) -> None:
    """A job that raises answers with a Fault that carries the error and its report."""
    back: list[object] = []
    background.run(lambda: 1 / 0, back.append)
    background.run(lambda: "next", back.append)
    qtbot.waitUntil(lambda: len(back) == 2)
    fault = back[0]
    assert isinstance(fault, Fault)
    assert isinstance(fault.error, ZeroDivisionError)
    assert "ZeroDivisionError" in fault.report
    assert back[1] == "next"


def test_closing_finishes_what_was_asked(qapp: object) -> None:
    """Close joins only after the jobs asked before it; none can be asked after it."""
    background, did = Background(), []
    gate = threading.Event()
    background.run(gate.wait, lambda _: None)
    for number in range(5):
        background.run(lambda n=number: did.append(n), lambda _: None)  # type: ignore[misc]
    gate.set()
    background.close()
    assert did == [0, 1, 2, 3, 4]
    with pytest.raises(RuntimeError):
        background.run(int, print)
    background.close()


def test_busy_is_told_at_both_ends(background: Background, qtbot: QtBot) -> None:
    """busy_changed says True once when work starts to wait and False when the last is back."""
    told: list[bool] = []
    background.busy_changed.connect(told.append)
    background.run(int, lambda _: None)
    background.run(int, lambda _: None)
    qtbot.waitUntil(lambda: not background.busy())
    assert told == [True, False]


def test_long_work_tells_its_progress_and_can_be_called_off(background: Background, qtbot: QtBot) -> None:
    """Progress arrives in the window's thread, and a cancelled job ends early."""
    told: list[tuple[float, str]] = []
    back: list[object] = []
    started = threading.Event()

    def work(progress: Progress) -> str:
        progress.tell(0.5, "half of it")
        started.set()
        while not progress.cancelled():
            threading.Event().wait(0.005)
        return "called off"

    handle = background.run_long(work, back.append, lambda share, words: told.append((share, words)))
    qtbot.waitUntil(lambda: bool(told))
    handle.cancel()
    qtbot.waitUntil(lambda: bool(back))
    assert told == [(0.5, "half of it")]
    assert back == ["called off"]


def test_an_answer_for_a_widget_that_is_gone_is_dropped(background: Background, qtbot: QtBot) -> None:
    """A bound slot of a deleted Qt object is not called."""

    class Listener(QObject):
        def take(self, result: object) -> None:
            raise AssertionError("called after its end")

    listener, after = Listener(), []
    gate = threading.Event()
    background.run(gate.wait, listener.take)
    background.run(int, after.append)
    import shiboken6

    shiboken6.delete(listener)
    gate.set()
    qtbot.waitUntil(lambda: bool(after))
    assert after == [0]
