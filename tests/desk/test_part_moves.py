"""Parts that go from unit to unit: hours, lot, date and faults travel with them; both units need the bench."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from contextlib import suppress
from copy import copy
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cribdesk.crib.records import Battery, Fitted, Hold, Lot, Part, Person, StockItem, Unit
from cribdesk.crib.refusal import (
    AlreadyOut,
    IsAway,
    NoProof,
    NotAllowed,
    NotApproved,
    NotTheSame,
    PastItsDate,
    WrongFigure,
)
from cribdesk.crib.serviceable import condition
from cribdesk.desk.away import MarkMissing
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.equipment import EndCharge, StartCharge
from cribdesk.desk.facts import standing_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.operation import Context
from cribdesk.desk.part_moves import RobPart, SwapParts
from cribdesk.desk.ports import Work
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.stock import BlockLot, ReceiveLot
from cribdesk.store.connect import open_store
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.refused import refused
from tests.desk.shop import Shop, house, passed
from tests.desk.test_cabinet import a_cabinet, in_it

Built = tuple[Path, Shop]


def ids(shop: Shop, *names: str) -> tuple[int, ...]:
    """The ids of units."""
    return tuple(shop.record(Unit, name).id for name in names)


def sitting(shop: Shop, name: str, position: str) -> Fitted | None:
    """What sits at a position."""
    (unit_id,) = ids(shop, name)
    with shop.store.reading() as reader:
        return reader.first(Fitted, unit_id=unit_id, position=position, removed_at=None)


def state(shop: Shop, name: str) -> tuple[str, str]:
    """The unit's state and the first reason for it."""
    unit = shop.record(Unit, name)
    with shop.store.reading() as reader:
        found = condition(standing_of(reader, house(), unit, shop.moment))
    return found.state.value, found.why[0] if found.why else ""


def worn_by_part(shop: Shop) -> dict[str, float]:
    """The hours of every labelled part, wherever it is."""
    with shop.store.reading() as reader:
        units = {one.id: one.worn_hours for one in reader.find(Unit)}
        fitted = {one.part_id: one for one in reader.find(Fitted, removed_at=None) if one.part_id}
        return {
            part.label: fitted[part.id].worn(units[fitted[part.id].unit_id]) if part.id in fitted else part.worn_hours
            for part in reader.find(Part)
        }


def worn(shop: Shop, name: str, person: str, pack: str, hours: float) -> None:
    """A day in somebody's hands, told, cleaned and inspected."""
    hand_out(shop, name, person, pack)
    later(shop, hours + 0.5)
    unit = shop.record(Unit, name)
    shop.do(TakeBack, unit_id=unit.id)
    shop.do(CompleteReturn, custody_id=custody_of(shop, name).id, worn_hours=hours, battery_back=True)
    set_right(shop, name)


def set_right(shop: Shop, name: str) -> None:
    """Cleaned and inspected."""
    unit = shop.record(Unit, name)
    run = passed(unit, "cleaning", shop.moment, shop.clerk_label, shop.names["meter"])
    shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=run)
    later(shop, 0.1)
    shop.inspect(name)


def hold(shop: Shop, name: str) -> None:
    """On hold, as a unit is that gives parts."""
    shop.do(PlaceHold, unit_id=ids(shop, name)[0], reason="other", detail="cracked")


