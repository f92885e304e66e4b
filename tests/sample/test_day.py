"""A day on the sample store by scan scripts, from the first scan at 05:40 to the closed shift, and its lists then."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from cribdesk.crib.records import SiteSetting
from cribdesk.desk.house import House
from cribdesk.desk.matters import matters
from cribdesk.desk.settings import values
from cribdesk.opening import finished_sample, load_house
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from tests.sample.day import Day
from tests.sample.day_end import begun, differences
from tests.sample.day_plan import live

BEGINS = datetime(2026, 11, 26, 4, 40, tzinfo=UTC)
"""05:40 in Vienna, the day after the sample ends."""

BY_FORM = {"own-check-slip", "scrap", "open-bag", "close-bag"}
"""Matters that open a form of the office: the window's own tests fill those."""
ELSEWHERE = {
    "by-name", "confirm-fitting", "assign", "monthly", "pre-stage", "meter-check", "call-in-all", "stolen", "crushed",
    "information-sheet", "break-seal", "used-from-cabinet", "arrive", "receive", "count", "wearer-card", "accept",
    "class-day",
}  # fmt: skip
"""Matters whose entry bears another name, or that this day has no occasion for: each has its scripts."""


@pytest.fixture
def morning(tmp_path: Path) -> Iterator[SqlStore]:
    """A private copy of the sample store. A power cut is not what is tried here, so nothing waits for the disk."""
    copy = tmp_path / "day.sqlite"
    shutil.copyfile(finished_sample(), copy)
    with open_store(str(copy), entropy=random.Random(6).randbytes, clock=lambda: BEGINS) as store:
        store.engine.run("PRAGMA synchronous = OFF")
        yield store


def house_of(store: SqlStore) -> House:
    """The shipped models and procedures with the sample's settings."""
    house, faults = load_house()
    assert faults == ()
    with store.reading() as reader:
        return replace(house, settings=values(reader.find(SiteSetting)))


def _lived(store: SqlStore, share: float) -> Day:
    day = Day(store, house_of(store), BEGINS)
    live(day, share)
    total = sum(day.tally.done.values())
    print(f"{total} operations, {sum(day.tally.refused.values())} refusals, {len(day.text)} lines: {day.tally.done}")
    assert begun(day) - BEGINS < timedelta(minutes=10)
    assert day.tally.done["close-shift"] == 1
    assert not (wrong := differences(day)), "\n".join(wrong)
    assert check(store) == []
    return day


def test_a_day_of_600_operations(morning: SqlStore) -> None:
    """The whole shift in a crib's proportions: most of it hand-outs, issues, returns and packs."""
    day = _lived(morning, 1.0)
    done = day.tally.done
    assert sum(done.values()) - done["print"] >= 600
    assert sum(day.tally.refused.values()) >= 25
    assert set(matters()) - BY_FORM - ELSEWHERE <= set(done) | {"carrier"}
    busiest = sorted(done, key=lambda code: -done[code])[:8]
    assert busiest[0] == "hand-out"
    assert {"issue", "return"} <= set(busiest)
