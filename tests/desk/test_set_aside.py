"""Pieces set aside: what may be, what a fitted part takes out of the tray, what others are told, what is ordered."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from cribdesk.crib.records import Person, SetAside, StockItem, Unit
from cribdesk.crib.refusal import NotQualified, WrongFigure
from cribdesk.desk import entry_set_aside
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.due import due_list
from cribdesk.desk.due_cards import DueList, FetchRow
from cribdesk.desk.entry_form import Asked
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.hand_out import plan
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.set_aside import SetPiecesAside
from cribdesk.desk.stock import AddItem, BlockLot, ReceiveLot
from cribdesk.desk.stock_outlook import outlook, position_of, read_shelf
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house

BELT = "WL1-BELT"


def item_of(shop: Shop, code: str = BELT) -> StockItem:
    """The item as it stands."""
    return shop.record(StockItem, code)


def aside(shop: Shop, code: str = BELT) -> dict[str, int]:
    """Pieces set aside of an item, by purpose."""
    id_ = item_of(shop, code).id
    with shop.store.reading() as reader:
        return {one.purpose: one.quantity for one in reader.find(SetAside, item_id=id_)}


def test_what_is_fitted_comes_out_of_the_tray(own_shop: Shop) -> None:
    """Set aside for the bench, two stay on the book; one fitted, one is left in the tray; a purpose is left alone."""
    item, unit = item_of(own_shop), own_shop.record(Unit, "wl-1")
    lot = own_shop.lot(item)
    receipt = own_shop.do(SetPiecesAside, lines=((item.id, 2),))
    assert receipt.sentence == "Set aside for the bench's tray: 2 Wl1 belt."
    own_shop.do(SetPiecesAside, lines=((item.id, 3),), purpose=" dock  job ")
    assert own_shop.lot(item).on_hand == lot.on_hand
    own_shop.do(ChangePart, unit_id=unit.id, position="belt", item_id=item.id, lot_id=lot.id)
    assert aside(own_shop) == {"": 1, "dock job": 3}
    own_shop.do(SetPiecesAside, lines=((item.id, 0),))
    own_shop.do(ChangePart, unit_id=unit.id, position="belt", item_id=item.id, lot_id=lot.id)
    assert aside(own_shop) == {"": 0, "dock job": 3}


def test_what_cannot_be_set_aside_is_refused_with_its_item(own_shop: Shop) -> None:
    """More than is usable and free, less than nothing, twice, what stands so already, nothing, by an attendant."""
    item = item_of(own_shop)
    there = own_shop.lot(item).on_hand
    own_shop.do(SetPiecesAside, lines=((item.id, 3),), purpose="dock job")
    with refused(own_shop, WrongFigure, f"Wl1 belt: {there} usable are there, 3 of them are set aside already"):
        own_shop.do(SetPiecesAside, lines=((item.id, there - 2),))
    with refused(own_shop, WrongFigure, "Wl1 belt: pieces are not below zero"):
        own_shop.do(SetPiecesAside, lines=((item.id, -1),))
    with refused(own_shop, WrongFigure, "twice"):
        own_shop.do(SetPiecesAside, lines=((item.id, 1), (item.id, 2)))
    with refused(own_shop, WrongFigure, "already"):
        own_shop.do(SetPiecesAside, lines=((item.id, 3),), purpose="dock job")
    with refused(own_shop, WrongFigure, "nothing is named"):
        own_shop.do(SetPiecesAside, lines=())
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(SetPiecesAside, lines=((item.id, 1),))
    own_shop.do(BlockLot, lot_id=own_shop.lot(item).id, why="wet")
    with refused(own_shop, WrongFigure, "Wl1 belt: 0 usable"):
        own_shop.do(SetPiecesAside, lines=((item.id, 1),))
    assert aside(own_shop) == {"dock job": 3}


def test_half_of_it_is_never_set_aside(own_shop: Shop) -> None:
    """One line that cannot be leaves the others as they were."""
    belt, tube = item_of(own_shop), item_of(own_shop, "WL1-TUBE")
    with refused(own_shop, WrongFigure, "Wl1 tube"):
        own_shop.do(SetPiecesAside, lines=((belt.id, 2), (tube.id, 9000)))
    assert aside(own_shop) == {}


def test_the_view_says_what_is_reserved_and_orders_for_promised_pieces_alone(own_shop: Shop) -> None:
    """The tray's parts are in expected use already and are not counted twice; those for a job are besides it."""
    item = item_of(own_shop)
    own_shop.do(SetPiecesAside, lines=((item.id, 2),))
    own_shop.do(SetPiecesAside, lines=((item.id, 3),), purpose="dock job")
    with own_shop.store.reading() as reader:
        row = outlook(reader, house(), own_shop.moment, item.id)
        today = house().today(own_shop.moment)
        position, _, _ = position_of(item, None, read_shelf(reader, [item], today, [item.id]), today)
    assert (row.reserved, row.kept) == (5, "2 in the bench's tray and 3 for dock job")
    assert (position.reserved, position.pieces) == (3, row.usable - 3)


