"""A site's spreadsheets of sets of parts and cabinets: carried in whole, every fault told by file, row and field."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from cribdesk import chores
from cribdesk.crib.records import Cabinet, PartsSet, PartsSetLine, StockItem
from cribdesk.store.connect import open_store
from tests.desk.test_intake import EXAMPLE, example, faults, with_row


def test_sets_and_cabinets_are_loaded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each set once, with all its rows; the cabinet with its purpose, empty and without a seal."""
    monkeypatch.setattr(chores, "now", lambda: datetime(2026, 11, 25, 8, 0, tzinfo=UTC))
    address = str(tmp_path / "store.sqlite")
    chores.load(EXAMPLE, address)
    with open_store(address) as store, store.reading() as reader:
        codes = {one.id: one.code for one in reader.find(StockItem)}
        held = {
            one.name: {codes[line.item_id]: line.quantity for line in reader.find(PartsSetLine, parts_set_id=one.id)}
            for one in reader.find(PartsSet)
        }
        (cabinet,) = reader.find(Cabinet)
    assert held == {"Lens kit": {"WL1-COVER-OUT": 2, "LENS-CELL": 1}, "Filter kit": {"WL1-PREFILTER": 2}}
    assert (cabinet.name, cabinet.purpose, cabinet.seal, cabinet.active) == (
        "Gate 2", "walking out of the fume", "", True,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("file", "row", "told"),
    [
        ("sets", "Lens kit,NO-SUCH,1", "sets.csv, row 5, item: NO-SUCH is not in items.csv."),
        ("sets", "Lens kit,WL1-BLOWER,1", "WL1-BLOWER is fitted at the bench only; no set holds it."),
        ("sets", "Lens kit,LENS-CELL,2", "sets.csv, row 5, set and item: Lens kit, LENS-CELL stands in row 3 too."),
        ("sets", "Lens kit,WL1-PREFILTER,0", "sets.csv, row 5, pieces: "),
        ("sets", "Lens kit,WL1-PREFILTER,-2", "sets.csv, row 5, pieces: "),
        ("sets", ",WL1-PREFILTER,1", "sets.csv, row 5, set: "),
        ("cabinets", "Gate 2,,leaving,no", "cabinets.csv, row 3, name: Gate 2 stands in row 2 too."),
        ("cabinets", "Gate 3,,,no", "cabinets.csv, row 3, purpose: "),
        ("cabinets", "Gate 3,,leaving,", "cabinets.csv, row 3, for_danger: "),
        ("cabinets", "Gate 3,,leaving,perhaps", "cabinets.csv, row 3, for_danger: "),
        ("cabinets", "Gate 3,,leaving,yes", "no unit of this crib may be used there: 29 CFR 1910.134(d)(2)."),
    ],
)
def test_a_wrong_row_is_told(file: str, row: str, told: str) -> None:
    """By file, row and field, in words that say what is wrong."""
    (only,) = faults(with_row(file, row))
    assert told in only


def test_wrong_columns_are_told() -> None:
    """A column that nobody knows, and one that is missing."""
    found = faults(example(cabinets="name,purpose,colour\nGate 2,leaving,red\n"))
    assert any("colour" in one for one in found)
    assert any("for_danger" in one for one in found)
