"""Cabinets: who enters one and for what, what lies in it, the monthly certification with its five items."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.label import Kind
from cribdesk.crib.records import Cabinet, Certification, Fitted, Hold, Unit, Where
from cribdesk.crib.refusal import AlreadyOut, IsAway, LabelTaken, NamedForDanger, NotQualified, NotReady, WrongFigure
from cribdesk.desk.away import Lend, MarkMissing
from cribdesk.desk.cabinet import EVERY, AddCabinet, BreakSeal, Certify, PutInCabinet, UsedFromCabinet
from cribdesk.desk.change_cabinet import ChangeCabinet
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Unwritten
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts import LabelSheet
from cribdesk.desk.printouts_away import CertificationTag
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.shift_list import ShiftRow
from cribdesk.desk.shift_lists import shift_lists
from cribdesk.desk.stock import BlockLot
from cribdesk.desk.unit import MoveUnit
from tests.desk.operating import failed, hand_out, later
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house, passed
from tests.procedure.house import text_of

GATE: dict[str, Any] = {
    "cabinet_name": "Gate 2", "cabinet_place": "by the plate shop's gate", "purpose": "walking out of the fume",
    "for_danger": False,
}  # fmt: skip


def a_cabinet(shop: Shop, **fields: Any) -> Cabinet:
    """One that was entered."""
    receipt = shop.do(AddCabinet, **GATE | fields)
    with shop.store.reading() as reader:
        found = reader.first(Cabinet, label=receipt.subjects[0])
    assert found is not None
    return found


def in_it(shop: Shop, name: str, cabinet: Cabinet, seal: str = "S-1") -> Unit:
    """A unit put into it."""
    shop.do(PutInCabinet, unit_id=shop.record(Unit, name).id, cabinet_id=cabinet.id, seal=seal)
    return shop.record(Unit, name)


def lying_before(shop: Shop, name: str, place: str) -> None:
    """A unit of a store from before cabinets had records: it lies at a place that is no cabinet of the store."""
    there = replace(shop.record(Unit, name), where=Where.EMERGENCY, place=place)
    with shop.store.work() as work:
        work.save(there)
        work.commit(Unwritten("move-unit", shop.tokens(), "", shop.moment, "counter", "", (there.label,), "Moved."))


def rows(shop: Shop) -> list[ShiftRow]:
    """The list of the cabinets."""
    with shop.store.reading() as reader:
        return list(shift_lists()["cabinets"].read(reader, house(), shop.moment).rows)


def test_a_cabinet_is_entered_under_its_label(own_shop: Shop) -> None:
    """Name, place, purpose and seal; a second one of that name, one without name or purpose are refused."""
    cabinet = a_cabinet(own_shop, seal=" S-9 ")
    assert cabinet.label[0] == Kind.CABINET
    assert (cabinet.name, cabinet.purpose, cabinet.seal) == ("Gate 2", "walking out of the fume", "S-9")
    with refused(own_shop, LabelTaken, "Gate 2"):
        own_shop.do(AddCabinet, **GATE)
    with refused(own_shop, WrongFigure, "the name is empty"):
        own_shop.do(AddCabinet, **GATE | {"cabinet_name": " "})
    with refused(own_shop, WrongFigure, "Purpose"):
        own_shop.do(AddCabinet, **GATE | {"cabinet_name": "Gate 3", "purpose": ""})
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(AddCabinet, **GATE | {"cabinet_name": "Gate 3"})


def test_none_is_named_for_an_atmosphere_that_kills(own_shop: Shop) -> None:
    """29 CFR 1910.134(d)(2): nothing here is for IDLH, as operation and as form; saying nothing is refused."""
    with refused(own_shop, NamedForDanger, "1910.134(d)(2)"):
        own_shop.do(AddCabinet, **GATE | {"for_danger": True})
    values = {"cabinet_name": "Gate 2", "purpose": "leaving"}
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment)
        with pytest.raises(FormTroubles) as caught:
            operation_of(asked, "cabinet", values | {"for_danger": "yes"}, "t")
        assert "1910.134(d)(2)" in dict(caught.value.troubles)["for_danger"]
        with pytest.raises(FormTroubles) as caught:
            operation_of(asked, "cabinet", values, "t")
        assert dict(caught.value.troubles)["for_danger"] == "This is needed."
        operation = operation_of(asked, "cabinet", values | {"for_danger": "no"}, "t")
    assert isinstance(operation, AddCabinet)
    assert not operation.for_danger


def test_only_a_ready_unit_goes_in_and_the_cabinet_is_sealed(own_shop: Shop) -> None:
    """Not one that is held, out, missing or there already, nor without a seal; the place is the cabinet's name."""
    cabinet = a_cabinet(own_shop)
    unit = in_it(own_shop, "wl-1", cabinet)
    assert (unit.where, unit.place) == (Where.EMERGENCY, "Gate 2")
    with refused(own_shop, WrongFigure, "in Gate 2 already"):
        in_it(own_shop, "wl-1", cabinet)
    with refused(own_shop, NotReady, "never inspected"):
        in_it(own_shop, "wl-5", cabinet)
    with refused(own_shop, WrongFigure, "new seal"):
        in_it(own_shop, "wl-2", cabinet, seal=" ")
    hand_out(own_shop, "wl-3", "Wronecka", "pack-1")
    with refused(own_shop, AlreadyOut):
        in_it(own_shop, "wl-3", cabinet)
    own_shop.do(MarkMissing, unit_id=own_shop.record(Unit, "wl-4").id)
    with refused(own_shop, IsAway):
        in_it(own_shop, "wl-4", cabinet)


