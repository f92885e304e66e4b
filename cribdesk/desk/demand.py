"""Expected use of every stock item: the fleet's exact sum of changes and what goes besides, or the item's own history.

Whichever did better on the item's own past is used. `compute`, and with it the heavy libraries, is loaded late.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING, Any, TypeVar, cast

from cribdesk.crib.records import OrderRule, StockItem
from cribdesk.crib.stock_forecast import CROSTON, FLEET, NONE, SBA, START, TSB, Demand, Lead, Score, Spread
from cribdesk.crib.words import count
from cribdesk.desk.house import House
from cribdesk.desk.settings import read_service
from cribdesk.desk.sight import PartNow, Sight
from cribdesk.desk.use_history import Used

if TYPE_CHECKING:
    from cribdesk.compute.horizon import Growing

T = TypeVar("T")

ALPHA = 0.1
"""Smoothing of size, interval and chance (common practice, no source)."""

NEAR = 1e-3
"""Chances of the fleet are good to so much."""

FEWEST_DEMANDS = 2
"""Fewer weeks with use than this are no history: a start value, or what the fleet says (methods 5b)."""

START_PIECES, START_WEEKS = 0.5, 4.0
"""What goes besides parts' ends: begun from half a piece in four weeks, and from no more than the rule of thumb lets
expect of the parts fitted (a house rule)."""

START_DOUBT = 0.5
"""Share by which a start value may be off (common practice, no source)."""

HISTORY = (TSB, SBA, CROSTON)
LATEST = 2.6
"""Deviations of the time's log that the longest length worked out covers."""


@dataclass(frozen=True)
class Asked:
    """What one item's forecast is made for."""

    item: StockItem
    lead: Lead
    review_days: int
    service: float
    pace_sd: float

    @property
    def longest(self) -> float:
        """Days that cover nearly every lead time, and one review period."""
        return (self.lead.median_days * exp(LATEST * self.lead.sd_log) + self.review_days) * exp(self.pace_sd)

    @property
    def middle(self) -> float:
        """The lead time in the middle, and one review period."""
        return self.lead.median_days + self.review_days


def service_of(house: House, item: StockItem, rule: OrderRule | None) -> float:
    """The item's own service level, else that of its criticality."""
    if rule is not None and rule.service_permille is not None:
        return rule.service_permille / 1000
    return read_service(house.settings["service"]).get(item.criticality, 0.97)


def review_of(house: House, rule: OrderRule | None) -> int:
    """Days from one look at what to order to the next."""
    return rule.review_days if rule is not None and rule.review_days else int(house.settings["review_days"])


def methods_for(sight: Sight, used: Used, item: StockItem) -> tuple[str, ...]:
    """What may be tried for the item."""
    by_fleet = any(part.key in sight.fits for part in sight.parts.get(item.id, ()))
    history = sum(pieces > 0 for pieces in used.weeks) >= FEWEST_DEMANDS
    return ((FLEET,) if by_fleet else ()) + (HISTORY if history else ())


def growing_of(method: str, asked: Asked, sight: Sight, used: Used, lengths: Sequence[float] = ()) -> Growing | None:
    """The item's use within any number of days by one method; None where the method has no figure.

    `lengths` are the days it is worked out at, where others than the usual will do.
    """
    return ran(growing_in_steps(method, asked, sight, used, lengths))


def growing_in_steps(
    method: str, asked: Asked, sight: Sight, used: Used, lengths: Sequence[float] = ()
) -> Generator[None, None, Growing | None]:
    """The same, with a pause after each length: a large fleet's takes a while."""
    from cribdesk.compute.horizon import GRID, Growing

    made = _made_by(method, asked, sight, used)
    if made is None:
        return None
    days = tuple(lengths) or tuple(asked.longest * part for part in GRID)
    pmfs = []
    for one in days:
        pmfs.append(made(one))
        yield
    return Growing(days, tuple(pmfs))


