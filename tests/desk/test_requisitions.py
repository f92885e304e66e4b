"""Requisitions step by step, what may be changed when, prices with their days, goods that go back, lots first to go."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest

from cribdesk.crib.records import (
    Gtin,
    Lot,
    Movement,
    Price,
    Requisition,
    RequisitionLine,
    RequisitionState,
    RequisitionStep,
    Role,
    StockItem,
    Supplier,
    SupplierReturn,
    Unit,
)
from cribdesk.crib.refusal import NotAllowed, NotOnTheShelf, NotQualified, Unknown
from cribdesk.crib.requisition import (
    BY_HAND,
    FOLLOWS,
    LineFixed,
    MoreThanOrdered,
    NoSubstitute,
    NoSuchStep,
    NotOpenForGoods,
    check_step,
    steps_by_hand,
    substitutes,
)
from cribdesk.crib.stock_forecast import TSB, Demand, Lead, Spread
from cribdesk.crib.words import date_words
from cribdesk.desk.counter import Counter
from cribdesk.desk.deliveries import expected
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.entry_orders import chosen_words
from cribdesk.desk.house import House
from cribdesk.desk.lookup import item_card
from cribdesk.desk.order_rule import SetOrderRule
from cribdesk.desk.prices import EnterPrice, money, price_of
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts_orders import COLUMNS, RequisitionSheet
from cribdesk.desk.requisitions import ChangeRequisition, MakeRequisitions, StepRequisition
from cribdesk.desk.shift_lists import shift_lists
from cribdesk.desk.stock import AddItem, AddSupplier, ReceiveLot
from cribdesk.desk.stock_outlook import outlook, outlooks
from cribdesk.desk.stock_page import stock_item
from cribdesk.desk.supplier_return import ReturnToSupplier
from cribdesk.desk.unit_lookup import offer
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import BUILT, Shop, house
from tests.desk.test_operations_shelf import last, prefilter, refuses

TODAY = BUILT.date()
S = RequisitionState


@pytest.fixture
def buying(own_shop: Shop) -> Shop:
    """A shop with two suppliers and three items that come from them; Gasket comes from the other one."""
    for name in ("Keramion", "Ostwerk"):
        own_shop.do(AddSupplier, supplier=name)
    with own_shop.store.reading() as reader:
        suppliers = {one.name: one.id for one in reader.find(Supplier)}
    for code, supplier, price in (("GLOVE", "Keramion", 310), ("WIPE", "Keramion", 0), ("GASKET", "Ostwerk", 95)):
        own_shop.do(
            AddItem, item_code=code, item_name=code.capitalize(), pack_size=6, price_cents=price,
            supplier_id=suppliers[supplier],
        )  # fmt: skip
        own_shop.names[code] = last(own_shop, StockItem).label
    return own_shop


def id_of(shop: Shop, code: str) -> int:
    """The item of that code."""
    return shop.record(StockItem, code).id


def made(shop: Shop, *lines: tuple[str, int]) -> Requisition:
    """A draft with these lines; the last of them where there are several suppliers."""
    shop.do(MakeRequisitions, lines=tuple((id_of(shop, code), pieces) for code, pieces in lines))
    found: Requisition = last(shop, Requisition)
    return found


def sent(shop: Shop, *lines: tuple[str, int]) -> Requisition:
    """A requisition that was handed over."""
    draft = made(shop, *lines)
    shop.do(StepRequisition, requisition_id=draft.id, to=S.SENT)
    return draft


def change(shop: Shop, requisition: Requisition, *lines: tuple[int, int, int, date | None]) -> None:
    """Lines of it become so."""
    shop.do(ChangeRequisition, requisition_id=requisition.id, lines=lines)


def line_of(shop: Shop, requisition: Requisition, place: int = 0) -> RequisitionLine:
    """A line of it."""
    with shop.store.reading() as reader:
        return reader.find(RequisitionLine, requisition_id=requisition.id)[place]


def receive(shop: Shop, line: RequisitionLine, quantity: int, **more: object) -> None:
    """So much of a line comes in."""
    fields = {"item_id": line.item_id, "lot_code": "K1", "quantity": quantity, "requisition_line_id": line.id}
    shop.do(ReceiveLot, **(fields | more))


def state(shop: Shop, requisition: Requisition) -> str:
    """How far it is."""
    with shop.store.reading() as reader:
        return reader.get(Requisition, requisition.id).state


WANTED = {
    (S.DRAFT, S.SENT), (S.DRAFT, S.CANCELLED),
    (S.SENT, S.PART), (S.SENT, S.BACK_ORDERED), (S.SENT, S.CLOSED), (S.SENT, S.CANCELLED),
    (S.PART, S.BACK_ORDERED), (S.PART, S.CLOSED),
    (S.BACK_ORDERED, S.PART), (S.BACK_ORDERED, S.CLOSED), (S.BACK_ORDERED, S.CANCELLED),
    (S.CLOSED, S.PART),
}  # fmt: skip
"""Every step there is, written out here once more; all others are refused."""


@pytest.mark.parametrize(("before", "after"), [*product(S, S)])
def test_every_pair_of_states(before: RequisitionState, after: RequisitionState) -> None:
    """Each of the 36 pairs is a step or is refused; what came already is never cancelled."""
    assert set(FOLLOWS) == set(S)
    if (before, after) in WANTED:
        check_step(1, before, after, arrived=False)
    else:
        with pytest.raises(NoSuchStep):
            check_step(1, before, after, arrived=False)
    if after is S.CANCELLED:
        with pytest.raises(NoSuchStep):
            check_step(1, before, after, arrived=True)
    by_hand = after in steps_by_hand(before, arrived=False)
    assert by_hand == ((before, after) in WANTED and after in BY_HAND)


@pytest.mark.parametrize(("before", "to"), [*product((S.DRAFT, S.SENT, S.PART, S.BACK_ORDERED, S.CLOSED), S)])
def test_every_step_in_the_store(buying: Shop, before: RequisitionState, to: RequisitionState) -> None:
    """In the store too: a step by hand is written with its moment and its clerk, any other changes nothing."""
    requisition = made(buying, ("GLOVE", 12))
    if before is not S.DRAFT:
        buying.do(StepRequisition, requisition_id=requisition.id, to=S.SENT)
    if before is S.PART:
        receive(buying, line_of(buying, requisition), 6)
    elif before in (S.BACK_ORDERED, S.CLOSED):
        buying.do(StepRequisition, requisition_id=requisition.id, to=before, note="none left")
    assert state(buying, requisition) == before.value
    allowed = (before, to) in WANTED and to in BY_HAND
    if not allowed:
        with pytest.raises(NotAllowed):
            buying.do(StepRequisition, requisition_id=requisition.id, to=to, note="so it is")
        assert state(buying, requisition) == before.value
        return
    receipt = buying.do(StepRequisition, requisition_id=requisition.id, to=to, note="so it is")
    assert state(buying, requisition) == to.value
    step = last(buying, RequisitionStep)
    assert (step.state, step.note, step.by_id) == (to, "so it is", buying.clerk_id)
    assert step.at == buying.moment
    assert receipt.papers == ((("requisition", "1"),) if to is S.SENT else ())


def test_one_for_each_supplier(buying: Shop) -> None:
    """Chosen items part by supplier; each line keeps the price of the day; a draft is written down as such."""
    buying.do(MakeRequisitions, lines=tuple((id_of(buying, one), 12) for one in ("GLOVE", "GASKET", "WIPE")))
    with buying.store.reading() as reader:
        drafts = reader.find(Requisition)
        lines: dict[int, list[int]] = {one.id: [] for one in drafts}
        for line in reader.find(RequisitionLine):
            lines[line.requisition_id].append(line.price_cents)
        steps = [one.state for one in reader.find(RequisitionStep)]
    assert [(one.number, one.state, lines[one.id]) for one in drafts] == [(1, "draft", [310, 0]), (2, "draft", [95])]
    assert steps == [S.DRAFT, S.DRAFT]


def test_what_cannot_be_ordered(buying: Shop) -> None:
    """No line, no supplier, twice the same, no whole packs, none at all: each names the item, nothing is written."""
    glove = id_of(buying, "GLOVE")
    refuses(buying, MakeRequisitions, "no line", lines=())
    refuses(buying, MakeRequisitions, "no supplier", lines=((prefilter(buying).id, 4),))
    refuses(buying, MakeRequisitions, "twice", lines=((glove, 6), (glove, 6)))
    refuses(buying, MakeRequisitions, "Glove: 7 are no whole packs of 6; order 6 or 12", lines=((glove, 7),))
    refuses(buying, MakeRequisitions, "order 6", lines=((glove, 5),))
    refuses(buying, MakeRequisitions, "between 1", lines=((id_of(buying, "WIPE"), 6), (glove, 0)))
    with refused(buying, Unknown):
        buying.do(MakeRequisitions, lines=((999, 6),))
    with buying.store.reading() as reader:
        assert reader.count(Requisition) == 0
    with as_clerk(buying, "Brandl"), refused(buying, NotQualified):
        buying.do(MakeRequisitions, lines=((glove, 6),))


def test_changing_a_draft(buying: Shop) -> None:
    """Pieces change, a line comes off, another comes on; what differs in nothing, or fits nowhere, is refused."""
    draft = made(buying, ("GLOVE", 12), ("WIPE", 6))
    glove, wipe = line_of(buying, draft), line_of(buying, draft, 1)
    same = ((glove.id, glove.item_id, 12, None), (wipe.id, wipe.item_id, 6, None))
    fields = {"requisition_id": draft.id, "lines": same}
    refuses(buying, ChangeRequisition, "nothing in it differs", **fields)
    refuses(buying, ChangeRequisition, "another supplier", **fields, added=((id_of(buying, "GASKET"), 6),))
    refuses(buying, ChangeRequisition, "twice", **fields, added=((glove.item_id, 6),))
    eight = ((glove.id, glove.item_id, 8, None),)
    refuses(buying, ChangeRequisition, "whole packs", requisition_id=draft.id, lines=eight)
    early = ((glove.id, glove.item_id, 12, TODAY - timedelta(days=1)),)
    refuses(buying, ChangeRequisition, "lies before", requisition_id=draft.id, lines=early)
    other = made(buying, ("GASKET", 6))
    refuses(buying, ChangeRequisition, "none of requisition 2", requisition_id=other.id, lines=same)
    buying.do(
        ChangeRequisition, requisition_id=draft.id,
        lines=((glove.id, glove.item_id, 24, date(2026, 12, 4)), (wipe.id, wipe.item_id, 0, None)),
    )  # fmt: skip
    buying.do(ChangeRequisition, requisition_id=draft.id, lines=(), added=((wipe.item_id, 18),))
    with buying.store.reading() as reader:
        lines = reader.find(RequisitionLine, requisition_id=draft.id)
    assert [(one.quantity, one.promised_on) for one in lines] == [(24, date(2026, 12, 4)), (0, None), (18, None)]


def test_what_was_handed_over_stays(buying: Shop) -> None:
    """Pieces and lines stay as they were signed; a promised day is noted; ended, nothing changes any more."""
    requisition = sent(buying, ("GLOVE", 12))
    line = line_of(buying, requisition)
    with refused(buying, LineFixed, "handed over"):
        buying.do(ChangeRequisition, requisition_id=requisition.id, lines=((line.id, line.item_id, 24, None),))
    with refused(buying, LineFixed, "handed over"):
        buying.do(ChangeRequisition, requisition_id=requisition.id, lines=(), added=((id_of(buying, "WIPE"), 6),))
    promised = ((line.id, line.item_id, 12, date(2026, 12, 1)),)
    buying.do(ChangeRequisition, requisition_id=requisition.id, lines=promised)
    assert line_of(buying, requisition).promised_on == date(2026, 12, 1)
    buying.do(StepRequisition, requisition_id=requisition.id, to=S.CANCELLED, note="not needed")
    with refused(buying, LineFixed, "cancelled"):
        buying.do(ChangeRequisition, requisition_id=requisition.id, lines=((line.id, line.item_id, 12, None),))


def test_reasons_and_empty_ones(buying: Shop) -> None:
    """Back-ordered, cancelled and closed short need their why; an empty draft is not handed over."""
    requisition = sent(buying, ("GLOVE", 12))
    for to in (S.BACK_ORDERED, S.CANCELLED, S.CLOSED):
        refuses(buying, StepRequisition, f"say why it is {to.value}", requisition_id=requisition.id, to=to)
    draft = made(buying, ("GASKET", 6))
    line = line_of(buying, draft)
    buying.do(ChangeRequisition, requisition_id=draft.id, lines=((line.id, line.item_id, 0, None),))
    refuses(buying, StepRequisition, "no line", requisition_id=draft.id, to=S.SENT)


def with_two_items(first: str, second: str) -> House:
    """The house with a unit model whose first position names two items; the shipped ones name one each."""
    model = next(iter(house().models.values()))
    both = replace(model.positions[0], items=(first, second))
    model = replace(model, positions=(both, *model.positions[1:]))
    return replace(house(), models={**house().models, model.code: model})


def test_only_what_a_model_names_is_a_substitute(buying: Shop) -> None:
    """Another item takes a line over where each position that names the one names the other; else, and once some came,
    it is refused. The price is the other item's.
    """
    two = with_two_items("GLOVE", "WIPE")
    assert substitutes(two.models.values(), "GLOVE") == {"WIPE"}
    assert substitutes(two.models.values(), "GASKET") == frozenset()
    alone = replace(two.models["FF1"].positions[0], items=("GLOVE",))
    ff1 = replace(two.models["FF1"], positions=(alone, *two.models["FF1"].positions[1:]))
    assert substitutes([*two.models.values(), ff1], "GLOVE") == frozenset()  # it fits one model, not the other
    with buying.store.reading() as reader:
        pages = [stock_item(reader, one, buying.label("GLOVE"), buying.moment) for one in (two, house())]
    assert [one.instead for one in pages if one] == [("Wipe, WIPE",), ()]
    requisition = sent(buying, ("GLOVE", 6))
    line = line_of(buying, requisition)
    instead = ((line.id, id_of(buying, "WIPE"), 6, None),)
    with refused(buying, NoSubstitute):
        change(buying, requisition, *instead)
    desk = Counter(buying.store, two, lambda: buying.moment, "Office")
    fields = {"requisition_id": requisition.id, "lines": instead}
    desk.do(ChangeRequisition(operation_id=buying.tokens(), **fields), buying.clerk_id)
    changed = line_of(buying, requisition)
    assert (changed.item_id, changed.price_cents) == (id_of(buying, "WIPE"), 0)
    receive(buying, changed, 1)
    back = {**fields, "lines": ((line.id, id_of(buying, "GLOVE"), 6, None),)}
    with pytest.raises(LineFixed, match="some of it came"):
        desk.do(ChangeRequisition(operation_id=buying.tokens(), **back), buying.clerk_id)


def test_a_delivery_moves_it_on(buying: Shop) -> None:
    """Part delivered, then closed; more than is expected only where it was said; a draft and an ended one take none."""
    draft = made(buying, ("GLOVE", 12))
    line = line_of(buying, draft)
    with refused(buying, NotOpenForGoods, "draft"):
        receive(buying, line, 6)
    buying.do(StepRequisition, requisition_id=draft.id, to=S.SENT)
    with buying.store.reading() as reader:
        assert [one.left for one in expected(reader)] == [12]
    receive(buying, line, 6)
    assert state(buying, draft) == "part delivered"
    buying.do(StepRequisition, requisition_id=draft.id, to=S.BACK_ORDERED, note="rest next year")
    with refused(buying, MoreThanOrdered, "still expects 6"):
        receive(buying, line, 7)
    receive(buying, line, 7, more_kept=True)
    assert (state(buying, draft), line_of(buying, draft).arrived) == ("closed", 13)
    with refused(buying, NotOpenForGoods, "closed"):
        receive(buying, line, 1)
    with buying.store.reading() as reader:
        steps = [one.state for one in reader.find(RequisitionStep, requisition_id=draft.id)]
        assert expected(reader) == ()
    assert steps == [S.DRAFT, S.SENT, S.PART, S.BACK_ORDERED, S.CLOSED]


def test_it_closes_once_every_line_is_whole(buying: Shop) -> None:
    """One line that came whole leaves it open for the other; a line that was taken off is not waited for."""
    draft = made(buying, ("GLOVE", 12), ("WIPE", 6))
    wipe = line_of(buying, draft, 1)
    buying.do(StepRequisition, requisition_id=draft.id, to=S.SENT)
    receive(buying, line_of(buying, draft), 12)
    assert state(buying, draft) == "part delivered"
    receive(buying, wipe, 6)
    assert state(buying, draft) == "closed"
    other = made(buying, ("GLOVE", 12), ("WIPE", 6))
    off = line_of(buying, other, 1)
    change(buying, other, (off.id, off.item_id, 0, None))
    buying.do(StepRequisition, requisition_id=other.id, to=S.SENT)
    receive(buying, line_of(buying, other), 12)
    assert state(buying, other) == "closed"


def test_a_number_stands_for_one_item(buying: Shop) -> None:
    """The number on a carton is learnt once; it does not go over to another item by a delivery."""
    fields = {"lot_code": "K1", "quantity": 12, "gtin": "09501101530003", "carton_pieces": 12}
    buying.do(ReceiveLot, item_id=id_of(buying, "GLOVE"), **fields)
    known = last(buying, Gtin)
    assert (known.item_id, known.code, known.pieces) == (id_of(buying, "GLOVE"), "09501101530003", 12)
    refuses(buying, ReceiveLot, "is Glove", item_id=id_of(buying, "WIPE"), **fields)


def test_goods_go_back(buying: Shop) -> None:
    """Out of the lot, with why; replaced, a closed requisition expects them again; never more than came."""
    requisition = sent(buying, ("GLOVE", 12))
    line = line_of(buying, requisition)
    receive(buying, line, 12)
    lot = last(buying, Lot)
    fields = {"lot_id": lot.id, "quantity": 5, "why": "wet carton", "requisition_line_id": line.id}
    refuses(buying, ReturnToSupplier, "at least 1", **(fields | {"quantity": 0}))
    refuses(buying, ReturnToSupplier, "say why", **(fields | {"why": " "}))
    refuses(buying, ReturnToSupplier, "for which", **(fields | {"requisition_line_id": None, "replaced": True}))
    with refused(buying, NotOnTheShelf):
        buying.do(ReturnToSupplier, **(fields | {"quantity": 13}))
    receipt = buying.do(ReturnToSupplier, **fields, replaced=True)
    assert receipt.papers == (("requisition", "1"),)
    assert (state(buying, requisition), line_of(buying, requisition).arrived) == ("part delivered", 7)
    moved, gone = last(buying, Movement), last(buying, SupplierReturn)
    assert (moved.quantity, moved.why, gone.quantity, gone.by_id) == (-5, "sent back: wet carton", 5, buying.clerk_id)
    assert last(buying, Lot).on_hand == 7
    buying.do(ReceiveLot, item_id=line.item_id, lot_code="K1", quantity=20)
    refuses(buying, ReturnToSupplier, "7 are here that came for requisition 1", **(fields | {"quantity": 8}))
    other = buying.lot(prefilter(buying))
    refuses(buying, ReturnToSupplier, "not for", **(fields | {"lot_id": other.id, "quantity": 1}))


def test_prices_keep_their_days(buying: Shop) -> None:
    """A price counts from its day on; earlier ones, and lines already written, stay as they were."""
    item = buying.record(StockItem, "GLOVE")
    draft = made(buying, ("GLOVE", 6))
    fields = {"item_id": item.id, "supplier_id": item.supplier_id}
    buying.do(EnterPrice, **fields, price_cents=330, from_on=TODAY)
    buying.do(EnterPrice, **fields, price_cents=400, from_on=date(2027, 1, 1))
    refuses(buying, EnterPrice, "stands there already", **fields, price_cents=1, from_on=TODAY)
    refuses(buying, EnterPrice, "not below zero", **fields, price_cents=-1, from_on=date(2027, 2, 1))
    with buying.store.reading() as reader:
        now = reader.get(StockItem, item.id)
        days = (TODAY, date(2026, 12, 31), date(2027, 1, 1))
        known = [price_of(reader, now, item.supplier_id, on) for on in days]
        assert [one.price_cents for one in reader.find(Price)] == [330, 400]
    assert (now.price_cents, known) == (330, [330, 330, 400])
    assert line_of(buying, draft).price_cents == 310
    assert line_of(buying, made(buying, ("GLOVE", 6))).price_cents == 330
    assert money(123456789) == "1\u00a0234\u00a0567.89"


def test_the_stock_view_and_its_cost_go_by_the_price_of_the_day(buying: Shop) -> None:
    """A price entered for later counts in the list from its day on, and its history stands with the item."""
    item = buying.record(StockItem, "GLOVE")
    fields = {"item_id": item.id, "supplier_id": item.supplier_id}
    buying.do(EnterPrice, **fields, price_cents=330, from_on=TODAY)
    buying.do(EnterPrice, **fields, price_cents=400, from_on=date(2027, 1, 1))
    buying.do(SetOrderRule, item_id=item.id, minimum=3, maximum=12)
    later = buying.moment + timedelta(days=60)
    with buying.store.reading() as reader:
        rows = [outlook(reader, house(), moment, item.id) for moment in (buying.moment, later)]
        whole = {one.code: one.price_cents for one in outlooks(reader, house(), later)}
        page = stock_item(reader, house(), item.label, later)
    assert [(one.price_cents, one.advice.pieces, one.advice.cost_cents) for one in rows] == [
        (330, 12, 3960), (400, 12, 4800),
    ]  # fmt: skip
    assert (whole["GLOVE"], whole["WIPE"], whole["GASKET"]) == (400, 0, 95)
    assert page is not None
    assert page.prices == (
        "4.00 at Keramion since 1 Jan 2027, now", f"3.30 at Keramion since {date_words(TODAY)}",
    )  # fmt: skip


def test_an_own_minimum_that_lets_it_run_out_is_told(buying: Shop) -> None:
    """It still goes first: nothing is ordered. Told is only what runs out more likely than not, and with cause."""
    item_id = id_of(buying, "GLOVE")
    buying.do(ReceiveLot, item_id=item_id, lot_code="A", quantity=6)
    demand = Demand(
        item_id=item_id, method=TSB, basis="52 weeks", service=0.95, lead=Lead(10.0, 0.3, 4, "learnt"), review_days=7,
        a_day=1.0, until_delivery=Spread(0, (0.5,) + (0.0,) * 9 + (0.5,)), until_next=Spread(0, (0.0,) * 20 + (1.0,)),
        path=((20.0, 20.0, 20.0, 20.0),), to_expiry=None, fleet_share=0.0, scores=(), history=(),
        history_to=buying.moment, seq=1, at=buying.moment,
    )  # fmt: skip

    def told(use: Demand, minimum: int) -> tuple[bool, bool]:
        buying.do(SetOrderRule, item_id=item_id, minimum=minimum)
        with buying.store.deriving() as deriving:
            deriving.put_demands([use])
        with buying.store.reading() as reader:
            row = outlook(reader, house(), buying.moment, item_id)
        return row.own_too_low, row.advice.order_now

    rarely = replace(demand, until_delivery=Spread(0, (0.51,) + (0.0,) * 9 + (0.49,)))
    assert told(demand, 2) == (True, False)
    assert told(demand, 0) == (False, True)
    assert told(demand, 7) == (False, True)
    assert told(rarely, 2) == (False, False)
    assert told(replace(demand, until_next=Spread(0, (0.0,) * 6 + (1.0,))), 2) == (False, False)


def test_only_an_order_to_the_same_supplier_takes_something_along(buying: Shop) -> None:
    """Wipes go along while gloves of their supplier are due, gaskets of another do not; then nothing goes along."""
    spread = Spread(0, (0.0,) * 20 + (1.0,))  # 20 are used for certain
    for code, there in (("GLOVE", 6), ("WIPE", 24), ("GASKET", 24)):
        buying.do(ReceiveLot, item_id=id_of(buying, code), lot_code="A", quantity=there)
    ids = [id_of(buying, code) for code in ("GLOVE", "WIPE", "GASKET")]
    with buying.store.deriving() as deriving:
        deriving.put_demands([
            Demand(
                item_id=item_id, method=TSB, basis="52 weeks", service=0.95,
                lead=Lead(10.0, 0.3, 4, "learnt"), review_days=7, a_day=1.0, until_delivery=spread, until_next=spread,
                path=((20.0, 20.0, 20.0, 20.0),), to_expiry=None, fleet_share=0.0, scores=(), history=(),
                history_to=buying.moment, seq=1, at=buying.moment, cycle_days=30.0,
            )
            for item_id in ids
        ])  # fmt: skip

    def told() -> dict[str, tuple[int, int]]:
        with buying.store.reading() as reader:
            rows = outlooks(reader, house(), buying.moment)
        return {one.code: (one.advice.pieces, one.advice.along) for one in rows if one.supplier_id}

    # wipes are free of charge: up to 20 and what 17 days use, in packs of 6, that is 37; 24 are there
    assert told() == {"GLOVE": (30, 0), "WIPE": (0, 12), "GASKET": (0, 0)}
    buying.do(ReceiveLot, item_id=id_of(buying, "GLOVE"), lot_code="A", quantity=60)
    assert told() == {"GLOVE": (0, 0), "WIPE": (0, 0), "GASKET": (0, 0)}


def test_the_first_to_expire_is_offered_first(own_shop: Shop) -> None:
    """Whatever came last, the lot with the nearest day stands first where a part is fitted, and on the item's card."""
    item = prefilter(own_shop)
    own_shop.do(ReceiveLot, item_id=item.id, lot_code="LATE", quantity=5, expires_on=date(2028, 1, 1))
    own_shop.do(ReceiveLot, item_id=item.id, lot_code="NEAR", quantity=5, expires_on=date(2026, 12, 20))
    with own_shop.store.reading() as reader:
        unit = own_shop.record_in(reader, Unit, "wl-1")
        choices = offer(reader, house(), unit.id, "pre-filter", own_shop.moment)
        lots = [reader.get(Lot, one.lot_id).code for one in choices if one.lot_id]
        card = item_card(reader, house(), item.id, own_shop.moment)
    assert lots[:3] == ["NEAR", "OLD", "LATE"]
    assert [one.code for one in card.lots][:3] == ["NEAR", "OLD", "LATE"]


