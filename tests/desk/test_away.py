"""Units that are missing, stolen, at repair or lent: what scripts do not reach, and what stands on the list."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.hold import CRUSHED, choosable
from cribdesk.crib.records import Away, AwayKind, Person, Unit, Where
from cribdesk.crib.refusal import AlreadyOut, IsAway, MayNotIssue, NotAway, NotReady, WrongFigure
from cribdesk.desk.away import Arrive, ArrivedThere, Found, Lend, MarkMissing, SendOut, is_their_counter
from cribdesk.desk.counter import Counter
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.lookup import unit_card
from cribdesk.desk.operation import Context
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts_away import RepairNote
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.shift_lists import shift_lists
from cribdesk.desk.unit import MoveUnit
from tests.desk.operating import hand_out, issue_fields, later
from tests.desk.refused import refused
from tests.desk.shop import Shop, house, passed

REPAIR: dict[str, Any] = {
    "goes_to": "Feldner Repair", "wrong": "fan hums", "cleaned_by": "Rhea Castel", "cleaned_how": "wiped and rinsed",
    "cleaned_on": date(2026, 11, 25), "due_on": date(2026, 12, 4),
}  # fmt: skip
LENT = {"goes_to": "South crib", "due_on": date(2026, 12, 4)}


def away_of(shop: Shop, name: str) -> Away | None:
    """What keeps a unit away."""
    unit = shop.record(Unit, name)
    with shop.store.reading() as reader:
        return reader.first(Away, unit_id=unit.id, ended_at=None)


def bench(shop: Shop, name: str) -> None:
    """A bench inspection passed, a little later."""
    later(shop, 0.1)
    shop.inspect(name)


def test_missing_is_recorded_once_with_when_and_by_whom(own_shop: Shop) -> None:
    """The record says since when and by whom; a second time it is refused, stolen after missing is not."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(MarkMissing, unit_id=unit.id, said="not on the rack")
    away = away_of(own_shop, "wl-1")
    assert away is not None
    assert (away.kind, away.detail, away.by_id) == (AwayKind.MISSING, "not on the rack", own_shop.clerk_id)
    assert away.since == own_shop.moment
    with refused(own_shop, IsAway, "missing already"):
        own_shop.do(MarkMissing, unit_id=unit.id)
    own_shop.do(MarkMissing, unit_id=unit.id, stolen=True)
    with own_shop.store.reading() as reader:
        first, second = reader.find(Away, unit_id=unit.id)
    assert (first.ended_how, second.kind, second.ended_at) == ("then stolen", AwayKind.STOLEN, None)
    with refused(own_shop, IsAway, "stolen already"):
        own_shop.do(MarkMissing, unit_id=unit.id, stolen=True)


def test_found_is_for_what_is_missing_and_on_nobodys_name(own_shop: Shop) -> None:
    """A unit on the rack is not found; one in somebody's hands is taken back."""
    unit = own_shop.record(Unit, "wl-1")
    with refused(own_shop, NotAway, "not missing"):
        own_shop.do(Found, unit_id=unit.id)
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    own_shop.do(MarkMissing, unit_id=unit.id)
    with refused(own_shop, AlreadyOut):
        own_shop.do(Found, unit_id=unit.id)


def test_what_was_written_down_before_such_records_still_needs_the_bench(own_shop: Shop) -> None:
    """A unit that an older program made missing gets its record as it turns up, and is not ready by that."""
    unit, where_from = own_shop.record(Unit, "wl-1"), context(own_shop)
    with own_shop.store.work() as work:
        work.take(unit)
        work.save(replace(unit, where=Where.MISSING))
        Found(operation_id=own_shop.tokens(), unit_id=unit.id).run(work, where_from)
        away = work.first(Away, unit_id=unit.id, ended_at=None)
        assert away is not None
        assert away.kind is AwayKind.MISSING


def context(shop: Shop) -> Context:
    """Where and when an operation runs."""
    with shop.store.reading() as reader:
        clerk = reader.get(Person, shop.clerk_id or 0)
    return Context(house(), shop.moment, "Office", clerk)