def test_whoever_hands_out_what_is_set_aside_is_told(own_shop: Shop) -> None:
    """Four are there, three of them in the tray: one goes without a word, two do not."""
    own_shop.do(AddItem, item_code="GLOVE", item_name="Glove")
    with own_shop.store.reading() as reader:
        glove = reader.first(StockItem, code="GLOVE")
    assert glove is not None
    own_shop.do(ReceiveLot, item_id=glove.id, lot_code="G", quantity=4)
    own_shop.do(SetPiecesAside, lines=((glove.id, 3),))
    person = own_shop.record(Person, "Wronecka").id
    with own_shop.store.reading() as reader:
        told = {
            pieces: plan(reader, house(), person, ((glove.id, pieces),), (), 0, own_shop.moment)[0]
            for pieces in (1, 2, 5)
        }
    assert {pieces: one.into_aside for pieces, one in told.items()} == {1: False, 2: True, 5: False}
    assert told[2].aside_for == "3 in the bench's tray"


def test_the_form_asks_for_what_and_how_many(own_shop: Shop) -> None:
    """For the tray without a word more; for something else its words are needed."""
    label = own_shop.label(BELT)
    item = item_of(own_shop)
    own_shop.do(SetPiecesAside, lines=((item.id, 2),))
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment, label)
        form = form_of(asked, "set-aside")
        assert [one.name for one in form.fields] == ["about", "what_for", "purpose", "pieces"]
        assert form.fields[-1].help.startswith("Set aside now: 2 in the bench's tray.")
        values = {"about": label, "what_for": "other", "purpose": "dock job", "pieces": "4"}
        made = operation_of(asked, "set-aside", values, "t")
        assert made == SetPiecesAside(operation_id="t", lines=((item.id, 4),), purpose="dock job")
        made = operation_of(asked, "set-aside", values | {"what_for": "tray"}, "t")
        assert made == SetPiecesAside(operation_id="t", lines=((item.id, 4),))


def test_the_trays_form_reads_the_due_list_once(own_shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is to be fetched, no more than lies there, fills it; without anything its note says so."""
    label, reads = own_shop.label(BELT), []
    rows = [FetchRow(label, BELT, "Belt", number, "B1", there, "lot A first") for number, there in ((3, 2), (0, 5))]

    def told(reader: Reader, house: House, moment: datetime) -> DueList:
        reads.append(moment)
        return replace(due_list(reader, house, moment), fetch=tuple(rows[:1] if len(reads) == 1 else rows[1:]))

    monkeypatch.setattr(entry_set_aside, "due_list", told)
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment)
        full, empty = form_of(asked, "tray"), form_of(asked, "tray")
    assert len(reads) == 2
    assert [(one.name, one.value, one.help) for one in full.fields] == [
        (f"pieces_{label}", "2", "2 there, bin B1, lot A first")
    ]  # fmt: skip
    assert full.note == ""
    assert (empty.fields, empty.note) == ((), "Nothing that falls due before the next shift lies on the shelf.")
