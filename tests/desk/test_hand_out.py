"""Consumables over the counter: what goes, what does not and why, and whose hours count from when."""

from __future__ import annotations

import random
import shutil
from copy import copy
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cribdesk.crib.records import (
    Bin,
    Custody,
    Fitted,
    HandOut,
    HandOutLimit,
    Lot,
    Movement,
    PartsSet,
    PartsSetLine,
    Person,
    StockItem,
    Unit,
)
from cribdesk.crib.refusal import (
    ForTheBench,
    LabelTaken,
    NoClerk,
    NothingToThem,
    NotQualified,
    NotTheirs,
    Short,
    Unknown,
    WrongFigure,
)
from cribdesk.crib.serviceable import Serviceable, condition
from cribdesk.desk.away import MarkMissing
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.facts import standing_of
from cribdesk.desk.hand_out import ConfirmFitting, HandItemsOut, first_to_expire, for_the_bench
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.lookup import set_card
from cribdesk.desk.parts_sets import AddPartsSet, ChangePartsSet, SetHandOutLimit
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.slate import AskForm
from cribdesk.desk.stock import AddBin, AddItem, BlockLot, ReceiveLot
from cribdesk.store.check import check
from cribdesk.store.connect import open_store
from tests.desk.harness import Desk
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, good_answer, house

COVER, INNER, PRE, FILTER = "WL1-COVER-OUT", "WL1-COVER-IN", "WL1-PREFILTER", "WL1-HEFILTER"


def given_out(shop: Shop, who: str, *lines: tuple[str, int], unit: str = "", **more: Any) -> Any:
    """One hand-out by item codes."""
    items = tuple((shop.record(StockItem, code).id, pieces) for code, pieces in lines)
    unit_id = shop.record(Unit, unit).id if unit else None
    return shop.do(HandItemsOut, person_id=shop.record(Person, who).id, lines=items, unit_id=unit_id, **more)


def rows(shop: Shop, kind: type[Any], **equal: object) -> list[Any]:
    """Records of the store as it stands."""
    with shop.store.reading() as reader:
        return reader.find(kind, **equal)


def on_hand(shop: Shop, code: str) -> dict[str, int]:
    """Pieces by lot."""
    return {lot.code: lot.on_hand for lot in rows(shop, Lot, item_id=shop.record(StockItem, code).id)}


def worn(shop: Shop, unit_name: str, position: str) -> float:
    """Hours at a position, as the unit's meter stands."""
    unit = shop.record(Unit, unit_name)
    (fitted,) = rows(shop, Fitted, unit_id=unit.id, position=position, removed_at=None)
    return float(fitted.worn(unit.worn_hours))


def state_of(shop: Shop, unit_name: str) -> Serviceable:
    """How the unit stands."""
    unit = shop.record(Unit, unit_name)
    with shop.store.reading() as reader:
        return condition(standing_of(reader, house(), unit, shop.moment)).state


def back(shop: Shop, unit_name: str, hours: float | None = None) -> None:
    """The unit comes back; the hours worn are said where they are given."""
    custody = custody_of(shop, unit_name)
    shop.do(TakeBack, unit_id=custody.unit_id)
    if hours is not None:
        shop.do(CompleteReturn, custody_id=custody.id, worn_hours=hours, battery_back=True)


