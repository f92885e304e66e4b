"""The shift made ready, counted and handed over; units new and scrapped: plain cases and each refusal."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from cribdesk.crib.records import (
    Battery,
    BatteryPlace,
    Inspection,
    Part,
    PartPlace,
    Person,
    RackAudit,
    Role,
    ShiftClose,
    Unit,
    Where,
)
from cribdesk.crib.refusal import (
    AlreadyOut,
    NoClerkOfCrib,
    NotCounted,
    NotMadeWhole,
    NotQualified,
    SayOfParts,
    Scrapped,
    ShiftClosedAlready,
    Unknown,
    WrongFigure,
)
from cribdesk.crib.shift import read_plan, turn_after
from cribdesk.desk.away import MarkMissing
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.close_shift import CloseShift, page_of
from cribdesk.desk.equipment import EndCharge, PutBattery, StartCharge
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.house import House
from cribdesk.desk.office import NotePrint
from cribdesk.desk.pre_stage import PreStage
from cribdesk.desk.printing import record_for
from cribdesk.desk.questions import place
from cribdesk.desk.rack_audit import AuditRack
from cribdesk.desk.readiness import SEAL, good_until, needed_for, readiness
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.scrapping import KEEP, SCRAP, ScrapUnit
from cribdesk.desk.settings import read_needed
from cribdesk.desk.shift_figures import figures
from cribdesk.desk.shift_lists import shift_lists, shift_page
from cribdesk.desk.shift_lists.to_complete import card_to_complete, oldest
from cribdesk.desk.unit import AddUnit, MoveUnit
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.refused import as_clerk, refused
from tests.desk.shop import Shop, house, passed
from tests.desk.test_cabinet import lying_before
from tests.desk.test_operations_units import sitting
from tests.store.queries import counting


def stage(shop: Shop, name: str, kind: str = "bench", meter: str = "meter") -> Any:
    """A unit is inspected for the next shift."""
    unit = shop.record(Unit, name)
    run = passed(unit, kind, shop.moment, shop.clerk_label, shop.names[meter])
    return shop.do(PreStage, unit_id=unit.id, run_made=run)


def seal(shop: Shop, name: str, failed: str = "") -> str:
    """The seal of the unit's last inspection came out, or did not; the inspection's id."""
    with shop.store.reading() as reader:
        made = reader.latest(Inspection, unit_id=shop.record_in(reader, Unit, name).id)
    assert made is not None
    shop.do(NotePrint, paper=SEAL, of=str(made.id), failed=failed)
    return str(made.id)


def labels(units: Any) -> set[str]:
    """The labels of these units."""
    return {one.unit.label for one in units}


# Made ready for the next shift.


def test_pre_stage_seals_what_passed(own_shop: Shop) -> None:
    """A pass at the bench prints the seal of that inspection; it names until when it is good, and prints again."""
    later(own_shop, 10)
    receipt = stage(own_shop, "wl-1")
    ((paper, of),) = receipt.papers
    assert paper == SEAL
    with own_shop.store.reading() as reader:
        made = reader.get(Inspection, int(of))
        record = record_for(reader, house(), SEAL, of, own_shop.moment, 1)
    assert made.unit_id == own_shop.record(Unit, "wl-1").id
    assert record.unit == own_shop.names["wl-1"]  # type: ignore[attr-defined]
    assert record.good_until == good_until(house(), made.ended_at)  # type: ignore[attr-defined]


def test_pre_stage_refused(own_shop: Shop) -> None:
    """A seal takes a bench inspection by somebody who may make one, of a unit in hand."""
    later(own_shop, 10)
    with refused(own_shop, NotMadeWhole, "takes a bench inspection"):
        stage(own_shop, "wl-1", "pre-use")
    with as_clerk(own_shop, "Lindqvist"), refused(own_shop, NotQualified, "bench technician"):
        stage(own_shop, "wl-1")
    own_shop.inspect("wl-1")
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, AlreadyOut):
        stage(own_shop, "wl-1")


def test_no_seal_for_what_is_not_ready_after_it(own_shop: Shop) -> None:
    """A pass with a hold beside it, or with a meter out of calibration, is kept and gets no seal."""
    later(own_shop, 10)
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="program", detail="asked for")
    assert stage(own_shop, "wl-1").papers == ()
    old = stage(own_shop, "wl-2", meter="meter-old")
    assert old.papers == ()
    assert "No seal" in old.sentence


def test_a_seal_prints_for_its_time_and_its_kind_only(own_shop: Shop) -> None:
    """No seal of an inspection that is not there, of a pass for an issue, or past its time."""
    later(own_shop, 10)
    ((_, of),) = stage(own_shop, "wl-1").papers
    own_shop.inspect("wl-2", "pre-use")
    with own_shop.store.reading() as reader:
        other = reader.latest(Inspection)
        assert other is not None
        wrong = {str(other.id): "no pass at the bench", "9999": "no inspection", "x": "no inspection"}
        for wanted, words in wrong.items():
            with pytest.raises(LookupError, match=words):
                record_for(reader, house(), SEAL, wanted, own_shop.moment, 1)
        with pytest.raises(LookupError, match="past its time"):
            record_for(reader, house(), SEAL, of, own_shop.moment + timedelta(days=2), 1)


PLANS = (
    "Day 06:00-14:30, Night 14:30-22:30", "Day 06:00-14:00, Late 14:00-22:00, Night 22:00-06:00", "Day 07:00-17:00"
)  # fmt: skip


@pytest.mark.parametrize("plan", PLANS)
def test_a_seal_never_outlives_the_rule(plan: str) -> None:
    """At every moment before its end the inspection is current, by the rule that the hand-over asks."""
    made = house()
    its = House(made.models, made.procedures, {**made.settings, "shift_plan": plan})
    for hour in range(48):
        inspected = datetime(2026, 11, 24, 0, 20, tzinfo=UTC) + timedelta(hours=hour)
        until = good_until(its, inspected)
        assert until > inspected
        moment = inspected
        while moment < until:
            assert its.inspected_since(moment) <= inspected, (plan, inspected, moment)
            moment += timedelta(minutes=10)


def test_turn_after() -> None:
    """The shift that begins next, across the night the clock goes back."""
    plan, zone = read_plan("Day 06:00-14:30, Night 14:30-22:30"), house().zone
    now = house().turn(datetime(2026, 10, 24, 15, 0, tzinfo=UTC))
    assert (now.name, turn_after(plan, zone, now).name) == ("Night", "Day")
    assert turn_after(plan, zone, now).start == datetime(2026, 10, 25, 5, 0, tzinfo=UTC)


@pytest.fixture
def four_weeks(own_shop: Shop) -> Shop:
    """Issues at the day shift on four Wednesdays: 1, 3, 0 and 2; and one at night, one on a Tuesday."""
    first = own_shop.moment
    assert house().today(first).weekday() == 2
    for days, at, many in ((0, 2, 1), (6, 3, 4), (7, 2, 3), (7, 12, 4), (21, 2, 2)):
        own_shop.moment = first + timedelta(days=days, hours=at)
        issue_some(own_shop, many)
    own_shop.moment = first + timedelta(days=27, hours=14)
    return own_shop


def issue_some(shop: Shop, many: int) -> None:
    """So many units go out and come back within the hour, cleaned by nobody yet."""
    crew = {"wl-1": ("Wronecka", "pack-1"), "wl-2": ("Nkemba", "pack-2"), "wl-3": ("Verrani", "pack-3"),
            "wl-4": ("Wronecka", "pack-4")}  # fmt: skip
    for name, (who, pack) in list(crew.items())[:many]:
        unit = shop.record(Unit, name)
        shop.inspect(name)
        hand_out(shop, name, who, pack)
        shop.do(TakeBack, unit_id=unit.id)
        shop.do(CompleteReturn, custody_id=custody_of(shop, name).id, worn_hours=0.0, battery_back=True)
        run = passed(unit, "cleaning", shop.moment, shop.clerk_label, shop.names["meter"])
        shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=run)
        charge(shop, pack)


def charge(shop: Shop, name: str) -> None:
    """The pack on a charger and off again."""
    battery = shop.record(Battery, name)
    shop.do(StartCharge, battery_id=battery.id)
    shop.do(EndCharge, battery_id=battery.id)


def test_needed_is_the_most_of_four_same_weekdays(four_weeks: Shop) -> None:
    """Four Wednesdays back from Wednesday: 2, 0, 3 and 1 at Day; the most counts, other shifts and days do not."""
    with four_weeks.store.reading() as reader:
        found = readiness(reader, house(), four_weeks.moment)
    assert found.turn.name == "Day"
    assert found.turn.start.astimezone(house().zone).weekday() == 2
    assert found.needed.units == 3
    assert found.needed.by_model == (("WL1", 3),)
    assert "2, 0, 3 and 1" in found.needed.how
    assert found.short == 3


def test_needed_as_the_site_set_it(four_weeks: Shop) -> None:
    """A number set for a shift stands for it; another shift is still reached by the weeks."""
    made = house()
    its = House(made.models, made.procedures, {**made.settings, "needed": "Day 12"})
    with four_weeks.store.reading() as reader:
        assert needed_for(reader, its, readiness(reader, its, four_weeks.moment).turn).units == 12
        night = readiness(reader, its, four_weeks.moment + timedelta(hours=12))
    assert (night.turn.name, night.needed.units) == ("Night", 4)
    assert read_needed("Day 60, Late night 20") == {"day": 60, "late night": 20}
    for wrong in ("60", "Day x", "Day -3", "Day 99999"):
        with pytest.raises(ValueError, match="write it like"):
            read_needed(wrong)


def test_readiness_tells_sealed_from_what_is_nearest(own_shop: Shop) -> None:
    """Sealed, inspected without a seal, to inspect, to clean; what is out, held or in the cabinet is none of it."""
    hand_out(own_shop, "wl-3", "Wronecka", "pack-1")
    lying_before(own_shop, "ff-1", "gate 2")
    later(own_shop, 10)
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-3").id)
    stage(own_shop, "wl-1")
    seal(own_shop, "wl-1")
    stage(own_shop, "wl-2")
    seal(own_shop, "wl-2", failed="no paper")
    with own_shop.store.reading() as reader:
        found = readiness(reader, house(), own_shop.moment)
    names = own_shop.names
    assert labels(found.sealed) == {names["wl-1"]}
    assert labels(found.unsealed) == {names["wl-2"]}
    assert labels(found.to_inspect) == {names["wl-4"], names["wl-5"]}
    assert labels(found.to_clean) == {names["wl-3"]}
    own_shop.do(PlaceHold, unit_id=own_shop.record(Unit, "wl-1").id, reason="head", detail="cracked")
    with own_shop.store.reading() as reader:
        assert readiness(reader, house(), own_shop.moment).sealed == ()
        page = shift_page(reader, house(), "ready", own_shop.moment)
    told = {row.label: row for row in page.rows.rows if row.label}
    assert told[names["wl-2"]].actions[0].words == "Print its seal"
    assert told[names["wl-5"]].what == "New, waits for its first inspection"
    assert "cleaning" in told[names["wl-3"]].what


# The rack against the book.


def test_rack_audit(own_shop: Shop) -> None:
    """What is absent and what hangs there beside it are kept and listed; nothing is moved."""
    units = {name: own_shop.record(Unit, name) for name in ("wl-1", "wl-2", "wl-3", "wl-4", "wl-5", "ff-1")}
    scanned = tuple(units[name].id for name in ("wl-1", "wl-2", "wl-3", "ff-1", "wl-5"))
    receipt = own_shop.do(AuditRack, unit_ids=scanned)
    with own_shop.store.reading() as reader:
        kept = reader.latest(RackAudit)
        page = shift_page(reader, house(), "rack-audits", own_shop.moment)
    assert kept is not None
    assert (kept.expected, kept.there, kept.absent, kept.surplus) == (5, 4, units["wl-4"].label, units["wl-5"].label)
    assert units["wl-4"].label in receipt.sentence
    assert {name: own_shop.record(Unit, name).where for name in units} == {n: u.where for n, u in units.items()}
    assert [row.label for row in page.rows.rows if row.label] == [units["wl-4"].label, units["wl-5"].label]
    own_shop.do(MoveUnit, unit_id=units["wl-4"].id, where=Where.BENCH)
    own_shop.do(MoveUnit, unit_id=units["wl-5"].id, where=Where.RACK)
    with own_shop.store.reading() as reader:
        assert shift_lists()["rack-audits"].count(reader, house(), own_shop.moment) == 0  # type: ignore[misc]


def test_rack_audit_refused(own_shop: Shop) -> None:
    """Nothing scanned, or a unit that is none: no audit."""
    with refused(own_shop, NotCounted, "Nothing was scanned"):
        own_shop.do(AuditRack, unit_ids=())
    with refused(own_shop, Unknown):
        own_shop.do(AuditRack, unit_ids=(9999,))


# A shift is handed over.


def start_of(shop: Shop) -> datetime:
    """When the shift that runs began."""
    turn = house().turn(shop.moment)
    return turn.start


def closed(shop: Shop, **fields: Any) -> ShiftClose:
    """The shift of now is closed; its record."""
    shop.do(CloseShift, **({"start": start_of(shop)} | fields))
    with shop.store.reading() as reader:
        found = reader.latest(ShiftClose)
    assert found is not None
    return found


def numbers(found: ShiftClose) -> dict[str, str]:
    """Its figures by name."""
    return {one.name: one.number for one in page_of(found).figures}


def test_close_shift_freezes_its_page(own_shop: Shop) -> None:
    """The figures are those of that moment; the page prints the same after more was done; the next goes on there."""
    later(own_shop, 1)
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    hand_out(own_shop, "wl-2", "Nkemba", "pack-2")
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-2").id)
    own_shop.do(NotePrint, paper="tag", of="T0000019", failed="no paper")
    later(own_shop, 6)
    first = closed(own_shop, taken_by=own_shop.record(Person, "Brandl").id, note=" The fan hums. ")
    told = numbers(first)
    assert (told["Issued"], told["Returned"], told["Still out"], told["Returned, to complete"]) == ("2", "1", "1", "1")
    assert told["Papers that did not print"] == "1"
    with own_shop.store.reading() as reader:
        before = record_for(reader, house(), "shift_page", str(first.id), own_shop.moment, 1)
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-1").id)
    later(own_shop, 5)
    with own_shop.store.reading() as reader:
        again = record_for(reader, house(), "shift_page", str(first.id), own_shop.moment, 2)
    assert again == before
    assert before.taken_by == "Otto Brandl"  # type: ignore[attr-defined]
    assert before.note == "The fan hums."  # type: ignore[attr-defined]
    second = closed(own_shop)
    assert second.began_at == first.ended_at
    assert (numbers(second)["Issued"], numbers(second)["Returned"]) == ("0", "1")
    assert own_shop.names["Wronecka"] not in second.page
    assert "Wronecka" not in second.page


def test_close_shift_refused(own_shop: Shop) -> None:
    """Twice, of another day, with a long note, to oneself, to a wearer, to an ended badge, to nobody known."""
    later(own_shop, 3)
    start, ids = start_of(own_shop), {name: own_shop.record(Person, name).id for name in ("Office", "Wronecka")}
    cases: tuple[tuple[dict[str, Any], type[Any], str], ...] = (
        ({"start": start - timedelta(days=3)}, WrongFigure, "last 24 hours"),
        ({"start": start + timedelta(hours=1)}, WrongFigure, "last 24 hours"),
        ({"start": start, "note": "x" * 2001}, WrongFigure, "2000"),
        ({"start": start, "taken_by": ids["Office"]}, NoClerkOfCrib, "hands it over"),
        ({"start": start, "taken_by": ids["Wronecka"]}, NoClerkOfCrib, "no clerk"),
        ({"start": start, "taken_by": 9999}, Unknown, "Who takes over"),
    )
    for fields, kind, words in cases:
        with refused(own_shop, kind, words):
            own_shop.do(CloseShift, **fields)
    yesterday = house().today(own_shop.moment) - timedelta(days=1)
    gone = own_shop.person("gone", "Ida Vance", Role.ATTENDANT, ends_on=yesterday)
    with refused(own_shop, NoClerkOfCrib, "badge has ended"):
        own_shop.do(CloseShift, start=start, taken_by=gone)
    own_shop.do(CloseShift, start=start)
    with refused(own_shop, ShiftClosedAlready, "handed over already"):
        own_shop.do(CloseShift, start=start)


def test_the_list_of_closed_shifts_prints_and_tells_what_is_open(own_shop: Shop) -> None:
    """Each shift handed over has its page; one that ended without is named; a damaged page is told, not printed."""
    later(own_shop, 11)
    with own_shop.store.reading() as reader:
        assert "Day ended" in shift_page(reader, house(), "closed", own_shop.moment).rows.lead
    found = closed(own_shop, start=house().turn(own_shop.moment - timedelta(hours=9)).start)
    with own_shop.store.reading() as reader:
        rows = shift_page(reader, house(), "closed", own_shop.moment).rows
    assert "Day ended" not in rows.lead
    assert [(row.actions[0].id, row.actions[0].of) for row in rows.rows] == [("shift_page", str(found.id))]
    with pytest.raises(ValueError, match="cannot be read"):
        page_of(replace(found, page="{}"))
    with own_shop.store.reading() as reader, pytest.raises(LookupError, match="no shift"):
        record_for(reader, house(), "shift_page", "77", own_shop.moment, 1)


def test_figures_take_a_bounded_number_of_queries(own_shop: Shop) -> None:
    """However many units there are, the figures take the same number of queries."""
    counts = []
    for more in (0, 4):
        own_shop.crowd(more)
        assert isinstance(own_shop.store, SqlStore)
        with own_shop.store.reading() as reader, counting(own_shop.store) as seen:
            figures(reader, house(), own_shop.moment - timedelta(hours=8), own_shop.moment)
        counts.append(len(seen))
    assert counts[0] == counts[1] < 70


# New and scrapped.


def test_a_new_unit_with_sizes_needs_one(own_shop: Shop) -> None:
    """A model that comes in sizes is not entered without; one without sizes needs none."""
    with refused(own_shop, WrongFigure, "comes in"):
        own_shop.do(AddUnit, model="FF1")
    with refused(own_shop, WrongFigure, "comes in"):
        own_shop.do(AddUnit, model="FF1", size="huge")
    own_shop.do(AddUnit, model="WL1")


def fates(shop: Shop, name: str, fate: str, **faults: str) -> tuple[tuple[int, str, str], ...]:
    """The same for every labelled part of the unit, with the fault of some by position."""
    unit, model = shop.record(Unit, name), house().models["WL1"]
    found = []
    for position in model.positions:
        if position.labelled:
            part = sitting(shop, unit, position.code).part_id
            assert part is not None
            found.append((part, fate, faults.get(position.code.replace("-", "_"), "")))
    return tuple(found)


def test_scrap_keeps_and_scraps_part_by_part(own_shop: Shop) -> None:
    """Kept parts lie on the shelf with hours, lot and fault; the others are scrapped, the pack stays; then no more."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 4)
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(TakeBack, unit_id=unit.id)
    own_shop.do(CompleteReturn, custody_id=custody_of(own_shop, "wl-1").id, worn_hours=4.0, battery_back=None)
    own_shop.do(PutBattery, unit_id=unit.id, battery_id=own_shop.record(Battery, "pack-2").id)
    blower = sitting(own_shop, unit, "blower").part_id
    lot = own_shop.record(Part, "wl-1 blower").lot_id
    told = [
        (part, KEEP if part == blower else SCRAP, "hums" if part == blower else "")
        for part, _, _ in fates(own_shop, "wl-1", KEEP)
    ]
    receipt = own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=tuple(told))
    kept = own_shop.record(Part, "wl-1 blower")
    assert (kept.place, kept.unit_id, kept.lot_id, kept.fault) == (PartPlace.SHELF, None, lot, "hums")
    assert kept.worn_hours == pytest.approx(4.0)
    with own_shop.store.reading() as reader:
        places = {reader.get(Part, part).place for part, fate, _ in told if fate == SCRAP}
    assert places == {PartPlace.SCRAPPED}
    assert own_shop.record(Battery, "pack-2").place is BatteryPlace.SHELF
    assert own_shop.record(Unit, "wl-1").where is Where.SCRAPPED
    assert "Used filters are waste" in receipt.sentence
    assert receipt.papers == ()
    with refused(own_shop, Scrapped):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="again")


