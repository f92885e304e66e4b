"""What stands against going on with a unit that is out: what stands against keeping it, and that it is called in."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.records import CallIn, Custody, Person, Unit, Where
from cribdesk.crib.refusal import IsCalledIn, NotOut
from cribdesk.crib.words import in_sentence
from cribdesk.desk.house import House
from cribdesk.desk.inspection import fetch_unit
from cribdesk.desk.operation import Context, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.recheck import recheck


def against_use(records: Records, house: House, unit: Unit, custody: Custody, moment: datetime) -> str:
    """Why the wearer may not go on with a unit that is out, in words, or nothing."""
    if unit.where is Where.MISSING:
        return "it is missing"
    against = recheck(records, house, custody, moment)
    if against:
        return in_sentence(against[0].words)
    called = records.first(CallIn, custody_id=custody.id, closed_at=None)
    return f"it is called in, {in_sentence(called.why.splitlines()[0])}" if called else ""


def fetch_out(work: Work, unit_id: int) -> tuple[Unit, Custody, Person]:
    """The unit, its open custody and its wearer, taken for change. Raises NotOut for one that is in."""
    unit = fetch_unit(work, unit_id)
    custody = work.first(Custody, unit_id=unit.id, returned_at=None)
    if custody is None:
        raise NotOut(unit.label, f"it is at: {unit.place or unit.where.value}")
    work.take(custody)
    return unit, custody, fetch(work, Person, custody.person_id, "The wearer")


def must_go_on(work: Work, context: Context, unit: Unit, custody: Custody) -> None:
    """Raises IsCalledIn where the wearer may not go on with it."""
    against = against_use(work, context.house, unit, custody, context.moment)
    if against:
        raise IsCalledIn(unit.label, against)
