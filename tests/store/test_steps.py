"""Schema steps: the tables they make, older stores brought up to date, replay across a step."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import peewee
import pytest

from cribdesk.crib.records import Calibration, CautionAccepted, Clearance, Custody, Instrument, SealLook, Unit
from cribdesk.store import connect, replay, steps
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.engine import Engine
from cribdesk.store.faults import CannotOpen
from cribdesk.store.mapping import SHAPES
from cribdesk.store.tables import MODELS
from cribdesk.store.transfer import load_journal, restore, write_journal
from tests.store.conftest import START, changed, person, save_all, unit

STORES = Path(__file__).parent.parent / "stores"
TODAY = START.date()
NEXT = steps.SCHEMA + 1
LATER = f"{NEXT:04d}_later"


def described(engine: Engine) -> list[Any]:
    """All that the database itself says of its tables."""
    if engine.name == "sqlite":
        return sorted(engine.run("SELECT name, sql FROM sqlite_master WHERE sql <> ''").fetchall())
    columns = engine.run(
        "SELECT table_name, column_name, data_type, is_nullable FROM information_schema.columns "
        "WHERE table_schema = 'public'"
    ).fetchall()
    constraints = engine.run(
        "SELECT conrelid::regclass::text, pg_get_constraintdef(oid) FROM pg_constraint WHERE contype <> 'n' "
        "AND connamespace = 'public'::regnamespace"
    ).fetchall()
    indexes = engine.run("SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'").fetchall()
    return sorted(columns) + sorted(constraints) + sorted(indexes)


def test_steps_make_the_tables_as_they_are(store: SqlStore, monkeypatch: pytest.MonkeyPatch) -> None:
    """The frozen steps, run one after the other, lead to exactly the tables of tables.py."""
    by_steps = described(store.engine)
    models = list(MODELS.values())
    for model in models:
        monkeypatch.setattr(model._meta, "strict_tables", store.engine.name == "sqlite")
    monkeypatch.setattr(MODELS["subject"]._meta, "without_rowid", store.engine.name == "sqlite")
    database = store.engine.database
    with database.bind_ctx(models):
        database.drop_tables(models)
        database.create_tables(models)
    assert described(store.engine) == by_steps
    assert len(by_steps) > 80


def test_the_newest_step_seals_what_the_records_seal() -> None:
    """The frozen list of personal columns is that of the records."""
    assert dict(steps.step(steps.SCHEMA).PERSONAL) == {
        shape.table: shape.personal for shape in SHAPES if shape.personal
    }


@pytest.mark.parametrize("file", sorted(STORES.glob("schema_*.jsonl")), ids=lambda file: file.stem)
def test_old_stores_open(address: str, file: Path) -> None:
    """A store of every schema there ever was opens and is sound."""
    restore(file, address)
    with open_store(address) as store:
        assert check(store) == []
        with store.reading() as reader:
            assert reader.head().seq >= 3
            assert reader.find(Unit)


def test_what_was_lived_before_a_step_goes_over_it(address: str, tmp_path: Path) -> None:
    """A shop's morning under schema 4 keeps every row; what later columns tell is not known of them. It goes on."""
    restore(STORES / "schema_4_lived.jsonl", address)
    with open_store(address) as store:
        with store.reading() as reader:
            clearances, calibrations = reader.find(Clearance), reader.find(Calibration)
            assert {(one.method, one.fit_factor) for one in clearances} == {("", None)}
            assert len(clearances) == 12
            assert [(one.entered_at, one.found_error_lpm) for one in calibrations] == [(None, 0.0)] * 2 + [(None, 1.0)]
            (custody,) = reader.find(Custody)
            assert (custody.worn_hours, custody.damage) == (6.0, "strap torn")
        looked = SealLook(person_id=custody.person_id, unit_id=custody.unit_id, at=START, by_id=custody.issued_by)
        accepted = CautionAccepted(custody_id=custody.id, code="work-limit", why="a cool hall", by_id=custody.issued_by)
        save_all(store, looked, accepted)
        write_journal(store, tmp_path / "on.jsonl")
        assert check(store) == []
        with open_store(str(tmp_path / "on.sqlite"), create=True) as again:
            load_journal(tmp_path / "on.jsonl", again)
            assert check(again) == []
            with again.reading() as reader:
                assert [one.why for one in reader.find(CautionAccepted)] == ["a cool hall"]