def ran(steps: Generator[object, None, T]) -> T:
    """What a generator of steps returns, without its pauses."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return cast("T", end.value)


def _made_by(method: str, asked: Asked, sight: Sight, used: Used) -> Callable[[float], Any] | None:
    """The chances of 0, 1, 2 ... pieces within so many days, as one method has them."""
    from cribdesk.compute.horizon import negative_binomial

    if method == FLEET:
        parts = sight.parts.get(asked.item.id, [])
        mean, over = besides(used, thumb_a_day(asked, sight))

        return lambda days: _fleet(parts, sight, days, mean * days, over)
    if method in HISTORY:
        level, variance = by_history(method, used.weeks)
        if level <= 0:
            return None
        doubt = variance * ALPHA / (2 - ALPHA)

        def spread(days: float) -> Any:
            weeks = days / 7
            return negative_binomial(level * weeks, variance * weeks + doubt * weeks * weeks)

        return spread
    return None


def besides(used: Used, by_thumb: float = 0.0) -> tuple[float, float]:
    """What goes besides parts' ends: pieces a day, and its variance over its mean.

    Hand-outs, parts changed along with others, what counts found gone. A gamma start value, so that none seen is not
    none to come; pieces that go several at a time spread wider than Poisson. `by_thumb` is the use a day by the rule
    of thumb: of a part that lasts for years less goes besides than of one that lasts a week.
    """
    left = max(0, used.pieces - used.explained)
    begun = max(7 * START_WEEKS, START_PIECES / by_thumb if by_thumb > 0 else 0.0)
    rate = (left + START_PIECES) / (used.days + begun)
    size = used.squares / left if left and used.squares > left else 1.0
    return rate, max(1.0, size)


def thumb_a_day(asked: Asked, sight: Sight) -> float:
    """Pieces a day by the models' rules of thumb, of the parts that are fitted and as they are worn; 0 without any."""
    thumbs = ((part.hours_a_day, sight.thumbs.get(part.key)) for part in sight.parts.get(asked.item.id, ()))
    return sum(hours / thumb for hours, thumb in thumbs if thumb)


def _fleet(parts: Sequence[PartNow], sight: Sight, days: float, mean: float, over: float) -> Any:
    """Changes of all parts of one item within so many days: by position, as each has lives of its own, and the rest."""
    from cribdesk.compute.horizon import negative_binomial, summed

    by_key: dict[Any, list[PartNow]] = {}
    for part in parts:
        by_key.setdefault(part.key, []).append(part)
    pmfs = [negative_binomial(mean, mean * over)]
    for key, some in sorted(by_key.items()):
        pmfs.append(_position(some, sight, key, days))
    return summed(pmfs)


def _position(parts: Sequence[PartNow], sight: Sight, key: Any, days: float) -> Any:
    """Changes at one position: a part whose date or limit falls within the days is changed then for certain."""
    from cribdesk.compute.demand import fleet_changes
    from cribdesk.compute.horizon import and_surely
    from cribdesk.compute.laws import alike, model_of

    sure, units = 0, []
    for part in parts:
        if part.days_left is not None and part.days_left <= days:
            sure += 1
            units.append((0.0, part.use_a_day * (days - part.days_left)))
        else:
            units.append((part.use, part.use_a_day * days))
    fit = sight.fits.get(key)
    if fit is None or not fit.laws:
        return and_surely(sure, None)
    return and_surely(sure, fleet_changes(model_of(fit.laws), alike(units), near=NEAR))


def by_history(method: str, weeks: Sequence[int]) -> tuple[float, float]:
    """The mean use a week by one method, and the variance of a week about it."""
    from cribdesk.compute.demand import croston, sba, tsb

    level = {
        TSB: lambda: tsb(weeks, ALPHA, ALPHA),
        SBA: lambda: sba(weeks, ALPHA),
        CROSTON: lambda: croston(weeks, ALPHA),
    }[method]()
    squares = sum((one - level) ** 2 for one in weeks)
    return level, max(level, squares / max(1, len(weeks) - 1))


def demand_of(
    asked: Asked,
    sight: Sight,
    used: Used,
    house: House,
    scores: Sequence[Score] = (),
    seq: int = 0,
) -> Demand:
    """The item's expected use by the method that did best on its past; without scores the fleet's, else TSB."""
    return ran(demand_in_steps(asked, sight, used, house, scores, seq))


def demand_in_steps(
    asked: Asked, sight: Sight, used: Used, house: House, scores: Sequence[Score] = (), seq: int = 0
) -> Generator[None, None, Demand]:
    """The same, with pauses."""
    methods = methods_for(sight, used, asked.item)
    method = best(methods, scores)
    grown = (yield from growing_in_steps(method, asked, sight, used)) if method else None
    basis = ""
    if grown is None:
        method, grown, basis = _start(asked, sight)
    if grown is None:
        return _none(asked, used, sight, seq, tuple(scores))
    return _demand(asked, sight, used, grown, method, basis or _basis(method, sight, used, asked), tuple(scores), seq)