def test_its_last_wearer_does_not_get_it_straight_back(own_shop: Shop) -> None:
    """The house rule of one's own unit ends where it was missing meanwhile: only the bench brings it back."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(MarkMissing, unit_id=unit.id)
    later(own_shop, 2)
    own_shop.do(TakeBack, unit_id=unit.id)
    with refused(own_shop, MayNotIssue, "Not ready"):
        own_shop.do(IssueUnit, **issue_fields(own_shop, "wl-1", "Wronecka", "pack-1", "pre-use"))


def test_a_run_begun_before_it_went_missing_proves_nothing(own_shop: Shop) -> None:
    """Two counters: one inspects it while the other writes it down as missing; that pass does not count."""
    unit = own_shop.record(Unit, "wl-1")
    run = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter"])
    own_shop.moment += timedelta(minutes=1)
    own_shop.do(MarkMissing, unit_id=unit.id)
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    assert away_of(own_shop, "wl-1") is not None
    assert own_shop.record(Unit, "wl-1").where is Where.BENCH
    bench(own_shop, "wl-1")
    assert away_of(own_shop, "wl-1") is None
    assert own_shop.record(Unit, "wl-1").where is Where.RACK


def test_a_meter_out_of_calibration_brings_nothing_back(own_shop: Shop) -> None:
    """The pass stands in the record; the unit stays away by the rules."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(Lend, unit_id=unit.id, **LENT)
    own_shop.do(Arrive, unit_id=unit.id)
    later(own_shop, 0.1)
    run = passed(unit, "bench", own_shop.moment, own_shop.clerk_label, own_shop.names["meter-old"])
    own_shop.do(FinishInspection, unit_id=unit.id, run_made=run)
    assert away_of(own_shop, "wl-1") is not None


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("goes_to", " ", "Goes to"), ("wrong", "", "What is wrong"), ("cleaned_by", "", "Decontaminated by"),
        ("cleaned_how", "  ", "Decontaminated how"), ("cleaned_on", date(2026, 11, 26), "still to come"),
        ("due_on", date(2026, 11, 24), "is past"), ("loaner", "itself", "cannot stand in"),
    ],
)  # fmt: skip
def test_nothing_goes_for_repair_without_its_note(own_shop: Shop, field: str, value: Any, words: str) -> None:
    """Where, what, by whom, how, when and until when: each is needed, and none may be impossible."""
    unit = own_shop.record(Unit, "wl-1")
    said = REPAIR | {field: unit.label if value == "itself" else value}
    with refused(own_shop, WrongFigure, words):
        own_shop.do(SendOut, unit_id=unit.id, **said)


def test_the_note_says_what_the_record_says(own_shop: Shop) -> None:
    """It prints as the unit leaves; a loaner of ours is known by its label, one of theirs by words."""
    unit, other = own_shop.record(Unit, "wl-1"), own_shop.record(Unit, "wl-2")
    receipt = own_shop.do(SendOut, unit_id=unit.id, **REPAIR, loaner=other.label)
    assert receipt.papers == (("repair_note", unit.label),)
    away = away_of(own_shop, "wl-1")
    assert away is not None
    assert away.loaner_id == other.id
    with own_shop.store.reading() as reader:
        note = record_for(reader, house(), "repair_note", unit.label, own_shop.moment, 1)
    assert isinstance(note, RepairNote)
    assert (note.wrong, note.due_back, note.loaner, note.serial) == (
        "fan hums", date(2026, 12, 4), other.label, unit.serial
    )  # fmt: skip
    assert note.decontaminated == "wiped and rinsed, by Rhea Castel, 25 Nov 2026"
    with own_shop.store.reading() as reader, pytest.raises(LookupError, match="never sent"):
        record_for(reader, house(), "repair_note", other.label, own_shop.moment, 1)
    with pytest.raises(LookupError, match="no unit"), own_shop.store.reading() as reader:
        record_for(reader, house(), "repair_note", "U9999999", own_shop.moment, 1)


def test_what_is_away_or_out_leaves_no_second_time(own_shop: Shop) -> None:
    """Neither for repair nor to another crib; what is here does not arrive."""
    hand_out(own_shop, "wl-1", "Wronecka", "pack-1")
    out, gone = own_shop.record(Unit, "wl-1"), own_shop.record(Unit, "wl-2")
    own_shop.do(SendOut, unit_id=gone.id, **REPAIR)
    for operation, said in ((SendOut, REPAIR), (Lend, LENT)):
        with refused(own_shop, AlreadyOut):
            own_shop.do(operation, unit_id=out.id, **said)
        with refused(own_shop, IsAway):
            own_shop.do(operation, unit_id=gone.id, **said)
    here = own_shop.record(Unit, "wl-3")
    with refused(own_shop, NotAway, "not sent out"):
        own_shop.do(Arrive, unit_id=here.id)
    for one in (here, gone):
        with refused(own_shop, NotAway, "not lent"):
            own_shop.do(ArrivedThere, unit_id=one.id, said="they")


