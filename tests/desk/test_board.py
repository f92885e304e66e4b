"""The empty counter and the lists behind the rail, on a crib with a unit in every state."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from cribdesk.crib.records import Unit
from cribdesk.desk import board
from cribdesk.desk.cards_lists import CounterBoard
from cribdesk.desk.standings import STATES
from cribdesk.store.connect import open_store
from tests.desk.small_crib import NOW, SmallCrib, house


@pytest.fixture
def crib(tmp_path: Path) -> Iterator[SmallCrib]:
    """The small crib in a file."""
    with open_store(str(tmp_path / "crib.sqlite"), create=True) as store:
        yield SmallCrib(store).fill()


@pytest.fixture
def counter(crib: SmallCrib) -> CounterBoard:
    """Its empty counter."""
    with crib.store.reading() as reader:
        return board.counter_board(reader, house(), NOW)


def test_tiles(counter: CounterBoard) -> None:
    """The eight numbers, each with what to hold it against."""
    assert [(tile.name, tile.number, tile.against) for tile in counter.tiles] == [
        ("Ready", 2, "of 10 units"),
        ("Out", 2, "1 back by 14:30"),
        ("Overdue", 1, "since Tue 22:12"),
        ("Not checked", 2, "oldest 0.2\u00a0h"),
        ("Needs cleaning", 1, "oldest 0.2\u00a0h"),
        ("On hold", 1, ""),
        ("Due", 1, "before 14:30"),
        ("Charged", 1, "of 2 packs"),
    ]


def test_tiles_open_lists_of_that_many(crib: SmallCrib, counter: CounterBoard) -> None:
    """Each tile opens a list with exactly as many rows as its number says."""
    for tile in counter.tiles[:-1]:
        with crib.store.reading() as reader:
            rows = board.unit_rows(reader, house(), NOW, tile.opens)
        assert len(rows) == tile.number, tile.name


def test_board_is_worst_first(crib: SmallCrib, counter: CounterBoard) -> None:
    """Every unit but the scrapped one has a cell, in the order of the legend."""
    states = [cell.state for cell in counter.cells]
    assert states == sorted(states, key=STATES.index)
    assert crib.units["scrapped"].id not in {cell.unit_id for cell in counter.cells}
    assert len(states) == 10
    first = counter.cells[0]
    assert (first.short, first.label) == (first.label[4:7], crib.units["overdue"].label)
    assert first.hover == f"{first.label}. Overdue, out with Imre Dobrosi"


def test_first_today(crib: SmallCrib, counter: CounterBoard) -> None:
    """Call-ins, the overdue unit by name, returns to complete, cleaning, checks, changes, the meter by the calendar."""
    told = [(row.what, row.place) for row in counter.first]
    assert told == [
        ("1 unit to call in", "shift"),
        (f"{crib.units['overdue'].label} is overdue", "people"),
        ("1 return to complete", "counter"),
        ("1 unit needs cleaning", "bench"),
        ("2 units wait for their check", "bench"),
        ("1 change before 14:30", "bench"),
        ("11 stock items below the minimum", "stock"),
        (f"Flow meter {crib.meter.label}", "bench"),
    ]
    details = {row.what: row.detail for row in counter.first}
    assert details["1 unit to call in"] == f"{crib.units['overdue'].label}; 1 without a slip yet"
    assert details[told[1][0]] == "Imre Dobrosi, since yesterday 22:12"
    assert details["1 change before 14:30"] == "Pre-filter: 1"
    assert details[told[-1][0]] == "Calibration ends Fri 27 Nov"


def test_shift_strip(crib: SmallCrib, counter: CounterBoard) -> None:
    """This shift's entries stand newest first with signs and papers, and are counted."""
    assert counter.shift_words == "1 handed out, 2 taken back, 1 held"
    signs = [row.sign for row in counter.shift if row.sign]
    assert signs == ["on hold", "not checked", "not checked", "out", *["ready"] * 10]
    held = next(row for row in counter.shift if row.bold)
    assert held.papers == (("tag", crib.hold.tag),)
    assert held.who == "Rhea Castel"
    assert [row.seq for row in counter.shift] == sorted((row.seq for row in counter.shift), reverse=True)


def test_waiting(counter: CounterBoard) -> None:
    """The rail counts units at the bench, items below the minimum, people with something overdue, call-ins."""
    assert counter.waiting == {"bench": 4, "stock": 11, "people": 1, "shift": 1}


