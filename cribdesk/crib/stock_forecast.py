"""What will be used of a stock item, as it is kept: plain numbers only, worked out by `compute` by way of the desk."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate
from math import comb, fsum

FLEET, TSB, SBA, CROSTON, START, NONE = (
    "the fleet's lives", "TSB", "SBA", "Croston", "a start value", "no figure",
)  # fmt: skip
"""Where expected use may come from. TSB, SBA and Croston are named after those who published them."""


@dataclass(frozen=True)
class Score:
    """One method tried on the item's own past: mean pinball loss at the service level, the mean of what it missed.

    `apart` is the standard error of its loss against that of the first method, on the same forecasts. `last_miss` is
    the mean of what it missed in the `last` forecasts alone, those whose time ended in the last quarter.
    """

    method: str
    pinball: float
    miss: float
    periods: int
    apart: float = 0.0
    last_miss: float = 0.0
    last: int = 0


@dataclass(frozen=True)
class Lead:
    """How long a delivery takes: the median, how it spreads (of its log), from how many deliveries, and what it is."""

    median_days: float
    sd_log: float
    seen: int
    basis: str


@dataclass(frozen=True)
class Spread:
    """The chances of `first`, `first` + 1 ... pieces being used within so many days."""

    first: int
    chances: tuple[float, ...]

    @property
    def mean(self) -> float:
        """The mean number of pieces."""
        return self.first + fsum(n * chance for n, chance in enumerate(self.chances))

    def point(self, share: float) -> int:
        """The smallest number that is enough with at least this chance."""
        reached = list(accumulate(self.chances))
        return self.first + min(bisect_left(reached, share - 1e-9), len(reached) - 1)

    def over(self, pieces: float) -> float:
        """The chance that more than `pieces` are used."""
        return min(1.0, fsum(chance for n, chance in enumerate(self.chances) if self.first + n > pieces))

    def missing(self, pieces: float) -> float:
        """The mean number of pieces that are missing, of so many."""
        ahead = ((self.first + n - pieces, chance) for n, chance in enumerate(self.chances))
        return fsum(short * chance for short, chance in ahead if short > 0)

    def within(self, share: float) -> Spread:
        """The use in the first part of the time: each piece falls in it with that chance (binomial thinning)."""
        found = [0.0] * (self.first + len(self.chances))
        for n, chance in enumerate(self.chances, self.first):
            for k in range(n + 1):
                found[k] += chance * comb(n, k) * share**k * (1 - share) ** (n - k)
        return Spread(0, tuple(found))

    def left(self, pieces: float) -> float:
        """The mean number of pieces that are left, of so many."""
        return pieces - self.mean + self.missing(pieces)


@dataclass(frozen=True)
class Demand:
    """Expected use of one item.

    `until_delivery` is the use until a delivery ordered now could come, `until_next` until one that is ordered at the
    next look, a review period later. `path` is (days, mean, low, high) of all use until then, 1 in 10 below low and
    above high; `a_day` the mean use a calendar day. `to_expiry` is the use within the shelf life, where there is one.
    `cycle_days` is the time between two orders to the item's supplier that costs least, where one is known.
    `service` is the level that both the backtest and the order point were made for. `history` is pieces by week, the
    latest last, up to `history_to`; `ground` a digest of the settings it rests on.
    """

    item_id: int
    method: str
    basis: str
    service: float
    lead: Lead
    review_days: int
    a_day: float
    until_delivery: Spread | None
    until_next: Spread | None
    path: tuple[tuple[float, float, float, float], ...]
    to_expiry: float | None
    fleet_share: float
    scores: tuple[Score, ...]
    history: tuple[int, ...]
    history_to: datetime
    seq: int
    at: datetime
    ground: str = ""
    scored_at: datetime | None = None
    cycle_days: float | None = None

    @property
    def horizon_days(self) -> float:
        """Lead time in the middle, and one review period."""
        return self.lead.median_days + self.review_days

    def days_of(self, pieces: float) -> float | None:
        """After how many days the mean use has reached so many pieces; None where nothing is used."""
        return _days(self.path, 1, pieces, self.a_day)

    def likely_days_of(self, pieces: float) -> float | None:
        """After how many days more than so many pieces are as likely used as not; None where nothing is used."""
        return self.days_of(pieces + 0.5)


def _days(path: tuple[tuple[float, float, float, float], ...], place: int, pieces: float, a_day: float) -> float | None:
    before = (0.0, 0.0)
    if pieces <= 0:
        return 0.0
    for row in path:
        here = (row[0], row[place])
        if here[1] >= pieces:
            return before[0] + (pieces - before[1]) / (here[1] - before[1]) * (here[0] - before[0])
        before = here
    return None if a_day <= 0 else before[0] + (pieces - before[1]) / a_day
