"""Forms that change what is there already: each is about one thing, chosen from a list or scanned."""

from __future__ import annotations

from collections.abc import Callable

from cribdesk.crib.air import DENSEST_KG_M3, THINNEST_KG_M3
from cribdesk.crib.label import Kind
from cribdesk.crib.records import (
    AWAY,
    Battery,
    BatteryPlace,
    Calibration,
    Custody,
    Instrument,
    Lot,
    Person,
    Record,
    Role,
    StockItem,
    Unit,
    Where,
)
from cribdesk.crib.words import capital, count, date_words, joined, number
from cribdesk.desk.entry_form import ABOUT, NO, YES, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.entry_people import person_fields
from cribdesk.desk.entry_things import scale_field
from cribdesk.desk.equipment import Calibrate, RetireBattery
from cribdesk.desk.labels import BINDABLE, ReplaceLabel
from cribdesk.desk.meters import resting_on, would_find
from cribdesk.desk.numbering import HOME
from cribdesk.desk.operation import Operation
from cribdesk.desk.people import ChangePerson
from cribdesk.desk.saying import WHERE_WORDS, name_of, where_words
from cribdesk.desk.standings import people
from cribdesk.desk.stock import BlockLot, CountLot
from cribdesk.desk.unit import MoveUnit

RELABEL = "relabel"
Choices = tuple[tuple[str, str], ...]
NAMED_PLACES = (Where.RACK, Where.BENCH)
"""Where a unit lies at a place that can be named; a cabinet takes it at the counter only, with its new seal."""


def _about(asked: Asked, words: str, choices: Choices) -> EntryField:
    known = asked.label if asked.label in {label for label, _ in choices} else ""
    return EntryField(ABOUT, words, "choice", True, "Choose it, or scan its label.", choices, known)


# A unit is put somewhere else.


def _unit_choices(asked: Asked) -> Choices:
    units = [one for one in asked.reader.find(Unit) if one.where is not Where.SCRAPPED]
    custodies = {one.unit_id: one for one in asked.reader.find(Custody, returned_at=None)}
    holders = people(asked.reader, (one.person_id for one in custodies.values()))
    found = []
    for unit in units:
        custody = custodies.get(unit.id)
        words = where_words(unit, holders.get(custody.person_id) if custody else None)
        found.append((unit.label, f"{unit.label}, {words}"))
    return tuple(found)


def _move_fields(asked: Asked) -> Fields:
    about = _about(asked, "Unit", _unit_choices(asked))
    if not about.value:
        return (about,)
    unit = asked.reader.first(Unit, label=about.value)
    places, help_words = _places(asked, unit)
    choices = tuple((one.value, capital(WHERE_WORDS[one])) for one in places)
    named = ("where", *(one.value for one in NAMED_PLACES))
    return (
        about,
        EntryField("where", "Where it is from now on", "choice", True, help_words, choices),
        EntryField("place", "Place", help="Row or shelf, as people say it.", only=named),
        EntryField("why", "Why"),
    )


def _places(asked: Asked, unit: Unit | None) -> tuple[tuple[Where, ...], str]:
    """Where the unit can go from here, and what to do first where that is not everywhere."""
    if unit is not None and asked.reader.first(Custody, unit_id=unit.id, returned_at=None) is not None:
        return (), "Somebody has it: take it back at the counter first, or say there that it is missing."
    if unit is not None and unit.where in AWAY:
        return (), "It is not here: say at the counter first that it is back. It can be scrapped as it is."
    return NAMED_PLACES, "Into a cabinet: scan the unit at the counter, then the cabinet."


def _move(filled: Filled, asked: Asked, token: str) -> Operation:
    unit = asked.reader.first(Unit, label=filled.pick(ABOUT))
    where = filled.pick("where")
    return MoveUnit(
        operation_id=token,
        unit_id=unit.id if unit else 0,
        where=Where(where) if where else Where.RACK,
        place=filled.text("place"),
        why=filled.text("why"),
    )


