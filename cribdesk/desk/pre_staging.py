"""Units inspected in a row for the next shift: what a scan does while the counter does that."""

from __future__ import annotations

from dataclasses import replace

from cribdesk.crib.records import Where
from cribdesk.crib.serviceable import Serviceable, is_current
from cribdesk.crib.words import capital
from cribdesk.desk import checks
from cribdesk.desk.cards import InstrumentCard, UnitCard
from cribdesk.desk.house import House
from cribdesk.desk.readiness import crew_that_comes, in_time_for
from cribdesk.desk.routing import Routed, refuse, say
from cribdesk.desk.saying import WHERE_WORDS, moment_words, name_of
from cribdesk.desk.slate import Scanned, Slate

MODE = "pre-stage"


def scanned(house: House, slate: Slate, event: Scanned) -> Routed:
    """A unit begins its bench inspection at once; a flow meter is taken; all else is told."""
    card = event.card
    if isinstance(card, InstrumentCard):
        return _meter(house, slate, card, event)
    if not isinstance(card, UnitCard):
        words = f"{card.label} is no unit. Inspecting for the next shift: scan the units. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    why = why_not(house, card, event)
    if why:
        return refuse(slate, f"{why} Nothing changed.", event.moment, card.label)
    return checks.begin(house, slate, (card,), "bench", MODE, event.moment)


def why_not(house: House, card: UnitCard, event: Scanned) -> str:
    """Why this unit is not inspected for the next shift now, and what comes first; or nothing."""
    unit, state = card.unit, card.condition.state
    if card.is_out:
        return f"{card.label} is out with {name_of(card.holder)}. Take it back first."
    if unit.where is Where.SCRAPPED:
        return f"{card.label} is scrapped: it is never issued again."
    if unit.where not in (Where.RACK, Where.BENCH):
        return f"{card.label} is {WHERE_WORDS[unit.where]} in the book. End this with F9, and put it down alone."
    if card.holds:
        return f"{card.label} is on hold: {card.holds[0].words.rstrip('.')}. The bench releases it first."
    if state is Serviceable.ON_HOLD:
        return f"{card.label} stands as on hold: {'; '.join(card.condition.why)}. Change the part first."
    if card.condition.dirty:
        return f"{card.label} needs cleaning first: {card.condition.why[0]}."
    return _sealed_already(house, card, event)


def _sealed_already(house: House, card: UnitCard, event: Scanned) -> str:
    """A unit whose bench inspection is good for the crew that comes is not inspected a second time."""
    made = card.standing.last_pass
    since = in_time_for(house, crew_that_comes(house, event.moment))
    if made is None or made.kind != "bench" or not is_current(card.standing, since):
        return ""
    at = moment_words(made.ended_at, house, event.moment)
    return f"{card.label} is good for the next shift: inspected at the bench {at}. Its seal prints from the shift list."


def _meter(house: House, slate: Slate, card: InstrumentCard, event: Scanned) -> Routed:
    if card.instrument.calibrated_until < house.today(event.moment):
        words = f"{capital(card.instrument.name)}: its calibration ended. Take another meter. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    words = f"{card.instrument.name} is the flow meter now. Scan unit after unit."
    return say(replace(slate, meter=card), "taken", words, event.moment, card.label)
