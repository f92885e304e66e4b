"""A site's spreadsheets: the invented example loads whole; what is wrong is told by file, row and field."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from cribdesk import chores
from cribdesk.__main__ import main
from cribdesk.crib.label import Kind, next_label
from cribdesk.crib.records import (
    Area,
    AreaCondition,
    AreaControl,
    AreaProcess,
    Battery,
    BoundLabel,
    Clearance,
    Control,
    FactorEvidence,
    Fitted,
    HandOutLimit,
    Instrument,
    Lot,
    Part,
    Person,
    Role,
    Sample,
    SiteLimit,
    StockItem,
    Unit,
    Where,
    WorkLimit,
)
from cribdesk.desk import typed
from cribdesk.desk.assessments import assessments_of, has_finding
from cribdesk.desk.intake import FILES
from cribdesk.desk.intake_air import AIR_FILES
from cribdesk.desk.intake_check import sheets_of
from cribdesk.desk.intake_columns import IntakeFaults
from cribdesk.desk.ports import Reader
from cribdesk.store.check import check
from cribdesk.store.connect import open_store
from tests.desk.shop import house

EXAMPLE = Path(__file__).parent / "intake"
TODAY = date(2026, 11, 25)
SUPPLIER = "Brückner Schutz (invented)"


def example(**changes: str) -> dict[str, bytes]:
    """The example's files; `people="..."` puts another text in the place of people.csv."""
    files = {file.name: file.read_bytes() for file in EXAMPLE.glob("*.csv")}
    return files | {f"{name}.csv": text.encode() for name, text in changes.items()}


def with_row(name: str, row: str) -> dict[str, bytes]:
    """The example with one row more at the end of a file."""
    text = (EXAMPLE / f"{name}.csv").read_text("utf-8")
    return example(**{name: f"{text}{row}\n"})


def faults(files: dict[str, bytes]) -> list[str]:
    """What is wrong with the files, as it is told."""
    with pytest.raises(IntakeFaults) as caught:
        sheets_of(files, house(), TODAY)
    return [str(fault) for fault in caught.value.faults]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chores, "now", lambda: datetime(2026, 11, 25, 8, 0, tzinfo=UTC))


def test_the_example_loads_and_is_sound(address: str) -> None:
    """Everything of the example is in the store, on both engines, with a journal that replays."""
    words = chores.load(EXAMPLE, address)
    assert "entries now" in words
    with open_store(address) as store:
        assert check(store) == []
        with store.reading() as reader:
            look_at(reader)


def look_at(reader: Reader) -> None:
    """What the example holds, found in the store."""
    people = {(one.name, one.trade): one for one in reader.find(Person)}
    assert len(people) == 5
    first = reader.get(Person, 1)
    assert first.name == "Wanda Ostrowicz"
    assert first.has(Role.SYSTEM)
    assert first.has(Role.PROGRAM)
    twin = people["Ján Kováč", "fitter"]
    assert (twin.employer, twin.ends_on) == ("Nordstern Montage (invented)", date(2031, 3, 31))
    (refused,) = reader.find(Clearance, person_id=twin.id)
    assert not refused.cleared
    assert refused.detail == "to be asked again, no hot work"
    welder = people["Ján Kováč", "welder"]
    assert {one.given_on for one in reader.find(Clearance, person_id=welder.id)} == {
        date(2026, 2, 11), date(2026, 3, 2), date(2026, 3, 3),
    }  # fmt: skip
    (limit,) = reader.find(WorkLimit)
    assert (limit.code, reader.get(Person, limit.person_id).name) == ("hours at most 4", "Ilse Grönvall")
    look_at_units(reader)
    assert [one.cycles for one in reader.find(Battery)] == [40, 38, 0]
    meter = reader.get(Instrument, 1)
    assert (meter.uncertainty_lpm, meter.calibration_kg_m3) == (2.5, 1.225)
    look_at_air(reader)
    bound = {one.text: (one.kind, one.record_id) for one in reader.find(BoundLabel)}
    ilse = people["Ilse Grönvall", "welder"]
    assert bound["0048811207"] == ("P", ilse.id)
    assert len(bound) == 6