# A label melted.


def _words_of(record: Record) -> str:
    if isinstance(record, Person):
        return name_of(record)
    named = (getattr(record, field, "") for field in ("name", "model", "code", "serial"))
    return next((str(one) for one in named if one), "")


def _labelled(asked: Asked) -> Choices:
    """Everything of the kind the form is about; of every kind where it is about nothing."""
    kinds = [kind for kind in BINDABLE if not asked.label or asked.label[0] == kind.value]
    found = []
    for kind in kinds:
        home, field = HOME[kind]
        for record in asked.reader.find(home):
            label = str(getattr(record, field))
            words = _words_of(record)
            found.append((label, f"{words}, {label}" if kind is Kind.PERSON else f"{label}, {words}".rstrip(", ")))
    return tuple(found)


def _relabel_fields(asked: Asked) -> Fields:
    return (_about(asked, "What gets a new label", _labelled(asked)),)


def _relabel(filled: Filled, asked: Asked, token: str) -> Operation:
    return ReplaceLabel(operation_id=token, label=filled.pick(ABOUT))


# A person changes.


def _change_person_fields(asked: Asked) -> Fields:
    known = sorted(asked.reader.find(Person), key=lambda one: (not one.active, one.name, one.label))
    words = {one.label: f"{name_of(one)}, {one.label}{'' if one.active else ', badge ended'}" for one in known}
    about = _about(asked, "Person", tuple(words.items()))
    person = next((one for one in known if one.label == about.value), None)
    if person is None:
        return (about,)
    active = YES if person.active else NO
    good = EntryField("active", "The badge is good", "yes-no", value=active, help="No tick: nothing goes out on it.")
    return (about, *person_fields(person), good)


def _change_person(filled: Filled, asked: Asked, token: str) -> Operation:
    person = asked.reader.first(Person, label=filled.pick(ABOUT))
    return ChangePerson(
        operation_id=token,
        person_id=person.id if person else 0,
        full_name=filled.text("full_name"),
        trade=filled.text("trade"),
        crew=filled.text("crew"),
        employer=filled.text("employer"),
        ends_on=filled.day("ends_on"),
        active=filled.yes("active"),
        roles=tuple(role for role in Role if filled.yes(role.value)),
    )


# A pack goes out of use, or turns up.

_PACK_PLACES = (
    (BatteryPlace.SHELF, "Found again, on the shelf"),
    (BatteryPlace.SENT_OUT, "Sent out"),
    (BatteryPlace.MISSING, "Missing"),
    (BatteryPlace.SCRAPPED, "Scrapped"),
)


def _pack_fields(asked: Asked) -> Fields:
    packs = sorted(asked.reader.find(Battery), key=lambda one: one.label)
    words = tuple((one.label, f"{one.label}, {one.model}, {_pack_words(one)}") for one in packs)
    about = _about(asked, "Battery", words)
    pack = next((one for one in packs if one.label == about.value), None)
    if pack is None:
        return (about,)
    out = asked.reader.first(Custody, battery_id=pack.id, returned_at=None) is not None
    places = [(place.value, said) for place, said in _PACK_PLACES if not out or place is BatteryPlace.MISSING]
    help_words = "It is out with its unit: before it is back it can only be missing." if out else ""
    return (
        about,
        EntryField("place", "What becomes of it", "choice", True, help_words, tuple(places)),
        EntryField("why", "Why", needed=True, help="Or where it was found."),
    )


def _pack_words(pack: Battery) -> str:
    words = {
        BatteryPlace.SHELF: "on the shelf",
        BatteryPlace.CHARGER: "on a charger",
        BatteryPlace.IN_UNIT: "in a unit",
    }
    return words.get(pack.place, pack.place.value)


def _pack(filled: Filled, asked: Asked, token: str) -> Operation:
    pack = asked.reader.first(Battery, label=filled.pick(ABOUT))
    place = filled.pick("place")
    return RetireBattery(
        operation_id=token,
        battery_id=pack.id if pack else 0,
        place=BatteryPlace(place) if place else BatteryPlace.MISSING,
        why=filled.text("why"),
    )


