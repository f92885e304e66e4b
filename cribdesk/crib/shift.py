"""The site's shift plan: which shift a moment lies in, when it ends, when the last one began."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_ROW = re.compile(r"^\s*(?P<name>[^\d,]+?)\s+(?P<start>\d{1,2}:\d{2})\s*-\s*(?P<end>\d{1,2}:\d{2})\s*$")


@dataclass(frozen=True)
class Shift:
    """One row of the plan: local wall-clock times; a shift may end after midnight."""

    name: str
    start: time
    end: time


@dataclass(frozen=True)
class Turn:
    """One shift on one day, as UTC moments."""

    name: str
    start: datetime
    end: datetime


def read_plan(text: str) -> tuple[Shift, ...]:
    """The plan of 'Day 06:00-14:30, Night 22:00-06:30'. Raises ValueError with what is wrong."""
    shifts = []
    for row in text.split(","):
        found = _ROW.match(row)
        if not found:
            raise ValueError(f"{row.strip()!r} is no shift; write it like 'Day 06:00-14:30'")
        try:
            start, end = (time.fromisoformat(found[part].rjust(5, "0")) for part in ("start", "end"))
        except ValueError:
            raise ValueError(f"{row.strip()!r} has a time that is none") from None
        if start == end:
            raise ValueError(f"{row.strip()!r} has no length")
        shifts.append(Shift(found["name"].strip(), start, end))
    return tuple(sorted(shifts, key=lambda shift: shift.start))


def turns(plan: tuple[Shift, ...], zone: ZoneInfo, around: date) -> tuple[Turn, ...]:
    """All turns that begin from the day before `around` to the day after, by their start.

    Wall-clock times are turned to UTC one by one, so a night is 7 or 9 h long when the clock changes.
    """
    found = []
    for shift in plan:
        for days in (-2, -1, 0, 1, 2):
            on = around + timedelta(days=days)
            ends_on = on if shift.end > shift.start else on + timedelta(days=1)
            found.append(Turn(shift.name, _utc(on, shift.start, zone), _utc(ends_on, shift.end, zone)))
    return tuple(sorted(found, key=lambda turn: turn.start))


def turn_at(plan: tuple[Shift, ...], zone: ZoneInfo, moment: datetime, early: timedelta) -> Turn:
    """The turn a moment belongs to: one that runs, or starts within `early`; else the next to start.

    Where two overlap the later one counts, since the crew that comes is the one at the counter.
    """
    all_turns = turns(plan, zone, moment.astimezone(zone).date())
    running = [turn for turn in all_turns if turn.start - early <= moment < turn.end]
    if running:
        return running[-1]
    return next(turn for turn in all_turns if turn.start > moment)


def turn_before(plan: tuple[Shift, ...], zone: ZoneInfo, turn: Turn) -> Turn:
    """The turn that began last before this one."""
    earlier = [one for one in turns(plan, zone, turn.start.astimezone(zone).date()) if one.start < turn.start]
    return earlier[-1]


def turn_after(plan: tuple[Shift, ...], zone: ZoneInfo, turn: Turn) -> Turn:
    """The turn that begins next after this one."""
    return next(one for one in turns(plan, zone, turn.start.astimezone(zone).date()) if one.start > turn.start)


def coming_turn(plan: tuple[Shift, ...], zone: ZoneInfo, moment: datetime) -> Turn:
    """The turn of the crew that comes: the next to start, also while units are issued for it already."""
    return next(one for one in turns(plan, zone, moment.astimezone(zone).date()) if one.start > moment)


def _utc(on: date, at: time, zone: ZoneInfo) -> datetime:
    local = datetime.combine(on, at, tzinfo=zone)
    return local.astimezone(ZoneInfo("UTC"))