def test_swapped_parts_keep_their_hours_and_lots(own_shop: Shop) -> None:
    """Each part takes its hours and lot along, sits once, and both units wait for an inspection."""
    worn(own_shop, "wl-1", "Wronecka", "pack-1", 6.0)
    mine, theirs = sitting(own_shop, "wl-1", "blower"), sitting(own_shop, "wl-2", "blower")
    assert mine is not None
    assert theirs is not None
    before = worn_by_part(own_shop)
    unit, other = ids(own_shop, "wl-1", "wl-2")
    own_shop.do(SwapParts, unit_id=unit, other_id=other, position="blower")
    now_mine, now_theirs = sitting(own_shop, "wl-1", "blower"), sitting(own_shop, "wl-2", "blower")
    assert now_mine is not None
    assert now_theirs is not None
    assert (now_mine.part_id, now_mine.lot_id) == (theirs.part_id, theirs.lot_id)
    assert (now_theirs.part_id, now_theirs.lot_id) == (mine.part_id, mine.lot_id)
    assert now_theirs.worn_before_hours == pytest.approx(6.0)
    assert worn_by_part(own_shop) == pytest.approx(before)
    for name in ("wl-1", "wl-2"):
        other = own_shop.names["wl-2" if name == "wl-1" else "wl-1"]
        assert state(own_shop, name) == ("on hold", f"It got a part of another unit: Blower out of {other}")


@pytest.mark.parametrize("how", ["swapped", "robbed"])
def test_a_full_check_before_use_does_not_clear_who_got_a_part(own_shop: Shop, how: str) -> None:
    """The receiving unit is ready after the bench and its release only, as the giving one."""
    unit, other = ids(own_shop, "wl-1", "wl-2")
    if how == "robbed":
        hold(own_shop, "wl-2")
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="blower")
    else:
        own_shop.do(SwapParts, unit_id=unit, other_id=other, position="blower")
    with own_shop.store.reading() as reader:
        (moved,) = reader.find(Hold, unit_id=unit, reason="part-moved", released_at=None)
    later(own_shop, 0.1)
    own_shop.inspect("wl-1", "pre-use")
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=moved.id)
    assert state(own_shop, "wl-1")[0] == "on hold"
    later(own_shop, 0.1)
    own_shop.inspect("wl-1")
    own_shop.do(ReleaseHold, hold_id=moved.id)
    assert state(own_shop, "wl-1")[0] == "ready"


def test_swap_refused(own_shop: Shop) -> None:
    """With itself, out, missing, in the cabinet, an unlabelled part, nothing there, no such position."""
    unit, other, out, gone = ids(own_shop, "wl-1", "wl-2", "wl-3", "wl-4")
    with refused(own_shop, WrongFigure, "it takes two"):
        own_shop.do(SwapParts, unit_id=unit, other_id=unit, position="blower")
    with refused(own_shop, NotTheSame, "no label of its own"):
        own_shop.do(SwapParts, unit_id=unit, other_id=other, position="belt")
    with refused(own_shop, WrongFigure, "has no wheel"):
        own_shop.do(SwapParts, unit_id=unit, other_id=other, position="wheel")
    hand_out(own_shop, "wl-3", "Nkemba", "pack-2")
    with refused(own_shop, AlreadyOut):
        own_shop.do(SwapParts, unit_id=unit, other_id=out, position="blower")
    own_shop.do(MarkMissing, unit_id=gone)
    with refused(own_shop, IsAway, "missing"):
        own_shop.do(SwapParts, unit_id=unit, other_id=gone, position="blower")
    in_it(own_shop, "wl-2", a_cabinet(own_shop))
    with refused(own_shop, IsAway, "emergency cabinet"):
        own_shop.do(SwapParts, unit_id=unit, other_id=other, position="blower")


def test_a_part_is_approved_where_it_goes(own_shop: Shop) -> None:
    """Two models may have the position and not the part."""
    unit, other = ids(own_shop, "wl-1", "ff-1")
    with refused(own_shop, NotApproved, "not approved as Blower"):
        own_shop.do(SwapParts, unit_id=unit, other_id=other, position="blower")
    hold(own_shop, "ff-1")
    with refused(own_shop, NotApproved, "not approved as Blower"):
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="blower")
    with refused(own_shop, WrongFigure, "has no facepiece"):
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="facepiece")


