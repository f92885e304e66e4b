"""The next free label of each kind, and finding the record a label of ours is on."""

from __future__ import annotations

from cribdesk.crib.label import Kind, next_label, number_of
from cribdesk.crib.records import (
    Area,
    Battery,
    Bin,
    Cabinet,
    DeadLabel,
    Hold,
    Instrument,
    Part,
    PartsSet,
    Person,
    Record,
    Slip,
    StockItem,
    Unit,
    WasteBag,
)
from cribdesk.desk.ports import Records

HOME: dict[Kind, tuple[type[Record], str]] = {
    Kind.UNIT: (Unit, "label"),
    Kind.PART: (Part, "label"),
    Kind.PERSON: (Person, "label"),
    Kind.BATTERY: (Battery, "label"),
    Kind.ITEM: (StockItem, "label"),
    Kind.BIN: (Bin, "label"),
    Kind.INSTRUMENT: (Instrument, "label"),
    Kind.AREA: (Area, "label"),
    Kind.TAG: (Hold, "tag"),
    Kind.SLIP: (Slip, "label"),
    Kind.SET: (PartsSet, "label"),
    Kind.CABINET: (Cabinet, "label"),
    Kind.BAG: (WasteBag, "label"),
}
"""Which record a kind of label is on, and in which field."""


def fresh_label(records: Records, kind: Kind) -> str:
    """A label of that kind that no record has or had."""
    home, field = HOME[kind]
    last = records.latest(home)
    number = number_of(getattr(last, field)) + 1 if last else 1
    while True:
        label, number = next_label(kind, number)
        if owner_of(records, label) is None and records.first(DeadLabel, label=label) is None:
            return label
        number += 1


def owner_of(records: Records, label: str) -> Record | None:
    """The record that carries this live label of ours."""
    home, field = HOME[Kind(label[0])]
    return records.first(home, **{field: label})
