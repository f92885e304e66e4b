"""The due list against small stores: groups, order, what to fetch, what the calendar asks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from types import SimpleNamespace

import pytest

from cribdesk.crib.records import Bin, Custody, Fitted, Hold, Instrument, Lot, Person, StockItem, Unit, Where
from cribdesk.crib.words import date_words
from cribdesk.desk import first
from cribdesk.desk.due import due_list
from cribdesk.desk.due_cards import NOW, SHIFT, WEEK, DueList
from cribdesk.desk.entry_form import Asked
from cribdesk.desk.entry_forms import form_of, operation_of
from cribdesk.desk.forecasts import recompute
from cribdesk.desk.house import House
from cribdesk.desk.printing import record_for
from cribdesk.desk.printouts_due import DueSheet
from cribdesk.desk.set_aside import SetPiecesAside
from cribdesk.store.connect import SqlStore, open_store
from tests.desk.lived import START, Lived
from tests.desk.shop import house

MOMENT = START + timedelta(days=60)
TODAY = MOMENT.date()


@pytest.fixture
def store(address: str) -> Iterator[SqlStore]:
    """A store on each engine with a pre-filter on the shelf."""
    with open_store(address, create=True) as opened:
        yield opened


@pytest.fixture
def lived(store: SqlStore) -> Lived:
    """A clerk, and the pre-filter of the WL1 in a bin."""
    made = Lived(store)
    made.ground()
    made.write([Bin(label="B000001X", code="C-04")])
    made.write([StockItem(label="K000002X", code="WL1-PREFILTER", name="Pre-filter, WL1", criticality="A", bin_id=1)])
    made.write([StockItem(label="K000003X", code="WL1-COVER-OUT", name="Outer lens, WL1", criticality="C")])
    return made


def item(store: SqlStore, code: str) -> StockItem:
    """The stock item of that code."""
    with store.reading() as reader:
        found = reader.first(StockItem, code=code)
    assert found is not None
    return found


def a_unit(lived: Lived, label: str, worn: float, where: Where = Where.RACK, **more: object) -> Unit:
    """A WL1 whose pre-filter has so many hours; every other required part is new, so it is only not checked."""
    (unit,) = lived.write([Unit(label=label, model="WL1", worn_hours=worn, added_at=START, where=where)])
    assert isinstance(unit, Unit)
    rows: list[object] = []
    for position in house().models["WL1"].positions:
        used = part_item(lived, position.items[0])
        at = 0.0 if position.code == "pre-filter" else worn
        fields = more if position.code == "pre-filter" else {}
        made = Fitted(unit_id=unit.id, position=position.code, item_id=used.id, fitted_at=MOMENT, fitted_at_hours=at)
        rows.append(replace(made, **fields))  # type: ignore[arg-type]
    lived.write(rows)
    return unit


def part_item(lived: Lived, code: str) -> StockItem:
    """The item of that code, entered where it is new."""
    with lived.store.reading() as reader:
        found = reader.first(StockItem, code=code)
        number = reader.count(StockItem) + 1
    if found is None:
        (found,) = lived.write([StockItem(label=f"K{number:06}X", code=code, name=code.lower())])  # type: ignore[assignment]
    assert isinstance(found, StockItem)
    return found


def read(store: SqlStore, given: House | None = None, moment: datetime = MOMENT) -> DueList:
    """The list."""
    with store.reading() as reader:
        return due_list(reader, given or house(), moment)


def named(due: DueList, group: str) -> list[tuple[str, str]]:
    """(label, position) of a group's rows."""
    return [(row.label, row.position) for row in due.of(group)]


def test_nothing_is_due(store: SqlStore) -> None:
    """An empty store has an empty list."""
    due = read(store)
    assert (due.rows, due.fetch, due.duties) == ((), (), ())


def test_by_the_rule_of_thumb(lived: Lived, store: SqlStore) -> None:
    """Rule of thumb 60 h: with 61 h it is due now, with 56 h before the shift ends, with 20 h within a week of 7 h."""
    a_unit(lived, "U000001X", 61.0)
    a_unit(lived, "U000002X", 56.0)
    a_unit(lived, "U000003X", 20.0)
    a_unit(lived, "U000004X", 1.0)
    due = read(store)
    assert named(due, NOW) == [("U000001X", "pre-filter")]
    assert named(due, SHIFT) == [("U000002X", "pre-filter")]
    assert named(due, WEEK)[0] == ("U000003X", "pre-filter")
    assert ("U000004X", "pre-filter") not in named(due, WEEK)
    first = due.of(NOW)[0]
    assert (first.level, first.figure, first.why) == ("caution", "1\u00a0h past", "rule of thumb 60\u00a0h")


