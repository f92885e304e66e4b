"""Who may carry a unit to the person it is assigned to: only where it was theirs before, and only on a live badge."""

from __future__ import annotations

from cribdesk.crib.reasons import Facts
from cribdesk.crib.records import Custody, Person
from cribdesk.crib.refusal import MayNotCarry
from cribdesk.crib.words import day
from cribdesk.desk.operation import Context, fetch
from cribdesk.desk.ports import Work


def was_theirs(last: Custody | None, person_id: int) -> bool:
    """Whether the unit was assigned to this person when it came in last."""
    return last is not None and last.assigned and last.person_id == person_id


def may_carry(work: Work, context: Context, facts: Facts, carrier_id: int, *, assigned: bool) -> Person:
    """Who carries it. Raises MayNotCarry: an issue is to the wearer, but for a unit back from service."""
    carrier = fetch(work, Person, carrier_id, "The carrier")
    unit, wearer = facts.unit.label, facts.person
    assert wearer is not None
    if not assigned or not was_theirs(facts.standing.last_custody, wearer.id):
        raise MayNotCarry(unit, "it was not assigned to this wearer before")
    if carrier.id == wearer.id:
        raise MayNotCarry(unit, "this badge is the wearer's own")
    if not carrier.active:
        raise MayNotCarry(unit, f"the badge of {carrier.label} is no longer active")
    today = context.house.today(context.moment)
    if carrier.ends_on is not None and carrier.ends_on < today:
        raise MayNotCarry(unit, f"the badge of {carrier.label} ended {day(carrier.ends_on, today)}")
    return carrier
