"""The Work and the Reader, the same on both engines."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, date, datetime, timedelta, timezone

import peewee
import pytest

from cribdesk.crib.entry import START as FIRST
from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Clearance,
    ClearanceKind,
    Custody,
    Hold,
    Lot,
    Person,
    RunEnd,
    StockItem,
    Unit,
    Where,
)
from cribdesk.store.connect import SqlStore
from cribdesk.store.faults import Stale
from cribdesk.store.steps import SCHEMA
from tests.store.conftest import START, changed, issue, out, person, save_all, unit, unwritten


def test_saved_records_come_back(store: SqlStore) -> None:
    """What is saved is read back equal, its id and revision given, quantities rounded to the small unit."""
    _, (saved,) = save_all(store, unit(1, worn_hours=12.341))
    assert (saved.id, saved.revision, saved.worn_hours) == (1, 1, 740 / 60)
    with store.reading() as reader:
        assert reader.get(Unit, 1) == saved
        assert reader.get(Unit, 1).added_at == START


def test_equality_says_which(store: SqlStore) -> None:
    """A value, one of several, nothing: and records come by id."""
    save_all(
        store,
        unit(1),
        unit(2, where=Where.BENCH),
        unit(3, size="L"),
        person(1, ends_on=date(2026, 5, 1)),
        person(2),
    )
    with store.reading() as reader:
        assert [one.id for one in reader.find(Unit)] == [1, 2, 3]
        assert [one.id for one in reader.find(Unit, where=Where.RACK)] == [1, 3]
        assert [one.id for one in reader.find(Unit, where=[Where.RACK, Where.BENCH], size="")] == [1, 2]
        assert [one.id for one in reader.find(Unit, id=(3, 1, 9))] == [1, 3]
        assert reader.find(Unit, id=[]) == []
        assert [one.id for one in reader.find(Person, ends_on=None)] == [2]
        assert [one.id for one in reader.find(Person, ends_on=date(2026, 5, 1))] == [1]
        assert [one.id for one in reader.find(Person, active=True, label={"P000002X"})] == [2]
        first, latest = reader.first(Unit, where=Where.RACK), reader.latest(Unit, where=Where.RACK)
        assert first is not None
        assert latest is not None
        assert (first.id, latest.id) == (1, 3)
        assert reader.first(Unit, label="U9") is None
        assert [one.id for one in reader.newest(Unit, 2)] == [2, 3]
        assert (reader.count(Unit), reader.count(Unit, where=Where.RACK), reader.count(Unit, id=())) == (
            3,
            2,
            0,
        )
        with pytest.raises(LookupError, match="no unit 7"):
            reader.get(Unit, 7)
        with pytest.raises(TypeError, match="no field 'colour'"):
            reader.find(Unit, colour="blue")
        with pytest.raises(ValueError, match="None is not one of several"):
            reader.find(Person, ends_on=[None])


def test_entry_tells_what_was_written(store: SqlStore) -> None:
    """Entries are numbered without gaps and chained; a row saved twice stands in once, as it was at last."""
    with store.work() as work:
        saved = work.save(unit(1))
        work.save(person(1))
        work.save(changed(saved, where=Where.BENCH))
        entry = work.commit(unwritten(1))
    assert (entry.seq, entry.schema, entry.late) == (1, SCHEMA, False)
    assert [table for table, _ in entry.rows] == ["unit", "person"]
    assert entry.rows[0][1]["where"] == "bench"
    assert entry.rows[0][1]["revision"] == 2
    with store.reading() as reader:
        assert reader.entry_of("try 1") == entry
        assert reader.entry_of("try 2") is None
        head = reader.head()
    assert (head.seq, head.moment) == (1, entry.moment)
    assert head.digest != FIRST


def test_a_work_without_an_entry_leaves_nothing(store: SqlStore) -> None:
    """Rows saved are kept only with their entry, whether the Work ends by itself or by an exception."""
    with store.work() as work:
        work.save(unit(1))
    with pytest.raises(KeyError), store.work() as work:  # noqa: PT012
        work.save(unit(1))
        work.commit(unwritten(1))
        raise KeyError
    with store.reading() as reader:
        assert reader.find(Unit) == []
        assert reader.head().seq == 0


def test_an_entry_is_written_once(store: SqlStore) -> None:
    """After its entry a Work takes no rows and no second entry; the same operation id never comes twice."""
    with store.work() as work:
        work.commit(unwritten(1))
        with pytest.raises(RuntimeError, match="written"):
            work.save(unit(1))
        with pytest.raises(RuntimeError, match="written"):
            work.commit(unwritten(2))
    with pytest.raises(peewee.IntegrityError) as failure, store.work() as work:
        work.commit(unwritten(1))
    assert store.collided(failure.value)


def test_stale_rows_are_told(store: SqlStore) -> None:
    """Saving a record that was changed meanwhile raises Stale and counts as a collision."""
    _, (old,) = save_all(store, unit(1))
    save_all(store, changed(old, place="row 2"), number=2)
    with pytest.raises(Stale) as failure, store.work() as work:
        work.save(changed(old, place="row 3"))
    assert store.collided(failure.value)
    assert not store.collided(KeyError())


def test_a_row_taken_that_was_changed_meanwhile_is_told(store: SqlStore, engine: str) -> None:
    """What was decided by it is decided anew, though the row itself is not saved; a file's counters take turns."""
    _, (old,) = save_all(store, unit(1))
    save_all(store, changed(old, place="row 2"), number=2)
    with store.work() as work:
        saved = work.save(changed(work.get(Unit, old.id), place="row 3"))
        work.take(old, saved)  # its own change is none of another counter
    with suppress(Stale) if engine == "sqlite" else pytest.raises(Stale), store.work() as work:
        work.take(old)


