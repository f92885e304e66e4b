"""Whether a unit may be used: one function of holds, cleanings, inspections, fitted parts and the moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum

from cribdesk.crib.forecast import Forecast
from cribdesk.crib.hold import hold_words
from cribdesk.crib.model import Position, UnitModel
from cribdesk.crib.records import Away, AwayKind, Cleaning, Custody, Fitted, Hold, Inspection, Unit, Where
from cribdesk.crib.words import day, hours, joined, number

COUNTS_AS_INSPECTION = ("pre-use", "bench")
"""Kinds of procedure whose pass can make a unit ready."""


class Serviceable(StrEnum):
    """The four states; the value is the word on screens and papers."""

    READY = "ready"
    NOT_CHECKED = "returned, not checked"
    NEEDS_CLEANING = "needs cleaning"
    ON_HOLD = "on hold"


@dataclass(frozen=True)
class Standing:
    """Everything the state of a unit follows from.

    `last_custody` is the last one that ended, `last_pass` the last passed inspection that counts,
    `last_look` the last look-over after a return, `today` the site's date. `items` are the codes of the fitted
    items by id, `blocked` why a fitted part's lot is blocked, by the lot's id. `away` is open until the unit, back
    here, has passed at the bench.
    """

    unit: Unit
    model: UnitModel
    holds: tuple[Hold, ...]
    fitted: tuple[Fitted, ...]
    last_custody: Custody | None
    last_cleaning: Cleaning | None
    last_pass: Inspection | None
    last_look: Inspection | None
    today: date
    items: Mapping[int, str] = field(default_factory=dict)
    blocked: Mapping[int, str] = field(default_factory=dict)
    away: Away | None = None
    forecasts: Mapping[str, Forecast] = field(default_factory=dict)  # by position; the state does not follow from them


@dataclass(frozen=True)
class Condition:
    """The state and why, the first being the one to say; `parts` are positions empty or past a limit."""

    state: Serviceable
    why: tuple[str, ...]
    parts: tuple[str, ...] = ()
    dirty: bool = False


def condition(standing: Standing) -> Condition:
    """The state of a unit. While it is out, the state it left with, holds included."""
    parts = part_faults(standing)
    dirty = needs_cleaning(standing)
    if standing.holds or parts:
        why = tuple(hold_words(standing.model, hold) for hold in standing.holds) + tuple(words for _, words in parts)
        return Condition(Serviceable.ON_HOLD, why, tuple(code for code, _ in parts), dirty)
    if dirty:
        looked = standing.last_look
        back = standing.last_custody
        if looked and back and back.returned_at and looked.ended_at >= back.returned_at:
            return Condition(Serviceable.NEEDS_CLEANING, ("not cleaned since its last wearer",), dirty=True)
        return Condition(Serviceable.NOT_CHECKED, ("back from its wearer, not looked over yet",), dirty=True)
    unchecked = why_not_checked(standing) or why_still_away(standing)
    if unchecked:
        return Condition(Serviceable.NOT_CHECKED, (unchecked,))
    return Condition(Serviceable.READY, ())


def why_still_away(standing: Standing) -> str:
    """What was done to a unit while it was away nobody here saw: the bench has to pass it."""
    if standing.away is None:
        return ""
    since = {
        AwayKind.MISSING: "it was missing",
        AwayKind.STOLEN: "it was stolen",
        AwayKind.REPAIR: "it was sent for repair",
        AwayKind.LENT: "it was lent",
    }[standing.away.kind]
    return f"not inspected at the bench since {since}"


def needs_cleaning(standing: Standing) -> bool:
    """Whether somebody wore it since it was last cleaned (29 CFR 1910.134(h)(1)(ii))."""
    back, cleaned = standing.last_custody, standing.last_cleaning
    if back is None or back.returned_at is None:
        return False
    return cleaned is None or cleaned.at < back.returned_at


def why_not_checked(standing: Standing) -> str:
    """Why the last pass does not stand, or nothing."""
    passed = standing.last_pass
    if passed is None:
        return "never inspected"
    if not passed.instrument_good:
        return "its last inspection was made with a meter out of calibration"
    back, cleaned = standing.last_custody, standing.last_cleaning
    if back and back.returned_at and passed.started_at < back.returned_at:
        return "not inspected since it came back"
    if cleaned and passed.ended_at < cleaned.at:
        return "not inspected since it was cleaned"
    later = [one for one in standing.fitted if one.fitted_at > passed.ended_at]
    changed = [one.position for one in later if not _by_wearer(one, standing)]
    if changed:
        names = joined([position_name(standing.model, code) for code in changed])
        return f"not inspected since a part was changed: {names}"
    return ""


def used_part_came(standing: Standing) -> bool:
    """Whether a part that was worn before came into it since its last pass, as out of another unit.

    What its wearer knows of their own unit they do not know of that part.
    """
    passed = standing.last_pass
    since = [one for one in standing.fitted if passed is None or one.fitted_at > passed.ended_at]
    return any(one.worn_before_hours > 0 for one in since)


def _by_wearer(fitted: Fitted, standing: Standing) -> bool:
    """Whether the wearer changed it while they have the unit, at a position that is theirs to change.

    The inspection then stands until the unit is back (a house rule): what the wearer changed they check themselves
    before the next use (29 CFR 1910.134(h)(3)(i)(A)), and at its return the unit is 'returned, not checked' anyway.
    """
    position = standing.model.position(fitted.position)
    with_wearer = standing.unit.where in (Where.OUT, Where.ASSIGNED)
    return with_wearer and position is not None and position.wearer_changes


def part_faults(standing: Standing) -> list[tuple[str, str]]:
    """(position, words) of each required position that is empty, and each part that is past a limit."""
    there = {one.position: one for one in standing.fitted}
    found = []
    for position in standing.model.positions:
        one = there.get(position.code)
        if one is None:
            if position.required:
                found.append((position.code, f"{position.name}: none fitted"))
            continue
        words = past_limit(position, one, standing)
        if words:
            found.append((position.code, f"{position.name}: {words}"))
    return found


def past_limit(position: Position, fitted: Fitted, standing: Standing) -> str:
    """What limit the part is past, in words, or nothing."""
    code = standing.items.get(fitted.item_id)
    if not position.items or (code is not None and code not in position.items):
        return f"{code or 'what is fitted'} is not approved here"
    blocked = standing.blocked.get(fitted.lot_id or 0)
    if blocked:
        return f"its lot is blocked, {blocked}"
    if fitted.expires_on and fitted.expires_on < standing.today:
        return f"past its date, {day(fitted.expires_on, standing.today)}"
    last_day = calendar_limit(position, fitted)
    if last_day and last_day < standing.today:
        return f"{number(position.max_days or 0)} days fitted, ended {day(last_day, standing.today)}"
    worn = fitted.worn(standing.unit.worn_hours)
    if position.max_hours is not None and worn >= position.max_hours:
        return f"{hours(worn)} worn, limit {hours(position.max_hours)}"
    return ""


def calendar_limit(position: Position, fitted: Fitted) -> date | None:
    """The last day the part may stay fitted by the calendar, its own date included."""
    days = []
    if position.max_days is not None:
        days.append(fitted.fitted_at.date() + timedelta(days=position.max_days))
    if fitted.expires_on:
        days.append(fitted.expires_on)
    return min(days, default=None)


def is_current(standing: Standing, since: datetime) -> bool:
    """Whether a ready unit's inspection is recent enough for the short hand-over check."""
    passed = standing.last_pass
    return condition(standing).state is Serviceable.READY and passed is not None and passed.ended_at >= since


def position_name(model: UnitModel, code: str) -> str:
    """The position's name, or its code where the model has no such position any more."""
    return next((one.name for one in model.positions if one.code == code), code)
