"""What must hold between the rows of a site's spreadsheets, and between them, the unit models and today."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from cribdesk.crib.clearance import fit_trouble
from cribdesk.crib.model import Position, UnitModel
from cribdesk.crib.records import ClearanceKind, Role
from cribdesk.crib.scan import ForeignScan, read_scan
from cribdesk.crib.words import date_words, joined
from cribdesk.crib.work_limit import limit_of
from cribdesk.desk.house import House
from cribdesk.desk.intake import read_sheets
from cribdesk.desk.intake_air_check import air_faults
from cribdesk.desk.intake_columns import Fault, IntakeFaults, Row, Sheets
from cribdesk.desk.intake_crib import SINGLE_ROWS, crib_faults
from cribdesk.desk.settings import BY_NAME

SINGLE: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "settings.csv": (("name",),),
    "people.csv": (("number",),),
    "areas.csv": (("name",),),
    "site_limits.csv": (("substance", "kind", "source"),),
    "assessments.csv": (("finding",),),
    "area_conditions.csv": (("area",),),
    "test_evidence.csv": (("model",),),
    "suppliers.csv": (("name",),),
    "bins.csv": (("code",),),
    "items.csv": (("code",),),
    "lots.csv": (("item", "lot"),),
    "chargers.csv": (("name",),),
    "batteries.csv": (("serial",),),
    "instruments.csv": (("serial",),),
    "units.csv": (("serial",),),
    "fitted.csv": (("unit", "position"), ("part_serial",)),
    "labels.csv": (("text",),),
    **SINGLE_ROWS,
}
"""What may stand in one row of a file only."""

RECORDS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "unit": ("units.csv", ("serial",)),
    "part": ("fitted.csv", ("part_serial",)),
    "person": ("people.csv", ("number", "name")),
    "battery": ("batteries.csv", ("serial",)),
    "stock item": ("items.csv", ("code",)),
    "bin": ("bins.csv", ("code",)),
    "flow meter": ("instruments.csv", ("serial",)),
    "area": ("areas.csv", ("name",)),
}
"""Where each kind of record in labels.csv stands, and the columns it may be named by."""


def sheets_of(files: Mapping[str, bytes], house: House, today: date) -> Sheets:
    """The rows of a site's spreadsheets, all of them sound. Raises IntakeFaults with everything that is not."""
    sheets, faults = read_sheets(files)
    known = _Known(sheets, house, today)
    for check in _CHECKS:
        faults += check(known)
    if faults:
        order = {name: number for number, name in enumerate(sheets)}
        raise IntakeFaults(tuple(sorted(faults, key=lambda one: (order.get(one.file, -1), one.row))))
    return sheets


@dataclass(frozen=True)
class _Known:
    """The rows with what they are held against."""

    sheets: Sheets
    house: House
    today: date

    def rows(self, file: str) -> tuple[Row, ...]:
        return self.sheets[file]

    def find(self, file: str, column: str, value: str) -> list[Row]:
        return [row for row in self.sheets[file] if row.text(column) == value]

    def model_of(self, serial: str) -> UnitModel | None:
        found = self.find("units.csv", "serial", serial)
        return self.house.models.get(found[0].text("model")) if found else None


def person_rows(rows: tuple[Row, ...], who: str) -> list[Row]:
    """Who is meant: by number, else by name."""
    return [row for row in rows if row.text("number") == who] or [row for row in rows if row.text("name") == who]


def _single(known: _Known) -> Iterator[Fault]:
    for file, keys in SINGLE.items():
        for key in keys:
            seen: dict[tuple[str, ...], int] = {}
            for row in known.rows(file):
                value = tuple(row.text(name) for name in key)
                if not all(value):
                    continue
                if value in seen:
                    yield row.fault(joined(key), f"{', '.join(value)} stands in row {seen[value]} too")
                seen.setdefault(value, row.number)


def _settings(known: _Known) -> Iterator[Fault]:
    for row in known.rows("settings.csv"):
        setting = BY_NAME.get(row.text("name"))
        if setting is None or setting.name == "sample_until":
            if row.has("name"):
                yield row.fault("name", f"{row.text('name')} is no setting of a site")
            continue
        try:
            setting.check(row.text("value"))
        except ValueError as failure:
            yield row.fault("value", str(failure))


