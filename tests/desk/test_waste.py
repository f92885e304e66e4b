"""Used filters: the bags, their log, what is refused, and the first step on the unit's card."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cribdesk.crib.records import Area, Unit, Waste, WasteBag
from cribdesk.crib.refusal import BagClosed, NotAllowed, Unknown, WrongFigure
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.entry_form import Asked
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.house import House
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts_waste import BagLabel
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.shift_lists import shift_page
from cribdesk.desk.unit_lookup import unit_card
from cribdesk.desk.waste import BagWaste, CloseBag, OpenBag
from tests.desk.operating import hand_out, later
from tests.desk.refused import refused
from tests.desk.shop import Shop, house

STREAM = "Used filters, cadmium and lead"


def bag(shop: Shop, stream: str = STREAM, **more: object) -> WasteBag:
    """An open bag."""
    shop.names["bag"] = shop.do(OpenBag, stream=stream, **more).subjects[0]
    return shop.record(WasteBag, "bag")


def in_the_air(shop: Shop, agents: str, required: bool = True) -> Area:
    """What is in the air of bay 3."""
    area = shop.record(Area, "bay-3")
    shop.do(ChangeArea, area_id=area.id, area_name=area.name, required=required, agents=agents)
    return shop.record(Area, "bay-3")


def used_of(shop: Shop, at: House | None = None):  # type: ignore[no-untyped-def]
    """What the card of wl-1 says of it."""
    unit = shop.record(Unit, "wl-1")
    with shop.store.reading() as reader:
        return unit_card(reader, at or house(), unit.id, shop.moment).used


def worn_once(shop: Shop) -> None:
    """Out to bay 3 and back."""
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    later(shop, 6)
    shop.do(TakeBack, unit_id=shop.record(Unit, "wl-1").id)


def test_the_card_tells_the_first_step_of_the_last_area(own_shop: Shop) -> None:
    """Nothing before it was worn; after it the worst agent's row, and the open bag of its stream."""
    in_the_air(own_shop, "lead fume, cadmium")
    assert used_of(own_shop) is None
    worn_once(own_shop)
    found = used_of(own_shop)
    assert found.words.startswith("Cadmium and lead: Gloves and respirator on. Vacuum it with a HE filter")
    assert (found.stream, found.bag, found.said) == (STREAM, "", True)
    assert found.basis == "29 CFR 1910.1027(k) (paragraph from memory)"
    other = bag(own_shop, "Used filters, lead")
    assert used_of(own_shop).bag == ""
    mine = bag(own_shop)
    assert used_of(own_shop).bag == mine.label != other.label
    own_shop.do(CloseBag, bag_id=mine.id, drum="17")
    assert used_of(own_shop).bag == ""


def test_nothing_entered_is_treated_as_the_strictest_where_a_respirator_is_required(own_shop: Shop) -> None:
    """An area where none is required and nothing is entered says nothing; without a table nothing is said either."""
    worn_once(own_shop)
    found = used_of(own_shop)
    assert not found.said
    assert found.words.startswith("What is in the air is not entered: Not known what is in it")
    assert used_of(own_shop, replace(house(), handling=())) is None
    in_the_air(own_shop, "", required=False)
    assert used_of(own_shop) is None


def test_a_bag_is_opened_filled_and_closed(own_shop: Shop) -> None:
    """Each with its sentence; the label prints when it is opened, the pieces are counted, the drum closes it."""
    area = in_the_air(own_shop, "lead")
    receipt = own_shop.do(OpenBag, stream=f"  {STREAM} ", area_id=area.id)
    own_shop.names["bag"] = receipt.subjects[0]
    made = own_shop.record(WasteBag, "bag")
    assert receipt.papers == (("bag_label", made.label),)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(BagWaste, bag_id=made.id, what="pre-filter", unit_id=unit.id)
    put = own_shop.do(BagWaste, bag_id=made.id, what="wipes", quantity=4)
    assert put.sentence == f"4 x wipes into bag {made.label}, 5 pieces in it."
    closed = own_shop.do(CloseBag, bag_id=made.id, drum="17")
    assert closed.sentence == f"Waste bag {made.label} closed with 5 pieces, in drum 17."
    with own_shop.store.reading() as reader:
        first, second = reader.find(Waste)
    assert (first.unit_id, first.quantity, second.unit_id, second.quantity) == (unit.id, 1, None, 4)


def test_a_closed_bag_takes_nothing_and_closes_once(own_shop: Shop) -> None:
    """Its drum is named, and what to do."""
    made = bag(own_shop)
    own_shop.do(CloseBag, bag_id=made.id, drum="17")
    with refused(own_shop, BagClosed, "in drum 17. Open another one."):
        own_shop.do(BagWaste, bag_id=made.id, what="wipes")
    with refused(own_shop, BagClosed):
        own_shop.do(CloseBag, bag_id=made.id, drum="18")


