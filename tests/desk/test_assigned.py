"""A unit assigned to one person for weeks: its issue, the wearer's own checks, its bench inspection, carriers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cribdesk.crib.reasons import cautions, reasons, stops
from cribdesk.crib.records import (
    Area,
    Battery,
    Carried,
    ClearanceKind,
    Custody,
    Hold,
    OwnCheck,
    Person,
    RunEnd,
    Slip,
    Unit,
    Where,
)
from cribdesk.crib.refusal import (
    AlreadyOnFile,
    IsCalledIn,
    MayNotCarry,
    NotAssigned,
    WrongBadge,
    WrongFigure,
)
from cribdesk.desk.entry_form import Asked, FormTroubles
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.facts import IssueIds, facts_of
from cribdesk.desk.house import House
from cribdesk.desk.issue import IssueUnit, PrepareSlip
from cribdesk.desk.own_check import CheckOwn, EnterOwnChecks
from cribdesk.desk.people import AddClearance, ChangePerson
from cribdesk.desk.printing_checks import issue_slip
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.shift_lists.assigned import ENTRIES_AT_ONCE, LIST, assigned
from cribdesk.desk.swap import SwapBattery
from tests.desk.operating import custody_of, hand_out, later
from tests.desk.shop import Shop, house, passed


def assign_fields(
    shop: Shop, unit_name: str, person_name: str, pack_name: str, kind: str = "hand-over"
) -> dict[str, Any]:
    """What an assignment asks for, the check passed and every caution shown."""
    unit, person = shop.record(Unit, unit_name), shop.record(Person, person_name)
    pack, area = shop.record(Battery, pack_name), shop.record(Area, "bay-3")
    ids = IssueIds(unit.id, person.id, pack.id, area.id, None, assigned=True)
    with shop.store.reading() as reader:
        found = reasons(facts_of(reader, house(), ids, shop.moment), shop.moment)
    return {
        "unit_id": unit.id,
        "person_id": person.id,
        "battery_id": pack.id,
        "area_id": area.id,
        "due_at": None,
        "assigned": True,
        "run_made": passed(unit, kind, shop.moment, shop.clerk_label, shop.names["meter"]),
        "shown": tuple(one.key for one in cautions(found)),
    }


def assign(shop: Shop, unit: str = "wl-1", person: str = "Wronecka", pack: str = "pack-1", **more: Any) -> None:
    """The unit is assigned."""
    shop.do(IssueUnit, **assign_fields(shop, unit, person, pack) | more)


def back(shop: Shop, unit: str = "wl-1") -> None:
    """It comes in, and all is said."""
    shop.do(TakeBack, unit_id=shop.record(Unit, unit).id)
    custody = custody_of(shop, unit)
    assert custody.worn_hours is not None
    shop.do(
        CompleteReturn, custody_id=custody.id, worn_hours=custody.worn_hours, battery_back=True,
        battery_end=RunEnd.STOPPED,
    )  # fmt: skip


def own(shop: Shop, unit: str = "wl-1", person: str = "Wronecka", **more: Any) -> Any:
    """The wearer's own check at the station."""
    return shop.do(
        CheckOwn, unit_id=shop.record(Unit, unit).id, person_id=shop.record(Person, person).id, **more
    )


def checks_of(shop: Shop) -> list[OwnCheck]:
    """Every own check of the store."""
    with shop.store.reading() as reader:
        return reader.find(OwnCheck)


def test_an_assigned_unit_has_no_time_of_return_and_is_never_overdue(own_shop: Shop) -> None:
    """It stands as assigned, whatever time passes; nobody holds anything overdue."""
    assign(own_shop)
    custody, unit = custody_of(own_shop, "wl-1"), own_shop.record(Unit, "wl-1")
    assert (custody.assigned, custody.due_at, unit.where) == (True, None, Where.ASSIGNED)
    later(own_shop, 24 * 20)
    with own_shop.store.reading() as reader:
        other = own_shop.record_in(reader, Unit, "wl-2")
        facts = facts_of(reader, house(), IssueIds(other.id, custody.person_id), own_shop.moment)
        (kept,) = assigned(reader, house(), own_shop.moment)
    assert [held.overdue for held in facts.holds_now] == [False]
    assert not kept.member.overdue


@pytest.mark.parametrize("wrong", [{"assigned": False}, {"due": True}])
def test_a_time_of_return_or_none(own_shop: Shop, wrong: dict[str, bool]) -> None:
    """None for one that is not assigned, and one for one that is: neither goes out."""
    fields = assign_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    if "due" in wrong:
        fields["due_at"] = own_shop.moment + timedelta(days=1)
    else:
        fields["assigned"] = False
    with pytest.raises(WrongFigure, match="time of return"):
        own_shop.do(IssueUnit, **fields)


