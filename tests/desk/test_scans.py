"""Stretches of a shift replayed without a widget: every script in tests/scans."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from tests.desk.harness import Desk
from tests.desk.script import Script, read_script
from tests.desk.shop import BUILT, Shop, house

SCRIPTS = sorted((Path(__file__).parents[1] / "scans").glob("*.txt"))
OPENS = BUILT + timedelta(hours=1, minutes=12)
"""06:12 in Vienna, early in the day shift."""


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Shop]:
    """The shop, set up once: its file and its names."""
    file = tmp_path_factory.mktemp("shop") / "shop.sqlite"
    with open_store(str(file), create=True, entropy=random.Random(3).randbytes) as store:
        shop = Shop(store).build()
        assert check(store) == []
        store.engine.run("PRAGMA wal_checkpoint(TRUNCATE)")
    return file, shop


@pytest.fixture
def shop_store(built: tuple[Path, Shop], tmp_path: Path) -> Iterator[SqlStore]:
    """A private copy of the shop's store."""
    copy = tmp_path / "shop.sqlite"
    shutil.copy(built[0], copy)
    with open_store(str(copy), entropy=random.Random(4).randbytes) as store:
        yield store


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.stem)
def test_script(script: Path, built: tuple[Path, Shop], shop_store: SqlStore) -> None:
    """Everything the script says holds, line by line, and the store is sound and replays to itself afterwards."""
    _, shop = built
    mine = Shop(shop_store, shop.moment, dict(shop.names), shop.clerk_id, shop.tokens)
    desk = Desk(shop_store, house(), OPENS)
    met = Script(desk, mine).run(script.read_text("utf-8"))
    assert met > 2
    assert check(shop_store) == []


def test_there_are_scripts() -> None:
    """The folder is found, and every script has something it holds the counter to."""
    assert len(SCRIPTS) >= 25
    for script in SCRIPTS:
        steps = read_script(script.read_text("utf-8"))
        assert sum(len(step.expected) for step in steps) >= 2, script.name
