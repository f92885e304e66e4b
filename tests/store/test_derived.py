"""Derived tables stand outside everything: journal, check, dump; they come back as they were kept, or not at all."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cribdesk.crib.forecast import HOURS, PROBABILITIES, Cover, Fit, Forecast
from cribdesk.crib.records import Unit
from cribdesk.crib.stock_forecast import FLEET, NONE, Demand, Lead, Score, Spread
from cribdesk.store import derived
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.transfer import dump, load
from tests.store.conftest import person, save_all, unit
from tests.store.queries import counting

AT = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
LEFT = tuple(float(one) for one in range(1, len(PROBABILITIES) + 1))
FIT = Fit(
    "WL1", "pre-filter", HOURS, None, 3, 4, 60.0, 62.0, 110.0, (60.0, 50.0, 70.0), (2.0, 1.0, 3.0), (0.0, 10.5),
    (LEFT, LEFT), ((0.0, 1.0), (60.0, 0.5)), 0.25, 9, AT,
)  # fmt: skip
FORECAST = Forecast("pre-filter", 7, 48.0, 48.5, 1.25, LEFT, None, HOURS, None, 3, 4, 62.0, 110.0, 9, AT)
COVER = Cover(9, AT, "abc", 2000, (("negative hours: left out", 2),), (("WL1", "pre-filter", 1),))


def keep(store: SqlStore) -> None:
    """Two forecasts of one unit, one of another, one fit, what they rest on."""
    with store.deriving() as deriving:
        deriving.put_fits([FIT])
        deriving.put_forecasts([(1, FORECAST), (1, replace(FORECAST, position="belt")), (2, FORECAST)])
        deriving.cover(COVER)


def test_comes_back_as_it_was_kept(store: SqlStore) -> None:
    """Every figure and moment, of the units and positions asked for and of no others."""
    keep(store)
    with store.reading() as reader:
        assert reader.forecasts([1]) == {1: {"pre-filter": FORECAST, "belt": replace(FORECAST, position="belt")}}
        assert set(reader.forecasts([1, 2, 3])) == {1, 2}
        assert reader.forecasts([]) == {}
        assert reader.fits() == reader.fits([("WL1", "pre-filter")]) == {("WL1", "pre-filter"): FIT}
        assert reader.fits([("WL1", "belt")]) == {}
        assert reader.cover() == COVER


def test_the_newer_takes_the_place_of_the_older(store: SqlStore) -> None:
    """One row a unit and position, one a model and position, one in all."""
    keep(store)
    with store.deriving() as deriving:
        deriving.put_forecasts([(1, replace(FORECAST, seq=12))])
        deriving.put_fits([replace(FIT, seq=12)])
        deriving.cover(replace(COVER, seq=12))
    with store.reading() as reader:
        assert {one.seq for one in reader.forecasts([1])[1].values()} == {12, 9}
        assert reader.fits()["WL1", "pre-filter"].seq == 12
        assert reader.cover() == replace(COVER, seq=12)


def test_nothing_was_made_yet(store: SqlStore) -> None:
    """A store that never had them: nothing is found, and reading makes no table."""
    with store.reading() as reader:
        assert (reader.forecasts([1]), reader.fits(), reader.cover()) == ({}, {}, None)
    assert not [name for name in store.engine.points_at() if name.startswith(derived.DERIVED)]


def test_dropped_at_will(store: SqlStore) -> None:
    """What is dropped is gone, of one unit or in all; it can be kept anew."""
    keep(store)
    with store.deriving() as deriving:
        deriving.drop_forecasts([1])
    with store.reading() as reader:
        assert set(reader.forecasts([1, 2])) == {2}
    with store.deriving() as deriving:
        deriving.drop()
    with store.reading() as reader:
        assert (reader.forecasts([2]), reader.fits(), reader.cover()) == ({}, {}, None)
    keep(store)
    with store.reading() as reader:
        assert reader.cover() == COVER


def test_another_method_is_passed_over(store: SqlStore, monkeypatch: pytest.MonkeyPatch) -> None:
    """What an older program worked out otherwise is not shown; it is as if nothing was made yet."""
    keep(store)
    monkeypatch.setattr(derived, "METHOD", derived.METHOD + 1)
    with store.reading() as reader:
        assert (reader.forecasts([1]), reader.fits(), reader.cover()) == ({}, {}, None)


def test_a_fault_in_between_keeps_nothing(store: SqlStore) -> None:
    """All of one transaction or nothing of it, the tables themselves included."""

    def broken() -> None:
        with store.deriving() as deriving:
            deriving.put_fits([FIT])
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        broken()
    with store.reading() as reader:
        assert reader.fits() == {}


def test_outside_journal_check_and_dump(store: SqlStore, tmp_path: Path) -> None:
    """No entry is written; the store is sound with them; a dump has none, and loads."""
    save_all(store, person(1), unit(1))
    with store.reading() as reader:
        before = reader.head()
    keep(store)
    with store.reading() as reader:
        assert reader.head() == before
    assert check(store) == []
    head = dump(store, tmp_path / "dump")
    assert not list((tmp_path / "dump").rglob("derived_*"))
    with beside(tmp_path) as other:
        assert load(tmp_path / "dump", other) == head
        with other.reading() as reader:
            assert reader.cover() is None


def beside(folder: Path) -> SqlStore:
    """An empty store in a file beside."""


    return open_store(str(folder / "beside.sqlite"), create=True)


def test_a_work_reads_them_too(store: SqlStore) -> None:
    """The rules of an issue weigh the same forecast inside its transaction, in one query."""
    keep(store)
    with store.work() as work, counting(store) as asked:
        assert work.forecasts([1])[1]["pre-filter"] == FORECAST
    assert len(asked) <= 2, asked  # the first of a connection also looks whether they are there
    with store.reading() as reader, counting(store) as asked:
        reader.forecasts([1, 2])
    assert len(asked) == 1


def test_columns_and_total(store: SqlStore) -> None:
    """Only the fields asked for, in natural units; a sum of one of them, nought over nothing."""


    save_all(store, unit(1, worn_hours=1.5), unit(2, worn_hours=2.25, size="M"))
    with store.reading() as reader:
        assert reader.columns(Unit, ("label", "worn_hours", "added_at"))[1][:2] == ("U000002X", 2.25)
        assert reader.columns(Unit, ("size",), size="M") == [("M",)]
        assert reader.columns(Unit, ("size",), id=[]) == []
        assert reader.total(Unit, "worn_hours") == 3.75
        assert reader.total(Unit, "worn_hours", size="L") == 0.0
        assert reader.total(Unit, "worn_hours", id=[]) == 0.0


DEMAND = Demand(
    item_id=3, method=FLEET, basis="ages and lives", service=0.99, lead=Lead(9.5, 0.4, 3, "learnt"), review_days=7,
    a_day=0.25, until_delivery=Spread(1, (0.5, 0.25, 0.25)), until_next=Spread(0, (0.75, 0.25)),
    path=((7.0, 1.75, 1.0, 3.0),), to_expiry=None, fleet_share=0.5, scores=(Score(FLEET, 0.25, 1.5, 6, 0.125),),
    history=(1, 0, 2), history_to=AT, seq=9, at=AT, ground="abc", scored_at=AT,
)  # fmt: skip


def test_expected_use_comes_back_as_it_was_kept(store: SqlStore) -> None:
    """Every figure, of the items asked for; a later making takes the place of the same items'; dropped, it is gone."""
    bare = replace(DEMAND, item_id=4, method=NONE, until_delivery=None, until_next=None, scored_at=None)
    with store.deriving() as deriving:
        deriving.put_demands([DEMAND, bare])
    with store.reading() as reader:
        assert reader.demands() == {3: DEMAND, 4: bare}
        assert reader.demands([4, 5]) == {4: bare}
    with store.deriving() as deriving:
        deriving.put_demands([replace(bare, seq=12)])
    with store.reading() as reader:
        assert reader.demands() == {3: DEMAND, 4: replace(bare, seq=12)}
    with store.deriving() as deriving:
        deriving.drop_demands_but([4])
    with store.reading() as reader:
        assert list(reader.demands()) == [4]
    with store.deriving() as deriving:
        deriving.drop()
    with store.reading() as reader:
        assert reader.demands() == {}