def test_it_is_planned_for_until_its_bench_inspection_or_the_end_of_the_badge(own_shop: Shop) -> None:
    """30 days from the inspection by the site's rule, the model's days where they are fewer; 7 h a day of wear."""
    unit, person = own_shop.record(Unit, "wl-1"), own_shop.record(Person, "Wronecka")
    ids = IssueIds(unit.id, person.id, assigned=True)

    def horizon(where: House) -> tuple[date, float]:
        with own_shop.store.reading() as reader:
            facts = facts_of(reader, where, ids, own_shop.moment)
        return facts.due_at.astimezone(where.zone).date(), facts.planned_hours

    assert horizon(house()) == (date(2026, 12, 25), 31 * 7.0)
    sooner = replace(house(), settings={**house().settings, "assigned_inspection_days": "10"})
    assert horizon(sooner)[0] == date(2026, 12, 5)
    longer = replace(house(), settings={**house().settings, "assigned_inspection_days": "90"})
    assert horizon(longer)[0] == date(2026, 12, 25)
    ends(own_shop, "Wronecka", ends_on=date(2026, 12, 1))
    assert horizon(house())[0] == date(2026, 12, 1)
    with own_shop.store.reading() as reader:
        assert not stops(reasons(facts_of(reader, house(), ids, own_shop.moment), own_shop.moment))


def ends(shop: Shop, name: str, **changes: Any) -> None:
    """A person's record changes."""
    person = shop.record(Person, name)
    fields = {
        "full_name": person.name, "trade": person.trade, "crew": person.crew, "employer": person.employer,
        "ends_on": person.ends_on, "active": person.active, "roles": (),
    }  # fmt: skip
    shop.do(ChangePerson, person_id=person.id, **fields | changes)


# Own checks.


def test_a_good_own_check_is_kept(own_shop: Shop) -> None:
    """By whom, of which unit, at the station; nothing else changes."""
    assign(own_shop)
    unit = own_shop.record(Unit, "wl-1")
    own(own_shop)
    (check,) = checks_of(own_shop)
    assert (check.flow_good, check.alarm_good, check.note, check.source) == (True, True, "", "check station")
    assert (check.unit_id, check.custody_id) == (unit.id, custody_of(own_shop, "wl-1").id)
    assert own_shop.record(Unit, "wl-1") == unit


@pytest.mark.parametrize(
    ("what", "reasons_"),
    [
        ({"flow_good": False}, ["airflow"]),
        ({"alarm_good": False}, ["alarm"]),
        ({"flow_good": False, "alarm_good": False}, ["airflow", "alarm"]),
        ({"fault": "smells of smoke"}, ["other"]),
    ],
)
def test_one_that_is_not_good_holds_the_unit_at_once(
    own_shop: Shop, what: dict[str, Any], reasons_: list[str]
) -> None:
    """A hold for what was not good, its call-in slip, and the words; the unit is still with its wearer."""
    assign(own_shop)
    receipt = own(own_shop, **what)
    with own_shop.store.reading() as reader:
        holds = reader.find(Hold, released_at=None)
    assert sorted(hold.reason for hold in holds) == reasons_
    assert receipt.papers == tuple(("call_in_slip", hold.tag) for hold in holds)
    assert receipt.sentence.startswith("Do not use ")
    assert own_shop.record(Unit, "wl-1").where is Where.ASSIGNED
    with pytest.raises(IsCalledIn, match="on hold"):
        own(own_shop)
    own(own_shop, **what)  # that it is still not good is kept, without a second hold
    assert len(checks_of(own_shop)) == 2


def test_own_checks_that_are_not_taken(own_shop: Shop) -> None:
    """Not out; out until a time; somebody else's; past its bench inspection; the training ended meanwhile."""
    with pytest.raises(NotAssigned):
        own(own_shop)
    hand_out(own_shop, "wl-2", "Nkemba", "pack-2")
    with pytest.raises(NotAssigned, match="until a time"):
        own(own_shop, "wl-2", "Nkemba")
    assign(own_shop)
    with pytest.raises(WrongBadge):
        own(own_shop, person="Nkemba")
    later(own_shop, 24 * 30)
    own(own_shop)  # the day of its bench inspection is the last
    later(own_shop, 24)
    with pytest.raises(IsCalledIn, match="bench inspection was due"):
        own(own_shop)
    with pytest.raises(IsCalledIn):
        own_shop.do(
            SwapBattery, unit_id=own_shop.record(Unit, "wl-1").id, flat_id=own_shop.record(Battery, "pack-1").id,
            battery_id=own_shop.record(Battery, "pack-3").id, ended=RunEnd.FLAT,
        )  # fmt: skip
    own(own_shop, flow_good=False)
    assert len(checks_of(own_shop)) == 2
    later(own_shop, 24 * 60)
    with pytest.raises(IsCalledIn, match="on hold"):
        own(own_shop)


