"""A flow meter out of calibration proves nothing: not for an issue, not for the end of a hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from cribdesk.crib.proof import proof_of
from cribdesk.crib.records import Hold, Unit
from cribdesk.crib.refusal import NoProof, NotMadeWhole
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.inspection import FinishInspection, HoldUnfinished
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import TakeBack
from tests.crib.given import NOW, hold, passed, standing
from tests.desk.harness import Desk
from tests.desk.operating import hand_out, issue_fields, later
from tests.desk.refused import refused
from tests.desk.shop import Shop, house
from tests.desk.shop import passed as run_of


def open_holds(shop: Shop, unit: Unit) -> list[Hold]:
    """The unit's open holds."""
    with shop.store.reading() as reader:
        return reader.find(Hold, unit_id=unit.id, released_at=None)


def test_the_same_wearer_gets_it_back_by_a_good_meter_only(own_shop: Shop) -> None:
    """Straight back to its wearer without a cleaning, but not on a reading that proves nothing."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 2)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(TakeBack, unit_id=unit.id)
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1", "pre-use")
    old = run_of(unit, "pre-use", own_shop.moment, own_shop.clerk_label, own_shop.names["meter-old"])
    with refused(own_shop, NotMadeWhole, "out of calibration"):
        own_shop.do(IssueUnit, **(fields | {"run_made": old}))
    own_shop.do(IssueUnit, **fields)


def test_no_hold_ends_by_it(own_shop: Shop) -> None:
    """Neither a failed airflow nor an unfinished inspection is released on a reading of such a meter."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="airflow")
    own_shop.do(HoldUnfinished, unit_id=unit.id, procedure="welding-papr-bench", step="Airflow")
    later(own_shop, 0.1)
    old = run_of(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter-old"])
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=old)
    assert len(open_holds(own_shop, unit)) == 2
    for one in open_holds(own_shop, unit):
        with refused(own_shop, NoProof):
            own_shop.do(ReleaseHold, hold_id=one.id)
    later(own_shop, 0.1)
    good = run_of(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=good)
    (left,) = open_holds(own_shop, unit)
    own_shop.do(ReleaseHold, hold_id=left.id)


def test_proof_needs_a_good_meter() -> None:
    """The pure rule: the same pass proves with a good meter and proves nothing with another."""
    after = passed(started_at=NOW, ended_at=NOW)
    for held in (hold(), hold(reason="inspection-not-finished", proof="inspection passed")):
        assert proof_of(held, standing(last_pass=after))
        assert not proof_of(held, standing(last_pass=replace(after, instrument_good=False)))


def test_the_counters_meter_is_looked_at_again(own_shop: Shop) -> None:
    """A meter scanned while it was good is not taken into a check after its calibration has ended."""
    desk = Desk(own_shop.store, house(), own_shop.moment)
    for name in ("Castel", "meter"):
        desk.scan(own_shop.names[name])
    assert desk.slate.meter is not None
    ends = desk.slate.meter.instrument.calibrated_until
    for name in ("Wronecka", "wl-1", "pack-1", "bay-3"):
        desk.scan(own_shop.names[name])
    desk.choose("go")
    assert desk.slate.check is not None
    assert desk.slate.check.instrument_label == own_shop.names["meter"]
    desk.choose("break-off")
    desk.choose("put-aside")
    desk.pass_time(timedelta(days=(ends - house().today(desk.moment)).days + 1))
    desk.scan(own_shop.names["wl-1"])
    desk.choose("bench")
    assert desk.slate.check is not None
    assert desk.slate.check.instrument_label != own_shop.names["meter"]
