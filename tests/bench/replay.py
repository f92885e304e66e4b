"""A year of the sample store again, day by day, by three ways of ordering: `python -m tests.bench.replay [FILE ...]`.

Without a file the shipped sample is taken. A file is a store, or a journal made by sample_store/generate.py.
What is asked of the shelf is what the journal says was taken, there or not; what is missing waits.
Delivery times are drawn from the generator's own suppliers, the same for all ways of ordering. The program knows on
each day what was known then and nothing later: ages, lives, use, delivery times. No figure is tuned on a result.
"""

from __future__ import annotations

import csv
import random
import shutil
import sys
import tempfile
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from math import ceil, exp
from pathlib import Path
from typing import Any

from cribdesk.crib.records import Lot, StockItem
from cribdesk.crib.stock_forecast import Demand
from cribdesk.desk.backtest import Try, scores, tries_at
from cribdesk.desk.demand import demand_of
from cribdesk.desk.demands import all_asked, with_cycles
from cribdesk.desk.house import House
from cribdesk.desk.ordering import Position, advise, costs_of
from cribdesk.desk.past import Past, read_past
from cribdesk.desk.sight import sight_at
from cribdesk.desk.use_history import NOTHING, used_between, used_until
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.transfer import load_journal

SUPPLIERS = Path(__file__).parents[2] / "sample_store" / "inputs" / "suppliers.csv"
ORDER_DAY, REFIT_WEEKS = 1, 6
"""Orders go out on Tuesdays, as in the sample; lives are fitted anew every sixth week."""

MONTHS = timedelta(days=91)
SERVICE = {"A": 0.99, "B": 0.97, "C": 0.90}
There = Mapping[int, tuple[int, int]]
"""By item: usable pieces, pieces on order."""
Suggest = Callable[[date, There], Mapping[int, int]]
"""How many pieces of which items to order on a day."""


def ran(steps: Any) -> Any:
    """What a generator of steps returns."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return end.value


@dataclass
class Year:
    """What one store tells, and the program's forecasts of each order day."""

    past: Past
    house: House
    days: list[date]
    asked: dict[date, dict[int, int]]
    start: dict[int, int]
    leads: dict[int, tuple[float, float]]
    demands: dict[date, dict[int, Demand]] = field(default_factory=dict)


@dataclass
class Result:
    """What one way of ordering came to."""

    asked: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    filled: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    cycles: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    short: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    promised: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    value: float = 0.0
    requisitions: int = 0
    lines: int = 0

    def fill(self, level: str = "") -> float:
        """The share of pieces that were there when asked for."""
        keys = [level] if level else list(self.asked)
        whole = sum(self.asked[key] for key in keys)
        return sum(self.filled[key] for key in keys) / whole if whole else 1.0

    def service(self, level: str) -> float:
        """The share of times from one order day to the arrival of what is ordered then in which nothing was missing."""
        return 1 - self.short[level] / self.cycles[level] if self.cycles[level] else 1.0

    def foretold(self, level: str) -> float:
        """The same share as the forecasts of each order day had it, for what was there and on order that evening."""
        told = self.promised[level]
        return sum(told) / len(told) if told else 1.0


def year_of(store: SqlStore, house: House) -> Year:
    """The store's year as it is asked of the shelf."""
    past = Past()
    ran(read_past(store, house, past))
    assert past.begun_at is not None
    with store.reading() as reader:
        start: dict[int, int] = defaultdict(int)
        for lot in reader.find(Lot):
            start[lot.item_id] += lot.on_hand
    for item, quantity, _, _, at in past.moves:
        if at >= past.begun_at:
            start[item] -= quantity
    last = house.today(max(row[4] for row in past.moves))
    first = house.today(past.begun_at)
    days = [first + timedelta(days=n) for n in range((last - first).days)]
    asked = {}
    for day in days:
        begins = datetime.combine(day, time(0), tzinfo=house.zone)
        asked[day] = {i: n for i, n in used_between(past, begins, begins + timedelta(days=1)).items() if n > 0}
    with SUPPLIERS.open(encoding="utf-8", newline="") as file:
        told = {row["supplier"]: (float(row["lead_days_median"]), float(row["lead_log_sd"]))
                for row in csv.DictReader(file)}  # fmt: skip
    leads = {one.id: told[one.name] for one in past.suppliers.values() if one.name in told}
    return Year(past, house, days, asked, dict(start), leads)


