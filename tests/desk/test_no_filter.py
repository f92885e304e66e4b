"""After 'no filter was in it': the notice, and who had the unit since its last good inspection."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from cribdesk.crib.records import Area, Custody, Inspection, Notice, NoticeKind, Unit
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.inspection import FinishInspection
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.shift_lists import shift_lists, shift_page
from cribdesk.desk.unfiltered import WithoutFilter, _last_good, _overlaps, without_filter
from cribdesk.procedure.answers import Found, Measured, RemedyDone
from cribdesk.procedure.model import NO_FILTER
from cribdesk.procedure.record import from_json, to_json
from cribdesk.procedure.run import Run, answer, page, start
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.shop import Shop, good_answer, house, passed


def without(shop: Shop, name: str) -> Run:
    """A bench run whose airflow is too good, and what is found behind the door."""
    unit = shop.record(Unit, name)
    model = house().models[unit.model]
    procedure = house().procedure_of(model, "bench")
    assert procedure is not None
    run = start(procedure, model, shop.moment, shop.clerk_label)
    while page(run).kind != "remedy":
        meter = shop.names["meter"]
        given = Measured(240, meter) if page(run).kind == "reading" else good_answer(run, meter)
        run = answer(run, given, shop.moment, 2.0)
    return answer(run, Found(NO_FILTER), shop.moment, 2.0)


def find_it(shop: Shop, name: str = "wl-1") -> Receipt:
    """It is found at the bench now."""
    return shop.do(FinishInspection, unit_id=shop.record(Unit, name).id, run_made=without(shop, name))


def listed(shop: Shop) -> tuple[WithoutFilter, ...]:
    """What the list rests on."""
    with shop.store.reading() as reader:
        return without_filter(reader)


def out_and_back(shop: Shop, person: str, pack: str, worn: float, name: str = "wl-1") -> None:
    """Handed out, worn, taken back, its hours said."""
    hand_out(shop, name, person, pack)
    later(shop, worn)
    shop.do(TakeBack, unit_id=shop.record(Unit, name).id)
    shop.do(CompleteReturn, custody_id=custody_of(shop, name).id, worn_hours=worn, battery_back=True)


def cleaned(shop: Shop, name: str = "wl-1") -> None:
    """Cleaned after its wearer."""
    unit = shop.record(Unit, name)
    made = passed(unit, "cleaning", shop.moment, shop.clerk_label, shop.names["meter"])
    shop.do(FinishCleaning, unit_ids=(unit.id,), run_made=made)


def names(finding: WithoutFilter) -> list[str]:
    """Who had it, newest first."""
    return [one.person.name for one in finding.worn]


def test_what_was_found_ends_the_run_whatever_could_be_mended(own_shop: Shop) -> None:
    """It fails with the filter's hold reason, keeps the finding in its record, and reads back the same."""
    run = without(own_shop, "wl-1")
    assert (run.verdict, run.fault) == ("fail", "filter")
    assert run.fault_words.startswith("No filter was in it: airflow 240 L/min.")
    kept = from_json(to_json(run))
    assert [one.finding for one in kept.asked if one.finding] == [NO_FILTER]
    assert kept.asked[-1].answer == "No filter was in it"


def test_an_inspection_with_a_meter_out_of_calibration_is_no_good_one(own_shop: Shop) -> None:
    """Who had it before such a pass is listed too: only a reading that counts says that the filter was in."""
    unit = own_shop.record(Unit, "wl-1")
    with own_shop.store.reading() as reader:
        first = reader.latest(Inspection, unit_id=unit.id)
    assert first is not None
    hours = [first.ended_at + timedelta(hours=number) for number in range(5)]
    good, bad, found = (
        replace(first, started_at=hours[number], ended_at=hours[number], instrument_good=number != 3)
        for number in (1, 3, 4)
    )
    assert _last_good([good, bad], found) == hours[1]
    assert _last_good([bad], found) is None
    assert _last_good([good, found], good) == hours[1]  # what was made later is none before


def test_only_where_the_procedure_asks_for_it(own_shop: Shop) -> None:
    """At another remedy, or with another finding, the answer does not fit and the run stays."""
    unit = own_shop.record(Unit, "wl-1")
    model = house().models[unit.model]
    procedure = house().procedure_of(model, "bench")
    assert procedure is not None
    run = start(procedure, model, own_shop.moment, own_shop.clerk_label)
    with pytest.raises(ValueError, match="does not answer the step"):
        answer(run, Found(NO_FILTER), own_shop.moment, 2.0)
    while page(run).kind != "remedy":
        given = Measured(240, "M000001V") if page(run).kind == "reading" else good_answer(run, "M000001V")
        run = answer(run, given, own_shop.moment, 2.0)
    with pytest.raises(ValueError, match="does not answer the step"):
        answer(run, Found("two-filters"), own_shop.moment, 2.0)
    again = answer(run, RemedyDone(), own_shop.moment, 2.0)
    assert again.verdict is None


