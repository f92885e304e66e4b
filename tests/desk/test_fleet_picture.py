"""The fleet picture against small stores counted by hand: what is a repair, who is worse, what fails, what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from scipy.stats import chi2

from cribdesk.crib.hold import BATTERY, CRUSHED, RECALL
from cribdesk.crib.records import Custody, Fitted, Hold, StockItem, Unit, Where
from cribdesk.desk.fleet_cards import FleetModel, FleetPicture
from cribdesk.desk.fleet_picture import Told, fleet_steps
from cribdesk.desk.forecasts import recompute
from cribdesk.store.connect import SqlStore, open_store
from tests.desk.lived import START, Lived
from tests.desk.shop import house

NOW = START + timedelta(days=300)


@pytest.fixture
def store(address: str) -> Iterator[SqlStore]:
    """An empty store on each engine."""
    with open_store(address, create=True) as opened:
        yield opened


@pytest.fixture
def lived(store: SqlStore) -> Lived:
    """A clerk and an item."""
    made = Lived(store)
    made.ground()
    return made


def used(lived: Lived, label: str, *uses: float, model: str = "WL1", where: Where = Where.RACK) -> Unit:
    """A unit with uses of so many hours, one a day from START on."""
    rows: list[object] = [Unit(label=label, model=model, worn_hours=sum(uses), added_at=START, where=where)]
    (unit,) = lived.write(rows)
    assert isinstance(unit, Unit)
    lived.write([
        Custody(unit_id=unit.id, person_id=1, issued_at=START + timedelta(days=n), issued_by=1,
                returned_at=START + timedelta(days=n, hours=10), received_by=1, worn_hours=hours)
        for n, hours in enumerate(uses)
    ])  # fmt: skip
    return unit


def held(lived: Lived, unit: Unit, reason: str, at: datetime, tag: str) -> None:
    """A hold that was released the same day."""
    lived.write([
        Hold(unit_id=unit.id, reason=reason, proof="bench inspection", found_by=1, found_at=at, tag=tag,
             released_at=at + timedelta(hours=1), released_by=1)
    ])  # fmt: skip


def read(store: SqlStore, now: datetime = NOW) -> FleetPicture:
    """The picture, by all its steps."""
    *_, last = fleet_steps(store, house(), now)
    assert isinstance(last, Told)
    assert isinstance(last.data, FleetPicture)
    return last.data


def of_model(picture: FleetPicture, code: str = "WL1") -> FleetModel:
    """One model of it."""
    return next(model for model in picture.models if model.code == code)


def test_an_empty_store(store: SqlStore) -> None:
    """Nothing there: nothing is shown, nothing fails."""
    assert read(store) == FleetPicture(NOW, NOW - timedelta(days=365), (), (), 0, (), 0, 0)


def test_what_is_a_repair(lived: Lived, store: SqlStore) -> None:
    """A fault of the unit is one; a recall is no fault; a pack's fault is a fault but none of the unit's."""
    unit = used(lived, "U000001X", 5.0, 5.0, 5.0)
    held(lived, unit, CRUSHED.code, START + timedelta(days=1, hours=12), "T000001X")
    held(lived, unit, RECALL.code, START + timedelta(days=2), "T000002X")
    held(lived, unit, BATTERY.code, START + timedelta(days=2), "T000003X")
    picture = read(store)
    assert [(one.name, one.count) for one in picture.faults] == [("Battery fault", 1), (CRUSHED.words, 1)]
    assert picture.faults[-1].share == 1.0
    assert [(one.label, one.repairs) for one in picture.worst] == [("U000001X", 1)]


def test_repairs_by_worn_hours(lived: Lived, store: SqlStore) -> None:
    """By hand: at 10 h of 2 units one repair, at 15 h of the 1 that reached it another: 0.5, then 1.5 (Nelson)."""
    first, _ = used(lived, "U000001X", 5.0, 5.0, 5.0), used(lived, "U000002X", 6.0, 6.0)
    held(lived, first, CRUSHED.code, START + timedelta(days=1, hours=10), "T000001X")  # the moment it came back
    held(lived, first, CRUSHED.code, START + timedelta(days=5), "T000002X")
    repairs = of_model(read(store)).repairs
    assert [(age, value) for age, value, _ in repairs.points] == [(10.0, 0.5), (15.0, 1.5)]
    assert repairs.end == 15.0


def test_one_unit_among_even_ones_is_called_worse(lived: Lived, store: SqlStore) -> None:
    """Ten units of 50 h; one had nine of ten repairs. By hand P = sum C(10, k) 0.1^k 0.9^(10-k), k from 9: 9.1e-9."""
    units = [used(lived, f"U0000{n:02}X", *[5.0] * 10) for n in range(10)]
    for n in range(9):
        held(lived, units[3], CRUSHED.code, START + timedelta(days=20 + n), f"T0000{n:02}X")
    held(lived, units[4], CRUSHED.code, START + timedelta(days=20), "T000099X")
    picture = read(store)
    assert [(one.label, one.worse) for one in picture.worst] == [("U000003X", True), ("U000004X", False)]
    assert picture.worst[0].chance == pytest.approx(9.1e-9, rel=1e-6)
    assert picture.worst[0].expected == pytest.approx(1.0)
    assert (picture.tested, picture.called) == (10, 1)


def test_only_the_last_year_counts_against_a_unit(lived: Lived, store: SqlStore) -> None:
    """A year later neither repairs nor hours of then make a rate; the curve by age keeps them."""
    unit = used(lived, "U000001X", 5.0, 5.0)
    held(lived, unit, CRUSHED.code, START + timedelta(days=3), "T000001X")
    later = read(store, START + timedelta(days=500))
    assert (later.worst, later.faults, later.tested) == ((), (), 0)
    assert of_model(later).rate is None
    assert of_model(later).repairs.points[-1][:2] == (10.0, 1.0)


def test_a_scrapped_unit_is_counted_but_not_named(lived: Lived, store: SqlStore) -> None:
    """Its hours and repairs belong to its model's rate; it is no longer among those to look at."""
    unit = used(lived, "U000001X", 50.0, where=Where.SCRAPPED)
    used(lived, "U000002X", 50.0)
    held(lived, unit, CRUSHED.code, START + timedelta(days=3), "T000001X")
    picture = read(store)
    assert picture.worst == ()
    rate = of_model(picture).rate
    assert rate is not None
    assert (rate.repairs, rate.hours, rate.rate) == (1, 100.0, 10.0)
    oracle = [1000 * chi2.ppf(share, free) / 200 for share, free in ((0.025, 2), (0.975, 4))]  # e-Handbook 8.4.5.1
    assert [rate.low, rate.high] == pytest.approx(oracle)
    assert of_model(picture).units == 1


