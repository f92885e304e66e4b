"""The whole store read for eyes: the same answers in bulk as one by one, in a constant number of queries."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest

from cribdesk.crib.records import Slip, Unit
from cribdesk.crib.serviceable import condition
from cribdesk.desk import board, lookup, printing, timeline
from cribdesk.desk.facts import standing_of
from cribdesk.desk.ports import Reader
from cribdesk.desk.standings import fleet, standings
from cribdesk.store.connect import open_store
from tests.desk.small_crib import NOW, Counted, SmallCrib, house


@pytest.fixture
def crib(address: str) -> Iterator[SmallCrib]:
    """The small crib on each engine."""
    with open_store(address, create=True) as store:
        yield SmallCrib(store).fill()


def test_bulk_agrees_with_one_by_one(crib: SmallCrib) -> None:
    """Every unit's standing is the same whether it is read alone or with all the others."""
    with crib.store.reading() as reader:
        bulk = standings(reader, house(), NOW)
        units = reader.find(Unit)
        alone = {unit.id: standing_of(reader, house(), unit, NOW) for unit in units}
    assert len(units) == 11
    assert bulk == alone
    assert len({condition(one).state for one in bulk.values()}) == 4


def test_every_unit_is_in_its_state(crib: SmallCrib) -> None:
    """Each unit of the small crib, named after its state, is found in it."""
    with crib.store.reading() as reader:
        found = {one.unit.id: one.state for one in fleet(reader, house(), NOW)}
    named = {name: found[unit.id] for name, unit in crib.units.items()}
    assert named == {
        "ready": "ready",
        "out": "out",
        "overdue": "overdue",
        "not checked": "not checked",
        "needs cleaning": "needs cleaning",
        "on hold": "on hold",
        "due": "ready",
        "emergency": "elsewhere",
        "missing": "elsewhere",
        "scrapped": "elsewhere",
        "never inspected": "not checked",
    }


CALLS = {
    "unit card": (25, lambda reader, crib: lookup.unit_card(reader, house(), crib.units["ready"].id, NOW)),
    "unit card, out": (36, lambda reader, crib: lookup.unit_card(reader, house(), crib.units["out"].id, NOW)),
    "person card": (9, lambda reader, crib: lookup.person_card(reader, house(), crib.people["Abel Nkemba"].id, NOW)),
    "battery card": (9, lambda reader, crib: lookup.battery_card(reader, house(), crib.batteries["shelf"].id, NOW)),
    "bin card": (3, lambda reader, crib: lookup.bin_card(reader, house(), crib.bin.id, NOW)),
    "offer": (4, lambda reader, crib: lookup.offer(reader, house(), crib.units["ready"].id, "pre-filter", NOW)),
    "board": (30, lambda reader, crib: board.counter_board(reader, house(), NOW)),
    "units": (12, lambda reader, crib: board.unit_rows(reader, house(), NOW)),
    "people": (4, lambda reader, crib: board.person_rows(reader, house(), NOW)),
    "bench": (14, lambda reader, crib: board.bench_list(reader, house(), NOW)),
    "batteries": (8, lambda reader, crib: board.battery_rows(reader, house(), NOW)),
    "stock": (3, lambda reader, crib: board.stock_rows(reader, house(), NOW)),
    "areas": (2, lambda reader, crib: board.area_rows(reader, house(), NOW)),
    "meters": (1, lambda reader, crib: board.instrument_rows(reader, house(), NOW)),
    "journal": (3, lambda reader, crib: board.journal_page(reader)),
    "timeline": (2, lambda reader, crib: timeline.timeline_page(reader, crib.units["ready"].label)),
    "slip": (
        19,
        lambda reader, crib: printing.record_for(reader, house(), "issue_slip", _slip(reader, crib), NOW, 1),
    ),
}


def _slip(reader: Reader, crib: SmallCrib) -> str:
    """The label of the slip of the unit that is out."""
    assert crib.out.slip_id is not None
    return reader.get(Slip, crib.out.slip_id).label


@pytest.mark.parametrize("engine", ["sqlite"])
def test_queries_stay_as_many_whatever_the_history(crib: SmallCrib) -> None:
    """No call sends more statements on a long history than on a short one, nor more than it promises."""
    counted = Counted(crib.store)
    short = {name: counted.of(lambda reader, call=call: call(reader, crib)) for name, (_, call) in CALLS.items()}
    unit = crib.units["ready"]
    for days in range(60, 0, -1):
        at = NOW - timedelta(days=days, hours=3)
        custody = crib.issue("ready", "Abel Nkemba", at, at + timedelta(hours=8))
        crib.take_back(custody, unit, at + timedelta(hours=8))
    crib.inspect(unit, NOW - timedelta(minutes=1))
    long = {name: counted.of(lambda reader, call=call: call(reader, crib)) for name, (_, call) in CALLS.items()}
    assert long == short
    promised = {name: most for name, (most, _) in CALLS.items()}
    assert {name: n for name, n in long.items() if n > promised[name]} == {}