CANNOT: list[tuple[type, dict[str, object], type[NotAllowed], str]] = [
    (OpenBag, {"stream": "  "}, WrongFigure, "it has words"),
    (OpenBag, {"stream": "x" * 81}, WrongFigure, "80 characters"),
    (OpenBag, {"stream": "x", "area_id": 999}, Unknown, "This area"),
    (BagWaste, {"what": " "}, WrongFigure, "say it"),
    (BagWaste, {"what": "wipes", "quantity": 0}, WrongFigure, "between 1 and 1000"),
    (BagWaste, {"what": "wipes", "quantity": 1001}, WrongFigure, "between 1 and 1000"),
    (BagWaste, {"what": "wipes", "unit_id": 999}, Unknown, "This unit"),
    (BagWaste, {"what": "wipes", "bag_id": 999}, Unknown, "This waste bag"),
    (CloseBag, {"drum": " "}, WrongFigure, "its number is needed"),
    (CloseBag, {"drum": "1", "bag_id": 999}, Unknown, "This waste bag"),
]


@pytest.mark.parametrize(("operation", "fields", "kind", "words"), CANNOT)
def test_what_cannot_be_is_refused(
    own_shop: Shop, operation: type, fields: dict[str, object], kind: type[NotAllowed], words: str
) -> None:
    """In words, and nothing is kept."""
    made = bag(own_shop)
    given = fields if operation is OpenBag else {"bag_id": made.id} | fields
    with refused(own_shop, kind, words):
        own_shop.do(operation, **given)


def test_the_label_says_stream_agents_and_who_decides(own_shop: Shop) -> None:
    """From the area as it stands; a bag of several areas names none."""
    area = in_the_air(own_shop, "lead fume, cadmium")
    made = bag(own_shop, area_id=area.id)
    with own_shop.store.reading() as reader:
        label = record_for(reader, house(), "bag_label", made.label, own_shop.moment, 1)
        with pytest.raises(LookupError, match="no waste bag"):
            record_for(reader, house(), "bag_label", "D999999X", own_shop.moment, 1)
    assert isinstance(label, BagLabel)
    assert (label.stream, label.agents, label.area, label.by) == (
        STREAM, "lead fume, cadmium", "Plate shop, bay 3", "Back Office",
    )  # fmt: skip
    assert label.decides == "The generator of the waste decides how it is disposed of."


def test_the_list_counts_the_open_bags_and_keeps_the_log(own_shop: Shop) -> None:
    """Open ones first with their buttons, then the closed ones with their drum, then what went where, newest first."""
    closed = bag(own_shop, "Used filters, lead")
    own_shop.do(CloseBag, bag_id=closed.id, drum="17")
    made = bag(own_shop)
    own_shop.do(BagWaste, bag_id=made.id, what="pre-filter", unit_id=own_shop.record(Unit, "wl-1").id)
    own_shop.do(BagWaste, bag_id=made.id, what="wipes", quantity=4)
    with own_shop.store.reading() as reader:
        rows = shift_page(reader, house(), "used-filters", own_shop.moment).rows
    assert rows.lead == "1 bag open, 5 pieces in them."
    assert "40 CFR 262.11" in rows.caution
    first, second, newest, oldest = rows.rows
    assert (first.what, [one.id for one in first.actions]) == (
        f"{made.label}: {STREAM}", ["bag-waste", "close-bag", "bag_label"],
    )  # fmt: skip
    assert second.detail.endswith("drum 17")
    assert newest.what == "4 x wipes"
    assert oldest.what == f"1 x pre-filter of {own_shop.names['wl-1']}"
    assert oldest.label == own_shop.names["wl-1"]


def test_the_forms_suggest_the_stream_and_the_only_bag(own_shop: Shop) -> None:
    """The area's agents word the stream; with no bag open there is nothing to put in or to close."""
    area = in_the_air(own_shop, "lead, cadmium")
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment, area.label)
        fields = {one.name: one for one in form_of(asked, "open-bag").fields}
        assert fields["stream"].value == STREAM
        assert form_of(asked, "close-bag").note == "No waste bag is open. Open one first."
    made = bag(own_shop)
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment)
        assert form_of(asked, "bag-waste").fields[0].value == made.label
        values = {"about": made.label, "what": "wipes", "quantity": "2"}
        put = operation_of(asked, "bag-waste", values, "t")
        close = operation_of(asked, "close-bag", {"about": made.label, "drum": "9"}, "t")
        opened = operation_of(asked, "open-bag", {"stream": "Wipes", "about": area.label}, "t")
    assert put == BagWaste(operation_id="t", bag_id=made.id, what="wipes", quantity=2)
    assert close == CloseBag(operation_id="t", bag_id=made.id, drum="9")
    assert opened == OpenBag(operation_id="t", stream="Wipes", area_id=area.id)