def _people(known: _Known) -> Iterator[Fault]:
    rows = known.rows("people.csv")
    if not any(Role.SYSTEM in row.roles() for row in rows):
        yield Fault("people.csv", 0, "roles", "nobody is system administrator. Somebody has to be")
    for row in rows:
        doubles = [one for one in known.find("people.csv", "name", row.text("name")) if one.has("name")]
        if len(doubles) > 1 and not row.has("number"):
            words = f"{row.text('name')} stands in rows {_numbers(doubles)}. Give each a number, to tell them apart"
            yield row.fault("number", words)


def _numbers(rows: list[Row]) -> str:
    return joined([str(row.number) for row in rows])


def _person(known: _Known, row: Row, field: str, who: str) -> Iterator[Fault]:
    found = person_rows(known.rows("people.csv"), who)
    if not found:
        yield row.fault(field, f"{who} is not in people.csv, by number or name")
    elif len(found) > 1 and len({one.text("number") for one in found} - {""}) == len(found):
        yield row.fault(field, f"{who} is in people.csv more than once, in rows {_numbers(found)}. Write the number")


def _clearances(known: _Known) -> Iterator[Fault]:
    for row in known.rows("clearances.csv"):
        if row.has("person"):
            yield from _person(known, row, "person", row.text("person"))
        yield from _dates(row, known.today, "given_on", "until")
        yield from _proof(known, row)
        if row.text("kind") != ClearanceKind.FIT_TEST.value:
            continue
        model = known.house.models.get(row.text("model"))
        if model is None:
            yield row.fault("model", f"a fit test is made with one unit model: {_codes(known.house)}")
        elif row.text("size") not in (model.sizes or ("",)):
            yield row.fault("size", _size_words(model))
        elif row.yes("cleared") and (why := fit_trouble(model, row.text("method"), row.whole("fit_factor"))):
            yield row.fault("fit_factor" if "factor" in why else "method", why)


def _work_limits(known: _Known) -> Iterator[Fault]:
    for row in known.rows("work_limits.csv"):
        if row.has("person"):
            yield from _person(known, row, "person", row.text("person"))
        yield from _dates(row, known.today, "given_on", "given_on")
        try:
            limit_of(row.text("code"))
        except ValueError as why:
            if row.has("code"):
                yield row.fault("code", str(why))


def _proof(known: _Known, row: Row) -> Iterator[Fault]:
    """Another employer's proof: of that employer's people only, dated between the clearance and today."""
    given, dated = row.day("given_on"), row.day("proof_dated")
    if not row.has("proof"):
        if dated:
            yield row.fault("proof", "say which paper carries that day")
        return
    found = person_rows(known.rows("people.csv"), row.text("person"))
    own = next((one.text("value") for one in known.find("settings.csv", "name", "own_employer")), "")
    employer = found[0].text("employer").strip() if found else ""
    if found and (not employer or known.house.same_employer(employer, own)):
        yield row.fault("proof", f"{row.text('person')} has no other employer in people.csv")
    if dated and given and not given <= dated <= known.today:
        yield row.fault("proof_dated", f"it lies between {date_words(given)} and today")


def _dates(row: Row, today: date, begin: str, end: str) -> Iterator[Fault]:
    first, last = row.day(begin), row.day(end)
    if first and first > today:
        yield row.fault(begin, f"{date_words(first)} is still to come")
    if first and last and last < first:
        yield row.fault(end, f"{date_words(last)} lies before {date_words(first)}")


def _codes(house: House) -> str:
    return ", ".join(sorted(house.models))


def _size_words(model: UnitModel) -> str:
    return f"{model.code} comes in {', '.join(model.sizes) or 'one size; leave it empty'}"


def _items(known: _Known) -> Iterator[Fault]:
    for row in known.rows("items.csv"):
        for field, file, key in (("supplier", "suppliers.csv", "name"), ("bin", "bins.csv", "code")):
            if row.has(field) and not known.find(file, key, row.text(field)):
                yield row.fault(field, f"{row.text(field)} is not in {file}")
        low, high = row.whole("minimum"), row.whole("maximum")
        if low is not None and high is not None and high < low:
            yield row.fault("maximum", f"{high} is less than the minimum, {low}")


