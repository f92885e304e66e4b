"""Entries as lines of a history: names filled in, signs by what was written, pages that join without a gap."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from cribdesk.crib.label import Kind
from cribdesk.desk.timeline import journal_page, timeline_page, with_names
from cribdesk.store.connect import open_store
from tests.desk.small_crib import NOW, SmallCrib, label


@pytest.fixture
def crib(tmp_path: Path) -> Iterator[SmallCrib]:
    """The small crib in a file."""
    with open_store(str(tmp_path / "crib.sqlite"), create=True) as store:
        yield SmallCrib(store).fill()


def test_names_stand_for_labels_of_people_alone() -> None:
    """Only labels of known people are replaced; units, tags and strangers stay."""
    person, stranger, unit = label(Kind.PERSON, 10), label(Kind.PERSON, 99), label(Kind.UNIT, 10)
    text = f"{unit} to {person}, seen by {stranger}: PAPRSTRAP1 is no label."
    assert with_names(text, {person: "Łucja Wronecka"}) == text.replace(person, "Łucja Wronecka")


def test_signs_follow_what_was_written(crib: SmallCrib) -> None:
    """An issue, a return, an inspection and a hold each have their sign; a hold alone is bold."""
    with crib.store.reading() as reader:
        rows = {name: timeline_page(reader, unit.label).rows for name, unit in crib.units.items()}
    assert [row.sign for row in rows["not checked"]] == ["not checked", "out", "ready"]
    assert [row.sign for row in rows["on hold"]] == ["on hold", "ready"]
    assert [row.bold for row in rows["on hold"]] == [True, False]
    assert rows["not checked"][0].what.endswith("back from Abel Nkemba, not checked yet")
    inspected = rows["on hold"][1]
    assert (inspected.who, inspected.figures) == ("Rhea Castel", "184 L/min")
    assert inspected.detail == "184 L/min, Rhea Castel"
    assert rows["on hold"][0].detail == "Rhea Castel"


def test_pages_join(crib: SmallCrib) -> None:
    """Page after page gives every entry of a label once, newest first."""
    unit = crib.units["ready"]
    for hours in range(12, 0, -1):
        crib.inspect(unit, NOW - timedelta(hours=hours))
    with crib.store.reading() as reader:
        whole = timeline_page(reader, unit.label, count=50).rows
        found, before = [], None
        for _ in range(10):
            page = timeline_page(reader, unit.label, before, count=4)
            found += page.rows
            before = page.before
            if before is None:
                break
    assert tuple(found) == whole
    assert len(whole) == 13


def test_journal_page(crib: SmallCrib) -> None:
    """The journal counts all entries and shows one page of them."""
    with crib.store.reading() as reader:
        page = journal_page(reader, count=5)
    assert page.count == crib.entries
    assert [row.seq for row in page.rows] == [entry.seq for entry in page.entries] == list(
        range(crib.entries, crib.entries - 5, -1)
    )
    assert page.before == crib.entries - 4