def test_changes_and_their_cost(lived: Lived, store: SqlStore) -> None:
    """Two changes at 40 and 60 h, one still good by the calendar, one that went on in another unit and is no change."""
    unit = used(lived, "U000001X", 50.0, 50.0)
    with store.reading() as reader:
        item = reader.find(StockItem)[0]
    lived.write([replace(item, price_cents=310)])
    ends = ((0.0, 40.0, "due"), (40.0, 100.0, "by the calendar"), (0.0, 90.0, "swapped with U000002X"))
    lived.write([
        Fitted(unit_id=unit.id, position="pre-filter", item_id=item.id, fitted_at=START, fitted_at_hours=start,
               removed_at=START + timedelta(days=9), removed_at_hours=end, removed_why=why)
        for start, end, why in ends
    ])  # fmt: skip
    (change,) = of_model(read(store)).changes
    assert (change.name, change.count, change.still_good) == ("Pre-filter", 2, 1)
    assert (change.hours, change.cost_cents) == (50.0, 310.0)


def test_lives_stand_in_the_order_of_the_air(lived: Lived, store: SqlStore) -> None:
    """Each position that has a fit has its curve, along the air path."""
    lived.unit(10.0, (50.0, "due"), (60.0, "due"))
    for _ in recompute(store, house(), NOW):
        pass
    positions = [life.position for life in of_model(read(store)).lives]
    order = [position.code for position in sorted(house().models["WL1"].positions, key=lambda one: one.order)]
    assert positions == [code for code in order if code in positions]
    assert "pre-filter" in positions


def test_it_is_read_in_short_steps(lived: Lived, store: SqlStore) -> None:
    """Sixty units are three steps of reading before the last two; each tells how far it is."""
    lived.write([Unit(label=f"U0001{n:02}X", model="WL1", added_at=START) for n in range(60)])
    shares = [step.share for step in fleet_steps(store, house(), NOW)]
    assert len(shares) == 5
    assert shares == sorted(shares)
