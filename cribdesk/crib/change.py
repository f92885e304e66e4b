"""When the next consumable change falls due. Here by the model's rule of thumb and calendar limits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from cribdesk.crib.model import Position
from cribdesk.crib.records import Fitted
from cribdesk.crib.serviceable import Standing, calendar_limit
from cribdesk.crib.words import date_words, hours

THUMB = "rule of thumb, common practice, no source"


@dataclass(frozen=True)
class PartOutlook:
    """What sits at a position, its hours, and what is left of it.

    `early`, `middle`, `late` are hours left (nine in ten reach the early one); by a rule of thumb all are
    one figure. `life_hours` is one whole life. `last_day` is the calendar's limit. None: no limit known.
    """

    position: str
    name: str
    fitted: Fitted | None
    worn_hours: float
    life_hours: float | None
    early: float | None
    middle: float | None
    late: float | None
    last_day: date | None
    due_on: date | None
    why: str
    basis: str

    @property
    def binding(self) -> bool:
        """Whether the limit forbids further use. A rule of thumb only asks for a look, or for a change."""
        return self.basis != THUMB


def outlook(standing: Standing, hours_a_day: float) -> tuple[PartOutlook, ...]:
    """Every position along the air path with what is left of it, at `hours_a_day` of wear."""
    there = {one.position: one for one in standing.fitted}
    ordered = sorted(standing.model.positions, key=lambda position: position.order)
    return tuple(_part(position, there.get(position.code), standing, hours_a_day) for position in ordered)


def next_change(parts: tuple[PartOutlook, ...]) -> PartOutlook | None:
    """The part that falls due first, or None where nothing has a limit."""
    limited = [part for part in parts if part.fitted is not None and part.due_on is not None]
    return min(limited, key=lambda part: (part.due_on, part.middle if part.middle is not None else 1e9), default=None)


def due_within(part: PartOutlook, worn_hours: float, until: date) -> bool:
    """Whether the part falls due inside so many worn hours, or by the calendar before `until`."""
    by_hours = part.early is not None and part.early < worn_hours
    return by_hours or (part.last_day is not None and part.last_day < until)


def _part(position: Position, fitted: Fitted | None, standing: Standing, hours_a_day: float) -> PartOutlook:
    if fitted is None:
        why = "none fitted" if position.required else "none fitted, not required"
        return PartOutlook(position.code, position.name, None, 0, None, None, None, None, None, None, why, "")
    worn = fitted.worn(standing.unit.worn_hours)
    life = _shorter(position.thumb_hours, position.max_hours)
    left = None if life is None else life - worn
    last_day = calendar_limit(position, fitted)
    by_hours = None if left is None else standing.today + timedelta(days=_days(left, hours_a_day))
    due_on = min((one for one in (by_hours, last_day) if one is not None), default=None)
    why, basis = _why(position, worn, life, last_day, by_calendar=due_on is not None and due_on == last_day != by_hours)
    return PartOutlook(
        position.code, position.name, fitted, worn, life, left, left, left, last_day, due_on, why, basis
    )


def _why(
    position: Position, worn: float, life: float | None, last_day: date | None, *, by_calendar: bool
) -> tuple[str, str]:
    if by_calendar and last_day is not None:
        return f"good until {date_words(last_day)}, {hours(worn)} worn", "date of the part, or days since it was fitted"
    if life is None:
        return f"{hours(worn)} worn; no limit is set, it is judged by looking", ""
    if life == position.max_hours:
        return f"{hours(worn)} worn of {hours(life)} allowed", "limit of the model"
    return f"{hours(worn)} worn; the rule of thumb is {hours(life)}", THUMB


def _shorter(*limits: float | None) -> float | None:
    return min((one for one in limits if one is not None), default=None)


def _days(left: float, hours_a_day: float) -> int:
    if left <= 0:
        return 0
    return min(3650, ceil(left / hours_a_day) - 1 if hours_a_day > 0 else 3650)
