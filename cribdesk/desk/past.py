"""A store as it stood at any moment: what forecasts of use rest on, read once and cut off where it is asked for."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from itertools import accumulate
from typing import Any

from cribdesk.crib.records import (
    Area,
    Custody,
    Delivery,
    Fitted,
    Movement,
    Requisition,
    RequisitionLine,
    RequisitionState,
    RequisitionStep,
    StockItem,
    Supplier,
    Unit,
)
from cribdesk.desk.forecasts import Step, reference_of
from cribdesk.desk.house import House
from cribdesk.desk.lives import FITTED, lasting_parts
from cribdesk.desk.ports import FILLED, Store

AT_ONCE = 25
NAMES = (*FITTED, "item_id", "expires_on")
REMOVED_AT, REMOVED_HOURS, WHY = (NAMES.index(name) for name in ("removed_at", "removed_at_hours", "removed_why"))
FITTED_AT, ITEM, EXPIRES = (NAMES.index(name) for name in ("fitted_at", "item_id", "expires_on"))
MOVES = ("item_id", "quantity", "why", "unit_id", "at")


@dataclass(frozen=True)
class Arrival:
    """One line of a requisition: who was asked, when, and when the first and the last of it came."""

    supplier_id: int
    asked_on: date
    arrived_at: datetime


@dataclass
class Sifted:
    """What use is worked out from, sifted once: use alone, by time; (moment, item) of parts at the end of their life,
    by time; each item's first movement; the fleet's hours by day since the first issue."""

    events: list[tuple[datetime, int, int, bool]] = field(default_factory=list)
    ends: list[tuple[datetime, int]] = field(default_factory=list)
    since: dict[int, datetime] = field(default_factory=dict)
    hours: defaultdict[int, float] = field(default_factory=lambda: defaultdict(float))

    @property
    def hours_by_day(self) -> list[float]:
        """Hours that came back on each whole day."""
        return [self.hours[day] for day in range(max(self.hours, default=-1) + 1)]


@dataclass
class Past:
    """What was read, by unit and in order of time."""

    items: dict[int, StockItem] = field(default_factory=dict)
    suppliers: dict[int, Supplier] = field(default_factory=dict)
    units: dict[int, Unit] = field(default_factory=dict)
    areas: list[Area] = field(default_factory=list)
    lasting: Mapping[int, int] = field(default_factory=dict)
    fitted: defaultdict[int, list[tuple[Any, ...]]] = field(default_factory=lambda: defaultdict(list))
    uses: defaultdict[int, list[tuple[Any, ...]]] = field(default_factory=lambda: defaultdict(list))
    moves: list[tuple[Any, ...]] = field(default_factory=list)
    arrivals: list[Arrival] = field(default_factory=list)
    begun_at: datetime | None = None
    seq: int = 0
    reference: int | None = None
    sifted: Sifted | None = None  # see use_history

    def meter(self, unit_id: int, moment: datetime) -> float:
        """A unit's worn hours as they stood then."""
        uses = self.uses[unit_id]
        after = uses[bisect_right(uses, moment, key=_back) :]
        return max(0.0, self.units[unit_id].worn_hours - sum(row[3] or 0.0 for row in after))

    def at(self, moment: datetime) -> PastReader:
        """A reader of what was known then."""
        return PastReader(self, moment)

    def units_at(self, moment: datetime) -> list[Unit]:
        """The units there were then, with their meters as they stood."""
        return [one for unit in self.units.values() for one in self.unit_at(unit, moment)]

    def unit_at(self, unit: Unit, moment: datetime) -> list[Unit]:
        """The unit with its meter as it stood then; none where it was not there yet."""
        there = unit.added_at <= moment
        return [replace(unit, worn_hours=self.meter(unit.id, moment))] if there else []


def _back(row: tuple[Any, ...]) -> datetime:
    back: datetime = row[2]
    return back


@dataclass(frozen=True)
class PastReader:
    """What `lives.gather` asks of a reader, as it was known at a moment."""

    past: Past
    moment: datetime

    def columns(self, kind: type, names: Sequence[str], /, **equal: Any) -> list[tuple[Any, ...]]:
        """Fitted parts and uses of some units, without what came later."""
        units: Sequence[int] = equal["unit_id"]
        if kind is Custody:
            rows = self.past.uses
            return [row for unit in units for row in rows[unit][: bisect_right(rows[unit], self.moment, key=_back)]]
        width = len(names)
        return [row[:width] for unit in units for row in self.fitted(unit)]

    def fitted(self, unit_id: int) -> Iterator[tuple[Any, ...]]:
        """The unit's parts as they were then: what was removed later is still fitted."""
        for row in self.past.fitted[unit_id]:
            if row[FITTED_AT] > self.moment:
                continue
            if row[REMOVED_AT] is not None and row[REMOVED_AT] > self.moment:
                yield (*row[:REMOVED_AT], None, None, "", row[ITEM], row[EXPIRES])
            else:
                yield row


def read_past(store: Store, house: House, into: Past) -> Iterator[Step]:
    """Fills it in short steps."""
    with store.reading() as reader:
        into.seq = reader.head().seq
        into.items = {one.id: one for one in reader.find(StockItem, active=True)}
        into.suppliers = {one.id: one for one in reader.find(Supplier)}
        into.units = {one.id: one for one in reader.find(Unit) if one.model in house.models}
        into.areas = [one for one in reader.find(Area) if one.dust_ug_m3 is not None]
        into.lasting = lasting_parts(reader)
        first = reader.first(Custody)
        into.begun_at = first.issued_at if first else None
    yield Step(0.02, "Reading stock")
    ids = list(into.units)
    for start in range(0, len(ids), AT_ONCE):
        some = ids[start : start + AT_ONCE]
        with store.reading() as reader:
            for row in reader.columns(Fitted, NAMES, unit_id=some):
                into.fitted[row[1]].append(row)
            names = ("unit_id", "area_id", "returned_at", "worn_hours")
            for row in reader.columns(Custody, names, unit_id=some, returned_at=FILLED):
                into.uses[row[0]].append(row)
        for unit in some:
            into.uses[unit].sort(key=_back)
        yield Step(0.02 + 0.18 * start / max(1, len(ids)), "Reading what was used")
    with store.reading() as reader:
        into.moves = reader.columns(Movement, MOVES)
    yield Step(0.2, "Reading what was used")
    with store.reading() as reader:
        asked = {one.id: one for one in reader.find(Requisition)}
        lines = {one.id: one for one in reader.find(RequisitionLine)}
        deliveries = reader.find(Delivery, requisition_line_id=FILLED)
        sent = {one.requisition_id: one.at for one in reader.find(RequisitionStep, state=RequisitionState.SENT)}
    for delivery in deliveries:
        line = lines[delivery.requisition_line_id or 0]
        requisition = asked[line.requisition_id]
        asked_on = house.today(sent[requisition.id]) if requisition.id in sent else requisition.made_on
        into.arrivals.append(Arrival(requisition.supplier_id, asked_on, delivery.arrived_at))
    worn: defaultdict[int, float] = defaultdict(float)
    for uses in into.uses.values():
        for _, area, _, hours in uses:
            if area is not None:
                worn[area] += hours or 0.0
    into.reference = reference_of(into.areas, worn)
    yield Step(0.2, "Reading what was used")


def totals(values: Sequence[float]) -> list[float]:
    """Running totals that begin at nought."""
    return [0.0, *accumulate(values)]
