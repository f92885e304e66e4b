"""Resolves a scan to its card: our labels, replaced ones, bound ones; and every card but the unit's."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime

from cribdesk.crib.clearance import clearance_state, good_until
from cribdesk.crib.label import KIND_WORDS, Kind
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import (
    Area,
    Battery,
    BatteryPlace,
    BatteryRun,
    Bin,
    BoundLabel,
    Cabinet,
    Charger,
    ChargerSlot,
    Clearance,
    ClearanceKind,
    Custody,
    DeadLabel,
    Fitted,
    Hold,
    Instrument,
    Lot,
    MeterCheck,
    Part,
    PartsSet,
    PartsSetLine,
    Person,
    Record,
    Slip,
    StockItem,
    Unit,
    Waste,
    WasteBag,
    Where,
)
from cribdesk.crib.scan import CartonScan, ForeignScan, LabelScan, Scan, Unread
from cribdesk.crib.words import count, date_words, hours, when
from cribdesk.crib.work_limit import words_of
from cribdesk.desk.cards import (
    AreaCard,
    BagCard,
    BatteryCard,
    BinCard,
    CabinetCard,
    Card,
    CommandCard,
    InstrumentCard,
    ItemCard,
    NotFound,
    PartCard,
    PersonCard,
    SetCard,
    SlipCard,
    TagCard,
    UnitCard,
)
from cribdesk.desk.carton_lookup import carton_of, known_number
from cribdesk.desk.commands import command_of
from cribdesk.desk.facts import held_by, proofs_of, unchecked, work_limits
from cribdesk.desk.house import House
from cribdesk.desk.numbering import HOME, owner_of
from cribdesk.desk.ports import Reader
from cribdesk.desk.recheck import of_person
from cribdesk.desk.run_time_cards import of_battery
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.timeline import timeline_page
from cribdesk.desk.unit_lookup import offer, unit_card

__all__ = [
    "area_card", "battery_card", "bin_card", "card_of", "instrument_card", "item_card", "look_up", "offer",
    "part_card", "person_card", "slip_card", "tag_card", "unit_card",
]  # fmt: skip

RUNS_SHOWN = 5
UNBOUND = (Kind.TAG, Kind.SLIP, Kind.BAG)
BINDABLE = {kind: words for kind, words in KIND_WORDS.items() if kind in HOME and kind not in UNBOUND}
BINDABLE[Kind.PERSON] = "a person"


def look_up(reader: Reader, house: House, scan: Scan, moment: datetime) -> Card:
    """What was scanned, as it stands now; NotFound with the line to say where it is nothing we know."""
    if isinstance(scan, Unread):
        return NotFound(scan.text, scan.sentence)
    if isinstance(scan, CartonScan):
        bound = _bound(reader, scan.text)
        return card_of(reader, house, bound, moment) if bound else carton_of(reader, house, scan.text, moment)
    if isinstance(scan, ForeignScan):
        bound = _bound(reader, scan.text)
        if bound is None:
            known = known_number(reader, scan.text)
            if known is not None:
                return known
            return NotFound(scan.text, scan.sentence, foreign=scan.text if scan.bindable else "")
        return card_of(reader, house, bound, moment)
    if scan.kind is Kind.COMMAND:
        return _command(scan.label)
    owner = owner_of(reader, scan.label) or _bound(reader, scan.label)
    if owner is None:
        return _unknown(reader, house, scan, moment)
    return _with_its_unit(reader, house, card_of(reader, house, owner, moment), moment)


def _with_its_unit(reader: Reader, house: House, card: Card, moment: datetime) -> Card:
    """A pack that is out brings its unit onto the counter: it may be swapped there."""
    if not isinstance(card, BatteryCard) or not card.in_use:
        return card
    custody = reader.first(Custody, battery_id=card.battery.id, returned_at=None)
    unit = _unit_card_or_none(reader, house, custody.unit_id, moment) if custody else None
    return replace(card, unit=unit)


def _unit_card_or_none(reader: Reader, house: House, unit_id: int, moment: datetime) -> UnitCard | None:
    try:
        return _unit_card(reader, house, unit_id, moment)
    except NoModel:
        return None


def card_of(reader: Reader, house: House, record: Record, moment: datetime) -> Card:
    """The card of a record that a label can stand on."""
    try:
        return _CARDS[type(record)](reader, house, record.id, moment)
    except NoModel as missing:
        return NotFound(missing.label, str(missing))


class NoModel(LookupError):
    """A unit whose model has no file: nothing can be said of it, so nothing is done with it."""

    def __init__(self, unit: Unit) -> None:
        super().__init__(
            f"{unit.label} is of model {unit.model}, which has no file in resources/units. "
            "Put the file back, then scan again. Nothing changed."
        )
        self.label = unit.label


def person_card(reader: Reader, house: House, person_id: int, moment: datetime, rows: int = 20) -> PersonCard:
    """A person, what they hold, their clearances, their timeline; ten queries, and some for each unit they hold."""
    person = reader.get(Person, person_id)
    clearances = reader.find(Clearance, person_id=person.id)
    proofs = proofs_of(reader, house, person)
    today, months = house.today(moment), house.clearance_months
    page = timeline_page(reader, person.label, count=rows)
    kinds = (ClearanceKind.MEDICAL, ClearanceKind.TRAINING)
    return PersonCard(
        person=person,
        holds_now=held_by(reader, person, moment),
        clearances=tuple(clearance_state(clearances, kind, today, proofs=proofs, months=months) for kind in kinds),
        fit_tests=_fit_tests(house, clearances, proofs),
        badge_ended=person.ended(today),
        timeline=page.rows,
        before=page.before,
        usual_area=_usual_area(reader, person),
        to_call_in=of_person(reader, house, person, moment),
        work_limits=tuple(words_of(code) for code in work_limits(reader, person)),
    )


def _usual_area(reader: Reader, person: Person) -> Area | None:
    """Where the person took the last unit to."""
    last = reader.latest(Custody, person_id=person.id)
    return reader.get(Area, last.area_id) if last and last.area_id else None


def battery_card(reader: Reader, house: House, battery_id: int, moment: datetime) -> BatteryCard:
    """A battery, where it is and its last runs; at most nine queries."""
    battery = reader.get(Battery, battery_id)
    custody = reader.first(Custody, battery_id=battery.id, returned_at=None)
    runs = reader.newest(BatteryRun, RUNS_SHOWN, battery_id=battery.id)
    ids = {run.unit_id for run in runs} | {one for one in (battery.unit_id, custody and custody.unit_id) if one}
    units = {unit.id: unit.label for unit in reader.find(Unit, id=sorted(ids))}
    return BatteryCard(
        battery=battery,
        where_words=_battery_where(reader, battery, custody, units),
        in_use=custody is not None or battery.unit_id is not None,
        runs=tuple(_run_words(run, units, house, moment) for run in reversed(runs)),
        run_time=of_battery(reader, battery),
    )


def item_card(reader: Reader, house: House, item_id: int, moment: datetime) -> ItemCard:
    """A stock item, its bin and the lots that are not used up, in three queries."""
    item = reader.get(StockItem, item_id)
    kept = reader.first(Bin, id=item.bin_id) if item.bin_id else None
    return ItemCard(item, kept, in_order(reader.find(Lot, item_id=item.id)))


def bin_card(reader: Reader, house: House, bin_id: int, moment: datetime) -> BinCard:
    """A bin and what lies in it, in three queries."""
    kept = reader.get(Bin, bin_id)
    items = reader.find(StockItem, bin_id=kept.id, active=True)
    lots = reader.find(Lot, item_id=[item.id for item in items])
    cards = (ItemCard(item, kept, in_order([lot for lot in lots if lot.item_id == item.id])) for item in items)
    return BinCard(kept, tuple(cards))


def in_order(lots: list[Lot]) -> tuple[Lot, ...]:
    """The lots that are not used up, first to expire first."""
    left = [lot for lot in lots if lot.on_hand > 0]
    return tuple(sorted(left, key=lambda lot: (lot.expires_on is None, lot.expires_on, lot.id)))


def instrument_card(reader: Reader, house: House, instrument_id: int, moment: datetime) -> InstrumentCard:
    """A flow meter, in one query; two where it is out of use or the site wants it checked daily."""
    instrument = reader.get(Instrument, instrument_id)
    why = ""
    if instrument.calibrated_until < house.today(moment):
        why = f"calibration ended {date_words(instrument.calibrated_until)}"
    elif not instrument.active:
        last = reader.latest(MeterCheck, instrument_id=instrument.id, good=False)
        why = f"check {when(last.at, house.zone, moment)} was not good" if last else "last check was not good"
    return InstrumentCard(instrument, not why, why, bool(unchecked(reader, house, (instrument,), moment)))


def area_card(reader: Reader, house: House, area_id: int, moment: datetime) -> AreaCard:
    """An area, in one query."""
    return AreaCard(reader.get(Area, area_id))


def part_card(reader: Reader, house: House, part_id: int, moment: datetime) -> PartCard:
    """A part with a label of its own and its hours, in at most four queries."""
    part = reader.get(Part, part_id)
    item = reader.get(StockItem, part.item_id)
    unit = reader.first(Unit, id=part.unit_id) if part.unit_id else None
    fitted = reader.first(Fitted, part_id=part.id, removed_at=None) if unit else None
    worn = fitted.worn(unit.worn_hours) if unit and fitted else part.worn_hours
    return PartCard(part, item, unit, worn)


def tag_card(reader: Reader, house: House, hold_id: int, moment: datetime) -> TagCard:
    """A tag, the hold it stands for and its unit; at most nineteen queries."""
    hold = reader.get(Hold, hold_id)
    return TagCard(hold, _unit_card(reader, house, hold.unit_id, moment))


def slip_card(reader: Reader, house: House, slip_id: int, moment: datetime) -> SlipCard:
    """An issue slip, in four queries."""
    slip = reader.get(Slip, slip_id)
    return SlipCard(
        slip=slip,
        custody=reader.first(Custody, slip_id=slip.id),
        unit_label=reader.get(Unit, slip.unit_id).label,
        person_name=name_of(reader.get(Person, slip.person_id)),
    )


def set_card(reader: Reader, house: House, set_id: int, moment: datetime) -> SetCard:
    """A set of parts and its items, in two queries and two an item."""
    lines = reader.find(PartsSetLine, parts_set_id=set_id)
    items = tuple((item_card(reader, house, line.item_id, moment), line.quantity) for line in lines if line.quantity)
    return SetCard(reader.get(PartsSet, set_id), items)


def cabinet_card(reader: Reader, house: House, cabinet_id: int, moment: datetime) -> CabinetCard:
    """A cabinet and what lies in it, in two queries."""
    cabinet = reader.get(Cabinet, cabinet_id)
    units = reader.find(Unit, where=Where.EMERGENCY, place=cabinet.name)
    return CabinetCard(cabinet, tuple(unit.label for unit in units))


def bag_card(reader: Reader, house: House, bag_id: int, moment: datetime) -> BagCard:
    """A waste bag and how full it is, in two queries."""
    bag = reader.get(WasteBag, bag_id)
    return BagCard(bag, sum(one.quantity for one in reader.find(Waste, waste_bag_id=bag.id)))


def _unit_card(reader: Reader, house: House, unit_id: int, moment: datetime) -> UnitCard:
    try:
        return unit_card(reader, house, unit_id, moment)
    except LookupError:
        unit = reader.get(Unit, unit_id)
        if unit.model in house.models:
            raise
        raise NoModel(unit) from None


_CARDS: dict[type[Record], Callable[[Reader, House, int, datetime], Card]] = {
    Unit: _unit_card,
    Part: part_card,
    Person: person_card,
    Battery: battery_card,
    StockItem: item_card,
    Bin: bin_card,
    Instrument: instrument_card,
    Area: area_card,
    Hold: tag_card,
    Slip: slip_card,
    PartsSet: set_card,
    Cabinet: cabinet_card,
    WasteBag: bag_card,
}


def _command(label: str) -> Card:
    command = command_of(label)
    if command is None:
        return NotFound(label, f"{label} is not a command of this program. Nothing changed.", kind=Kind.COMMAND)
    return CommandCard(label, command.id)


def _bound(reader: Reader, text: str) -> Record | None:
    """The record a foreign text was bound to."""
    bound = reader.first(BoundLabel, text=text)
    return _record(reader, bound.kind, bound.record_id) if bound else None


def _record(reader: Reader, kind: str, record_id: int) -> Record | None:
    home, _ = HOME[Kind(kind)]
    return reader.first(home, id=record_id)


def _unknown(reader: Reader, house: House, scan: LabelScan, moment: datetime) -> NotFound:
    dead = reader.first(DeadLabel, label=scan.label)
    owner = _record(reader, dead.kind, dead.record_id) if dead else None
    if dead is not None and owner is not None:
        living = str(getattr(owner, HOME[Kind(dead.kind)][1]))
        since = when(dead.died_at, house.zone, moment)
        words = f"{scan.label} was replaced by {living}, since {since}. Scan that one. Nothing changed."
        return NotFound(scan.label, words, kind=scan.kind)
    words = f"Label {scan.label} is unknown here."
    if scan.kind not in BINDABLE:
        return NotFound(scan.label, f"{words} Nothing changed.", kind=scan.kind)
    return NotFound(scan.label, f"{words} F6 binds it to {BINDABLE[scan.kind]}.", foreign=scan.label, kind=scan.kind)


def _fit_tests(
    house: House, clearances: list[Clearance], proofs: frozenset[int] | None
) -> tuple[tuple[str, str, date, date | None], ...]:
    """The last fit test of each model and size, where it was passed and, where that is asked for, proven."""
    last: dict[tuple[str, str], Clearance] = {}
    for one in sorted(clearances, key=lambda one: (one.given_on, one.id)):
        if one.kind is ClearanceKind.FIT_TEST:
            last[one.model, one.size] = one
    return tuple(
        (_short(house.models.get(model), model), size, one.given_on, good_until(one, house.clearance_months))
        for (model, size), one in sorted(last.items())
        if one.cleared and (proofs is None or one.id in proofs)
    )


def _short(model: UnitModel | None, code: str) -> str:
    return model.short_name if model else code


def _battery_where(reader: Reader, battery: Battery, custody: Custody | None, units: dict[int, str]) -> str:
    if custody is not None:
        holder = reader.first(Person, id=custody.person_id)
        return f"out with {name_of(holder)}, in {units.get(custody.unit_id, 'a unit')}"
    if battery.unit_id is not None:
        return f"in {units.get(battery.unit_id, 'a unit')}"
    if battery.slot_id is not None:
        slot = reader.get(ChargerSlot, battery.slot_id)
        return f"on charger {reader.get(Charger, slot.charger_id).name}, slot {slot.number}"
    return "on the shelf" if battery.place is BatteryPlace.SHELF else battery.place.value


def _run_words(run: BatteryRun, units: dict[int, str], house: House, moment: datetime) -> str:
    parts = [f"{moment_words(run.ended_at, house, moment)}: {hours(run.worn_hours)} in {units[run.unit_id]}"]
    if run.speed:
        parts.append(f"{run.speed} speed")
    parts.append(run.ended.value)
    if run.bars_left is not None:
        parts.append(f"{count(run.bars_left, 'bar')} left")
    return ", ".join(parts)
