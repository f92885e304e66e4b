"""Every method tried on each item's own past: forecasts as they would have been made then, held against what came."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from cribdesk.crib.stock_forecast import Score
from cribdesk.desk.demand import Asked, growing_in_steps, methods_for, ran
from cribdesk.desk.past import Past
from cribdesk.desk.sight import Sight
from cribdesk.desk.use_history import Used, used_between

ORIGINS, APART = 12, timedelta(weeks=2)
"""So many moments of the past are gone back to, so far apart (a house rule)."""

ABOUT = (0.7, 1.4)
"""A tried forecast is worked out at these parts of its days, and between them by its quantiles."""

QUARTER = timedelta(weeks=13)
"""How wrong it was is told of forecasts whose time ended within so long; the best method is chosen by all of them."""

AT_ONCE = 500
"""So many forecasts, or items, are held against what came between two pauses."""

FEWEST = 3
"""Fewer forecasts than this of one method decide nothing."""


@dataclass(frozen=True)
class Try:
    """What one method said at a past moment of the use within so many days: its mean, and enough at the service."""

    item_id: int
    method: str
    made_at: datetime
    ends_at: datetime
    service: float
    mean: float
    enough: int


def tries_at(sight: Sight, used: dict[int, Used], asked: Sequence[Asked]) -> Iterator[Try | None]:
    """Every method's word on every item at that moment, over lead time and review period; None is a pause."""
    from cribdesk.desk.demand import spread_of

    for one in asked:
        history = used.get(one.item.id)
        if history is None:
            continue
        ends_at = sight.moment + timedelta(days=round(one.middle))
        for method in methods_for(sight, history, one.item):
            lengths = [one.middle * part for part in ABOUT]
            grown = yield from growing_in_steps(method, one, sight, history, lengths)
            if grown is not None:
                spread = spread_of(grown.over(one.middle, 0.0, 0.0, one.pace_sd))
                enough = spread.point(one.service)
                yield Try(one.item.id, method, sight.moment, ends_at, one.service, spread.mean, enough)


def scores(past: Past, tries: Iterable[Try], moment: datetime) -> dict[int, tuple[Score, ...]]:
    """How the methods did, by item, over the forecasts whose time is over; methods tried too seldom are left out.

    Methods are held against each other on the same forecasts alone.
    """
    return ran(scores_in_steps(past, tries, moment))


def scores_in_steps(
    past: Past, tries: Iterable[Try], moment: datetime
) -> Generator[None, None, dict[int, tuple[Score, ...]]]:
    """The same, with pauses."""
    from cribdesk.compute.horizon import pinball

    over = [one for one in tries if one.ends_at <= moment]
    actual = {
        (start, end): used_between(past, start, end) for start, end in {(one.made_at, one.ends_at) for one in over}
    }
    ended = {(one.item_id, one.made_at): one.ends_at for one in over}
    lost: defaultdict[int, dict[str, dict[datetime, tuple[float, float]]]] = defaultdict(dict)
    for number, one in enumerate(over):
        if number % AT_ONCE == 0:
            yield
        came = max(0, actual[one.made_at, one.ends_at].get(one.item_id, 0))
        row = lost[one.item_id].setdefault(one.method, {})
        row[one.made_at] = (pinball(came, one.enough, one.service), abs(came - one.mean))
    found = {}
    for number, (item_id, by_method) in enumerate(lost.items()):
        if number % AT_ONCE == 0:
            yield
        enough = {method: rows for method, rows in by_method.items() if len(rows) >= FEWEST}
        common = set.intersection(*(set(rows) for rows in enough.values())) if enough else set()
        if len(common) >= FEWEST:
            origins = sorted(common, key=lambda at: ended[item_id, at])
            rows_of = {method: [rows[at] for at in origins] for method, rows in enough.items()}
            first = next(iter(rows_of.values()))
            last = sum(ended[item_id, at] > moment - QUARTER for at in origins)
            found[item_id] = tuple(_score(method, rows, first, last) for method, rows in rows_of.items())
    return found


def _score(
    method: str, rows: Sequence[tuple[float, float]], first: Sequence[tuple[float, float]], last: int
) -> Score:
    """`last`: so many of the forecasts, those at the end, fell into the last quarter."""
    number = len(rows)
    differences = [one[0] - other[0] for one, other in zip(rows, first, strict=True)]
    middle = sum(differences) / number
    apart = (sum((one - middle) ** 2 for one in differences) / (number - 1) / number) ** 0.5
    missed = [one[1] for one in rows]
    last_miss = sum(missed[-last:]) / last if last else 0.0
    return Score(method, sum(one[0] for one in rows) / number, sum(missed) / number, number, apart, last_miss, last)