def test_faults_and_blocked_lots_go_nowhere(own_shop: Shop) -> None:
    """A part with a fault, one of a blocked lot, and one past its date stay where they are."""
    unit, other = ids(own_shop, "wl-1", "wl-2")
    there = sitting(own_shop, "wl-2", "blower")
    assert there is not None
    hold(own_shop, "wl-2")
    item = own_shop.record(StockItem, "WL1-PREFILTER")
    own_shop.do(ReceiveLot, item_id=item.id, lot_code="SHORT", quantity=5, expires_on=date(2026, 11, 26))
    with own_shop.store.reading() as reader:
        lot = reader.first(Lot, code="SHORT")
    assert lot is not None
    own_shop.do(ChangePart, unit_id=other, position="pre-filter", item_id=item.id, lot_id=lot.id, why="due")
    later(own_shop, 48)
    with refused(own_shop, PastItsDate):
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="pre-filter")
    own_shop.do(BlockLot, lot_id=there.lot_id, why="recalled")
    with refused(own_shop, PastItsDate, "recalled"):
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="blower")
    with refused(own_shop, PastItsDate, "recalled"):
        own_shop.do(SwapParts, unit_id=unit, other_id=other, position="blower")
    own_shop.do(BlockLot, lot_id=there.lot_id, why="")
    with own_shop.store.work() as work:
        part = work.get(Part, there.part_id or 0)
        work.take(part)
        work.save(replace(part, fault="rotor worn"))
        rob = RobPart(operation_id=own_shop.tokens(), unit_id=unit, from_id=other, position="blower")
        with pytest.raises(NotTheSame, match="rotor worn"):
            rob.run(work, where_from(own_shop, work))


def where_from(shop: Shop, work: Work) -> Context:
    """Where an operation runs, looked up in an open transaction."""
    return Context(house(), shop.moment, "Office", work.get(Person, shop.clerk_id or 0))


def test_a_part_is_robbed_only_from_a_unit_on_hold(own_shop: Shop) -> None:
    """From a ready one it is not; from one whose return is not complete, or that is dirty, neither."""
    unit, other = ids(own_shop, "wl-1", "wl-2")
    with refused(own_shop, WrongFigure, "only from a unit on hold"):
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="belt")
    hand_out(own_shop, "wl-2", "Nkemba", "pack-2")
    later(own_shop, 3)
    own_shop.do(TakeBack, unit_id=other)
    hold(own_shop, "wl-2")
    with refused(own_shop, WrongFigure, "complete its return first"):
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="belt")
    own_shop.do(CompleteReturn, custody_id=custody_of(own_shop, "wl-2").id, worn_hours=2.0, battery_back=True)
    with refused(own_shop, WrongFigure, "clean it first"):
        own_shop.do(RobPart, unit_id=unit, from_id=other, position="belt")


def test_an_unlabelled_part_takes_its_hours_its_lot_and_its_last_day_along(own_shop: Shop) -> None:
    """Days fitted are counted on in the other unit: its last day is the one it had."""
    item = own_shop.record(StockItem, "WL1-HEFILTER")
    worn(own_shop, "wl-2", "Nkemba", "pack-2", 7.0)
    old = sitting(own_shop, "wl-2", "particulate-filter")
    assert old is not None
    position = house().models["WL1"].position("particulate-filter")
    assert position is not None
    assert position.max_days is not None
    last_day = old.fitted_at.date() + timedelta(days=position.max_days)
    later(own_shop, 24 * 9)
    hold(own_shop, "wl-2")
    unit, other = ids(own_shop, "wl-1", "wl-2")
    own_shop.do(RobPart, unit_id=unit, from_id=other, position="particulate-filter")
    now = sitting(own_shop, "wl-1", "particulate-filter")
    assert now is not None
    assert (now.item_id, now.lot_id, now.expires_on) == (item.id, old.lot_id, last_day)
    assert now.worn(own_shop.record(Unit, "wl-1").worn_hours) == pytest.approx(7.0)
    assert sitting(own_shop, "wl-2", "particulate-filter") is None
    later(own_shop, 24 * position.max_days)
    hold(own_shop, "wl-1")
    own_shop.change("wl-2", "particulate-filter", "WL1-HEFILTER")
    with refused(own_shop, NotTheSame, "its last day was"):
        own_shop.do(RobPart, unit_id=other, from_id=unit, position="particulate-filter")


