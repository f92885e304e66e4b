"""What the builders of papers share: local moments, people and instruments by id, the entry behind a paper."""

from __future__ import annotations

from datetime import datetime
from typing import TypeVar

from cribdesk.crib.entry import Entry
from cribdesk.crib.records import Record, Unit
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader

AT_THE_CRIB = "the crib"
"""Where no entry tells the counter."""

ENTRIES_LOOKED_AT = 20
R = TypeVar("R", bound=Record)


def local(house: House, moment: datetime) -> datetime:
    """The moment in the site's own time."""
    return moment.astimezone(house.zone)


def unit_name(house: House, unit: Unit) -> str:
    """The name of the unit's model, its code where the model has no file."""
    model = house.models.get(unit.model)
    return model.name if model else unit.model


def by_id(reader: Reader, kind: type[R], *ids: int | None) -> dict[int, R]:
    """The records of those ids, in one query."""
    return {one.id: one for one in reader.find(kind, id=sorted({one for one in ids if one}))}


def origin(reader: Reader, label: str) -> Entry | None:
    """The entry that first told of a tag or a slip, in one query."""
    entries = reader.entries(subject=label, count=ENTRIES_LOOKED_AT).entries
    return entries[-1] if entries else None