def forecast(year: Year, every: int = 1) -> None:
    """The program's expected use on each order day (`every` second one, ...), by what was known then."""
    tries: list[Try] = []
    fits = None
    for number, day in enumerate(one for one in year.days if one.weekday() == ORDER_DAY):
        if number % every:
            year.demands[day] = year.demands[day - timedelta(days=7)]
            continue
        moment = datetime.combine(day, time(9, 10), tzinfo=year.house.zone).astimezone(UTC)
        sight = ran(sight_at(year.past, year.house, moment, fits if number % REFIT_WEEKS else None))
        fits = sight.fits
        used = used_until(year.past, moment)
        asked = all_asked(year.past, year.house, moment, {})
        known = scores(year.past, tries, moment)
        made = [
            demand_of(one, sight, used.get(one.item.id, NOTHING), year.house, known.get(one.item.id, ()))
            for one in asked
        ]
        year.demands[day] = {
            one.item_id: one for one in with_cycles(made, year.past.items, costs_of(year.house))
        }
        if number % 2 == 0:
            tries += [one for one in tries_at(sight, used, asked) if one is not None]
        print(".", end="", flush=True)
    print()


def played(year: Year, suggest: Suggest, start: Mapping[int, int] | None = None) -> Result:
    """The year by one way of ordering, from the stock on record or another."""
    result = Result()
    items = year.past.items
    stock = {id_: (start or year.start).get(id_, 0) for id_ in items}
    waiting: dict[int, int] = defaultdict(int)
    coming: list[tuple[date, int, int]] = []
    cycle_ends: list[tuple[date, int]] = []
    for day in year.days:
        for one in [one for one in coming if one[0] <= day]:
            coming.remove(one)
            stock[one[1]] += one[2]
            late = min(waiting[one[1]], stock[one[1]])
            waiting[one[1]] -= late
            stock[one[1]] -= late
        short_today = set()
        for id_, pieces in year.asked[day].items():
            if id_ not in items:
                continue
            level = items[id_].criticality
            given = min(pieces, stock[id_])
            stock[id_] -= given
            waiting[id_] += pieces - given
            result.asked[level] += pieces
            result.filled[level] += given
            if given < pieces:
                short_today.add(id_)
        _count_cycles(result, items, cycle_ends, day, short_today)
        if day.weekday() == ORDER_DAY:
            _order(year, result, suggest, day, stock, waiting, coming, cycle_ends)
        result.value += sum(pieces * items[id_].price_cents for id_, pieces in stock.items()) / 100
    result.value /= len(year.days)
    return result


def _count_cycles(
    result: Result, items: Mapping[int, StockItem], open_: list[tuple[date, int]], day: date, short: set[int]
) -> None:
    for one in list(open_):
        if one[1] in short or one[0] <= day:
            level = items[one[1]].criticality
            result.cycles[level] += 1
            result.short[level] += one[1] in short
            open_.remove(one)


