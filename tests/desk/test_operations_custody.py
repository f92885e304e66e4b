"""Inspections, issues, returns, cleanings: each operation's plain case and each of its refusals."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.records import (
    Area,
    AssessmentBasis,
    Battery,
    BatteryPlace,
    BatteryRun,
    Cleaning,
    Custody,
    Fitted,
    Hold,
    Inspection,
    Person,
    Reading,
    RunEnd,
    Slip,
    StockItem,
    Unit,
    Verdict,
    Where,
    Wording,
)
from cribdesk.crib.refusal import (
    AlreadyOut,
    IssuedElsewhere,
    MayNotIssue,
    NotAllowed,
    NotMadeWhole,
    NotOut,
    NotQualified,
    Unknown,
    WrongFigure,
)
from cribdesk.crib.serviceable import Serviceable, condition
from cribdesk.desk.assessments import AssessArea
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.facts import standing_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.inspection import FinishInspection, HoldUnfinished
from cribdesk.desk.issue import IssueUnit, PrepareSlip
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.procedure.run import Run, break_off, start
from tests.desk.operating import custody_of, failed, hand_out, issue_fields, later
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house, passed


def holds(shop: Shop, unit: Unit) -> list[Hold]:
    """The unit's open holds."""
    with shop.store.reading() as reader:
        return reader.find(Hold, unit_id=unit.id, released_at=None)


def begun(shop: Shop, unit: Unit, kind: str = "bench") -> Run:
    """A run at its first page."""
    model = house().models[unit.model]
    procedure = house().procedure_of(model, kind)
    assert procedure is not None
    return start(procedure, model, shop.moment, shop.clerk_label)


def made(shop: Shop, unit: Unit, kind: str = "bench") -> Run:
    """A passed run by the clerk, made now."""
    return passed(unit, kind, shop.moment, shop.clerk_label, shop.names["meter"])


def test_inspection_passed(own_shop: Shop) -> None:
    """A pass is kept with its wording once and its readings; the unit goes to the rack."""
    unit = own_shop.record(Unit, "wl-5")
    assert unit.where is Where.BENCH
    for _ in range(2):
        own_shop.do(FinishInspection, unit_id=unit.id, run_made=made(own_shop, unit))
    with own_shop.store.reading() as reader:
        first, second = reader.find(Inspection, unit_id=unit.id)
        readings = reader.find(Reading, inspection_id=first.id, quantity="airflow")
        assert reader.count(Wording, procedure=first.procedure) == 1
    assert (first.verdict, first.instrument_good) == (Verdict.PASS, True)
    assert first.wording_id == second.wording_id
    assert [one.flow_lpm for one in readings] == [188.0]
    assert own_shop.record(Unit, "wl-5").where is Where.RACK


def test_inspection_failed(own_shop: Shop) -> None:
    """A fail holds the unit with a tag at once; failing again renews the same hold."""
    unit = own_shop.record(Unit, "wl-1")
    for _ in range(2):
        later(own_shop, 0.1)
        run = failed(unit, "pre-use", own_shop.moment, own_shop.clerk_label)
        receipt = own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    (hold,) = holds(own_shop, unit)
    assert (hold.reason, hold.found_at) == ("head", own_shop.moment)
    assert receipt.papers == (("tag", hold.tag),)
    assert own_shop.record(Unit, "wl-1").place == "hold shelf"


def test_hold_unfinished(own_shop: Shop) -> None:
    """The first not-good answer holds the unit; a broken-off run leaves the hold, a pass from the start ends it."""
    unit = own_shop.record(Unit, "wl-1")
    for step in ("Airflow", "Battery"):
        own_shop.do(HoldUnfinished, unit_id=unit.id, procedure="welding-papr-bench", step=step)
    assert [one.reason for one in holds(own_shop, unit)] == ["inspection-not-finished"]
    broken = break_off(begun(own_shop, unit), own_shop.moment, "called away")
    receipt = own_shop.do(FinishInspection, unit_id=unit.id, run_made=broken)
    assert "broken off: called away" in receipt.sentence
    assert holds(own_shop, unit)
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=made(own_shop, unit))
    assert not holds(own_shop, unit)
    assert own_shop.record(Unit, "wl-1").where is Where.RACK