def test_unit_rows(crib: SmallCrib) -> None:
    """Rows say state and place apart from each other, and are found by any word in them."""
    with crib.store.reading() as reader:
        rows = board.unit_rows(reader, house(), NOW)
        by_name = board.unit_rows(reader, house(), NOW, text="dobrosi out")
        scrapped = board.unit_rows(reader, house(), NOW, "scrapped")
        with pytest.raises(ValueError, match="cannot be narrowed"):
            board.unit_rows(reader, house(), NOW, "broken")
    assert len(rows) == 10
    assert rows[0].words == "Ready, out with Imre Dobrosi"
    assert [row.label for row in by_name] == [crib.units["overdue"].label]
    assert [row.label for row in scrapped] == [crib.units["scrapped"].label]
    due = next(row for row in rows if row.label == crib.units["due"].label)
    assert due.next_words == "Pre-filter, about 2\u00a0h left"
    held = next(row for row in rows if row.state == "on hold")
    assert held.words == "On hold, at the bench"


def test_a_unit_without_its_model_is_on_hold(crib: SmallCrib) -> None:
    """One unit whose model has no file does not take the board away; it stands there as not to be used."""
    unit = crib.units["ready"]
    crib.write(lambda work: work.save(replace(work.get(Unit, unit.id), model="ZZ9")), "Model changed.")
    with crib.store.reading() as reader:
        rows = board.unit_rows(reader, house(), NOW, "on hold")
        cells = board.counter_board(reader, house(), NOW).cells
    found = next(row for row in rows if row.unit_id == unit.id)
    assert found.why == "model ZZ9 has no file in resources/units"
    assert len(cells) == 10


def test_person_rows(crib: SmallCrib) -> None:
    """Who is in trouble comes first, with what is overdue and what lapsed."""
    with crib.store.reading() as reader:
        rows = board.person_rows(reader, house(), NOW)
        crew = board.person_rows(reader, house(), NOW, text="ŁUCJA day")
    assert [row.name for row in rows] == ["Imre Dobrosi", "Abel Nkemba", "Rhea Castel", "Łucja Wronecka"]
    late = crib.units["overdue"].label
    assert rows[0].trouble == "overdue since yesterday 22:12; training ended Sun 22 Nov"
    assert rows[0].holds == late
    assert [row.name for row in crew] == ["Łucja Wronecka"]


def test_bench_list(crib: SmallCrib) -> None:
    """The bench is grouped by what is to be done; a return not completed waits apart."""
    with crib.store.reading() as reader:
        found = board.bench_list(reader, house(), NOW)
    told = [(title, words, [row.label for row in rows]) for title, words, rows in found.groups]
    units = {name: unit.label for name, unit in crib.units.items()}
    assert told[:4] == [
        ("On hold", "1 unit, not to be used", [units["on hold"]]),
        ("To look over or inspect", "2 units", [units["not checked"], units["never inspected"]]),
        ("To clean", "1 unit", [units["needs cleaning"]]),
        ("Before next shift", "1 unit by 14:30", [units["due"]]),
    ]
    assert [(label, words) for _, label, words in found.to_complete] == [
        (units["not checked"], "back today 05:58, the rest not entered")
    ]
    assert [row.label for row in found.calendar] == [crib.meter.label]


def test_things_lists(crib: SmallCrib) -> None:
    """Packs, stock, areas and meters say where, how many, how many out, until when."""
    with crib.store.reading() as reader:
        packs = {row.label: row for row in board.battery_rows(reader, house(), NOW)}
        stock = board.stock_rows(reader, house(), NOW)
        (area,) = board.area_rows(reader, house(), NOW)
        (meter,) = board.instrument_rows(reader, house(), NOW)
    charging, out = (packs[crib.batteries[name].label] for name in ("charger", "shelf"))
    assert (charging.where, charging.sign, charging.charged) == ("A, slot 3", "battery", "today 04:12")
    assert (out.holder, out.charged, out.last_run) == (
        "Łucja Wronecka", "not since its last use", "6.5\u00a0h, stopped before",
    )  # fmt: skip
    prefilter = next(row for row in stock if row.code == "WL1-PREFILTER")
    assert (prefilter.on_hand, prefilter.short, prefilter.bin) == (14, False, "C-04")
    assert prefilter.trouble == "lot PAST past its date, yesterday; lot RECALLED blocked: recalled by its maker"
    assert stock[0].short
    assert area.out_now == 2
    assert (meter.good, meter.trouble) == (True, "calibration ends Fri 27 Nov")


def test_between_shifts(crib: SmallCrib) -> None:
    """At night, after the last shift and before the next, the board still counts and names the coming shift."""
    night = NOW - timedelta(hours=4)
    with crib.store.reading() as reader:
        found = board.counter_board(reader, house(), night)
    assert found.tiles[6].against == "before 14:30"