def look_at_air(reader: Reader) -> None:
    """Findings with their unit and samples, what is there unassessed, the rest of the areas; a model's evidence."""
    hull, tools = reader.find(Area)
    steel, iron = assessments_of(reader, hull.id)
    assert (steel.concentration_ng_m3, steel.short_ng_m3, steel.limit) == (
        150_000, 600_000, "Own list 2024 (invented)",
    )  # fmt: skip
    assert (iron.measured_as, iron.concentration_ng_m3) == ("Fe", None)
    samples = reader.find(Sample, assessment_id=iron.id)
    assert [(one.value_ng_m3, one.series, one.detected) for one in samples] == [
        (4_100_000, "A", True), (3_000_000, "B", True), (50_000, "A", False),
    ]  # fmt: skip
    (vapour,) = assessments_of(reader, tools.id)
    assert (vapour.substance, has_finding(vapour)) == ("toluene", False)
    assert [one.limit_ppb for one in reader.find(SiteLimit)] == [None, 20_000]
    assert [one.plate_64ths for one in reader.find(AreaProcess)] == [None, 8]
    (said,) = reader.find(AreaCondition)
    assert (said.exposed_minutes, said.oxygen_deficient) == (540, False)
    assert [one.control for one in reader.find(AreaControl)] == [Control.ENGINEERING]
    assert [one.model for one in reader.find(FactorEvidence)] == ["WH1"]


def look_at_units(reader: Reader) -> None:
    """Units at the bench, every position filled; the shelf as it was counted, apart from what is fitted."""
    units = reader.find(Unit)
    assert [(one.model, one.serial, one.where) for one in units] == [
        ("WL1", "HR-01", Where.BENCH), ("AD1", "HELM-07", Where.BENCH),
    ]  # fmt: skip
    for unit in units:
        there = {one.position for one in reader.find(Fitted, unit_id=unit.id)}
        assert there == {position.code for position in house().models[unit.model].positions}
    assert {one.serial for one in reader.find(Part)} == {"HR-01-blower", "HR-01-head-assembly", "HELM-07-head-assembly"}
    lots = {one.code: one.on_hand for one in reader.find(Lot)}
    assert lots["L09-26"] == 8  # two lens batteries sit in the units
    (limit,) = reader.find(HandOutLimit)
    assert (reader.get(StockItem, limit.item_id).code, limit.per_week) == ("WL1-PREFILTER", 5)
    assert lots["L06-26"] == 0
    arrestor = reader.first(StockItem, code="WL1-ARRESTOR")
    assert arrestor is not None
    assert arrestor.price_cents == 350