# A lot is counted, or blocked.


def _item_and_lot(asked: Asked) -> tuple[EntryField, EntryField | None, Lot | None]:
    """The item, the field of its lots once it is known, and the lot that stands in it."""
    items = sorted(asked.reader.find(StockItem), key=lambda one: one.name)
    about = _about(asked, "Item", tuple((one.label, f"{one.name}, {one.code}") for one in items))
    item = next((one for one in items if one.label == about.value), None)
    if item is None:
        return about, None, None
    lots = asked.reader.find(Lot, item_id=item.id)
    lots.sort(key=lambda one: (not one.on_hand, one.expires_on is None, str(one.expires_on or ""), one.id))
    here = [one for one in lots if one.on_hand]
    chosen = next((one for one in lots if str(one.id) == asked.part), here[0] if len(here) == 1 else None)
    words = tuple((str(one.id), _lot_words(one)) for one in lots)
    value = str(chosen.id) if chosen else ""
    none = "" if lots else "No lot of it ever came in."
    return about, EntryField("lot", "Lot", "choice", True, none, words, value), chosen


def _lot_words(lot: Lot) -> str:
    until = f", until {date_words(lot.expires_on)}" if lot.expires_on else ""
    state = f", blocked: {lot.blocked}" if lot.blocked else "" if lot.on_hand else ", used up"
    return f"{lot.code}{until}{state}"


def _count_fields(asked: Asked) -> Fields:
    about, lots, _ = _item_and_lot(asked)
    if lots is None:
        return (about,)
    return (
        about,
        lots,
        EntryField("counted", "Pieces counted", "number", True, "What lies there, not what the book says."),
        EntryField("why", "Why it is apart from the book", help="Only where it is."),
    )


def _count(filled: Filled, asked: Asked, token: str) -> Operation:
    lot = filled.pick("lot")
    return CountLot(
        operation_id=token,
        lot_id=int(lot) if lot else 0,
        counted=filled.whole("counted") or 0,
        why=filled.text("why"),
    )


BLOCK, LIFT = "block", "lift"


def _block_fields(asked: Asked) -> Fields:
    about, lots, chosen = _item_and_lot(asked)
    if lots is None:
        return (about,)
    value = LIFT if chosen is not None and chosen.blocked else BLOCK
    choices = ((BLOCK, "Block it: nothing of it may be fitted"), (LIFT, "Lift the block"))
    return (
        about,
        lots,
        EntryField("what", "What is done", "choice", True, choices=choices, value=value),
        EntryField("why", "Why", needed=True, help="As the recall or the finding says it.", only=("what", BLOCK)),
    )


def _block(filled: Filled, asked: Asked, token: str) -> Operation:
    lot = filled.pick("lot")
    return BlockLot(operation_id=token, lot_id=int(lot) if lot else 0, why=filled.text("why"))


# A flow meter comes back from its calibration.


def _calibrate_fields(asked: Asked) -> Fields:
    meters = sorted(asked.reader.find(Instrument), key=lambda one: one.label)
    words = {one.label: f"{one.name}, {one.label}, good until {date_words(one.calibrated_until)}" for one in meters}
    about = _about(asked, "Flow meter", tuple(words.items()))
    meter = next((one for one in meters if one.label == about.value), None)
    if meter is None:
        return (about,)
    today = asked.house.today(asked.moment).isoformat()
    return (
        about,
        EntryField("made_on", "Calibrated on", "date", True, value=today),
        EntryField("good_until", "Good until", "date", True, "The last day. Write it like 2027-05-31."),
        EntryField(
            "found_error_lpm", "It was found to read wrong by", "number", unit="L/min", decimals=1, signed=True,
            help="Before it was set right; below zero where it read too little.",
        ),
        EntryField("certificate", "Certificate"),
        scale_field(number(meter.calibration_kg_m3, 3)),
        EntryField(
            "hold", "Hold what no longer passes", "yes-no",
            help=f"Over {number(meter.uncertainty_lpm)} L/min too much: first how many that are, then this.",
        ),
    )  # fmt: skip


