"""What shuts a unit, a pack or a clerk out at once: a blocked lot, an approval taken back, a fault, an ended badge."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from cribdesk.crib.records import Battery, BatteryPlace, Fitted, Lot, Person, Role, Unit
from cribdesk.crib.refusal import BadgeEnded, BatteryNotFree
from cribdesk.crib.serviceable import Serviceable, condition
from cribdesk.desk.counter import Counter
from cribdesk.desk.equipment import PutBattery, RetireBattery
from cribdesk.desk.facts import standing_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.house import House
from cribdesk.desk.people import ChangePerson, SignOn
from cribdesk.desk.standings import standings
from cribdesk.desk.stock import BlockLot
from tests.desk.shop import Shop, house


def state(shop: Shop, name: str, by: House | None = None) -> tuple[Serviceable, tuple[str, ...]]:
    """How a unit stands, asked one by one and in bulk alike."""
    unit, used = shop.record(Unit, name), by or house()
    with shop.store.reading() as reader:
        alone = condition(standing_of(reader, used, unit, shop.moment))
        assert condition(standings(reader, used, shop.moment)[unit.id]) == alone
    return alone.state, alone.why


def test_a_blocked_lot_holds_what_it_is_fitted_in(own_shop: Shop) -> None:
    """A ready unit with a part of the lot stands as on hold while the lot is blocked."""
    assert state(own_shop, "wl-1") == (Serviceable.READY, ())
    unit = own_shop.record(Unit, "wl-1")
    with own_shop.store.reading() as reader:
        fitted = reader.first(Fitted, unit_id=unit.id, position="pre-filter", removed_at=None)
        assert fitted is not None
        assert fitted.lot_id is not None
        lot = reader.get(Lot, fitted.lot_id)
    own_shop.do(BlockLot, lot_id=lot.id, why="notice of the maker")
    assert state(own_shop, "wl-1") == (Serviceable.ON_HOLD, ("Pre-filter: its lot is blocked, notice of the maker",))
    own_shop.do(BlockLot, lot_id=lot.id, why="")
    assert state(own_shop, "wl-1")[0] is Serviceable.READY


def test_an_approval_taken_back_holds_what_is_fitted(own_shop: Shop) -> None:
    """A part whose item the model's file no longer names at that position may not be used."""
    model = house().models["WL1"]
    positions = tuple(
        replace(one, items=("WL1-OTHER",)) if one.code == "pre-filter" else one for one in model.positions
    )
    changed = replace(house(), models={**house().models, "WL1": replace(model, positions=positions)})
    found = state(own_shop, "wl-1", changed)
    assert found == (Serviceable.ON_HOLD, ("Pre-filter: WL1-PREFILTER is not approved here",))


def test_a_pack_named_by_a_hold_goes_with_no_other_unit(own_shop: Shop) -> None:
    """A battery's hold marks the pack that sits in the unit; only the bench's word clears it."""
    first, second = own_shop.record(Unit, "wl-1"), own_shop.record(Unit, "wl-2")
    pack = own_shop.record(Battery, "pack-1")
    own_shop.do(PutBattery, unit_id=first.id, battery_id=pack.id)
    own_shop.do(PlaceHold, unit_id=first.id, reason="battery", detail="latch broken")
    marked = own_shop.record(Battery, "pack-1")
    assert marked.faulty
    own_shop.do(RetireBattery, battery_id=pack.id, place=BatteryPlace.SHELF, why=marked.note)
    with pytest.raises(BatteryNotFree):
        own_shop.do(PutBattery, unit_id=second.id, battery_id=pack.id)
    own_shop.do(RetireBattery, battery_id=pack.id, place=BatteryPlace.SHELF, why="found good at the bench")
    own_shop.do(PutBattery, unit_id=second.id, battery_id=pack.id)


def test_a_clerk_whose_badge_has_ended_does_nothing_more(own_shop: Shop) -> None:
    """The rule stands at the one doorway, not only where badges are scanned."""
    clerk = own_shop.record(Person, "Brandl")
    own_shop.do(
        ChangePerson,
        person_id=clerk.id,
        full_name=clerk.name,
        roles=tuple(Role(one) for one in clerk.roles.split(",")),
        ends_on=date(2026, 11, 24),
    )
    counter = Counter(own_shop.store, house(), lambda: own_shop.moment, "Counter 1")
    with pytest.raises(BadgeEnded):
        counter.do(SignOn(operation_id=own_shop.tokens()), clerk.id)
