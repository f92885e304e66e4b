"""A counter as a program of its own, for tests with several: `python -m tests.store.counter JOB ADDRESS NAME`."""

from __future__ import annotations

import sys
from dataclasses import replace

from cribdesk.crib.records import Custody, Unit, Where
from cribdesk.store.connect import SqlStore, open_store
from tests.store.conftest import out, save_all, unit, unwritten


def say(word: str) -> None:
    """One line to whoever started this counter."""
    print(word, flush=True)


def hand_out(store: SqlStore, seen: Unit, name: str) -> str:
    """Issues a unit as it was seen before; a collision is run once more, and finds it taken."""
    try:
        with store.work() as work:
            work.take(seen)
            work.save(out(seen.id, 1))
            work.save(replace(seen, where=Where.OUT))
            work.commit(unwritten(seen.id, operation_id=f"{name} {seen.id}", subjects=(seen.label,)))
    except Exception as failure:
        if not store.collided(failure):
            raise
        with store.work() as work:
            taken = work.first(Custody, unit_id=seen.id, returned_at=None)
            return f"taken {type(failure).__name__}" if taken else "lost"
    return "won"


def race(store: SqlStore, name: str) -> None:
    """For each line read: looks at that unit, says so, and hands it out at the next line."""
    for line in sys.stdin:
        with store.reading() as reader:
            seen = reader.get(Unit, int(line))
        say("seen")
        sys.stdin.readline()
        say(hand_out(store, seen, name))


def write(store: SqlStore, name: str) -> None:
    """Writes entries for ever, and says each operation id once it is kept."""
    number = 0
    while True:
        number += 1
        label = f"{name}-{number}"
        save_all(store, unit(0, label=label), unit(0, label=label + "b"), number=1, operation_id=label)
        say(label)


def main() -> None:
    """Does its job on the store."""
    job, address, name = sys.argv[1:]
    with open_store(address) as store:
        say("open")
        {"race": race, "write": write}[job](store, name)


if __name__ == "__main__":
    main()