def test_scrap_refused(own_shop: Shop) -> None:
    """Out, return not complete, no reason, parts unsaid, strange or said twice, no technician: nothing is scrapped."""
    unit = own_shop.record(Unit, "wl-1")
    keep = fates(own_shop, "wl-1", KEEP)
    with refused(own_shop, WrongFigure, "say why"):
        own_shop.do(ScrapUnit, unit_id=unit.id, why=" ", parts=keep)
    with refused(own_shop, SayOfParts, "nothing is said of"):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=keep[1:])
    with refused(own_shop, SayOfParts, "does not sit in it"):
        strange = (own_shop.record(Part, "wl-2 blower").id, KEEP, "")
        own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=(*keep, strange))
    with refused(own_shop, SayOfParts, "said once"):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=(*keep, keep[0]))
    with refused(own_shop, SayOfParts, "kept or scrapped"):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=((keep[0][0], "sold", ""), *keep[1:]))
    with as_clerk(own_shop, "Brandl"), refused(own_shop, NotQualified):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=keep)
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    with refused(own_shop, AlreadyOut):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=keep)
    own_shop.do(TakeBack, unit_id=unit.id)
    with refused(own_shop, WrongFigure, "not complete"):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="crushed", parts=keep)


def test_of_a_missing_unit_nothing_is_kept(own_shop: Shop) -> None:
    """What is not here is written off whole; its pack is missing with it."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(PutBattery, unit_id=unit.id, battery_id=own_shop.record(Battery, "pack-2").id)
    own_shop.do(MarkMissing, unit_id=unit.id)
    with refused(own_shop, SayOfParts, "nothing of it is here"):
        own_shop.do(ScrapUnit, unit_id=unit.id, why="never found", parts=fates(own_shop, "wl-1", KEEP))
    own_shop.do(ScrapUnit, unit_id=unit.id, why="never found", parts=fates(own_shop, "wl-1", SCRAP))
    assert own_shop.record(Part, "wl-1 blower").place is PartPlace.SCRAPPED
    assert own_shop.record(Battery, "pack-2").place is BatteryPlace.MISSING


def test_an_overdue_unit_has_its_call_in_slip_on_the_list(own_shop: Shop) -> None:
    """Before it is due there is nothing to call in; after it the slip prints, by the slip it went out with."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    with own_shop.store.reading() as reader:
        rows = shift_page(reader, house(), "out", own_shop.moment).rows.rows
    assert [one.words for one in rows[0].actions] == ["Take back"]
    later(own_shop, 14)
    with own_shop.store.reading() as reader:
        (row,) = shift_page(reader, house(), "out", own_shop.moment).rows.rows
        call = row.actions[0]
        assert (call.words, call.kind, call.id) == ("Call-in slip", "paper", "call_in_slip")
        record = record_for(reader, house(), call.id, call.of, own_shop.moment, 1)
    assert record.unit == own_shop.names["wl-1"]  # type: ignore[attr-defined]