def test_inspection_refused(own_shop: Shop) -> None:
    """A run unended, idle, of another model or by somebody else is not taken; nor one by the wrong role."""
    unit, other = own_shop.record(Unit, "wl-1"), own_shop.record(Unit, "ff-1")
    run = made(own_shop, unit)
    with refused(own_shop, NotMadeWhole, "has not ended"):
        own_shop.do(FinishInspection, unit_id=unit.id, run_made=begun(own_shop, unit))
    with refused(own_shop, NotMadeWhole, "another model"):
        own_shop.do(FinishInspection, unit_id=other.id, run_made=run)
    with refused(own_shop, NotMadeWhole, "somebody else"):
        own_shop.do(FinishInspection, unit_id=unit.id, run_made=replace(run, by="P000099X"))
    with as_clerk(own_shop, "Lindqvist"), refused(own_shop, NotQualified):
        own_shop.do(FinishInspection, unit_id=unit.id, run_made=made(own_shop, unit))
    later(own_shop, 0.2)
    with refused(own_shop, NotMadeWhole, "stood idle"):
        own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    strange = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, "M000099X")
    with refused(own_shop, NotAllowed, "M000099X"):
        own_shop.do(FinishInspection, unit_id=unit.id, run_made=strange)


def test_a_meter_out_of_calibration_proves_nothing(own_shop: Shop) -> None:
    """A pass with a meter whose calibration ended is kept as such and makes no unit ready."""
    unit = own_shop.record(Unit, "wl-5")
    run = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter-old"])
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    with own_shop.store.reading() as reader:
        (kept,) = reader.find(Inspection, unit_id=unit.id)
    assert not kept.instrument_good
    assert own_shop.record(Unit, "wl-5").where is Where.BENCH


def test_issue(own_shop: Shop) -> None:
    """One entry takes unit, pack, check, custody and slip along."""
    receipt = hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    custody, unit = custody_of(own_shop, "wl-1"), own_shop.record(Unit, "wl-1")
    pack = own_shop.record(Battery, "pack-1")
    assert (unit.where, pack.place, pack.unit_id) == (Where.OUT, BatteryPlace.IN_UNIT, unit.id)
    assert (custody.acknowledged, custody.returned_at) == ("badge", None)
    assert custody.cautions == ""
    assert receipt.papers[0][0] == "issue_slip"
    assert {"custody", "inspection", "slip", "unit", "battery", unit.label, pack.label} <= receipt.topics


def test_issue_against_a_stop(own_shop: Shop) -> None:
    """Lapsed training, no medical clearance, an ended badge, a hold: not issued, every reason told."""
    for name, words in (("Dobrosi", "Training"), ("Halvorsen", "Medical"), ("Marek", "Badge")):
        fields = issue_fields(own_shop, "wl-1", name, "pack-1")
        with refused(own_shop, MayNotIssue, words):
            own_shop.do(IssueUnit, **fields)
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="damage")
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1", "pre-use")
    with refused(own_shop, MayNotIssue, "On hold"):
        own_shop.do(IssueUnit, **fields)


@pytest.mark.parametrize(
    ("changes", "kind", "words"),
    [
        ({"battery_id": None}, NotMadeWhole, "no battery goes along"),
        ({"area_id": None}, NotMadeWhole, "no area is named"),
        ({"slip_id": 9999}, Unknown, "This slip"),
    ],
)
def test_issue_refused(own_shop: Shop, changes: dict[str, Any], kind: type[NotAllowed], words: str) -> None:
    """A missing pack, no area, a slip that is none."""
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1") | changes
    with refused(own_shop, kind, words):
        own_shop.do(IssueUnit, **fields)


def test_a_caution_is_shown_first_and_kept(own_shop: Shop) -> None:
    """Carbon monoxide below its limit: not issued before the line was shown; then it stands with the custody."""
    area = own_shop.record(Area, "bay-3")
    own_shop.do(
        AssessArea, area_id=area.id, substance="carbon_monoxide", unit="ppm", concentration=12.0,
        basis=AssessmentBasis.STATED, made_on=date(2026, 3, 4), made_by="T. Ambrus", document="Report 26-015",
    )  # fmt: skip
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, MayNotIssue, "since the list was shown"):
        own_shop.do(IssueUnit, **(fields | {"shown": ()}))
    own_shop.do(IssueUnit, **fields)
    assert custody_of(own_shop, "wl-1").cautions == "Carbon monoxide below its limit: 12 of 50\u00a0ppm"


