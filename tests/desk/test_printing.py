"""Every paper's record out of the store, and the paper itself drawn from it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from cribdesk.crib.label import Kind, with_check
from cribdesk.crib.records import (
    Away,
    AwayKind,
    Cabinet,
    Certification,
    CountSheet,
    CountSheetLine,
    InformationSheet,
    Inspection,
    Lot,
    Print,
    Requisition,
    ShiftClose,
    Slip,
    StockItem,
    Supplier,
    Verdict,
    WasteBag,
)
from cribdesk.desk.close_shift import ClosedPage
from cribdesk.desk.commands import COMMANDS
from cribdesk.desk.printing import next_copy, record_for
from cribdesk.desk.printouts import (
    STEPS_ON_HOLD,
    STEPS_OVERDUE,
    AnswerCard,
    CallInSlip,
    InspectionRecord,
    IssueSlip,
    LabelSheet,
    OutOfServiceTag,
    RecordVerdict,
)
from cribdesk.desk.printouts_shift import ShiftFigure
from cribdesk.papers.register import papers, render
from cribdesk.papers.settings import PaperSettings
from cribdesk.store.connect import open_store
from tests.desk.small_crib import NOW, Counted, SmallCrib, house, label


@pytest.fixture
def crib(tmp_path: Path) -> Iterator[SmallCrib]:
    """The small crib in a file."""
    with open_store(str(tmp_path / "crib.sqlite"), create=True) as store:
        yield SmallCrib(store).fill()


def record(crib: SmallCrib, paper: str, of: str) -> object:
    """The record of a first print."""
    with crib.store.reading() as reader:
        return record_for(reader, house(), paper, of, NOW, 1)


def slip_of(crib: SmallCrib, slip_id: int | None) -> str:
    """A slip's label."""
    assert slip_id is not None
    with crib.store.reading() as reader:
        return reader.get(Slip, slip_id).label


def bag_of(crib: SmallCrib) -> str:
    """The label of the waste bag there is."""
    with crib.store.reading() as reader:
        found = reader.first(WasteBag)
    assert found is not None
    return found.label


def addresses(crib: SmallCrib) -> dict[str, str]:
    """Something to print for every paper there is."""
    return {
        "tag": crib.hold.tag,
        "issue_slip": slip_of(crib, crib.out.slip_id),
        "call_in_slip": slip_of(crib, crib.late.slip_id),
        "label_sheet": f"{crib.units['ready'].label} {crib.people['Abel Nkemba'].label}",
        "answer_card": "",
        "information_sheet": str(_sheet(crib)),
        "inspection_record": "1",
        "bag_label": bag_of(crib),
        "repair_note": _repaired(crib),
        "certification_tag": _certified(crib),
        "ready_seal": _sealed(crib),
        "shift_page": _closed(crib),
        "count_sheet": _to_count(crib),
        "due_list": "",
        "requisition": _requisition(crib),
        "use_register": f"{crib.units['ready'].label} 2026-01-01 2026-12-31",
        "wearer_card": "WL1",
    }


def _requisition(crib: SmallCrib) -> str:
    """A requisition without lines yet."""
    with crib.store.reading() as reader:
        there = reader.first(Requisition, number=1)
    if there is None:
        supplier = crib.save(Supplier(name="Keramion Filtertechnik"))
        crib.save(Requisition(number=1, supplier_id=supplier.id, made_on=NOW.date()))
    return "1"


def _sealed(crib: SmallCrib) -> str:
    """A pass at the bench of this morning."""
    with crib.store.reading() as reader:
        made = reader.latest(Inspection, kind="bench", verdict=Verdict.PASS)
    assert made is not None
    return str(made.id)


def _repaired(crib: SmallCrib) -> str:
    """A unit that was sent for repair."""
    unit = crib.units["missing"]
    with crib.store.reading() as reader:
        there = reader.first(Away, unit_id=unit.id)
    if there is None:
        crib.save(Away(unit_id=unit.id, kind=AwayKind.REPAIR, goes_to="Feldner", since=NOW, by_id=crib.clerk.id))
    return unit.label


def _certified(crib: SmallCrib) -> str:
    """A unit in a cabinet, certified."""
    unit = crib.units["emergency"]
    with crib.store.reading() as reader:
        there = reader.first(Cabinet)
    cabinet = there or crib.save(Cabinet(label=with_check("C000001"), name="Gate 2", purpose="leaving"))
    crib.save(
        Certification(
            cabinet_id=cabinet.id, unit_id=unit.id, made_on=NOW.date(), by_id=crib.clerk.id, findings="none",
            action="none", identity=unit.label, seal="S-1", at=NOW,
        )
    )  # fmt: skip
    return unit.label