def test_risk_times_consequence(lived: Lived, store: SqlStore) -> None:
    """An A item past its rule of thumb scores 3 on the rack, 6 while somebody has the unit; by the rule alone half."""
    a_unit(lived, "U000001X", 61.0)
    a_unit(lived, "U000002X", 56.0)
    out = a_unit(lived, "U000003X", 61.0, Where.OUT)
    lived.write([Custody(unit_id=out.id, person_id=1, issued_at=MOMENT, issued_by=1, due_at=MOMENT)])
    rows = {row.label: row for row in read(store).rows if row.position == "pre-filter"}
    assert {label: row.score for label, row in rows.items()} == {"U000003X": 6.0, "U000001X": 3.0, "U000002X": 1.5}
    assert list(rows) == ["U000003X", "U000001X", "U000002X"]
    assert not rows["U000003X"].in_hand


def test_a_unit_on_hold_is_worn_by_nobody_before_it_is_released(lived: Lived, store: SqlStore) -> None:
    """56 of 60 h: before the shift ends for one that may go out; on hold, this week; in a cabinet, not at all."""
    a_unit(lived, "U000001X", 56.0)
    held = a_unit(lived, "U000002X", 56.0)
    proof = "bench inspection"
    lived.write([Hold(unit_id=held.id, reason="other", proof=proof, found_by=1, found_at=MOMENT, tag="T1")])
    a_unit(lived, "U000003X", 56.0, Where.EMERGENCY)
    due = read(store)
    assert named(due, SHIFT) == [("U000001X", "pre-filter")]
    assert [one for one in named(due, WEEK) if one[1] == "pre-filter"] == [("U000002X", "pre-filter")]


def test_past_a_limit_stops(lived: Lived, store: SqlStore) -> None:
    """A part past its own date is due now, with a stop and why; nothing of its unit waits for the shift's end."""
    a_unit(lived, "U000001X", 5.0, expires_on=TODAY - timedelta(days=1))
    due = read(store)
    assert due.of(SHIFT) == ()
    (row,) = due.of(NOW)
    assert (row.group, row.level, row.position) == (NOW, "stop", "pre-filter")
    assert row.why.startswith("past its date")


def test_a_stop_comes_first_among_equals(lived: Lived, store: SqlStore) -> None:
    """Past its date, and past the rule of thumb: both score 3; what forbids stands before what asks for a look."""
    a_unit(lived, "U000001X", 61.0)
    a_unit(lived, "U000002X", 5.0, expires_on=TODAY - timedelta(days=1))
    rows = [(row.label, row.level, row.score) for row in read(store).of(NOW)]
    assert rows == [("U000002X", "stop", 3.0), ("U000001X", "caution", 3.0)]


def test_a_row_says_nothing_twice(lived: Lived, store: SqlStore) -> None:
    """The pre-filter's 180 days ended yesterday: the figure says when, the reason what."""
    a_unit(lived, "U000001X", 5.0, fitted_at=MOMENT - timedelta(days=181))
    row = next(one for one in read(store).of(NOW) if one.position == "pre-filter")
    assert (row.figure, row.why) == ("ended yesterday", "180 days fitted")


def test_a_day_that_went_by_is_told_as_past(monkeypatch: pytest.MonkeyPatch) -> None:
    """Units to inspect by the calendar: by the first day while it lies ahead; from the day after it, it was due."""
    units = [SimpleNamespace(unit=SimpleNamespace(label=f"U00000{number}X")) for number in (1, 2)]
    told = []
    for days in (0, -1):
        monkeypatch.setattr(first, "inspect_by", lambda unit, house, days=days: TODAY + timedelta(days=days))
        (row,) = first.calendar_rows(units, (), house(), MOMENT)  # type: ignore[arg-type]
        told.append((row.sign, row.detail.split("; ")[1]))
    assert told == [("due", "the first by today"), ("caution", "the first was due yesterday")]