def _lots(known: _Known) -> Iterator[Fault]:
    for row in known.rows("lots.csv"):
        if row.has("item") and not known.find("items.csv", "code", row.text("item")):
            yield row.fault("item", f"{row.text('item')} is not in items.csv")
        last = row.day("expires_on")
        if last and last < known.today:
            yield row.fault("expires_on", f"this lot was good until {date_words(last)}. Take it off the shelf")
        if row.whole("quantity") == 0 and not _fitted_of(known, row):
            yield row.fault("quantity", "there is nothing of it, on the shelf or in a unit")


def _fitted_of(known: _Known, lot: Row) -> list[Row]:
    wanted = (lot.text("item"), lot.text("lot"))
    return [row for row in known.rows("fitted.csv") if (row.text("item"), row.text("lot")) == wanted]


def _equipment(known: _Known) -> Iterator[Fault]:
    packs = sorted({code for model in known.house.models.values() for code in model.battery_models})
    for row in known.rows("batteries.csv"):
        if row.has("model") and row.text("model") not in packs:
            yield row.fault("model", f"no unit model takes a pack {row.text('model')}. Known are {', '.join(packs)}")
        bought = row.day("bought_on")
        if bought and bought > known.today:
            yield row.fault("bought_on", f"{date_words(bought)} is still to come")
    for row in known.rows("instruments.csv"):
        yield from _dates(row, known.today, "calibrated_on", "calibrated_until")


def _units(known: _Known) -> Iterator[Fault]:
    for row in known.rows("units.csv"):
        model = known.house.models.get(row.text("model"))
        if model is None:
            if row.has("model"):
                yield row.fault("model", f"{row.text('model')} is no unit model here. Known are {_codes(known.house)}")
        elif row.has("size") and row.text("size") not in model.sizes:
            yield row.fault("size", _size_words(model))


def _fitted(known: _Known) -> Iterator[Fault]:
    for row in known.rows("fitted.csv"):
        if row.has("unit") and not known.find("units.csv", "serial", row.text("unit")):
            yield row.fault("unit", f"{row.text('unit')} is not in units.csv")
        item, lot = row.text("item"), row.text("lot")
        if item and not known.find("items.csv", "code", item):
            yield row.fault("item", f"{item} is not in items.csv")
        elif item and lot and not any(one.text("lot") == lot for one in known.find("lots.csv", "item", item)):
            yield row.fault("lot", f"lot {lot} of {item} is not in lots.csv")
        model = known.model_of(row.text("unit"))
        if model is not None and row.has("position"):
            yield from _position(row, model)


def _position(row: Row, model: UnitModel) -> Iterator[Fault]:
    position = model.position(row.text("position"))
    if position is None:
        codes = ", ".join(one.code for one in model.positions)
        yield row.fault("position", f"{model.code} has no position {row.text('position')}. It has {codes}")
        return
    if row.has("item") and row.text("item") not in position.items:
        what = f"{row.text('item')} is not approved as {position.name.lower()} of {model.code}"
        yield row.fault("item", f"{what}. Take {' or '.join(position.items)}")
    yield from _serial(row, position)


def _serial(row: Row, position: Position) -> Iterator[Fault]:
    if row.has("part_serial") and not position.labelled:
        yield row.fault("part_serial", f"the {position.name.lower()} gets no label of its own. Leave it empty")


def _labels(known: _Known) -> Iterator[Fault]:
    for row in known.rows("labels.csv"):
        if row.has("text") and not isinstance(found := read_scan(row.text("text")), ForeignScan):
            why = getattr(found, "sentence", "it reads as a label of our own kind").removesuffix(" Nothing changed.")
            yield row.fault("text", f"it cannot be bound: {why.rstrip('.')}")
        kind, name = row.text("kind"), row.text("record")
        if not kind or not name:
            continue
        if kind == "person":
            yield from _person(known, row, "record", name)
            continue
        file, columns = RECORDS[kind]
        if not any(known.find(file, column, name) for column in columns):
            yield row.fault("record", f"{name} is not in {file}, column {' or '.join(columns)}")


def _air(known: _Known) -> Iterator[Fault]:
    return air_faults(known.sheets, known.house, known.today)


def _of_the_crib(known: _Known) -> Iterator[Fault]:
    return crib_faults(known.sheets, known.house)


_CHECKS: tuple[Callable[[_Known], Iterator[Fault]], ...] = (
    _single, _settings, _people, _clearances, _work_limits, _items, _lots, _equipment, _units, _fitted, _labels, _air,
    _of_the_crib,
)  # fmt: skip