def _closed(crib: SmallCrib) -> str:
    """A shift that was handed over."""
    page = ClosedPage("Night", NOW, "Counter 1", NOW, (ShiftFigure("Issued", "12"),)).to_json()
    closed = ShiftClose(began_at=NOW - timedelta(hours=8), ended_at=NOW, by_id=crib.clerk.id, page=page)
    return str(crib.save(closed).id)


def _to_count(crib: SmallCrib) -> str:
    """The number of a counting sheet with one lot on it."""
    with crib.store.reading() as reader:
        there, lot = reader.first(CountSheet), reader.first(Lot)
    if there is None:
        lot = lot or crib.save(Lot(item_id=_an_item(crib), code="L1", on_hand=5))
        there = crib.save(CountSheet(number=4, at=NOW, by_id=crib.clerk.id))
        crib.save(CountSheetLine(count_sheet_id=there.id, item_id=lot.item_id, lot_id=lot.id, booked=lot.on_hand))
    return str(there.number)


def _an_item(crib: SmallCrib) -> int:
    with crib.store.reading() as reader:
        found = reader.first(StockItem)
    assert found is not None
    return found.id


def _sheet(crib: SmallCrib) -> int:
    """An information sheet that was given."""
    wearer = crib.people["Abel Nkemba"]
    return crib.save(InformationSheet(person_id=wearer.id, given_on=NOW.date(), by_id=crib.clerk.id)).id


def test_every_paper_draws(crib: SmallCrib) -> None:
    """Each paper of the program has a record here, and draws a PDF of it."""
    assert set(addresses(crib)) == set(papers())
    for paper, of in addresses(crib).items():
        made = record(crib, paper, of)
        assert isinstance(made, papers()[paper].wants), paper
        assert render(paper, made, PaperSettings()).startswith(b"%PDF"), paper


def test_tag(crib: SmallCrib) -> None:
    """The tag says what, why, who, where and who releases it, in local time."""
    made = record(crib, "tag", crib.hold.tag)
    assert isinstance(made, OutOfServiceTag)
    assert (made.unit, made.unit_model) == (crib.units["on hold"].label, "Welding PAPR, loose-fitting")
    assert made.why == "Airflow too low: Airflow 158 L/min after the whole ladder."
    assert (made.found_by, f"{made.found_at:%H:%M %Z}") == ("Rhea Castel, Counter 1", "06:03 CET")
    assert (made.where, made.releases) == ("at the bench", "Only the bench releases it.")


def test_issue_slip(crib: SmallCrib) -> None:
    """The slip carries the bench's readings with their limits, the short check, the caution and the wearer's part."""
    made = record(crib, "issue_slip", slip_of(crib, crib.out.slip_id))
    assert isinstance(made, IssueSlip)
    assert (made.wearer_name, made.wearer_about) == ("Łucja Wronecka", "welder, day crew")
    assert (made.clerk, made.counter, f"{made.issued_at:%H:%M}") == ("Rhea Castel", "Counter 1", "06:02")
    assert made.due_back is not None
    assert f"{made.due_back:%H:%M}" == "14:30"
    assert made.battery == crib.batteries["shelf"].label
    assert made.inspected == "Inspected at the bench today 05:40"
    assert made.handed_over == "checked at hand-over 06:02"
    airflow, alarm, looked, again = made.readings
    assert (airflow.value, airflow.limit) == ("184 L/min", "at least 170")
    assert airflow.note == f"meter {crib.meter.label}"
    assert (alarm.value, alarm.limit, alarm.note) == ("17.2 s", "15 to 20", "sounds and vibrates")
    assert looked.what.startswith("Looked at, ")
    assert again.what.startswith("At hand-over, ")
    assert all(row.good for row in made.readings)
    assert [(one.what, one.accepted) for one in made.cautions] == [
        ("Pre-filter may fall due before it is back", "Accepted by Rhea Castel at 06:02.")
    ]
    assert [one.when for one in made.own_part] == [when for when, _ in house().models["WL1"].cautions]


def test_a_slip_printed_again_tells_what_stood_then(crib: SmallCrib) -> None:
    """A later inspection does not change the slip of an earlier issue, however many came after."""
    of = slip_of(crib, crib.out.slip_id)
    before = record(crib, "issue_slip", of)
    for minutes in range(1, 35):
        crib.inspect(crib.units["out"], NOW + timedelta(minutes=minutes))
    assert record(crib, "issue_slip", of) == before


def test_slip_prepared_to_be_signed(crib: SmallCrib) -> None:
    """A slip that nothing went out with yet tells who and what, and leaves the rest open."""
    unit, person, of = crib.units["ready"], crib.people["Abel Nkemba"], label(Kind.SLIP, 500)
    slip = Slip(label=of, unit_id=unit.id, person_id=person.id, prepared_at=NOW)
    crib.save(slip, subjects=(unit.label, person.label, of))
    made = record(crib, "issue_slip", of)
    assert isinstance(made, IssueSlip)
    assert (made.unit, made.wearer_name, made.clerk) == (unit.label, "Abel Nkemba", "Rhea Castel")
    assert (made.due_back, made.battery, made.area, made.cautions) == (None, "", "", ())


