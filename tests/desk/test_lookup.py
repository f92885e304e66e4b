"""What a scan finds: each kind of label, replaced ones, bound ones, and lines for what is nothing we know."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from cribdesk.crib.label import Kind
from cribdesk.crib.records import BoundLabel, DeadLabel, Person, Slip, Unit
from cribdesk.crib.scan import read_scan
from cribdesk.crib.serviceable import Serviceable
from cribdesk.desk.cards import (
    AreaCard,
    BagCard,
    BatteryCard,
    BinCard,
    CabinetCard,
    Card,
    CommandCard,
    InstrumentCard,
    ItemCard,
    NotFound,
    PartCard,
    PersonCard,
    SetCard,
    SlipCard,
    TagCard,
    UnitCard,
)
from cribdesk.desk.commands import BY_ID
from cribdesk.desk.lookup import look_up, offer
from cribdesk.store.connect import open_store
from tests.desk.small_crib import NOW, SmallCrib, house, label


@pytest.fixture
def crib(tmp_path: Path) -> Iterator[SmallCrib]:
    """The small crib in a file."""
    with open_store(str(tmp_path / "crib.sqlite"), create=True) as store:
        yield SmallCrib(store).fill()


def scan(crib: SmallCrib, text: str) -> Card:
    """What a scan of the text finds."""
    with crib.store.reading() as reader:
        return look_up(reader, house(), read_scan(text), NOW)


def said(crib: SmallCrib, text: str) -> str:
    """The line that says why a scan found nothing."""
    found = scan(crib, text)
    assert isinstance(found, NotFound)
    return found.sentence


def test_every_kind_has_its_card(crib: SmallCrib) -> None:
    """Each kind of label leads to the card of the very record it is stuck on."""
    with crib.store.reading() as reader:
        slip = reader.get(Slip, crib.out.slip_id or 0)
    wanted = {
        crib.units["ready"].label: UnitCard,
        crib.parts["good"].label: PartCard,
        crib.people["Abel Nkemba"].label: PersonCard,
        crib.batteries["charger"].label: BatteryCard,
        crib.items["WL1-PREFILTER"].label: ItemCard,
        crib.bin.label: BinCard,
        crib.meter.label: InstrumentCard,
        crib.area.label: AreaCard,
        crib.hold.tag: TagCard,
        slip.label: SlipCard,
        crib.set.label: SetCard,
        crib.cabinet.label: CabinetCard,
        crib.bag.label: BagCard,
        BY_ID["break-off"].label: CommandCard,
    }
    for text, card in wanted.items():
        found = scan(crib, text.lower())
        assert isinstance(found, card), text
        assert found.label == text
    assert {text[0] for text in wanted} == {kind.value for kind in Kind}


def test_unit_card_out(crib: SmallCrib) -> None:
    """A unit that is out shows who has it, until when, with which pack, and what was done with it."""
    found = scan(crib, crib.units["out"].label)
    assert isinstance(found, UnitCard)
    assert found.is_out
    assert found.where_words == "out with Łucja Wronecka"
    assert found.holder == crib.people["Łucja Wronecka"]
    assert not found.holder_overdue
    assert found.battery is not None
    assert found.battery.label == crib.batteries["shelf"].label
    assert found.issues == 1
    assert found.timeline[0].what == f"Issued {found.label} to Łucja Wronecka until 14:30"
    assert [point.flow_lpm for point in found.flow] == [184.0]
    assert found.flow[0].limit_lpm == 170.0


def test_unit_card_says_what_the_check_is(crib: SmallCrib) -> None:
    """A unit inspected this shift gets the short check, any other the full one."""
    ready, dirty = scan(crib, crib.units["ready"].label), scan(crib, crib.units["needs cleaning"].label)
    assert isinstance(ready, UnitCard)
    assert isinstance(dirty, UnitCard)
    assert (ready.check, ready.inspected_words) == ("hand-over", "inspected at the bench today 05:40")
    assert (dirty.check, dirty.condition.state) == ("pre-use", Serviceable.NEEDS_CLEANING)
    assert dirty.where_words == "at the bench"


def test_unit_card_of_a_held_unit(crib: SmallCrib) -> None:
    """A hold stands with its reason, its tag and the proof it waits for; the proof is not there."""
    found = scan(crib, crib.hold.tag)
    assert isinstance(found, TagCard)
    (line,) = found.unit.holds
    assert line.words == "Airflow too low: Airflow 158 L/min after the whole ladder."
    assert line.proof_words == "a bench inspection passed after the hold"
    assert line.proof == ""
    crib.inspect(crib.units["on hold"], NOW)
    again = scan(crib, crib.hold.tag)
    assert isinstance(again, TagCard)
    assert again.unit.holds[0].proof


def test_parts_hang_on_the_air_path(crib: SmallCrib) -> None:
    """Positions stand from inlet to face, each with its item and lot; an empty one says so by its fitted None."""
    found = scan(crib, crib.units["due"].label)
    assert isinstance(found, UnitCard)
    assert [line.position for line in found.fitted] == [one.position for one in found.parts]
    assert found.fitted[0].name == "Spark arrestor"
    lots = {line.position: line.lot for line in found.fitted if line.lot}
    assert lots == {"pre-filter": "LATE"}
    assert found.next_change is not None
    assert found.next_change.position == "pre-filter"
    assert found.next_change.middle == 2.0


def test_person_card(crib: SmallCrib) -> None:
    """A wearer shows what they hold, what is overdue, and clearances with dates; fit tests by model."""
    late = scan(crib, crib.people["Imre Dobrosi"].label)
    assert isinstance(late, PersonCard)
    assert [(one.unit, one.area, one.overdue) for one in late.holds_now] == [
        (crib.units["overdue"].label, "Plate shop, bay 3", True)
    ]
    medical, training = late.clearances
    assert medical.given_on is None
    assert training.ended
    assert training.until == date(2026, 11, 22)
    good = scan(crib, crib.people["Łucja Wronecka"].label)
    assert isinstance(good, PersonCard)
    assert all(one.stands for one in good.clearances)
    assert good.fit_tests == (("FF1", "M", date(2026, 1, 9), date(2027, 1, 9)),)
    assert not good.badge_ended


def test_other_cards(crib: SmallCrib) -> None:
    """Packs say where they are, items what may be fitted, parts their hours, meters their calibration."""
    out, charging = scan(crib, crib.batteries["shelf"].label), scan(crib, crib.batteries["charger"].label)
    assert isinstance(out, BatteryCard)
    assert isinstance(charging, BatteryCard)
    assert out.where_words == f"out with Łucja Wronecka, in {crib.units['out'].label}"
    assert (out.in_use, charging.in_use) == (True, False)
    held = crib.units["on hold"].label
    assert out.runs == (f"Mon 06:12: 6.5\u00a0h in {held}, low speed, stopped before, 2 bars left",)
    assert charging.where_words == "on charger A, slot 3"
    item = scan(crib, crib.items["WL1-PREFILTER"].label)
    assert isinstance(item, ItemCard)
    assert [lot.code for lot in item.lots] == ["PAST", "SOON", "LATE", "NEVER", "RECALLED"]
    part, meter = scan(crib, crib.parts["good"].label), scan(crib, crib.meter.label)
    assert isinstance(part, PartCard)
    assert isinstance(meter, InstrumentCard)
    assert (part.worn_hours, part.unit, meter.good) == (412.0, None, True)


def test_unknown_labels_are_told(crib: SmallCrib) -> None:
    """A label that is on nothing says what it would be and what binds it; tags and commands bind to nothing."""
    battery, person = label(Kind.BATTERY, 777), label(Kind.PERSON, 777)
    assert said(crib, battery) == f"Label {battery} is unknown here. F6 binds it to a battery."
    assert said(crib, person) == f"Label {person} is unknown here. F6 binds it to a person."
    assert said(crib, label(Kind.TAG, 777)).endswith("is unknown here. Nothing changed.")
    assert "not a command" in said(crib, label(Kind.COMMAND, 777))
    assert said(crib, "  ") == "Nothing was read. Scan again, or type the label. Nothing changed."
    wrong = battery[:-1] + ("1" if battery[-1] != "1" else "2")
    assert "the last character does not fit" in said(crib, wrong)


def test_replaced_label_names_the_new_one(crib: SmallCrib) -> None:
    """A label that died says which one took its place, even after a second replacement."""
    unit, old, fresh = crib.units["ready"], crib.units["ready"].label, label(Kind.UNIT, 900)
    crib.save(DeadLabel(label=old, kind=Kind.UNIT.value, record_id=unit.id, died_at=NOW - timedelta(hours=1)))
    crib.write(lambda work: work.save(replace(work.get(Unit, unit.id), label=fresh)), "Replaced.")
    assert said(crib, old) == f"{old} was replaced by {fresh}, since 05:12. Scan that one. Nothing changed."
    assert isinstance(scan(crib, fresh), UnitCard)


def test_bound_labels_scan(crib: SmallCrib) -> None:
    """A foreign text finds its record, also one that looks like ours; an unbound one can be bound."""
    person, unit = crib.people["Abel Nkemba"], crib.units["ready"]
    like_ours = label(Kind.BATTERY, 778)
    crib.save(BoundLabel(text="EMP-00417", kind=Kind.PERSON.value, record_id=person.id))
    crib.save(BoundLabel(text=like_ours, kind=Kind.UNIT.value, record_id=unit.id))
    assert scan(crib, "EMP-00417").label == person.label
    assert scan(crib, like_ours).label == unit.label
    free = scan(crib, "EMP-00418")
    assert isinstance(free, NotFound)
    assert free.foreign == "EMP-00418"


def test_unit_without_its_model(crib: SmallCrib) -> None:
    """A unit whose model has no file is named with what to do, and its tag is too."""
    unit = crib.units["on hold"]
    crib.write(lambda work: work.save(replace(work.get(Unit, unit.id), model="ZZ9")), "Model changed.")
    for text in (unit.label, crib.hold.tag):
        assert said(crib, text) == (
            f"{unit.label} is of model ZZ9, which has no file in resources/units. "
            "Put the file back, then scan again. Nothing changed."
        )


def test_erased_name_shows_the_label(crib: SmallCrib) -> None:
    """Where a name was erased the timeline keeps the label."""
    person = crib.people["Łucja Wronecka"]
    crib.write(lambda work: work.save(replace(work.get(Person, person.id), name="")), "Erased.")
    found = scan(crib, crib.units["out"].label)
    assert isinstance(found, UnitCard)
    assert found.where_words == f"out with {person.label}"
    assert person.label in found.timeline[0].what


def test_offer_is_first_to_expire_first(crib: SmallCrib) -> None:
    """Offered are lots on hand that are free and in date, first to expire first."""
    with crib.store.reading() as reader:
        found = offer(reader, house(), crib.units["ready"].id, "pre-filter", NOW)
    lots = {lot.id: code for code, lot in crib.lots.items()}
    assert [(lots[one.lot_id or 0], one.on_hand) for one in found] == [("SOON", 4), ("LATE", 7), ("NEVER", 3)]
    assert found[0].words == "Pre-filter, WL1, lot SOON, good until 1 Jan 2027"


def test_offer_of_labelled_parts(crib: SmallCrib) -> None:
    """Where parts carry labels, those on the shelf without a fault are offered, and nothing else."""
    with crib.store.reading() as reader:
        found = offer(reader, house(), crib.units["ready"].id, "blower", NOW)
        nowhere = offer(reader, house(), crib.units["ready"].id, "no-such-place", NOW)
    assert [one.part_id for one in found] == [crib.parts["good"].id]
    assert found[0].words == f"Blower, WL1 {crib.parts['good'].label}, 412\u00a0h worn"
    assert nowhere == ()
