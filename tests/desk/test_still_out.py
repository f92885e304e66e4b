"""What is done while a unit stays out: a pack swapped, a bad unit exchanged; and the hours of each pack."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    BatteryRun,
    BatterySwap,
    Custody,
    Hold,
    RunEnd,
    Unit,
    Where,
)
from cribdesk.crib.refusal import (
    BatteryNotFree,
    IsCalledIn,
    NotAllowed,
    NotOut,
    NotSeenCharged,
    OtherPack,
    WrongFigure,
)
from cribdesk.crib.runs import shared
from cribdesk.desk.equipment import RetireBattery
from cribdesk.desk.exchange import ExchangeUnit
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.swap import SwapBattery
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.shop import Shop


def swap_fields(shop: Shop, unit: str, flat: str, charged: str, **more: Any) -> dict[str, Any]:
    """What a swap asks for."""
    given = {
        "unit_id": shop.record(Unit, unit).id,
        "flat_id": shop.record(Battery, flat).id,
        "battery_id": shop.record(Battery, charged).id,
        "ended": RunEnd.FLAT,
    }
    return given | more


def runs_of(shop: Shop, unit: str) -> list[BatteryRun]:
    """The runs kept of the unit's newest custody."""
    custody = custody_of(shop, unit)
    with shop.store.reading() as reader:
        return reader.find(BatteryRun, custody_id=custody.id)


def out(shop: Shop, hours: float = 3.0) -> None:
    """wl-1 is out with pack-1, for so long."""
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    later(shop, hours)


def test_a_swap_changes_nothing_of_the_custody_but_its_pack(own_shop: Shop) -> None:
    """The custody stays as it was; the flat pack lies on the shelf, not charged; a swap and a run are kept."""
    out(own_shop)
    before = custody_of(own_shop, "wl-1")
    receipt = own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-2", speed="high"))
    after = custody_of(own_shop, "wl-1")
    charged, flat = own_shop.record(Battery, "pack-2"), own_shop.record(Battery, "pack-1")
    assert replace(after, battery_id=before.battery_id, revision=before.revision) == before
    assert after.battery_id == charged.id
    assert (flat.place, flat.unit_id, flat.charged_at) == (BatteryPlace.SHELF, None, None)
    assert charged.place is BatteryPlace.IN_UNIT
    assert own_shop.record(Unit, "wl-1").where is Where.OUT
    (run,) = runs_of(own_shop, "wl-1")
    assert (run.battery_id, run.worn_hours, run.ended, run.speed) == (flat.id, 3.0, RunEnd.FLAT, "high")
    assert run.filter_hours == 3.0
    with own_shop.store.reading() as reader:
        (swap,) = reader.find(BatterySwap)
    assert (swap.flat_id, swap.battery_id, swap.custody_id) == (flat.id, charged.id, after.id)
    assert receipt.papers == ()


def test_each_run_counts_from_the_last_swap(own_shop: Shop) -> None:
    """Three packs in one custody: each has the hours since it went in."""
    out(own_shop, 2)
    own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-2"))
    later(own_shop, 1)
    own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-2", "pack-3"))
    later(own_shop, 3)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(TakeBack, unit_id=unit.id)
    custody = custody_of(own_shop, "wl-1")
    assert custody.worn_hours is not None
    own_shop.do(
        CompleteReturn, custody_id=custody.id, worn_hours=custody.worn_hours, battery_back=True,
        battery_end=RunEnd.STOPPED,
    )  # fmt: skip
    assert [round(run.worn_hours, 2) for run in runs_of(own_shop, "wl-1")] == [2.0, 1.0, 3.0]


@pytest.mark.parametrize(
    ("flat", "charged", "refusal"),
    [
        ("pack-2", "pack-3", OtherPack),
        ("pack-1", "pack-1", BatteryNotFree),
        ("pack-1", "pack-ff", BatteryNotFree),
        ("pack-1", "pack-5", BatteryNotFree),
        ("pack-1", "pack-6", BatteryNotFree),
        ("pack-1", "pack-4", BatteryNotFree),
        ("pack-1", "pack-flat", NotSeenCharged),
    ],
    ids=["another flat", "itself", "model", "missing", "faulty", "out with another", "not charged"],
)
def test_packs_that_do_not_go_out(own_shop: Shop, flat: str, charged: str, refusal: type[NotAllowed]) -> None:
    """Another flat pack, the same, another model, missing, faulty, in use, or not seen charged: nothing changes."""
    retire = {"place": BatteryPlace.MISSING, "why": "not found"}
    own_shop.do(RetireBattery, battery_id=own_shop.record(Battery, "pack-5").id, **retire)
    retire = {"place": BatteryPlace.SHELF, "why": "fault: cracked"}
    own_shop.do(RetireBattery, battery_id=own_shop.record(Battery, "pack-6").id, **retire)
    hand_out(own_shop, "wl-2", "Nkemba", "pack-4")
    out(own_shop)
    before = own_shop.record(Battery, charged)
    with pytest.raises(refusal):
        own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", flat, charged))
    assert own_shop.record(Battery, charged) == before
    assert runs_of(own_shop, "wl-1") == []
    assert custody_of(own_shop, "wl-1").battery_id == own_shop.record(Battery, "pack-1").id