def test_a_flow_meter_of_before_has_the_usual_calibration_air(address: str) -> None:
    """A meter entered before its calibration's air was asked stands with that of 20 °C and 101 325 Pa: 1.204 kg/m3."""
    restore(STORES / "schema_4.jsonl", address)
    with open_store(address) as store, store.reading() as reader:
        (meter,) = reader.find(Instrument)
        assert (meter.name, meter.calibration_kg_m3) == ("Flow meter 1", 1.204)
        usual = Instrument(label="", name="", uncertainty_lpm=1.0, calibrated_on=TODAY, calibrated_until=TODAY)
        assert usual.calibration_kg_m3 == meter.calibration_kg_m3


@pytest.fixture
def later_step(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """A step that a later program might bring: every unit on the rack moves to row A."""
    module = ModuleType(f"cribdesk.store.migrations.{LATER}")

    def up(database: peewee.Database) -> None:
        database.execute_sql("UPDATE unit SET place = 'row A' WHERE place = ''")
        database.execute_sql("CREATE TABLE later (id INTEGER PRIMARY KEY, unit_id INTEGER REFERENCES unit (id))")

    module.NUMBER = NEXT  # type: ignore[attr-defined]
    module.PERSONAL = steps.step(steps.SCHEMA).PERSONAL  # type: ignore[attr-defined]
    module.up = up  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, module.__name__, module)
    monkeypatch.setattr(steps, "NAMES", (*steps.NAMES, LATER))
    return module


def bring_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on the program knows the next schema."""
    for module in (steps, connect, replay):
        monkeypatch.setattr(module, "SCHEMA", NEXT)


@pytest.mark.usefixtures("later_step")
def test_an_older_store_is_brought_up_to_date(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, engine: str
) -> None:
    """The step runs once, as an entry; a file is copied before; replay runs the step where it meets it."""
    with open_store(address, create=True) as store:
        _, (old, _, _) = save_all(store, unit(1), unit(2, place="row 9"), person(1))
    bring_in(monkeypatch)
    with open_store(address, clock=lambda: START) as store:
        with store.reading() as reader:
            (entry, _) = reader.entries().entries
            assert (entry.seq, entry.schema, entry.operation, entry.rows) == (2, NEXT, "migration", ())
            assert [one.place for one in reader.find(Unit)] == ["row A", "row 9"]
        save_all(store, changed(old, place="row B"), unit(3), number=2)
        write_journal(store, tmp_path / "journal.jsonl")
        assert check(store) == []
    with open_store(address) as store, store.reading() as reader:
        assert reader.head().seq == 3
    if engine == "sqlite":
        monkeypatch.undo()
        with open_store(f"{address}.schema-{NEXT - 1}") as kept, kept.reading() as reader:
            assert reader.head().seq == 1


@pytest.mark.usefixtures("later_step")
def test_a_journal_across_a_step_is_replayed(address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Replayed on the other engine or the same one, the tables are those of the store that lived through it."""
    with open_store(str(tmp_path / "lived.sqlite"), create=True) as lived:
        save_all(lived, unit(1), person(1))
    bring_in(monkeypatch)
    with open_store(str(tmp_path / "lived.sqlite")) as lived:
        save_all(lived, unit(2), number=2)
        write_journal(lived, tmp_path / "journal.jsonl")
    with open_store(address, create=True) as store:
        load_journal(tmp_path / "journal.jsonl", store)
        assert check(store) == []
        with store.reading() as reader:
            assert [one.place for one in reader.find(Unit)] == ["row A", ""]
        save_all(store, unit(3), number=3)


def test_a_step_that_fails_leaves_no_trace(
    address: str, later_step: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The store stays at its schema, whole, and opens with the program that knew it."""
    with open_store(address, create=True) as store:
        save_all(store, unit(1))
    works = later_step.up

    def up(database: peewee.Database) -> None:
        works(database)
        database.execute_sql("SELECT nothing FROM nowhere")

    later_step.up = up  # type: ignore[attr-defined]
    with monkeypatch.context() as later:
        bring_in(later)
        with pytest.raises(CannotOpen):
            open_store(address)
    with open_store(address) as store:
        assert check(store) == []
        assert "later" not in store.engine.database.get_tables()
