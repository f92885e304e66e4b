"""The desk as the simulated people use it: operations through counters, and looking things up."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from chance import Chance
from clockwork import Clockwork

from cribdesk.crib.records import Unit
from cribdesk.crib.refusal import NotAllowed
from cribdesk.crib.serviceable import Condition, Standing, condition
from cribdesk.desk.counter import Counter
from cribdesk.desk.facts import standing_of
from cribdesk.desk.house import House
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import R, Reader
from cribdesk.desk.receipt import Receipt
from cribdesk.opening import load_house
from cribdesk.store.connect import SqlStore

COUNTERS = ("Counter 1", "Bench", "Store room", "Office")


def read_house() -> House:
    """The shipped unit models and procedures, every setting at its default."""
    house, faults = load_house()
    if faults:
        raise SystemExit("\n".join(faults))
    return house


class Hands:
    """Does operations at four counters of one store under the simulated clock."""

    def __init__(self, store: SqlStore, house: House, clockwork: Clockwork, ids: Chance) -> None:
        self.store = store
        self.house = house
        self.clockwork = clockwork
        self._ids = ids
        self._counters = {name: Counter(store, house, clockwork.clock, name) for name in COUNTERS}
        self._standings: dict[int, Standing] = {}
        self._conditions: dict[int, tuple[Standing, Condition]] = {}
        self.refused: list[str] = []

    def do(self, where: str, clerk_id: int | None, kind: type[Operation], /, **asked: Any) -> Receipt:
        """Carries an operation out at a counter."""
        operation = kind(operation_id=self._ids.uuid(), **asked)
        self._standings.pop(asked.get("unit_id", 0), None)
        return self._counters[where].do(operation, clerk_id)

    def try_to(self, where: str, clerk_id: int | None, kind: type[Operation], /, **asked: Any) -> Receipt | None:
        """The same, None where the rules forbid it."""
        try:
            return self.do(where, clerk_id, kind, **asked)
        except NotAllowed as failure:
            self.refused.append(f"{kind.code}: {failure.words()}")
            return None

    @contextmanager
    def looking(self) -> Iterator[Reader]:
        """A look at the store."""
        with self.store.reading() as reader:
            yield reader

    def get(self, kind: type[R], id: int) -> R:
        """The record of that id."""
        with self.store.reading() as reader:
            return reader.get(kind, id)

    def find(self, kind: type[R], /, **equal: object) -> list[R]:
        """All records whose fields are as said."""
        with self.store.reading() as reader:
            return reader.find(kind, **equal)

    def last(self, kind: type[R], /, **equal: object) -> R:
        """The record made last."""
        with self.store.reading() as reader:
            found = reader.latest(kind, **equal)
        assert found is not None
        return found

    def standing(self, unit_id: int) -> Standing:
        """A unit's standing; looked up again after an operation on it, and on a new day."""
        known = self._standings.get(unit_id)
        if known is None or known.today != self.house.today(self.clockwork.now):
            with self.store.reading() as reader:
                known = standing_of(reader, self.house, reader.get(Unit, unit_id), self.clockwork.now)
            self._standings[unit_id] = known
        return known

    def condition(self, unit_id: int) -> Condition:
        """Whether a unit may be used, and why not."""
        standing = self.standing(unit_id)
        known = self._conditions.get(unit_id)
        if known is None or known[0] is not standing:
            known = self._conditions[unit_id] = (standing, condition(standing))
        return known[1]

    def changed(self, *unit_ids: int) -> None:
        """Forgets what is known of these units."""
        for unit_id in unit_ids:
            self._standings.pop(unit_id, None)


__all__ = ["COUNTERS", "Hands", "read_house"]
