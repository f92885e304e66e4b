"""The register of use against the sample store's own tables, counted by plain SQL that shares nothing with it."""

from __future__ import annotations

import csv
import io
import shutil
import sqlite3
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from cribdesk.desk.fleet_picture import Told
from cribdesk.desk.house import House
from cribdesk.desk.printouts_register import COLUMNS, UseRegister
from cribdesk.desk.use_register import EVERYTHING, RegisterAsked, register_steps, use_register
from cribdesk.opening import OpenDesk, finished_sample, load_house, open_desk
from cribdesk.window.plot_file import csv_file

MOMENT = datetime(2026, 11, 25, 5, 5, tzinfo=UTC)
FIRST, LAST = date(2026, 9, 1), date(2026, 9, 30)
"""A month of summer time in Vienna: its midnights lie at 22:00 UTC of the day before."""
BEGIN, END = "2026-08-31T22:00:00.000000Z", "2026-09-30T22:00:00.000000Z"
TOUCHES = "issued_at < :end AND (returned_at IS NULL OR returned_at >= :begin)"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the sample store."""
    return Path(shutil.copyfile(finished_sample(), tmp_path_factory.mktemp("register") / "sample.sqlite"))


@pytest.fixture(scope="module")
def desk(file: Path) -> Iterator[OpenDesk]:
    """The copy, open, with the house its settings make."""
    house, faults = load_house()
    assert faults == ()
    opened = open_desk(str(file), house, "Counter 1")
    yield opened
    opened.store.close()


@pytest.fixture(scope="module")
def plain(file: Path, desk: OpenDesk) -> Iterator[sqlite3.Connection]:
    """The same file by the standard library alone."""
    connection = sqlite3.connect(f"file:{file}?mode=ro", uri=True)
    yield connection
    connection.close()


def made(desk: OpenDesk, of: str, first: date = FIRST, last: date = LAST) -> UseRegister:
    """The register, read in one look."""
    with desk.store.reading() as reader:
        return use_register(reader, desk.house, RegisterAsked(of, first, last).address(), MOMENT)


def asked(plain: sqlite3.Connection, sql: str, **values: object) -> list[tuple[object, ...]]:
    """Rows by SQL, the month's bounds at hand."""
    return plain.execute(sql, {"begin": BEGIN, "end": END, **values}).fetchall()


def test_the_whole_year_has_every_hand_over_once(desk: OpenDesk, plain: sqlite3.Connection) -> None:
    """As many rows as the table of custodies has, each with its unit, its wearer, its moments."""
    found = made(desk, EVERYTHING, date(2025, 1, 1), date(2026, 12, 31))
    wanted = plain.execute(
        "SELECT c.id, u.label, p.label, c.issued_at, coalesce(c.returned_at, '') FROM custody c"
        " JOIN unit u ON u.id = c.unit_id JOIN person p ON p.id = c.person_id ORDER BY c.id"
    ).fetchall()
    assert len(wanted) > 3000

    def stamp(moment: datetime | None) -> str:
        return moment.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z") if moment else ""

    told = [(row.custody, row.unit, row.badge, stamp(row.went_out), stamp(row.came_back)) for row in found.rows]
    assert sorted(told) == wanted
    assert [row.went_out for row in found.rows] == sorted(row.went_out for row in found.rows)


def test_a_month_counts_what_touches_it_by_the_sites_midnight(desk: OpenDesk, plain: sqlite3.Connection) -> None:
    """Every hand-over of which any moment lies in it, by SQL with the month's bounds in UTC; people and units too."""
    found = made(desk, EVERYTHING)
    ids = [row[0] for row in asked(plain, f"SELECT id FROM custody WHERE {TOUCHES} ORDER BY issued_at, id")]
    assert [row.custody for row in found.rows] == ids
    assert len(ids) > 100
    people, units = asked(
        plain, f"SELECT count(DISTINCT person_id), count(DISTINCT unit_id) FROM custody WHERE {TOUCHES}"
    )[0]
    assert (found.people, found.units) == (people, units)
    whole_year = plain.execute("SELECT count(*) FROM custody").fetchone()[0]
    assert len(ids) < whole_year


@pytest.mark.parametrize(("table", "column"), [("person", "person_id"), ("unit", "unit_id"), ("area", "area_id")])
def test_a_person_a_unit_an_area(desk: OpenDesk, plain: sqlite3.Connection, table: str, column: str) -> None:
    """Of each of them just its own, as plain SQL counts them; together they are the whole."""
    labels = [row[0] for row in plain.execute(f"SELECT label FROM {table}").fetchall()]
    total = 0
    for label in labels:
        ids = asked(
            plain,
            f"SELECT c.id FROM custody c JOIN {table} t ON t.id = c.{column} WHERE t.label = :label AND {TOUCHES}"
            " ORDER BY issued_at, c.id",
            label=label,
        )
        found = made(desk, str(label))
        assert [row.custody for row in found.rows] == [row[0] for row in ids], label
        assert label in found.about
        total += len(ids)
    everything = f"SELECT count(*) FROM custody WHERE {TOUCHES} AND {column} IS NOT NULL"
    assert total == asked(plain, everything)[0][0]


