"""A shop with one unit in one state, in a store that keeps nothing of what is tried in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from cribdesk.crib.reasons import cautions, reasons
from cribdesk.crib.records import (
    Area,
    Battery,
    Person,
    Unit,
)
from cribdesk.desk.counter import Counter
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.house import House
from cribdesk.procedure.run import Run
from cribdesk.store.connect import SqlStore
from tests.desk.every_state import State
from tests.desk.operating import failed
from tests.desk.shop import Shop, passed
from tests.desk.shop import house as shipped


class Bench(SqlStore):
    """A store all of whose transactions lie within one that is never kept: each is a savepoint, as quick as memory."""

    def _alone(self) -> None:
        """A transaction is open, on purpose."""

    @contextmanager
    def undone(self) -> Iterator[None]:
        """Nothing done inside stays."""
        with self.engine.database.atomic() as inside:
            yield
            inside.rollback()


@dataclass
class Scene:
    """A shop with its unit in one state, and the names of what a request may be about."""

    shop: Shop
    unit_name: str
    state: State
    runs: dict[tuple[Any, ...], Run] = field(default_factory=dict)
    wearer: str = "Wronecka"
    pack: str = "pack-1"
    unit_id: int = 0

    @property
    def unit(self) -> Unit:
        """The unit as it is now, also under a fresh label."""
        if not self.unit_id:
            return self.shop.record(Unit, self.unit_name)
        with self.shop.store.reading() as reader:
            return reader.get(Unit, self.unit_id)

    def latest(self, kind: type[Any], **equal: Any) -> Any:
        """The newest record of a kind, or None."""
        with self.shop.store.reading() as reader:
            return reader.latest(kind, **equal)

    def first(self, kind: type[Any], **equal: Any) -> Any:
        """The oldest record of a kind, or None."""
        with self.shop.store.reading() as reader:
            return reader.first(kind, **equal)

    def find(self, kind: type[Any], **equal: Any) -> list[Any]:
        """Every record of a kind."""
        with self.shop.store.reading() as reader:
            return reader.find(kind, **equal)

    def id(self, kind: type[Any], name: str) -> int:
        """The id behind a name of the shop."""
        return int(self.shop.record(kind, name).id)

    def run(self, kind: str, verdict: str = "pass", meter: str = "meter") -> Run:
        """A run of the unit's procedure of that kind, made now; the same one for every unit of its model."""
        shop = self.shop
        key = (self.unit.model, kind, verdict, meter, shop.moment)
        if key not in self.runs:
            make = passed if verdict == "pass" else failed
            more = (shop.names[meter],) if verdict == "pass" else ()
            self.runs[key] = make(self.unit, kind, shop.moment, shop.clerk_label, *more)
        return self.runs[key]

    def issue_fields(
        self, person: str, pack: str, kind: str, seen: bool = True, assigned: bool = False
    ) -> dict[str, Any]:
        """What an issue asks for, with every caution shown, or with none."""
        shop, unit = self.shop, self.unit
        due = None if assigned else tried_house().turn(shop.moment).end
        area = self.id(Area, "bay-3")
        ids = IssueIds(unit.id, self.id(Person, person), self.id(Battery, pack), area, due, assigned)
        with shop.store.reading() as reader:
            found = reasons(facts_of(reader, tried_house(), ids, shop.moment), shop.moment) if seen else ()
        return {
            "unit_id": unit.id, "person_id": ids.person_id, "battery_id": ids.battery_id, "area_id": ids.area_id,
            "due_at": due, "run_made": self.run(kind), "shown": tuple(one.key for one in cautions(found)),
            "assigned": assigned,
        }  # fmt: skip


@cache
def tried_house() -> House:
    """The shipped house with a reference blower, and with an employer of its own."""
    more = {"reference_lpm": "190", "own_employer": "Werft"}
    return replace(shipped(), settings={**shipped().settings, **more})


class TriedShop(Shop):
    """A shop of that house."""

    @property
    def counter(self) -> Counter:
        """Its back office."""
        return Counter(self.store, tried_house(), lambda: self.moment, "Office")