def _calibrate(filled: Filled, asked: Asked, token: str) -> Operation:
    meter = asked.reader.first(Instrument, label=filled.pick(ABOUT))
    made, until = filled.day("made_on"), filled.day("good_until")
    if made and made > asked.house.today(asked.moment):
        filled.troubles["made_on"] = f"{date_words(made)} is still to come."
    if made and until and until < made:
        filled.troubles["good_until"] = f"{date_words(until)} lies before {date_words(made)}."
    error = filled.figure("found_error_lpm", -99.9, 99.9) or 0.0
    if meter is not None and made is not None and not filled.yes("hold"):
        made_up = Calibration(instrument_id=meter.id, made_on=made, good_until=made, found_error_lpm=error)
        _preview(filled, asked, made_up)
    return Calibrate(
        operation_id=token,
        instrument_id=meter.id if meter else 0,
        made_on=filled.the_day("made_on"),
        good_until=filled.the_day("good_until"),
        found_error_lpm=error,
        certificate=filled.text("certificate"),
        calibration_kg_m3=filled.figure("calibration_kg_m3", THINNEST_KG_M3, DENSEST_KG_M3),
    )


def _preview(filled: Filled, asked: Asked, made: Calibration) -> None:
    """Tells how many units would be held, before anything is: entered only once that is ticked."""
    meter = asked.reader.get(Instrument, made.instrument_id)
    finding = would_find(asked.reader, asked.house, meter, made)
    if finding is None or finding.error_lpm < 0:
        return
    looked = resting_on(asked.reader, asked.house, meter, finding, asked.moment)
    held = [one.unit.label for one in looked if not one.stands(finding.error_lpm)]
    if held:
        named = joined(held[:6]) + (f" and {len(held) - 6} more" if len(held) > 6 else "")
        words = f"{len(held)} of {count(len(looked), 'unit')} would be held: {named}. Tick it, then enter once more."
        filled.troubles["hold"] = words


def _none_of(kind: type[Record], words: str) -> Callable[[Asked], str]:
    return lambda asked: "" if asked.reader.first(kind) else f"There is no {words} yet. Enter one first."


CHANGE_FORMS = (
    EntryKind(
        "move", "move", "Move", "Move a unit", MoveUnit, _move_fields, _move,
        "What is missing, goes for repair or is lent is said at the counter, under More.",
        _none_of(Unit, "unit"), again=False,
    ),
    EntryKind(
        RELABEL, RELABEL, "New label", "A new label", ReplaceLabel, _relabel_fields, _relabel,
        "For one that melted, wore off or was lost. The old label scans no more from then on.",
    ),
    EntryKind(
        "change-person", "change-person", "Change", "Change a person", ChangePerson, _change_person_fields,
        _change_person, "What stands now is filled in.", again=False,
    ),
    EntryKind(
        "retire-battery", "retire-battery", "Battery", "Take a battery out of use, or back", RetireBattery,
        _pack_fields, _pack, missing=_none_of(Battery, "battery"), again=False,
    ),
    EntryKind(
        "count", "count", "Count", "Count a lot", CountLot, _count_fields, _count,
        missing=_none_of(StockItem, "stock item"),
    ),
    EntryKind(
        "block", "block", "Block", "Block a lot, or lift its block", BlockLot, _block_fields, _block,
        missing=_none_of(StockItem, "stock item"), again=False,
    ),
    EntryKind(
        "calibrate", "calibrate", "Calibrate", "Enter a calibration", Calibrate, _calibrate_fields, _calibrate,
        "As the certificate says it.", _none_of(Instrument, "flow meter"), again=False,
    ),
)  # fmt: skip