def test_one_transaction_at_a_time(store: SqlStore) -> None:
    """A Work within a Work, or a Reader within a Work, is a mistake of the program."""
    with store.work(), pytest.raises(RuntimeError, match="one Work or Reader"), store.reading():
        pass
    with store.reading(), pytest.raises(RuntimeError, match="one Work or Reader"), store.work():
        pass


def test_moments_set_back_are_marked(store: SqlStore) -> None:
    """An entry whose moment lies before the last one's is late."""
    save_all(store, number=5)
    early, _ = save_all(store, number=3)
    later, _ = save_all(store, number=4)
    assert (early.late, later.late) == (True, False)


def test_moments_keep_their_instant(store: SqlStore) -> None:
    """Any zone in, UTC out, to the microsecond, on both engines."""
    winter = datetime(2026, 1, 5, 7, 0, 0, 1, tzinfo=timezone(timedelta(hours=-5)))
    _, (saved,) = save_all(store, unit(1, added_at=winter), moment=winter)
    with store.reading() as reader:
        read = reader.get(Unit, 1).added_at
        head = reader.head().moment
    assert read == winter == head
    assert read.tzinfo == UTC
    assert read.hour == 12
    assert saved.added_at == read
    with pytest.raises(ValueError, match="zone"), store.work() as work:
        work.save(unit(2, added_at=datetime(2026, 1, 5, 7)))


BROKEN = {
    "two open custodies of a unit": [out(1, 1), out(1, 2)],
    "two units of a label": [unit(8), unit(8)],
    "a person who is not there": [out(1, 99)],
    "a battery in a unit that it does not name": [Battery(label="B8", model="m", place=BatteryPlace.IN_UNIT)],
    "a battery on the shelf that names a unit": [Battery(label="B8", model="m", unit_id=1)],
    "two batteries in a unit": [
        Battery(label=label, model="m", place=BatteryPlace.IN_UNIT, unit_id=1) for label in ("B8", "B9")
    ],
    "two open holds for one reason": [
        Hold(unit_id=1, reason="flow", proof="bench", found_by=1, found_at=START, tag=tag) for tag in ("T1", "T2")
    ],
    "a shelf below zero": [StockItem(label="K1", code="k", name="k"), Lot(item_id=1, code="a", on_hand=-1)],
    "a lot twice": [
        StockItem(label="K1", code="k", name="k"),
        Lot(item_id=1, code="a"),
        Lot(item_id=1, code="a"),
    ],
    "hours below zero": [unit(8, worn_hours=-1)],
}


