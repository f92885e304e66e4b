"""Trouble met in a check holds the unit whatever goes wrong then; only the right run ends that hold."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.records import Hold, Inspection, Unit, Where
from cribdesk.crib.refusal import MayNotIssue, WrongFigure
from cribdesk.desk.away import Lend, MarkMissing
from cribdesk.desk.inspection import FinishInspection, HoldUnfinished
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.operation import Operation
from cribdesk.desk.slate import Done
from cribdesk.desk.unit import MoveUnit
from cribdesk.procedure.answers import Good, NotGood, RemedyNotPossible
from cribdesk.procedure.run import Run, answer, break_off, start
from cribdesk.store.faults import FULL
from tests.desk.harness import Desk
from tests.desk.operating import issue_fields, later
from tests.desk.refused import refused
from tests.desk.shop import Shop, house, passed


def open_holds(shop: Shop, name: str) -> list[str]:
    """The reasons that hold a unit."""
    unit = shop.record(Unit, name)
    with shop.store.reading() as reader:
        return [one.reason for one in reader.find(Hold, unit_id=unit.id, released_at=None)]


def begun(shop: Shop, unit: Unit, kind: str) -> Run:
    """A run at its first page."""
    procedure = house().procedure_of(house().models[unit.model], kind)
    assert procedure is not None
    return start(procedure, house().models[unit.model], shop.moment, shop.clerk_label)


def in_a_check(shop: Shop) -> Desk:
    """A counter with the short check of wl-1 at its second page."""
    desk = Desk(shop.store, house(), shop.moment)
    for name in ("Castel", "Wronecka", "wl-1", "pack-1", "bay-3"):
        desk.scan(shop.names[name])
    desk.choose("go")
    desk.answer(Good())
    return desk


def disk_full(desk: Desk) -> None:
    """What was just asked of the store comes back as a fault."""
    assert desk.slate.pending is not None
    desk.take(Done(desk.moment, desk.slate.pending.operation_id, FULL, desk.token()))
    desk._waiting.clear()
    desk.slow = False


@pytest.mark.parametrize("then", ["go on", "break off"])
def test_a_fault_costs_no_hold(own_shop: Shop, then: str) -> None:
    """The disk is full when the trouble is met: the hold is written with the next answer, or by breaking off."""
    desk = in_a_check(own_shop)
    desk.slow = True
    desk.answer(NotGood())
    disk_full(desk)
    assert desk.slate.line.words == FULL
    assert open_holds(own_shop, "wl-1") == []
    desk.pass_time(timedelta(seconds=5))
    if then == "go on":
        desk.answer(NotGood())  # the remedy page takes no such answer: nothing changes, and nothing is lost
        desk.choose("back")
        desk.answer(Good())
    else:
        desk.choose("break-off")
    assert open_holds(own_shop, "wl-1") == ["inspection-not-finished"]


def test_trouble_at_the_bench_holds_at_once(own_shop: Shop) -> None:
    """The first not-good answer of a bench inspection holds the unit before anything else is asked."""
    desk = Desk(own_shop.store, house(), own_shop.moment)
    for name in ("Castel", "wl-1"):
        desk.scan(own_shop.names[name])
    desk.choose("bench")
    desk.answer(Good())
    desk.answer(NotGood())
    assert open_holds(own_shop, "wl-1") == ["inspection-not-finished"]


def test_a_fault_costs_no_fail(own_shop: Shop) -> None:
    """The disk is full when a failed check is to be written: it stays, and is written once there is room."""
    desk = in_a_check(own_shop)
    desk.answer(NotGood())
    desk.slow = True
    desk.answer(RemedyNotPossible())
    disk_full(desk)
    assert desk.slate.line.words == FULL
    assert desk.slate.check is not None
    assert open_holds(own_shop, "wl-1") == ["inspection-not-finished"]
    desk.choose("done")
    assert desk.slate.check is None
    assert open_holds(own_shop, "wl-1") == ["lens"]


@pytest.mark.parametrize("kind", ["hand-over", "pre-use", "bench"])
def test_broken_off_after_trouble_it_is_held(own_shop: Shop, kind: str) -> None:
    """The entry of a broken-off check holds the unit itself where nothing does yet; a good one holds nothing."""
    unit = own_shop.record(Unit, "wl-1")
    run = answer(begun(own_shop, unit, kind), Good(), own_shop.moment, 1.0)
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=break_off(run, own_shop.moment, "called away"))
    assert open_holds(own_shop, "wl-1") == []
    troubled = answer(run, NotGood(), own_shop.moment, 1.0)
    for _ in range(2):
        made = break_off(troubled, own_shop.moment, "called away")
        receipt = own_shop.do(FinishInspection, unit_id=unit.id, run_made=made)
    assert open_holds(own_shop, "wl-1") == ["inspection-not-finished"]
    assert "broken off: called away" in receipt.sentence


def test_another_runs_trouble_is_not_its_own(own_shop: Shop) -> None:
    """A check without trouble, begun before another one met some, ends no hold and sends nothing out."""
    unit = own_shop.record(Unit, "wl-1")
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    bench = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.moment += timedelta(minutes=1)
    own_shop.do(HoldUnfinished, unit_id=unit.id, procedure="welding-papr-bench", step="Airflow")
    with refused(own_shop, MayNotIssue, "On hold"):
        own_shop.do(IssueUnit, **fields)
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=bench)
    assert open_holds(own_shop, "wl-1") == ["inspection-not-finished"]
    later(own_shop, 0.1)
    again = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=again)
    assert open_holds(own_shop, "wl-1") == []


AWAY: dict[Where, tuple[type[Operation], dict[str, Any]]] = {
    Where.MISSING: (MarkMissing, {}),
    Where.SENT_OUT: (Lend, {"goes_to": "South crib", "due_on": date(2026, 12, 9)}),
}


@pytest.mark.parametrize("where", list(AWAY))
def test_only_the_bench_brings_it_back(own_shop: Shop, where: Where) -> None:
    """Found again, a unit is not at hand because somebody began to look at it; it passes at the bench first."""
    unit = own_shop.record(Unit, "wl-1")
    operation, fields = AWAY[where]
    own_shop.do(operation, unit_id=unit.id, **fields)
    for to in (Where.RACK, Where.BENCH, Where.EMERGENCY):
        with refused(own_shop, WrongFigure, "say that it is back, then inspect it at the bench"):
            own_shop.do(MoveUnit, unit_id=unit.id, where=to)
    broken = break_off(begun(own_shop, unit, "bench"), own_shop.moment, "called away")
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=broken)
    look = passed(unit, "return-look", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=look)
    assert own_shop.record(Unit, "wl-1").where is where
    later(own_shop, 0.1)
    bench = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=bench)
    assert own_shop.record(Unit, "wl-1").where is Where.RACK
    with own_shop.store.reading() as reader:
        assert len(reader.find(Inspection, unit_id=unit.id)) >= 3
