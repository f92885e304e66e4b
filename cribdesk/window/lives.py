"""What is left of a unit's parts, as life bars, and how each figure was reached."""

from __future__ import annotations

from cribdesk.crib.change import PartOutlook
from cribdesk.crib.words import capital, date_words, day, hours
from cribdesk.desk.cards import UnitCard
from cribdesk.window.components.life import Life, PartLife
from cribdesk.window.doors import Doors


def level_of(part: PartOutlook, needed: float) -> str:
    """Fine, caution where the hours needed may not be left, stop where nothing is left of a limit that binds."""
    if part.early is None or part.late is None:
        return "fine"
    worst = "stop" if part.binding else "caution"
    if part.late <= 0:
        return worst
    if part.late < needed:
        return worst if needed > 0 else "fine"
    return "caution" if part.early < needed else "fine"


def part_life(part: PartOutlook, needed: float | None) -> PartLife:
    """One part as a row; `needed` hours make the pin."""
    if part.fitted is None:
        return PartLife(part.position, part.name, "", None, "stop" if part.why == "none fitted" else "fine", part.why)
    if part.life_hours is None or part.early is None or part.middle is None or part.late is None:
        return PartLife(part.position, part.name, "", None, "fine", f"{hours(part.worn_hours)} worn, no limit set")
    level = level_of(part, needed or 0.0)
    whole = part.life_hours
    life = Life(
        sure=max(0.0, part.early) / whole,
        perhaps=max(0.0, part.late) / whole,
        pin=None if needed is None else needed / whole,
        level=level,
        beyond=part.late <= 0,
    )
    figure = hours(part.middle) if part.middle > 0 else f"over {hours(-part.middle)}"
    return PartLife(part.position, part.name, figure, life, level)


def lives_of(card: UnitCard, needed: float | None) -> tuple[PartLife, ...]:
    """All parts along the air path."""
    return tuple(part_life(part, needed) for part in card.parts)


def few(lives: tuple[PartLife, ...], card: UnitCard, most: int = 5) -> tuple[tuple[PartLife, ...], str]:
    """Those with a sign, then the shortest, `most` in all, in the order of the air; and what is left out."""
    if len(lives) <= most:
        return lives, ""
    left = {part.position: part.middle if part.middle is not None else 1e9 for part in card.parts}
    ranked = sorted(lives, key=lambda one: (one.level == "fine", left[one.id]))
    kept = {one.id for one in ranked[:most]}
    others = [one for one in lives if one.id not in kept]
    least = min(left[one.id] for one in others)
    parts = "1 more part" if len(others) == 1 else f"{len(others)} more parts"
    words = f"{parts}, at least {hours(least)} left" if least < 1e9 else parts
    return tuple(one for one in lives if one.id in kept), words


def account_of(card: UnitCard, position: str, doors: Doors) -> str:
    """How a part's figure was reached: what is fitted, since when, hours, and the basis."""
    part = next(one for one in card.parts if one.position == position)
    line = next((one for one in card.fitted if one.position == position), None)
    said = []
    if line is not None and part.fitted is not None:
        what = ", ".join(one for one in (line.item, f"lot {line.lot}" if line.lot else "", line.part_label) if one)
        said.append(f"{what}, fitted {doors.when(part.fitted.fitted_at)}.")
    said.append(f"{capital(part.why)}.")
    if part.last_day is not None:
        said.append(f"Last day by the calendar: {date_words(part.last_day)}.")
    if part.due_on is not None and part.middle is not None:
        per_day = f"{doors.house.hours_a_day:g} h a day"
        said.append(f"At {per_day} that is {day(part.due_on, doors.house.today(doors.moment))}.")
    if part.basis:
        said.append(f"Basis: {part.basis}.")
    return " ".join(said)


def next_words(card: UnitCard, doors: Doors) -> tuple[str, str]:
    """The next change in one bold line, and why."""
    part = card.next_change
    if part is None:
        return "No change is due by hours or date", "Every part is judged by looking."
    if part.middle is not None and part.middle > 0 and (part.last_day is None or part.due_on != part.last_day):
        return f"Next change: {part.name.lower()}, in about {hours(part.middle)}", capital(part.why)
    if part.due_on is not None and (part.middle is None or part.middle > 0):
        return f"Next change: {part.name.lower()}, {day(part.due_on, doors.house.today(doors.moment))}", capital(
            part.why
        )
    return f"Next change: {part.name.lower()}, now", capital(part.why)
