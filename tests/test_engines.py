"""The tests' own ground: both engines are there, fresh for each test; nothing is left out unsaid."""

import os
import sqlite3
import subprocess
import sys
from collections import Counter
from pathlib import Path

import psycopg
import pytest

from tests import long_run, not_run, postgres

ROOT = Path(__file__).parents[1]


def test_address_is_fresh_on_each_engine(engine: str, address: str) -> None:
    """A store address is empty, takes a table, and is on the engine that the test's name says."""
    if engine == "sqlite":
        assert not Path(address).exists()
        connection = sqlite3.connect(address)
        connection.execute("create table unit (id integer)")
        connection.close()
        return
    with psycopg.connect(address) as server:
        tables = server.execute("select count(*) from pg_tables where schemaname = 'public'").fetchone()
        assert tables == (0,)
        server.execute("create table unit (id integer)")


LEFT_OPEN: list[psycopg.Connection] = []


@pytest.mark.parametrize("time", [1, 2])
def test_databases_do_not_see_each_other(postgres_address: str, time: int) -> None:
    """What one test writes, the next does not find, though its connection is still open."""
    server = psycopg.connect(postgres_address, autocommit=True)
    server.execute("create table once (id integer)")
    LEFT_OPEN.append(server)


@pytest.mark.parametrize("engine", ["sqlite"])
def test_a_test_can_name_one_engine(engine: str, address: str) -> None:
    """A test for one engine alone names it and is not repeated on the other."""
    assert address.endswith(".sqlite")


def test_server_is_not_root_and_not_in_utc(postgres_address: str) -> None:
    """The server runs unprivileged, sorts by code point as SQLite does, and has a zone far from UTC."""
    with psycopg.connect(postgres_address) as server:
        assert server.execute("show timezone").fetchone() == ("Pacific/Chatham",)
        assert server.execute("select 'Z' < 'a'").fetchone() == (True,)
        row = server.execute("select pg_read_file('/proc/self/status')").fetchone()
    assert row is not None
    uid = next(line for line in row[0].splitlines() if line.startswith("Uid:")).split()[1]
    assert uid != "0"


def test_user_folders_are_never_touched() -> None:
    """Every folder a store, a setting or a cache could go to lies inside this run's own temporary folder."""
    import platformdirs

    shared = os.environ["CRIBDESK_TESTS_SHARED"]
    for folder in (platformdirs.user_data_dir, platformdirs.user_config_dir, platformdirs.user_cache_dir):
        assert folder("cribdesk").startswith(shared)


def test_closing_line_counts_and_gives_reasons() -> None:
    """The closing line tells how many tests were left out and why, the commonest reason first."""
    line = not_run.closing_line(Counter({"the moon is full": 1, "no server": 3}))
    assert line == "NOT RUN: 4 tests: 3 because no server; 1 because the moon is full"


ONE_LEFT_OUT = "def test_a(): pytest.skip('no server')\n"


@pytest.mark.parametrize(
    ("parallel", "body", "code", "last"),
    [
        ("", "def test_b(): pass", 0, None),
        ("", ONE_LEFT_OUT + "def test_b(): pass", 3, "NOT RUN: 1 test: 1 because no server"),
        ("-n2", ONE_LEFT_OUT + "def test_b(): pass", 3, "NOT RUN: 1 test: 1 because no server"),
        ("", ONE_LEFT_OUT + "def test_b(): assert False", 1, "NOT RUN: 1 test: 1 because no server"),
        ("-n2", "pytest.skip('not today', allow_module_level=True)", None, None),
    ],
    ids=["all run", "one left out", "the same in parallel", "and one failed", "a whole file, in parallel"],
)
def test_left_out_tests_are_told(
    tmp_path: Path, parallel: str, body: str, code: int | None, last: str | None
) -> None:
    """A run that leaves a test out exits 3 and says so in its last line; a failure still exits 1."""
    (tmp_path / "test_it.py").write_text(f"import pytest\n{body}\n", "utf-8")
    (tmp_path / "pytest.ini").write_text("[pytest]\n", "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-ptests.not_run", "-pxdist", *parallel.split(), str(tmp_path)],
        cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(ROOT), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    closing = done.stdout.strip().splitlines()[-1]
    if code is None:
        assert done.returncode not in (0, 3)
        assert "leaves itself out" in done.stdout
        return
    assert done.returncode == code, done.stdout
    assert closing.startswith(last) if last else "1 passed" in closing


def test_no_server_is_told_with_the_reason(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without initdb every later worker hears the same reason; nothing is tried twice."""
    monkeypatch.setattr(postgres, "find_initdb", lambda: None)
    for _ in range(2):
        with pytest.raises(postgres.CannotBeHad, match="initdb is not on this machine"):
            postgres.shared(tmp_path)


def test_a_server_can_be_durable_and_leaves_nothing(postgres_server: postgres.Server) -> None:
    """A test's own durable server has fsync on; stopping it leaves no process and no folder."""
    folder = postgres.folder_for_all("cribdesk-durable-") / "postgres"
    own = postgres.start(folder, durable=True)
    try:
        with psycopg.connect(own.address("postgres")) as server:
            assert server.execute("show fsync").fetchone() == ("on",)
    finally:
        postgres.stop(own)
        folder.parent.rmdir()
    assert not postgres.alive(own.pid)
    assert not folder.exists()


def test_header_tells_the_last_long_run(tmp_path: Path) -> None:
    """The header says when the long tests ran last, or that they never did, with the command."""
    note = tmp_path / "LONG_RUN.json"
    assert "never run" in long_run.header(note)

    class Reporter:
        stats = {"passed": [1, 2]}  # noqa: RUF012 - stands for pytest's own

    long_run.note(Reporter(), note)
    assert "2 passed" in long_run.header(note)
