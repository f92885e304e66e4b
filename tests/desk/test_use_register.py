"""Rows of the register of use on a small crib: what is out, back, assigned, accepted by name, erased, read wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from cribdesk.crib.records import (
    Calibration,
    CautionAccepted,
    Custody,
    Inspection,
    Instrument,
    OwnCheck,
    Person,
    Reading,
    Unit,
)
from cribdesk.desk.printouts_register import COLUMNS, RegisterRow, UseRegister
from cribdesk.desk.rule_breaks import breaks_today
from cribdesk.desk.use_register import EVERYTHING, RegisterAsked, use_register
from cribdesk.store.connect import open_store
from cribdesk.window.plot_file import csv_text
from tests.desk.small_crib import NOW, SmallCrib, house

TODAY = date(2026, 11, 25)


@pytest.fixture
def crib(tmp_path: Path) -> Iterator[SmallCrib]:
    """The small crib in a file."""
    with open_store(str(tmp_path / "register.sqlite"), create=True) as store:
        yield SmallCrib(store).fill()


def register(crib: SmallCrib, of: str = EVERYTHING, first: date = date(2026, 11, 1), last: date = TODAY) -> UseRegister:
    """The register as it is now."""
    with crib.store.reading() as reader:
        return use_register(reader, house(), RegisterAsked(of, first, last).address(), NOW)


def row_of(crib: SmallCrib, custody: Custody) -> RegisterRow:
    """The row of that custody."""
    return next(row for row in register(crib).rows if row.custody == custody.id)


def test_what_is_out_has_no_return_and_stands_in_every_day_since(crib: SmallCrib) -> None:
    """Out since the evening before: it stands in yesterday's register and in today's, not in that of two days ago."""
    late = row_of(crib, crib.late)
    assert (late.came_back, late.received_by, late.worn_hours) == (None, "", None)
    out_on = crib.late.issued_at.astimezone(house().zone).date()
    for day, there in ((out_on, True), (TODAY, True), (out_on - timedelta(days=1), False)):
        assert (late.custody in {row.custody for row in register(crib, first=day, last=day).rows}) is there, day


def test_what_came_back_says_who_took_it_and_how_long_it_was_worn(crib: SmallCrib) -> None:
    """Of the two that came back: the moment in the site's time, who took it, the hours as they were said."""
    back = [row for row in register(crib).rows if row.came_back]
    assert len(back) == 2
    for row in back:
        assert row.came_back is not None
        assert row.came_back.tzinfo == house().zone
        assert (row.received_by, row.worn_hours, row.assigned) == ("Rhea Castel", 6.5, False)


def test_own_checks_of_a_wearer_are_counted(crib: SmallCrib) -> None:
    """Three, of which one was not good by its note alone."""
    for note in ("", "", "strap torn"):
        crib.save(
            OwnCheck(
                custody_id=crib.out.id, unit_id=crib.out.unit_id, person_id=crib.out.person_id, flow_good=True,
                alarm_good=True, note=note, source="slip", at=NOW, by_id=crib.clerk.id,
            )
        )  # fmt: skip
    row = row_of(crib, crib.out)
    assert (row.own_checks, row.own_checks_bad) == (3, 1)
    assert "strap torn" not in csv_text(register(crib).table())


def test_a_caution_accepted_by_name_stands_with_the_reason(crib: SmallCrib) -> None:
    """Who took it at the counter, and who by name with what reason; one reason for two cautions stands once."""
    plain = row_of(crib, crib.out)
    assert (plain.cautions, plain.accepted, plain.by_name) == (
        ("Pre-filter may fall due before it is back",), "Rhea Castel", ""
    )
    said = CautionAccepted(custody_id=crib.out.id, code="", why="seen with the hygienist", by_id=crib.clerk.id)
    for code in ("review", "hours"):
        crib.save(replace(said, code=code))
    assert row_of(crib, crib.out).by_name == "Rhea Castel: seen with the hygienist"


def test_an_erased_name_leaves_the_badge(crib: SmallCrib) -> None:
    """Where the name is erased the label stands in its place, and nothing else of the row changes."""
    before = row_of(crib, crib.out)
    with crib.store.reading() as reader:
        person = reader.get(Person, crib.out.person_id)
    crib.save(replace(person, name=""))
    assert row_of(crib, crib.out) == replace(before, wearer=person.label)


def test_a_meter_found_wrong_since_is_named_beside_its_reading(crib: SmallCrib) -> None:
    """The reading stands as it counted; the calibration that found 12 L/min too much stands beside it."""
    with crib.store.reading() as reader:
        made = reader.latest(Inspection, unit_id=crib.out.unit_id, kind="bench")
        meter = reader.first(Instrument)
    assert made is not None
    assert meter is not None
    crib.save(replace(made, instrument_id=meter.id))
    crib.save(
        Reading(
            inspection_id=made.id, unit_id=made.unit_id, quantity="airflow", flow_lpm=184.0, instrument_id=meter.id,
            at=made.ended_at, at_hours=0.0,
        )
    )  # fmt: skip
    row = row_of(crib, crib.out)
    assert row.full is not None
    assert (row.full.flow_lpm, row.full.meter, row.meter_note) == (184.0, meter.label, "")
    crib.save(
        Calibration(
            instrument_id=meter.id, made_on=TODAY, good_until=date(2027, 11, 25), found_error_lpm=12.0, certificate="C"
        )
    )
    row = row_of(crib, crib.out)
    assert row.full is not None
    assert row.full.flow_lpm == 184.0
    assert row.meter_note == f"{meter.label} was found to read 12.0 L/min too much"


@pytest.mark.parametrize("lead", ["=", "+", "-", "@", "\t", "\r"])
def test_no_name_becomes_a_formula(crib: SmallCrib, lead: str) -> None:
    """A name that an office program would take for a formula is set off; the numbers beside it stay numbers."""
    with crib.store.reading() as reader:
        person = reader.get(Person, crib.out.person_id)
    crib.save(replace(person, name=f"{lead}cmd|' /C calc'!A0"))
    table = register(crib).table()
    text = csv_text(table)
    assert f"'{lead}cmd" in text
    assert f",{lead}cmd" not in text
    at = [name for name, _ in COLUMNS].index("custody")
    assert all(isinstance(row[at], int) for row in table[1:])


def test_each_of_person_unit_and_area_says_what_it_is_about(crib: SmallCrib) -> None:
    """The heading names it with its label; a register of an area says for each row that it was there."""
    with crib.store.reading() as reader:
        unit, wearer = reader.get(Unit, crib.out.unit_id), reader.get(Person, crib.out.person_id)
    assert register(crib, unit.label).about.startswith(f"Unit {unit.label}, Welding PAPR")
    assert register(crib, wearer.label).about.startswith(f"Łucja Wronecka, {wearer.label}")
    there = register(crib, crib.area.label)
    assert there.about == f"Area {crib.area.name}, {crib.area.label}"
    assert {row.area for row in there.rows} == {crib.area.label}


def test_either_engine_tells_the_same(address: str, crib: SmallCrib) -> None:
    """The same small crib on SQLite and on PostgreSQL: the same register, and the same breaches of rules."""
    with open_store(address, create=True) as store:
        other = SmallCrib(store).fill()
        assert register(other) == register(crib)
        with store.reading() as reader, crib.store.reading() as wanted:
            assert breaks_today(reader, house(), NOW) == breaks_today(wanted, house(), NOW)
