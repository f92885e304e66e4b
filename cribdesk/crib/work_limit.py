"""Work limits of a wearer, as codes seen at the counter without the reason: what each asks, and how it weighs.

The health professional says them (29 CFR 1910.134(e)(6)(i)(A)); no code tells of a condition, and none may.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from cribdesk.crib.model import UnitModel
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.words import hours, number

BASIS = "29 CFR 1910.134(e)(6)(i)(A)"
Kind = Literal["loose", "powered", "hours", "warm", "confined"]


@dataclass(frozen=True)
class LimitKind:
    """One sort of limit. `code` is kept, with a figure from `low` to `high` for its N; `words` have braces for it."""

    kind: Kind
    code: str
    words: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0

    @property
    def figured(self) -> bool:
        """Whether a figure belongs to it."""
        return bool(self.unit)


KINDS = (
    LimitKind("loose", "loose-fitting only", "Loose-fitting only"),
    LimitKind("powered", "powered only", "Powered units only"),
    LimitKind("hours", "hours at most N", "{}\u00a0h a day at most", "h", 0.5, 16.0),
    LimitKind("warm", "not above N C", "Not where it is above {}\u00a0°C", "°C", 15.0, 45.0),
    LimitKind("confined", "not in confined spaces", "Not in confined spaces"),
)
"""Every code there is. A limit that none of them says is not entered as words: the health professional is asked."""


@dataclass(frozen=True)
class Limit:
    """One limit, read from its code. `figure` is in the kind's unit, 0 where it has none."""

    of: LimitKind
    figure: float = 0.0

    @property
    def code(self) -> str:
        """As it is kept."""
        return self.of.code.replace("N", f"{self.figure:g}") if self.of.figured else self.of.code

    @property
    def words(self) -> str:
        """As it stands on cards and in lists."""
        return self.of.words.format(number(self.figure, 0 if self.figure == int(self.figure) else 1))


def limit_of(code: str) -> Limit:
    """Reads a code. Raises ValueError, in plain words, for one that is none or whose figure cannot be."""
    for one in KINDS:
        if not one.figured and code == one.code:
            return Limit(one)
        before, _, after = one.code.partition("N")
        if one.figured and code.startswith(before) and code.endswith(after) and len(code) >= len(one.code):
            return _figured(one, code[len(before) : len(code) - len(after)])
    raise ValueError(f"'{code}' is no work limit of this program")


def _figured(kind: LimitKind, text: str) -> Limit:
    try:
        figure = float(text)
    except ValueError:
        raise ValueError(f"'{text}' is no number of {kind.unit}") from None
    if not kind.low <= figure <= kind.high:
        raise ValueError(f"between {kind.low:g} and {kind.high:g} {kind.unit}")
    return Limit(kind, figure)


def words_of(code: str) -> str:
    """The code in words; one that cannot be read stands as it is."""
    try:
        return limit_of(code).words
    except ValueError:
        return code


@dataclass(frozen=True)
class Wear:
    """What is planned, as far as a work limit asks. `worn_today_hours` the wearer wore already today.

    `confined` says whether it goes into a confined space; None while no area is chosen. `assigned`: no time of return.
    """

    model: UnitModel
    planned_hours: float
    worn_today_hours: float = 0.0
    assigned: bool = False
    confined: bool | None = None


def limit_reasons(codes: Sequence[str], wear: Wear) -> Iterator[Reason]:
    """One line for each work limit: a stop where the plan breaks it, fine where it keeps it.

    What the crib cannot see, how warm it is out there, is a caution. A unit without respirator is under none of them.
    A code that cannot be read stops: nobody knows what it forbids.
    """
    if wear.model.facepiece == "none":
        return
    for code in codes:
        try:
            limit = limit_of(code)
        except ValueError:
            words = f"Work limit not understood: {code}"
            yield Reason(Level.STOP, "work-limit", words, "The program administrator enters it anew.", BASIS, code)
            continue
        yield _weighed(limit, wear)


def _weighed(limit: Limit, wear: Wear) -> Reason:
    broken, detail = _BROKEN[limit.of.kind](limit, wear)
    words = f"Work limit: {limit.words[:1].lower()}{limit.words[1:]}"
    level = Level.STOP if broken else Level.CAUTION if limit.of.kind == "warm" else Level.FINE
    return Reason(level, "work-limit", words, detail, BASIS, limit.code)


def _loose(limit: Limit, wear: Wear) -> tuple[bool, str]:
    broken = wear.model.tight_fitting
    return broken, f"{_name(wear)} is tight-fitting. Take a loose-fitting unit." if broken else ""


def _powered(limit: Limit, wear: Wear) -> tuple[bool, str]:
    broken = not wear.model.powered
    return broken, f"{_name(wear)} has no blower. Take a powered unit." if broken else ""


def _hours(limit: Limit, wear: Wear) -> tuple[bool, str]:
    """The day's hours count together; what is kept for weeks has no hours a day that the crib could hold."""
    if wear.assigned:
        return True, "Assigned, nobody sees the hours of a day. Issue it for a time, with F6."
    total = wear.worn_today_hours + wear.planned_hours
    before = f", {hours(wear.worn_today_hours)} worn today already" if wear.worn_today_hours > 0 else ""
    planned = f"{hours(wear.planned_hours)} planned{before}"
    if total > limit.figure:
        return True, f"{planned}. Choose an earlier time with F6."
    return False, planned


def _warm(limit: Limit, wear: Wear) -> tuple[bool, str]:
    return False, "The crib does not see how warm it is out there: ask, and note it."


def _confined(limit: Limit, wear: Wear) -> tuple[bool, str]:
    if wear.confined is None:
        return False, "No area is chosen yet."
    return wear.confined, "The area is one. Another place, or another wearer." if wear.confined else ""


def _name(wear: Wear) -> str:
    name = wear.model.short_name
    return name[:1].upper() + name[1:]


_BROKEN = {"loose": _loose, "powered": _powered, "hours": _hours, "warm": _warm, "confined": _confined}