def test_issue_needs_its_check(own_shop: Shop) -> None:
    """A failed check, one of another kind, the short one for a unit not inspected, a due moment that is past."""
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    bad = failed(unit, "hand-over", own_shop.moment, own_shop.clerk_label)
    with refused(own_shop, NotMadeWhole, "has not passed"):
        own_shop.do(IssueUnit, **(fields | {"run_made": bad}))
    with refused(own_shop, NotMadeWhole, "none for an issue"):
        own_shop.do(IssueUnit, **(fields | {"run_made": made(own_shop, unit)}))
    with refused(own_shop, WrongFigure, "before now"):
        own_shop.do(IssueUnit, **(fields | {"due_at": own_shop.moment}))
    never = issue_fields(own_shop, "wl-5", "Wronecka", "pack-1")
    with refused(own_shop, NotAllowed):
        own_shop.do(IssueUnit, **never)
    later(own_shop, 30)
    old = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, NotMadeWhole, "short check is not enough"):
        own_shop.do(IssueUnit, **old)


def test_issue_twice(own_shop: Shop) -> None:
    """A unit that is out, and a pack that is out, go to nobody else."""
    second = issue_fields(own_shop, "wl-1", "Nkemba", "pack-2")
    taken = issue_fields(own_shop, "wl-2", "Nkemba", "pack-1")
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, IssuedElsewhere, "Łucja Wronecka"):
        own_shop.do(IssueUnit, **second)
    with refused(own_shop, MayNotIssue, "in use"):
        own_shop.do(IssueUnit, **taken)


def test_signed_slip(own_shop: Shop) -> None:
    """A slip prepared for this unit and wearer stands for the badge, once, and for nobody else."""
    unit, wearer = own_shop.record(Unit, "wl-1"), own_shop.record(Person, "Wronecka")
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    signed = {name: fields[name] for name in ("battery_id", "area_id", "due_at")}
    receipt = own_shop.do(PrepareSlip, unit_id=unit.id, person_id=wearer.id, **signed)
    assert "Nothing was issued" in receipt.sentence
    with own_shop.store.reading() as reader:
        slip = reader.latest(Slip)
    assert slip is not None
    wrong = issue_fields(own_shop, "wl-2", "Nkemba", "pack-2") | {"slip_id": slip.id}
    with refused(own_shop, NotMadeWhole, "another unit or wearer"):
        own_shop.do(IssueUnit, **wrong)
    other = {
        "battery_id": own_shop.record(Battery, "pack-2").id,
        "area_id": own_shop.record(Area, "bay-7").id,
        "due_at": fields["due_at"] + timedelta(hours=8),
    }
    for name, value in other.items():
        with refused(own_shop, NotMadeWhole, "another battery, area or time"):
            own_shop.do(IssueUnit, **(fields | {name: value, "slip_id": slip.id}))
    own_shop.do(IssueUnit, **fields, slip_id=slip.id)
    assert (custody_of(own_shop, "wl-1").acknowledged, custody_of(own_shop, "wl-1").slip_id) == ("signed slip", slip.id)
    later(own_shop, 1)
    own_shop.do(TakeBack, unit_id=unit.id)
    again = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1", "pre-use") | signed
    with refused(own_shop, NotMadeWhole, "was used already"):
        own_shop.do(IssueUnit, **(again | {"slip_id": slip.id}))
    own_shop.do(IssueUnit, **again)


def test_a_part_changed_while_its_wearer_has_it_checked(own_shop: Shop) -> None:
    """Straight back to its wearer, but the check has not seen the part that another counter put in meanwhile."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 1)
    unit, filters = own_shop.record(Unit, "wl-1"), own_shop.record(StockItem, "WL1-PREFILTER")
    own_shop.do(TakeBack, unit_id=unit.id)
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1", "pre-use")
    own_shop.moment += timedelta(minutes=1)
    lot = own_shop.lot(filters)
    own_shop.do(ChangePart, unit_id=unit.id, position="pre-filter", item_id=filters.id, lot_id=lot.id)
    with refused(own_shop, NotMadeWhole, "changed while it was checked"):
        own_shop.do(IssueUnit, **fields)


def test_take_back(own_shop: Shop) -> None:
    """A scan alone ends the custody with the hours the clock proposes; a second scan is refused."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 3)
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-1").id)
    unit, custody = own_shop.record(Unit, "wl-1"), custody_of(own_shop, "wl-1")
    assert (unit.where, unit.place) == (Where.BENCH, "returns shelf")
    assert unit.worn_hours == custody.worn_hours == pytest.approx(3.0, abs=0.05)
    assert custody.returned_at == own_shop.moment
    with refused(own_shop, NotOut):
        own_shop.do(TakeBack, unit_id=unit.id)