def test_the_returns_to_complete_come_oldest_first(own_shop: Shop) -> None:
    """The oldest is brought up; one whose unit is out again waits, and can be completed when that is back."""
    for name, who, pack in (("wl-2", "Nkemba", "pack-2"), ("wl-1", "Wronecka", "pack-1")):
        hand_out(own_shop, name, who, pack)
        later(own_shop, 1)
        own_shop.do(TakeBack, unit_id=own_shop.record(Unit, name).id)
    first, second = custody_of(own_shop, "wl-2"), custody_of(own_shop, "wl-1")
    with own_shop.store.reading() as reader:
        page = shift_page(reader, house(), "to-complete", own_shop.moment)
        found = oldest(reader)
        card = card_to_complete(reader, house(), f"next {second.id}", own_shop.moment)
    assert [row.key for row in page.rows.rows] == [str(first.id), str(second.id)]
    assert found is not None
    assert found.id == first.id
    assert card is not None
    assert card.label == own_shop.names["wl-1"]
    unit = own_shop.record(Unit, "wl-2")
    run = passed(unit, "cleaning", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=run)
    later(own_shop, 0.1)
    own_shop.inspect("wl-2")
    hand_out(own_shop, "wl-2", "Verrani", "pack-3")
    with own_shop.store.reading() as reader:
        rows = shift_page(reader, house(), "to-complete", own_shop.moment).rows.rows
        waits = oldest(reader)
    assert waits is not None
    assert waits.id == second.id
    assert rows[0].actions == ()
    assert "out again" in rows[0].detail
    own_shop.do(TakeBack, unit_id=unit.id)
    with own_shop.store.reading() as reader:
        older = card_to_complete(reader, house(), "next", own_shop.moment)
    assert older is not None
    assert older.standing.last_custody is not None
    assert older.standing.last_custody.id == first.id


