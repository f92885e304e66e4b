"""What a fitted part's record tells about how long such parts last: one table of rules, and one life at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class End(StrEnum):
    """What a record says about the life of the part: it ended, it did not yet, or another record goes on with it."""

    CHANGED = "changed"
    RUNNING = "running"
    MOVED = "moved"


class Doubt(StrEnum):
    """Why a record was not taken as it stands. The value is the word on screens."""

    NEGATIVE = "negative hours: left out"
    NEVER_USED = "changed at no hours worn: left out"
    TOO_MANY = "more hours than the clock allows: left out"
    SET_BACK = "clock set back: its hours stand, its dust is taken as average"


@dataclass(frozen=True)
class Rule:
    """Words a part's `removed_why` begins with, at which positions (text in the code; '' all), what they mean, why."""

    begins: str
    position: str
    end: End
    because: str


RULES: tuple[Rule, ...] = (
    Rule("by the calendar", "", End.RUNNING, "a date ended its use, still good"),
    Rule("along with", "", End.RUNNING, "changed together with another part, still good"),
    Rule("recalled lot", "", End.RUNNING, "its lot was called back, still good"),
    Rule("unit scrapped", "", End.RUNNING, "the unit went, not the part"),
    Rule("airflow", "pre-filter", End.RUNNING, "the ladder changes it first, whether it is loaded or not"),
    Rule("swapped with", "", End.MOVED, "it goes on in another unit with its hours"),
    Rule("robbed for", "", End.MOVED, "it goes on in another unit with its hours"),
)
"""What is no end of life. Whatever else stands there is one, an empty text too (it was due): a part that came out
for a reason nobody listed can then only shorten a forecast, never lengthen it (a house rule)."""

BY_ITS_WEARER = "changed by its wearer"
"""How a removal is written that was made while the unit was out: its end is known to the hour, no look found it."""

MOSTLY = 0.8
"""A part's life tells of one area where this share of its hours was worn there (a house rule)."""

SLACK_HOURS = 24.0
"""So many hours more than the clock between fitting and removal are not doubted: hours are said in round figures."""


def end_of(why: str, position: str) -> End:
    """What the text of a removal means for the life of the part that sat there."""
    said = why.strip().casefold()
    for rule in RULES:
        if said.startswith(rule.begins) and rule.position in position:
            return rule.end
    return End.CHANGED


def known_to_the_hour(why: str) -> bool:
    """Whether the end was seen when it came, and not at the look after a use."""
    return why.strip().casefold().startswith(BY_ITS_WEARER)


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a unit: when it came back, worn hours, dust against the average (None: not assessed), and where."""

    back: datetime
    hours: float
    dust: float | None = None
    area_id: int | None = None


@dataclass(frozen=True, slots=True)
class Life:
    """What one record adds: hours, the same as loading, and the last use, in which the end was found.

    An end is found at the look after a use: it lies between `hours - last` and `hours`. `known` are the hours
    of uses whose dust was assessed. `area_id` is where MOSTLY of them were worn; None where they were in many.
    """

    end: End
    hours: float
    loading: float
    last: float = 0.0
    last_loading: float = 0.0
    known: float = 0.0
    area_id: int | None = None


def life_of(
    end: End, worn_hours: float, since_fitted: float, elapsed_hours: float, uses: Sequence[Use]
) -> tuple[Life | None, Doubt | None]:
    """One record as a life, or None where it is left out; and why it was doubted, if it was.

    `worn_hours` in all, `since_fitted` those at this position, `elapsed_hours` between fitting and removal (or
    now) by the clock, `uses` the unit's uses in between. Hours without an assessed dust count as average ones.
    """
    if worn_hours < 0 or since_fitted < 0:
        return None, Doubt.NEGATIVE
    doubt = clock_doubt(since_fitted, elapsed_hours)
    if doubt is Doubt.TOO_MANY:
        return None, doubt
    if end is End.CHANGED and worn_hours == 0:
        return None, Doubt.NEVER_USED
    if doubt is not None:
        return Life(end, worn_hours, worn_hours), doubt
    known, extra, last, last_loading = 0.0, 0.0, 0.0, 0.0
    for use in uses:
        if use.hours <= 0:
            continue
        last = last_loading = use.hours
        if use.dust is not None:
            known += use.hours
            extra += use.hours * (use.dust - 1.0)
            last_loading = use.hours * use.dust
    last = min(last, worn_hours)
    loading = max(0.0, worn_hours + extra)
    return Life(end, worn_hours, loading, last, last_loading, known, mostly_in(uses, worn_hours)), None


def clock_doubt(since_fitted: float, elapsed_hours: float) -> Doubt | None:
    """What is wrong with hours since fitting against those by the clock; None where they may be."""
    if elapsed_hours < 0:
        return Doubt.SET_BACK
    return Doubt.TOO_MANY if since_fitted > elapsed_hours + SLACK_HOURS else None


def mostly_in(uses: Sequence[Use], worn_hours: float) -> int | None:
    """The area where at least MOSTLY of so many hours were worn; None where there is none."""
    by_area: dict[int | None, float] = {}
    for use in uses:
        by_area[use.area_id] = by_area.get(use.area_id, 0.0) + use.hours
    area, most = max(by_area.items(), key=lambda one: one[1], default=(None, 0.0))
    return area if most > 0 and most >= MOSTLY * worn_hours else None