def test_constraints_hold(store: SqlStore) -> None:
    """What must never be is refused by the database itself, and leaves nothing."""
    save_all(store, unit(1), person(1), person(2))
    for case, records in BROKEN.items():
        with pytest.raises(peewee.IntegrityError) as failure:
            save_all(store, *records, number=2)
        assert store.collided(failure.value), case
        with store.reading() as reader:
            assert reader.head().seq == 1, case


def test_closed_ones_do_not_count(store: SqlStore) -> None:
    """A unit that came back goes out again."""
    save_all(store, unit(1), person(1))
    custody = issue(store, 1, 1, 2)
    back = changed(custody, returned_at=START, received_by=1, battery_end=RunEnd.FLAT, battery_back=False)
    save_all(store, back, number=3)
    issue(store, 1, 1, 4)
    with store.reading() as reader:
        (open_one,) = reader.find(Custody, unit_id=1, returned_at=None)
        assert open_one.id == 2
        first = reader.get(Custody, 1)
        assert (first.battery_end, first.battery_back, first.worn_hours) == (RunEnd.FLAT, False, None)


def test_timeline_by_pages(store: SqlStore) -> None:
    """Entries of a subject come newest first, page by page, and are counted."""
    for number in range(1, 8):
        save_all(store, number=number, subjects=("U1", "P1") if number % 2 else ("U2", "U2"))
    with store.reading() as reader:
        page = reader.entries(count=3, subject="U1")
        assert [entry.seq for entry in page.entries] == [7, 5, 3]
        assert page.before == 3
        rest = reader.entries(count=3, subject="U1", before=page.before)
        assert ([entry.seq for entry in rest.entries], rest.before) == ([1], None)
        assert [entry.seq for entry in reader.entries(count=2).entries] == [7, 6]
        assert (reader.entry_count("U1"), reader.entry_count("U2"), reader.entry_count("U3")) == (4, 3, 0)
        assert reader.entry_count() == 7
        assert reader.entries(subject="U3").entries == ()


def test_latest_of_each(store: SqlStore) -> None:
    """The newest record for each value of an id field, in one query."""
    save_all(store, person(1), person(2))
    kinds = (ClearanceKind.MEDICAL, ClearanceKind.TRAINING, ClearanceKind.MEDICAL)
    records = [Clearance(person_id=1, kind=kind, given_on=date(2026, 1, day)) for day, kind in enumerate(kinds, 1)]
    save_all(store, *records, changed(records[0], person_id=2), number=2)
    with store.reading() as reader:
        newest = reader.latest_of_each(Clearance, "person_id", kind=ClearanceKind.MEDICAL)
        assert {key: one.id for key, one in newest.items()} == {1: 3, 2: 4}
        assert {key: one.id for key, one in reader.latest_of_each(Clearance, "person_id").items()} == {
            1: 3,
            2: 4,
        }


def test_within_takes_the_first_moment_and_not_the_last(store: SqlStore) -> None:
    """Records by a moment of theirs, from the first on and before the last, and by other fields beside it."""
    save_all(store, person(1), *[unit(number) for number in range(1, 4)])
    for number in range(1, 4):
        issue(store, number, 1, number + 1, issued_at=START + timedelta(hours=number))
    with store.reading() as reader:
        first, second, third = (one.issued_at for one in reader.find(Custody))
        assert first < second < third
        assert [one.unit_id for one in reader.within(Custody, "issued_at", first, third)] == [1, 2]
        assert reader.within(Custody, "issued_at", first, third, unit_id=3) == []
        assert [one.unit_id for one in reader.within(Custody, "issued_at", second, third, unit_id=[1, 2])] == [2]
        with pytest.raises(TypeError, match="no field"):
            reader.within(Custody, "then", first, third)


def test_search_ignores_case_beyond_ascii(store: SqlStore) -> None:
    """The same letters are found on both engines whatever their case."""
    save_all(store, person(1, name="Świerczewska"), person(2, name="Jalāl"), person(3, label="PŚWI"))
    with store.reading() as reader:
        assert [one.id for one in reader.search(Person, ("name", "label"), "śWI")] == [1, 3]
        assert [one.id for one in reader.search(Person, ("name",), "A", count=1)] == [1]
        assert reader.search(Person, ("name",), "%") == []