def test_taken_along_changes_no_hours(own_shop: Shop) -> None:
    """What is taken along leaves the shelf and is booked for its position; what sits there keeps its hours."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    before = on_hand(shop, COVER)
    receipt = given_out(shop, "Wronecka", (COVER, 3))
    assert sum(before.values()) - sum(on_hand(shop, COVER).values()) == 3
    (one,) = rows(shop, HandOut)
    assert (one.quantity, one.position, one.fitted_pieces, one.fitted_at) == (3, "outer-cover-lens", 0, None)
    assert one.unit_id == shop.record(Unit, "wl-1").id
    assert not one.found_by_name
    moved = rows(shop, Movement, why="handed out")
    assert [(move.quantity, move.unit_id) for move in moved] == [(-3, one.unit_id)]
    assert {shop.names["Wronecka"], shop.names["wl-1"], shop.names[COVER]} <= set(receipt.subjects)
    assert len(rows(shop, Fitted, unit_id=one.unit_id, position="outer-cover-lens")) == 1
    assert check(shop.store) == []


def test_first_to_expire_goes_first(own_shop: Shop) -> None:
    """The lot that expires first goes first, and the next one gives the rest, each with a row of its own."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    dateless = on_hand(own_shop, PRE)["LTER-1"]
    given_out(own_shop, "Wronecka", (PRE, 5))
    assert on_hand(own_shop, PRE) == {"OLD": 0, "LTER-1": dateless - 2}
    assert [one.quantity for one in rows(own_shop, HandOut)] == [3, 2]


def test_expired_and_blocked_lots_never(own_shop: Shop) -> None:
    """A lot past its date or blocked gives nothing, and counts for nothing where something is short."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    lots = {lot.code: lot for lot in rows(shop, Lot, item_id=shop.record(StockItem, PRE).id)}
    shop.do(BlockLot, lot_id=lots["LTER-1"].id, why="recall")
    with refused(shop, Short, "4 wanted, 3 there"):
        given_out(shop, "Wronecka", (PRE, 4))
    shop.moment = datetime(2027, 1, 1, 8, tzinfo=shop.moment.tzinfo)
    with refused(shop, Short, "1 wanted, 0 there"):
        given_out(shop, "Wronecka", (PRE, 1))
    last_day = datetime(2026, 12, 31, 12, tzinfo=shop.moment.tzinfo)
    assert [lot.code for lot in first_to_expire(list(lots.values()), house(), last_day)] == ["OLD", "LTER-1"]


def test_short_line_stays_the_others_go(own_shop: Shop) -> None:
    """A line that is short is told and gives nothing, not even what is there; the others go."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    before = on_hand(shop, PRE)
    receipt = given_out(shop, "Wronecka", (PRE, 500), (COVER, 1))
    assert "Short, not handed out: Wl1 prefilter: 500 wanted" in receipt.sentence
    assert on_hand(shop, PRE) == before
    assert [one.item_id for one in rows(shop, HandOut)] == [shop.record(StockItem, COVER).id]


@pytest.mark.parametrize("pieces", [0, -1, 501])
def test_pieces_that_cannot_be(own_shop: Shop, pieces: int) -> None:
    """None, fewer than none and a carton by mistake are no hand-out."""
    with refused(own_shop, WrongFigure, "between 1 and 500"):
        given_out(own_shop, "Wronecka", (COVER, pieces))


def test_nothing_is_no_hand_out(own_shop: Shop) -> None:
    """A hand-out has something on its list, and it is in this store."""
    with refused(own_shop, WrongFigure, "nothing is on its list"):
        given_out(own_shop, "Wronecka")
    with refused(own_shop, Unknown, "This item"):
        own_shop.do(HandItemsOut, person_id=own_shop.record(Person, "Wronecka").id, lines=((9999, 1),))
    with refused(own_shop, Unknown, "This person"):
        own_shop.do(HandItemsOut, person_id=9999, lines=((1, 1),))


def test_ended_badge_gets_nothing(own_shop: Shop) -> None:
    """Whose badge has ended gets nothing, also where they still hold a unit (a house rule)."""
    with refused(own_shop, NothingToThem, "Nothing is handed out to them"):
        given_out(own_shop, "Marek", (COVER, 1))


