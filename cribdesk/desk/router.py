"""The counter as a pure fold: a slate and an event give the next slate and what is to be done."""

from __future__ import annotations

from dataclasses import replace

from cribdesk.crib.reasons import reasons, stops
from cribdesk.crib.words import in_sentence, joined
from cribdesk.desk import checks, choices, forms, outcomes, scans
from cribdesk.desk.house import House
from cribdesk.desk.routing import Routed, say, weigh
from cribdesk.desk.slate import (
    Answered,
    AreasOffered,
    Changed,
    Chosen,
    Done,
    Event,
    Filled,
    Gathered,
    Inquired,
    Looked,
    Offered,
    Scanned,
    Slate,
    Ticked,
)


def route(house: House, slate: Slate, event: Event) -> Routed:
    """The next slate and its requests.

    While an operation is under way scans wait in order, and nothing else is taken but its answer.
    """
    match event:
        case Done():
            return _done(house, slate, event)
        case Looked():
            return _looked(slate, event)
        case Changed():
            return slate, weigh(slate) if _touched(slate, event) else ()
        case Scanned() if slate.pending is not None:
            return replace(slate, waiting=(*slate.waiting, event)), ()
    if slate.pending is not None:
        return slate, ()
    return _at_rest(house, slate, event)


def _at_rest(house: House, slate: Slate, event: Event) -> Routed:
    match event:
        case Scanned():
            return scans.scanned(house, slate, event)
        case Chosen():
            return choices.chosen(house, slate, event)
        case Answered():
            return checks.answered(house, slate, event)
        case Ticked():
            return checks.ticked(house, slate, event)
        case Filled():
            return forms.filled(slate, event)
        case Offered():
            return forms.offered(slate, event), ()
        case Inquired():
            return forms.inquired(slate, event), ()
        case AreasOffered():
            return forms.areas_offered(house, slate, event), ()
        case Gathered():
            return _gathered(slate, event)
    return slate, ()


def _done(house: House, slate: Slate, event: Done) -> Routed:
    if slate.pending is None or slate.pending.operation_id != event.operation_id:
        return slate, ()
    slate, requests = outcomes.done(house, slate, event)
    while slate.waiting and slate.pending is None:
        first, rest = slate.waiting[0], slate.waiting[1:]
        slate, more = scans.scanned(house, replace(slate, waiting=rest), first)
        requests += more
    return slate, requests


def _looked(slate: Slate, event: Looked) -> Routed:
    """Takes fresh cards for what still lies there; an answer that came too late changes nothing.

    A stop that was not there before is said, with its first reason, unless the line says worse already.
    """
    unit, person, battery = slate.unit, slate.person, slate.battery
    if event.unit and unit and event.unit.unit.id == unit.unit.id:
        unit = event.unit
    if event.person and person and event.person.person.id == person.person.id:
        person = event.person
    if event.battery and battery and event.battery.battery.id == battery.battery.id:
        battery = event.battery
    slate = replace(slate, unit=unit, person=person, battery=battery)
    facts = event.facts
    if facts is None or not _still_fits(slate, event):
        return slate, ()
    found = reasons(facts, event.moment) if facts.person is not None and not slate.theirs else ()
    due_at = None if slate.assigned else slate.due_at or facts.due_at
    weighed = replace(slate, facts=facts, reasons=found, due_at=due_at)
    against = stops(found)
    told = slate.line.level == "refused" or slate.line.words.endswith(("the journal has it.", "Nothing was issued."))
    if not against or stops(slate.reasons) or told or facts.person is None or slate.pending is not None:
        return weighed, ()
    first = in_sentence(against[0].words)
    return say(weighed, "refused", f"Not to {facts.person.name}: {first}", event.moment)


def _still_fits(slate: Slate, event: Looked) -> bool:
    facts, ids = event.facts, slate.ids()
    if facts is None or ids is None:
        return False
    weighed = (
        facts.assigned,
        facts.unit.id,
        facts.person.id if facts.person else None,
        facts.battery.id if facts.battery else None,
        facts.area.id if facts.area else None,
    )
    return weighed == (ids.assigned, ids.unit_id, ids.person_id, ids.battery_id, ids.area_id)


def _touched(slate: Slate, event: Changed) -> bool:
    cards = (slate.unit, slate.person, slate.battery)
    return any(card is not None and card.label in event.topics for card in cards)


def _gathered(slate: Slate, event: Gathered) -> Routed:
    under_way = slate.check or slate.passed
    if under_way is not None:
        return say(slate, "refused", checks.is_open(under_way), event.moment)
    dirty = tuple(card for card in event.cards if not card.is_out)
    if not dirty:
        return say(slate, "refused", "None of these units is here to be cleaned. Nothing changed.", event.moment)
    way = dirty[0].model.procedures.get("cleaning")
    alike = tuple(card for card in dirty if card.model.procedures.get("cleaning") == way)
    cleared = replace(slate.cleared(), tray=alike)
    left = [card.label for card in dirty if card not in alike]
    if left:
        words = f"{joined(left)} {'is' if len(left) == 1 else 'are'} cleaned another way and left off this tray."
        return say(cleared, "caution", words, event.moment)
    return say(cleared, "taken", "Scan more units for the tray, or begin with F5.", event.moment)
