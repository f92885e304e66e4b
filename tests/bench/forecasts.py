"""Forecasts: one unit after its return on ten years of 500 units, and a whole fleet of 5 000 units made anew."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from cribdesk.crib.records import Area, Custody, Fitted, Person, StockItem, Unit
from cribdesk.desk.due import due_list
from cribdesk.desk.fleet_picture import fleet_steps
from cribdesk.desk.forecasts import Step, catch_up, recompute, warm_up
from cribdesk.desk.house import House
from cribdesk.desk.ports import Unwritten
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.mapping import shape_of
from tests.bench.measure import Row

ENDS = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
USES_A_YEAR, HOURS = 52, 5.0
"""As in the sample store."""

ROUNDS = 20


def rows(house: House, folder: Path) -> list[Row]:
    """One unit, and everything."""
    warm_up()
    ten = fleet_store(folder / "ten.sqlite", house, units=500, years=10)
    whole_ten = _all(ten, house)
    one = _one(ten, house)
    due, picture = _due(ten, house), _told(_timed(fleet_steps(ten, house, ENDS)))
    ten.close()
    fleet = fleet_store(folder / "fleet.sqlite", house, units=5000, years=1)
    whole = _all(fleet, house)
    fleet.close()
    for name in ("ten.sqlite", "fleet.sqlite"):
        (folder / name).unlink()
    return [
        Row("Forecast of a unit taken back, ten years of 500 units", one, "", "", "under 200 ms"),
        Row("All forecasts of 5 000 units, one year", whole, "", "", "under 10 s, in steps"),
        Row("All forecasts of 500 units, ten years", whole_ten, "", "", "in steps"),
        Row("Due list of 500 units, read", due, "", "", "under 1 s"),
        Row("Fleet picture of 500 units, ten years", picture, "", "", "under 1 s of processor time, in steps"),
    ]


def _all(store: SqlStore, house: House) -> str:
    told = _told(_timed(recompute(store, house, ENDS)))
    with store.reading() as reader:
        kept = len(reader.forecasts([unit.id for unit in reader.find(Unit)]))
    return f"{told}; {kept} units"


def _told(steps: list[tuple[float, float]]) -> str:
    """All together, and the longest step, which a scan may have to wait for; of both, the thread's processor time."""
    whole, own = (sum(column) for column in zip(*steps, strict=True))
    longest = max(cost for _, cost in steps) * 1000
    return f"{whole:.1f} s ({own:.1f} s of processor time) in {len(steps)} steps, the longest {longest:.0f} ms of it"


def _timed(steps: Iterator[Step]) -> list[tuple[float, float]]:
    """Each step's seconds by the clock, and of the thread's processor time."""
    found, begun = [], (time.perf_counter(), time.thread_time())
    for _ in steps:
        now = (time.perf_counter(), time.thread_time())
        found.append((now[0] - begun[0], now[1] - begun[1]))
        begun = now
    return found


def _due(store: SqlStore, house: House) -> str:
    found = []
    for _ in range(5):
        begun = time.perf_counter()
        with store.reading() as reader:
            rows = len(due_list(reader, house, ENDS).rows)
        found.append(time.perf_counter() - begun)
    return f"median {sorted(found)[2] * 1000:.0f} ms, {rows} parts due"


def _one(store: SqlStore, house: House) -> str:
    """A return: the unit's meter moves, a part comes out now and then; then its forecasts are made anew."""
    found = []
    for number in range(ROUNDS):
        with store.work() as work:
            unit = work.get(Unit, number * 7 + 1)
            work.save(_worn(unit, unit.worn_hours + HOURS))
            _entry(work, number + 1_000_000)
        found.append(sum(clock for clock, _ in _timed(catch_up(store, house, ENDS))))
    ordered = sorted(found)
    return f"median {ordered[len(ordered) // 2] * 1000:.0f} ms, slowest {ordered[-1] * 1000:.0f} ms"


def _worn(unit: Unit, hours: float) -> Unit:
    return replace(unit, worn_hours=hours)


def _entry(work, number: int) -> None:  # type: ignore[no-untyped-def]
    work.commit(
        Unwritten(
            operation="try", operation_id=str(number), request="0" * 64, moment=ENDS, counter="Bench",
            clerk="P000001X", subjects=(), sentence="Tried.",
        )
    )  # fmt: skip


def fleet_store(file: Path, house: House, *, units: int, years: int) -> SqlStore:
    """Units of every model with their uses and parts' lives, straight into the tables: no entry tells of them."""
    rng = random.Random(7)
    store = open_store(str(file), create=True)
    with store.work() as work:
        work.save(Person(label="P000001X", name="Somebody"))
        item = work.save(StockItem(label="I000001X", code="X", name="Part"))
        areas = [work.save(Area(label=f"A{n}", name=f"Area {n}", dust_ug_m3=dust)).id
                 for n, dust in enumerate((700, 1500, 2100, 2800, None), 1)]  # fmt: skip
        _entry(work, 1)
    models = sorted(house.models.values(), key=lambda one: one.code)
    begun, uses = ENDS - timedelta(days=365 * years), USES_A_YEAR * years
    apart = timedelta(days=365 * years) / uses
    custodies, fitted, made = [], [], []
    numbers = count(1)
    for id_ in range(1, units + 1):
        model = models[id_ % len(models)]
        made.append(Unit(id=id_, label=f"U{id_}", model=model.code, worn_hours=uses * HOURS, added_at=begun))
        for n in range(uses):
            out = begun + n * apart
            custodies.append(
                Custody(
                    unit_id=id_, person_id=1, area_id=rng.choice(areas), issued_at=out, issued_by=1,
                    returned_at=out + timedelta(hours=7), received_by=1, worn_hours=HOURS,
                )
            )  # fmt: skip
        for position in model.positions:
            thumb, at = position.thumb_hours or 500.0, 0
            while at < uses:
                until = at + 1 + int(rng.weibullvariate(thumb, 2.0) // HOURS)
                ended = until < uses
                fitted.append(
                    Fitted(
                        id=next(numbers), unit_id=id_, position=position.code, item_id=item.id,
                        fitted_at=begun + at * apart - timedelta(hours=1), fitted_at_hours=at * HOURS,
                        removed_at=begun + (until - 1) * apart + timedelta(hours=8) if ended else None,
                        removed_at_hours=until * HOURS if ended else None,
                        removed_why=position.name if ended else "",
                    )
                )  # fmt: skip
                at = until
    with store.engine.filling():
        for records in (made, custodies, fitted):
            shape = shape_of(type(records[0]))
            names = [name for name in shape.names if name != "id"] if records is custodies else list(shape.names)
            store.engine.insert_all(shape.table, names, ([shape.row(one)[name] for name in names] for one in records))
    return store
