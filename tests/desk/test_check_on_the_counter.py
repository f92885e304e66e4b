"""A check on the counter is left by an entry only, and a remedy stands only once it is done."""

from __future__ import annotations

from datetime import timedelta

import pytest

from cribdesk.crib.records import Battery, Inspection, Unit, Verdict
from cribdesk.desk.slate import Done
from cribdesk.procedure.answers import Good, Measured, NotGood, RemedyDone
from cribdesk.procedure.run import page
from cribdesk.store.faults import FULL
from tests.desk.harness import Desk
from tests.desk.operating import custody_of
from tests.desk.shop import Shop, good_answer, house

OPEN = "is open. Finish it, or break off with F12. Nothing changed."


def laid_out(shop: Shop) -> Desk:
    """Wearer, unit, pack and area lie on the counter."""
    desk = Desk(shop.store, house(), shop.moment)
    for name in ("Castel", "Wronecka", "wl-1", "pack-1", "bay-3"):
        desk.scan(shop.names[name])
    return desk


def checked(desk: Desk, shop: Shop, upto: str = "") -> None:
    """The check is answered well, up to a step or to its end."""
    desk.choose("go")
    while desk.slate.check is not None and page(desk.slate.check.run).step != upto:
        desk.answer(good_answer(desk.slate.check.run, shop.names["meter"]))


@pytest.mark.parametrize("command", ["sign-on", "sign-off", "returns", "bind", "relabel"])
@pytest.mark.parametrize("state", ["passed", "part asked for"])
def test_no_command_pushes_a_check_aside(own_shop: Shop, command: str, state: str) -> None:
    """A passed check that waits for its wearer, or one whose remedy asks for a part, stays and is told."""
    desk = laid_out(own_shop)
    desk.scan("SOMETHING FOREIGN")
    if state == "passed":
        checked(desk, own_shop)
    else:
        checked(desk, own_shop, "lens")
        desk.answer(NotGood())
        desk.answer(RemedyDone())
        assert desk.slate.form is not None
    before = desk.slate
    done = len(desk.done)
    desk.choose(command)
    assert (desk.slate.check, desk.slate.passed, desk.slate.form) == (before.check, before.passed, before.form)
    assert desk.slate.line.words.endswith(OPEN)
    assert len(desk.done) == done


def test_an_answer_after_ten_idle_minutes_is_not_taken(own_shop: Shop) -> None:
    """Answered before the clock's own beat noticed: the run is ended and kept as broken off, not gone on with."""
    desk = laid_out(own_shop)
    desk.choose("go")
    desk.answer(Good())
    desk.pass_time(timedelta(minutes=10, seconds=1))
    desk.answer(Good())
    assert desk.slate.check is None
    assert "stood for 10 minutes and ended" in desk.slate.line.words
    with own_shop.store.reading() as reader:
        kept = reader.latest(Inspection, unit_id=own_shop.record_in(reader, Unit, "wl-1").id)
    assert kept is not None
    assert kept.verdict is Verdict.BROKEN_OFF


def test_no_tray_pushes_a_check_aside(own_shop: Shop) -> None:
    """Units chosen for a tray from the bench list while the wearer reaches for the badge: the check stays."""
    desk = laid_out(own_shop)
    checked(desk, own_shop)
    desk.gather([own_shop.record(Unit, "wl-2").id])
    assert desk.slate.line.words.endswith(OPEN)
    desk.scan(own_shop.names["Wronecka"])
    assert custody_of(own_shop, "wl-1").returned_at is None


def test_a_pack_that_did_not_go_in_does_not_go_along(own_shop: Shop) -> None:
    """The disk is full while a pack is swapped: the first one is still in, and the second can be scanned again."""
    desk = laid_out(own_shop)
    desk.pass_time(timedelta(hours=24))
    desk.choose("put-aside")
    for name in ("Wronecka", "wl-1", "pack-1", "bay-3"):
        desk.scan(own_shop.names[name])
    checked(desk, own_shop, "airflow")
    for _ in range(3):
        desk.answer(Measured(150.0))
    desk.answer(RemedyDone())
    desk.answer(RemedyDone())
    assert desk.slate.check is not None
    assert desk.slate.check.ask == "battery"
    desk.slow = True
    desk.scan(own_shop.names["pack-2"])
    assert desk.slate.pending is not None
    desk.take(Done(desk.moment, desk.slate.pending.operation_id, FULL, desk.token()))
    desk._waiting.clear()
    desk.slow = False
    assert desk.slate.battery is not None
    assert desk.slate.battery.label == own_shop.names["pack-1"]
    desk.scan(own_shop.names["pack-2"])
    assert desk.slate.battery.label == own_shop.names["pack-2"]
    unit = own_shop.record(Unit, "wl-1")
    assert own_shop.record(Battery, "pack-2").unit_id == unit.id
