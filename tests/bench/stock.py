"""The low-stock view on 2 000 items and 5 000 units: its data out of what is kept, and expected use made anew."""

from __future__ import annotations

import random
import time
from datetime import timedelta
from pathlib import Path

from cribdesk.crib.records import Lot, Movement, StockItem, Supplier
from cribdesk.desk import demands, forecasts
from cribdesk.desk.house import House
from cribdesk.desk.stock_outlook import outlooks
from cribdesk.desk.stock_page import stock_page
from cribdesk.store.connect import SqlStore
from cribdesk.store.mapping import shape_of
from tests.bench.forecasts import ENDS, fleet_store
from tests.bench.measure import Row, timed

ITEMS, UNITS = 2000, 5000


def rows(house: House, folder: Path) -> list[Row]:
    """The view's data, and the work behind it."""
    store = fleet_store(folder / "stock.sqlite", house, units=UNITS, years=1)
    _shelf(store, house)
    forecasts.warm_up()
    for _ in forecasts.recompute(store, house, ENDS):
        pass
    begun, own, longest, before = time.perf_counter(), time.process_time(), 0.0, time.perf_counter()
    steps = 0
    for _ in demands.recompute(store, house, ENDS):
        now = time.perf_counter()
        longest, before, steps = max(longest, now - before), now, steps + 1
    whole, own = time.perf_counter() - begun, time.process_time() - own
    made = f"{whole:.0f} s ({own:.0f} s of processor time) in {steps} steps, the longest {longest * 1000:.0f} ms"

    def bare() -> None:
        with store.reading() as reader:
            outlooks(reader, house, ENDS)

    def page() -> None:
        with store.reading() as reader:
            stock_page(reader, house, "", ENDS)

    times, view = timed([bare] * 10), timed([page] * 10)
    store.close()
    (folder / "stock.sqlite").unlink()
    told = f"{ITEMS:,} items, {UNITS:,} units"
    return [
        Row(f"Rows of what to order, {told}", f"median {times.median:.0f} ms", "", "", "under 1 s"),
        Row("The same as the view asks for it", f"median {view.median:.0f} ms", "", "", "under 1 s"),
        Row(f"Expected use made anew the first time, {told}", made, "", "", "in steps, in the background"),
    ]


def _shelf(store: SqlStore, house: House) -> None:
    """An item for each model and position, the others used by the piece; stock, and a year of movements."""
    rng = random.Random(3)
    keys = [(model.code, one.code) for model in house.models.values() for one in model.positions]
    with store.engine.filling():
        records: list[list[object]] = [
            [Supplier(id=1, name="Somebody")],
            [
                StockItem(id=n, label=f"K{n:06}X", code=f"ITEM-{n}", name=f"Item {n}", price_cents=500, supplier_id=1,
                          criticality="ABC"[n % 3], pack_size=5)
                for n in range(2, ITEMS + 1)
            ],
            [Lot(id=n, item_id=n, code="A", on_hand=rng.randrange(40)) for n in range(1, ITEMS + 1)],
            [
                Movement(item_id=n, lot_id=n, quantity=-rng.randrange(1, 4), why="handed out",
                         at=ENDS - timedelta(days=rng.random() * 360))
                for n in range(len(keys) + 2, ITEMS + 1)
                for _ in range(30)
            ],
        ]  # fmt: skip
        for some in records:
            shape = shape_of(type(some[0]))  # type: ignore[type-var]
            names = [name for name in shape.names if name != "id" or not isinstance(some[0], Movement)]
            values = ([shape.row(one)[name] for name in names] for one in some)  # type: ignore[arg-type]
            store.engine.insert_all(shape.table, names, values)
        for number, (model, position) in enumerate(keys, 2):
            sql = (
                f"UPDATE fitted SET item_id = {number} WHERE position = '{position}' "
                f"AND unit_id IN (SELECT id FROM unit WHERE model = '{model}')"
            )
            store.engine.run(sql)