def _order(
    year: Year,
    result: Result,
    suggest: Suggest,
    day: date,
    stock: dict[int, int],
    waiting: dict[int, int],
    coming: list[tuple[date, int, int]],
    cycle_ends: list[tuple[date, int]],
) -> None:
    by_supplier: dict[int, date] = {}
    bought = [one for one in year.past.items.values() if one.supplier_id in year.leads]
    there = {
        one.id: (stock[one.id], sum(row[2] for row in coming if row[1] == one.id) - waiting[one.id]) for one in bought
    }
    ordered = suggest(day, there)
    for item in bought:
        assert item.supplier_id is not None
        pieces = ordered.get(item.id, 0)
        arrives = by_supplier.get(item.supplier_id) or _arrival(year, item.supplier_id, day)
        cycle_ends.append((arrives + timedelta(days=7), item.id))
        demand = year.demands.get(day, {}).get(item.id)
        if demand is not None and demand.until_next is not None:
            result.promised[item.criticality].append(1 - demand.until_next.over(sum(there[item.id]) + pieces))
        if pieces > 0:
            by_supplier[item.supplier_id] = arrives
            coming.append((arrives, item.id, pieces))
            result.lines += 1
    result.requisitions += len(by_supplier)


def _arrival(year: Year, supplier_id: int, day: date) -> date:
    """Drawn by supplier and day alone, so that every way of ordering meets the same."""
    median, sd = year.leads[supplier_id]
    rng = random.Random(f"{supplier_id} {day}")
    on = day + timedelta(days=max(1, round(median * exp(sd * rng.gauss(0, 1)))))
    while on.weekday() > 4:
        on += timedelta(days=1)
    return on


def program(year: Year) -> Suggest:
    """The program's suggestions, as if no minimum and no maximum were set by hand; what goes along goes along."""
    costs = costs_of(year.house)

    def suggest(day: date, there: There) -> Mapping[int, int]:
        items = year.past.items
        told = {id_: advise(year.demands[day].get(id_), _position(items[id_], *some), costs, own=False)
                for id_, some in there.items()}  # fmt: skip
        due = {items[id_].supplier_id for id_, one in told.items() if one.order_now}
        return {id_: one.pieces or (one.along if items[id_].supplier_id in due else 0) for id_, one in told.items()}

    return suggest


def _position(item: StockItem, usable: int, on_order: int) -> Position:
    return Position(
        usable=usable, on_order=on_order, reserved=0, expiring=0, shelf=usable, pack_size=item.pack_size,
        price_cents=item.price_cents, minimum=0, maximum=None, shelf_days=item.shelf_days,
    )  # fmt: skip


def each(year: Year, one: Callable[[StockItem, date, int], int]) -> Suggest:
    """Every item by itself: item, day, pieces on hand and on order."""

    def suggest(day: date, there: There) -> Mapping[int, int]:
        return {id_: one(year.past.items[id_], day, sum(some)) for id_, some in there.items()}

    return suggest


def fixed(year: Year, scale: float = 1.0) -> Suggest:
    """The items' own minimum and maximum, all taken times `scale`."""

    def one(item: StockItem, day: date, position: int) -> int:
        minimum, maximum = item.minimum * scale, (item.maximum or item.minimum * 2) * scale
        if position > minimum:
            return 0
        return max(1, round((maximum - position) / item.pack_size)) * item.pack_size

    return each(year, one)


def average(year: Year) -> Suggest:
    """The last three months' mean use: below the use of delivery and review time, up to a month's use more."""
    known: dict[date, dict[int, int]] = {}

    def one(item: StockItem, day: date, position: int) -> int:
        if day not in known:
            end = datetime.combine(day, time(9), tzinfo=year.house.zone)
            known[day] = used_between(year.past, end - MONTHS, end)
        over = min(MONTHS.days, max(28, (day - year.days[0]).days))
        a_day = max(0, known[day].get(item.id, 0)) / over
        median, _ = year.leads[item.supplier_id or 0]
        point = a_day * (median + 7)
        if position >= point:
            return 0
        return ceil((point + a_day * 30 - position) / item.pack_size) * item.pack_size

    return each(year, one)