def test_its_last_day_is_today(lived: Lived, store: SqlStore) -> None:
    """Good until today is due now; until in four days it is this week's, and certain."""
    a_unit(lived, "U000001X", 5.0, expires_on=TODAY)
    a_unit(lived, "U000002X", 5.0, expires_on=TODAY + timedelta(days=4))
    due = read(store)
    assert named(due, NOW) == [("U000001X", "pre-filter")]
    assert named(due, WEEK)[0] == ("U000002X", "pre-filter")
    assert due.of(NOW)[0].figure == "ends today"
    assert due.of(WEEK)[0].score == 3.0


def test_a_missing_required_part_is_due_now(lived: Lived, store: SqlStore) -> None:
    """Nothing fitted where something must be: now, stop, and the approved item is what to fetch."""
    lived.write([Unit(label="U000001X", model="WL1", added_at=START)])
    row = next(row for row in read(store).rows if row.position == "pre-filter")
    assert (row.group, row.level, row.figure, row.item) == (NOW, "stop", "none", "WL1-PREFILTER")


@pytest.mark.parametrize("where", [Where.SCRAPPED, Where.MISSING, Where.SENT_OUT])
def test_what_is_not_here_is_not_listed(lived: Lived, store: SqlStore, where: Where) -> None:
    """The bench can do nothing about it."""
    a_unit(lived, "U000001X", 61.0, where)
    assert read(store).rows == ()


def test_the_tray(lived: Lived, store: SqlStore) -> None:
    """Two now and one later: two to fetch, the lot first to expire first; what is blocked or ended
    yesterday does not count, what ends today does."""
    good = item(store, "WL1-PREFILTER")
    lived.write([
        Lot(item_id=good.id, code="LATE", on_hand=5, expires_on=date(2031, 1, 1)),
        Lot(item_id=good.id, code="SOON", on_hand=1, expires_on=TODAY),
        Lot(item_id=good.id, code="BLOCKED", on_hand=50, blocked="recalled"),
        Lot(item_id=good.id, code="GONE", on_hand=50, expires_on=TODAY - timedelta(days=1)),
    ])  # fmt: skip
    for n, worn in enumerate((61.0, 62.0, 20.0), 1):
        a_unit(lived, f"U00000{n}X", worn)
    row = next(row for row in read(store).fetch if row.code == "WL1-PREFILTER")
    assert (row.number, row.later, row.there, row.bin, row.short) == (2, 1, 6, "C-04", False)
    assert row.lot == f"lot SOON first, good until {date_words(TODAY)}, then LATE"


def test_the_shelf_has_too_few(lived: Lived, store: SqlStore) -> None:
    """Two wanted, one there: short, and it comes first."""
    lived.write([Lot(item_id=item(store, "WL1-PREFILTER").id, code="ONE", on_hand=1)])
    a_unit(lived, "U000001X", 61.0)
    a_unit(lived, "U000002X", 61.0)
    first = read(store).fetch[0]
    assert (first.code, first.short) == ("WL1-PREFILTER", True)


def test_the_form_of_the_tray_stands_filled_with_what_falls_due(lived: Lived, store: SqlStore) -> None:
    """As many as are due and lie there, in one entry; with nothing on the shelf it says so and asks nothing."""
    for n, worn in enumerate((61.0, 62.0, 63.0), 1):
        a_unit(lived, f"U00000{n}X", worn)
    with store.reading() as reader:
        assert form_of(Asked(reader, house(), MOMENT), "tray").note.startswith("Nothing that falls due")
    pre = item(store, "WL1-PREFILTER")
    lived.write([Lot(item_id=pre.id, code="F1", on_hand=2)])
    with store.reading() as reader:
        asked = Asked(reader, house(), MOMENT)
        form = form_of(asked, "tray")
        values = {one.name: one.value for one in form.fields}
        assert values == {f"pieces_{pre.label}": "2"}
        made = operation_of(asked, "tray", values, "t")
    assert made == SetPiecesAside(operation_id="t", lines=((pre.id, 2),))


