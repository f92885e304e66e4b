"""The committed sample store is what the generator makes, and is sound."""

from __future__ import annotations

import csv
import json
import lzma
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from cribdesk.crib.records import Custody, Hold, Person, Role, SiteSetting, StockItem, Unit, Where
from cribdesk.crib.serviceable import Serviceable, condition
from cribdesk.desk.facts import standing_of
from cribdesk.opening import load_house
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.transfer import load_journal

SAMPLE = Path(__file__).parents[2] / "sample_store"
JOURNAL = SAMPLE / "journal.jsonl.xz"
DAYS = 14


def generated(file: Path, *arguments: str) -> list[bytes]:
    """The lines that the generator makes in a process of its own."""
    command = [sys.executable, str(SAMPLE / "generate.py"), *arguments, str(file)]
    made = subprocess.run(command, capture_output=True, text=True, timeout=3000, check=False)
    assert made.returncode == 0, made.stderr
    return file.read_bytes().splitlines()


@cache
def committed() -> list[bytes]:
    """The lines of the committed journal."""
    with lzma.open(JOURNAL) as file:
        return file.read().splitlines()


def first_difference(made: list[bytes], kept: list[bytes]) -> str:
    """Where two journals part, in words that help to see why."""
    for number, (one, other) in enumerate(zip(made, kept, strict=False), 1):
        if one != other:
            ours, theirs = (json.loads(line)["entry"] for line in (one, other))
            keys = [key for key in ours if ours[key] != theirs[key]]
            return (
                f"line {number}, {ours['operation']}: {', '.join(keys)} differ. Where an operation, a sentence or a "
                "procedure was changed on purpose, make the journal anew (sample_store/ABOUT.md)."
            )
    return ""


def test_the_first_days_come_out_the_same(tmp_path: Path) -> None:
    """The generator's first 14 days are, byte for byte, the beginning of the committed journal."""
    made = generated(tmp_path / "first.jsonl", "--days", str(DAYS))
    assert len(made) > 1500
    kept = committed()[: len(made)]
    assert not (words := first_difference(made, kept)), words
    assert made == kept


@pytest.mark.long
def test_the_year_comes_out_the_same(tmp_path: Path) -> None:
    """The whole year is, byte for byte, the committed journal."""
    made = generated(tmp_path / "year.jsonl")
    assert not (words := first_difference(made, committed())), words
    assert made == committed()


def test_another_seed_is_another_history(tmp_path: Path) -> None:
    """Another seed gives another history of the same crib."""
    made = generated(tmp_path / "other.jsonl", "--days", "3", "--seed", "7")
    assert made != committed()[: len(made)]
    assert {json.loads(line)["entry"]["operation"] for line in made} >= {"first-start", "add-unit", "inspect", "issue"}


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SqlStore]:
    """The committed journal, loaded."""
    with open_store(str(tmp_path_factory.mktemp("sample") / "sample.sqlite"), create=True) as store:
        load_journal(JOURNAL, store)
        yield store


def test_the_store_is_sound(sample: SqlStore) -> None:
    """Digests, replay and constraints of the loaded store hold."""
    assert check(sample) == []


def test_it_ends_at_a_shift_just_begun(sample: SqlStore) -> None:
    """The last entry sets the sample's clock to that entry's own moment, minutes into a shift."""
    house, _ = load_house()
    with sample.reading() as reader:
        (until,) = reader.find(SiteSetting, name="sample_until")
        (last,) = reader.entries(count=1).entries
    assert last.operation == "set-setting"
    assert until.value == last.plain()["moment"]
    turn = house.turn(last.moment)
    assert 0 <= (last.moment - turn.start).total_seconds() <= 15 * 60


def test_it_holds_what_it_says(sample: SqlStore) -> None:
    """People, units, packs and stock are as many as the inputs say; every role is there."""
    people = _rows("people")
    with sample.reading() as reader:
        assert reader.count(StockItem) == len(_rows("items"))
        assert reader.count(Unit) == sum(int(row["count"]) for row in _rows("units"))
        names = {one.name for one in reader.find(Person)}
        roles = {role for one in reader.find(Person) for role in one.roles.split(",") if role}
    assert {row["name"] for row in people if not row["joined_on"]} <= names <= {row["name"] for row in people}
    assert roles == {role.value for role in Role}


def test_units_are_in_every_state(sample: SqlStore) -> None:
    """At its end there are units ready, out, overdue, on hold, and at least one that waits for the bench."""
    house, _ = load_house()
    with sample.reading() as reader:
        moment = reader.head().moment
        assert moment is not None
        units = reader.find(Unit)
        states = {one.id: condition(standing_of(reader, house, one, moment)).state for one in units}
        out = reader.find(Custody, returned_at=None)
        held = reader.find(Hold, released_at=None)
    ready = [one for one in units if one.where is Where.RACK and states[one.id] is Serviceable.READY]
    assert len(ready) >= 20
    assert len(out) >= 5
    assert any(one.due_at is not None and one.due_at < moment for one in out)
    assert held
    waiting = [one for one in units if one.where is Where.BENCH and states[one.id] is not Serviceable.READY]
    assert waiting


def _rows(name: str) -> list[dict[str, str]]:
    with (SAMPLE / "inputs" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
