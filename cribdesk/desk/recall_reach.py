"""Where what a maker's notice means is: on the shelf, in which units, taken along by whom, which packs."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace

from cribdesk.crib.recall import serial_range
from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Custody,
    Fitted,
    HandOut,
    Lot,
    Part,
    PartPlace,
    Person,
    Recall,
    StockItem,
    Unit,
    Where,
)
from cribdesk.crib.words import count, joined
from cribdesk.desk.ports import Records
from cribdesk.desk.saying import where_words

GONE = (BatteryPlace.SCRAPPED, BatteryPlace.SENT_OUT)
"""Where a pack is out of use for good, or back at its maker."""

NAMED = 8
"""So many units a sentence names; the rest it counts."""


@dataclass(frozen=True)
class Meant:
    """What a notice means: a lot; or a model of units or of packs, all of it or the serials from one to another."""

    lot_id: int | None = None
    model: str = ""
    serial_from: str = ""
    serial_to: str = ""


@dataclass(frozen=True)
class Hit:
    """One unit that is meant. `unread` says that its serial does not tell: it is held until somebody reads it.

    `pack` is what is meant where it is not the unit itself: the recalled pack that sits in it.
    """

    unit: Unit
    unread: bool = False
    pack: Battery | None = None


@dataclass(frozen=True)
class PackHit:
    """One pack that is meant, wherever it is."""

    pack: Battery
    unread: bool = False


@dataclass(frozen=True)
class Reach:
    """All that a notice means: pieces and labelled parts on the shelf, units, packs, and what people took along."""

    lot: Lot | None
    item: StockItem | None
    hits: tuple[Hit, ...]
    spares: tuple[Part, ...] = ()
    along: tuple[HandOut, ...] = ()
    packs: tuple[PackHit, ...] = ()

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
        return _of_model(records, meant)
    lot = records.get(Lot, meant.lot_id)
    fitted = records.find(Fitted, lot_id=lot.id, removed_at=None)
    parts = records.find(Part, lot_id=lot.id)
    ids = {one.unit_id for one in fitted} | {one.unit_id for one in parts if one.unit_id}
    units = [one for one in records.find(Unit, id=sorted(ids)) if one.where is not Where.SCRAPPED]
    along = [one for one in records.find(HandOut, lot_id=lot.id) if one.fitted_pieces < one.quantity]
    spares = tuple(one for one in parts if one.place in (PartPlace.SHELF, PartPlace.SENT_OUT))
    hits = tuple(Hit(one) for one in sorted(units, key=lambda one: one.label))
    return Reach(lot, records.get(StockItem, lot.item_id), hits, spares, tuple(along))


def _of_model(records: Records, meant: Meant) -> Reach:
    """Units of that model, or packs of it and the units they sit in."""
    units = [one for one in records.find(Unit, model=meant.model) if one.where is not Where.SCRAPPED]
    packs = [one for one in records.find(Battery, model=meant.model) if one.place not in GONE]
    tells = _tells(meant)
    hit_packs = [PackHit(one, tells(one.serial) is None) for one in packs if tells(one.serial) is not False]
    hit_packs.sort(key=lambda one: one.pack.label)
    hits = [Hit(one, tells(one.serial) is None) for one in units if tells(one.serial) is not False]
    sits = {one.pack.unit_id: one for one in hit_packs if one.pack.unit_id is not None}
    holding = records.find(Unit, id=sorted(sits)) if sits else []
    hits += [Hit(one, sits[one.id].unread, sits[one.id].pack) for one in holding]
    return Reach(None, None, tuple(sorted(hits, key=lambda one: one.unit.label)), packs=tuple(hit_packs))


def _tells(meant: Meant) -> Callable[[str], bool | None]:
    """Whether a serial is meant: without a range every one is; None where the serial does not tell."""
    if not (meant.serial_from or meant.serial_to):
        return lambda _: True
    return serial_range(meant.serial_from, meant.serial_to).has


def meant_words(found: Reach, meant: Meant) -> str:
    """'lot L2611 of Pre-filter, WL1', 'WL1, serials 100 to 250', 'every WL1'."""
    if found.lot is not None and found.item is not None:
        return f"lot {found.lot.code} of {found.item.name}"
    if found.packs and not meant.serial_from:
        return f"every pack {meant.model}"
    if meant.serial_from:
        return f"{meant.model}, serials {meant.serial_from} to {meant.serial_to}"
    return f"every {meant.model}"


def reach_words(found: Reach, holders: dict[int, Person]) -> str:
    """Where it all is, in sentences, before anything is done. `holders` are who has a unit, by its id."""
    told = []
    if found.lot is not None:
        spares = f", besides {count(len(found.spares), 'labelled part')}" if found.spares else ""
        told.append(f"On the shelf: {count(found.on_shelf, 'piece')}{spares}.")
    if found.packs:
        loose = sum(one.pack.unit_id is None for one in found.packs)
        told.append(f"{count(len(found.packs), 'pack')}, {loose} of them in no unit.")
    names = [f"{one.unit.label} {where_words(one.unit, holders.get(one.unit.id))}" for one in found.hits]
    what = "Fitted in" if found.lot is not None else "In" if found.packs else "Units:"
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
    waiting = {hit.pack.id for hit in packs_left(one, found)}
    hits = (hit for hit in found.hits if (hit.pack.id in waiting if hit.pack else hit.unit.id not in cleared))
    return replace(found, hits=tuple(hits))


def names(note: str, notice: str) -> bool:
    """Whether a pack's note names the notice: marked as faulty by it, or given free by it."""
    return notice.casefold() in note.casefold()


def packs_left(one: Recall, found: Reach) -> tuple[PackHit, ...]:
    """Packs that are still here and not given free by a word that names the notice."""
    return tuple(hit for hit in found.packs if hit.pack.faulty or not names(hit.pack.note, one.notice))


def recalls_of(records: Records, pack: Battery) -> list[Recall]:
    """The open recalls that mean this pack, wherever it is."""
    found = records.find(Recall, model=pack.model, closed_at=None)
    return [one for one in found if _tells(meant_by(one))(pack.serial) is not False]