def certified(shop: Shop, name: str, **fields: Any) -> None:
    """Inspected and certified, a little later."""
    later(shop, 0.1)
    shop.inspect(name, "monthly")
    shop.do(Certify, unit_id=shop.record(Unit, name).id, **{"seal": "S-2"} | fields)


def test_certification_keeps_the_five_items_and_prints_its_tag(own_shop: Shop) -> None:
    """Date, who, findings, remedial action, serial number: 29 CFR 1910.134(h)(3)(iv)(A)."""
    cabinet = a_cabinet(own_shop)
    unit = in_it(own_shop, "wl-1", cabinet)
    certified(own_shop, "wl-1", findings="strap frayed", action="strap changed")
    with own_shop.store.reading() as reader:
        made = reader.latest(Certification, unit_id=unit.id)
        tag = record_for(reader, house(), "certification_tag", unit.label, own_shop.moment, 1)
        seal = reader.get(Cabinet, cabinet.id).seal
    assert made is not None
    assert (made.made_on, made.by_id) == (date(2026, 11, 25), own_shop.clerk_id)
    assert (made.findings, made.action, made.identity) == ("strap frayed", "strap changed", unit.serial)
    assert isinstance(tag, CertificationTag)
    assert (tag.seal, seal) == ("S-2", "S-2")
    assert tag.next_due == date(2026, 12, 26)
    assert tag.made_by == "Back Office"
    with own_shop.store.reading() as reader, pytest.raises(LookupError, match="never certified"):
        record_for(reader, house(), "certification_tag", own_shop.label("wl-2"), own_shop.moment, 1)


def test_a_certification_holds_as_long_as_the_duties_say() -> None:
    """31 days: rows d46, d51 and d52 of resources/tables/program_duties.csv, 29 CFR 1910.134(h)(3)."""
    rows = csv.DictReader(text_of("tables", "program_duties.csv").splitlines())
    days = {row["interval_days"] for row in rows if row["duty_id"] in ("d46", "d51", "d52")}
    assert days == {str(EVERY.days)}