def test_worn_is_worn_by_whatever_clock(own_shop: Shop) -> None:
    """Cleaned and inspected, then the clock is set back, then worn: dirty and not checked all the same."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=made(own_shop, unit, "cleaning"))
    later(own_shop, 0.1)
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=made(own_shop, unit))
    later(own_shop, -2)
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 0.5)
    own_shop.do(TakeBack, unit_id=unit.id)
    unit = own_shop.record(Unit, "wl-1")
    with own_shop.store.reading() as reader:
        found = condition(standing_of(reader, house(), unit, own_shop.moment))
    assert (found.state, found.dirty) == (Serviceable.NOT_CHECKED, True)


def returned(shop: Shop) -> Custody:
    """wl-1 back after six hours, the rest not told yet."""
    hand_out(shop, "wl-1", "Wronecka", "pack-1")
    later(shop, 6)
    shop.do(TakeBack, unit_id=shop.record(Unit, "wl-1").id)
    return custody_of(shop, "wl-1")


def test_complete_return(own_shop: Shop) -> None:
    """Told hours move the meter, the pack's run is kept, the pack lies on the shelf."""
    custody = returned(own_shop)
    own_shop.do(
        CompleteReturn,
        custody_id=custody.id,
        worn_hours=4.5,
        speed="low",
        battery_back=True,
        battery_end=RunEnd.FLAT,
        bars_left=0,
    )
    after, pack = custody_of(own_shop, "wl-1"), own_shop.record(Battery, "pack-1")
    with own_shop.store.reading() as reader:
        (run,) = reader.find(BatteryRun)
    assert own_shop.record(Unit, "wl-1").worn_hours == pytest.approx(4.5)
    assert (after.worn_hours, after.completed_at, after.brought_by) == (4.5, own_shop.moment, after.person_id)
    assert (run.worn_hours, run.ended, run.filter_hours) == (4.5, RunEnd.FLAT, 4.5)
    assert (pack.place, pack.charged_at) == (BatteryPlace.SHELF, None)
    with refused(own_shop, NotOut, "complete already"):
        own_shop.do(CompleteReturn, custody_id=custody.id, worn_hours=4.5)


def test_a_pack_out_again_stays_out(own_shop: Shop) -> None:
    """The rest told when its wearer has unit and pack once more: the pack lies on no shelf, a fault calls it in."""
    custody = returned(own_shop)
    own_shop.do(IssueUnit, **issue_fields(own_shop, "wl-1", "Wronecka", "pack-1", "pre-use"))
    receipt = own_shop.do(
        CompleteReturn,
        custody_id=custody.id,
        worn_hours=4.0,
        battery_back=True,
        battery_end=RunEnd.STOPPED,
        fault="lens",
    )
    assert [paper for paper, _ in receipt.papers] == ["call_in_slip"]
    pack = own_shop.record(Battery, "pack-1")
    assert (pack.place, pack.unit_id) == (BatteryPlace.IN_UNIT, custody.unit_id)


def test_told_hours_move_with_the_part_they_wore(own_shop: Shop) -> None:
    """A part changed between the return and its hours: what came out has the hours told, what went in none."""
    custody = returned(own_shop)
    unit, filters = own_shop.record(Unit, "wl-1"), own_shop.record(StockItem, "WL1-PREFILTER")
    lot = own_shop.lot(filters)
    own_shop.do(ChangePart, unit_id=unit.id, position="pre-filter", item_id=filters.id, lot_id=lot.id)
    own_shop.do(CompleteReturn, custody_id=custody.id, worn_hours=2.0)
    unit = own_shop.record(Unit, "wl-1")
    with own_shop.store.reading() as reader:
        out, new = reader.find(Fitted, unit_id=unit.id, position="pre-filter")
    assert unit.worn_hours == pytest.approx(2.0)
    assert (out.worn(unit.worn_hours), new.worn(unit.worn_hours)) == (pytest.approx(2.0), pytest.approx(0.0))


def test_return_in_pieces(own_shop: Shop) -> None:
    """The pack did not come back: it is missing, and its run is not counted; somebody else brought the unit."""
    custody = returned(own_shop)
    other = own_shop.record(Person, "Nkemba").id
    own_shop.do(CompleteReturn, custody_id=custody.id, worn_hours=4, brought_by=other, battery_back=False)
    assert own_shop.record(Battery, "pack-1").place is BatteryPlace.MISSING
    assert custody_of(own_shop, "wl-1").brought_by == other
    with own_shop.store.reading() as reader:
        assert reader.find(BatteryRun) == []