def test_a_pack_not_seen_charged_goes_out_once_that_was_shown(own_shop: Shop) -> None:
    """It is a caution, not a stop: shown, the swap is done."""
    out(own_shop)
    own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-flat", charge_shown=True))
    assert custody_of(own_shop, "wl-1").battery_id == own_shop.record(Battery, "pack-flat").id


def test_a_pack_that_was_missing_and_comes_in_flat_is_found(own_shop: Shop) -> None:
    """The pack that is out was said to be missing: handed in, it lies on the shelf, and nothing says so any more."""
    out(own_shop)
    flat = own_shop.record(Battery, "pack-1")
    own_shop.do(RetireBattery, battery_id=flat.id, place=BatteryPlace.MISSING, why="left at bay 3")
    own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-2"))
    found = own_shop.record(Battery, "pack-1")
    assert (found.place, found.note) == (BatteryPlace.SHELF, "")


def test_units_that_get_no_pack(own_shop: Shop) -> None:
    """One that is in, one that is on hold, and a speed the model has not."""
    with pytest.raises(NotOut):
        own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-2"))
    out(own_shop)
    with pytest.raises(WrongFigure):
        own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-2", speed="gale"))
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="airflow")
    with pytest.raises(IsCalledIn, match="on hold"):
        own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-2"))
    assert own_shop.record(Battery, "pack-2").place is BatteryPlace.SHELF


def test_hours_said_fewer_than_the_clock_are_shared_by_the_clock(own_shop: Shop) -> None:
    """Four hours out, swapped half-way, one hour worn: each pack ran half an hour."""
    out(own_shop, 2)
    own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", "pack-1", "pack-2"))
    later(own_shop, 2)
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-1").id)
    custody = custody_of(own_shop, "wl-1")
    own_shop.do(
        CompleteReturn, custody_id=custody.id, worn_hours=1.0, battery_back=True, battery_end=RunEnd.STOPPED
    )
    assert [run.worn_hours for run in runs_of(own_shop, "wl-1")] == [0.5, 0.5]


spans = st.lists(st.floats(0, 400, allow_nan=False), min_size=1, max_size=8)


@given(weights=spans, minutes=st.integers(0, 24 * 60 * 92))
def test_the_runs_of_a_custody_have_its_hours(weights: list[float], minutes: int) -> None:
    """Together exactly the hours worn, to the minute; none below zero; whoever ran longer by the clock has no less."""
    found = shared(weights, minutes / 60)
    assert len(found) == len(weights)
    assert sum(round(one * 60) for one in found) == minutes
    assert all(one >= 0 for one in found)
    if sum(weights) > 0:
        for one, weight in zip(found, weights, strict=True):
            assert abs(one - minutes / 60 * weight / sum(weights)) <= 1 / 60 + 1e-9


