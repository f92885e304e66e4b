"""What a place of the window asks the store: one question a place, at once or in short steps."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime

from cribdesk.crib.records import Area, Custody, Person, Unit
from cribdesk.crib.scan import LabelScan, read_scan
from cribdesk.desk.area_page import area_list, area_page
from cribdesk.desk.bench_list import bench_list
from cribdesk.desk.board import counter_board
from cribdesk.desk.cards import (
    AreaCard,
    BatteryCard,
    BinCard,
    Card,
    InstrumentCard,
    ItemCard,
    PartCard,
    PersonCard,
    SlipCard,
    TagCard,
    UnitCard,
)
from cribdesk.desk.cards_lists import CounterBoard
from cribdesk.desk.due import due_list
from cribdesk.desk.find import find
from cribdesk.desk.fleet_picture import fleet_steps
from cribdesk.desk.forecasts import Step
from cribdesk.desk.house import House
from cribdesk.desk.life_pictures import life_picture
from cribdesk.desk.limits_page import limits_page
from cribdesk.desk.lists import battery_rows, instrument_rows, person_rows, unit_rows
from cribdesk.desk.lookup import person_card
from cribdesk.desk.ports import Reader, Store
from cribdesk.desk.readiness import readiness
from cribdesk.desk.shift_lists import shift_page
from cribdesk.desk.stock_page import stock_item, stock_page
from cribdesk.desk.timeline import journal_page, timeline_page
from cribdesk.desk.unit_lookup import unit_card

IN_STEPS: dict[str, Callable[[Store, House, datetime], Iterator[Step]]] = {"fleet": fleet_steps}
"""What takes long is read in short steps, so that no scan waits; the last is a `Told` with the data."""

PAGE = 50

Question = Callable[[Reader, House, str, datetime], object]


def place(reader: Reader, house: House, name: str, argument: str, moment: datetime, roles: str = "") -> object:
    """The data of a place as a clerk of these roles sees it, or None where there is nothing of that address.

    'unit', 'person' and 'area' take a label; 'units' a filter and, on a second line, a text; 'people', 'batteries',
    'stock', 'areas', 'find' a text; 'journal' the seq to go on before and, on a second line, whose entries; 'more'
    a label and, on a second line, such a seq.
    """
    if name == "shift":
        return shift_page(reader, house, argument, moment, roles)
    question = _QUESTIONS.get(name)
    return question(reader, house, argument, moment) if question else None


def board(reader: Reader, house: House, moment: datetime) -> CounterBoard:
    """The empty counter."""
    return counter_board(reader, house, moment)


def areas(reader: Reader) -> tuple[AreaCard, ...]:
    """Every area, by name."""
    return tuple(AreaCard(area) for area in sorted(reader.find(Area), key=lambda area: area.name))


def unit_of_custody(reader: Reader, custody_id: int) -> str:
    """The label of the unit that went out then."""
    return reader.get(Unit, reader.get(Custody, custody_id).unit_id).label


def page_of(card: Card) -> tuple[str, str] | None:
    """(place, label) where a thing is shown, parts, tags and slips with what they belong to; or None."""
    match card:
        case UnitCard():
            return "unit", card.label
        case PersonCard():
            return "person", card.label
        case BatteryCard():
            return "batteries", card.label
        case ItemCard():
            return "stock", card.label
        case BinCard():
            return "stock", card.items[0].label if card.items else ""
        case AreaCard():
            return "area", card.label
        case InstrumentCard():
            return "bench", card.label
        case PartCard():
            return ("unit", card.unit.label) if card.unit else ("stock", card.item.label)
        case TagCard():
            return "unit", card.unit.label
        case SlipCard():
            return "unit", card.unit_label
    return None


def _unit(reader: Reader, house: House, argument: str, moment: datetime) -> object:
    found = reader.first(Unit, label=argument)
    return unit_card(reader, house, found.id, moment, trend=True) if found else None


def _person(reader: Reader, house: House, argument: str, moment: datetime) -> object:
    found = reader.first(Person, label=argument)
    return person_card(reader, house, found.id, moment) if found else None


def _units(reader: Reader, house: House, argument: str, moment: datetime) -> object:
    narrowed, _, text = argument.partition("\n")
    return unit_rows(reader, house, moment, narrowed, text)


def _journal(reader: Reader, house: House, argument: str, moment: datetime) -> object:
    before, _, text = argument.partition("\n")
    seq = int(before) if before.isdigit() else None
    if not text.strip():
        return journal_page(reader, seq, PAGE)
    label, name = _subject(reader, house, text, moment)
    return replace(journal_page(reader, seq, PAGE, label), about=name)


def _subject(reader: Reader, house: House, text: str, moment: datetime) -> tuple[str, str]:
    """The label whose entries are meant, and its name: a label of ours as typed, else the best that the search has."""
    scan = read_scan(text)
    if isinstance(scan, LabelScan):
        return scan.label, scan.label
    best = next(iter(find(reader, house, text, moment).rows), None)
    return (best.label, f"{best.words}, {best.label}") if best else (text, "nothing of that name")


def _more(reader: Reader, house: House, argument: str, moment: datetime) -> object:
    label, _, before = argument.partition("\n")
    page = timeline_page(reader, label, int(before) if before.isdigit() else None)
    return label, page.rows, page.before


def _life(reader: Reader, house: House, argument: str, moment: datetime) -> object:
    """(the argument, the picture behind a forecast or None)."""
    label, _, position = argument.partition("\n")
    unit = reader.first(Unit, label=label)
    return argument, life_picture(reader, house, unit.id, position) if unit else None


_QUESTIONS: dict[str, Question] = {
    "unit": _unit,
    "person": _person,
    "units": _units,
    "people": lambda reader, house, text, moment: person_rows(reader, house, moment, text),
    "bench": lambda reader, house, _, moment: bench_list(reader, house, moment),
    "batteries": lambda reader, house, text, moment: battery_rows(reader, house, moment, text),
    "stock": stock_page,
    "stock-item": stock_item,
    "areas": lambda reader, house, text, moment: area_list(reader, house, moment, text),
    "area": area_page,
    "limits": lambda reader, house, _, moment: limits_page(reader, house, moment),
    "instruments": lambda reader, house, _, moment: instrument_rows(reader, house, moment),
    "find": lambda reader, house, text, moment: find(reader, house, text, moment),
    "journal": _journal,
    "life": _life,
    "due": lambda reader, house, _, moment: due_list(reader, house, moment),
    "readiness": lambda reader, house, _, moment: readiness(reader, house, moment),
    "more": _more,
}
