"""A bad unit comes back in the middle of a shift, and another one goes out to the same wearer."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.hold import OTHER, choosable
from cribdesk.crib.records import BatteryPlace, Where
from cribdesk.crib.words import in_sentence
from cribdesk.desk.cards import AreaCard, BatteryCard, PersonCard, UnitCard
from cribdesk.desk.entry_form import NO, YES, EntryField
from cribdesk.desk.exchange import ExchangeUnit
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, also, named, say, weigh
from cribdesk.desk.saying import name_of
from cribdesk.desk.slate import AskForm, Slate

ALONG = "battery"


def _offered(house: House, slate: Slate) -> str | None:
    unit = slate.unit
    if unit is None or unit.custody is None or unit.holder is None:
        return None
    if slate.person is not None and slate.person.person.id != unit.custody.person_id:
        return None
    if unit.unit.where is Where.MISSING:
        return f"{unit.label} is missing: see to that first."
    return ""


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    unit = slate.unit
    assert unit is not None
    reasons = choosable(unit.model)
    held = next((line.hold.reason for line in unit.holds), "")
    known = {one.code for one in reasons}
    fields = [
        EntryField(
            "reason", "What is wrong with it", "choice", True,
            choices=tuple((one.code, one.words) for one in reasons), value=held if held in known else "",
        ),
        EntryField("detail", "In words", help="What the wearer says. It stands on the tag."),
    ]  # fmt: skip
    if unit.battery is not None and unit.custody is not None and unit.battery.id == unit.custody.battery_id:
        along = EntryField(
            ALONG, f"Its pack {unit.battery.label}", "choice",
            choices=((NO, "stays in it"), (YES, "goes along with the other unit")), value=NO,
        )  # fmt: skip
        fields.append(along)
    return AskForm(
        matter="exchange",
        title=f"Exchange the unit of {name_of(unit.holder)}",
        label=unit.label,
        lead="It comes back and is held with its tag. Then scan the unit that goes out instead.",
        fields=tuple(fields),
        go="Take it back and hold it",
        cost="prints its tag; hours worn by the clock",
        ids=(("unit", unit.unit.id),),
        cautions=tuple(f"On hold already: {line.words}" for line in unit.holds),
    )


def _lacks(form: AskForm) -> str:
    if form.value("reason") == OTHER.code and not form.value("detail").strip():
        return "Say in words what is wrong."
    return ""


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return ExchangeUnit(
        operation_id=token,
        unit_id=form.id("unit"),
        reason=form.value("reason"),
        detail=form.value("detail"),
        pack_along=form.value(ALONG) == YES,
    )


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    """The wearer stays at the counter, with the area and the time of the unit that came back."""
    unit = slate.unit
    assert unit is not None
    assert unit.custody is not None
    assert unit.holder is not None
    custody = unit.custody
    words = f"{named(slate, receipt.sentence, receipt.names)} Scan the unit that goes out instead."
    kept = replace(
        slate.cleared(),
        person=slate.person or _wearer(house, unit, moment),
        area=AreaCard(unit.area) if unit.area else None,
        due_at=custody.due_at if custody.due_at and custody.due_at > moment else None,
        assigned=custody.assigned,
        battery=_pack(unit) if form is not None and form.value(ALONG) == YES else None,
        done=slate.done,
    )
    return also(say(kept, "taken", words, moment, unit.label), *weigh(kept))


def _wearer(house: House, unit: UnitCard, moment: datetime) -> PersonCard:
    """The wearer's card as far as it is known here; it is looked up again at once."""
    person = unit.holder
    assert person is not None
    ended = person.ended(house.today(moment))
    return PersonCard(person, (), (), (), ended, (), None, usual_area=unit.area)


def _pack(unit: UnitCard) -> BatteryCard | None:
    """The pack that goes along, out of its unit; it is looked up again at once."""
    if unit.battery is None:
        return None
    out = replace(unit.battery, place=BatteryPlace.SHELF, unit_id=None, slot_id=None, charged_at=None)
    return BatteryCard(out, f"out of {in_sentence(unit.label)}", in_use=False)


MATTERS = (
    Matter(
        id="exchange",
        offered=_offered,
        shown=True,
        cost="held with its tag; another goes out",
        opens=_opens,
        lacks=_lacks,
        builds=_builds,
        after=_after,
    ),
)
