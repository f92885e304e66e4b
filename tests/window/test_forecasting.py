"""Forecasts beside the counter's work: steps give way, are shown, can be called off; the card follows."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from pytestqt.qtbot import QtBot

from cribdesk.crib.change import FORECAST, THUMB
from cribdesk.crib.forecast import Cover
from cribdesk.window.background import Background, Fault
from cribdesk.window.start import wait_until
from tests.window.desk_window import DeskWindow


@dataclass(frozen=True)
class Done:
    """A step that was done."""

    share: float
    words: str = "Trying"


@pytest.fixture
def background(qapp: object) -> Iterator[Background]:
    """A worker that is joined whatever the test does."""
    made = Background()
    yield made
    made.close()


def test_steps_give_way(background: Background, qtbot: QtBot) -> None:
    """What is asked while steps run comes before the next step, and steps are not counted as busy."""
    order: list[str] = []
    asked, go_on = threading.Event(), threading.Event()

    def steps() -> Iterator[Done]:
        order.append("step 1")
        asked.set()
        go_on.wait(10)
        yield Done(0.5)
        order.append("step 2")
        yield Done(1.0)

    ended: list[object] = []
    background.run_steps(steps, ended.append, lambda *_: None)
    assert asked.wait(10)
    assert not background.busy()
    background.run(lambda: order.append("a scan"), lambda _: None)
    go_on.set()
    qtbot.waitUntil(lambda: bool(ended))
    assert order == ["step 1", "a scan", "step 2"]
    assert ended == [None]


def test_steps_tell_how_far_they_are(background: Background, qtbot: QtBot) -> None:
    """Each step's share and words arrive in the window's thread, in order."""
    told: list[tuple[float, str]] = []
    ended: list[object] = []
    background.run_steps(
        lambda: iter([Done(0.25), Done(0.75)]), ended.append, lambda share, words: told.append((share, words))
    )
    qtbot.waitUntil(lambda: bool(ended))
    assert told == [(0.25, "Trying"), (0.75, "Trying")]


def test_called_off_it_ends_after_its_step(background: Background, qtbot: QtBot) -> None:
    """The step under way is done, the next is not."""
    did: list[int] = []
    asked, go_on = threading.Event(), threading.Event()

    def steps() -> Iterator[Done]:
        for number in range(100):
            did.append(number)
            asked.set()
            go_on.wait(10)
            yield Done(number / 100)

    ended: list[object] = []
    progress = background.run_steps(steps, ended.append, lambda *_: None)
    assert asked.wait(10)
    progress.cancel()
    go_on.set()
    qtbot.waitUntil(lambda: bool(ended))
    assert (did, ended) == ([0], [None])


def test_a_fault_in_a_step_is_told(background: Background, qtbot: QtBot) -> None:
    """The exception comes back as a Fault, and the worker goes on."""
    ended: list[object] = []

    def steps() -> Iterator[Done]:
        yield Done(0.1)
        raise ZeroDivisionError

    background.run_steps(steps, ended.append, lambda *_: None)
    qtbot.waitUntil(lambda: bool(ended))
    assert isinstance(ended[0], Fault)
    back: list[int] = []
    background.run(lambda: 3, back.append)
    qtbot.waitUntil(lambda: back == [3])


def test_closing_waits_for_no_further_step(qapp: object) -> None:
    """The window closes after the step under way, however many were left."""
    background, did = Background(), []

    def steps() -> Iterator[Done]:
        for number in range(10_000_000):
            did.append(number)
            yield Done(0.0)

    background.run_steps(steps, lambda _: None, lambda *_: None)
    background.close()
    assert len(did) < 10_000_000


def settled(desk: DeskWindow) -> None:
    """Until no forecast is under way and the window is at rest."""
    forecasting = desk.app.forecasting
    assert forecasting is not None
    assert wait_until(lambda: not forecasting.under_way, 30.0)
    assert forecasting.trouble == ""
    desk.rest()


def basis(desk: DeskWindow, position: str = "pre-filter") -> str:
    """On what the figure of the unit on the counter rests."""
    unit = desk.app.slate.unit
    assert unit is not None
    return next(part.basis for part in unit.parts if part.position == position)


def test_the_card_follows_its_forecast(signed_on: DeskWindow) -> None:
    """A unit on the counter shows the rule of thumb while there is none, the forecast once it is made."""
    signed_on.scan("wl-1")
    assert basis(signed_on) == THUMB
    signed_on.app.begin_forecasts()
    settled(signed_on)
    assert basis(signed_on) == FORECAST
    cover: Cover | None = signed_on.read(lambda reader: reader.cover())
    assert cover is not None
    assert cover.seq == signed_on.read(lambda reader: reader.head().seq)


def test_an_operation_is_taken_in(signed_on: DeskWindow) -> None:
    """A hold touches no use: nothing is made. Cover and journal agree after an operation on a unit."""
    signed_on.app.begin_forecasts()
    settled(signed_on)
    before = signed_on.read(lambda reader: reader.cover())
    forecasting = signed_on.app.forecasting
    assert forecasting is not None
    forecasting.touched(frozenset({"hold", "U000001X"}))
    assert not forecasting.under_way
    forecasting.touched(frozenset({"custody"}))
    assert forecasting.under_way
    settled(signed_on)
    assert signed_on.read(lambda reader: reader.cover()) == before  # the journal did not go on


def test_not_now(signed_on: DeskWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    """Long work shows how far it is, with a button that calls it off; the line goes, the counter works on."""
    from cribdesk import forecasting
    from cribdesk.desk import forecasts

    monkeypatch.setattr(forecasting, "QUIET_SECONDS", -1.0)
    go_on = threading.Event()

    def endless(*_: object) -> Iterator[Done]:
        while True:
            go_on.wait(0.05)
            yield Done(0.4, "Learning how long parts last")

    monkeypatch.setattr(forecasts, "catch_up", endless)
    signed_on.app.begin_forecasts()
    note = signed_on.window.note
    assert wait_until(note.stop.isVisible, 10.0)
    assert note.busy.text().startswith("Learning how long parts last: 40%")
    signed_on.scan("wl-1")
    assert signed_on.app.slate.unit is not None
    signed_on.click_on(note.stop)
    settled(signed_on)
    assert not note.busy.isVisible()
    assert not note.stop.isVisible()


def test_trouble_is_said_on_the_card_until_it_is_over(
    signed_on: DeskWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A forecast that cannot be made is no silent rule of thumb: the part's account says why, and stops saying it."""
    from cribdesk.desk import forecasts

    def broken(*_: object) -> Iterator[Done]:
        yield Done(0.1)
        raise OSError("no space left on the disk")

    works = forecasts.catch_up
    monkeypatch.setattr(forecasts, "catch_up", broken)
    signed_on.app.begin_forecasts()
    forecasting = signed_on.app.forecasting
    assert forecasting is not None
    assert wait_until(lambda: bool(forecasting.trouble), 30.0)
    signed_on.rest()
    signed_on.window.open_place("unit", signed_on.names["wl-1"])
    signed_on.rest()
    signed_on.shows("could not be brought up to date (no space left on the disk)")
    monkeypatch.setattr(forecasts, "catch_up", works)
    forecasting.look()
    settled(signed_on)
    assert signed_on.window.doors.forecast_trouble == ""
    assert "brought up to date" not in signed_on.shown()