def test_nothing_is_loaded_while_there_is_a_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A fault ends with exit code 2, every fault on a line, and no store is made."""
    folder = tmp_path / "site"
    folder.mkdir()
    for name, data in with_row("units", "WL9,HR-09,").items():
        (folder / name).write_bytes(data)
    store = tmp_path / "own.sqlite"
    assert main(["load", str(folder), str(store)]) == 2
    told = capsys.readouterr().err
    assert "1 fault in the spreadsheets. Nothing is loaded." in told
    assert "units.csv, row 4, model: WL9 is no unit model here. Known are AD1, FF1, HM1, WH1, WL1." in told
    assert not store.exists()


def test_a_store_in_use_is_left_alone(tmp_path: Path) -> None:
    """Spreadsheets go into an empty store only."""
    store = str(tmp_path / "own.sqlite")
    chores.load(EXAMPLE, store)
    with pytest.raises(Exception, match="holds entries already"):
        chores.load(EXAMPLE, store)
    with open_store(store) as opened, opened.reading() as reader:
        assert reader.count(Person) == 5


@pytest.mark.parametrize(
    ("name", "row", "told"),
    [
        ("people", "Uma Zander;;;;;31/12/2027;", "people.csv, row 7, ends_on: '31/12/2027' is no date that can"),
        ("people", "Uma Zander;;;;;30.2.2027;", "people.csv, row 7, ends_on: '30.2.2027' is a day that does not exist"),
        ("people", "Uma Zander;;;;;;chief", "people.csv, row 7, roles: 'chief' is no role. Take one of: attendant"),
        ("people", "Uma Zander;101;;;;;", "people.csv, row 7, number: 101 stands in row 4 too"),
        ("people", "Ilse Grönvall;;;;;;", "people.csv, row 7, number: Ilse Grönvall stands in rows 4 and 7."),
        ("people", ";77;;;;;", "people.csv, row 7, name: it is empty"),
        ("clearances", "Ján Kováč,medical,2026-01-01,,,,,", "row 8, person: Ján Kováč is in people.csv more than once"),
        ("clearances", "nobody,medical,2026-01-01,,,,,", "row 8, person: nobody is not in people.csv"),
        ("clearances", "101,dental,2026-01-01,,,,,", "row 8, kind: 'dental' is no kind. Take one of: medical"),
        ("clearances", "101,medical,2026-12-01,,,,,", "row 8, given_on: 1 Dec 2026 is still to come"),
        ("clearances", "101,medical,2026-05-02,,2026-05-01,,,", "row 8, until: 1 May 2026 lies before 2 May 2026"),
        ("clearances", "101,fit test,2026-05-02,,,,,", "row 8, model: a fit test is made with one unit model"),
        ("clearances", "101,fit test,2026-05-02,,,FF1,,", "row 8, size: FF1 comes in"),
        ("clearances", "101,medical,2026-05-02,perhaps,,,,", "row 8, cleared: 'perhaps' is neither yes nor no"),
        ("areas", "Hull bay,yes,,,,", "areas.csv, row 4, name: Hull bay stands in row 2 too"),
        ("areas", "Keel,yes,,,2.5,", "areas.csv, row 4, dust_ug_m3: '2.5' is no whole number"),
        ("items", "X-1,Gloves,,,Z,1,1,,,0,,", "criticality: 'Z' is no criticality. Take one of: A, B, C"),
        ("items", 'X-1,Gloves,,,B,1,"2,50",,,0,,', "price: '2,50' has a comma in it. Write it with a point, like 2.50"),
        ("items", "X-1,Gloves,,,B,1,2.505,,,0,,", "price: '2.505' has more than two places"),
        ("items", "X-1,Gloves,,,B,0,1,,,0,,", "pack_size: 0 lies outside 1 to"),
        ("items", "X-1,Gloves,,,B,1,1,Nobody,Q,9,3,", "supplier: Nobody is not in suppliers.csv"),
        ("items", "X-1,Gloves,,,B,1,1,,,9,3,", "maximum: 3 is less than the minimum, 9"),
        ("items", "X-1,Gloves,,,B,1,1,,,0,,,,,extra", "items.csv, row 19: it has 15 fields, the header 13"),
        ("items", "X-1,Gloves,,,B,-5,1,,,0,,", "items.csv, row 19, pack_size: -5 lies outside 1 to"),
        ("items", "X-1,Gloves,,,B,1,-1.00,,,0,,", "items.csv, row 19, price: "),
        ("items", "X-1,Gloves,,,B,1,1,,,-2,,", "items.csv, row 19, minimum: -2 lies outside 0 to"),
        ("items", 'X-1,Gloves,,,B,1,1,,,"2,5",,', "items.csv, row 19, minimum: '2,5' is no whole number"),
        ("items", "WL1-BELT,Belt again,,,B,1,1,,,0,,", "items.csv, row 19, code: WL1-BELT stands in row "),
        ("lots", "WL1-BELT,NEW,-3,", "lots.csv, row 19, quantity: -3 lies outside 0 to"),
        ("lots", 'WL1-BELT,NEW,"1,5",', "lots.csv, row 19, quantity: '1,5' is no whole number"),
        ("suppliers", SUPPLIER, f"suppliers.csv, row 3, name: {SUPPLIER} stands in row 2 too"),
        ("lots", "WL1-BELT,OLD,3,2026-11-24", "expires_on: this lot was good until 24 Nov 2026."),
        ("lots", "WL1-SAIL,OLD,3,", "lots.csv, row 19, item: WL1-SAIL is not in items.csv"),
        ("lots", "WL1-BELT,NONE,0,", "quantity: there is nothing of it, on the shelf or in a unit"),
        ("lots", "WL1-BELT,L04-26,1,", "item and lot: WL1-BELT, L04-26 stands in row 6 too"),
        ("batteries", "ZZ-PACK,,,", "batteries.csv, row 5, model: no unit model takes a pack ZZ-PACK."),
        ("instruments", "Meter 2,FM-32,0,2026-01-01,2027-01-01,", "uncertainty_lpm: 0 lies outside 0.01 to 99.9"),
        ("instruments", "Meter 2,FM-32,2,2026-01-01,2027-01-01,12", "calibration_kg_m3: 12 lies outside 0.8 to 1.5"),
        ("units", "FF1,FF-1,XXL", "units.csv, row 4, size: FF1 comes in"),
        ("units", "WL1,HR-01,", "units.csv, row 4, serial: HR-01 stands in row 2 too"),
        ("fitted", "HR-01,mast,WL1-BELT,L04-26,", "fitted.csv, row 20, position: WL1 has no position mast."),
        ("fitted", "HR-02,belt,WL1-BELT,L04-26,", "unit: HR-02 is not in units.csv"),
        ("fitted", "HELM-07,headband,WL1-BELT,L04-26,", "item: WL1-BELT is not approved as headband of AD1."),
        ("fitted", "HR-01,belt,WL1-BELT,L99,", "lot: lot L99 of WL1-BELT is not in lots.csv"),
        ("fitted", "HR-01,belt,WL1-BELT,L04-26,", "unit and position: HR-01, belt stands in row 6 too"),
        ("fitted", "HR-01,belt,WL1-BELT,L04-26,B-9", "part_serial: the belt, pad, straps gets no label of its own."),
        ("labels", "0048811207,person,102", "labels.csv, row 8, text: 0048811207 stands in row 2 too"),
        ("labels", f"{next_label(Kind.UNIT, 417)[0]},unit,HR-01", "row 8, text: it cannot be bound"),
        ("labels", "QQ-1,ship,HR-01", "row 8, kind: 'ship' is no kind. Take one of: unit, part"),
        ("labels", "QQ-1,unit,HR-99", "row 8, record: HR-99 is not in units.csv, column serial"),
        ("site_limits", "manganese,,8 h,0,mg/m3,,List,2026-01-01", "row 4, value: zero is no finding"),
        ("site_limits", "manganese,,8 h,1,ppm,,List,2026-01-01", "row 4, value: ppm is for gases and vapours"),
        ("site_limits", "manganese,,8 h,1,mg,,List,2026-01-01", "row 4, unit: 'mg' is no unit. Take one of: mg/m3"),
        ("site_limits", "manganese,,8 h,1,mg/m3,Fe,List,2026-01-01", "measured_as: a figure measured as Fe cannot be"),
        ("site_limits", "xylene,gas,8 h,9,mg/m3,,List,2026-01-01", "unit: the molar mass of this gas is not known"),
        ("site_limits", "manganese,,8 h,1,mg/m3,,OSHA,2026-01-01", "source: the limits of OSHA are here already"),
        ("site_limits", "lead,,8 h,1,mg/m3,,List,2030-01-01", "from_on: 1 Jan 2030 is still to come"),
        ("site_limits", "toluene,gas,8 h,9,ppm,,Own list 2024 (invented),2026-01-01", "stands in row 3 too"),
        ("assessments", "F4,Keel,lead,,stated result,1,,mg/m3,,osha,2026-01-01,x,R,", "area: Keel is not in areas.csv"),
        ("assessments", "F4,Hull bay,fog,,stated result,1,,mg/m3,,osha,2026-01-01,x,R,", "substance: fog is neither"),
        ("assessments", "F4,Hull bay,lead,,stated result,1,,,,osha,2026-01-01,x,R,", "unit: say the unit"),
        ("assessments", "F4,Hull bay,lead,,stated result,1,,ppm,,osha,2026-01-01,x,R,", "average: ppm is for gases"),
        ("assessments", "F4,Hull bay,lead,,stated result,,0,mg/m3,,osha,2026-01-01,x,R,", "short_term: zero is no"),
        ("assessments", "F4,Hull bay,lead,,stated result,-1,,mg/m3,,osha,2026-01-01,x,R,", "average: -1 lies outside"),
        ("assessments", "F4,Hull bay,lead,,stated result,,,,,osha,2026-01-01,x,R,", "average: a stated result has one"),
        ("assessments", "F4,Hull bay,lead,,not assessed,1,,mg/m3,,osha,2026-01-01,,,", "average: it is called not"),
        ("assessments", "F4,Hull bay,lead,,objective data,1,,mg/m3,,osha,2026-01-01,,R,", "made_by: say whose"),
        ("assessments", "F4,Hull bay,lead,,objective data,1,,mg/m3,,osha,2026-01-01,x,,", "document: say which"),
        ("assessments", "F4,Hull bay,lead,,guess,1,,mg/m3,,osha,2026-01-01,x,R,", "basis: 'guess' is no basis"),
        ("assessments", "F4,Hull bay,lead,,stated result,1,,mg/m3,,aca,2026-01-01,x,R,", "limit: there is none of aca"),
        ("assessments", "F4,Hull bay,lead,,stated result,1,,mg/m3,Fe,osha,2026-01-01,x,R,", "measured_as: a figure"),
        ("assessments", "F4,Hull bay,lead,,stated result,1,,mg/m3,,osha,2030-01-01,x,R,", "made_on: 1 Jan 2030"),
        ("assessments", "F4,Hull bay,lead,,stated result,1,,mg/m3,,osha,2026-01-01,x,R,2025-01-01", "review_on: 1 Jan"),
        ("assessments", "F1,Hull bay,lead,,stated result,1,,mg/m3,,osha,2026-01-01,x,R,", "F1 stands in row 2"),
        ("assessments", "F4,Hull bay,Manganese compounds and fume,,samples,,,,,osha,2026-01-01,x,R,", "in row 2 too"),
        ("samples", "F9,1,mg/m3,60,2026-02-10,,,", "row 5, finding: F9 is not in assessments.csv"),
        ("samples", "F1,1,mg/m3,60,2026-02-10,,,", "row 5, finding: F1 rests on a stated result, not on samples"),
        ("samples", "F2,1,mg/m3,,2026-02-10,,,", "row 5, minutes: it is empty"),
        ("samples", "F2,1,mg/m3,0,2026-02-10,,,", "row 5, minutes: it lies above zero"),
        ("samples", "F2,1,mg/m3,-3,2026-02-10,,,", "row 5, minutes: -3 lies outside 0 to 1440"),
        ("samples", "F2,1,mg/m3,1441,2026-02-10,,,", "row 5, minutes: 1441 lies outside 0 to 1440"),
        ("samples", "F2,1,mg/m3,971,2026-02-10,,A,", "row 5, minutes: with those before it makes 1441, over 24 h"),
        ("samples", "F2,0,mg/m3,60,2026-02-10,no,,", "row 5, value: zero is no finding: enter what the method"),
        ("samples", "F2,1,ppm,60,2026-02-10,,,", "row 5, value: ppm is for gases"),
        ("samples", "F2,1,mg/m3,60,2030-02-10,,,", "row 5, taken_on: 10 Feb 2030 is still to come"),
        ("area_conditions", "Keel,2026-01-01,,,,,,", "row 3, area: Keel is not in areas.csv"),
        ("area_conditions", "Tool repair,2026-01-01,,,,,0,", "row 3, exposed_minutes: 0 lies outside 1 to 1440"),
        ("area_conditions", "Tool repair,2030-01-01,,,,,,", "row 3, said_on: 1 Jan 2030 is still to come"),
        ("processes", "Hull bay,LASER,,,", "row 4, process: not in the table of shades. Take one of: SMAW"),
        ("processes", "Hull bay,SMAW,,,", "row 4, process: SMAW: the shade depends on the electrode size or current"),
        ("processes", "Hull bay,GTAW,900,,", "row 4, process: GTAW: current 900 A is outside the shade table"),
        ("controls", "Hull bay,prayer,x,2026-01-01", "row 3, control: 'prayer' is no control. Take one of: elim"),
        ("controls", "Keel,engineering,x,2026-01-01", "row 3, area: Keel is not in areas.csv"),
        ("controls", "Hull bay,engineering,x,2030-01-01", "row 3, from_on: 1 Jan 2030 is still to come"),
        ("test_evidence", "WL1,1000,TR-1,2026-01-01", "row 3, model: WL1: a loose-fitting facepiece has the factor 25"),
        ("test_evidence", "XX9,1000,TR-1,2026-01-01", "row 3, model: XX9 is no unit model here"),
        ("test_evidence", "WH1,200,TR-1,2026-01-01", "row 3, factor: the maker's testing has to show 1000 or more"),
        ("settings", "zone,Mars/Base", "settings.csv, row 4, value: 'Mars/Base' is no time zone"),
        ("settings", "sample_until,2026-01-01", "settings.csv, row 4, name: sample_until is no setting of a site"),
    ],
)
def test_each_fault_names_file_row_and_field(name: str, row: str, told: str) -> None:
    """One bad row more, and that row is told, with its field."""
    found = faults(with_row(name, row))
    assert any(told in fault for fault in found), found
    assert all(fault.startswith(f"{name}.csv, row") for fault in found), found


def test_all_faults_are_told_at_once() -> None:
    """Faults in several files come in one list, in the order of files and rows."""
    found = faults(
        example(
            people="name,roles\nUma Zander,\n",
            areas="name,colour\nKeel,red\n",
            bins="place\nA1\n",
            ships="name\nNordwind\n",
        )
    )
    assert found[0].startswith("ships.csv: no file of this name is known. Known are settings.csv, people.csv")
    assert "people.csv, roles: nobody is system administrator. Somebody has to be." in found
    known = "name, required, agents, processes, dust_ug_m3, note"
    assert f"areas.csv, row 1, colour: no such column. Known are {known}." in found
    assert "bins.csv, row 1, code: this column is missing." in found
    assert len({fault.split(",")[0].split(":")[0] for fault in found}) >= 5


def test_suppliers_that_are_missing_are_told_row_by_row() -> None:
    """Without suppliers.csv each item that names one is a fault of its own row; the rest is no fault."""
    files = {name: data for name, data in example().items() if name != "suppliers.csv"}
    found = faults(files)
    named = [line for line in files["items.csv"].decode("utf-8-sig").splitlines()[1:] if SUPPLIER in line]
    assert named
    assert found == [fault for fault in found if fault.endswith(f"supplier: {SUPPLIER} is not in suppliers.csv.")]
    assert len(found) == len(named)


def test_wrong_columns_are_told_and_the_files_rows_are_not_read() -> None:
    """A column that is not known, and one that has to be there; not a fault for each row besides."""
    found = faults(example(lots="item,batch,pieces\nWL1-BELT,L1,3\nWL1-BELT,L2,-9\n"))
    own = [fault for fault in found if fault.startswith("lots.csv")]
    assert [fault.partition(":")[0] for fault in own] == [
        "lots.csv, row 1, batch", "lots.csv, row 1, pieces", "lots.csv, row 1, lot", "lots.csv, row 1, quantity",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "areas.csv, row 1: there is no header row."),
        (b"\xff\xfen\x00a\x00", "areas.csv: it is not UTF-8."),
        (b"name\nB\xfccher\n", "areas.csv: it is not UTF-8."),
        (b'name\n"never closed\n', "areas.csv, row 2: this row cannot be read"),
        (b"name,name\nA,B\n", "areas.csv, row 1, name: this column is there twice."),
        (b"name\nA\x00B\n", "areas.csv, row 2"),
        (b"name\n" + b"N" * 201 + b"\n", "areas.csv, row 2, name: that is 201 characters; 200 fit."),
        (b'name\n"two\nlines"\n', "areas.csv, row 2, name: a line break"),
        (b"name\n" + b"N" * 200_000 + b"\n", "areas.csv, row 2"),
    ],
)
def test_files_that_are_no_spreadsheet(data: bytes, told: str) -> None:
    """Wrong encodings, open quotes, line breaks and endless cells are told, never loaded."""
    found = faults(example() | {"areas.csv": data})
    assert any(fault.startswith(told) for fault in found), found


def test_fit_tests_and_work_limits_are_read_by_the_rules() -> None:
    """A fit factor too low, a method unknown, a limit that is no code: each named; what is right is loaded as it is."""
    people = "name;roles\nOna Vale;system administrator, program administrator\nBo Reed;\n"
    tests = "person,kind,given_on,model,size,method,fit_factor\nBo Reed,fit test,2026-05-02,FF1,M,{}\n"
    limits = "person,code,given_on\nBo Reed,{},2026-05-02\n"
    by_instrument = "quantitative: generated aerosol"
    rows = (
        ("clearances.csv", tests, f"{by_instrument},499", "fit_factor: fit factor 499, it takes 500"),
        ("clearances.csv", tests, f"{by_instrument},", "fit_factor: an instrument measured it"),
        ("clearances.csv", tests, "by eye,", "method:"),
        ("work_limits.csv", limits, "bad knee", "code: 'bad knee' is no work limit of this program"),
        ("work_limits.csv", limits, "hours at most 90", "code: between 0.5 and 16 h"),
    )
    for file, sheet, cell, told in rows:
        (found,) = faults({"people.csv": people.encode(), file: sheet.format(cell).encode()})
        assert found.startswith(f"{file}, row 2, {told}"), found
    good = {
        "people.csv": people.encode(),
        "clearances.csv": tests.format(f"{by_instrument},640").encode(),
        "work_limits.csv": limits.format("hours at most 2").encode(),
    }
    sheets = sheets_of(good, house(), TODAY)
    assert [row.whole("fit_factor") for row in sheets["clearances.csv"]] == [640]
    assert [row.text("code") for row in sheets["work_limits.csv"]] == ["hours at most 2"]


def test_an_employers_proof_is_of_that_employers_people() -> None:
    """Its day lies between the clearance and today; one's own people have none; a day alone names no paper."""
    people = "name;employer;roles\nOna Vale;;system administrator\nBo Reed;Nordbau (invented);\n"
    head = "person,kind,given_on,proof,proof_dated\n"
    rows = (
        ("Ona Vale,medical,2026-05-02,letter 9,2026-05-03", "proof: Ona Vale has no other employer in people.csv"),
        ("Bo Reed,medical,2026-05-02,letter 9,2026-05-01", "proof_dated: it lies between 2 May 2026 and today"),
        ("Bo Reed,medical,2026-05-02,letter 9,2026-12-24", "proof_dated: it lies between 2 May 2026 and today"),
        ("Bo Reed,medical,2026-05-02,,2026-05-03", "proof: say which paper carries that day"),
    )
    for row, told in rows:
        files = {"people.csv": people.encode(), "clearances.csv": f"{head}{row}\n".encode()}
        assert faults(files) == [f"clearances.csv, row 2, {told}."]
    good = f"{head}Bo Reed,medical,2026-05-02,letter 9,2026-05-03\n".encode()
    sheets = sheets_of({"people.csv": people.encode(), "clearances.csv": good}, house(), TODAY)
    assert [row.text("proof") for row in sheets["clearances.csv"]] == ["letter 9"]


