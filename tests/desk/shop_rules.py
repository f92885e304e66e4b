"""The rules of the counter told a second time, simply: in the order things were done, with no clock but for shifts."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

EARLY = timedelta(minutes=60)
ZONE = timedelta(hours=1)
"""Vienna in winter: the random runs stay inside one November week."""


def shift_starts(around: datetime) -> list[datetime]:
    """Starts of the shifts Day 06:00 and Night 14:30, two days either side."""
    midnight = (around + ZONE).replace(hour=0, minute=0, second=0, microsecond=0) - ZONE
    found = []
    for day in range(-2, 3):
        for hours in (6.0, 14.5):
            found.append(midnight + timedelta(days=day, hours=hours))
    return found


def shift_of(moment: datetime) -> tuple[datetime, datetime]:
    """The start of the shift units are issued for now, and of the one before it."""
    starts = shift_starts(moment)
    running = [one for one in starts if one - EARLY <= moment < one + timedelta(hours=8.5 if _day(one) else 8)]
    now = running[-1] if running else next(start for start in starts if start > moment)
    return now, starts[starts.index(now) - 1]


def _day(start: datetime) -> bool:
    return (start + ZONE).hour == 6


@dataclass
class RuledHold:
    """An open hold: what proves it, and whether that came since."""

    reason: str
    benched: bool = False
    cleaned: bool = False
    inspected: bool = False

    @property
    def proven(self) -> bool:
        """Whether its own proof is there."""
        return {
            "airflow": self.benched,
            "dirty": self.cleaned,
            "inspection-not-finished": self.inspected,
            "program": False,
            "head": self.benched,
        }[self.reason]


@dataclass
class RuledUnit:
    """What the rules need to know of one unit."""

    where: str = "rack"
    holder: str | None = None
    last_wearer: str | None = None
    dirty: bool = False
    inspected: bool = True
    inspected_at: datetime | None = None
    holds: dict[str, RuledHold] = field(default_factory=dict)
    completed: bool = True
    away: bool = False  # missing, and not passed at the bench since

    @property
    def ready(self) -> bool:
        """No hold, clean, and passed since everything that was done to it."""
        return not self.holds and not self.dirty and self.inspected and not self.away

    @property
    def at_hand(self) -> bool:
        """Here, in nobody's hands."""
        return self.holder is None and self.where in ("rack", "bench")

    def passes(self, kind: str, at: datetime) -> None:
        """A run from the first step to a pass."""
        if kind in ("pre-use", "bench"):
            self.inspected, self.inspected_at = True, at
            self.away = self.away and kind != "bench"
            for hold in self.holds.values():
                hold.inspected = True
                hold.benched = hold.benched or kind == "bench"
            self.holds.pop("inspection-not-finished", None)

    def held(self, reason: str) -> None:
        """One more reason, or the same found again: a proof from before does not count."""
        self.holds[reason] = RuledHold(reason)
        if self.at_hand:
            self.where = "bench"

    def goes_out(self, person: str) -> None:
        """Into somebody's hands."""
        self.holder, self.where, self.last_wearer = person, "out", person

    def comes_back(self) -> None:
        """From its wearer: worn, so dirty and not inspected."""
        self.holder, self.where = None, "bench"
        self.dirty, self.inspected, self.completed = True, False, False

    def is_cleaned(self) -> None:
        """Clean again; the inspection has to follow the cleaning."""
        self.dirty, self.inspected = False, False
        for hold in self.holds.values():
            hold.cleaned = True

    def settle(self) -> None:
        """A unit at the bench that is ready goes to the rack."""
        if self.where == "bench" and self.ready:
            self.where = "rack"

    def needs_full(self, now: datetime) -> bool:
        """Whether the short check is not enough."""
        _, before = shift_of(now)
        return not (self.ready and self.inspected_at is not None and self.inspected_at >= before - EARLY)
