"""Who holds what they no longer may: worst first, with since when, why, and whether the slip went out."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.words import count
from cribdesk.desk.call_in import is_late
from cribdesk.desk.house import House
from cribdesk.desk.one_look import once
from cribdesk.desk.ports import Reader
from cribdesk.desk.recheck import Rechecked, called_words, rechecked, since_words
from cribdesk.desk.saying import about, name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import fleet

ID = "call-in"


def _all(reader: Reader, house: House, moment: datetime) -> tuple[Rechecked, ...]:
    return once(reader, (ID, moment), lambda: rechecked(reader, house, fleet(reader, house, moment), moment))


def _row(one: Rechecked, house: House, moment: datetime) -> ShiftRow:
    unit = one.unit.label
    who = ", ".join(part for part in (name_of(one.person), about(one.person)) if part)
    back = ShiftAction("Take back", "command", "take-back", unit)
    called = called_words(one.call_in, house, moment)
    if not one.against:
        end = ShiftAction("End the call-in", "command", "end-call-in", unit)
        late = is_late(one.custody, moment)
        what = "it is overdue all the same" if late else "the unit may stay out"
        return ShiftRow(unit, "overdue" if late else "fine", who, f"Reason gone: {what}; {called}", unit, (end, back))
    why = "; ".join(
        ", ".join(part for part in (against.words, since_words(against, house, moment)) if part)
        for against in one.against
    )
    slip = (
        ShiftAction("Print again", "paper", "call_in_slip", str(one.call_in.id))
        if one.call_in
        else ShiftAction("Call-in slip", "command", ID, unit)
    )
    return ShiftRow(unit, "stop", who, f"{why}; {called}", unit, (slip, back), bold=one.call_in is None)


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = _all(reader, house, moment)
    against = [one for one in found if one.against]
    waiting = sum(one.call_in is None for one in against)
    gone = len(found) - len(against)
    lead = f"{count(len(against), 'unit')} to call in" + (f", {waiting} without a slip yet" if waiting else "")
    lead += f"; of {count(gone, 'call-in')} the reason is gone." if gone else "."
    every = (ShiftAction("Call all in", "command", "call-in-all"),) if waiting > 1 else ()
    return ShiftRows(
        lead,
        tuple(_row(one, house, moment) for one in found),
        "Nobody holds what they may not.",
        every,
        "Weighed anew each time it is looked at: clearances, proofs, badges, holds, limits of parts, the area's mark.",
    )


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return sum(bool(one.against) for one in _all(reader, house, moment))


LIST = ShiftList(ID, "To call in", 20, _read, _count)