@pytest.mark.parametrize("said", [0.0, 0.7, 5.0, 9.9])
@pytest.mark.parametrize("gaps", [(1.0,), (2.5, 0.1), (3.0, 3.0, 3.9)])
def test_the_runs_kept_add_up_to_the_custody(own_shop: Shop, said: float, gaps: tuple[float, ...]) -> None:
    """Whatever the hours said, the runs of the store add up to them, and the unit's meter shows the same."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    packs = ["pack-1", "pack-2", "pack-3", "pack-4"]
    for flat, charged, gap in zip(packs, packs[1:], gaps, strict=False):
        later(own_shop, gap)
        own_shop.do(SwapBattery, **swap_fields(own_shop, "wl-1", flat, charged))
    own_shop.moment = custody_of(own_shop, "wl-1").issued_at + timedelta(hours=10)
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-1").id)
    custody = custody_of(own_shop, "wl-1")
    own_shop.do(
        CompleteReturn, custody_id=custody.id, worn_hours=said, battery_back=True, battery_end=RunEnd.STOPPED
    )
    runs = runs_of(own_shop, "wl-1")
    assert len(runs) == len(gaps) + 1
    assert sum(round(run.worn_hours * 60) for run in runs) == round(said * 60)
    assert round(own_shop.record(Unit, "wl-1").worn_hours * 60) == round(said * 60)


# Exchange.


def test_an_exchange_holds_the_unit_and_ends_its_custody(own_shop: Shop) -> None:
    """One operation: returned, hours by the clock, on hold at the hold shelf, its tag printed; the pack stays in."""
    out(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    receipt = own_shop.do(ExchangeUnit, unit_id=unit.id, reason="head", detail="visor cracked")
    custody, unit = custody_of(own_shop, "wl-1"), own_shop.record(Unit, "wl-1")
    assert custody.returned_at is not None
    assert (custody.worn_hours, unit.worn_hours) == (3.0, 3.0)
    assert (unit.where, unit.place) == (Where.BENCH, "hold shelf")
    with own_shop.store.reading() as reader:
        (hold,) = reader.find(Hold, unit_id=unit.id, released_at=None)
    assert (hold.reason, hold.detail) == ("head", "visor cracked")
    assert receipt.papers == (("tag", hold.tag),)
    assert own_shop.record(Battery, "pack-1").unit_id == unit.id


def test_an_exchange_of_a_unit_held_already_adds_no_second_hold(own_shop: Shop) -> None:
    """The hold that called it in stands; its tag prints once."""
    out(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="airflow")
    receipt = own_shop.do(ExchangeUnit, unit_id=unit.id, reason="airflow")
    with own_shop.store.reading() as reader:
        holds = reader.find(Hold, unit_id=unit.id, released_at=None)
    assert [hold.reason for hold in holds] == ["airflow"]
    assert receipt.papers == (("tag", holds[0].tag),)


def test_what_is_no_exchange(own_shop: Shop) -> None:
    """A unit that is in; a reason that says nothing; a pack with a fault that is to go along: nothing half is left."""
    unit = own_shop.record(Unit, "wl-1")
    with pytest.raises(NotOut):
        own_shop.do(ExchangeUnit, unit_id=unit.id, reason="head")
    out(own_shop)
    for fields in (
        {"reason": "other"}, {"reason": "inspection-not-finished"}, {"reason": "recall"}, {"reason": "nonsense"},
        {"reason": "battery", "pack_along": True},
    ):  # fmt: skip
        with pytest.raises(NotAllowed):
            own_shop.do(ExchangeUnit, unit_id=unit.id, **fields)
    custody = custody_of(own_shop, "wl-1")
    assert custody.returned_at is None
    with own_shop.store.reading() as reader:
        assert reader.find(Hold, unit_id=unit.id) == []
    own_shop.do(RetireBattery, battery_id=custody.battery_id, place=BatteryPlace.MISSING, why="gone")
    with pytest.raises(WrongFigure, match="not in it"):
        own_shop.do(ExchangeUnit, unit_id=unit.id, reason="head", pack_along=True)


def test_a_pack_with_a_fault_never_goes_along(own_shop: Shop) -> None:
    """Its fault was said while it was out; the unit is exchanged for something else, and the pack stays in it."""
    out(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="battery")
    with pytest.raises(WrongFigure, match="goes along with no other unit"):
        own_shop.do(ExchangeUnit, unit_id=unit.id, reason="head", pack_along=True)
    assert custody_of(own_shop, "wl-1").returned_at is None


def test_the_pack_goes_along_and_its_run_is_kept_once(own_shop: Shop) -> None:
    """Out of the held unit it lies on the shelf, free for the other; the hours said later move its run."""
    out(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(ExchangeUnit, unit_id=unit.id, reason="head", pack_along=True)
    pack = own_shop.record(Battery, "pack-1")
    assert (pack.place, pack.unit_id, pack.charged_at) == (BatteryPlace.SHELF, None, None)
    assert [run.worn_hours for run in runs_of(own_shop, "wl-1")] == [3.0]
    custody: Custody = custody_of(own_shop, "wl-1")
    own_shop.do(
        CompleteReturn, custody_id=custody.id, worn_hours=2.0, battery_back=True, battery_end=RunEnd.STOPPED
    )
    assert [run.worn_hours for run in runs_of(own_shop, "wl-1")] == [2.0]
