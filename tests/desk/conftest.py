"""A shop to operate on: built once a run, copied for each test."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from copy import copy
from dataclasses import replace
from pathlib import Path

import pytest

from cribdesk.store.connect import open_store
from tests.desk.shop import Shop


@pytest.fixture(scope="session")
def built_shop(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Shop]:
    """The shop's file and what its things are called."""
    file = tmp_path_factory.mktemp("shop") / "shop.sqlite"
    with open_store(str(file), create=True, entropy=random.Random(7).randbytes) as store:
        shop = Shop(store).build()
    return file, shop


@pytest.fixture
def own_shop(built_shop: tuple[Path, Shop], tmp_path: Path) -> Iterator[Shop]:
    """A shop of its own for the test; the back office works in it with every role."""
    file, shop = built_shop
    own = tmp_path / "shop.sqlite"
    shutil.copy(file, own)
    with open_store(str(own)) as store:
        yield replace(shop, store=store, names=dict(shop.names), tokens=copy(shop.tokens))