def test_reported_fault_holds(own_shop: Shop) -> None:
    """A fault told at the return holds the unit at once, with its tag."""
    custody = returned(own_shop)
    receipt = own_shop.do(CompleteReturn, custody_id=custody.id, worn_hours=4, fault="lens", damage="flickers")
    (hold,) = holds(own_shop, own_shop.record(Unit, "wl-1"))
    assert (hold.reason, hold.detail, receipt.papers) == ("lens", "flickers", (("tag", hold.tag),))


@pytest.mark.parametrize(
    ("changes", "kind", "words"),
    [
        ({"worn_hours": 6.5}, WrongFigure, "out for"),
        ({"worn_hours": -0.5}, WrongFigure, "between 0"),
        ({"bars_left": 11}, WrongFigure, "Bars"),
        ({"fault": "mood"}, Unknown, "mood"),
    ],
)
def test_complete_return_refused(own_shop: Shop, changes: dict[str, Any], kind: type[NotAllowed], words: str) -> None:
    """More hours than it was out, impossible figures, a fault no model knows: nothing is kept."""
    fields = {"custody_id": returned(own_shop).id, "worn_hours": 4.0} | changes
    with refused(own_shop, kind, words):
        own_shop.do(CompleteReturn, **fields)


def test_complete_before_it_is_back(own_shop: Shop) -> None:
    """The rest of a return waits for the return."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, NotOut, "not taken back"):
        own_shop.do(CompleteReturn, custody_id=custody_of(own_shop, "wl-1").id, worn_hours=1)


def test_cleaning_a_tray(own_shop: Shop) -> None:
    """One run cleans the whole tray; a broken-off one cleans nothing; a failed one holds each unit."""
    units = [own_shop.record(Unit, name) for name in ("wl-1", "wl-2")]
    ids = tuple(one.id for one in units)
    broken = break_off(begun(own_shop, units[0], "cleaning"), own_shop.moment, "no water")
    own_shop.do(FinishCleaning, unit_ids=ids, run_made=broken)
    with own_shop.store.reading() as reader:
        assert reader.find(Cleaning) == []
    own_shop.do(FinishCleaning, unit_ids=ids, run_made=made(own_shop, units[0], "cleaning"))
    with own_shop.store.reading() as reader:
        assert [(one.unit_id, one.tray) for one in reader.find(Cleaning)] == [(id, "2 units") for id in ids]
    bad = failed(units[0], "cleaning", own_shop.moment, own_shop.clerk_label)
    receipt = own_shop.do(FinishCleaning, unit_ids=ids, run_made=bad)
    assert len(receipt.papers) == 2
    assert all(holds(own_shop, unit) for unit in units)


def test_cleaning_refused(own_shop: Shop) -> None:
    """An empty tray, a unit twice, an unended run, another procedure, a unit that is out."""
    unit, other = own_shop.record(Unit, "wl-1"), own_shop.record(Unit, "ff-1")
    run = made(own_shop, unit, "cleaning")
    for ids in ((), (unit.id, unit.id)):
        with refused(own_shop, WrongFigure, "scan each unit once"):
            own_shop.do(FinishCleaning, unit_ids=ids, run_made=run)
    with refused(own_shop, NotMadeWhole, "has not ended"):
        own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=begun(own_shop, unit, "cleaning"))
    with refused(own_shop, NotMadeWhole, "another procedure"):
        own_shop.do(FinishCleaning, unit_ids=(unit.id, other.id), run_made=run)
    with refused(own_shop, NotMadeWhole, "not ended"):
        own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=made(own_shop, unit))
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, AlreadyOut):
        own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=made(own_shop, unit, "cleaning"))
    with refused(own_shop, AlreadyOut):
        own_shop.do(HoldUnfinished, unit_id=unit.id, procedure="welding-papr-bench", step="Airflow")
    with refused(own_shop, AlreadyOut):
        own_shop.do(FinishInspection, unit_id=unit.id, run_made=made(own_shop, unit))


def test_idle_is_ten_minutes(own_shop: Shop) -> None:
    """A passed check stands ten minutes, not longer, before the wearer takes the unit."""
    fields = issue_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    own_shop.moment += timedelta(minutes=10)
    with refused(own_shop, NotMadeWhole, "stood idle"):
        own_shop.do(IssueUnit, **fields)