def test_only_what_the_wearer_may_change(own_shop: Shop) -> None:
    """The particulate filter is the bench's: it goes over the counter to nobody, unit or no unit."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    for who in ("Wronecka", "Nkemba"):
        with refused(own_shop, ForTheBench, "changed at the bench"):
            given_out(own_shop, who, (FILTER, 1))


def test_wearer_positions_of_the_shipped_models() -> None:
    """Lenses to cover, cells and pre-filters are the wearer's; nothing that the air's safety hangs on is."""
    theirs = {one.code for model in house().models.values() for one in model.positions if one.wearer_changes}
    assert theirs == {"pre-filter", "outer-cover-lens", "inner-cover-lens", "lens-battery"}
    for code in (FILTER, "WL1-BLOWER", "WL1-TUBE", "WL1-FACESEAL", "WL1-HEAD", "WL1-ARRESTOR", "FF1-EXHALE"):
        assert for_the_bench(house(), code), code
    assert not for_the_bench(house(), "SWEATBAND")


def test_unit_of_somebody_else(own_shop: Shop) -> None:
    """A hand-out is for a unit that the person has now."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, NotTheirs, "is not with"):
        given_out(own_shop, "Nkemba", (COVER, 1), unit="wl-1")
    back(own_shop, "wl-1")
    with refused(own_shop, NotTheirs, "is not with"):
        given_out(own_shop, "Wronecka", (COVER, 1), unit="wl-1")


def test_nothing_goes_into_a_unit_that_is_missing(own_shop: Shop) -> None:
    """It is on their name and not in their hands: nothing is for it, and what was taken along is not fitted."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    given_out(own_shop, "Wronecka", (COVER, 1))
    own_shop.do(MarkMissing, unit_id=own_shop.record(Unit, "wl-1").id)
    with refused(own_shop, NotTheirs):
        given_out(own_shop, "Wronecka", (COVER, 1), unit="wl-1", fitted=True)
    with refused(own_shop, NotTheirs):
        own_shop.do(ConfirmFitting, hand_out_id=rows(own_shop, HandOut)[0].id)


def test_a_unit_that_may_not_be_used_is_told_with_the_hand_out(own_shop: Shop) -> None:
    """Whoever comes for a part with a unit on hold hears it, and gets the part: it may be all that was wrong."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    assert not any("Do not use" in one for one in asked(counter(own_shop, "Wronecka", COVER)).cautions)
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="damage", detail="cracked")
    desk = counter(own_shop, "Wronecka", COVER)
    (told,) = [one for one in asked(desk).cautions if "Do not use" in one]
    assert told.startswith(f"Do not use {own_shop.label('wl-1')}: on hold")
    desk.scan(BY_ID["done"].label)
    assert len(rows(own_shop, HandOut)) == 1


def test_two_units_that_take_it(own_shop: Shop) -> None:
    """Two of their units take the item: which one is it for?"""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    hand_out(own_shop, "wl-2", "Wronecka", "pack-2")
    with refused(own_shop, WrongFigure, "say which it is for"):
        given_out(own_shop, "Wronecka", (COVER, 1))
    given_out(own_shop, "Wronecka", (COVER, 1), unit="wl-2")
    assert rows(own_shop, HandOut)[0].unit_id == own_shop.record(Unit, "wl-2").id


def test_nobody_s_unit(own_shop: Shop) -> None:
    """Somebody without a unit gets it too, booked for no unit; fitted it cannot be."""
    given_out(own_shop, "Nkemba", (COVER, 1))
    assert (rows(own_shop, HandOut)[0].unit_id, rows(own_shop, HandOut)[0].position) == (None, "")
    with refused(own_shop, WrongFigure, "nothing of it goes into a unit they have"):
        given_out(own_shop, "Nkemba", (COVER, 1), fitted=True)


