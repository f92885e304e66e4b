"""The state machine proved: from every state each operation is refused with a reason, or leads to a legal state."""

from __future__ import annotations

import importlib
import json
import pkgutil
import random
import shutil
from collections import Counter as Counter_
from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import cribdesk.desk
from cribdesk.crib.records import Where
from cribdesk.crib.refusal import NotAllowed
from cribdesk.crib.serviceable import condition
from cribdesk.desk.facts import standing_of
from cribdesk.desk.operation import PERSONAL_FIELDS, Operation
from cribdesk.store.check import check
from cribdesk.store.connect import open_store
from tests.desk.every_request import NEVER_HERE, NEVER_REFUSED, REQUESTS
from tests.desk.every_state import SERVICEABLE, State, every_state, impossible, usual_battery
from tests.desk.legal import Snapshot, before_and_after, faults, state_told
from tests.desk.requests_areas import assess_a_shed
from tests.desk.requests_common import Fields
from tests.desk.requests_program import evaluate
from tests.desk.requests_store import STORE, stock_the_store
from tests.desk.requests_wearer import limit_somebody
from tests.desk.scene import Bench, Scene, TriedShop, tried_house
from tests.desk.scene_making import furnish, make, seen
from tests.desk.shop import Shop

ENDS = ("Nothing changed.", "Nothing was issued here.")
SOUND_AT_ONE_IN = 700
"""Of the end states, how many are also held against their journal by `check`, which takes longer."""


@cache
def operations() -> dict[str, type[Operation]]:
    """Every operation there is, by its code: all modules of the desk are looked through."""
    for module in pkgutil.walk_packages(cribdesk.desk.__path__, "cribdesk.desk."):
        importlib.import_module(module.name)
    found = sorted(_below(Operation), key=lambda one: one.code)
    return {one.code: one for one in found if one.__module__.startswith("cribdesk.")}


def _below(kind: type[Operation]) -> set[type[Operation]]:
    return {found for one in kind.__subclasses__() for found in (one, *_below(one))}


@dataclass
class Tally:
    """What came of it all."""

    states: int = 0
    refused: Counter_[str] = field(default_factory=Counter_)
    led_on: Counter_[str] = field(default_factory=Counter_)
    checked: int = 0
    wrong: list[str] = field(default_factory=list)

    def table(self) -> str:
        """The figures, one operation a line."""
        codes = sorted(set(self.refused) | set(self.led_on))
        both = sum(self.refused.values()), sum(self.led_on.values())
        lines = [f"{code:24} refused {self.refused[code]:6}  led on {self.led_on[code]:6}" for code in codes]
        total = f"{self.states} states, {len(codes)} operations, {sum(both)} requests"
        return "\n".join([*lines, f"{total}: {both[0]} refused, {both[1]} led on, {self.checked} checked whole"])


@pytest.fixture
def bench_shop(built_shop: tuple[Path, Shop], tmp_path: Path) -> Iterator[Shop]:
    """A shop all of whose operations can be undone."""
    file, shop = built_shop
    own = tmp_path / "shop.sqlite"
    shutil.copy(file, own)
    with open_store(str(own), entropy=random.Random(11).randbytes) as opened:
        store = Bench(opened.address, opened.engine, random.Random(12).randbytes)
        with store.engine.writing() as outermost:
            own_shop = TriedShop(store, shop.moment, dict(shop.names), shop.clerk_id, copy(shop.tokens))
            furnish(own_shop)
            stock_the_store(own_shop)
            assess_a_shed(own_shop)
            evaluate(own_shop)
            limit_somebody(own_shop)
            yield own_shop
            outermost.rollback()


def chosen(long: bool) -> list[State]:
    """Every state with `--long`. Else each place and custody with some kinds of trouble, the rack and out with all,
    the pack where it usually is; and every place of the pack once."""
    possible, _ = every_state()
    if long:
        return list(possible)
    few = ("ready", "not checked", "hold: bench inspection")
    found = []
    for state in possible:
        plain = state.where in ("rack", "out") and state.custody in ("none", "issued", "returned")
        usual = usual_battery(state)
        told = state.serviceable in (few if state.custody != "completed" else few[:1])
        if (usual and (told or plain)) or (not usual and plain and state.serviceable == "ready"):
            found.append(state)
    return found


def test_every_operation_has_its_requests() -> None:
    """An operation that nobody said how to ask for is told by its name, and so is a row without operation."""
    assert set(operations()) == set(REQUESTS)


def test_states_are_told_apart() -> None:
    """Every combination is possible or has its reason; each place, custody, trouble and pack occurs."""
    possible, why = every_state()
    assert len(possible) + sum(why.values()) == 8 * 5 * len(SERVICEABLE) * 5
    assert {state.where for state in possible} >= {"rack", "out", "bench", "emergency cabinet", "scrapped", "missing"}
    assert all(state.serviceable in SERVICEABLE and not impossible(state) for state in possible)
    assert {state.serviceable for state in possible} == set(SERVICEABLE)
    assert all(len(words) > 12 for words in why)


