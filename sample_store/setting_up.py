"""The first two days: the crib is entered, its packs are charged, its units inspected."""

from __future__ import annotations

from datetime import date, timedelta

from areas import enter_areas
from clockwork import Doing
from inputs import Somebody, day_or_none, number_or_none, people, rows
from office_year import add_somebody
from world import World

from cribdesk.crib.records import (
    Battery,
    Bin,
    Charger,
    ChargerSlot,
    Instrument,
    Lot,
    Part,
    Person,
    Role,
    StockItem,
    Supplier,
    Unit,
    Where,
)
from cribdesk.desk.equipment import AddBattery, AddCharger, AddInstrument, EndCharge, StartCharge
from cribdesk.desk.office import SetSetting
from cribdesk.desk.people import FirstStart
from cribdesk.desk.stock import AddBin, AddItem, AddSupplier, ReceiveLot
from cribdesk.desk.unit import AddPart, AddUnit

SITE = "Hafenwerk Nord (invented)"
PACKS = (("WL1-PACK", 124), ("FF1-PACK", 36))
CHARGERS = 6
SLOTS = 6


def set_up(world: World) -> Doing:
    """Enters everything, a few seconds a record."""
    first, *others = people()
    hands = world.hands
    hands.do("Office", None, FirstStart, full_name=first.name)
    boss = hands.last(Person)
    world.staff.append(boss)
    yield 60
    hands.do("Office", boss.id, SetSetting, setting="site_name", value=SITE)
    yield 30
    yield from enter_areas(world, boss.id)
    yield from _everybody(world, boss.id, others)
    yield from _shelf(world)
    yield from _equipment(world)
    yield from _units(world)
    yield from _first_charge(world)


def _everybody(world: World, boss: int, others: list[Somebody]) -> Doing:
    for told in others:
        if told.joined_on is None:
            add_somebody(world, boss, told)
            yield 25


def _shelf(world: World) -> Doing:
    hands, keeper = world.hands, world.clerk(Role.STOREKEEPER, "day").id
    suppliers: dict[str, int] = {}
    for row in rows("suppliers"):
        hands.do("Store room", keeper, AddSupplier, supplier=row["supplier"])
        suppliers[row["supplier"]] = hands.last(Supplier).id
        yield 20
    for number, row in enumerate(rows("items")):
        hands.do("Store room", keeper, AddBin, bin_code=row["bin"])
        place = hands.last(Bin).id
        hands.do(
            "Store room", keeper, AddItem,
            item_code=row["code"], item_name=row["name"], maker=row["maker"], maker_number=row["maker_number"],
            criticality=row["criticality"], pack_size=int(row["pack"]), price_cents=int(row["price_cents"]),
            supplier_id=suppliers[row["supplier"]], bin_id=place, minimum=int(row["minimum"]),
            maximum=number_or_none(row["maximum"]), shelf_days=number_or_none(row["shelf_days"]),
        )  # fmt: skip
        item = hands.last(StockItem)
        hands.do(
            "Store room", keeper, ReceiveLot,
            item_id=item.id, lot_code=f"{row['maker_number'].replace('-', '')}2545{number % 10}",
            quantity=int(row["start"]), expires_on=expiry(world.today, item.shelf_days),
        )  # fmt: skip
        yield 45


def expiry(today: date, shelf_days: int | None) -> date | None:
    """When a lot that comes in today expires: it was made some weeks ago."""
    return None if shelf_days is None else today + timedelta(days=shelf_days - 60)


def _equipment(world: World) -> Doing:
    hands, bench = world.hands, world.clerk(Role.TECHNICIAN, "day").id
    for row in rows("meters"):
        hands.do(
            "Bench", bench, AddInstrument,
            instrument_name=row["name"], serial=row["serial"], uncertainty_lpm=float(row["uncertainty_lpm"]),
            calibrated_on=day_or_none(row["calibrated_on"]), calibrated_until=day_or_none(row["calibrated_until"]),
        )  # fmt: skip
        world.meters.append((hands.last(Instrument), float(row["true_error_lpm"])))
        yield 30
    for number in range(1, CHARGERS + 1):
        hands.do("Bench", bench, AddCharger, charger_name=f"Charger {number}", slots=SLOTS)
        world.slots += [one.id for one in hands.find(ChargerSlot, charger_id=hands.last(Charger).id)]
        yield 20
    for model, count in PACKS:
        for number in range(1, count + 1):
            months = world.chance.whole(1, 40)
            hands.do(
                "Bench", bench, AddBattery,
                battery_model=model, serial=f"AL{model[:2]}{4100 + number}",
                bought_on=world.today - timedelta(days=30 * months),
                cycles=round(months * world.chance.between(5, 9)),
            )  # fmt: skip
            battery = hands.last(Battery)
            world.battery_models[battery.id] = model
            world.battery_labels[battery.id] = battery.label
            world.nature.new_battery(battery.id)
            yield 8


def _units(world: World) -> Doing:
    hands, bench = world.hands, world.clerk(Role.TECHNICIAN, "day").id
    items = {one.code: one for one in hands.find(StockItem)}
    lots = {one.item_id: one for one in hands.find(Lot)}
    for row in rows("units"):
        model = hands.house.models[row["model"]]
        for number in range(1, int(row["count"]) + 1):
            parts = []
            for position in model.positions:
                item = items[position.items[0]]
                lot = lots[item.id]
                part_id = None
                if position.labelled:
                    serial = f"{item.maker_number}-{3000 + number}"
                    hands.do("Bench", bench, AddPart, item_id=item.id, lot_id=lot.id, serial=serial)
                    part_id = hands.last(Part).id
                    yield 6
                parts.append((position.code, item.id, lot.id, part_id))
            size = model.sizes[number % len(model.sizes)] if model.sizes else ""
            hands.do(
                "Bench", bench, AddUnit,
                model=model.code, serial=f"{model.code}-{2500 + number}", size=size, parts=tuple(parts),
            )  # fmt: skip
            unit = hands.last(Unit)
            assert unit.where is Where.BENCH
            world.nature.new_unit(unit.id, unit.label, model)
            yield 60


def _first_charge(world: World) -> Doing:
    """All packs go over the chargers, as many at a time as there are slots."""
    hands, bench = world.hands, world.clerk(Role.TECHNICIAN, "day").id
    waiting = list(world.battery_models)
    while waiting:
        now, waiting = waiting[: len(world.slots)], waiting[len(world.slots) :]
        for battery, slot in zip(now, world.slots, strict=False):
            hands.do("Bench", bench, StartCharge, battery_id=battery, slot_id=slot)
            yield 5
        yield 3.2 * 3600
        for battery in now:
            hands.do("Bench", bench, EndCharge, battery_id=battery)
            world.ready_since[battery] = world.now
            yield 4
