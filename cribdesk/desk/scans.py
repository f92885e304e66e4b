"""What a scan does to the slate. A scan is never a toggle: it shows, and only a waited-for one acts."""

from __future__ import annotations

from dataclasses import replace

from cribdesk.crib.label import KIND_WORDS, Kind
from cribdesk.crib.records import Area
from cribdesk.crib.refusal import WrongBadge
from cribdesk.crib.words import capital, date_words, in_sentence, when
from cribdesk.desk import by_name, checks, choices, forms, pre_staging, used
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
from cribdesk.desk.cards_carton import CartonCard
from cribdesk.desk.house import House
from cribdesk.desk.labels import BindLabel
from cribdesk.desk.meter_check import reference_of
from cribdesk.desk.return_ import TakeBack
from cribdesk.desk.routing import Routed, also, do, refuse, say, weigh
from cribdesk.desk.slate import AskForm, BindForm, Chosen, Filled, MoreForm, Scanned, Slate

SEAL = "seal"
"""The field of a form that takes any text that is scanned: a seal carries a number of its maker's."""


def scanned(house: House, slate: Slate, event: Scanned) -> Routed:
    """The slate after a scan."""
    card = event.card
    slate = replace(slate, line=replace(slate.line, label=card.label))
    if isinstance(card, NotFound):
        return _not_found(slate, card, event)
    if isinstance(card, CommandCard):
        return choices.chosen(house, slate, Chosen(event.moment, card.command, token=event.token))
    if isinstance(card, PersonCard) and event.by_name:
        return _found_by_name(house, slate, card, event)
    if slate.named is not None:  # the badge is there after all, or something else comes first
        slate = replace(slate, form=None, named=None)
    if slate.check is not None:
        return checks.scanned(house, slate, event)
    if slate.passed is not None:
        return _acknowledge(house, slate, event)
    if isinstance(slate.form, BindForm):
        return _bind(slate, slate.form, event)
    if isinstance(slate.form, MoreForm):
        slate = replace(slate, form=None)
    if slate.form is not None:
        return forms.scanned(house, slate, event)
    if isinstance(card, PersonCard) and (slate.clerk is None or slate.mode == "sign-on"):
        return choices.clerk_of(slate, card, event.moment, event.token)
    if slate.mode == "returns":
        return _returning(house, slate, event)
    if slate.mode == pre_staging.MODE:
        return pre_staging.scanned(house, slate, event)
    return _place(house, slate, event)


def _found_by_name(house: House, slate: Slate, card: PersonCard, event: Scanned) -> Routed:
    """Somebody without a badge: they lie on the counter only once the clerk has confirmed who it is."""
    busy = slate.check or slate.passed or slate.mode != "counter" or slate.tray
    if busy or (slate.form is not None and slate.named is None and not isinstance(slate.form, MoreForm)):
        words = f"{card.person.name} was found by name: finish what is open here first, or scan the badge."
        return refuse(slate, f"{words} Nothing changed.", event.moment, card.label)
    if slate.clerk is None:
        words = "Nobody is signed on. A clerk signs on with the badge, not by name. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    asked = replace(slate, named=card, form=by_name.form_of(card))
    return say(asked, "caution", f"Is this {card.person.name}? Ask for name and crew", event.moment, card.label)


def _not_found(slate: Slate, card: NotFound, event: Scanned) -> Routed:
    if isinstance(slate.form, AskForm) and card.foreign and any(one.name == SEAL for one in slate.form.shown()):
        filled, asked = forms.filled(slate, Filled(event.moment, SEAL, card.foreign))  # a seal's own number
        return also(say(filled, "taken", "Taken as the number of the seal", event.moment, card.label), *asked)
    if slate.check is None and slate.form is None:
        slate = replace(slate, foreign=card.foreign)  # an older one is forgotten: F6 is for what is told now
    return refuse(slate, card.sentence, event.moment, card.label)


def _acknowledge(house: House, slate: Slate, event: Scanned) -> Routed:
    """The wearer's badge, or the slip they signed; anything else is told and changes nothing."""
    card, wearer = event.card, slate.person
    assert wearer is not None
    if isinstance(card, PersonCard):
        if card.person.id == wearer.person.id:
            return checks.issue(slate, event, slip_id=None)
        if slate.carrier:
            return _carried(slate, wearer, card, event)
        return refuse(slate, WrongBadge(card.person.name, wearer.person.name).words(), event.moment, card.label)
    if isinstance(card, SlipCard):
        if card.label == slate.slip_label:
            return checks.issue(slate, event, slip_id=card.slip.id)
        return refuse(slate, f"Slip {card.label} is not the one signed now. Nothing changed.", event.moment, card.label)
    words = f"The check is done: scan the badge of {wearer.person.name}, or break off with F12. Nothing changed."
    return refuse(slate, words, event.moment, card.label)