def own_levels(year: Year) -> dict[int, int]:
    """The stock the program would begin with: half-way from its order point to its up-to level, on the first day."""
    costs, first = costs_of(year.house), min(year.demands)
    found = dict(year.start)
    for item in year.past.items.values():
        advice = advise(year.demands[first].get(item.id), _position(item, 0, 0), costs, own=False)
        if advice.suggested_point is not None and advice.suggested_up_to is not None:
            found[item.id] = ceil((advice.suggested_point + advice.suggested_up_to) / 2)
    return found


def fixed_levels(year: Year, scale: float = 1.0) -> dict[int, int]:
    """The same for fixed minima and maxima."""
    items = year.past.items.values()
    return {one.id: ceil((one.minimum + (one.maximum or one.minimum * 2)) * scale / 2) for one in items}


def tuned(year: Year, fill: float, own_start: bool) -> tuple[float, Result]:
    """The smallest scale of all minima and maxima that fills as much as the program did."""
    for percent in range(5, 301, 5):
        scale = percent / 100
        result = played(year, fixed(year, scale), fixed_levels(year, scale) if own_start else None)
        if result.fill() >= fill - 1e-9:
            return scale, result
    return 3.0, result


HEAD = (
    "| store | ordering | fill rate | fill A / B / C | no shortage A / B / C | as foretold "
    "| mean stock value | requisitions | lines | holding and ordering, a year |"
)


def rows(name: str, year: Year) -> list[str]:
    """The table's rows of one store."""
    ours = played(year, program(year))
    scale, same = tuned(year, ours.fill(), own_start=False)
    begun = played(year, program(year), own_levels(year))
    begun_scale, begun_same = tuned(year, begun.fill(), own_start=True)
    told = [
        ("the program's suggestions", ours),
        ("(a) the items' fixed minimum and maximum", played(year, fixed(year))),
        (f"(a) all times {scale:.2f}: fills as much as the program", same),
        ("(b) on the 3-month average", played(year, average(year))),
        ("begun at its own levels: the program's suggestions", begun),
        ("begun at its own levels: (a)", played(year, fixed(year), fixed_levels(year))),
        (f"begun at its own levels: (a) all times {begun_scale:.2f}", begun_same),
    ]
    return [_line(name, way, one, year) for way, one in told]


def _line(name: str, way: str, one: Result, year: Year) -> str:
    costs = costs_of(year.house)
    ordering = one.requisitions * 365.25 / len(year.days) * costs.order_cents / 100
    levels = sorted(SERVICE)
    fills = " / ".join(f"{one.fill(level):.1%}" for level in levels)
    services = " / ".join(f"{one.service(level):.1%}" for level in levels)
    foretold = " / ".join(f"{one.foretold(level):.1%}" for level in levels)
    start = f"| {name} | {way} | {one.fill():.2%} | {fills} | {services} | {foretold}"
    whole = one.value * costs.holding_share + ordering
    return f"{start} | {one.value:,.0f} | {one.requisitions} | {one.lines} | {whole:,.0f} |"


def main(arguments: Sequence[str]) -> int:
    """Every store named, or the shipped sample."""
    from cribdesk.opening import finished_sample, load_house

    every = 1
    if arguments and arguments[0].startswith("--every="):
        every, arguments = int(arguments[0].partition("=")[2]), arguments[1:]
    house, _ = load_house()
    lines = [HEAD, "|---" * 10 + "|"]
    with tempfile.TemporaryDirectory() as folder:
        for number, name in enumerate(arguments or ("",)):
            source = Path(name) if name else finished_sample()
            file = _store(source, Path(folder) / f"{number}.sqlite")
            with open_store(str(file)) as store:
                year = year_of(store, house)
            forecast(year, every)
            lines += rows(source.stem if name else "sample", year)
    print("\n".join(lines))
    return 0


def _store(source: Path, copy: Path) -> Path:
    """A private copy of the store, made of a journal where that is what is given."""
    if source.suffix in (".jsonl", ".xz"):
        with open_store(str(copy), create=True) as store:
            load_journal(source, store)
    else:
        shutil.copy(source, copy)
    return copy


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
