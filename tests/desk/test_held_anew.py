"""A fault that is reported again counts from then on: no older inspection ends its hold; whose own unit goes back."""

from __future__ import annotations

import pytest

from cribdesk.crib.reasons import reasons
from cribdesk.crib.records import Fitted, Hold, Part, Person, Unit
from cribdesk.crib.refusal import AlreadyHeld, NoProof, WrongFigure
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.exchange import ExchangeUnit
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.own_check import CheckOwn
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.refused import refused
from tests.desk.shop import Shop, house
from tests.desk.test_assigned import assign
from tests.desk.test_part_moves import set_right, worn


def holds(shop: Shop, name: str) -> list[Hold]:
    """The open holds of a unit."""
    unit = shop.record(Unit, name)
    with shop.store.reading() as reader:
        return reader.find(Hold, unit_id=unit.id, released_at=None)


def codes(shop: Shop, unit: str, person: str) -> set[str]:
    """The codes of what stands for and against this issue now."""
    ids = IssueIds(shop.record(Unit, unit).id, shop.record(Person, person).id)
    with shop.store.reading() as reader:
        return {one.code for one in reasons(facts_of(reader, house(), ids, shop.moment), shop.moment)}


def test_a_fault_said_again_after_the_inspection_is_not_ended_by_it(own_shop: Shop) -> None:
    """The bench passed it, then somebody reports the same fault: the tag stays, and the bench has to look again."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="damage", detail="cracked")
    (first,) = holds(own_shop, "wl-1")
    with refused(own_shop, AlreadyHeld):
        own_shop.do(PlaceHold, unit_id=unit.id, reason="damage", detail="cracked")
    later(own_shop, 0.1)
    own_shop.inspect("wl-1")
    later(own_shop, 0.1)
    own_shop.do(PlaceHold, unit_id=unit.id, reason="damage", detail="cracked at the other side")
    (again,) = holds(own_shop, "wl-1")
    assert (again.tag, again.detail) == (first.tag, "cracked at the other side")
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=again.id)


def test_damage_told_with_the_return_is_not_ended_by_an_inspection_before_it_was_told(own_shop: Shop) -> None:
    """Held while out, back, inspected; then the rest of the return says the same fault."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="damage", detail="dropped")
    later(own_shop, 1)
    own_shop.do(TakeBack, unit_id=unit.id)
    set_right(own_shop, "wl-1")
    later(own_shop, 0.1)
    custody = custody_of(own_shop, "wl-1")
    own_shop.do(CompleteReturn, custody_id=custody.id, worn_hours=0.5, battery_back=True, fault="damage")
    (hold,) = holds(own_shop, "wl-1")
    assert hold.detail == "dropped"  # nothing new was said, so what was said stands
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=hold.id)


@pytest.mark.parametrize("reason", ["robbed", "part-moved", "used", "recall-unit", "inspection-not-finished"])
def test_a_hold_of_another_operation_is_chosen_by_nobody(own_shop: Shop, reason: str) -> None:
    """Neither by hand, nor at an exchange, nor with the rest of a return."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    for kind in (PlaceHold, ExchangeUnit):
        with refused(own_shop, WrongFigure, "only its own operation"):
            own_shop.do(kind, unit_id=unit.id, reason=reason)
    later(own_shop, 1)
    own_shop.do(TakeBack, unit_id=unit.id)
    with refused(own_shop, WrongFigure, "only its own operation"):
        custody = custody_of(own_shop, "wl-1")
        own_shop.do(CompleteReturn, custody_id=custody.id, worn_hours=0.5, battery_back=True, fault=reason)


def test_an_exchange_names_the_new_words_and_counts_from_now(own_shop: Shop) -> None:
    """A unit held while out and exchanged for the same reason has one hold, from the exchange on."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="damage", detail="dropped")
    later(own_shop, 1)
    own_shop.do(ExchangeUnit, unit_id=unit.id, reason="damage", detail="hood torn")
    (hold,) = holds(own_shop, "wl-1")
    assert (hold.detail, hold.found_at >= own_shop.moment) == ("hood torn", True)


def test_an_own_check_not_good_again_counts_from_then(own_shop: Shop) -> None:
    """The wearer finds the same thing a second time: one hold, the later moment."""
    assign(own_shop)
    fields = {"unit_id": own_shop.record(Unit, "wl-1").id, "person_id": own_shop.record(Person, "Wronecka").id}
    own_shop.do(CheckOwn, **fields, flow_good=False)
    (first,) = holds(own_shop, "wl-1")
    later(own_shop, 1)
    own_shop.do(CheckOwn, **fields, flow_good=False)
    (again,) = holds(own_shop, "wl-1")
    assert again.id == first.id
    assert again.found_at > first.found_at


def test_a_worn_part_of_another_unit_takes_the_way_straight_back(own_shop: Shop) -> None:
    """One's own unit may go straight back after the full check, but not with a part that somebody else wore."""
    worn(own_shop, "wl-1", "Wronecka", "pack-1", 2.0)
    worn(own_shop, "wl-2", "Nkemba", "pack-2", 3.0)
    own_shop.change("wl-1", "pre-filter", "WL1-PREFILTER")
    assert "own-unit" in codes(own_shop, "wl-1", "Wronecka")  # a new part is the wearer's own from then on
    one, other = (own_shop.record(Unit, name).id for name in ("wl-1", "wl-2"))
    spare = own_shop.record(Part, "blower-1")
    with own_shop.store.reading() as reader:
        blower = reader.first(Fitted, unit_id=other, position="blower", removed_at=None)
    assert blower is not None
    own_shop.do(ChangePart, unit_id=other, position="blower", item_id=spare.item_id, part_id=spare.id, why="noise")
    own_shop.do(
        ChangePart, unit_id=one, position="blower", item_id=blower.item_id, part_id=blower.part_id, why="spare"
    )
    assert {"own-unit", "not-ready"} & codes(own_shop, "wl-1", "Wronecka") == {"not-ready"}
    later(own_shop, 0.1)
    own_shop.inspect("wl-1")
    assert "ready" in codes(own_shop, "wl-1", "Wronecka")
