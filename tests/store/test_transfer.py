"""Out of a store and back: dump, load, backup, restore."""

from __future__ import annotations

import csv
import lzma
import random
from pathlib import Path
from typing import Any

import pytest

from cribdesk.crib.entry import sealed
from cribdesk.crib.records import Custody, Person, SiteSetting, Unit
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.transfer import (
    CannotTransfer,
    backup,
    dump,
    load,
    load_journal,
    restore,
    write_journal,
)
from tests.store.conftest import issue, person, save_all, unit, unwritten


@pytest.fixture
def lived(store: SqlStore) -> SqlStore:
    """A store with some history."""
    save_all(store, person(1), person(2), *[unit(number) for number in range(1, 6)])
    for number in range(1, 6):
        issue(store, number, 1 + number % 2, number + 1)
    save_all(store, SiteSetting(name="crib", value='The "north" crib,\nbay 2'), number=7)
    return store


def tables(store: SqlStore) -> dict[str, list[Any]]:
    """Every row of every table."""
    with store.reading():
        return {
            table: sorted(store.engine.run(f'SELECT * FROM "{table}"').fetchall(), key=repr)
            for table in store.engine.points_at()
        }


def fresh(address: str) -> str:
    """A second empty database beside the one at the address: a schema of its own."""
    import psycopg

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("CREATE SCHEMA again")
    return f"{address}?options=-csearch_path%3Dagain"


