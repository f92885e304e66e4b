"""The lists behind the rail: units, people, batteries, stock, areas, flow meters; each a constant number of queries."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta

from cribdesk.crib.air import USUAL_KG_M3
from cribdesk.crib.change import next_change
from cribdesk.crib.clearance import NAMES, clearance_state
from cribdesk.crib.records import (
    Area,
    Battery,
    BatteryPlace,
    BatteryRun,
    Bin,
    Charger,
    ChargerSlot,
    Clearance,
    ClearanceKind,
    Custody,
    Instrument,
    Lot,
    Person,
    StockItem,
    Unit,
    Where,
)
from cribdesk.crib.serviceable import Serviceable
from cribdesk.crib.words import capital, date_words, day, folded, hours, number
from cribdesk.desk.cards_lists import AreaRow, BatteryRow, InstrumentRow, LotRow, PersonRow, StockRow, UnitRow
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.recheck import proofs_of_all
from cribdesk.desk.run_time_cards import among
from cribdesk.desk.saying import left_words, moment_words, name_of, where_words
from cribdesk.desk.standings import STATES, WITH_SOMEBODY, Member, due_now, fleet, people, why_words, worst_first

FILTERS = ("", *STATES, "due", "scrapped")
"""What `unit_rows` can be narrowed to; '' is every unit but the scrapped ones."""

ENDS_SOON = timedelta(days=14)
"""A clearance or calibration that ends within so many days is told beforehand (a house rule)."""


def unit_rows(
    reader: Reader, house: House, moment: datetime, filter: str = "", text: str = ""
) -> tuple[UnitRow, ...]:
    """Units worst first, narrowed to one of FILTERS and to those with the text in them; nine queries."""
    units = _kept(fleet(reader, house, moment), house, moment, filter)
    rows = (unit_row(unit, house, moment) for unit in worst_first(units))
    return tuple(row for row in rows if _has(text, row.label, row.serial, row.model, row.holder, row.words))


def unit_row(unit: Member, house: House, moment: datetime) -> UnitRow:
    """One unit as a row."""
    standing, custody = unit.standing, unit.custody
    change = next_change(unit.parts)
    state = unit.condition.state.value if unit.condition else Serviceable.ON_HOLD.value
    return UnitRow(
        unit_id=unit.unit.id,
        label=unit.unit.label,
        model=standing.model.short_name if standing else unit.unit.model,
        state=unit.state,
        words=capital(f"{state}, {where_words(unit.unit, unit.holder)}"),
        why=why_words(unit),
        holder=name_of(unit.holder) if custody else "",
        due=moment_words(custody.due_at, house, moment) if custody and custody.due_at else "",
        worn_hours=unit.unit.worn_hours,
        next_words=left_words(change, house.today(moment)) if change else "",
        serial=unit.unit.serial,
    )


def person_rows(reader: Reader, house: House, moment: datetime, text: str = "") -> tuple[PersonRow, ...]:
    """People with what they hold and what is wrong, those in trouble first; five queries."""
    held: defaultdict[int, list[Custody]] = defaultdict(list)
    for custody in reader.find(Custody, returned_at=None):
        held[custody.person_id].append(custody)
    ids = {custody.unit_id for one in held.values() for custody in one}
    labels = {unit.id: unit.label for unit in reader.find(Unit, id=sorted(ids))}
    clearances: defaultdict[int, list[Clearance]] = defaultdict(list)
    for clearance in reader.find(Clearance):
        clearances[clearance.person_id].append(clearance)
    everybody = reader.find(Person)
    proofs = proofs_of_all(reader, house, everybody)
    rows = [
        _person_row(one, held[one.id], labels, clearances[one.id], proofs.get(one.id), house, moment)
        for one in everybody
    ]
    found = [row for row in rows if _has(text, row.label, row.name, row.trade, row.crew, row.employer, row.holds)]
    return tuple(sorted(found, key=lambda row: (not row.trouble, row.name.casefold(), row.label)))


def battery_rows(reader: Reader, house: House, moment: datetime, text: str = "") -> tuple[BatteryRow, ...]:
    """Batteries by label, scrapped ones left out; eight queries."""
    batteries = [one for one in reader.find(Battery) if one.place is not BatteryPlace.SCRAPPED]
    custodies = {one.battery_id: one for one in reader.find(Custody, returned_at=None, battery_id=FILLED)}
    holders = people(reader, (one.person_id for one in custodies.values()))
    runs = reader.latest_of_each(BatteryRun, "battery_id")
    fits, shares = reader.run_times(None, [])
    units = {unit.id: unit.label for unit in reader.find(Unit)}
    chargers = {charger.id: charger.name for charger in reader.find(Charger)}
    slots = {slot.id: f"{chargers[slot.charger_id]}, slot {slot.number}" for slot in reader.find(ChargerSlot)}
    rows = []
    for one in batteries:
        custody, run = custodies.get(one.id), runs.get(one.id)
        rows.append(
            BatteryRow(
                battery_id=one.id,
                label=one.label,
                model=one.model,
                sign=_battery_sign(one),
                where=_battery_where(one, units, slots),
                holder=name_of(holders.get(custody.person_id)) if custody else "",
                charged=_charged_words(one, house, moment),
                cycles=one.cycles,
                last_run=f"{hours(run.worn_hours)}, {run.ended.value}" if run else "",
                note=one.note,
                run_time=among(fits, shares, one),
            )
        )
    found = [row for row in rows if _has(text, row.label, row.model, row.where, row.holder)]
    return tuple(sorted(found, key=lambda row: row.label))


def stock_levels(reader: Reader, house: House, moment: datetime) -> list[tuple[StockItem, list[Lot], int]]:
    """Each item in use with its lots and how many pieces of it may be fitted today, in two queries."""
    today = house.today(moment)
    lots: defaultdict[int, list[Lot]] = defaultdict(list)
    for lot in reader.find(Lot):
        lots[lot.item_id].append(lot)
    items = reader.find(StockItem, active=True)
    return [
        (item, lots[item.id], sum(lot.on_hand for lot in lots[item.id] if not _lot_trouble(lot, today)))
        for item in items
    ]


def stock_rows(reader: Reader, house: House, moment: datetime, text: str = "") -> tuple[StockRow, ...]:
    """Stock items, those below their minimum first, each with its lots; three queries."""
    bins = {one.id: one.code for one in reader.find(Bin)}
    today = house.today(moment)
    rows = [
        _stock_row(item, lots, good, bins.get(item.bin_id, "") if item.bin_id else "", today)
        for item, lots, good in stock_levels(reader, house, moment)
    ]
    found = [row for row in rows if _has(text, row.label, row.code, row.name, row.bin)]
    return tuple(sorted(found, key=lambda row: (not row.short, not row.trouble, row.name.casefold(), row.label)))


def area_rows(reader: Reader, house: House, moment: datetime, text: str = "") -> tuple[AreaRow, ...]:
    """Areas by name, each with how many units are out for it; two queries."""
    out = Counter(one.area_id for one in reader.find(Custody, returned_at=None, area_id=FILLED))
    rows = (
        AreaRow(one.id, one.label, one.name, one.agents, one.processes, out[one.id], one.note, one.required)
        for one in reader.find(Area)
    )
    return tuple(
        row
        for row in sorted(rows, key=lambda row: row.name.casefold())
        if _has(text, row.label, row.name, row.agents, row.processes)
    )


OUT_OF_USE = "out of use: its check was not good"


def instrument_rows(reader: Reader, house: House, moment: datetime) -> tuple[InstrumentRow, ...]:
    """Flow meters, the first to fall due first; one query."""
    today = house.today(moment)
    meters = sorted(reader.find(Instrument), key=lambda one: (one.calibrated_until, one.label))
    return tuple(
        InstrumentRow(
            instrument_id=one.id,
            label=one.label,
            name=one.name,
            serial=one.serial,
            calibrated=date_words(one.calibrated_on),
            until=date_words(one.calibrated_until),
            trouble=_ends("calibration", one.calibrated_until, today) if one.active else OUT_OF_USE,
            good=one.active and one.calibrated_until >= today,
            scale=f"scale for air of {number(one.calibration_kg_m3, 3)} kg/m³",
            odd_scale=one.calibration_kg_m3 != USUAL_KG_M3,
        )
        for one in meters
    )


def _kept(units: Iterable[Member], house: House, moment: datetime, filter: str) -> list[Member]:
    """The units of one filter. 'out' means all that somebody has, overdue and held ones too."""
    if filter not in FILTERS:
        raise ValueError(f"units cannot be narrowed to {filter!r}")
    if filter == "scrapped":
        return [unit for unit in units if unit.unit.where is Where.SCRAPPED]
    kept = [unit for unit in units if unit.unit.where is not Where.SCRAPPED]
    if filter == "due":
        return [unit for unit, _ in due_now(kept, house, moment)]
    if filter == "out":
        return [unit for unit in kept if unit.unit.where in WITH_SOMEBODY]
    return [unit for unit in kept if not filter or unit.state == filter]


def _has(text: str, *fields: str) -> bool:
    """Whether every word of the text stands in one of the fields, case and marks over letters ignored."""
    whole = folded("\n".join(fields))
    return all(word in whole for word in folded(text).split())


def _person_row(
    person: Person,
    held: Sequence[Custody],
    labels: dict[int, str],
    clearances: Sequence[Clearance],
    proofs: frozenset[int] | None,
    house: House,
    moment: datetime,
) -> PersonRow:
    return PersonRow(
        person_id=person.id,
        label=person.label,
        name=name_of(person),
        trade=person.trade,
        crew=person.crew,
        employer=person.employer,
        holds=", ".join(labels[one.unit_id] for one in held),
        trouble="; ".join(_troubles(person, held, labels, clearances, proofs, house, moment)),
        roles=person.roles.replace(",", ", "),
    )


def _troubles(
    person: Person,
    held: Sequence[Custody],
    labels: dict[int, str],
    clearances: Sequence[Clearance],
    proofs: frozenset[int] | None,
    house: House,
    moment: datetime,
) -> list[str]:
    """What is overdue or lapsed, or lapses soon; clearances only of those whose badge is good."""
    today = house.today(moment)
    found = [
        f"{f'{labels[one.unit_id]} ' if len(held) > 1 else ''}overdue since {moment_words(one.due_at, house, moment)}"
        for one in held
        if one.due_at is not None and one.due_at < moment
    ]
    if person.ended(today):
        if held:
            found.append(f"badge ended, still holds {len(held)}")
        return found
    for kind in (ClearanceKind.MEDICAL, ClearanceKind.TRAINING):
        state = clearance_state(clearances, kind, today, proofs=proofs, months=house.clearance_months)
        if state.given_on is not None and not state.cleared:
            found.append(f"{NAMES[kind].lower()}: not cleared")
        elif not state.proven:
            found.append(f"{NAMES[kind].lower()}: no proof of the employer")
        elif state.until is not None:
            found.append(_ends(NAMES[kind].lower(), state.until, today))
    return [one for one in found if one]


def _ends(what: str, until: date, today: date) -> str:
    """'training ended Sun 22 Nov', 'training ends tomorrow', '' while it is far off."""
    if until < today:
        return f"{what} ended {day(until, today)}"
    return f"{what} ends {day(until, today)}" if until <= today + ENDS_SOON else ""


def _battery_sign(battery: Battery) -> str:
    if battery.place is BatteryPlace.CHARGER and battery.charged_at is None:
        return "due"
    return "battery" if battery.charged_at is not None and battery.unit_id is None else ""


def _battery_where(battery: Battery, units: dict[int, str], slots: dict[int, str]) -> str:
    if battery.unit_id is not None:
        return f"in {units[battery.unit_id]}"
    if battery.slot_id is not None:
        return slots[battery.slot_id]
    return "on the shelf" if battery.place is BatteryPlace.SHELF else battery.place.value


def _charged_words(battery: Battery, house: House, moment: datetime) -> str:
    if battery.charged_at is not None:
        return moment_words(battery.charged_at, house, moment)
    return "charging" if battery.place is BatteryPlace.CHARGER else "not since its last use"


def _stock_row(item: StockItem, lots: Sequence[Lot], good: int, bin_code: str, today: date) -> StockRow:
    left = sorted(
        (lot for lot in lots if lot.on_hand > 0), key=lambda lot: (lot.expires_on is None, lot.expires_on, lot.id)
    )
    rows = tuple(
        LotRow(
            lot.code,
            lot.on_hand,
            date_words(lot.expires_on) if lot.expires_on else "",
            _lot_trouble(lot, today),
            lot.id,
            bool(lot.blocked),
        )
        for lot in left
    )
    return StockRow(
        item_id=item.id,
        label=item.label,
        code=item.code,
        name=item.name,
        bin=bin_code,
        on_hand=good,
        minimum=item.minimum,
        short=good < item.minimum,
        trouble="; ".join(f"lot {row.code} {row.trouble}" for row in rows if row.trouble),
        lots=rows,
    )


def _lot_trouble(lot: Lot, today: date) -> str:
    if lot.blocked:
        return f"blocked: {lot.blocked}"
    if lot.expires_on and lot.expires_on < today:
        return f"past its date, {day(lot.expires_on, today)}"
    return ""
