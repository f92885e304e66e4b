"""What the stock views know about one item: what is there, what will be used, what to order, who would stand still."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

LIKELY = 0.5
"""From this chance of running out on it is told although the storekeeper's own minimum is kept (a house rule)."""


@dataclass(frozen=True)
class AdviceLine:
    """One line under 'How this was worked out': a name, its figure as it is read, and what it rests on."""

    name: str
    figure: str
    basis: str


@dataclass(frozen=True)
class OrderAdvice:
    """What to order of one item, and why.

    `point` and `up_to` are in force: the storekeeper's own minimum and maximum where set, else those suggested.
    `pieces` is a whole number of packs; 0 where nothing is to be ordered. `along` are the pieces that go along with
    an order to the same supplier, as they would be due before the next one. `words` says it in one sentence.
    """

    order_now: bool
    packs: int
    pieces: int
    cost_cents: int
    point: int | None
    up_to: int | None
    suggested_point: int | None
    suggested_up_to: int | None
    service: float
    words: str
    lines: tuple[AdviceLine, ...]
    along: int = 0


@dataclass(frozen=True)
class UnitMissed:
    """A unit whose part probably falls due when no piece is left: since when, and how likely it is by the delivery."""

    unit_id: int
    label: str
    position: str
    from_on: date
    chance: float


@dataclass(frozen=True)
class UnitsMissed:
    """What the shop would miss of one item if nothing were ordered until the next delivery could come.

    `expected` units would stand still, at worst `most` (5 in 100 are worse), from `from_on` on: the first day on
    which it is as likely as not that the last piece is used; None where that day does not come. `units` are the
    likeliest, in order of need; `other` pieces are missed that go to no unit we know of.
    """

    item_id: int
    label: str
    name: str
    expected: float
    most: int
    from_on: date | None
    next_delivery_on: date
    units: tuple[UnitMissed, ...] = ()
    other: float = 0.0


@dataclass(frozen=True)
class UsePoint:
    """One week of the plot: pieces used (None ahead), and expected use with its band (None behind)."""

    week: date
    used: int | None = None
    expected: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class StockOutlook:
    """One row of the low-stock view.

    On hand: `usable` may be fitted, `expired` and `blocked` may not, `reserved` of the usable ones are set aside;
    `kept` says for what. `price_cents` is today's.
    `horizon_days` is lead time and review period; `expected`, `low`, `high` the use over it (1 in 10 is below low,
    1 in 10 above high; None: no figure). `days_of_cover` None: nothing is used. `runs_out` is the chance that the
    last piece is used before a delivery ordered today would come. `how_wrong` says how wrong the figures were last
    quarter. `minimum` and `maximum` are the storekeeper's own. `worst` sorts: the largest first. `free` of the usable
    pieces are kept for nothing else and will be used before their date, below zero where more is kept than lies there;
    `in_draft` stand on drafts, ordered by nobody.
    """

    item_id: int
    label: str
    code: str
    name: str
    criticality: str
    supplier_id: int | None
    supplier: str
    models: tuple[str, ...]
    bin: str
    pack_size: int
    price_cents: int
    usable: int
    expired: int
    blocked: int
    reserved: int
    on_order: int
    next_arrival: date | None
    minimum: int
    maximum: int | None
    horizon_days: float
    lead_days: float
    expected: float | None
    low: float | None
    high: float | None
    days_of_cover: float | None
    runs_out: float | None
    basis: str
    how_wrong: str
    advice: OrderAdvice
    worst: float
    as_of: datetime | None
    free: int
    kept: str = ""
    in_draft: int = 0

    @property
    def below_point(self) -> bool:
        """Whether what is free and what comes is less than the order point in force."""
        return self.advice.point is not None and self.free + self.on_order < self.advice.point

    @property
    def own_too_low(self) -> bool:
        """Whether the storekeeper's own figures let it run out, more likely than not, before a delivery could come."""
        suggested, likely = self.advice.suggested_point, self.runs_out is not None and self.runs_out >= LIKELY
        below = suggested is not None and self.free + self.on_order < suggested
        return bool(self.minimum) and below and likely and not self.advice.order_now


@dataclass(frozen=True)
class UnitDue:
    """One unit whose part makes up part of the forecast."""

    unit_id: int
    label: str
    position: str
    hours: float
    a_day: float | None
    chance: float
    due_on: date | None


@dataclass(frozen=True)
class MethodScore:
    """How one method did on this item's own past: pinball loss at the service level a week, mean miss, weeks tried."""

    method: str
    pinball: float
    miss: float
    periods: int
    used: bool


@dataclass(frozen=True)
class StockDetail:
    """What a row opens to, besides lots and movements."""

    outlook: StockOutlook
    plot: tuple[UsePoint, ...]
    units: tuple[UnitDue, ...]
    missed: UnitsMissed | None
    scores: tuple[MethodScore, ...]
