"""Search as one types: people, units, packs, parts, items and all else that carries a label, in one question."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from cribdesk.crib.label import Kind, normal
from cribdesk.crib.records import (
    Area,
    Battery,
    Bin,
    BoundLabel,
    Cabinet,
    Custody,
    Instrument,
    Lot,
    Part,
    PartsSet,
    Person,
    StockItem,
    Unit,
)
from cribdesk.crib.words import capital, folded, number
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import name_of, where_words
from cribdesk.desk.standings import people

MOST = 6
"""Results of one kind that are shown."""

LONGEST = 64
"""More characters than any label, name or serial has: nothing is looked for."""

MOST_WORDS = 8


@dataclass(frozen=True)
class FoundRow:
    """One result. `kind` is the letter of its label; `what` says that kind in a word."""

    kind: str
    label: str
    what: str
    words: str
    detail: str = ""


@dataclass(frozen=True)
class Found:
    """What fits a text, kind by kind, best first; `left_off` are those of each kind that are not shown, in words."""

    text: str
    rows: tuple[FoundRow, ...] = ()
    left_off: str = ""


@dataclass(frozen=True)
class _Thing:
    """What is looked through of one record."""

    id: int
    label: str
    name: str
    numbers: str


_Details = Callable[[list[int]], dict[int, str]]


@dataclass(frozen=True)
class _Source:
    """One kind: its things, and what tells those of these ids apart, in at most three queries."""

    kind: Kind
    what: str
    several: str
    things: tuple[_Thing, ...]
    details: _Details = lambda ids: {}


def find(reader: Reader, house: House, text: str, moment: datetime) -> Found:
    """Everything with each word of the text in its names or numbers, marks over letters ignored; 20 queries at most.

    A replaced label finds nothing here: scanned or typed whole it says what became of it.
    """
    wanted = folded(text).split()
    if not wanted or len(text.strip()) > LONGEST or len(wanted) > MOST_WORDS:
        return Found(text)
    bound = _bound(reader)
    rows: list[FoundRow] = []
    more = []
    for source in _sources(reader, house, moment):
        hits = sorted(_hits(source, wanted, bound), key=lambda hit: hit[0])
        shown = [thing for _, thing in hits[:MOST]]
        details = source.details([one.id for one in shown]) if shown else {}
        rows += (
            FoundRow(source.kind.value, one.label, source.what, one.name, details.get(one.id, "")) for one in shown
        )
        if len(hits) > MOST:
            more.append(f"{number(len(hits) - MOST)} {source.several}")
    whole = normal(text)
    return Found(text, tuple(sorted(rows, key=lambda row: row.label != whole)), ", ".join(more))


def _hits(
    source: _Source, wanted: list[str], bound: dict[tuple[str, int], str]
) -> Iterator[tuple[tuple[int, str, str], _Thing]]:
    """The things that fit; one where a word begins with what was typed first comes before one that only holds it."""
    first = wanted[0]
    for one in source.things:
        whole = folded(f"{one.name}\n{one.label}\n{one.numbers}\n{bound.get((source.kind.value, one.id), '')}")
        if all(word in whole for word in wanted):
            starts = any(word.startswith(first) for word in whole.split())
            yield (0 if starts else 1, folded(one.name), one.label), one


def _bound(reader: Reader) -> dict[tuple[str, int], str]:
    """The labels that were there before: badges of an employer, etched numbers, by what they are bound to."""
    found: dict[tuple[str, int], str] = {}
    for one in reader.find(BoundLabel):
        key = one.kind, one.record_id
        found[key] = f"{found.get(key, '')}\n{one.text}"
    return found


def _sources(reader: Reader, house: House, moment: datetime) -> Iterator[_Source]:
    """Every kind that is looked through, in the order in which it is shown."""
    yield _people(reader, house, moment)
    yield _units(reader, house)
    yield _batteries(reader)
    items = {one.id: one for one in reader.find(StockItem)}
    yield _parts(reader, items)
    yield _items(reader, items)
    sets = (_Thing(one.id, one.label, one.name, "") for one in reader.find(PartsSet, active=True))
    yield _Source(Kind.SET, "set", "sets", tuple(sets))
    bins = (_Thing(one.id, one.label, one.code, "") for one in reader.find(Bin))
    yield _Source(Kind.BIN, "bin", "bins", tuple(bins))
    areas = (_Thing(one.id, one.label, one.name, f"{one.processes}\n{one.agents}") for one in reader.find(Area))
    yield _Source(Kind.AREA, "area", "areas", tuple(areas))
    meters = (_Thing(one.id, one.label, one.name, one.serial) for one in reader.find(Instrument))
    yield _Source(Kind.INSTRUMENT, "flow meter", "flow meters", tuple(meters))
    cabinets = (_Thing(one.id, one.label, one.name, one.place) for one in reader.find(Cabinet))
    yield _Source(Kind.CABINET, "cabinet", "cabinets", tuple(cabinets))


def _people(reader: Reader, house: House, moment: datetime) -> _Source:
    known = {one.id: one for one in reader.find(Person)}

    def details(ids: list[int]) -> dict[int, str]:
        held = reader.find(Custody, person_id=ids, returned_at=None)
        labels = _labels(reader, (one.unit_id for one in held))
        units = {id_: [labels[one.unit_id] for one in held if one.person_id == id_] for id_ in ids}
        return {id_: words(known[id_], units[id_]) for id_ in ids}

    def words(one: Person, units: list[str]) -> str:
        crew = f"{one.crew} crew" if one.crew else ""
        ended = "badge ended" if one.ended(house.today(moment)) else ""
        return _joined(one.trade, crew, one.employer, ended, f"holds {', '.join(units)}" if units else "")

    things = (
        _Thing(one.id, one.label, name_of(one), f"{one.trade}\n{one.crew}\n{one.employer}") for one in known.values()
    )
    return _Source(Kind.PERSON, "person", "people", tuple(things), details)


def _units(reader: Reader, house: House) -> _Source:
    known = {one.id: one for one in reader.find(Unit)}
    shorts = {code: capital(model.short_name) for code, model in house.models.items()}

    def details(ids: list[int]) -> dict[int, str]:
        holders = {one.unit_id: one.person_id for one in reader.find(Custody, unit_id=ids, returned_at=None)}
        persons = people(reader, holders.values())
        return {
            id_: _joined(where_words(known[id_], persons.get(holders.get(id_, 0))), _serial(known[id_].serial))
            for id_ in ids
        }

    things = (_Thing(one.id, one.label, shorts.get(one.model, one.model), one.serial) for one in known.values())
    return _Source(Kind.UNIT, "unit", "units", tuple(things), details)


def _batteries(reader: Reader) -> _Source:
    known = {one.id: one for one in reader.find(Battery)}

    def details(ids: list[int]) -> dict[int, str]:
        labels = _labels(reader, (known[id_].unit_id for id_ in ids))
        return {id_: _place(known[id_], labels) for id_ in ids}

    things = (_Thing(one.id, one.label, one.model, one.serial) for one in known.values())
    return _Source(Kind.BATTERY, "battery", "batteries", tuple(things), details)


def _parts(reader: Reader, items: dict[int, StockItem]) -> _Source:
    known = {one.id: one for one in reader.find(Part)}

    def details(ids: list[int]) -> dict[int, str]:
        labels = _labels(reader, (known[id_].unit_id for id_ in ids))
        return {id_: _place(known[id_], labels) for id_ in ids}

    things = (
        _Thing(one.id, one.label, items[one.item_id].name, f"{one.serial}\n{items[one.item_id].code}")
        for one in known.values()
    )
    return _Source(Kind.PART, "part", "parts", tuple(things), details)


def _items(reader: Reader, items: dict[int, StockItem]) -> _Source:
    def details(ids: list[int]) -> dict[int, str]:
        there = dict.fromkeys(ids, 0)
        for lot in reader.find(Lot, item_id=ids, blocked=""):
            there[lot.item_id] += lot.on_hand
        return {id_: f"{items[id_].code}, {number(there[id_])} on the shelf" for id_ in ids}

    things = (
        _Thing(one.id, one.label, one.name, f"{one.code}\n{one.maker}\n{one.maker_number}") for one in items.values()
    )
    return _Source(Kind.ITEM, "item", "items", tuple(things), details)


def _place(one: Battery | Part, labels: dict[int, str]) -> str:
    there = "on the shelf" if one.place.value == "shelf" else one.place.value
    where = f"in {labels[one.unit_id]}" if one.unit_id else there
    return _joined(where, _serial(one.serial))


def _serial(serial: str) -> str:
    return f"serial {serial}" if serial else ""


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _labels(reader: Reader, ids: Iterable[int | None]) -> dict[int, str]:
    return {one.id: one.label for one in reader.find(Unit, id=sorted({one for one in ids if one}))}