def _carried(slate: Slate, wearer: PersonCard, card: PersonCard, event: Scanned) -> Routed:
    """Somebody else's badge, where the unit goes back to the one it was assigned to before."""
    if card.badge_ended:
        words = f"The badge of {card.person.name} has ended: they carry nothing to {wearer.person.name}."
        return refuse(slate, f"{words} Nothing changed.", event.moment, card.label)
    return checks.issue(slate, event, slip_id=None, carrier_id=card.person.id)


def _bind(slate: Slate, form: BindForm, event: Scanned) -> Routed:
    return do(slate, BindLabel(operation_id=event.token, text=form.text, label=event.card.label), "bound")


def _returning(house: House, slate: Slate, event: Scanned) -> Routed:
    card = event.card
    if isinstance(card, SlipCard) and card.custody is not None and card.custody.returned_at is None:
        return do(slate, TakeBack(operation_id=event.token, unit_id=card.custody.unit_id), "rush")
    if not isinstance(card, UnitCard):
        words = f"{card.label} is no unit. Taking returns: scan the units. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    if not card.is_out:
        return refuse(slate, _already_in(house, card, event), event.moment, card.label)
    return do(slate, TakeBack(operation_id=event.token, unit_id=card.unit.id), "rush")


def _already_in(house: House, card: UnitCard, event: Scanned) -> str:
    last = card.standing.last_custody
    since = f", since {when(last.returned_at, house.zone, event.moment)}" if last and last.returned_at else ""
    return f"{card.label} is already back{since}: {card.condition.state.value}. Nothing changed."


def _place(house: House, slate: Slate, event: Scanned) -> Routed:
    card = event.card
    if isinstance(card, BagCard) and slate.used is not None:
        return used.into_bag(slate, slate.used, card, event)
    matter = forms.begun_by(house, slate, card) if slate.mode == "counter" else None
    if matter is not None:
        return forms.begin_with(house, slate, matter, event)
    match card:
        case UnitCard():
            return unit_down(slate, card, event)
        case PersonCard():
            return person_down(slate, card, event)
        case BatteryCard() if card.unit is not None and slate.unit is None and slate.person is None:
            placed = replace(slate, battery=card, unit=card.unit)
            words = f"{card.label} is {card.where_words}"
            return also(say(placed, "taken", words, event.moment, card.label), *weigh(placed))
        case BatteryCard():
            placed = replace(slate, battery=card)
            words = f"{card.label} goes along" if slate.unit or slate.person else f"Battery {card.where_words}"
            return also(say(placed, "taken", words, event.moment, card.label), *weigh(placed))
        case AreaCard():
            placed = replace(slate, area=card, accepted=())
            return also(say(placed, "taken", f"For {card.area.name}", event.moment, card.label), *weigh(placed))
        case TagCard():
            placed = replace(slate, unit=card.unit)
            words = f"Tag of {card.unit.label}: {_tag_words(card)}"
            return also(say(placed, "caution", words, event.moment, card.label), *weigh(placed))
        case SlipCard():
            return _slip(house, slate, card, event)
        case InstrumentCard():
            return _meter(house, slate, card, event)
        case ItemCard() | BinCard() | PartCard() if slate.unit is not None and not slate.unit.is_out:
            return forms.change_with(slate, event)
    return refuse(slate, _no_sense(card), event.moment, card.label)


def unit_down(slate: Slate, card: UnitCard, event: Scanned) -> Routed:
    """The unit lies on the counter; a tray takes it along."""
    if slate.tray:
        return _to_tray(slate, card, event)
    waits = slate.used if slate.used and slate.used.unit_id == card.unit.id else None
    placed = replace(slate, unit=card, facts=None, reasons=(), slip_label="", used=waits, accepted=())
    if card.is_out:
        holder = card.holder.name if card.holder else "somebody"
        if card.against:
            words = f"Out with {holder}, to be called in: {in_sentence(card.against[0].words)}"
            return also(say(placed, "caution", words, event.moment, card.label), *weigh(placed))
        return also(say(placed, "taken", f"Out with {holder}", event.moment, card.label), *weigh(placed))
    if card.holds:
        words = f"On hold: {card.holds[0].words}"
        return also(say(placed, "caution", words, event.moment, card.label), *weigh(placed))
    beside = f", beside {slate.person.person.name}" if slate.person else ""
    return also(say(placed, "taken", f"Unit on the counter{beside}", event.moment, card.label), *weigh(placed))