def test_certification_refused(own_shop: Shop) -> None:
    """Without the cabinet, the inspection of today, the seal, the words; of a unit that is no longer ready."""
    cabinet = a_cabinet(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    with refused(own_shop, WrongFigure, "in no cabinet"):
        own_shop.do(Certify, unit_id=unit.id, seal="S-2")
    in_it(own_shop, "wl-1", cabinet)
    with refused(own_shop, WrongFigure, "no monthly inspection"):
        own_shop.do(Certify, unit_id=unit.id, seal="S-2")
    later(own_shop, 0.1)
    own_shop.inspect("wl-1", "monthly")
    for fields, words in (({"seal": ""}, "new seal"), ({"findings": " "}, "Findings"), ({"action": ""}, "Remedial")):
        with refused(own_shop, WrongFigure, words):
            own_shop.do(Certify, unit_id=unit.id, **{"seal": "S-2"} | fields)
    later(own_shop, 24)
    with refused(own_shop, WrongFigure, "passed today"):
        own_shop.do(Certify, unit_id=unit.id, seal="S-2")
    later(own_shop, 0.1)
    own_shop.inspect("wl-1", "monthly")
    own_shop.do(BreakSeal, cabinet_id=cabinet.id)
    with refused(own_shop, WrongFigure, "inspect it again"):
        own_shop.do(Certify, unit_id=unit.id, seal="S-2")
    with own_shop.store.reading() as reader:
        belt = reader.first(Fitted, unit_id=unit.id, position="belt", removed_at=None)
    assert belt is not None
    own_shop.do(BlockLot, lot_id=belt.lot_id, why="recalled by its maker")
    later(own_shop, 0.1)
    own_shop.inspect("wl-1", "monthly")
    with refused(own_shop, NotReady, "its lot is blocked"):
        own_shop.do(Certify, unit_id=unit.id, seal="S-2")
    own_shop.do(PlaceHold, unit_id=unit.id, reason="head", detail="cracked")
    with refused(own_shop, WrongFigure, "in no cabinet"):
        own_shop.do(Certify, unit_id=unit.id, seal="S-2")


def test_a_failed_monthly_inspection_takes_it_out(own_shop: Shop) -> None:
    """It hangs on the hold shelf with its tag; the cabinet is told empty."""
    cabinet = a_cabinet(own_shop)
    unit = in_it(own_shop, "wl-1", cabinet)
    later(own_shop, 0.1)
    run = failed(unit, "monthly", own_shop.moment, own_shop.clerk_label)
    receipt = own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    assert receipt.papers[0][0] == "tag"
    assert own_shop.record(Unit, "wl-1").where is Where.BENCH
    (row,) = rows(own_shop)
    assert row.detail == "Empty; for walking out of the fume"


def test_what_was_used_is_cleaned_and_inspected_before_it_is_ready(own_shop: Shop) -> None:
    """Two holds, each with its own proof; what else lies in that cabinet is to be certified again."""
    cabinet = a_cabinet(own_shop)
    unit = in_it(own_shop, "wl-1", cabinet)
    in_it(own_shop, "wl-2", cabinet)
    certified(own_shop, "wl-2")
    own_shop.do(UsedFromCabinet, unit_id=unit.id)
    with own_shop.store.reading() as reader:
        holds = {one.reason: one for one in reader.find(Hold, unit_id=unit.id, released_at=None)}
        assert reader.get(Cabinet, cabinet.id).seal == ""
    assert set(holds) == {"dirty", "used"}
    (row,) = rows(own_shop)
    assert row.sign == "overdue"
    assert row.detail.startswith("Seal broken since")
    with refused(own_shop, WrongFigure, "in no cabinet"):
        own_shop.do(UsedFromCabinet, unit_id=unit.id)
    later(own_shop, 0.1)
    run = passed(unit, "cleaning", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=run)
    later(own_shop, 0.1)
    own_shop.inspect("wl-1")
    for one in holds.values():
        own_shop.do(ReleaseHold, hold_id=one.id)
    assert own_shop.record(Unit, "wl-1").where is Where.RACK
    certified(own_shop, "wl-2", seal="S-3")
    assert [one.sign for one in rows(own_shop)] == ["fine"]


def test_a_seal_broken_with_the_clock_set_back_counts_all_the_same(own_shop: Shop) -> None:
    """What was certified before the seal broke is void, whatever the workstation's clock says."""
    cabinet = a_cabinet(own_shop)
    in_it(own_shop, "wl-1", cabinet)
    certified(own_shop, "wl-1")
    own_shop.moment -= timedelta(hours=2)
    own_shop.do(BreakSeal, cabinet_id=cabinet.id, why="cut")
    own_shop.moment += timedelta(hours=3)
    assert [one.sign for one in rows(own_shop)] == ["overdue"]


@pytest.mark.parametrize("way", ["moved", "missing", "lent", "other cabinet", "scrapped", "failed"])
def test_whatever_takes_a_unit_out_breaks_the_seal(own_shop: Shop, way: str) -> None:
    """What else lies there is to be certified again, however the unit left."""
    cabinet, other = a_cabinet(own_shop), a_cabinet(own_shop, cabinet_name="Yard")
    for name in ("wl-1", "wl-2"):
        in_it(own_shop, name, cabinet)
    certified(own_shop, "wl-2")
    later(own_shop, 0.1)
    unit = own_shop.record(Unit, "wl-1")
    run = failed(unit, "monthly", own_shop.moment, own_shop.clerk_label)
    ways: dict[str, tuple[type[Operation], dict[str, Any]]] = {
        "moved": (MoveUnit, {"where": Where.RACK}),
        "missing": (MarkMissing, {}),
        "lent": (Lend, {"goes_to": "North crib", "due_on": own_shop.moment.date() + timedelta(days=9)}),
        "other cabinet": (PutInCabinet, {"cabinet_id": other.id, "seal": "S-7"}),
        "scrapped": (MoveUnit, {"where": Where.SCRAPPED, "why": "old"}),
        "failed": (FinishInspection, {"run_made": run}),
    }
    operation, fields = ways[way]
    own_shop.do(operation, unit_id=unit.id, **fields)
    with own_shop.store.reading() as reader:
        assert reader.get(Cabinet, cabinet.id).seal == ""
    (left,) = [one for one in rows(own_shop) if one.label == own_shop.label("wl-2")]
    assert (left.sign, "Seal broken since" in left.detail) == ("overdue", True)


def test_nothing_is_moved_into_a_sealed_cabinet_without_its_seal(own_shop: Shop) -> None:
    """A cabinet of this store takes a unit at the counter, with the new seal; what is no cabinet takes none."""
    a_cabinet(own_shop)
    for place, words in (("Gate 2", "sealed cabinet"), ("old locker", "enter the cabinet"), ("", "without a name")):
        with refused(own_shop, WrongFigure, words):
            own_shop.do(MoveUnit, unit_id=own_shop.record(Unit, "wl-1").id, where=Where.EMERGENCY, place=place)


def test_a_hold_takes_a_unit_out_of_its_cabinet(own_shop: Shop) -> None:
    """Nobody finds it there in need: it lies on the hold shelf, the seal is broken, the clerk is told to fetch it."""
    cabinet = a_cabinet(own_shop)
    for name in ("wl-1", "wl-2"):
        in_it(own_shop, name, cabinet)
    certified(own_shop, "wl-2")
    later(own_shop, 0.1)
    receipt = own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="damage", detail="cracked")
    unit = own_shop.record(Unit, "wl-1")
    assert (unit.where, unit.place) == (Where.BENCH, "hold shelf")
    assert "out of cabinet Gate 2 from now on: take it out" in receipt.sentence
    assert [paper for paper, _ in receipt.papers] == ["tag"]
    with own_shop.store.reading() as reader:
        assert reader.get(Cabinet, cabinet.id).seal == ""
    (left,) = [one for one in rows(own_shop) if one.label == own_shop.label("wl-2")]
    assert (left.sign, "Seal broken since" in left.detail) == ("overdue", True)
    receipt = own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-3").id, reason="damage", detail="cracked")
    assert "cabinet" not in receipt.sentence