def test_the_early_bound_is_a_setting(lived: Lived, store: SqlStore) -> None:
    """At the 99 % bound a forecast names a part for this shift that the 50 % bound does not name yet."""
    for _ in range(8):
        lived.unit(30.0, (50.0, "due"), (60.0, "due"), (55.0, "due"))
    a_unit(lived, "U009001X", 25.0, fitted_at=START)
    for _ in recompute(store, house(), MOMENT):
        pass
    bold = replace(house(), settings={**house().settings, "due_bound": "99"})
    meek = replace(house(), settings={**house().settings, "due_bound": "50"})
    assert ("U009001X", "pre-filter") in named(read(store, bold), SHIFT)
    assert ("U009001X", "pre-filter") not in named(read(store, meek), SHIFT)


def test_calendar_duties(lived: Lived, store: SqlStore) -> None:
    """A calibration that ended, one that ends within the week, the daily check where it is wanted; later ones not."""
    lived.write([
        Instrument(label=f"M00000{n}X", name=f"Flow meter {n}", uncertainty_lpm=3.0, calibrated_on=TODAY,
                   calibrated_until=TODAY + timedelta(days=days))
        for n, days in ((1, -1), (2, 3), (3, 200))
    ])  # fmt: skip
    duties = read(store).duties
    assert [(one.sign, one.label) for one in duties] == [("stop", "M000001X"), ("due", "M000002X")]
    daily = replace(house(), settings={**house().settings, "meter_check": "daily"})
    checks = [one.label for one in read(store, daily).duties if one.detail.startswith("Daily check")]
    assert checks == ["M000002X", "M000003X"]


def test_an_assigned_unit_comes_for_its_bench_inspection(lived: Lived, store: SqlStore) -> None:
    """Assigned 28 days ago and not inspected since: by the 30 days of the setting it is due in two."""
    unit = a_unit(lived, "U000001X", 5.0, Where.ASSIGNED)
    (wearer,) = lived.write([Person(label="P000009X", name="A Wearer")])
    issued = MOMENT - timedelta(days=28)
    lived.write([Custody(unit_id=unit.id, person_id=wearer.id, issued_at=issued, issued_by=1, assigned=True)])  # type: ignore[attr-defined]
    (duty,) = read(store).duties
    assert (duty.label, duty.what) == ("U000001X", "Bench inspection of an assigned unit")
    assert duty.by == TODAY + timedelta(days=2)


def test_a_unit_in_a_cabinet_never_certified(lived: Lived, store: SqlStore) -> None:
    """A place that is no cabinet is told as overdue."""
    a_unit(lived, "U000001X", 1.0, Where.EMERGENCY)
    duty = next(one for one in read(store).duties if one.what.startswith("Monthly inspection"))
    assert (duty.sign, duty.label) == ("overdue", "U000001X")


def test_a_constant_number_of_queries(lived: Lived, store: SqlStore) -> None:
    """Ten units ask as many queries as two."""
    counts = []
    for n in (2, 10):
        for k in range(n):
            a_unit(lived, f"U00{n:02}{k:02}X", 61.0)
        with store.reading() as reader:
            asked: list[str] = []
            engine = reader._engine  # type: ignore[attr-defined]
            run = engine.run
            engine.run = lambda sql, *rest, run=run, asked=asked: (asked.append(sql), run(sql, *rest))[1]
            due_list(reader, house(), MOMENT)
            engine.run = run
        counts.append(len(asked))
    assert counts[0] == counts[1] > 0


def test_the_paper_is_the_same_list(lived: Lived, store: SqlStore) -> None:
    """What is printed has each unit once a group with all its parts, the tray, and how it is sorted."""
    lived.write([Lot(item_id=item(store, "WL1-PREFILTER").id, code="ONE", on_hand=1)])
    a_unit(lived, "U000001X", 61.0)
    a_unit(lived, "U000002X", 62.0)
    with store.reading() as reader:
        sheet = record_for(reader, house(), "due_list", "", MOMENT, 1)
    assert isinstance(sheet, DueSheet)
    assert sheet.groups[0].title == "Now"
    assert [unit.unit for unit in sheet.groups[0].units] == ["U000001X", "U000002X"]
    assert sheet.groups[0].units[0].parts[0].mark == "!"
    assert [(one.number, one.short) for one in sheet.items if one.code == "WL1-PREFILTER"] == [(2, True)]
    assert "risk x consequence" in sheet.sorted_by
