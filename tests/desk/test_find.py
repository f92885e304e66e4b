"""The search: what a text finds, in which order, how much of it, and with how many questions to the store."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest

from cribdesk.crib.records import Fitted, Person, StockItem, Unit
from cribdesk.desk.find import LONGEST, MOST, Found, find
from cribdesk.desk.hand_out import ConfirmFitting, HandItemsOut
from cribdesk.desk.labels import BindLabel, ReplaceLabel
from cribdesk.desk.people import ChangePerson
from cribdesk.desk.questions import place
from cribdesk.desk.stock import BlockLot
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from tests.desk.operating import hand_out
from tests.desk.shop import Shop, house
from tests.store.queries import counting


def found(shop: Shop, text: str) -> Found:
    """What this text finds."""
    with shop.store.reading() as reader:
        return find(reader, house(), text, shop.moment)


def labels(shop: Shop, text: str) -> list[str]:
    """The labels it finds, in order."""
    return [row.label for row in found(shop, text).rows]


@pytest.mark.parametrize("text", ["lucja", "ŁUCJA wron", "wron luc", "  Wronecka  ", "łucja"])
def test_names_without_their_marks(own_shop: Shop, text: str) -> None:
    """A name is found from any part of it, in any order, with or without the marks over its letters."""
    assert labels(own_shop, text) == [own_shop.names["Wronecka"]]


def test_numbers_of_all_kinds(own_shop: Shop) -> None:
    """A serial, a label in small letters, an item's code, a bound badge and an etched number."""
    shop = own_shop
    shop.do(BindLabel, text="EMP-00417", label=shop.names["Verrani"])
    shop.do(BindLabel, text="ETCH 77/3", label=shop.names["wl-4"])
    assert labels(shop, "wl-3") == [shop.names["wl-3"]]
    assert labels(shop, shop.names["pack-2"].lower())[0] == shop.names["pack-2"]
    assert shop.names["WL1-COVER-OUT"] in labels(shop, "wl1-cover-out")
    assert labels(shop, "emp-00417") == [shop.names["Verrani"]]
    assert labels(shop, "etch 77") == [shop.names["wl-4"]]
    assert labels(shop, shop.names["blower-1"]) == [shop.names["blower-1"]]


def test_the_bound_text_is_not_shown(own_shop: Shop) -> None:
    """A badge number of an employer finds its person, and stands in no word of the result."""
    own_shop.do(BindLabel, text="EMP-00417", label=own_shop.names["Verrani"])
    (row,) = found(own_shop, "emp-00417").rows
    assert "00417" not in f"{row.words} {row.detail} {row.what}"


def test_a_replaced_label_is_not_found(own_shop: Shop) -> None:
    """The fresh label finds its unit; the dead one finds nothing."""
    old = own_shop.names["wl-2"]
    own_shop.do(ReplaceLabel, label=old)
    assert labels(own_shop, old) == []
    assert labels(own_shop, "wl-2") != []


def test_what_tells_them_apart(own_shop: Shop) -> None:
    """People by trade, badge and what they hold; units by where they are; items by what may be handed out."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    assert found(shop, "wronecka").rows[0].detail == f"welder, holds {shop.names['wl-1']}"
    assert found(shop, "marek").rows[0].detail == "welder, badge ended"
    assert found(shop, "wl-1").rows[0].detail == "out with Łucja Wronecka, serial wl-1"
    assert found(shop, "wl-2").rows[0].detail == "on the rack, serial wl-2"
    assert found(shop, shop.names["pack-1"]).rows[0].detail == f"in {shop.names['wl-1']}"
    with shop.store.reading() as reader:
        item = reader.first(StockItem, code="WL1-PREFILTER")
        assert item is not None
        lot = place(reader, house(), "stock", "wl1-prefilter", shop.moment)[0].lots[0]  # type: ignore[index]
    before = found(shop, "wl1-prefilter").rows[0].detail
    shop.do(BlockLot, lot_id=lot.lot_id, why="recall")
    assert found(shop, "wl1-prefilter").rows[0].detail != before


def test_beginnings_come_first(own_shop: Shop) -> None:
    """A word that begins with what was typed comes before one that only holds it."""
    shop = own_shop
    person = shop.record(Person, "Nkemba")
    shop.do(ChangePerson, person_id=person.id, full_name="Abel Averra")
    assert labels(shop, "verra")[:2] == [shop.names["Verrani"], shop.names["Nkemba"]]


def test_few_of_each_kind(own_shop: Shop) -> None:
    """One letter brings at most so many of a kind, and says how many more there are."""
    answer = found(own_shop, "a")
    kinds = [row.kind for row in answer.rows]
    assert max(kinds.count(kind) for kind in kinds) == MOST
    assert "4 people" in answer.left_off
    assert kinds[:MOST] == ["P"] * MOST


def test_a_bounded_number_of_questions(own_shop: Shop) -> None:
    """One letter that fits nearly everything asks the store as often as its docstring says, at most."""
    assert isinstance(own_shop.store, SqlStore)
    with counting(own_shop.store) as asked:
        found(own_shop, "a")
    assert 10 < len(asked) <= 20


@pytest.mark.parametrize("text", ["", "   ", "%", "_", "\x00", "😀", "x" * 400, "a " * 9, "a" * (LONGEST + 1), "'--"])
def test_nothing_is_found_for_nothing(own_shop: Shop, text: str) -> None:
    """Nothing, signs of a query language, no letters, far too much: no result, and no fault."""
    assert found(own_shop, text).rows == ()


def test_the_journal_of_a_name(own_shop: Shop) -> None:
    """The journal's question takes a label or a name after the seq, and pages on within it."""
    shop = own_shop
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    label = shop.names["Wronecka"]
    with shop.store.reading() as reader:
        by_name = place(reader, house(), "journal", "\nwronecka", shop.moment)
        by_label = place(reader, house(), "journal", f"\n{label.lower()}", shop.moment)
        older = place(reader, house(), "journal", f"{by_name.entries[0].seq}\nwronecka", shop.moment)  # type: ignore[attr-defined]
        everything = place(reader, house(), "journal", "", shop.moment)
    assert by_name.entries == by_label.entries  # type: ignore[attr-defined]
    assert all(label in one.subjects for one in by_name.entries)  # type: ignore[attr-defined]
    assert older.entries == by_name.entries[1:]  # type: ignore[attr-defined]
    assert everything.about == ""  # type: ignore[attr-defined]
    assert everything.count > by_name.count > 0  # type: ignore[attr-defined]


def test_on_both_engines(address: str) -> None:
    """Hand-out, fitting and search do the same on each engine, and the store is sound afterwards."""
    with open_store(address, create=True, entropy=random.Random(7).randbytes) as store:
        shop = Shop(store).build()
        hand_out(shop, "wl-1", "Wronecka", "pack-1")
        item, person = shop.record(StockItem, "WL1-PREFILTER"), shop.record(Person, "Wronecka")
        shop.do(HandItemsOut, person_id=person.id, lines=((item.id, 4),), fitted=True)
        shop.moment += timedelta(hours=2)
        shop.do(ConfirmFitting, hand_out_id=1)
        assert labels(shop, "lucja") == [shop.names["Wronecka"]]
        assert f"holds {shop.names['wl-1']}" in found(shop, "wronecka").rows[0].detail
        fitted = shop.record(Unit, "wl-1").id
        with store.reading() as reader:
            sat = reader.find(Fitted, unit_id=fitted, position="pre-filter")
        assert [one.fitted_at_hours for one in sat] == pytest.approx([0.0, 0.0, 2.0], abs=0.05)
        assert check(store) == []