def test_the_grid_of_a_slip_is_entered_day_by_day(own_shop: Shop) -> None:
    """Several days at once, each at a moment of its day inside the custody; a day only once, none outside."""
    assign(own_shop)
    custody = custody_of(own_shop, "wl-1")
    later(own_shop, 24 * 4)
    days = (date(2026, 11, 25), date(2026, 11, 26), date(2026, 11, 29))
    own_shop.do(EnterOwnChecks, custody_id=custody.id, good_days=days)
    found = checks_of(own_shop)
    assert tuple(house().today(one.at) for one in found) == days
    assert {one.source for one in found} == {"slip"}
    assert all(custody.issued_at <= one.at <= own_shop.moment for one in found)
    with pytest.raises(AlreadyOnFile):
        own_shop.do(EnterOwnChecks, custody_id=custody.id, good_days=days[:1])
    for outside in (date(2026, 11, 24), date(2026, 11, 30)):
        with pytest.raises(WrongFigure, match="not assigned then"):
            own_shop.do(EnterOwnChecks, custody_id=custody.id, good_days=(outside,))
    with pytest.raises(WrongFigure, match="at least one"):
        own_shop.do(EnterOwnChecks, custody_id=custody.id)
    with pytest.raises(WrongFigure, match="which day"):
        own_shop.do(EnterOwnChecks, custody_id=custody.id, good_days=(date(2026, 11, 27),), flow_good=False)
    bad = {"bad_day": date(2026, 11, 27), "flow_good": False}
    with pytest.raises(WrongFigure, match="each day once"):
        own_shop.do(EnterOwnChecks, custody_id=custody.id, good_days=(date(2026, 11, 27),), **bad)
    assert len(checks_of(own_shop)) == 3


def test_a_day_not_good_on_the_slip_holds_the_unit_in_hand(own_shop: Shop) -> None:
    """Handed in with the unit, the slip tells of a silent alarm: the unit is held and its tag prints."""
    assign(own_shop)
    later(own_shop, 24 * 2)
    back(own_shop)
    custody = custody_of(own_shop, "wl-1")
    receipt = own_shop.do(
        EnterOwnChecks, custody_id=custody.id, good_days=(date(2026, 11, 25),), bad_day=date(2026, 11, 26),
        alarm_good=False,
    )  # fmt: skip
    with own_shop.store.reading() as reader:
        (hold,) = reader.find(Hold, released_at=None)
    assert (hold.reason, receipt.papers) == ("alarm", (("tag", hold.tag),))
    own_shop.inspect("wl-2")
    hand_out(own_shop, "wl-2", "Nkemba", "pack-2")
    other = custody_of(own_shop, "wl-2")
    with pytest.raises(NotAssigned):
        own_shop.do(EnterOwnChecks, custody_id=other.id, good_days=(date(2026, 11, 27),))


def test_the_form_of_the_grid(own_shop: Shop) -> None:
    """It offers the days that are not entered yet, newest first, and says what is missing."""
    assign(own_shop)
    later(own_shop, 24 * 2)
    label = own_shop.label("wl-1")

    def asked(reader: Any) -> Asked:
        return Asked(reader, house(), own_shop.moment, label)

    with own_shop.store.reading() as reader:
        names = [one.name for one in form_of(asked(reader), "own-checks").fields]
        assert names[:4] == ["about", "2026-11-27", "2026-11-26", "2026-11-25"]
        with pytest.raises(FormTroubles, match="at least one day"):
            operation_of(asked(reader), "own-checks", {"about": label}, own_shop.tokens())
        values = {"about": label, "bad": "2026-11-26", "what": "else"}
        with pytest.raises(FormTroubles, match="needed"):
            operation_of(asked(reader), "own-checks", values, own_shop.tokens())
        values = {"about": label, "2026-11-27": "yes", "2026-11-26": "yes", "bad": "2026-11-26", "what": "both"}
        made = operation_of(asked(reader), "own-checks", values, own_shop.tokens())
    assert isinstance(made, EnterOwnChecks)
    assert (made.good_days, made.bad_day) == ((date(2026, 11, 27),), date(2026, 11, 26))
    assert (made.flow_good, made.alarm_good, made.fault) == (False, False, "")
    own_shop.do(EnterOwnChecks, custody_id=made.custody_id, good_days=made.good_days)
    with own_shop.store.reading() as reader:
        names = [one.name for one in form_of(asked(reader), "own-checks").fields]
    assert "2026-11-27" not in names


