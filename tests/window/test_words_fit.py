"""Every screen at every size and text scale: no word is wider than its box, nothing leaves the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication

from cribdesk.crib.hold import reasons_of
from cribdesk.desk.slate import AreaForm, BindForm, ChangeForm, Choice, HoldForm, Slate
from cribdesk.window.components.action import ActionButton
from tests.window import samples
from tests.window.helpers import wearing, words_that_do_not_fit
from tests.window.standing import SIZES, Standing, settle, stand

POSITIONS = tuple((one.code, one.name) for one in samples.MODEL.positions)
CHANGE = ChangeForm(
    1, samples.unit().label, POSITIONS, "pre-filter", (Choice(1, 7, None, "Pre-filter, WL1, lot K2608", 11),), 0
)
SLATES: dict[str, Callable[[], Slate]] = {
    "empty": lambda: samples.EMPTY,
    "person": lambda: Slate(clerk=samples.CASTEL, person=samples.person()),
    "caution": samples.issue_slate,
    "stop": samples.stop_slate,
    "long names": samples.long_slate,
    "out": samples.out_slate,
    "on hold": samples.held_slate,
    "released": lambda: samples.held_slate("passed at the bench by inspection 812"),
    "passed": lambda: replace(samples.issue_slate(), passed=samples.check_slate(samples.run_at("alarm")).check),
    "return": lambda: replace(samples.out_slate(), form=samples.return_form()),
    "complete": lambda: replace(
        samples.out_slate(),
        form=samples.return_form(returned=True, trouble="Hours worn: 40 is more than it was out. Enter it again."),
    ),
    "hold": lambda: replace(
        samples.held_slate(), form=HoldForm(1, samples.unit().label, reasons_of(samples.MODEL), "low-flow")
    ),
    "change": lambda: replace(samples.held_slate(), form=CHANGE),
    "bind": lambda: Slate(clerk=samples.CASTEL, form=BindForm("4006381333931")),
    "area": lambda: replace(
        samples.issue_slate(), form=AreaForm(samples.areas(), (("2026-11-25T13:30:00Z", "End of this shift"),))
    ),
    "returns": lambda: Slate(
        clerk=samples.CASTEL, mode="returns", done=("U000350U is back from Imre Dobrosi, not checked yet.",)
    ),
    "tray": lambda: Slate(clerk=samples.CASTEL, tray=(samples.unit(204), samples.unit(211))),
    "look": lambda: samples.check_slate(samples.run_at("spark-arrestor")),
    "reading": lambda: samples.check_slate(samples.ladder_run()),
    "timed": lambda: samples.check_slate(samples.run_at("alarm")),
    "action": lambda: samples.check_slate(samples.run_at("blower")),
    "choice": lambda: samples.check_slate(samples.run_at("speed", samples.CHOICE)),
    "remedy": lambda: samples.check_slate(samples.remedy_run()),
    "remedy form": lambda: replace(samples.check_slate(samples.remedy_run()), form=replace(CHANGE, for_check=True)),
}
ALWAYS = ("1280 x 820", "960 x 540")
EACH = [size if size in ALWAYS else pytest.param(size, marks=pytest.mark.long) for size in SIZES]
"""The other sizes and scales are in the long run: half a second a screen adds up."""
PLACES: dict[str, tuple[str, str, object]] = {
    "units": ("units", "", samples.unit_rows()),
    "no units": ("units", "", ()),
    "unit": ("unit", samples.unit().label, samples.unit()),
    "unit on hold": ("unit", samples.held_slate().unit.label, samples.held_slate().unit),  # type: ignore[union-attr]
    "people": ("people", "", samples.person_rows()),
    "person": ("person", samples.DOBROSI.label, samples.person(samples.DOBROSI, ended=True, holds=True)),
    "bench": ("bench", "", samples.bench()),
    "idle bench": ("bench", "", samples.BENCH_NONE),
    "batteries": ("batteries", "", samples.batteries()),
    "stock": ("stock", "", samples.items()),
    "areas": ("areas", "", samples.area_rows()),
    "journal": ("journal", "", samples.journal()),
    "settings": ("settings", "", dict(samples.HOUSE.settings)),
}


def faults_of(standing: Standing, name: str) -> list[str]:
    """What does not fit, and buttons at the foot that are not wholly inside the window."""
    settle()
    window = standing.window
    found = [f"{name}: {one}" for one in words_that_do_not_fit(window)]
    for button in window.findChildren(ActionButton):
        if button.isVisible() and window.check.isAncestorOf(button):
            corner = button.mapTo(window, button.rect().bottomRight())
            if not window.rect().contains(corner):
                found.append(f"{name}: {button.word()!r} leaves the window")
    return found


@pytest.mark.parametrize("size", EACH)
def test_words_of_the_counter_and_the_check_fit(qapp: QApplication, size: str) -> None:
    """Slates and check pages, long names among them, show every word whole."""
    with wearing(u=SIZES[size][2]):
        standing = stand(size)
        found: list[str] = []
        for name, make in SLATES.items():
            standing.lay(make())
            found += faults_of(standing, name)
        standing.window.close()
    assert not found, "\n".join(found)


@pytest.mark.parametrize("size", EACH)
def test_words_of_the_places_fit(qapp: QApplication, size: str) -> None:
    """Lists, cards and settings show every word whole; only cells of tables may elide."""
    with wearing(dark=True, u=SIZES[size][2]):
        standing = stand(size)
        found: list[str] = []
        for name, (kind, argument, data) in PLACES.items():
            standing.open(kind, argument, data)
            found += faults_of(standing, name)
        standing.window.close()
    assert not found, "\n".join(found)


@pytest.mark.parametrize("size", EACH)
def test_verdict_and_action_never_leave_the_window(qapp: QApplication, size: str) -> None:
    """However little room there is, band and blue field are whole inside it."""
    with wearing(u=SIZES[size][2]):
        standing = stand(size)
        window = standing.window
        for make in (samples.issue_slate, samples.stop_slate, samples.long_slate, samples.out_slate):
            standing.lay(make())
            band = window.counter.verdict.band
            shown = [band, *(one for one in window.counter.verdict.findChildren(ActionButton) if one.isVisible())]
            assert len(shown) > 1
            for widget in shown:
                for corner in (widget.rect().topLeft(), widget.rect().bottomRight()):
                    assert window.rect().contains(widget.mapTo(window, corner)), widget.accessibleName()
        standing.window.close()