def test_the_shift_is_the_same_on_both_engines(address: str) -> None:
    """Sealed, audited, scrapped and handed over on each engine: sound afterwards, the figures the same."""
    with open_store(address, create=True) as store:
        shop = Shop(store).build()
        later(shop, 10)
        stage(shop, "wl-1")
        seal(shop, "wl-1")
        shop.do(AuditRack, unit_ids=(shop.record(Unit, "wl-1").id, shop.record(Unit, "wl-5").id))
        shop.do(ScrapUnit, unit_id=shop.record(Unit, "wl-4").id, why="crushed", parts=fates(shop, "wl-4", SCRAP))
        told = {one.name: one.number for one in page_of(closed(shop)).figures}
        with store.reading() as reader:
            found = readiness(reader, house(), shop.moment)
        assert labels(found.sealed) == {shop.names["wl-1"]}
        assert (told["Rack audits"], told["Issued"], told["Ready and sealed for Day"]) == ("1", "0", "1")
        assert check(store) == []


def test_the_first_page_of_all_counts_from_the_first_entry(own_shop: Shop) -> None:
    """What was done before the shift began is told on the first page; after free days the next goes on from there."""
    with own_shop.store.reading() as reader:
        began = reader.entries(count=1, before=2).entries[0].moment
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 13)
    first = closed(own_shop)
    assert first.began_at == began
    assert began < start_of(own_shop)
    assert numbers(first)["Issued"] == "1"
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-1").id)
    later(own_shop, 72)
    second = closed(own_shop)
    assert second.began_at == first.ended_at
    assert numbers(second)["Returned"] == "1"


