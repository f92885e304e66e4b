"""What is left of a unit's parts, as life bars, and how each figure was reached."""

from __future__ import annotations

from datetime import date

from cribdesk.crib.change import CAUTION, FORECAST, THUMB, PartOutlook
from cribdesk.crib.reasons import Facts
from cribdesk.crib.words import NBSP, capital, date_words, day, hours, number, percent, span
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
    chance = part.chance(needed, date.min)
    if chance is not None and chance < 1:  # a forecast cautions from the same chance on as the verdict does
        return "caution" if chance >= CAUTION else "fine"
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
    figure = hours(part.early) if part.middle > 0 else f"{hours(-part.middle)} past"  # the earliest leads
    return PartLife(part.position, part.name, figure, life, level)


def lives_of(card: UnitCard, needed: float | None) -> tuple[PartLife, ...]:
    """All parts along the air path."""
    return tuple(part_life(part, needed) for part in card.parts)


def few(lives: tuple[PartLife, ...], card: UnitCard, most: int = 5) -> tuple[tuple[PartLife, ...], str]:
    """Those with a sign, then the shortest, `most` in all, in the order of the air; and what is left out."""
    if len(lives) <= most:
        return lives, ""
    left = {part.position: part.early if part.early is not None else 1e9 for part in card.parts}
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
    if part.forecast is not None:
        said.append(f"{estimates(part, doors)} {rate_words(part)}")
        said.append(f"As of {doors.when(part.forecast.at)}.")
    elif part.due_on is not None and part.middle is not None:
        per_day = f"{part.a_day or doors.house.hours_a_day:g} h a day"
        said.append(f"At {per_day} that is {day(part.due_on, doors.house.today(doors.moment))}.")
    if part.basis:
        said.append(f"Basis: {part.basis}.")
    if part.basis == THUMB:
        said.append("No forecast is made yet.")
    if doors.forecast_trouble and part.basis in (THUMB, FORECAST):
        said.append(doors.forecast_trouble)
    return " ".join(said)


def estimates(part: PartOutlook, doors: Doors) -> str:
    """The early, middle and late figure in hours and as days: 'One in ten is due in 12 h, by Fri 27 Nov; half ...'."""
    today = doors.house.today(doors.moment)
    told = (("One in ten is due in", part.early, part.early_on), ("half in", part.middle, part.middle_on),
            ("nine in ten in", part.late, part.late_on))  # fmt: skip
    words = [f"{words} {hours(left)}, by {day(on, today)}" for words, left, on in told if left is not None and on]
    return f"{'; '.join(words)}." if words else ""


def rate_words(part: PartOutlook) -> str:
    """At what worn hours a day the days are reckoned."""
    whose = "its own over the last weeks" if part.own_rate else "the house's figure: it was used too little to tell"
    return f"Days at {number(part.a_day, 1)}{NBSP}h a day, {whose}."


def chance_words(part: PartOutlook, needed: float, until: date, dust_ug_m3: int | None) -> str:
    """The chance that it falls due before it is back, or nothing where none is known."""
    chance = part.chance(needed, until, dust_ug_m3)
    return "" if chance is None else f"{percent(chance)} that it falls due in the {hours(needed)} planned."


def next_words(card: UnitCard, doors: Doors, facts: Facts | None = None) -> tuple[str, str]:
    """The next change in one bold line, and why; with the facts of an issue, the chance before its return."""
    part = card.next_change
    if part is not None and part.forecast is not None and part.basis == FORECAST:
        assert part.early is not None
        assert part.late is not None
        chance = ""
        if facts is not None:
            until = facts.due_at.astimezone(facts.zone).date()
            chance = chance_words(part, facts.planned_hours, until, facts.area.dust_ug_m3 if facts.area else None)
        why = " ".join(one for one in (chance, f"{capital(part.why)}.", estimates(part, doors)) if one)
        return f"Next change: {part.name.lower()}, in {span(part.early, part.late)}", why
    if part is None:
        return "No change is due by hours or date", "Every part is judged by looking."
    if part.middle is not None and part.middle > 0 and (part.last_day is None or part.due_on != part.last_day):
        return f"Next change: {part.name.lower()}, in about {hours(part.middle)}", capital(part.why)
    if part.due_on is not None and (part.middle is None or part.middle > 0):
        return f"Next change: {part.name.lower()}, {day(part.due_on, doors.house.today(doors.moment))}", capital(
            part.why
        )
    return f"Next change: {part.name.lower()}, now", capital(part.why)