def test_a_part_worn_to_its_limit_goes_nowhere(own_shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a model limits the hours, one that has worn so long is not put into another unit."""
    worn(own_shop, "wl-2", "Nkemba", "pack-2", 7.0)
    model = house().models["WL1"]
    limited = tuple(replace(one, max_hours=7.0) if one.code == "blower" else one for one in model.positions)
    site = replace(house(), models={**house().models, "WL1": replace(model, positions=limited)})
    monkeypatch.setattr("tests.desk.shop.house", lambda: site)
    unit, other = ids(own_shop, "wl-1", "wl-2")
    with refused(own_shop, NotTheSame, "worn, limit"):
        own_shop.do(SwapParts, unit_id=unit, other_id=other, position="blower")


def test_a_robbed_unit_is_held_for_it_and_short_of_a_part_it_is_never_ready(own_shop: Shop) -> None:
    """One hold tells every part that was taken out; refitted and inspected since, the unit is ready again."""
    hold(own_shop, "wl-2")
    unit, other = ids(own_shop, "wl-1", "wl-2")
    own_shop.do(RobPart, unit_id=unit, from_id=other, position="belt")
    later(own_shop, 0.1)
    own_shop.inspect("wl-2")
    own_shop.do(RobPart, unit_id=unit, from_id=other, position="blower")
    with own_shop.store.reading() as reader:
        (robbed,) = reader.find(Hold, unit_id=other, reason="robbed", released_at=None)
        (head,) = reader.find(Hold, unit_id=other, reason="other", released_at=None)
    assert robbed.detail.count("went into") == 2
    with refused(own_shop, NoProof):
        own_shop.do(ReleaseHold, hold_id=robbed.id)
    for position, item in (("belt", "WL1-BELT"),):
        own_shop.change("wl-2", position, item)
    later(own_shop, 0.1)
    own_shop.inspect("wl-2")
    for one in (robbed, head):
        own_shop.do(ReleaseHold, hold_id=one.id)
    assert state(own_shop, "wl-2") == ("on hold", "Blower: none fitted")
    spare = own_shop.record(Part, "blower-1")
    own_shop.do(ChangePart, unit_id=other, position="blower", item_id=spare.item_id, part_id=spare.id, why="robbed")
    assert state(own_shop, "wl-2")[0] == "returned, not checked"
    later(own_shop, 0.1)
    own_shop.inspect("wl-2")
    assert state(own_shop, "wl-2")[0] == "ready"


def test_hours_said_later_reach_a_part_that_was_taken_out_meanwhile(own_shop: Shop) -> None:
    """A return is completed after its blower was changed: the old blower wore those hours, wherever it is now."""
    blower = sitting(own_shop, "wl-1", "blower")
    assert blower is not None
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 8)
    (unit,) = ids(own_shop, "wl-1")
    own_shop.do(TakeBack, unit_id=unit)
    spare = own_shop.record(Part, "blower-1")
    own_shop.do(ChangePart, unit_id=unit, position="blower", item_id=spare.item_id, part_id=spare.id, why="noise")
    own_shop.do(ChangePart, unit_id=ids(own_shop, "wl-5")[0], position="blower", item_id=spare.item_id,
                part_id=blower.part_id, why="spare")  # fmt: skip
    own_shop.do(CompleteReturn, custody_id=custody_of(own_shop, "wl-1").id, worn_hours=3.0, battery_back=True)
    with own_shop.store.reading() as reader:
        label = reader.get(Part, blower.part_id or 0).label
    assert worn_by_part(own_shop)[label] == pytest.approx(3.0)
    assert worn_by_part(own_shop)[spare.label] == 0.0


THREE = ["wl-1", "wl-2", "wl-3"]
MOVES = st.lists(
    st.one_of(
        st.tuples(st.just("wear"), st.sampled_from(THREE), st.integers(1, 18)),
        st.tuples(st.just("swap"), st.permutations(THREE), st.sampled_from(["blower", "head-assembly"])),
        st.tuples(st.just("rob"), st.permutations(THREE), st.sampled_from(["blower", "belt"])),
        st.tuples(st.just("spare"), st.sampled_from(THREE), st.just("blower")),
    ),
    min_size=3,
    max_size=7,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(moves=MOVES)
def test_hours_never_shrink_whatever_moves(
    moves: list[tuple[str, object, object]], built_shop: Built, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Worn, swapped, robbed and changed in any order: no labelled part loses an hour, and together they wore
    what the units wore at positions that were filled by such parts."""
    file, shop = built_shop
    own = tmp_path_factory.mktemp("moves") / "shop.sqlite"
    shutil.copy(file, own)
    with open_store(str(own), entropy=random.Random(5).randbytes) as store:
        mine = replace(shop, store=store, names=dict(shop.names), tokens=copy(shop.tokens))
        before = worn_by_part(mine)
        for kind, what, how in moves:
            total = sum(before.values())
            added = DOES[kind](mine, what, how)
            now = worn_by_part(mine)
            assert all(now[label] >= hours - 1e-6 for label, hours in before.items())
            assert sum(now.values()) == pytest.approx(total + added, abs=1e-3)
            before = now


def _wears(shop: Shop, name: object, hours: object) -> float:
    """Out for a day where it is ready; returns the hours that its labelled parts wore together."""
    assert isinstance(name, str)
    assert isinstance(hours, int)
    worn_hours = hours / 2
    labelled = [sitting(shop, name, code) for code in ("blower", "head-assembly")]
    if state(shop, name)[0] != "ready":
        _ready(shop, name)
    if state(shop, name)[0] != "ready":
        return 0.0
    worn(shop, name, "Wronecka", "pack-1", worn_hours)
    pack = shop.record(Battery, "pack-1")
    shop.do(StartCharge, battery_id=pack.id)
    shop.do(EndCharge, battery_id=pack.id)
    return worn_hours * sum(one is not None for one in labelled)


def _ready(shop: Shop, name: str) -> None:
    """Whatever the bench can do: inspected, holds released."""
    later(shop, 0.1)
    shop.inspect(name)
    (unit,) = ids(shop, name)
    with shop.store.reading() as reader:
        holds = reader.find(Hold, unit_id=unit, released_at=None)
    for one in holds:
        shop.do(ReleaseHold, hold_id=one.id)


def _swaps(shop: Shop, names: object, position: object) -> float:
    unit, other = ids(shop, *list(names)[:2])  # type: ignore[call-overload]
    _try(lambda: shop.do(SwapParts, unit_id=unit, other_id=other, position=position))
    return 0.0


def _robs(shop: Shop, names: object, position: object) -> float:
    first, second = list(names)[:2]  # type: ignore[call-overload]
    _try(lambda: hold(shop, second))
    unit, other = ids(shop, first, second)
    _try(lambda: shop.do(RobPart, unit_id=unit, from_id=other, position=position))
    return 0.0


def _spares(shop: Shop, name: object, position: object) -> float:
    part = shop.spare("one more", "WL1-BLOWER")
    (unit,) = ids(shop, str(name))
    shop.do(ChangePart, unit_id=unit, position=position, item_id=part.item_id, part_id=part.id, why="noise")
    return 0.0


def _try(move: Callable[[], object]) -> None:
    """Refused moves change nothing, so the sum holds all the same."""
    with suppress(NotAllowed):
        move()


DOES: dict[str, Callable[[Shop, object, object], float]] = {
    "wear": _wears, "swap": _swaps, "rob": _robs, "spare": _spares,
}  # fmt: skip