def test_the_list_says_what_is_due_first(own_shop: Shop) -> None:
    """Never certified and a place that is no cabinet first; then what is due within seven days; then the rest."""
    gate, roof = a_cabinet(own_shop), a_cabinet(own_shop, cabinet_name="Roof", cabinet_place="")
    a_cabinet(own_shop, cabinet_name="Yard")
    in_it(own_shop, "wl-1", gate)
    certified(own_shop, "wl-1")
    later(own_shop, 24 * 26)
    own_shop.inspect("wl-2")
    in_it(own_shop, "wl-2", roof)
    own_shop.inspect("wl-3")
    lying_before(own_shop, "wl-3", "old locker")
    labels = [own_shop.label(name) for name in ("wl-2", "wl-3", "wl-1")]
    found = rows(own_shop)
    assert [row.label for row in found][:3] == labels
    assert [row.sign for row in found] == ["overdue", "overdue", "caution", "caution"]
    assert found[0].detail.startswith("Never certified here")
    assert "no cabinet of this store" in found[1].detail
    assert found[2].detail.startswith("Due ")
    assert found[3].what.startswith("Yard")
    with own_shop.store.reading() as reader:
        page = shift_lists()["cabinets"].read(reader, house(), own_shop.moment)
        count = shift_lists()["cabinets"].count
        assert count is not None
        assert count(reader, house(), own_shop.moment) == 4
    assert page.lead == "3 cabinets, 2 overdue, 1 due within 7 days, 1 empty."
    later(own_shop, 24 * 6)
    assert next(row for row in rows(own_shop) if row.label == labels[2]).sign == "overdue"


def test_sheets_of_labels_are_printed_by_kind(own_shop: Shop) -> None:
    """Every cabinet and every unit in use has its sticker; a kind of which there is nothing is told."""
    with own_shop.store.reading() as reader, pytest.raises(LookupError, match="nothing of that kind"):
        record_for(reader, house(), "label_sheet", "cabinets", own_shop.moment, 1)
    cabinet = a_cabinet(own_shop)
    scrapped = own_shop.record(Unit, "wl-2")
    own_shop.do(MoveUnit, unit_id=scrapped.id, where=Where.SCRAPPED, why="burnt")
    with own_shop.store.reading() as reader:
        sheets = {
            kind: record_for(reader, house(), "label_sheet", kind, own_shop.moment, 1)
            for kind in ("cabinets", "units", "people", "parts", "batteries", "areas", "instruments", "commands")
        }
    labels = {}
    for kind, sheet in sheets.items():
        assert isinstance(sheet, LabelSheet)
        labels[kind] = [one.label for one in sheet.labels]
    assert labels["cabinets"] == [cabinet.label]
    assert own_shop.label("wl-1") in labels["units"]
    assert scrapped.label not in labels["units"]
    assert own_shop.label("Wronecka") in labels["people"]
    assert all(one.startswith("X") for one in labels["commands"])