def test_the_form_takes_chosen_items(buying: Shop) -> None:
    """Items ticked in the stock stand in the form with their pieces; entered, they are the requisition's lines."""
    about = chosen_words(((buying.label("GLOVE"), 12), (buying.label("GASKET"), 6)))
    with buying.store.reading() as reader:
        asked = Asked(reader, house(), buying.moment, about)
        form = form_of(asked, "requisition")
        values = {one.name: one.value for one in form.fields if one.value}
        made_of = operation_of(asked, "requisition", values, buying.tokens())
    assert isinstance(made_of, MakeRequisitions)
    assert made_of.lines == ((id_of(buying, "GLOVE"), 12), (id_of(buying, "GASKET"), 6))
    glove = f"chosen_{buying.label('GLOVE')}"
    with buying.store.reading() as reader:
        asked = Asked(reader, house(), buying.moment, about)
        left_out = operation_of(asked, "requisition", values | {glove: "0"}, buying.tokens())
        more = values | {"item_1": buying.label("WIPE"), "pieces_1": "6"}
        added = operation_of(asked, "requisition", more, buying.tokens())
        twice = more | {"item_1": buying.label("GLOVE")}
        with pytest.raises(FormTroubles) as trouble:
            operation_of(asked, "requisition", twice, buying.tokens())
        with pytest.raises(FormTroubles) as empty:
            operation_of(asked, "requisition", values | {glove: ""}, buying.tokens())
    assert left_out == replace(left_out, lines=((id_of(buying, "GASKET"), 6),))
    assert isinstance(added, MakeRequisitions)
    assert added.lines == (*made_of.lines, (id_of(buying, "WIPE"), 6))
    assert "stands there already" in dict(trouble.value.troubles)["item_1"]
    assert list(dict(empty.value.troubles)) == [glove]


