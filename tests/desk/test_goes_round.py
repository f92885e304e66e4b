"""A store in which everything was done once goes out and back, by dump and by backup, over each engine."""

from __future__ import annotations

import random
from contextlib import suppress
from copy import copy
from pathlib import Path
from typing import Any

import pytest

from cribdesk.crib.acceptance import wants_accepting
from cribdesk.crib.reasons import cautions, reasons
from cribdesk.crib.records import Person, Unit
from cribdesk.crib.refusal import NotAllowed
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.seal_look import LookAtSeal
from cribdesk.desk.work_limits import SetWorkLimit
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.transfer import backup, copy_file, dump, load, restore
from tests.desk.every_request import REQUESTS
from tests.desk.every_state import State
from tests.desk.operating import custody_of, issue_fields
from tests.desk.requests_areas import assess_a_shed
from tests.desk.requests_program import evaluate
from tests.desk.requests_store import stock_the_store
from tests.desk.requests_wearer import limit_somebody
from tests.desk.scene import TriedShop, tried_house
from tests.desk.scene_making import furnish, make
from tests.desk.shop import Shop
from tests.desk.test_every_state import operations

SELDOM = {"battery_run", "battery_swap", "carried", "gtin", "order_rule", "own_check"}
"""Tables that a single try of everything leaves empty; tests of their own fill them."""


def do_everything(shop: TriedShop) -> None:
    """Whatever can be asked of a shop, asked: what is refused is refused."""
    furnish(shop)
    stock_the_store(shop)
    assess_a_shed(shop)
    evaluate(shop)
    limit_somebody(shop)
    wearer, tight = shop.record(Person, "Nkemba").id, shop.record(Unit, "ff-1").id
    shop.do(LookAtSeal, person_id=wearer, unit_id=tight)
    _accept_a_caution(shop, wearer)
    scene = make(shop, State("rack", "none", "ready", "on the shelf"), {})
    for code, kind in operations().items():
        try:
            asked = REQUESTS[code](scene)[:3] if code != "first-start" else []
        except (AssertionError, IndexError):
            continue  # what it is asked of went away with what was done before
        for fields in asked:
            with suppress(NotAllowed):
                shop.do(kind, **fields)


def _accept_a_caution(shop: Shop, wearer: int) -> None:
    """An issue with a caution accepted by name, and its return."""
    day = tried_house().today(shop.moment)
    shop.do(SetWorkLimit, person_id=wearer, code_of_limit="not above 30 C", given_on=day)
    shop.inspect("wl-2")
    handed = issue_fields(shop, "wl-2", "Nkemba", "pack-2")
    ids = IssueIds(*(handed[name] for name in ("unit_id", "person_id", "battery_id", "area_id", "due_at")))
    with shop.store.reading() as reader:
        (limit,) = wants_accepting(cautions(reasons(facts_of(reader, tried_house(), ids, shop.moment), shop.moment)))
    shop.do(IssueUnit, accepted=((*limit.key, limit.words, "a cool hall", shop.clerk_id),), **handed)
    shop.do(TakeBack, unit_id=handed["unit_id"])
    custody = custody_of(shop, "wl-2")
    shop.do(CompleteReturn, custody_id=custody.id, worn_hours=0.1, battery_back=True)


def rows(store: SqlStore) -> dict[str, list[Any]]:
    """Every row of every table."""
    with store.reading():
        return {
            table: sorted(store.engine.run(f'SELECT * FROM "{table}"').fetchall(), key=repr)
            for table in store.engine.points_at()
        }


@pytest.fixture
def lived(built_shop: tuple[Path, Shop], tmp_path: Path) -> Path:
    """The file of a store in which everything was done."""
    file, shop = built_shop
    own = tmp_path / "lived.sqlite"
    copy_file(file, own)
    with open_store(str(own), entropy=random.Random(5).randbytes) as store:
        do_everything(TriedShop(store, shop.moment, dict(shop.names), shop.clerk_id, copy(shop.tokens)))
    return own


def test_everything_goes_out_and_back(lived: Path, address: str, engine: str, tmp_path: Path) -> None:
    """Dumped, loaded, backed up and restored it has the same rows in each of its tables, and is sound."""
    with open_store(str(lived)) as store:
        whole = rows(store)
        assert {table for table, some in whole.items() if not some} <= SELDOM
        assert check(store) == []
        dump(store, tmp_path / "out")
    copied = tmp_path / ("backup.sqlite" if engine == "sqlite" else "backup.jsonl.xz")
    with open_store(address, create=True) as over:
        load(tmp_path / "out", over)
        assert check(over) == []
        backup(over, copied)
    restore(copied, str(tmp_path / "back.sqlite"))
    with open_store(str(tmp_path / "back.sqlite")) as back:
        assert rows(back) == whole