# The list.


def rows_of(shop: Shop) -> list[tuple[str, str, str]]:
    """(sign, label, words) of the list, in its order."""
    with shop.store.reading() as reader:
        page = LIST.read(reader, house(), shop.moment)
        assert LIST.count is not None
        assert LIST.count(reader, house(), shop.moment) == sum(row.sign != "out" for row in page.rows)
    return [(row.sign, row.label, row.detail) for row in page.rows]


def test_the_list_says_the_last_own_check_and_the_next_bench_inspection(own_shop: Shop) -> None:
    """Each assigned unit, and none that is out until a time."""
    assign(own_shop)
    hand_out(own_shop, "wl-2", "Nkemba", "pack-2")
    label = own_shop.label("wl-1")
    assert rows_of(own_shop) == [("out", label, "No own check yet; bench inspection by Fri 25 Dec")]
    later(own_shop, 26)
    own(own_shop)
    (row,) = rows_of(own_shop)
    assert row[2].startswith("Last own check today ")
    assert row[2].endswith(", good; bench inspection by Fri 25 Dec")


def test_trouble_stands_first(own_shop: Shop) -> None:
    """Whoever leaves, moves or lapses, and what is past its inspection, before those that are well."""
    for number, person in enumerate(("Wronecka", "Nkemba", "Verrani"), 1):
        assign(own_shop, f"wl-{number}", person, f"pack-{number}")
    assert [sign for sign, _, _ in rows_of(own_shop)] == ["out"] * 3
    later(own_shop, 1)
    ends(own_shop, "Verrani", crew="night crew")
    (first, *_) = rows_of(own_shop)
    assert first[:2] == ("caution", own_shop.label("wl-3"))
    assert first[2].startswith("Moved to another crew")
    ends(own_shop, "Nkemba", active=False)
    first, second, third = rows_of(own_shop)
    assert first[:2] == ("stop", own_shop.label("wl-2"))
    assert "no longer active" in first[2]
    assert (second[0], third[0]) == ("caution", "out")
    ends(own_shop, "Wronecka", ends_on=date(2026, 11, 30))
    words = {label: words for _, label, words in rows_of(own_shop)}
    assert words[own_shop.label("wl-1")].startswith("Leaves: the badge ends Mon 30 Nov")
    later(own_shop, 24 * 31)
    assert [sign for sign, _, _ in rows_of(own_shop)] == ["stop"] * 3
    assert all("ench inspection was due" in words for _, _, words in rows_of(own_shop))


def test_a_change_of_crew_is_found_however_long_ago(own_shop: Shop) -> None:
    """The person's record was saved long before the issue, and much happened since."""
    ends(own_shop, "Verrani", crew="day")
    assign(own_shop, "wl-3", "Verrani", "pack-3")
    id_, today = own_shop.record(Person, "Verrani").id, house().today(own_shop.moment)
    for _ in range(ENTRIES_AT_ONCE + 20):
        own_shop.do(AddClearance, person_id=id_, kind=ClearanceKind.TRAINING, given_on=today)
    ends(own_shop, "Verrani", crew="night")
    words = {label: words for _, label, words in rows_of(own_shop)}
    assert words[own_shop.label("wl-3")].startswith("Moved from day to night")


def test_what_ends_within_the_week_is_a_caution(own_shop: Shop) -> None:
    """The bench inspection that comes, and the training that ends."""
    assign(own_shop)
    later(own_shop, 24 * 24)
    assert rows_of(own_shop)[0][2].startswith("Bench inspection by ")
    assert rows_of(own_shop)[0][0] == "caution"
    back(own_shop)
    own_shop.moment = own_shop.moment.replace(year=2027, month=1, day=29)
    own_shop.inspect("wl-2")
    assign(own_shop, "wl-2", "Nkemba", "pack-2")
    (row,) = rows_of(own_shop)
    assert row[0] == "caution"
    assert "training ends" in row[2].lower()


# Carriers.


