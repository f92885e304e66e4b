"""What measuring says at the real counter: a pack that may not last, and air in which nothing may be read."""

from __future__ import annotations

from math import log

from PySide6.QtCore import Qt

from cribdesk.crib.records import Battery
from cribdesk.crib.run_time import BATTERY, RunFit, Share
from cribdesk.procedure.run import page
from cribdesk.store.connect import open_store
from cribdesk.window.check.air import AirFields
from tests.window.desk_window import DeskWindow


def short_pack(desk: DeskWindow, name: str, hours: float) -> None:
    """The pack's runs told so far that it runs so long; kept as forecasts are, by another program on the store."""
    battery = desk.read(lambda reader: reader.first(Battery, label=desk.label(name)))
    assert battery is not None
    fit = RunFit(
        model=battery.model, mean=log(hours), speeds=(("WL1 low", 0.0), ("WL1 high", 0.0)), fade=(0.0, 0.0001),
        load=(0.0, 0.0001), sigma=0.05, runs=400, flat=150, most_cycles=300, groups=((4, 3),), known=(), left_out=(),
        seq=1, at=desk.clock(),
    )  # fmt: skip
    with open_store(str(desk.store)) as store, store.deriving() as deriving:
        deriving.put_runs(fit, [Share(BATTERY, battery.id, battery.model, 0.0, 0.02, 20, 10, 0)])


def test_a_pack_that_may_not_last_is_a_caution_before_the_check(signed_on: DeskWindow) -> None:
    """It is read before anything is done; the check can be begun all the same, another pack takes it away."""
    short_pack(signed_on, "pack-1", 3.0)
    signed_on.scan("Wronecka", "wl-1", "pack-1", "bay-3")
    signed_on.shows("This pack may not last until", "Take another pack, or plan a swap.")
    assert signed_on.button("Check").isEnabled()
    short_pack(signed_on, "pack-2", 12.0)
    signed_on.scan("pack-2")
    signed_on.lacks("This pack may not last until")


def test_a_ball_is_refused_in_cold_air(signed_on: DeskWindow) -> None:
    """At -10 °C the ball stands too high: nothing is judged, the step stays, and the line says what to do instead."""
    signed_on.clock.later(hours=24)  # the full inspection, with its airflow
    signed_on.scan("Wronecka", "wl-1", "pack-1", "bay-3")
    signed_on.click("Inspect")
    for _ in range(30):
        check = signed_on.app.slate.check
        assert check is not None
        if page(check.run).step == "airflow":
            break
        signed_on.scan("card good")
    air = next(one for one in signed_on.window.findChildren(AirFields) if one.isVisible())
    air.temperature.setFocus()
    signed_on.type("-10")
    signed_on.shows("less flows than the meter shows")
    before = signed_on.read(lambda reader: reader.head().seq)
    signed_on.key(Qt.Key.Key_F6)
    assert "not at \u221210 °C: in cold air the ball stands too high" in signed_on.line()
    assert page(signed_on.app.slate.check.run).step == "airflow"  # type: ignore[union-attr]
    assert signed_on.read(lambda reader: reader.head().seq) == before