def test_what_stands_on_a_draft_is_told_and_comes_from_nowhere(buying: Shop) -> None:
    """The view and the next form name the pieces on drafts; handed over they are on order, cancelled they are none."""
    first = made(buying, ("GLOVE", 12), ("WIPE", 6))
    made(buying, ("GLOVE", 6))

    def told(code: str) -> tuple[int, int]:
        item_id = id_of(buying, code)
        with buying.store.reading() as reader:
            row = outlook(reader, house(), buying.moment, item_id)
        return row.in_draft, row.on_order

    assert (told("GLOVE"), told("WIPE"), told("GASKET")) == ((18, 0), (6, 0), (0, 0))
    about = chosen_words(((buying.label("GLOVE"), 12), (buying.label("GASKET"), 6)))
    with buying.store.reading() as reader:
        fields = form_of(Asked(reader, house(), buying.moment, about), "requisition").fields
    helps = {one.name: one.help for one in fields}
    assert "18 stand on a draft already" in helps[f"chosen_{buying.label('GLOVE')}"]
    assert "draft" not in helps[f"chosen_{buying.label('GASKET')}"]
    buying.do(StepRequisition, requisition_id=first.id, to=S.SENT)
    assert (told("GLOVE"), told("WIPE")) == ((6, 12), (0, 6))
    buying.do(StepRequisition, requisition_id=first.id, to=S.BACK_ORDERED, note="in two weeks")
    assert told("GLOVE") == (6, 12)
    buying.do(StepRequisition, requisition_id=first.id + 1, to=S.CANCELLED, note="not needed")
    assert told("GLOVE") == (0, 12)