def test_limit_is_told_and_never_stops(own_shop: Shop) -> None:
    """Over the house limit of seven days it still goes, and the sentence says so; after a week it counts anew."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    shop.do(SetHandOutLimit, item_id=shop.record(StockItem, COVER).id, per_week=2)
    assert "limit" not in given_out(shop, "Wronecka", (COVER, 2)).sentence
    over = "Over the house limit: Wl1 cover out, 3 in seven days, limit 2"
    assert over in given_out(shop, "Wronecka", (COVER, 1)).sentence
    shop.moment += timedelta(days=7)
    assert "limit" not in given_out(shop, "Wronecka", (COVER, 2)).sentence
    shop.do(SetHandOutLimit, item_id=shop.record(StockItem, COVER).id, per_week=0)
    assert "limit" not in given_out(shop, "Wronecka", (COVER, 9)).sentence
    assert len(rows(shop, HandOutLimit)) == 1


def test_fitted_now_starts_the_hours(own_shop: Shop) -> None:
    """One piece sits there from now on, the old one ends at the same hours; the others are taken along."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    later(shop, 3)
    given_out(shop, "Wronecka", (COVER, 2), fitted=True)
    unit = shop.record(Unit, "wl-1")
    old, new = rows(shop, Fitted, unit_id=unit.id, position="outer-cover-lens")
    assert old.removed_why == "changed by its wearer"
    assert old.removed_at_hours == pytest.approx(3.0)
    assert new.fitted_at_hours == pytest.approx(3.0)
    assert new.worn(unit.worn_hours) == 0.0
    (one,) = rows(shop, HandOut)
    assert (one.quantity, one.fitted_pieces) == (2, 1)
    later(shop, 5)
    back(shop, "wl-1", 8.0)
    assert worn(shop, "wl-1", "outer-cover-lens") == pytest.approx(5.0)
    assert worn(shop, "wl-1", "pre-filter") == pytest.approx(8.0)
    assert check(shop.store) == []


def test_inspection_stands_while_the_wearer_has_it(own_shop: Shop) -> None:
    """What the wearer changes leaves the unit as it is until it is back; at its return it is not checked."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    later(shop, 1)
    given_out(shop, "Wronecka", (COVER, 1), fitted=True)
    assert state_of(shop, "wl-1") is Serviceable.READY
    back(shop, "wl-1", 1.0)
    assert state_of(shop, "wl-1") is Serviceable.NOT_CHECKED


def test_confirmed_later(own_shop: Shop) -> None:
    """What was taken along counts from when the wearer says that it is fitted, piece by piece."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    given_out(shop, "Wronecka", (COVER, 2))
    (one,) = rows(shop, HandOut)
    later(shop, 2)
    shop.do(ConfirmFitting, hand_out_id=one.id)
    later(shop, 2)
    shop.do(ConfirmFitting, hand_out_id=one.id)
    with refused(shop, WrongFigure, "nothing of it is left"):
        shop.do(ConfirmFitting, hand_out_id=one.id)
    later(shop, 2)
    back(shop, "wl-1", 6.0)
    ended = [part.worn(0) for part in rows(shop, Fitted, position="outer-cover-lens", removed_at=None)]
    assert len(ended) == len(rows(shop, Unit)) - 1  # one a unit, the full-face one has no cover lens
    assert worn(shop, "wl-1", "outer-cover-lens") == pytest.approx(2.0)


def test_confirmed_by_whom_has_it(own_shop: Shop) -> None:
    """Only for a unit they still have; what went out for no unit is fitted in none; what is not there is told."""
    shop = own_shop
    given_out(shop, "Nkemba", (COVER, 1))
    with refused(shop, WrongFigure, "nothing of it is left"):
        shop.do(ConfirmFitting, hand_out_id=rows(shop, HandOut)[0].id)
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    given_out(shop, "Wronecka", (COVER, 1))
    back(shop, "wl-1", 0.0)
    with refused(shop, NotTheirs, "is not with"):
        shop.do(ConfirmFitting, hand_out_id=rows(shop, HandOut)[1].id)
    with refused(shop, Unknown, "This hand-out"):
        shop.do(ConfirmFitting, hand_out_id=99)


def test_confirmed_for_its_own_unit_alone(own_shop: Shop) -> None:
    """Who has another unit now fitted nothing in that one: what went out for the one that is back stays unfitted."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    given_out(shop, "Wronecka", (COVER, 1))
    hand_out(shop, "wl-2", "Wronecka", "pack-2")
    back(shop, "wl-1", 0.0)
    with refused(shop, NotTheirs, "is not with"):
        shop.do(ConfirmFitting, hand_out_id=rows(shop, HandOut)[0].id)


def test_blocked_since(own_shop: Shop) -> None:
    """Fitted is fitted: a lot that was blocked meanwhile is recorded, told, and holds the unit."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    given_out(shop, "Wronecka", (COVER, 1))
    (one,) = rows(shop, HandOut)
    shop.do(BlockLot, lot_id=one.lot_id, why="cracks")
    receipt = shop.do(ConfirmFitting, hand_out_id=one.id)
    assert "Its lot is blocked since, cracks: call the unit in." in receipt.sentence
    assert state_of(shop, "wl-1") is Serviceable.ON_HOLD


