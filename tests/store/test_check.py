"""The check finds what somebody changed behind the journal's back."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest

from cribdesk.crib.entry import chained
from cribdesk.crib.label import Kind
from cribdesk.crib.records import BoundLabel, Custody, Person, Unit, Where
from cribdesk.store.check import Finding, check
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.faults import CannotOpen, Damaged
from cribdesk.store.journal import Chain, lines
from cribdesk.store.transfer import load_journal, write_journal
from tests.store.conftest import START, changed, issue, person, save_all, unit, unwritten


@pytest.fixture
def lived(address: str) -> Iterator[SqlStore]:
    """A store with some history, open for a check."""
    with open_store(address, create=True, entropy=random.Random(7).randbytes) as store:
        save_all(store, person(1), person(2), unit(1), unit(2))
        custody = issue(store, 1, 1, 2)
        with store.work() as work:
            taken = work.get(Unit, 1)
        back = changed(custody, returned_at=START, received_by=2, damage="strap torn")
        save_all(store, back, changed(taken, where=Where.RACK, worn_hours=7.5), number=3)
        issue(store, 2, 2, 4)
        assert check(store) == []
        yield store


def run(store: SqlStore, sql: str) -> None:
    """Changes the store as somebody with another program could."""
    store.engine.run(sql)


TAMPERED = {
    "UPDATE entry SET body = REPLACE(body, 'counter 1', 'counter 2') WHERE seq = 3": "Entry 3: it does not fit",
    "UPDATE entry SET digest = REPLACE(digest, SUBSTR(digest, 1, 1), 'g') WHERE seq = 2": "Entry 2: it does not fit",
    "UPDATE journal_head SET seq = 3": "The journal's head: it names entry 3, the last one is 4",
    "UPDATE unit SET \"where\" = 'rack' WHERE id = 2": "unit 2: the journal says otherwise about where",
    "UPDATE unit SET revision = 9 WHERE id = 2": "unit 2: the journal says otherwise about revision",
    "UPDATE custody SET worn_minutes = 1 WHERE id = 1": "custody 1: the journal says otherwise about worn_minutes",
    "UPDATE person SET name = 'Somebody' WHERE id = 1": "person 1: the journal says otherwise about name",
    "DELETE FROM custody WHERE id = 1": "custody 1: it is missing",
    "INSERT INTO site_setting (id, revision, name, value) VALUES (1, 1, 'a', 'b')": "site_setting 1: the journal",
    "DELETE FROM subject WHERE seq = 2 AND label = 'P000001X'": "subject P000001X 2: it is missing",
    "UPDATE sealed SET value = '\"glued\"' WHERE \"column\" = 'damage'": "Entry 3: a personal value does not fit",
    "UPDATE entry SET operation = 'nothing' WHERE seq = 4": "entry 4: the journal says otherwise about operation",
    "DROP INDEX custody_one_open_a_unit": "Index custody_one_open_a_unit: it is missing",
    "CREATE TABLE more (id INTEGER)": "Table more: it does not belong to a store",
}


class Undone(Exception):
    """Takes a change back."""


def test_changes_are_named(lived: SqlStore) -> None:
    """Whatever is changed by hand, the first finding names it."""
    for sql, words in TAMPERED.items():
        with suppress(Undone), lived.engine.writing():
            run(lived, sql)
            found = check(lived)
            raise Undone
        assert str(found[0]).startswith(words), sql
    assert check(lived) == []


def test_a_lost_entry_is_named(lived: SqlStore) -> None:
    """An entry taken out leaves a gap that shows."""
    run(lived, "DELETE FROM sealed WHERE seq = 3")
    run(lived, "DELETE FROM subject WHERE seq = 3")
    run(lived, "DELETE FROM entry WHERE seq = 3")
    assert check(lived)[0] == Finding("Entry 3", "entry 4 stands in its place")


def test_a_broken_chain_is_refused_at_opening(lived: SqlStore) -> None:
    """A store whose last links do not hold is not worked on; the check still opens it."""
    address = lived.address
    run(lived, "UPDATE entry SET body = REPLACE(body, 'Tried 3', 'Tried 4') WHERE seq = 3")
    lived.close()
    with pytest.raises(CannotOpen, match="does not hold together at entry 3"):
        open_store(address)
    with open_store(address, verify=False) as store:
        assert [one.place for one in check(store)] == ["Entry 3"]


def test_custody_and_place_fit(lived: SqlStore) -> None:
    """A unit that is out without a custody, though the journal has it so, is told."""
    with lived.work() as work:
        taken = work.get(Unit, 1)
    save_all(lived, changed(taken, where=Where.OUT), number=5)
    assert [str(one) for one in check(lived)] == ["Unit U000001X: it is out, which does not fit its custody."]


def test_any_changed_byte_breaks_its_own_link(lived: SqlStore) -> None:
    """Each byte of a line's digest and entry, changed, is found at that entry."""
    with lived.reading():
        texts = [line.text() for line in lines(lived.engine)]
    text = texts[1]
    sealed_at = text.rfind(b',"sealed":')
    for place in range(11, sealed_at, 7):
        broken = bytes([*text[:place], text[place] ^ 1, *text[place + 1 :]])
        chain = Chain()
        chain.follow(texts[0])
        with pytest.raises(Damaged) as failure:
            chain.follow(broken)
        assert failure.value.seq == 2


