"""What all tests share: no screen, the user's own folders untouched, both engines, one PostgreSQL."""

from __future__ import annotations

import itertools
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest

from tests import long_run, postgres

os.environ["QT_QPA_PLATFORM"] = "offscreen"

pytest_plugins = ["tests.not_run"]

SHARED = "CRIBDESK_TESTS_SHARED"  # the folder that all workers of one run share

hypothesis.settings.register_profile("ordinary", deadline=None, derandomize=True, print_blob=True)
hypothesis.settings.register_profile("long", deadline=None, max_examples=2000, print_blob=True)


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("cribdesk")
    group.addoption("--long", action="store_true", help="run the tests marked long too, with full counts")
    group.addoption(
        "--engine", choices=["both", "sqlite", "postgresql"], default="both", help="databases to test on"
    )


def pytest_configure(config: pytest.Config) -> None:
    hypothesis.settings.load_profile("long" if config.getoption("--long") else "ordinary")
    if hasattr(config, "workerinput"):
        return
    shared = postgres.folder_for_all("cribdesk-tests-")
    os.environ[SHARED] = str(shared)
    for name in ("DATA", "CONFIG", "STATE", "CACHE"):
        folder = shared / name.lower()
        folder.mkdir(mode=0o700)
        os.environ[f"XDG_{name}_HOME"] = str(folder)


def pytest_unconfigure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput") and SHARED in os.environ:
        folder = Path(os.environ.pop(SHARED))
        postgres.stop_shared(folder)
        shutil.rmtree(folder, ignore_errors=True)


def pytest_report_header(config: pytest.Config) -> str:
    return "long tests: run now" if config.getoption("--long") else long_run.header()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the long tests unless asked for, and the engine that was not asked for."""
    engine = config.getoption("--engine")

    def wanted(item: pytest.Item) -> bool:
        on_postgres = item.get_closest_marker("postgres") is not None
        if engine == "sqlite" and on_postgres:
            return False
        if engine == "postgresql" and not on_postgres and "engine" in getattr(item, "fixturenames", ()):
            return False
        return config.getoption("--long") or item.get_closest_marker("long") is None

    left_out = [item for item in items if not wanted(item)]
    if left_out:
        items[:] = [item for item in items if wanted(item)]
        config.hook.pytest_deselected(items=left_out)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Note the date of a long run of everything that passed."""
    config = session.config
    if hasattr(config, "workerinput") or not config.getoption("--long") or exitstatus != pytest.ExitCode.OK:
        return
    narrowed = config.args != config.getini("testpaths") or config.getoption("--engine") != "both"
    narrowed = narrowed or bool(config.getoption("keyword") or config.getoption("markexpr"))
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    if not narrowed and not reporter.stats.get("skipped"):
        long_run.note(reporter)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def engine(request: pytest.FixtureRequest) -> str:
    """Each engine in turn; a test for one alone names it: `parametrize("engine", ["sqlite"])`."""
    return str(request.param)


@pytest.fixture(scope="session")
def postgres_server() -> postgres.Server:
    """The one server of this run; without one the test is reported NOT RUN."""
    try:
        return postgres.shared(Path(os.environ[SHARED]))
    except postgres.CannotBeHad as fault:
        pytest.skip(str(fault))


DATABASES = itertools.count(1)


@pytest.fixture
def postgres_address(postgres_server: postgres.Server) -> Iterator[str]:
    """The address of a fresh, empty database, dropped afterwards even when connections are left."""
    import psycopg

    name = f"crib_{os.getpid()}_{next(DATABASES)}"
    with psycopg.connect(postgres_server.address("postgres"), autocommit=True) as connection:
        connection.execute(f'create database "{name}" template template0')
        yield postgres_server.address(name)
        connection.execute(f'drop database "{name}" with (force)')


@pytest.fixture
def address(engine: str, tmp_path: Path, request: pytest.FixtureRequest) -> str:
    """A fresh store address on the engine: a file that is not there yet, or an empty database."""
    if engine == "sqlite":
        return str(tmp_path / "crib.sqlite")
    return str(request.getfixturevalue("postgres_address"))