def test_a_list_for_a_role_is_seen_by_that_role_only(own_shop: Shop) -> None:
    """The administrator's list is neither named nor opened for an attendant, nor while nobody is signed on."""
    only = {one.id: one.who for one in shift_lists().values() if one.who}
    assert "administrator" in only
    with own_shop.store.reading() as reader:
        for roles in ("", "attendant", "attendant,bench technician"):
            page = shift_page(reader, house(), "administrator", own_shop.moment, roles)
            assert page.open == "out"
            assert not {id_ for id_, _, _ in page.titles} & {id_ for id_, who in only.items() if Role.PROGRAM in who}
        page = shift_page(reader, house(), "administrator", own_shop.moment, "attendant,program administrator")
        assert page.open == "administrator"
        whole = shift_page(reader, house(), "administrator", own_shop.moment)
        assert {id_ for id_, _, _ in whole.titles} == set(shift_lists())
        assert place(reader, house(), "shift", "administrator", own_shop.moment).open == "out"  # type: ignore[attr-defined]


def test_the_fleet_is_read_once_for_all_lists(own_shop: Shop) -> None:
    """The page of the shift reads the units once, whatever rests on them, and says the same as each list alone."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    later(own_shop, 14)
    moment = own_shop.moment
    with own_shop.store.reading() as reader:
        with counting(own_shop.store) as asked:
            page = shift_page(reader, house(), "out", moment)
        whole = [sql for sql in asked if 'FROM "fitted"' in sql and '"removed_at" IS NULL' in sql]
        assert len(whole) == 1, whole
        alone = tuple(
            (one.id, one.title, one.count(reader, house(), moment) if one.count else None)
            for one in shift_lists().values()
        )
        assert page.titles == alone
        assert page.rows == shift_lists()["out"].read(reader, house(), moment)
    later(own_shop, 1)
    own_shop.do(TakeBack, unit_id=own_shop.record(Unit, "wl-1").id)
    with own_shop.store.reading() as reader:
        assert shift_page(reader, house(), "out", own_shop.moment).rows.rows == ()
