"""An item's own minimum and maximum: saved whole or refused, and before every suggestion."""

from __future__ import annotations

import pytest

from cribdesk.crib.records import OrderRule, StockItem
from cribdesk.crib.refusal import NotQualified, WrongFigure
from cribdesk.desk.order_rule import SetOrderRule
from cribdesk.desk.stock_page import stock_item, stock_page
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house


def rules(shop: Shop) -> list[OrderRule]:
    """Rules as they stand."""
    with shop.store.reading() as reader:
        return reader.find(OrderRule)


def test_own_figures_are_saved_and_a_rule_only_where_one_is_wanted(own_shop: Shop) -> None:
    """Minimum, maximum and criticality are the item's; service, review and room make a rule, emptied they stay so."""
    item = own_shop.record(StockItem, "WL1-BELT")
    own_shop.do(SetOrderRule, item_id=item.id, minimum=5, maximum=9, criticality="A")
    now = own_shop.record(StockItem, "WL1-BELT")
    assert (now.minimum, now.maximum, now.criticality) == (5, 9, "A")
    assert rules(own_shop) == []
    own_shop.do(SetOrderRule, item_id=item.id, service_permille=990, review_days=7, shelf_space=40)
    (rule,) = rules(own_shop)
    assert (rule.service_permille, rule.review_days, rule.shelf_space) == (990, 7, 40)
    own_shop.do(SetOrderRule, item_id=item.id)
    (rule,) = rules(own_shop)
    assert (rule.service_permille, rule.review_days, rule.shelf_space) == (None, None, None)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"minimum": -1}, "Minimum: it is not below zero"),
        ({"minimum": 5, "maximum": 4}, "not less than the minimum"),
        ({"maximum": 0}, "at least 1"),
        ({"criticality": "D"}, "A, B or C"),
        ({"service_permille": 1000}, "between 50 and 99.9 percent"),
        ({"service_permille": 400}, "between 50 and 99.9 percent"),
        ({"review_days": 0}, "at least 1 day"),
        ({"shelf_space": 0}, "room for at least 1 piece"),
    ],
)
def test_figures_that_cannot_be_are_named(own_shop: Shop, fields: dict[str, object], words: str) -> None:
    """Each is refused with the field's name, and nothing of the rest is saved."""
    item = own_shop.record(StockItem, "WL1-BELT")
    with refused(own_shop, WrongFigure, words):
        own_shop.do(SetOrderRule, item_id=item.id, **fields)
    assert own_shop.record(StockItem, "WL1-BELT") == item


def test_only_the_shelf_sets_them(own_shop: Shop) -> None:
    """An attendant alone does not."""
    item = own_shop.record(StockItem, "WL1-BELT")
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(SetOrderRule, item_id=item.id, minimum=1)


def test_the_list_is_narrowed_by_word_model_and_what_to_order(own_shop: Shop) -> None:
    """An own minimum above what is there puts the item first and among what to order now; a text narrows further."""
    item = own_shop.record(StockItem, "WL1-BELT")
    own_shop.do(SetOrderRule, item_id=item.id, minimum=900)
    with own_shop.store.reading() as reader:

        def codes(argument: str) -> list[str]:
            return [row.code for row in stock_page(reader, house(), argument, own_shop.moment)]

        assert codes("")[0] == "WL1-BELT"
        assert codes("now") == ["WL1-BELT"]
        assert set(codes("model FF1")) == {
            one for position in house().models["FF1"].positions for one in position.items
        }
        assert codes("now;model FF1") == []
        assert codes("model WL1\nbelt") == ["WL1-BELT"]
        assert codes("supplier 77") == []


def test_an_opened_item_counts_its_shelf_back_from_today(own_shop: Shop) -> None:
    """What lay there at each change, up to what lies there now; an unknown label opens nothing."""
    with own_shop.store.reading() as reader:
        page = stock_item(reader, house(), own_shop.label("WL1-PREFILTER"), own_shop.moment)
        assert stock_item(reader, house(), "K999999X", own_shop.moment) is None
    assert page is not None
    assert page.shelf[0][1] == 0
    assert page.shelf[-1] == (0.0, 398)
    assert sum(one.quantity for one in page.movements) == 398
    assert page.movements_all == len(page.movements)