def best(methods: Sequence[str], scores: Sequence[Score]) -> str:
    """The method of the lowest pinball loss among those that may be used now; '' without any.

    A few forecasts tell little: the first stands unless another is better by more than the standard error of their
    difference. The fleet's comes first, as it knows what the item's past does not yet (a house rule).
    """
    if not methods:
        return ""
    tried = {one.method: one for one in scores if one.method in methods}
    first = tried.get(methods[0])
    if first is None:
        return methods[0]
    lowest = min(tried.values(), key=lambda one: one.pinball)
    return lowest.method if lowest.pinball + lowest.apart < first.pinball else first.method


def _start(asked: Asked, sight: Sight) -> tuple[str, Growing | None, str]:
    """A stated start value for an item without history: the models' rule of thumb times the parts fitted."""
    from cribdesk.compute.horizon import growing, negative_binomial

    parts = sight.parts.get(asked.item.id, ())
    a_day = thumb_a_day(asked, sight)
    if a_day <= 0:
        return NONE, None, ""
    words = f"a start value: the model's rule of thumb times {count(len(parts), 'part')} fitted"

    def made(days: float) -> Any:
        mean = a_day * days
        return negative_binomial(mean, mean + (START_DOUBT * mean) ** 2)

    return START, growing(asked.longest, made), words


def _basis(method: str, sight: Sight, used: Used, asked: Asked) -> str:
    if method == FLEET:
        parts = sight.parts.get(asked.item.id, [])
        mean, _ = besides(used, thumb_a_day(asked, sight))
        told = f"ages and lives of {count(len(parts), 'fitted part')}"
        return f"{told}, and {mean * 7:.2g} a week besides" if mean * 7 >= 0.1 else told
    return f"{method} on {count(len(used.weeks), 'week')} of its own use"


def _demand(
    asked: Asked,
    sight: Sight,
    used: Used,
    grown: Growing,
    method: str,
    basis: str,
    scores: tuple[Score, ...],
    seq: int,
) -> Demand:
    lead = asked.lead
    until = grown.over(lead.median_days, lead.sd_log, 0.0, asked.pace_sd)
    after = grown.over(lead.median_days, lead.sd_log, float(asked.review_days), asked.pace_sd)
    path = []
    for days, pmf in zip(grown.days, grown.pmfs, strict=True):
        spread = spread_of(pmf)
        path.append((days, spread.mean, float(spread.point(0.1)), float(spread.point(0.9))))
    a_day = path[-1][1] / path[-1][0]
    shelf = asked.item.shelf_days
    rest, _ = besides(used, thumb_a_day(asked, sight))
    return Demand(
        item_id=asked.item.id,
        method=method,
        basis=basis,
        service=asked.service,
        lead=lead,
        review_days=asked.review_days,
        a_day=a_day,
        until_delivery=spread_of(until),
        until_next=spread_of(after),
        path=tuple(path),
        to_expiry=None if shelf is None else a_day * shelf,
        fleet_share=max(0.0, 1 - rest / a_day) if method == FLEET and a_day > 0 else 0.0,
        scores=scores,
        history=used.weeks,
        history_to=sight.moment,
        seq=seq,
        at=sight.moment,
    )


def _none(asked: Asked, used: Used, sight: Sight, seq: int, scores: tuple[Score, ...]) -> Demand:
    return Demand(
        item_id=asked.item.id, method=NONE, basis="no use was seen, and no model has a rule of thumb for it",
        service=asked.service, lead=asked.lead, review_days=asked.review_days, a_day=0.0, until_delivery=None,
        until_next=None, path=(), to_expiry=None, fleet_share=0.0, scores=scores, history=used.weeks,
        history_to=sight.moment, seq=seq, at=sight.moment,
    )  # fmt: skip


LEAST_CHANCE = 1e-6


def spread_of(pmf: Any) -> Spread:
    """A distribution as it is kept: without its thin ends."""
    from cribdesk.compute.horizon import within

    first, kept = within(pmf, LEAST_CHANCE)
    return Spread(first, tuple(round(one, 7) for one in kept))


def asked_for(
    house: House,
    item: StockItem,
    leads: Mapping[int, Lead],
    stand_in: Lead,
    rule: OrderRule | None,
    pace_sd: float,
) -> Asked:
    """What the item's forecast is made for, from the house's rules, its own, and its supplier's deliveries."""
    lead = leads.get(item.supplier_id, stand_in) if item.supplier_id is not None else stand_in
    return Asked(item, lead, review_of(house, rule), service_of(house, item, rule), pace_sd)

