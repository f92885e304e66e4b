"""What is ordered: drafts to hand over, what is late, what is promised; then what ended lately."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta

from cribdesk.crib.records import (
    Requisition,
    RequisitionLine,
    RequisitionState,
    RequisitionStep,
    StockItem,
    Supplier,
)
from cribdesk.crib.requisition import OPEN
from cribdesk.crib.words import capital, count, day, number
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.prices import money
from cribdesk.desk.saying import moment_words
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows

_WAITING = (RequisitionState.DRAFT, *OPEN)
ENDED_SHOWN = 10
"""Requisitions that ended lately, shown below those that are open."""
NAMED = 3
LATE = timedelta(days=21)
"""One handed over so long ago, with no day promised, is asked after (a house rule)."""


def _open_ones(reader: Reader) -> list[Requisition]:
    return reader.find(Requisition, state=[one.value for one in _WAITING])


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return len(_open_ones(reader))


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    """In six queries."""
    waiting = _open_ones(reader)
    shown_ids = {one.id for one in waiting}
    ended = [one for one in reader.newest(Requisition, ENDED_SHOWN + len(waiting)) if one.id not in shown_ids]
    known = [*waiting, *ended[-ENDED_SHOWN:][::-1]]
    ids = sorted(one.id for one in known)
    lines: dict[int, list[RequisitionLine]] = defaultdict(list)
    for line in reader.find(RequisitionLine, requisition_id=ids):
        if line.quantity:
            lines[line.requisition_id].append(line)
    steps = {one.requisition_id: one for one in reader.find(RequisitionStep, requisition_id=ids)}
    suppliers = {one.id: one.name for one in reader.find(Supplier)}
    item_ids = sorted({line.item_id for found in lines.values() for line in found})
    items = {one.id: one.name for one in reader.find(StockItem, id=item_ids)}
    today = house.today(moment)
    rows = []
    for one in known:
        of = lines[one.id]
        late = _late(one, of, steps.get(one.id), house, today)
        rows.append((_rank(one, late), _row(one, of, suppliers, items, steps.get(one.id), late, house, moment)))
    rows.sort(key=lambda pair: pair[0])
    drafts = sum(one.state == RequisitionState.DRAFT.value for one in waiting)
    late_ones = sum(bool(row.bold) for _, row in rows)
    parts = [count(len(waiting), "requisition") + " open"]
    parts += [count(drafts, "draft")] if drafts else []
    parts += [f"{late_ones} late"] if late_ones else []
    actions = (
        ShiftAction("Write one", "form", "requisition"),
        ShiftAction("Receive", "command", "receive"),
    )
    caution = "Nothing is sent by the program: a requisition prints, is signed, and goes the way your house has for it."
    return ShiftRows(
        f"{', '.join(parts)}.", tuple(row for _, row in rows), "No requisition was written yet.", actions, caution
    )


def _late(
    one: Requisition, lines: list[RequisitionLine], step: RequisitionStep | None, house: House, today: date
) -> str:
    """Why it is asked after, in words, or ''."""
    if RequisitionState(one.state) not in OPEN:
        return ""
    past = [
        line.promised_on
        for line in lines
        if line.promised_on and line.promised_on < today and line.arrived < line.quantity
    ]
    if past:
        return f"promised for {day(min(past), today)}, not here"
    if any(line.promised_on for line in lines):
        return ""
    since = house.today(step.at) if step else one.made_on
    return f"no day promised since {day(since, today)}" if since + LATE < today else ""


def _rank(one: Requisition, late: str) -> tuple[int, int]:
    ended = RequisitionState(one.state) not in _WAITING
    draft = one.state == RequisitionState.DRAFT.value
    return (3 if ended else 0 if late else 1 if draft else 2, -one.number if ended else one.number)


def _row(
    one: Requisition,
    lines: list[RequisitionLine],
    suppliers: dict[int, str],
    items: dict[int, str],
    step: RequisitionStep | None,
    late: str,
    house: House,
    moment: datetime,
) -> ShiftRow:
    today = house.today(moment)
    total = sum(line.quantity * line.price_cents for line in lines)
    named = ", ".join(f"{number(line.quantity)} {items[line.item_id]}" for line in lines[:NAMED])
    more = f" and {len(lines) - NAMED} more" if len(lines) > NAMED else ""
    coming = sorted(line.promised_on for line in lines if line.promised_on and line.arrived < line.quantity)
    came = sum(line.arrived for line in lines)
    since = moment_words(step.at, house, moment) if step else day(one.made_on, today)
    detail = [f"{one.state} since {since}", late]
    detail += [f"next promised {day(coming[0], today)}"] if coming and not late else []
    detail += [f"{number(came)} of {number(sum(line.quantity for line in lines))} pieces came"] if came else []
    detail += [f"{named}{more}" if named else "no line", f"{money(total)} in all" if total else ""]
    detail += [step.note if step else ""]
    state = RequisitionState(one.state)
    sign = "overdue" if late else {"draft": "caution", "cancelled": "", "closed": "fine"}.get(one.state, "out")
    return ShiftRow(
        f"requisition {one.number}", sign, f"Requisition {one.number} to {suppliers[one.supplier_id]}",
        f"{capital('; '.join(part for part in detail if part))}.", "", _buttons(one, state), bold=bool(late),
    )  # fmt: skip


def _buttons(one: Requisition, state: RequisitionState) -> tuple[ShiftAction, ...]:
    about = str(one.number)
    paper = ShiftAction("Its paper", "preview", "requisition", about)
    if state is RequisitionState.DRAFT:
        return (
            ShiftAction("Hand over", "form", "step-requisition", f"{about} sent"),
            ShiftAction("Its lines", "form", "change-requisition", about),
            paper,
        )
    if state in OPEN:
        return (
            ShiftAction("Promised dates", "form", "change-requisition", about),
            ShiftAction("Next step", "form", "step-requisition", about),
            paper,
        )
    return (paper,)


LIST = ShiftList("requisitions", "Requisitions", 79, _read, _count)
