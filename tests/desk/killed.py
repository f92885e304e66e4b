"""A counter as a program of its own that stops before its entry is written, to be killed there.

`python -m tests.desk.killed ADDRESS CLERK OPERATION_ID JOB PERSON...`
"""

from __future__ import annotations

import sys
import time
from datetime import date
from typing import Any

from cribdesk.crib.entry import Entry
from cribdesk.crib.records import ClearanceKind
from cribdesk.desk.class_day import ClearMany
from cribdesk.desk.counter import Counter
from cribdesk.desk.erasure import ErasePerson
from cribdesk.desk.operation import Operation
from cribdesk.store.connect import open_store
from tests.desk.shop import BUILT, house

YESTERDAY, TODAY = date(2026, 11, 24), date(2026, 11, 25)


def operation(operation_id: str, job: str, people: list[int]) -> Operation:
    """What it is about to do."""
    if job == "erase":
        return ErasePerson(operation_id=operation_id, person_id=people[0], left_on=YESTERDAY)
    rows = tuple((person, "", None) for person in people)
    return ClearMany(operation_id=operation_id, kind=ClearanceKind.TRAINING, given_on=TODAY, rows=rows)


class Stopping(Counter):
    """Says that all rows are written, and waits for its end."""

    def _commit(self, *_: Any) -> Entry:
        print("written", flush=True)
        while True:
            time.sleep(60)


def main() -> None:
    """Does its job on the store, nearly."""
    address, clerk, operation_id, job, *people = sys.argv[1:]
    with open_store(address) as store:
        counter = Stopping(store, house(), lambda: BUILT, "Counter 2")
        counter.do(operation(operation_id, job, [int(one) for one in people]), int(clerk))


if __name__ == "__main__":
    main()
