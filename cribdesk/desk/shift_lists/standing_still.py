"""What the shop would miss: for each item below its point, how many units would stand still, and from when."""

from __future__ import annotations

from datetime import date, datetime

from cribdesk.crib.words import capital, count, day
from cribdesk.desk.cards_stock import UnitsMissed
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.stock_detail import units_missed

SURE, SEEN = 0.5, 0.05
"""From so many expected units on the row is a stop, a caution; below that none is in danger (a house rule)."""

NAMED = 4
"""So many units are named in a row."""


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    """In a constant number of queries."""
    today = house.today(moment)
    found = units_missed(reader, house, moment)
    in_danger = [one for one in found if one.expected >= SURE]
    lead = (
        f"{count(len(in_danger), 'item')} would keep units standing before a delivery could come."
        if in_danger
        else "No unit is likely to stand still for want of a part."
    )
    rows = tuple(_row(one, today) for one in found)
    caution = "Figures are forecasts: they tell what is likely, not what a part looks like. The check decides."
    return ShiftRows(lead, rows, "No item is below its point.", (), caution)


def _row(one: UnitsMissed, today: date) -> ShiftRow:
    sign = "stop" if one.expected >= SURE else "caution" if one.expected >= SEEN else "dot"
    actions = (ShiftAction("Show the item", "place", "stock", one.label),)
    return ShiftRow(
        f"missed {one.item_id}", sign, f"{one.name}: {_units(one)}", capital(_when(one, today)), one.label, actions,
        sign == "stop",
    )  # fmt: skip


def _units(one: UnitsMissed) -> str:
    if one.expected < SEEN:
        return "no unit stands still"
    if one.expected < SURE:
        return f"probably none, at worst {count(one.most, 'unit')}"
    return f"about {count(max(1, round(one.expected)), 'unit')}, at worst {one.most}"


def _when(one: UnitsMissed, today: date) -> str:
    parts = [f"until the next delivery could come, {day(one.next_delivery_on, today)}"]
    if one.from_on is not None:
        parts.insert(0, f"from {day(one.from_on, today)}")
    if one.units and one.expected >= SEEN:
        named = ", ".join(unit.label for unit in one.units[:NAMED])
        more = len(one.units) - NAMED
        parts.append(f"likeliest {named}{f' and {more} more' if more > 0 else ''}")
    return f"{'; '.join(parts)}."


def _count(reader: Reader, house: House, moment: datetime) -> int:
    """Items for which a unit is likely to stand still."""
    return sum(one.expected >= SURE for one in units_missed(reader, house, moment))


LIST = ShiftList("standing-still", "Would stand still", 78, _read, _count)
