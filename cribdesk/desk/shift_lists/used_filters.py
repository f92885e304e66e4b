"""Used filters: the open bags with what is in them, and the log of what went where."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import Area, Unit, Waste, WasteBag
from cribdesk.crib.used import GENERATOR
from cribdesk.crib.words import count
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import people

LINES, CLOSED = 30, 10
"""So many of the last lines of the log stand there, and so many of the last bags that were closed."""


def _bag_row(bag: WasteBag, area: Area | None, pieces: int, house: House, moment: datetime) -> ShiftRow:
    opened = f"opened {moment_words(bag.opened_at, house, moment)}"
    label = ShiftAction("Print its label", "paper", "bag_label", bag.label)
    if bag.closed_at is not None:
        closed = f"closed {moment_words(bag.closed_at, house, moment)}, drum {bag.drum}"
        words = f"{count(pieces, 'piece')}; {closed}"
        return ShiftRow(f"bag {bag.id}", "fine", f"{bag.label}: {bag.stream}", words, bag.label, (label,))
    detail = "; ".join(part for part in (count(pieces, "piece"), opened, area.name if area else "") if part)
    return ShiftRow(
        f"bag {bag.id}", "due", f"{bag.label}: {bag.stream}", detail, bag.label,
        (
            ShiftAction("Put in", "form", "bag-waste", bag.label),
            ShiftAction("Close", "form", "close-bag", bag.label),
            label,
        ), bold=True,
    )  # fmt: skip


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    """In seven queries."""
    bags = reader.find(WasteBag, closed_at=None)
    closed = reader.newest(WasteBag, CLOSED, closed_at=FILLED)
    shown = [*bags, *reversed(closed)]
    inside = reader.find(Waste, waste_bag_id=[one.id for one in shown]) if shown else []
    pieces = {bag.id: sum(one.quantity for one in inside if one.waste_bag_id == bag.id) for bag in shown}
    areas = {one.id: one for one in reader.find(Area, id=sorted({bag.area_id for bag in shown if bag.area_id}))}
    log = list(reversed(reader.newest(Waste, LINES)))
    units = {one.id: one.label for one in reader.find(Unit, id=sorted({one.unit_id for one in log if one.unit_id}))}
    labels = {one.id: one.label for one in reader.find(WasteBag, id=sorted({one.waste_bag_id for one in log}))}
    by = people(reader, (one.by_id for one in log))
    rows = [_bag_row(bag, areas.get(bag.area_id or 0), pieces[bag.id], house, moment) for bag in shown]
    for one in log:
        of = f" of {units[one.unit_id]}" if one.unit_id in units else ""
        detail = f"into {labels[one.waste_bag_id]}, {moment_words(one.at, house, moment)}, {name_of(by.get(one.by_id))}"
        what = f"{one.quantity} x {one.what}{of}"
        rows.append(ShiftRow(f"waste {one.id}", "", what, detail, units.get(one.unit_id or 0, "")))
    lead = f"{count(len(bags), 'bag')} open, {count(sum(pieces[bag.id] for bag in bags), 'piece')} in them."
    return ShiftRows(
        lead, tuple(rows), "No bag is open.", (ShiftAction("Open a bag", "form", "open-bag"),), caution=GENERATOR
    )


LIST = ShiftList("used-filters", "Used filters", 85, _read)