@settings(max_examples=12, deadline=None)
@given(
    gaps=st.lists(st.tuples(st.floats(-3.0, 9.0), st.sampled_from([COVER, INNER, PRE])), min_size=1, max_size=4),
    stay=st.floats(-5.0, 12.0),
    said=st.one_of(st.none(), st.floats(0.0, 30.0)),
    bench=st.booleans(),
)
def test_hours_are_never_negative(
    tmp_path_factory: pytest.TempPathFactory,
    gaps: list[tuple[float, str]],
    stay: float,
    said: float | None,
    bench: bool,
) -> None:
    """Whatever the clock does and whatever hours the return says: no part ever has worn less than nothing.

    And at each position the hours of all that sat there add up to the unit's own.
    """
    shop = _fresh(tmp_path_factory)
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    begun = shop.record(Unit, "wl-1").worn_hours
    for hours, code in gaps:
        later(shop, hours)
        given_out(shop, "Wronecka", (code, 1), fitted=True)
    later(shop, stay)
    custody: Custody = custody_of(shop, "wl-1")
    shop.do(TakeBack, unit_id=custody.unit_id)
    _sound(shop, begun)
    if bench:
        later(shop, 0.5)
        shop.change("wl-1", "outer-cover-lens", COVER)
    if said is not None:
        custody = custody_of(shop, "wl-1")
        assert custody.returned_at is not None
        out = (custody.returned_at - custody.issued_at).total_seconds() / 3600
        hours = min(said, out) if out > 0 else said
        shop.do(CompleteReturn, custody_id=custody.id, worn_hours=hours, battery_back=True)
        _sound(shop, begun)
    assert check(shop.store) == []
    shop.store.close()  # type: ignore[attr-defined]


def _fresh(factory: pytest.TempPathFactory) -> Shop:
    """A private copy of one shop."""
    folder = factory.getbasetemp() / "hours"
    if not _BUILT:
        folder.mkdir(exist_ok=True)
        file = folder / "shop.sqlite"
        with open_store(str(file), create=True, entropy=random.Random(7).randbytes) as store:
            _BUILT.append((file, Shop(store).build()))
    file, shop = _BUILT[0]
    own = factory.mktemp("own") / "shop.sqlite"
    shutil.copy(file, own)
    return Shop(open_store(str(own)), shop.moment, dict(shop.names), shop.clerk_id, copy(shop.tokens))


_BUILT: list[tuple[Any, Shop]] = []


def _sound(shop: Shop, begun: float) -> None:
    """No hours below zero; each position's parts share the unit's hours since it went out."""
    unit = shop.record(Unit, "wl-1")
    for position in ("outer-cover-lens", "inner-cover-lens", "pre-filter"):
        found = rows(shop, Fitted, unit_id=unit.id, position=position)
        spans = [(one.fitted_at_hours, one.removed_at_hours) for one in found]
        assert all((unit.worn_hours if end is None else end) >= start - 1e-9 for start, end in spans), spans
        assert sum(one.worn(unit.worn_hours) for one in found) == pytest.approx(unit.worn_hours, abs=0.05)
    assert unit.worn_hours >= begun


# Sets and limits.


def made_set(shop: Shop, name: str = "Lens kit", *lines: tuple[str, int]) -> PartsSet:
    """A set by item codes."""
    items = tuple((shop.record(StockItem, code).id, pieces) for code, pieces in lines or ((COVER, 2), (INNER, 1)))
    shop.do(AddPartsSet, set_name=name, lines=items)
    return rows(shop, PartsSet)[-1]