def person_down(slate: Slate, card: PersonCard, event: Scanned) -> Routed:
    """The wearer's badge lies on the counter; the area of the last time is proposed."""
    area = slate.area or (AreaCard(card.usual_area) if isinstance(card.usual_area, Area) else None)
    placed = replace(slate, person=card, area=area, reasons=(), facts=None, by_name=0, accepted=())
    held = [one for one in card.holds_now if one.overdue]
    if card.to_call_in:
        unit, why = card.to_call_in[0]
        words = f"{card.person.name} holds {unit}, to be called in: {in_sentence(why)}"
        return also(say(placed, "caution", words, event.moment, card.label), *weigh(placed))
    if held:
        words = f"{card.person.name} still holds {held[0].unit}, overdue"
        return also(say(placed, "caution", words, event.moment, card.label), *weigh(placed))
    return also(say(placed, "taken", card.person.name, event.moment, card.label), *weigh(placed))


def _to_tray(slate: Slate, card: UnitCard, event: Scanned) -> Routed:
    if any(one.unit.id == card.unit.id for one in slate.tray):
        return refuse(slate, f"{card.label} is on the tray already.", event.moment, card.label)
    if card.is_out:
        return refuse(slate, f"{card.label} is out. Take it back first. Nothing changed.", event.moment, card.label)
    if card.model.procedures.get("cleaning") != slate.tray[0].model.procedures.get("cleaning"):
        words = f"{card.label} is cleaned another way: give it a tray of its own. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    tray = (*slate.tray, card)
    return say(replace(slate, tray=tray), "taken", f"{len(tray)} on the tray", event.moment, card.label)


def _slip(house: House, slate: Slate, card: SlipCard, event: Scanned) -> Routed:
    custody = card.custody
    if custody is None:
        words = f"Slip {card.label} was prepared for {card.person_name} and never issued. Nothing changed."
    elif custody.returned_at is None:
        words = f"Slip {card.label}: {card.unit_label} is out with {card.person_name}. Scan the unit to take it back."
    else:
        back = when(custody.returned_at, house.zone, event.moment)
        words = f"Slip {card.label}: {card.unit_label} came back from {card.person_name} {back}."
    return say(slate, "taken", words, event.moment, card.label)


def _meter(house: House, slate: Slate, card: InstrumentCard, event: Scanned) -> Routed:
    """The meter of this counter from now on. One found wrong lies there too, but only to be checked anew."""
    name, until = card.instrument.name, date_words(card.instrument.calibrated_until)
    checks_it = " F5 begins its daily check." if slate.empty and reference_of(house) else ""
    if not card.good:
        words = f"{name} is a flow meter; its {card.why}. It is not used."
        if card.instrument.active or not checks_it:
            return refuse(slate, f"{words} Nothing changed.", event.moment, card.label)
        return say(replace(slate, meter=card), "caution", f"{words}{checks_it}", event.moment, card.label)
    words = f"{name} is the flow meter of this counter now, calibrated until {until}"
    level = "caution" if card.unchecked else "taken"
    unchecked = ". It was not checked today" if card.unchecked else ""
    more = f"{unchecked}.{checks_it}" if checks_it or unchecked else ""
    return say(replace(slate, meter=card), level, f"{words}{more}", event.moment, card.label)


def _tag_words(card: TagCard) -> str:
    words = next((line.words for line in card.unit.holds if line.hold.id == card.hold.id), "")
    return words or "released, the tag may come off"


def _no_sense(card: Card) -> str:
    kind = Kind(card.label[0]) if card.label[:1] in set(Kind) else None
    what = KIND_WORDS[kind] if kind else "something else"
    if isinstance(card, ItemCard):
        first = "Put a badge down first to hand it out, or a unit to fit it"
        return f"{card.item.name}: {card.on_hand} on the shelf. {first}. Nothing changed."
    if isinstance(card, PartCard):
        where = f"fitted in {card.unit.label}" if card.unit else card.part.place.value
        return f"{card.item.name}, {where}. Put a unit down first to fit it. Nothing changed."
    if isinstance(card, SetCard):
        names = ", ".join(f"{count} {one.item.name}" for one, count in card.items)
        return f"Set {card.set.name}: {names}. Put a badge down first to hand it out. Nothing changed."
    if isinstance(card, CabinetCard):
        there = ", ".join(card.units) or "nothing"
        return f"Cabinet {card.cabinet.name} holds {there}. Nothing changed."
    if isinstance(card, CartonCard):
        return f"{card.label} is a carton's number: received by a storekeeper, on the empty counter. Nothing changed."
    if isinstance(card, BagCard):
        state = "closed" if card.bag.closed_at else "open"
        return f"Waste bag {card.label}, {card.bag.stream}, {state}: {card.pieces} in it. Nothing changed."
    if isinstance(card, BinCard):
        names = ", ".join(one.item.name for one in card.items) or "nothing"
        return f"Bin {card.bin.code} holds {names}. Nothing changed."
    return f"{card.label} is {what}. {capital('put a badge or a unit on the counter first')}. Nothing changed."