def test_call_in_slips(crib: SmallCrib) -> None:
    """An overdue unit is called in by its slip; a held one by its tag, with the other steps."""
    late = record(crib, "call_in_slip", slip_of(crib, crib.late.slip_id))
    assert isinstance(late, CallInSlip)
    assert (late.holder_name, late.steps, late.tag) == ("Imre Dobrosi", STEPS_OVERDUE, "")
    assert late.why == "Not returned when it was due."
    tag, unit = label(Kind.TAG, 400), crib.units["out"]
    crib.save(replace(crib.hold, id=0, revision=0, unit_id=unit.id, tag=tag), subjects=(unit.label, tag))
    held = record(crib, "call_in_slip", tag)
    assert isinstance(held, CallInSlip)
    assert (held.holder_name, held.steps, held.tag) == ("Łucja Wronecka", STEPS_ON_HOLD, tag)
    assert held.slip == slip_of(crib, crib.out.slip_id)
    assert held.area == "Plate shop, bay 3"


def test_nothing_to_call_in(crib: SmallCrib) -> None:
    """A tag on a unit in hand calls in nobody."""
    with pytest.raises(LookupError, match="nobody had"):
        record(crib, "call_in_slip", crib.hold.tag)


def test_label_sheet_keeps_the_order(crib: SmallCrib) -> None:
    """Labels of several kinds come out in the order asked for; one that is on nothing is told."""
    wanted = [crib.parts["good"].label, crib.units["ready"].label, crib.bin.label, crib.batteries["shelf"].label]
    made = record(crib, "label_sheet", " ".join(wanted))
    assert isinstance(made, LabelSheet)
    assert [one.label for one in made.labels] == wanted
    assert [one.name for one in made.labels] == ["Blower, WL1", "Welding PAPR, loose-fitting", "C-04", "WL1-PACK"]
    with pytest.raises(LookupError, match="nothing labelled"):
        record(crib, "label_sheet", label(Kind.UNIT, 999))


def test_answer_card(crib: SmallCrib) -> None:
    """The six answers and every command that has a printed code."""
    made = record(crib, "answer_card", "")
    assert isinstance(made, AnswerCard)
    assert [one.word for one in made.answers] == [
        "Good", "Not good", "Next", "No filter was in it", "Back", "Break off",
    ]  # fmt: skip
    assert len(made.answers) + len(made.commands) == sum(1 for one in COMMANDS if one.code)


def test_inspection_record(crib: SmallCrib) -> None:
    """Every answer of the run stands with its wording, limit, person and time."""
    with crib.store.reading() as reader:
        made_of = reader.latest(Inspection, kind="bench")
    assert made_of is not None
    made = record(crib, "inspection_record", str(made_of.id))
    assert isinstance(made, InspectionRecord)
    assert (made.verdict, made.by, made.counter) == (RecordVerdict.PASS, "Rhea Castel", "Counter 1")
    assert len(made.answers) > 10
    assert {one.by for one in made.answers} == {"Rhea Castel"}
    assert not any(one.replaced for one in made.answers)
    assert made.instruments[0].startswith(f"Flow meter {crib.meter.label}, serial FM-2")


def test_unknown_addresses_are_told(crib: SmallCrib) -> None:
    """A paper or an address that is not there is told in plain words."""
    for paper, of in (("poster", ""), ("tag", "T1"), ("issue_slip", "S1"), ("inspection_record", "x")):
        with pytest.raises(LookupError, match=r"^There is no "):
            record(crib, paper, of)


def test_copies_are_counted(crib: SmallCrib) -> None:
    """A print that failed takes no number."""
    for failed in ("", "no paper", ""):
        crib.save(Print(paper="tag", of=crib.hold.tag, copy=1, at=NOW, failed=failed))
    with crib.store.reading() as reader:
        assert next_copy(reader, "tag", crib.hold.tag) == 3
        assert next_copy(reader, "call_in_slip", crib.hold.tag) == 1


def test_papers_cost_few_queries(crib: SmallCrib) -> None:
    """No paper of one thing asks the store more than ten times; a slip weighs its area, two papers are of all."""
    counted = Counted(crib.store)
    for paper, of in addresses(crib).items():
        sent = counted.of(lambda reader, paper=paper, of=of: record_for(reader, house(), paper, of, NOW, 1))
        assert sent <= (20 if paper in ("due_list", "issue_slip", "use_register") else 10), paper