def test_the_operation_that_fails_it_writes_the_notice(own_shop: Shop) -> None:
    """One notice, of the unit and the inspection, in the same entry; no name stands in it."""
    out_and_back(own_shop, "Wronecka", "pack-1", 6)
    find_it(own_shop)
    with own_shop.store.reading() as reader:
        (notice,) = reader.find(Notice)
        (entry,) = reader.entries(count=1).entries
    assert notice.kind is NoticeKind.NO_FILTER
    assert notice.unit_id == own_shop.record(Unit, "wl-1").id
    assert {"notice", "hold", "inspection"} <= {table for table, _ in entry.rows}
    assert "Wronecka" not in notice.detail
    assert entry.sentence.endswith("Who had it since its last good inspection is listed.")


def test_everybody_since_the_last_good_inspection_and_nobody_before(own_shop: Shop) -> None:
    """Nkemba had it before it passed, Wronecka and Verrani after; each with area, hours, from and to."""
    out_and_back(own_shop, "Nkemba", "pack-1", 2)
    cleaned(own_shop)
    later(own_shop, 0.1)
    own_shop.inspect("wl-1")
    out_and_back(own_shop, "Wronecka", "pack-2", 3)
    own_shop.moment = own_shop.moment.replace(minute=30)
    (before,) = (one for one in [custody_of(own_shop, "wl-1")])
    find_it(own_shop)
    (finding,) = listed(own_shop)
    assert names(finding) == ["Łucja Wronecka"]
    assert finding.worn[0].hours == 3
    assert finding.worn[0].area == own_shop.record(Area, "bay-3")
    assert finding.worn[0].custody.id == before.id
    assert finding.since is not None
    assert finding.since <= before.issued_at


def test_a_unit_never_passed_lists_all_who_ever_had_it(own_shop: Shop) -> None:
    """Nothing is left out where no good inspection bounds it, and nobody is invented where nobody had it."""
    find_it(own_shop, "wl-5")
    (finding,) = listed(own_shop)
    assert (finding.since, finding.worn) == (None, ())
    page_ = shown(own_shop)
    assert page_[0].what.startswith(f"{own_shop.names['wl-5']}: no filter was in it")
    assert page_[0].detail == "Nobody had it ever, no good inspection before it"


def shown(shop: Shop) -> tuple:  # type: ignore[type-arg]
    """The rows of the list."""
    with shop.store.reading() as reader:
        return shift_page(reader, house(), "no-filter", shop.moment).rows.rows


def test_who_gets_it_later_with_its_filter_in_is_not_listed(own_shop: Shop) -> None:
    """What happens after the finding has nothing to do with it."""
    find_it(own_shop)
    (finding,) = listed(own_shop)
    custody = Custody(
        unit_id=finding.unit.id, person_id=own_shop.clerk_id or 0, issued_at=later_than(finding), issued_by=1
    )
    assert not _overlaps(custody, finding.since, finding.found_at)
    assert _overlaps(replace(custody, issued_at=finding.since or finding.found_at), finding.since, finding.found_at)
    ended = replace(custody, issued_at=datetime.min.replace(tzinfo=finding.found_at.tzinfo), returned_at=finding.since)
    assert not _overlaps(ended, finding.since, finding.found_at)


def later_than(finding: WithoutFilter) -> datetime:
    """A moment after it was found."""
    return finding.found_at.replace(microsecond=finding.found_at.microsecond, hour=finding.found_at.hour + 1)


def test_the_list_names_each_and_says_who_decides(own_shop: Shop) -> None:
    """Person, area, from and to, hours; the hygienist and the physician decide, the program finds nothing."""
    out_and_back(own_shop, "Wronecka", "pack-1", 6)
    find_it(own_shop)
    with own_shop.store.reading() as reader:
        found = shift_page(reader, house(), "no-filter", own_shop.moment)
    assert found.rows.lead == "1 unit found without a filter, 1 person had one of them."
    head, row = found.rows.rows
    assert head.actions[0].id == "inspection_record"
    assert (row.what, row.label) == ("Łucja Wronecka", own_shop.names["Wronecka"])
    assert "Plate shop, bay 3; today 05:02 to today 11:02" in row.detail
    assert "6\u00a0h worn" in row.detail
    assert "industrial hygienist" in found.rows.caution
    assert "finds nothing more" in found.rows.caution
    assert {id_: many for id_, _, many in found.titles}["no-filter"] == 1
    assert shift_lists()["no-filter"].order == 82


