"""Several programs on one store: collisions, and programs that die in the middle."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections.abc import Callable, Iterator

import pytest

from cribdesk.crib.records import Custody, Unit
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from tests.store.conftest import person, save_all, unit

UNITS = 12
Start = Callable[[str, str, str], "subprocess.Popen[str]"]


@pytest.fixture
def start() -> Iterator[Start]:
    """Starts counters and waits until they have opened the store."""
    started: list[subprocess.Popen[str]] = []

    def one(job: str, address: str, name: str) -> subprocess.Popen[str]:
        command = [sys.executable, "-m", "tests.store.counter", job, address, name]
        counter = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        started.append(counter)
        assert hear(counter) == "open"
        return counter

    yield one
    for counter in started:
        counter.kill()
        counter.communicate()


def hear(counter: subprocess.Popen[str]) -> str:
    """The next word of a counter."""
    assert counter.stdout is not None
    return counter.stdout.readline().strip()


def tell(counter: subprocess.Popen[str], word: str) -> None:
    """A word to a counter."""
    assert counter.stdin is not None
    counter.stdin.write(word + "\n")
    counter.stdin.flush()


def test_two_counters_want_the_same_unit(store: SqlStore, start: Start) -> None:
    """Of two who saw a unit on the rack one gets it; the other runs once more and finds it taken."""
    save_all(store, person(1), *[unit(number) for number in range(1, UNITS + 1)])
    counters = [start("race", store.address, name) for name in ("left", "right")]
    for number in range(1, UNITS + 1):
        for counter in counters:
            tell(counter, str(number))
        assert [hear(counter) for counter in counters] == ["seen", "seen"]
        for counter in counters:
            tell(counter, "go")
        words = sorted(hear(counter) for counter in counters)
        assert words[0] in ("taken IntegrityError", "taken Stale")
        assert words[1] == "won"
    with store.reading() as reader:
        assert len(reader.find(Custody, returned_at=None)) == UNITS
        assert reader.head().seq == UNITS + 1
    assert check(store) == []


def test_a_counter_that_is_killed(address: str, start: Start, request: pytest.FixtureRequest) -> None:
    """Killed while it commits, again and again: what it said was kept is there, the rest has left no trace."""
    rounds = 50 if request.config.getoption("--long") else 5
    chance = random.Random(11)
    kept: list[str] = []
    open_store(address, create=True).close()
    for number in range(rounds):
        counter = start("write", address, f"round {number}")
        kept += [hear(counter) for _ in range(chance.randrange(1, 6))]
        time.sleep(chance.random() / 50)
        counter.kill()
        assert counter.stdout is not None
        kept += [word for word in counter.stdout.read().split("\n")[:-1] if word]
        counter.wait()
        with open_store(address) as store:
            with store.reading() as reader:
                assert all(reader.entry_of(word) for word in kept)
                assert reader.count(Unit) == 2 * reader.head().seq
                assert reader.head().seq - len(kept) <= number + 1
            assert check(store) == []
