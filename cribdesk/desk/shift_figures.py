"""The figures with which a shift is handed over, as they stand in the record at that moment."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from cribdesk.crib.records import (
    BatterySwap,
    CallIn,
    Custody,
    HandOut,
    Lot,
    Notice,
    Print,
    RackAudit,
    ShiftClose,
    StockItem,
    Where,
)
from cribdesk.crib.shift import Turn, turns
from cribdesk.crib.words import clock, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Records
from cribdesk.desk.printouts_shift import ShiftFigure
from cribdesk.desk.rack_audit import audit_words, named
from cribdesk.desk.readiness import Readiness, readiness
from cribdesk.desk.standings import Member, fleet

DAY = timedelta(hours=24)


def closable(house: House, moment: datetime) -> tuple[Turn, ...]:
    """The shifts that began within the last day, those nearest to their end first."""
    found = turns(house.plan, house.zone, house.today(moment))
    begun = [one for one in found if one.start <= moment < one.start + DAY]
    return tuple(sorted(begun, key=lambda one: abs(one.end - moment)))


def last_close(records: Records, before: datetime) -> ShiftClose | None:
    """The last shift that was handed over, by that moment."""
    found = records.latest(ShiftClose)
    return found if found is not None and found.ended_at <= before else None


def began_at(records: Records, moment: datetime) -> datetime:
    """From when on the page counts: from where the last one ended, the first of all from the store's first entry.

    So nothing between two pages is told twice, or not at all.
    """
    last = last_close(records, moment)
    since = last.ended_at if last is not None else records.begun_at()
    return min(since or moment, moment)


def figures(records: Records, house: House, began: datetime, moment: datetime) -> tuple[ShiftFigure, ...]:
    """What was done since `began`, and how the crib stands now; people are not named. Some thirty queries."""
    units = fleet(records, house, moment)
    return (
        *_done(records, began, moment),
        *_out(records, units),
        *_here(units),
        _ready(readiness(records, house, moment), house),
        *_rest(records, began, moment),
    )


def _done(records: Records, began: datetime, moment: datetime) -> tuple[ShiftFigure, ...]:
    end = moment + timedelta(microseconds=1)
    issued = records.within(Custody, "issued_at", began, end)
    returned = records.within(Custody, "returned_at", began, end)
    handed = records.within(HandOut, "at", began, end)
    pieces, people = sum(one.quantity for one in handed), len({one.person_id for one in handed})
    swaps = len(records.within(BatterySwap, "at", began, end))
    assigned = sum(one.assigned for one in issued)
    told = f"{pieces} to {count(people, 'person', 'people')}" if handed else ""
    return (
        ShiftFigure("Issued", str(len(issued)), f"{assigned} of them assigned" if assigned else ""),
        ShiftFigure("Returned", str(len(returned))),
        ShiftFigure("Handed out, pieces", str(pieces), told.partition(" to ")[2] and f"to {told.partition(' to ')[2]}"),
        ShiftFigure("Batteries swapped", str(swaps)),
    )


def _out(records: Records, units: tuple[Member, ...]) -> tuple[ShiftFigure, ...]:
    out = [one for one in units if one.custody is not None]
    kept = [one for one in out if one.custody is not None and one.custody.assigned]
    calls = records.find(CallIn, closed_at=None)
    called = {one.unit_id for one in calls}
    return (
        _of("Still out", [one for one in out if one not in kept]),
        ShiftFigure("Assigned", str(len(kept))),
        _of("Overdue", [one for one in out if one.overdue]),
        _of("Called in and not back", [one for one in units if one.unit.id in called]),
    )


def _here(units: tuple[Member, ...]) -> tuple[ShiftFigure, ...]:
    def standing(state: str) -> list[Member]:
        return [one for one in units if one.state == state]

    return (
        _of("On hold", standing("on hold")),
        _of("Returned, not checked", standing("not checked")),
        _of("Needs cleaning", standing("needs cleaning")),
        _of("Missing", [one for one in units if one.unit.where is Where.MISSING]),
    )


def _ready(found: Readiness, house: House) -> ShiftFigure:
    short = f", {found.short} short" if found.short else ""
    starts = clock(found.turn.start, house.zone)
    need = f"of {found.needed.units} needed at {starts}{short}; {found.needed.how}"
    if not found.needed.known:
        need = f"at {starts}; {found.needed.how}"
    out = f"; {len(found.issued)} more are out for it already" if found.issued else ""
    return ShiftFigure(f"Ready and sealed for {found.turn.name}", str(len(found.sealed)), f"{need}{out}")


def _rest(records: Records, began: datetime, moment: datetime) -> tuple[ShiftFigure, ...]:
    waiting = records.find(Custody, returned_at=FILLED, completed_at=None)
    unseen = len(records.find(Notice, seen_at=None))
    failed = unprinted(records, began, moment)
    empty = at_zero(records)
    audits = records.within(RackAudit, "at", began, moment + timedelta(microseconds=1))
    last = audits[-1] if audits else None
    told = "none was made" if last is None else audit_words(
        last.expected, last.there, last.absent.splitlines(), last.surplus.splitlines()
    )  # fmt: skip
    return (
        ShiftFigure("Returned, to complete", str(len(waiting))),
        ShiftFigure("Waiting for the program administrator", str(unseen)),
        ShiftFigure("Papers that did not print", str(len(failed)), named(failed)),
        ShiftFigure("Items at zero on the shelf", str(len(empty)), named(empty)),
        ShiftFigure("Rack audits", str(len(audits)), told),
    )


def unprinted(records: Records, began: datetime, moment: datetime) -> list[str]:
    """Papers that failed since then and did not come out later, as 'tag T0000019'."""
    made = records.within(Print, "at", began, moment + timedelta(microseconds=1))
    last = {(one.paper, one.of): one for one in made}
    return [f"{paper.replace('_', ' ')} {of}".strip() for (paper, of), one in last.items() if one.failed]


def at_zero(records: Records) -> list[str]:
    """The names of stock items in use of which nothing is on the shelf."""
    there: dict[int, int] = {}
    for lot in records.find(Lot):
        there[lot.item_id] = there.get(lot.item_id, 0) + lot.on_hand
    return sorted(one.name for one in records.find(StockItem, active=True) if not there.get(one.id))


def _of(name: str, units: Iterable[Member]) -> ShiftFigure:
    labels = sorted(one.unit.label for one in units)
    return ShiftFigure(name, str(len(labels)), named(labels))
