"""Where the parts or units of a maker's notice are: on the shelf, fitted in which units, taken along by whom."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from cribdesk.crib.recall import serial_range
from cribdesk.crib.records import Custody, Fitted, HandOut, Lot, Part, PartPlace, Person, Recall, StockItem, Unit, Where
from cribdesk.crib.words import count, joined
from cribdesk.desk.ports import Records
from cribdesk.desk.saying import where_words

NAMED = 8
"""So many units a sentence names; the rest it counts."""


@dataclass(frozen=True)
class Meant:
    """What a notice means: a lot; or a unit model, all of it or the serials from one to another."""

    lot_id: int | None = None
    model: str = ""
    serial_from: str = ""
    serial_to: str = ""


@dataclass(frozen=True)
class Hit:
    """One unit that is meant. `unread` says that its serial does not tell: it is held until somebody reads it."""

    unit: Unit
    unread: bool = False


@dataclass(frozen=True)
class Reach:
    """All that a notice means: pieces and labelled parts on the shelf, units, and what people took along unfitted."""

    lot: Lot | None
    item: StockItem | None
    hits: tuple[Hit, ...]
    spares: tuple[Part, ...] = ()
    along: tuple[HandOut, ...] = ()

    @property
    def on_shelf(self) -> int:
        """Pieces of the lot that lie on the shelf by the book."""
        return self.lot.on_hand if self.lot else 0


def meant_by(one: Recall) -> Meant:
    """What a recall that is on record means."""
    return Meant(one.lot_id, one.model, one.serial_from, one.serial_to)


def reach(records: Records, meant: Meant) -> Reach:
    """Where it all is now, in at most six queries. Raises ValueError for serials that make no range."""
    if meant.lot_id is None:
        return Reach(None, None, _of_model(records, meant))
    lot = records.get(Lot, meant.lot_id)
    fitted = records.find(Fitted, lot_id=lot.id, removed_at=None)
    parts = records.find(Part, lot_id=lot.id)
    ids = {one.unit_id for one in fitted} | {one.unit_id for one in parts if one.unit_id}
    units = [one for one in records.find(Unit, id=sorted(ids)) if one.where is not Where.SCRAPPED]
    along = [one for one in records.find(HandOut, lot_id=lot.id) if one.fitted_pieces < one.quantity]
    spares = tuple(one for one in parts if one.place in (PartPlace.SHELF, PartPlace.SENT_OUT))
    hits = tuple(Hit(one) for one in sorted(units, key=lambda one: one.label))
    return Reach(lot, records.get(StockItem, lot.item_id), hits, spares, tuple(along))


def _of_model(records: Records, meant: Meant) -> tuple[Hit, ...]:
    units = [one for one in records.find(Unit, model=meant.model) if one.where is not Where.SCRAPPED]
    units.sort(key=lambda one: one.label)
    if not (meant.serial_from or meant.serial_to):
        return tuple(Hit(one) for one in units)
    serials = serial_range(meant.serial_from, meant.serial_to)
    return tuple(Hit(one, serials.has(one.serial) is None) for one in units if serials.has(one.serial) is not False)


def meant_words(found: Reach, meant: Meant) -> str:
    """'lot L2611 of Pre-filter, WL1', 'WL1, serials 100 to 250', 'every WL1'."""
    if found.lot is not None and found.item is not None:
        return f"lot {found.lot.code} of {found.item.name}"
    if meant.serial_from:
        return f"{meant.model}, serials {meant.serial_from} to {meant.serial_to}"
    return f"every {meant.model}"


def reach_words(found: Reach, holders: dict[int, Person]) -> str:
    """Where it all is, in sentences, before anything is done. `holders` are who has a unit, by its id."""
    told = []
    if found.lot is not None:
        spares = f", besides {count(len(found.spares), 'labelled part')}" if found.spares else ""
        told.append(f"On the shelf: {count(found.on_shelf, 'piece')}{spares}.")
    names = [f"{one.unit.label} {where_words(one.unit, holders.get(one.unit.id))}" for one in found.hits]
    what = "Fitted in" if found.lot is not None else "Units:"
    more = [f"{len(names) - NAMED} more"] if len(names) > NAMED else []
    told.append(f"{what} {joined([*names[:NAMED], *more])}." if names else "No unit has it." if found.lot else "")
    unread = sum(one.unread for one in found.hits)
    if unread:
        told.append(f"Of {count(unread, 'unit')} the serial does not tell: held too, until somebody reads it.")
    pieces = sum(one.quantity - one.fitted_pieces for one in found.along)
    if pieces:
        told.append(f"{count(pieces, 'piece')} were taken along and are not fitted by the book: ask for them back.")
    return " ".join(part for part in told if part)


def holders_of(records: Records, unit_ids: Collection[int]) -> dict[int, Person]:
    """Who has each of these units now, by the unit's id; two queries."""
    out = records.find(Custody, unit_id=sorted(unit_ids), returned_at=None) if unit_ids else []
    found = {one.id: one for one in records.find(Person, id=sorted({one.person_id for one in out}))} if out else {}
    return {one.unit_id: found[one.person_id] for one in out}


def left_of(records: Records, one: Recall, cleared: Collection[int]) -> Reach:
    """What a recall still has to reach: of a lot, wherever it is fitted; of units, those not cleared since."""
    found = reach(records, meant_by(one))
    if found.lot is not None:
        return found
    hits = tuple(hit for hit in found.hits if hit.unit.id not in cleared)
    return Reach(found.lot, found.item, hits, found.spares, found.along)