def test_a_set_gets_a_label(own_shop: Shop) -> None:
    """A set is entered with its lines, and its label prints."""
    items = ((own_shop.record(StockItem, COVER).id, 2),)
    receipt = own_shop.do(AddPartsSet, set_name="Lens kit", lines=items)
    assert receipt.papers == (("label_sheet", receipt.subjects[0]),)
    assert receipt.subjects[0].startswith("L")
    assert [(one.item_id, one.quantity) for one in rows(own_shop, PartsSetLine)] == list(items)


def test_a_set_changes(own_shop: Shop) -> None:
    """An item out of it, another one in, a new name; what is out of it is handed out no more."""
    shop = own_shop
    known = made_set(shop)
    lines = ((shop.record(StockItem, COVER).id, 3), (shop.record(StockItem, PRE).id, 1))
    shop.do(ChangePartsSet, set_id=known.id, set_name="Cover kit", lines=lines)
    with shop.store.reading() as reader:
        card = set_card(reader, house(), known.id, shop.moment)
    assert [(one.item.code, pieces) for one, pieces in card.items] == [(COVER, 3), (PRE, 1)]
    assert card.set.name == "Cover kit"
    shop.do(ChangePartsSet, set_id=known.id, set_name="Cover kit", lines=lines, active=False)
    assert not rows(shop, PartsSet)[0].active


def test_sets_that_cannot_be(own_shop: Shop) -> None:
    """No name, a name twice, nothing in it, an item twice, no pieces, the bench's own: each is told."""
    shop = own_shop
    made_set(shop)
    item = shop.record(StockItem, COVER).id
    with refused(shop, WrongFigure, "the name is empty"):
        shop.do(AddPartsSet, set_name="  ", lines=((item, 1),))
    with refused(shop, LabelTaken, "lens KIT"):
        shop.do(AddPartsSet, set_name="lens KIT", lines=((item, 1),))
    with refused(shop, WrongFigure, "nothing is in it"):
        shop.do(AddPartsSet, set_name="Empty", lines=())
    with refused(shop, WrongFigure, "twice"):
        shop.do(AddPartsSet, set_name="Twice", lines=((item, 1), (item, 2)))
    with refused(shop, WrongFigure, "between 1 and"):
        shop.do(AddPartsSet, set_name="None", lines=((item, 0),))
    with refused(shop, ForTheBench, "changed at the bench"):
        made_set(shop, "Filters", (FILTER, 1))
    with refused(shop, Unknown, "This set"):
        shop.do(ChangePartsSet, set_id=99, set_name="x", lines=((item, 1),))
    with as_clerk(shop, "Brandl"), refused(shop, NotQualified, "storekeeper"):
        made_set(shop, "Another")
    with refused(shop, WrongFigure, "between 0 and"):
        shop.do(SetHandOutLimit, item_id=item, per_week=501)


def test_set_by_its_form(own_shop: Shop) -> None:
    """The forms make, change and limit; the same item in two lines is told at its field."""
    shop = own_shop
    item, other = shop.names[COVER], shop.names[INNER]
    with shop.store.reading() as reader:
        asked = Asked(reader, house(), shop.moment)
        typed = {"set_name": "Kit", "item_1": item, "pieces_1": "2", "item_2": other, "pieces_2": "1"}
        operation = operation_of(asked, "parts-set", typed, shop.tokens())
        with pytest.raises(FormTroubles) as twice:
            operation_of(asked, "parts-set", typed | {"item_2": item}, shop.tokens())
        assert "item_2" in dict(twice.value.troubles)
        assert form_of(asked, "change-parts-set").note == "There is no set yet. Enter one first."
    shop.counter.do(operation, shop.clerk_id)
    known = rows(shop, PartsSet)[0]
    with shop.store.reading() as reader:
        asked = Asked(reader, house(), shop.moment, known.label)
        form = form_of(asked, "change-parts-set")
        values = {one.name: one.value for one in form.fields}
        assert (values["set_name"], values["item_1"], values["pieces_1"], values["item_2"]) == ("Kit", item, "2", other)
        change = operation_of(asked, "change-parts-set", values | {"item_2": ""}, shop.tokens())
        limit = operation_of(
            Asked(reader, house(), shop.moment, item), "limit", {"about": item, "per_week": "4"}, shop.tokens()
        )
    for one in (change, limit):
        shop.counter.do(one, shop.clerk_id)
    assert [one.quantity for one in rows(shop, PartsSetLine)] == [2, 0]
    assert [one.per_week for one in rows(shop, HandOutLimit)] == [4]


