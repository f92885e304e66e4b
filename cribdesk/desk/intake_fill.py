"""Sound spreadsheets carried into an empty store, by the counter's ordinary operations, all of them journalled."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, TypeVar

from cribdesk.crib.records import (
    Area,
    Assessment,
    Battery,
    Bin,
    ClearanceKind,
    Instrument,
    Lot,
    Part,
    Person,
    Record,
    Role,
    StockItem,
    Supplier,
    Unit,
)
from cribdesk.crib.refusal import NotAllowed
from cribdesk.desk.counter import Counter
from cribdesk.desk.equipment import AddArea, AddBattery, AddCharger, AddInstrument
from cribdesk.desk.intake_air import AIR_FILES, air_operation
from cribdesk.desk.intake_check import person_rows
from cribdesk.desk.intake_columns import Fault, IntakeFaults, Row, Sheets
from cribdesk.desk.intake_crib import CRIB_FILES, crib_operation
from cribdesk.desk.labels import BindLabel
from cribdesk.desk.office import SetSetting
from cribdesk.desk.operation import Operation
from cribdesk.desk.parts_sets import SetHandOutLimit
from cribdesk.desk.people import AddClearance, AddPerson, ChangePerson, FirstStart
from cribdesk.desk.stock import AddBin, AddItem, AddSupplier, ReceiveLot
from cribdesk.desk.unit import AddPart, AddUnit
from cribdesk.desk.work_limits import SetWorkLimit

R = TypeVar("R", bound=Record)
Told = Callable[[float], None]


def fill(sheets: Sheets, counter: Counter, token: Callable[[], str], told: Told | None = None) -> int:
    """Enters everything into the counter's empty store. Returns how many operations it took.

    The first system administrator of people.csv begins the store and is the clerk of all that follows.
    `token` makes operation ids; `told` hears the part done, 0 to 1. Raises IntakeFaults at the first row the
    rules forbid: what was entered before it stays, so fill a store that can be thrown away.
    """
    return _Filling(sheets, counter, token).all(told)


@dataclass
class _Filling:
    sheets: Sheets
    counter: Counter
    token: Callable[[], str]
    clerk_id: int | None = None
    operations: int = 0
    records: dict[tuple[type[Record], str], Record] = field(default_factory=dict)

    def all(self, told: Told | None) -> int:
        rows = sum(map(len, self.sheets.values()))
        for number, _ in enumerate(self._steps(), 1):
            if told is not None:
                told(min(1.0, number / max(1, rows)))
        return self.operations

    def _steps(self) -> Iterator[Row]:
        yield from self._people()
        for file, enter in (
            ("settings.csv", self._setting),
            ("clearances.csv", self._clearance),
            ("work_limits.csv", self._work_limit),
            ("areas.csv", self._area),
            *((file, self._air) for file in AIR_FILES),
            ("suppliers.csv", self._supplier),
            ("bins.csv", self._bin),
            ("items.csv", self._item),
            ("lots.csv", self._lot),
            ("chargers.csv", self._charger),
            ("batteries.csv", self._battery),
            ("instruments.csv", self._instrument),
            ("units.csv", self._unit),
            *((file, self._of_the_crib) for file in CRIB_FILES),
            ("labels.csv", self._label),
        ):
            for row in self.sheets[file]:
                enter(row)
                yield row

    def _do(self, row: Row, operation: type[Operation], /, **fields: Any) -> None:
        try:
            self.counter.do(operation(operation_id=self.token(), **fields), self.clerk_id)
        except NotAllowed as failure:
            words = " ".join(part for part in (failure.sentence, failure.remedy) if part).rstrip(".")
            raise IntakeFaults((Fault(row.file, row.number, "", words),)) from failure
        self.operations += 1

    def _keep(self, kind: type[R], *names: str) -> R:
        """The record entered last, under the names it goes by."""
        with self.counter.store.reading() as reader:
            found = reader.latest(kind)
        assert found is not None
        for name in names:
            if name:
                self.records[kind, name] = found
        return found

    def _known(self, kind: type[R], name: str) -> R:
        found = self.records[kind, name]
        assert isinstance(found, kind)
        return found

    def _id(self, kind: type[Record], name: str) -> int | None:
        return self._known(kind, name).id if name else None

    # People.

    def _people(self) -> Iterator[Row]:
        rows = self.sheets["people.csv"]
        first = next(row for row in rows if Role.SYSTEM in row.roles())
        self._do(first, FirstStart, full_name=first.text("name"))
        person = self._keep(Person, _person_key(first))
        self.clerk_id = person.id
        self._do(first, ChangePerson, person_id=person.id, **_about(first))
        yield first
        for row in rows:
            if row is not first:
                self._do(row, AddPerson, **_about(row))
                self._keep(Person, _person_key(row))
                yield row

    def _person(self, who: str) -> Person:
        (row,) = person_rows(self.sheets["people.csv"], who)
        return self._known(Person, _person_key(row))

    def _clearance(self, row: Row) -> None:
        self._do(
            row, AddClearance,
            person_id=self._person(row.text("person")).id, kind=ClearanceKind(row.text("kind")),
            given_on=row.day("given_on"), cleared=row.yes("cleared"), until=row.day("until"),
            model=row.text("model"), size=row.text("size"), detail=row.text("detail"),
            method=row.text("method"), fit_factor=row.whole("fit_factor"),
            document=row.text("proof"), dated_on=row.day("proof_dated"),
        )  # fmt: skip

    def _work_limit(self, row: Row) -> None:
        self._do(
            row, SetWorkLimit, person_id=self._person(row.text("person")).id, code_of_limit=row.text("code"),
            given_on=row.day("given_on"),
        )  # fmt: skip

    # Places and stock.

    def _setting(self, row: Row) -> None:
        self._do(row, SetSetting, setting=row.text("name"), value=row.text("value"))

    def _area(self, row: Row) -> None:
        self._do(
            row, AddArea,
            area_name=row.text("name"), required=row.yes("required"), agents=row.text("agents"),
            processes=row.text("processes"), dust_ug_m3=row.whole("dust_ug_m3"), note=row.text("note"),
        )  # fmt: skip
        self._keep(Area, row.text("name"))

    def _air(self, row: Row) -> None:
        """What is in the air of an area, and what is held against it."""
        operation, fields = air_operation(self.counter.house, row, lambda kind, name: self._known(kind, name).id)
        self._do(row, operation, **fields)
        if row.file == "assessments.csv":
            self._keep(Assessment, row.text("finding"))

    def _of_the_crib(self, row: Row) -> None:
        """Sets of parts and cabinets."""
        made = crib_operation(row, self.sheets[row.file], lambda code: self._known(StockItem, code).id)
        if made is not None:
            self._do(row, made[0], **made[1])

    def _supplier(self, row: Row) -> None:
        self._do(row, AddSupplier, supplier=row.text("name"))
        self._keep(Supplier, row.text("name"))

    def _bin(self, row: Row) -> None:
        self._do(row, AddBin, bin_code=row.text("code"))
        self._keep(Bin, row.text("code"))

    def _item(self, row: Row) -> None:
        self._do(
            row, AddItem,
            item_code=row.text("code"), item_name=row.text("name"), maker=row.text("maker"),
            maker_number=row.text("maker_number"), criticality=row.text("criticality"),
            pack_size=row.whole("pack_size"), price_cents=row.whole("price"),
            supplier_id=self._id(Supplier, row.text("supplier")), bin_id=self._id(Bin, row.text("bin")),
            minimum=row.whole("minimum"), maximum=row.whole("maximum"), shelf_days=row.whole("shelf_days"),
        )  # fmt: skip
        item = self._keep(StockItem, row.text("code"))
        if row.whole("per_week"):
            self._do(row, SetHandOutLimit, item_id=item.id, per_week=row.whole("per_week"))

    def _lot(self, row: Row) -> None:
        """What sits in units came in with it: it is fitted from the shelf further down."""
        item, code = row.text("item"), row.text("lot")
        fitted = sum((one.text("item"), one.text("lot")) == (item, code) for one in self.sheets["fitted.csv"])
        self._do(
            row, ReceiveLot,
            item_id=self._known(StockItem, item).id, lot_code=code, quantity=(row.whole("quantity") or 0) + fitted,
            expires_on=row.day("expires_on"),
        )  # fmt: skip
        self._keep(Lot, f"{item}\n{code}")

    # Equipment and units.

    def _charger(self, row: Row) -> None:
        self._do(row, AddCharger, charger_name=row.text("name"), slots=row.whole("slots"))

    def _battery(self, row: Row) -> None:
        self._do(
            row, AddBattery,
            battery_model=row.text("model"), serial=row.text("serial"), bought_on=row.day("bought_on"),
            cycles=row.whole("cycles"),
        )  # fmt: skip
        self._keep(Battery, row.text("serial"))

    def _instrument(self, row: Row) -> None:
        self._do(
            row, AddInstrument,
            instrument_name=row.text("name"), serial=row.text("serial"), uncertainty_lpm=row.figure("uncertainty_lpm"),
            calibrated_on=row.day("calibrated_on"), calibrated_until=row.day("calibrated_until"),
            calibration_kg_m3=row.figure("calibration_kg_m3"),
        )  # fmt: skip
        self._keep(Instrument, row.text("serial"))

    def _unit(self, row: Row) -> None:
        serial = row.text("serial")
        model = self.counter.house.models[row.text("model")]
        labelled = {position.code for position in model.positions if position.labelled}
        fitted = [one for one in self.sheets["fitted.csv"] if one.text("unit") == serial]
        parts = tuple(self._part(one, one.text("position") in labelled) for one in fitted)
        self._do(row, AddUnit, model=model.code, serial=serial, size=row.text("size"), parts=parts)
        self._keep(Unit, serial)

    def _part(self, row: Row, labelled: bool) -> tuple[str, int, int | None, int | None]:
        item, serial = self._known(StockItem, row.text("item")), row.text("part_serial")
        lot = self._known(Lot, f"{row.text('item')}\n{row.text('lot')}")
        if not labelled:
            return row.text("position"), item.id, lot.id, None
        self._do(row, AddPart, item_id=item.id, lot_id=lot.id, serial=serial)
        return row.text("position"), item.id, None, self._keep(Part, serial).id

    def _label(self, row: Row) -> None:
        kind, name = row.text("kind"), row.text("record")
        record = self._person(name) if kind == "person" else self._known(_KINDS[kind], name)
        self._do(row, BindLabel, text=row.text("text"), label=record.label)  # type: ignore[attr-defined]


def _person_key(row: Row) -> str:
    return row.text("number") or row.text("name")


def _about(row: Row) -> dict[str, Any]:
    return {
        "full_name": row.text("name"),
        "trade": row.text("trade"),
        "crew": row.text("crew"),
        "employer": row.text("employer"),
        "ends_on": row.day("ends_on"),
        "roles": row.roles(),
    }


_KINDS: dict[str, type[Record]] = {
    "unit": Unit,
    "part": Part,
    "battery": Battery,
    "stock item": StockItem,
    "bin": Bin,
    "flow meter": Instrument,
    "area": Area,
}