def test_a_cabinet_is_changed_and_what_lies_in_it_goes_along(own_shop: Shop) -> None:
    """Another name, place and purpose; its units lie there still, its certification stands."""
    cabinet = a_cabinet(own_shop)
    in_it(own_shop, "wl-1", cabinet)
    certified(own_shop, "wl-1")
    before = rows(own_shop)[0].sign
    receipt = own_shop.do(
        ChangeCabinet, cabinet_id=cabinet.id, **GATE | {"cabinet_name": " Gate 3 ", "purpose": "leaving bay 3"}
    )
    assert receipt.subjects == (cabinet.label, own_shop.label("wl-1"))
    assert receipt.sentence.startswith(f"Cabinet Gate 3, {cabinet.label}, called Gate 2 before: for leaving bay 3")
    unit = own_shop.record(Unit, "wl-1")
    assert (unit.where, unit.place) == (Where.EMERGENCY, "Gate 3")
    (row,) = rows(own_shop)
    assert (row.sign, row.what) == (before, "Gate 3, by the plate shop's gate") == ("fine", row.what)
    with own_shop.store.reading() as reader:
        assert reader.get(Cabinet, cabinet.id).seal == "S-2"


def test_a_cabinet_is_changed_refused(own_shop: Shop) -> None:
    """A name that is taken or empty, no purpose, for an atmosphere that kills, by a wearer; out of use while full."""
    cabinet, other = a_cabinet(own_shop), a_cabinet(own_shop, cabinet_name="Yard")
    in_it(own_shop, "wl-1", cabinet)
    fields = GATE | {"cabinet_id": cabinet.id}
    with refused(own_shop, LabelTaken, "Yard"):
        own_shop.do(ChangeCabinet, **fields | {"cabinet_name": "Yard"})
    with refused(own_shop, WrongFigure, "the name is empty"):
        own_shop.do(ChangeCabinet, **fields | {"cabinet_name": " "})
    with refused(own_shop, WrongFigure, "Purpose"):
        own_shop.do(ChangeCabinet, **fields | {"purpose": " "})
    with refused(own_shop, NamedForDanger, "1910.134(d)(2)"):
        own_shop.do(ChangeCabinet, **fields | {"for_danger": True})
    with refused(own_shop, WrongFigure, f"{own_shop.label('wl-1')} lies in it; take it out first"):
        own_shop.do(ChangeCabinet, **fields | {"active": False})
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(ChangeCabinet, **fields)
    own_shop.do(ChangeCabinet, **fields | {"cabinet_id": other.id, "cabinet_name": "Yard", "active": False})
    with refused(own_shop, WrongFigure, "out of use"):
        own_shop.do(PutInCabinet, unit_id=own_shop.record(Unit, "wl-2").id, cabinet_id=other.id, seal="S-3")
    assert "Yard" not in " ".join(row.what for row in rows(own_shop))
    own_shop.do(ChangeCabinet, **fields | {"cabinet_id": other.id, "cabinet_name": "Yard"})
    assert "Yard" in " ".join(row.what for row in rows(own_shop))


def test_the_form_of_a_cabinet_asks_about_the_danger_anew(own_shop: Shop) -> None:
    """What stands is filled in, but that one question is answered each time."""
    cabinet = a_cabinet(own_shop)
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment, cabinet.label)
        form = form_of(asked, "change-cabinet")
        values = {one.name: one.value for one in form.fields}
        assert values == {
            "about": cabinet.label, "cabinet_name": "Gate 2", "cabinet_place": "by the plate shop's gate",
            "purpose": "walking out of the fume", "for_danger": "", "active": "yes",
        }  # fmt: skip
        with pytest.raises(FormTroubles) as caught:
            operation_of(asked, "change-cabinet", values, "t")
        assert list(dict(caught.value.troubles)) == ["for_danger"]
        with pytest.raises(FormTroubles) as caught:
            operation_of(asked, "change-cabinet", values | {"for_danger": "yes"}, "t")
        assert "1910.134(d)(2)" in dict(caught.value.troubles)["for_danger"]
        made = operation_of(asked, "change-cabinet", values | {"for_danger": "no", "active": "no"}, "t")
    assert made == ChangeCabinet(operation_id="t", cabinet_id=cabinet.id, active=False, **GATE)