def test_who_may_hand_out(own_shop: Shop) -> None:
    """Any clerk hands out; nobody signed on does not."""
    with as_clerk(own_shop, "Brandl"):
        given_out(own_shop, "Nkemba", (COVER, 1))
    assert rows(own_shop, HandOut)[0].by_id == own_shop.record(Person, "Brandl").id
    with as_clerk(own_shop, None), refused(own_shop, NoClerk):
        given_out(own_shop, "Nkemba", (COVER, 1))


def test_received_lot_feeds_it(own_shop: Shop) -> None:
    """A lot that comes in with an earlier date goes before the ones that were there."""
    shop = own_shop
    item = shop.record(StockItem, COVER)
    shop.do(ReceiveLot, item_id=item.id, lot_code="SOON", quantity=2, expires_on=date(2026, 11, 26))
    given_out(shop, "Nkemba", (COVER, 1))
    assert on_hand(shop, COVER)["SOON"] == 1


# At the counter.


def counter(shop: Shop, *scans: str) -> Desk:
    """A counter with a clerk signed on, and these scanned."""
    desk = Desk(shop.store, house(), shop.moment + timedelta(minutes=5))
    for one in ("Castel", *scans):
        desk.scan(shop.names.get(one, one))
    return desk


def asked(desk: Desk) -> AskForm:
    """The form that is open."""
    assert isinstance(desk.slate.form, AskForm)
    return desk.slate.form


def test_a_set_is_one_scan(own_shop: Shop) -> None:
    """Badge, set, done: each of its items by its number; again counts all of it once more; short is told per item."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    shop.names["kit"] = made_set(shop).label
    desk = counter(shop, "Wronecka", "kit", "kit")
    assert [(line.words, line.number) for line in asked(desk).lines] == [("Wl1 cover out", 4), ("Wl1 cover in", 2)]
    inner = rows(shop, Lot, item_id=shop.record(StockItem, INNER).id)
    for lot in inner:
        shop.do(BlockLot, lot_id=lot.id, why="recall")
    desk.scan(shop.names["kit"])
    short = asked(desk).lines[1]
    assert (short.level, short.note) == ("stop", "0 there: none of it is handed out")
    desk.scan(BY_ID["done"].label)
    assert desk.slate.empty
    assert "Short, not handed out: Wl1 cover in: 3 wanted, 0 there" in desk.slate.line.words
    assert desk.slate.line.level == "caution"
    assert [(one.quantity, one.item_id) for one in rows(shop, HandOut)] == [(6, shop.record(StockItem, COVER).id)]


def test_a_set_out_of_use(own_shop: Shop) -> None:
    """A set that is used no more is told and gives nothing."""
    shop = own_shop
    known = made_set(shop)
    lines = ((shop.record(StockItem, COVER).id, 2),)
    shop.do(ChangePartsSet, set_id=known.id, set_name="Lens kit", lines=lines, active=False)
    desk = counter(shop, "Nkemba", known.label)
    assert desk.slate.line.words == "Set Lens kit is out of use. Nothing changed."
    assert desk.slate.form is None


def test_a_bin_stands_for_what_lies_in_it(own_shop: Shop) -> None:
    """A bin with one item is as good as its label; with several or none it is told."""
    shop = own_shop
    for code in ("A1", "A2"):
        shop.do(AddBin, bin_code=code)
    first, second = rows(shop, Bin)
    for code, kept in (("GLOVE", first), ("WIPE", second), ("BAND", second)):
        shop.do(AddItem, item_code=code, item_name=code.capitalize(), bin_id=kept.id)
        item = rows(shop, StockItem)[-1]
        shop.do(ReceiveLot, item_id=item.id, lot_code="1", quantity=9)
    desk = counter(shop, "Nkemba", first.label)
    assert [(line.words, line.number, line.level) for line in asked(desk).lines] == [("Glove", 1, "")]
    desk.scan(second.label)
    assert desk.slate.line.words == "Bin A2 holds 2 items: scan the label of the item. Nothing changed."
    desk.scan(BY_ID["done"].label)
    assert desk.slate.line.words == "Handed to Abel Nkemba: 1 Glove, lot 1."


def test_over_the_limit_at_the_counter(own_shop: Shop) -> None:
    """The form says that it is more than the house limit, and F5 hands it out all the same."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    shop.do(SetHandOutLimit, item_id=shop.record(StockItem, COVER).id, per_week=1)
    desk = counter(shop, "Wronecka", COVER)
    assert asked(desk).cautions == ()
    desk.scan(shop.names[COVER])
    assert asked(desk).cautions == ("Over the house limit: Wl1 cover out, 2 in seven days, limit 1.",)
    assert asked(desk).lines[0].level == "caution"
    desk.choose("done")
    assert rows(shop, HandOut)[0].quantity == 2