def test_the_checks_are_those_that_the_tables_have(desk: OpenDesk, plain: sqlite3.Connection) -> None:
    """The check at hand-over by its id; the full inspection is the unit's last pass before; reading and meter too."""
    rows = {row.custody: row for row in made(desk, EVERYTHING).rows}
    sql = f"""
        SELECT c.id, h.kind, h.verdict, f.kind, f.ended_at, m.label,
               (SELECT r.flow_ml_min FROM reading r WHERE r.inspection_id = f.id AND r.quantity = 'airflow'
                ORDER BY r.id DESC LIMIT 1)
        FROM custody c JOIN inspection h ON h.id = c.inspection_id
        JOIN inspection f ON f.id = (
            SELECT i.id FROM inspection i WHERE i.unit_id = c.unit_id AND i.verdict = 'pass'
            AND i.kind IN ('bench', 'pre-use') AND i.ended_at <= c.issued_at
            ORDER BY i.ended_at DESC, i.id DESC LIMIT 1)
        LEFT JOIN instrument m ON m.id = f.instrument_id
        WHERE {TOUCHES}"""
    wanted = asked(plain, sql)
    assert len(wanted) == len(rows)
    short = 0
    for custody, kind, verdict, full, ended_at, meter, flow in wanted:
        row = rows[int(str(custody))]
        assert row.full is not None
        assert row.full.kind == full
        assert row.full.at == datetime.fromisoformat(str(ended_at))
        assert (row.full.meter or None) == meter
        assert row.full.flow_lpm == (None if flow is None else int(str(flow)) / 1000)
        if kind == "hand-over":
            assert row.check is not None
            assert (row.check.kind, row.check.verdict) == (kind, verdict)
            short += 1
        else:
            assert row.check is None
            assert row.full.verdict == verdict
    assert 0 < short < len(wanted)


def test_the_table_reads_back_as_it_was_written(desk: OpenDesk, plain: sqlite3.Connection) -> None:
    """By the standard library's reader: UTF-8 with its mark, every column told, hours as the tables add up."""
    register = made(desk, EVERYTHING)
    text = csv_file(register.table()).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == len(register.rows)
    assert list(rows[0]) == [name for name, _ in COLUMNS]
    assert all(meaning for _, meaning in COLUMNS)
    names = asked(plain, f"SELECT DISTINCT p.name FROM custody c JOIN person p ON p.id = c.person_id WHERE {TOUCHES}")
    assert {row["wearer"] for row in rows} == {row[0] for row in names}
    minutes = int(str(asked(plain, f"SELECT sum(worn_minutes) FROM custody WHERE {TOUCHES}")[0][0]))
    worn = sum(float(row["worn_hours"] or 0) for row in rows)
    assert worn == pytest.approx(minutes / 60, abs=0.01 * len(rows))
    back = [datetime.fromisoformat(row["came_back"]) for row in rows if row["came_back"]]
    assert all(moment.utcoffset() == timedelta(hours=2) for moment in back if moment.date() < date(2026, 10, 25))


def test_no_medical_word_gets_into_it(desk: OpenDesk, plain: sqlite3.Connection) -> None:
    """Whatever stands in clearances' details, limits of work or notices: none of it is in the year's table."""
    register = made(desk, EVERYTHING, date(2025, 1, 1), date(2026, 12, 31))
    text = csv_file(register.table()).decode("utf-8-sig")
    told = "SELECT detail FROM clearance UNION SELECT detail FROM notice UNION SELECT damage FROM custody"
    private = {row[0] for row in plain.execute(told) if row[0]}
    assert private
    assert [one for one in private if one in text] == []
    for word in ("medical", "clearance", "health"):
        assert word not in text.lower()


def test_it_is_read_in_short_steps(desk: OpenDesk) -> None:
    """A year comes in many steps, so that a scan never waits for the whole; at the end it is what one look gives."""
    address = RegisterAsked(EVERYTHING, date(2025, 1, 1), date(2026, 12, 31)).address()
    steps = list(register_steps(desk.store, desk.house, address, MOMENT))
    assert len(steps) > 10
    assert [step.share for step in steps] == sorted(step.share for step in steps)
    assert isinstance(steps[-1], Told)
    assert not any(isinstance(step, Told) for step in steps[:-1])
    assert steps[-1].data == made(desk, EVERYTHING, date(2025, 1, 1), date(2026, 12, 31))


def test_a_day_of_which_the_clock_has_25_hours(desk: OpenDesk) -> None:
    """25 October 2026 ends an hour later by UTC than the day before did: the zone says so, no fixed length of a day."""
    house: House = desk.house
    begin, end = RegisterAsked(EVERYTHING, date(2026, 10, 25), date(2026, 10, 25)).moments(house)
    assert end.astimezone(UTC) - begin.astimezone(UTC) == timedelta(hours=25)
