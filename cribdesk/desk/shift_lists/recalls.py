"""Recalls that are open: how far each is, by unit and pack, until the last is cleared; the last that were closed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from cribdesk.crib.records import Battery, Hold, Person, Recall, RecallHold, Unit
from cribdesk.crib.words import capital, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.recall import never_came, not_held, packs_of, still_held
from cribdesk.desk.recall_reach import Reach, holders_of, meant_by, meant_words, names, packs_left, reach
from cribdesk.desk.saying import moment_words, name_of, where_words
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import people

KEPT = 10
"""So many closed recalls are listed."""


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    """In three queries, and a fixed number for each recall that is open."""
    open_ones = reader.find(Recall, closed_at=None)
    rows: list[ShiftRow] = []
    left, packs = 0, sum(len(packs_of(reader, one)) for one in open_ones if one.model)
    for one in reversed(open_ones):
        some, waiting = _one(reader, house, one, moment)
        rows += some
        left += waiting
    closed = reader.newest(Recall, KEPT, closed_at=FILLED)[::-1]
    by = people(reader, (one.by_id for one in closed))
    rows += [_closed(reader, house, one, by.get(one.by_id), moment) for one in closed]
    told = [count(left - packs, "unit")] if left > packs or not packs else []
    told += [count(packs, "pack")] if packs else []
    lead = f"{count(len(open_ones), 'recall')} open, {' and '.join(told)} not cleared." if open_ones else ""
    return ShiftRows(
        lead or "No recall is open.", tuple(rows), "No recall is open.",
        (ShiftAction("A maker's notice", "form", "recall"),),
        "The maker's notice says what has to be done. The book does not know what lies in drawers: look there too.",
    )  # fmt: skip


def _one(reader: Reader, house: House, one: Recall, moment: datetime) -> tuple[list[ShiftRow], int]:
    """The recall, then each unit that is not cleared, then each pack, and how many those are."""
    links = reader.find(RecallHold, recall_id=one.id)
    found, waiting = reach(reader, meant_by(one)), not_held(reader, one)
    held = still_held(reader, one)
    ids = {hold.unit_id for hold in held} | {hit.unit.id for hit in waiting}
    units = {unit.id: unit for unit in reader.find(Unit, id=sorted(ids))}
    holders = holders_of(reader, ids)
    packs = [hit.pack for hit in packs_left(one, found)]
    rows = [_head(one, found, len(links), len(held), len(waiting) + len(packs), house, moment)]
    for hit in waiting:
        act = (ShiftAction("Hold it", "form", "hold-recalled", str(one.id)),)
        where = where_words(hit.unit, holders.get(hit.unit.id))
        rows.append(ShiftRow(f"{one.id} new {hit.unit.id}", "stop", "Not held yet", where, hit.unit.label, act, True))
    rows += [_held(one, hold, units[hold.unit_id], holders.get(hold.unit_id)) for hold in held]
    rows += [_pack(one, pack) for pack in packs]
    rows += _along(reader, one, found)
    return rows, len(held) + len(waiting) + len(packs)


def _pack(one: Recall, pack: Battery) -> ShiftRow:
    """A pack that is still here; one that is not marked came in since."""
    key, where = f"{one.id} pack {pack.id}", f"Pack {pack.label}, {pack.place.value}"
    if not (pack.faulty and names(pack.note, one.notice)):
        act = (ShiftAction("Mark it", "form", "hold-recalled", str(one.id)),)
        return ShiftRow(key, "stop", "Not marked yet", where, pack.label, act, True)
    act = (ShiftAction("Take it out of use", "form", "retire-battery", pack.label),)
    return ShiftRow(key, "on hold", where, "Not to be used. Send it back, or do as the notice says.", pack.label, act)


def _head(
    one: Recall, found: Reach, all_: int, held: int, waiting: int, house: House, moment: datetime
) -> ShiftRow:
    what = f"Recall {one.notice}: {meant_words(found, meant_by(one))}"
    told = [f"{all_ - held} of {count(all_, 'unit')} cleared", one.why]
    if found.lot is not None:
        none = "none of it came in yet, blocked on arrival"
        there = none if never_came(found.lot) else f"{count(found.on_shelf, 'piece')} on the shelf, blocked"
        told.append(there)
        told += [f"{count(len(found.spares), 'labelled part')} of it in store"] * bool(found.spares)
    told += [f"from {one.maker}"] * bool(one.maker)
    told.append(f"since {moment_words(one.at, house, moment)}")
    done = not held and not waiting
    act = (ShiftAction("Close it", "form", "close-recall", str(one.id)),) if done else ()
    return ShiftRow(f"recall {one.id}", "fine" if done else "caution", what, f"{'; '.join(told)}.", "", act, True)


def _held(one: Recall, hold: Hold, unit: Unit, holder: Person | None) -> ShiftRow:
    act = [ShiftAction("Print its tag", "paper", "tag", hold.tag)]
    if holder is not None:
        slip = ShiftAction("Call-in slip again", "paper", "call_in_slip", hold.tag)
        act = [slip, ShiftAction("Take back", "command", "take-back", unit.label)]
    where = capital(where_words(unit, holder))
    return ShiftRow(
        f"{one.id} hold {hold.id}", "out" if holder else "on hold", where, f"Tag {hold.tag}", unit.label, tuple(act)
    )


def _along(reader: Reader, one: Recall, found: Reach) -> list[ShiftRow]:
    """Who took pieces of the lot along and has not fitted them by the book."""
    had = people(reader, (handed.person_id for handed in found.along))
    rows = []
    for handed in found.along:
        who, left = had.get(handed.person_id), handed.quantity - handed.fitted_pieces
        words = f"{count(left, 'piece')} taken along, not fitted by the book. Ask for them back."
        label = who.label if who else ""
        rows.append(ShiftRow(f"{one.id} along {handed.id}", "caution", name_of(who), words, label))
    return rows


def _closed(reader: Reader, house: House, one: Recall, by: Person | None, moment: datetime) -> ShiftRow:
    assert one.closed_at is not None
    what = f"{one.notice} closed {moment_words(one.closed_at, house, moment)}"
    return ShiftRow(f"recall {one.id}", "dot", what, f"{one.why}; opened by {name_of(by)}.")


def _waiting(reader: Reader, open_ones: Sequence[Recall]) -> int:
    held = sum(len(still_held(reader, one)) for one in open_ones)
    held += sum(len(packs_of(reader, one)) for one in open_ones if one.model)
    return max(len(open_ones), held)


def _count(reader: Reader, house: House, moment: datetime) -> int:
    """Units still held, packs still here; a recall whose last unit is cleared waits to be closed, and counts as one."""
    return _waiting(reader, reader.find(Recall, closed_at=None))


LIST = ShiftList("recalls", "Recalls", 75, _read, _count)