def _try_all(shop: Shop, states: list[State], long: bool) -> Tally:
    tally, runs = Tally(), {}
    store = shop.store
    assert isinstance(store, Bench)
    kinds = operations()
    for number, state in enumerate(states):
        with store.undone():
            own = replace(shop, names=dict(shop.names), tokens=copy(shop.tokens))
            try:
                scene = make(own, state, runs)
            except (NotAllowed, LookupError) as failure:
                words = failure.words() if isinstance(failure, NotAllowed) else str(failure)
                tally.wrong.append(f"{state}: cannot be made: {words}")
                continue
            run = store.engine.run
            found = seen(scene, run)
            if found != state:
                tally.wrong.append(f"{state}: was made as {found}")
            tally.wrong += [f"{state}: {fault}" for fault in faults(run)]
            before = Snapshot.of(run)
            tally.states += 1
            for code, kind in kinds.items():
                if not long and number % 16 and (code in OF_THE_SHELF or not about_a_unit(kind)):
                    continue
                for fields in REQUESTS[code](scene) if code in REQUESTS else ():
                    _try(scene, kind, fields, before, tally)
        if len(tally.wrong) > 60:
            break
    return tally


ABOUT = {
    "unit_id", "unit_ids", "from_id", "custody_id", "custody_ids", "call_in_id", "hold_id", "hand_out_id", "battery_id",
    "person_id", "part_id", "label", "lot_id",
}  # fmt: skip


OF_THE_SHELF = set(STORE) - {"open-recall"} | {"count-lot"}
"""What is asked about goods: the state of a unit is nothing to it, except to a recall."""


def about_a_unit(kind: type[Operation]) -> bool:
    """Whether the operation is asked about something whose state differs from one state to the other."""
    return bool(ABOUT & set(kind.__dataclass_fields__))


def _try(scene: Scene, kind: type[Operation], fields: Fields, before: Snapshot, tally: Tally) -> None:
    store, shop = scene.shop.store, scene.shop
    assert isinstance(store, Bench)
    run, was = store.engine.run, shop.moment
    with store.undone():
        try:
            receipt = shop.do(kind, **fields)
        except NotAllowed as refusal:
            tally.refused[kind.code] += 1
            said = refusal.words()
            good = said.endswith(ENDS) and said[:1].isupper() and len(refusal.sentence) > 8
            head = run("SELECT seq FROM journal_head").fetchone()[0]
            if not good or head != before.head:
                tally.wrong.append(f"{scene.state}: {kind.code}: refused with {said!r}, entry {head}")
        except Exception as failure:
            tally.wrong.append(f"{scene.state}: {kind.code} {_short(fields)}: {failure!r}")
        else:
            tally.led_on[kind.code] += 1
            found = faults(run) + before_and_after(run, kind.code, before, tried_house(), shop.moment)
            found += _told_the_same(scene, run) + _in_the_digest(run, fields)
            if not receipt.sentence.endswith("."):
                found.append(f"says {receipt.sentence!r}")
            if sum(tally.led_on.values()) % SOUND_AT_ONE_IN == 0:
                tally.checked += 1
                found += map(str, check(store))
            tally.wrong += [f"{scene.state}: {kind.code} {_short(fields)}: {one}" for one in found]
        finally:
            shop.moment = was


def _in_the_digest(run: Any, fields: Fields) -> list[str]:
    """Fields whose words the entry seals, though they go into the plain digest of the request."""
    sealed = run("SELECT value FROM sealed WHERE seq = (SELECT seq FROM journal_head)").fetchall()
    words = {json.loads(value).strip() for (value,) in sealed}
    texts = {name: value.strip() for name, value in fields.items() if isinstance(value, str) and value.strip()}
    told = {name for name, text in texts.items() if any(text == word or (len(text) > 3 and text in word)
                                                        for word in words)}  # fmt: skip
    return [f"{name} is personal and stands in the request's digest" for name in sorted(told - PERSONAL_FIELDS)]


def _told_the_same(scene: Scene, run: object) -> list[str]:
    """The program and the rules told a second time agree on whether the unit may be used."""
    with scene.shop.store.reading() as reader:
        by_program = condition(standing_of(reader, tried_house(), scene.unit, scene.shop.moment)).state.value
    told = state_told(run, scene.unit.id, tried_house(), scene.shop.moment)
    told = "returned, not checked" if told == "not checked" else told
    return [] if by_program == told else [f"the program says {by_program}, the rules say {told}"]


def _short(fields: Fields) -> str:
    told = {name: value for name, value in fields.items() if name not in ("run_made", "shown", "parts")}
    if "run_made" in fields:
        made = fields["run_made"]
        told["run"] = f"{made.procedure.kind} {made.verdict}"
    return str(told)


def test_from_every_state(bench_shop: Shop) -> None:
    """In each state, each operation: refused in whole plain words with nothing changed, or a legal store after it."""
    tally = _try_all(bench_shop, chosen(False), False)
    _judge(tally)


@pytest.mark.long
@pytest.mark.parametrize("where", [one.value for one in Where])
def test_from_every_state_and_pack(bench_shop: Shop, where: str) -> None:
    """The same for the whole product of states, place by place, and every operation in each."""
    tally = _try_all(bench_shop, [state for state in chosen(True) if state.where == where], True)
    print(tally.table())
    assert tally.wrong == [], "\n".join([*tally.wrong, tally.table()])
    assert tally.states > 0


def _judge(tally: Tally) -> None:
    print(tally.table())
    assert tally.wrong == [], "\n".join([*tally.wrong, tally.table()])
    codes = set(operations())
    assert codes - set(tally.led_on) == NEVER_HERE, "never led on"
    assert codes - set(tally.refused) == NEVER_REFUSED, "never refused"
    assert tally.checked > 5