def test_plain_cases_take_four_scans(own_shop: Shop) -> None:
    """Badge, item, done; badge, item, fitted, done; badge, confirm, done: by the scanner alone."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    desk = counter(shop)
    for scans in (("Wronecka", COVER, "done"), ("Wronecka", INNER, "confirm-fitting", "done")):
        for one in scans:
            desk.scan(BY_ID[one].label if one in BY_ID else shop.names[one])
        assert desk.slate.empty, scans
    assert [one.fitted_pieces for one in rows(shop, HandOut)] == [0, 1]
    for one in ("Wronecka", "confirm-fitting", "done"):
        desk.scan(BY_ID[one].label if one in BY_ID else shop.names[one])
    assert [one.fitted_pieces for one in rows(shop, HandOut)] == [1, 1]


def test_the_next_in_the_queue_gets_a_clear_counter(own_shop: Shop) -> None:
    """After a hand-out an item scanned before the next badge goes to nobody."""
    shop = own_shop
    desk = counter(shop, "Nkemba", COVER)
    desk.choose("done")
    desk.scan(shop.names[COVER])
    assert desk.slate.line.level == "refused"
    assert len(rows(shop, HandOut)) == 1


def test_another_badge_takes_the_name_away(own_shop: Shop) -> None:
    """Found by name counts for that person alone: a badge scanned after it is a badge."""
    shop = own_shop
    desk = counter(shop)
    desk.scan(shop.names["Nkemba"], by_name=True)
    desk.choose("done")
    assert desk.slate.by_name == shop.record(Person, "Nkemba").id
    desk.scan(shop.names["Verrani"])
    assert desk.slate.by_name == 0
    desk.scan(shop.names[COVER])
    desk.choose("done")
    assert not rows(shop, HandOut)[0].found_by_name


def test_an_issue_to_somebody_found_by_name_waits_for_badge_or_slip(own_shop: Shop) -> None:
    """The name opens the way to the check; out it goes on the badge or the signed slip alone."""
    shop = own_shop
    desk = counter(shop)
    desk.scan(shop.names["Wronecka"], by_name=True)
    desk.choose("done")
    for one in ("wl-1", "pack-1", "bay-3"):
        desk.scan(shop.names[one])
    desk.choose("go")
    while desk.slate.check is not None:
        desk.answer(good_answer(desk.slate.check.run, shop.names["meter"]))
    desk.scan(shop.names["Wronecka"], by_name=True)
    assert desk.slate.line.level == "refused"
    assert rows(shop, Custody) == []
    desk.scan(shop.names["Wronecka"])
    assert len(rows(shop, Custody)) == 1