def test_only_a_ready_unit_is_lent(own_shop: Shop) -> None:
    """Never inspected: it stays. Lent to nobody, or back yesterday: refused."""
    with refused(own_shop, NotReady, "Only a ready unit is lent"):
        own_shop.do(Lend, unit_id=own_shop.record(Unit, "wl-5").id, **LENT)
    unit = own_shop.record(Unit, "wl-1")
    with refused(own_shop, WrongFigure, "which crib"):
        own_shop.do(Lend, unit_id=unit.id, **LENT | {"goes_to": " "})
    with refused(own_shop, WrongFigure, "is past"):
        own_shop.do(Lend, unit_id=unit.id, **LENT | {"due_on": date(2026, 11, 24)})


def test_it_arrives_by_a_scan_at_a_counter_of_that_crib(own_shop: Shop) -> None:
    """A counter whose name begins with the crib's is theirs; anywhere else somebody's word is needed."""
    assert is_their_counter("South Crib 2", "south crib")
    assert not is_their_counter("Southern crib", "South")
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(Lend, unit_id=unit.id, **LENT)
    with refused(own_shop, WrongFigure, "say who there has it"):
        own_shop.do(ArrivedThere, unit_id=unit.id)
    theirs = Counter(own_shop.store, house(), lambda: own_shop.moment, "South crib 1")
    receipt = theirs.do(ArrivedThere(operation_id=own_shop.tokens(), unit_id=unit.id), own_shop.clerk_id)
    assert receipt.sentence.endswith("scanned there.")
    with refused(own_shop, IsAway, "at South crib already"):
        own_shop.do(ArrivedThere, unit_id=unit.id, said="the attendant there")


def test_the_card_and_the_list_say_it_in_words(own_shop: Shop) -> None:
    """Since when, where, due back; overdue first, and each with the button that ends it."""
    names = ("wl-1", "wl-2", "wl-3")
    lost, repair, lent = (own_shop.record(Unit, name) for name in names)
    own_shop.do(MarkMissing, unit_id=lost.id)
    own_shop.do(SendOut, unit_id=repair.id, **REPAIR)
    own_shop.do(Lend, unit_id=lent.id, **LENT | {"due_on": date(2026, 11, 30)})
    later(own_shop, 24 * 7)
    with own_shop.store.reading() as reader:
        words = [unit_card(reader, house(), one.id, own_shop.moment).where_words for one in (lost, repair, lent)]
        page = shift_lists()["away"].read(reader, house(), own_shop.moment)
        assert shift_lists()["away"].count is not None
        assert shift_lists()["away"].count(reader, house(), own_shop.moment) == 3
    assert words[0].startswith("missing since")
    assert words[1].startswith("at repair with Feldner Repair since")
    assert words[1].endswith("due back 4 Dec 2026")
    assert words[2].startswith("lent to South crib since")
    assert words[2].endswith("in transit, was due back 30 Nov 2026")
    assert [row.label for row in page.rows] == [lent.label, repair.label, lost.label]
    assert page.rows[0].bold
    assert page.lead == "3 units away, 1 overdue."
    assert [[one.id for one in row.actions] for row in page.rows] == [
        ["arrive", "arrived-there"], ["arrive", "repair_note"], ["found"],
    ]  # fmt: skip


def test_scrapping_ends_it(own_shop: Shop) -> None:
    """What the repairer writes off is scrapped where it is, and stands on no list any more."""
    unit = own_shop.record(Unit, "wl-1")
    own_shop.do(SendOut, unit_id=unit.id, **REPAIR)
    own_shop.do(MoveUnit, unit_id=unit.id, where=Where.SCRAPPED, why="not worth it")
    assert away_of(own_shop, "wl-1") is None
    with own_shop.store.reading() as reader:
        assert shift_lists()["away"].read(reader, house(), own_shop.moment).rows == ()


def test_every_model_can_be_crushed_and_nobody_picks_robbed() -> None:
    """A reason common to all; what only an operation places stands on no list to choose from."""
    for model in house().models.values():
        codes = [one.code for one in choosable(model)]
        assert CRUSHED.code in codes
        assert not {"robbed", "part-moved", "used", "inspection-not-finished"} & set(codes)