def test_paper_table_and_list(buying: Shop) -> None:
    """The sheet says what the store holds, its table has the columns that are written down; late ones come first."""
    requisition = sent(buying, ("GLOVE", 12), ("WIPE", 6))
    line = line_of(buying, requisition)
    change(buying, requisition, (line.id, line.item_id, 12, date(2026, 11, 27)))
    made(buying, ("GASKET", 6))
    later = buying.moment + timedelta(days=4)
    with buying.store.reading() as reader:
        sheet = record_for(reader, house(), "requisition", "1", buying.moment, 1)
        rows = shift_lists()["requisitions"].read(reader, house(), later)
        with pytest.raises(LookupError):
            record_for(reader, house(), "requisition", "99", buying.moment, 1)
    assert isinstance(sheet, RequisitionSheet)
    assert (sheet.supplier, sheet.state, sheet.by, sheet.total_cents) == ("Keramion", "sent", "Back Office", 3720)
    head, first, second = sheet.table()
    assert head == COLUMNS
    found = dict(zip(head, first, strict=True))
    assert (found["code"], found["packs"], found["price"], found["sum"]) == ("GLOVE", "2", "3.10", "37.20")
    assert (found["promised_on"], len(second)) == ("2026-11-27", len(COLUMNS))
    assert rows.lead == "2 requisitions open, 1 draft, 1 late."
    assert [(one.sign, one.what) for one in rows.rows] == [
        ("overdue", "Requisition 1 to Keramion"), ("caution", "Requisition 2 to Ostwerk")
    ]  # fmt: skip


def test_who_may(own_shop: Shop) -> None:
    """Buying is the store room's and the program administrator's."""
    for one in (MakeRequisitions, ChangeRequisition, StepRequisition, EnterPrice, ReturnToSupplier):
        assert set(one.may) == {Role.STOREKEEPER, Role.PROGRAM, Role.SYSTEM}