def test_a_byte_order_mark_and_blank_rows_are_no_fault() -> None:
    """What spreadsheets add by themselves is read over; rows are counted as the spreadsheet counts them."""
    text = "\ufeffName ; Dust ug m3\r\n\r\nKeel;5\r\n;\r\nMast;x\r\n"
    files = {name: data for name, data in example(areas=text).items() if name not in AIR_FILES}
    (fault,) = faults(files)
    assert fault == "areas.csv, row 5, dust_ug_m3: 'x' is no whole number."
    sheets = sheets_of(files | {"areas.csv": text.replace("x", "7").encode()}, house(), TODAY)
    assert [(row.text("name"), row.whole("dust_ug_m3")) for row in sheets["areas.csv"]] == [("Keel", 5), ("Mast", 7)]


@pytest.mark.parametrize("text", ["2027-05-31", "31.5.2027", "31. 05. 2027", "31 May 2027", "31 may 2027"])
def test_dates_that_can_be_read_safely(text: str) -> None:
    """One day, written in every way that has one meaning only."""
    assert typed.day_of(text) == date(2027, 5, 31)


@pytest.mark.parametrize(
    "text", ["5/6/2027", "2027", "31.5.27", "yesterday", "2027-13-01", "0000-01-01", "1066-10-14", "٢٠٢٧-٠٥-٣١"]
)
def test_dates_that_cannot(text: str) -> None:
    """What could be two days, or none, is not guessed at."""
    with pytest.raises(ValueError, match=r"date|day|outside"):
        typed.day_of(text)


def test_help_describes_every_column(capsys: pytest.CaptureFixture[str]) -> None:
    """`cribdesk load --help` names each file and each of its columns."""
    with pytest.raises(SystemExit) as ended:
        main(["load", "--help"])
    assert ended.value.code == 0
    told = capsys.readouterr().out
    for file, (words, columns) in FILES.items():
        part = told.partition(f"\n{file}: {words.split(';')[0][:30]}")[2].partition(".csv: ")[0]
        missing = [column.name for column in columns if f"\n  {column.name}" not in part]
        assert not missing, (file, missing)