def test_a_second_entry_in_a_line_is_not_read(lived: SqlStore) -> None:
    """What is read is what was hashed, also where a line was made to hold two entries."""
    with lived.reading():
        line = next(iter(lines(lived.engine)))
    forged = line.body.replace(b"Tried 1", b"Tried 9")
    text = line.text()[:-1] + b',"entry":' + forged + b"}"
    with pytest.raises(Damaged):
        Chain().follow(text)
    with pytest.raises(Damaged):
        Chain().follow(replace(line, body=line.body + b',"entry":' + forged).text())


def test_the_digest_is_that_of_the_design(lived: SqlStore) -> None:
    """SHA-256 over the previous digest and the entry, computed here by hand for the whole chain."""
    previous = "0" * 64
    with lived.reading() as reader:
        for line in lines(lived.engine):
            previous = chained(previous, line.body)
            assert previous == line.digest
        assert reader.head().digest == previous


def test_personal_values_stand_in_no_entry(lived: SqlStore) -> None:
    """Names and free text about a person are in their tables, and in entries only as digests."""
    with lived.reading() as reader:
        bodies = [line.body.decode() for line in lines(lived.engine)]
        assert reader.get(Person, 1).name == "Wearer Łęcka 1"
        assert reader.get(Custody, 1).damage == "strap torn"
        (entry,) = reader.entries(before=4, count=1).entries
    assert not [body for body in bodies if "Łęcka" in body or "strap torn" in body]
    assert len(str(dict(entry.rows)["custody"]["damage"])) == 64


def test_a_value_that_stays_keeps_its_digest(lived: SqlStore) -> None:
    """Saving a person again brings no new digest; a new name does, also when it was borne before."""

    def digest(number: int, **fields: str) -> object:
        with lived.work() as work:
            somebody = work.get(Person, 1)
        entry, _ = save_all(lived, changed(somebody, **fields), number=number)
        return entry.rows[0][1]["name"]

    first = digest(5)
    assert digest(6, crew="day") == first
    second = digest(7, name="Other")
    assert digest(8, name="Wearer Łęcka 1") not in (first, second)
    assert check(lived) == []


def test_erased_values_are_gone(lived: SqlStore, tmp_path: Path, engine: str) -> None:
    """After an erasure no table, no export and no byte of the file holds the values; the rest stays sound."""
    save_all(lived, BoundLabel(text="EMP-00417", kind=Kind.PERSON.value, record_id=1), number=5)
    with lived.work() as work:
        assert work.forget(1) == 3
        work.commit(unwritten(6))
    assert check(lived) == []
    with lived.reading() as reader:
        assert (reader.get(Person, 1).name, reader.get(Custody, 1).damage) == ("", "")
        assert reader.get(Person, 2).name == "Wearer Łęcka 2"
    write_journal(lived, tmp_path / "journal.jsonl")
    places = [tmp_path / "journal.jsonl"]
    with open_store(str(tmp_path / "again.sqlite"), create=True) as again:
        load_journal(tmp_path / "journal.jsonl", again)
        assert check(again) == []
    if engine == "sqlite":
        lived.close()
        places.append(Path(lived.address))
    for place in places:
        content = place.read_bytes()
        assert "Wearer Łęcka 2".encode() in content
        for gone in ("Wearer Łęcka 1", "strap torn", "EMP-00417"):
            assert gone.encode() not in content, (place, gone)