def test_a_carrier_takes_back_what_was_assigned_before(own_shop: Shop) -> None:
    """The custody is the wearer's, the carrier is on record, and the slip names both."""
    assign(own_shop)
    later(own_shop, 5)
    back(own_shop)
    fields = assign_fields(own_shop, "wl-1", "Wronecka", "pack-2", "pre-use")
    carrier = own_shop.record(Person, "Nkemba")
    own_shop.do(IssueUnit, **fields | {"carrier_id": carrier.id})
    custody = custody_of(own_shop, "wl-1")
    assert (custody.person_id, custody.acknowledged) == (own_shop.record(Person, "Wronecka").id, "carrier")
    with own_shop.store.reading() as reader:
        (carried,) = reader.find(Carried)
        slip = issue_slip(reader, house(), slip_label(reader, custody), own_shop.moment)
    assert (carried.custody_id, carried.person_id) == (custody.id, carrier.id)
    assert (slip.wearer_name, slip.carrier_name) == ("Łucja Wronecka", "Abel Nkemba")
    assert "carry it to its wearer" in slip.declaration


def slip_label(reader: Any, custody: Custody) -> str:
    """The label of the slip a unit went out with."""
    from_slip = {one.id: one.label for one in reader.find(Slip)}
    assert custody.slip_id is not None
    return str(from_slip[custody.slip_id])


def test_who_may_not_carry(own_shop: Shop) -> None:
    """Not the first time, not another wearer's, not until a time, not the wearer, not on an ended or dead badge."""
    carrier = own_shop.record(Person, "Nkemba").id

    def refused(fields: dict[str, Any], by: int = carrier, why: str = "") -> None:
        with pytest.raises(MayNotCarry, match=why):
            own_shop.do(IssueUnit, **fields | {"carrier_id": by})

    refused(assign_fields(own_shop, "wl-1", "Wronecka", "pack-1"), why="not assigned to this wearer")
    assign(own_shop)
    later(own_shop, 5)
    back(own_shop)
    fields = assign_fields(own_shop, "wl-1", "Wronecka", "pack-2", "pre-use")
    refused(fields, own_shop.record(Person, "Wronecka").id, "wearer's own")
    refused(fields, own_shop.record(Person, "Marek").id, "ended")
    ends(own_shop, "Verrani", active=False)
    fields = assign_fields(own_shop, "wl-1", "Wronecka", "pack-2", "pre-use")
    refused(fields, own_shop.record(Person, "Verrani").id, "no longer active")
    until = {"assigned": False, "due_at": own_shop.moment + timedelta(hours=6)}
    refused(fields | until, why="not assigned")
    assert custody_of(own_shop, "wl-1").returned_at is not None
    with own_shop.store.reading() as reader:
        assert reader.find(Carried) == []


# Its slip.


def test_its_slip_says_assigned_and_has_a_row_for_each_day(own_shop: Shop) -> None:
    """To the bench by the 30th day; as many rows as days until then; none on a slip with a time of return."""
    assign(own_shop)
    hand_out(own_shop, "wl-2", "Nkemba", "pack-2")
    first, second = custody_of(own_shop, "wl-1"), custody_of(own_shop, "wl-2")
    with own_shop.store.reading() as reader:
        slip = issue_slip(reader, house(), slip_label(reader, first), own_shop.moment)
        other = issue_slip(reader, house(), slip_label(reader, second), own_shop.moment)
    assert (slip.due_back, slip.inspect_by, slip.own_checks) == (None, date(2026, 12, 25), 31)
    assert slip.carrier == ""
    assert (other.inspect_by, other.own_checks) == (None, 0)
    assert other.due_back is not None


def test_a_slip_to_be_signed_says_what_will_be_signed(own_shop: Shop) -> None:
    """Prepared before the issue, it names the battery, the area and the time it is for; or that it is assigned."""
    fields = assign_fields(own_shop, "wl-1", "Wronecka", "pack-1")
    asked = {name: fields[name] for name in ("unit_id", "person_id", "battery_id", "area_id")}
    due = own_shop.moment + timedelta(hours=8)
    until = own_shop.do(PrepareSlip, **asked, due_at=due)
    weeks = own_shop.do(PrepareSlip, **asked)
    with own_shop.store.reading() as reader:
        first = issue_slip(reader, house(), until.papers[0][1], own_shop.moment)
        second = issue_slip(reader, house(), weeks.papers[0][1], own_shop.moment)
    assert (first.due_back, first.own_checks) == (due.astimezone(house().zone), 0)
    assert (first.battery, first.area) == (own_shop.label("pack-1"), "Plate shop, bay 3")
    assert (second.due_back, second.own_checks) == (None, 31)
    own_shop.do(IssueUnit, **fields, slip_id=slip_id(own_shop, weeks.papers[0][1]))
    assert custody_of(own_shop, "wl-1").acknowledged == "signed slip"


def slip_id(shop: Shop, label: str) -> int:
    """The id of a slip."""
    with shop.store.reading() as reader:
        slip = reader.first(Slip, label=label)
    assert slip is not None
    return slip.id