@pytest.mark.parametrize("target", ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def test_a_dump_makes_the_same_store(
    lived: SqlStore, tmp_path: Path, target: str, request: pytest.FixtureRequest, engine: str
) -> None:
    """A dump loaded into either engine gives the same tables, row by row, and the store goes on from there."""
    head = dump(lived, tmp_path / "out")
    address = str(tmp_path / "again.sqlite")
    if target == "postgresql":
        address = fresh(request.getfixturevalue("postgres_address"))
    with open_store(address, create=True) as again:
        assert load(tmp_path / "out", again) == head
        if engine == target:
            assert tables(again) == tables(lived)
        assert check(again) == []
        _, (next_unit,) = save_all(again, unit(9), number=9)
        assert next_unit.id == 6
        assert check(again) == []


def test_a_dump_cut_short_is_not_taken(lived: SqlStore, tmp_path: Path) -> None:
    """Without its last line a journal is whole still; the digest beside it tells."""
    dump(lived, tmp_path / "out")
    journal = tmp_path / "out/journal.jsonl"
    journal.write_bytes(b"".join(journal.read_bytes().splitlines(keepends=True)[:-1]))
    with (
        open_store(str(tmp_path / "again.sqlite"), create=True) as again,
        pytest.raises(CannotTransfer, match="not the journal that was expected"),
    ):
        load(tmp_path / "out", again)


def test_a_dump_can_be_read(lived: SqlStore, tmp_path: Path) -> None:
    """The tables are plain CSV; the folder says what is in it."""
    dump(lived, tmp_path / "out")
    with (tmp_path / "out/tables/site_setting.csv").open(newline="", encoding="utf-8") as file:
        assert list(csv.DictReader(file)) == [
            {"id": "1", "revision": "1", "name": "crib", "value": 'The "north" crib,\nbay 2'}
        ]
    with (tmp_path / "out/tables/custody.csv").open(newline="", encoding="utf-8") as file:
        (first, *_) = csv.DictReader(file)
    assert (first["assigned"], first["returned_at"]) == ("0", "")
    assert "journal.jsonl" in (tmp_path / "out/README.txt").read_text("utf-8")
    with pytest.raises(CannotTransfer, match="not empty"):
        dump(lived, tmp_path / "out")


def test_a_backup_comes_back(lived: SqlStore, tmp_path: Path, engine: str) -> None:
    """A backup is made while the store is open, and restored as a file of its own."""
    file = tmp_path / ("kept.sqlite" if engine == "sqlite" else "kept.jsonl.xz")
    backup(lived, file)
    save_all(lived, unit(8), number=8)
    restore(file, str(tmp_path / "back.sqlite"))
    with open_store(str(tmp_path / "back.sqlite")) as back, back.reading() as reader:
        assert reader.head().seq == 7
        assert len(reader.find(Unit)) == 5
        assert reader.get(Person, 1).name == "Wearer Łęcka 1"
        assert len(reader.find(Custody, returned_at=None)) == 5
    assert not [one for one in tmp_path.iterdir() if ".part" in one.name]
    with pytest.raises(CannotTransfer, match=r"a file .* already"):
        backup(lived, file)
    with pytest.raises(CannotTransfer, match=r"a file .* already"):
        restore(file, str(tmp_path / "back.sqlite"))


@pytest.mark.postgres
@pytest.mark.parametrize("engine", ["sqlite"])
def test_a_file_is_restored_to_a_server(lived: SqlStore, tmp_path: Path, postgres_address: str) -> None:
    """A store outgrows its file: the backup of a file becomes a server's store."""
    backup(lived, tmp_path / "kept.sqlite")
    restore(tmp_path / "kept.sqlite", postgres_address)
    with open_store(postgres_address) as moved:
        assert check(moved) == []
        with moved.reading() as there, lived.reading() as here:
            assert there.head() == here.head()
            assert there.find(Custody) == here.find(Custody)


def broken(text: bytes) -> dict[str, tuple[bytes, str]]:
    """Journals that are not whole, and what is said of them."""
    first, second, *rest = text.splitlines(keepends=True)
    stray = f'"sealed":{{"{sealed(bytes(16), "Nobody")}":["{bytes(16).hex()}","Nobody"]}}}}'.encode()
    bare = next(n for n, line in enumerate((first, second, *rest), 1) if b'"sealed":{}}' in line)
    name, other = b'cka 1"]', b'cka 2"]'
    named = next(n for n, line in enumerate((first, second, *rest), 1) if name in line)
    return {
        "cut": (text[:-200], "line 7: it"),
        "swapped": (b"".join([second, first, *rest]), "line 1: entry 2 stands in its place"),
        "gap": (b"".join([first, *rest]), "line 2: entry 3 stands in its place"),
        "foreign": (b"hello\n", "line 1: it is not a line of a journal"),
        "changed": (text.replace(b"Tried 3", b"Tried 8"), "line 3: it does not fit its digest"),
        "stray": (text.replace(b'"sealed":{}}', stray, 1), f"line {bare}: it brings a personal value that stands"),
        "renamed": (text.replace(name, other), f"line {named}: a personal value does not fit"),
    }


@pytest.mark.parametrize("case", ["cut", "swapped", "gap", "foreign", "changed", "stray", "renamed"])
def test_a_broken_journal_is_refused(lived: SqlStore, tmp_path: Path, case: str) -> None:
    """It is told by line, and the store stays empty."""
    write_journal(lived, tmp_path / "journal.jsonl")
    text, words = broken((tmp_path / "journal.jsonl").read_bytes())[case]
    (tmp_path / "broken.jsonl").write_bytes(text)
    with open_store(str(tmp_path / "again.sqlite"), create=True) as again:
        with pytest.raises(CannotTransfer, match=words):
            load_journal(tmp_path / "broken.jsonl", again)
        with again.reading() as reader:
            assert reader.head().seq == 0
            assert reader.find(Person) == []


@pytest.mark.parametrize("engine", ["sqlite"])
def test_what_load_refuses(lived: SqlStore, tmp_path: Path) -> None:
    """A store that is not empty, another journal than expected, a broken archive, a missing file."""
    journal = tmp_path / "journal.jsonl.xz"
    head = write_journal(lived, journal)
    with pytest.raises(CannotTransfer, match="holds entries already"):
        load_journal(journal, lived)
    with open_store(str(tmp_path / "again.sqlite"), create=True) as again:
        with pytest.raises(CannotTransfer, match="not the journal that was expected"):
            load_journal(journal, again, expected_digest="0" * 64)
        (tmp_path / "cut.jsonl.xz").write_bytes(journal.read_bytes()[:-40])
        with pytest.raises(CannotTransfer, match="cannot be unpacked"):
            load_journal(tmp_path / "cut.jsonl.xz", again)
        with pytest.raises(CannotTransfer, match="No such file"):
            load_journal(tmp_path / "none.jsonl", again)
        with pytest.raises(CannotTransfer, match=r"There is no journal\.jsonl"):
            load(tmp_path / "none", again)
        assert load_journal(journal, again, expected_digest=head.digest) == head
    with pytest.raises(CannotTransfer, match="There is no file"):
        restore(tmp_path / "none", str(tmp_path / "more.sqlite"))
    (tmp_path / "words.txt").write_bytes(b"just words")
    with pytest.raises(CannotTransfer, match="not a line of a journal"):
        restore(tmp_path / "words.txt", str(tmp_path / "more.sqlite"))
    assert not (tmp_path / "more.sqlite").exists()


@pytest.mark.parametrize("engine", ["sqlite"])
def test_loading_can_be_broken_off(store: SqlStore, tmp_path: Path) -> None:
    """Progress is told from 0 to 1; what it raises breaks off, and nothing is kept."""
    with open_store(str(tmp_path / "from.sqlite"), create=True, entropy=random.Random(1).randbytes) as source:
        for number in range(1, 1300):
            with source.work() as work:
                work.commit(unwritten(number))
        head = write_journal(source, tmp_path / "journal.jsonl")

    def stop(_part: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        load_journal(tmp_path / "journal.jsonl", store, stop)
    with store.reading() as reader:
        assert reader.head().seq == 0
    parts: list[float] = []
    assert load_journal(tmp_path / "journal.jsonl", store, parts.append) == head
    assert parts == sorted(parts)
    assert parts[-1] == 1.0
    assert len(parts) > 2


@pytest.mark.parametrize("engine", ["sqlite"])
def test_the_archive_is_the_plain_journal(lived: SqlStore, tmp_path: Path) -> None:
    """The xz file unpacks to the same bytes by any program."""
    write_journal(lived, tmp_path / "a.jsonl")
    write_journal(lived, tmp_path / "a.jsonl.xz")
    assert lzma.decompress((tmp_path / "a.jsonl.xz").read_bytes()) == (tmp_path / "a.jsonl").read_bytes()
