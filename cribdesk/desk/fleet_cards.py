"""What the fleet picture shows, as frozen values: the window draws them, a table file keeps them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cribdesk.desk.cards_lists import LifePicture


@dataclass(frozen=True)
class FleetUnit:
    """One unit against its model: repairs of the last year, how many its worn hours would bring, and the verdict.

    `chance` is that of so many or more were it like the others; `worse` that the test over the whole fleet calls it
    so. `faults` names what it was held for, the commonest first.
    """

    label: str
    model: str
    repairs: int
    hours: float
    expected: float
    chance: float
    worse: bool
    faults: str


@dataclass(frozen=True)
class FleetFault:
    """One fault: how often in the last year, on how many units, and its share with those before it."""

    name: str
    count: int
    units: int
    share: float


@dataclass(frozen=True)
class Repairs:
    """Mean cumulative repairs of one unit of a model: (worn hours, repairs, robust standard error), ages ascending.

    `end` is the age the oldest unit has reached.
    """

    points: tuple[tuple[float, float, float], ...]
    end: float


@dataclass(frozen=True)
class Rate:
    """Failures in 1000 worn hours with a 95 % interval, out of so many repairs in so many hours of the last year."""

    repairs: int
    hours: float
    rate: float
    low: float
    high: float


@dataclass(frozen=True)
class Change:
    """Changes of one position in the last year: how many, worn hours at each on average, cost of one in cents.

    `still_good` says how many of them came out for another reason than the end of their life. No price: cost is None.
    """

    position: str
    name: str
    count: int
    still_good: int
    hours: float
    cost_cents: float | None


@dataclass(frozen=True)
class FleetModel:
    """One model of the fleet."""

    code: str
    name: str
    short_name: str
    units: int
    lives: tuple[LifePicture, ...]
    repairs: Repairs
    rate: Rate | None
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class FleetPicture:
    """The whole page. `tested` units were compared, `called` of them are called worse; `doubts` were left out."""

    at: datetime
    since: datetime
    worst: tuple[FleetUnit, ...]
    faults: tuple[FleetFault, ...]
    all_faults: int
    models: tuple[FleetModel, ...]
    tested: int
    called: int
    doubts: tuple[tuple[str, int], ...] = ()
