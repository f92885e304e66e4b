"""Calling in: a slip to the supervisor of whoever holds what they no longer may; it ends when the unit is back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from cribdesk.crib.recheck import Against
from cribdesk.crib.records import GONE, CallIn, Custody, Person, Unit
from cribdesk.crib.refusal import NotAllowed, NothingToCallIn, StillCalledIn
from cribdesk.crib.words import capital, count, in_sentence, joined
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.recheck import recheck

PAPER = "call_in_slip"


@dataclass(frozen=True, kw_only=True)
class CallUnitsIn(Operation):
    """One unit, or several at once, are called in from whoever has them.

    Each is weighed again in here; one that was called in or came back meanwhile is left out of several.
    """

    custody_ids: tuple[int, ...]

    code: ClassVar[str] = "call-in"
    words: ClassVar[str] = "Calling in"

    def run(self, work: Work, context: Context) -> Outcome:
        """Writes a call-in for each, whose slip prints. Raises NotAllowed where there is none to be written."""
        made: list[tuple[Unit, Person, CallIn]] = []
        failure: NotAllowed = NothingToCallIn("A unit", "none is left on the list")
        for custody_id in self.custody_ids:
            try:
                made.append(_call_in(work, context, custody_id))
            except NothingToCallIn as refused:
                failure = refused
        if not made:
            raise failure
        papers = tuple((PAPER, str(one.id)) for _, _, one in made)
        subjects = tuple(dict.fromkeys(label for unit, person, _ in made for label in (unit.label, person.label)))
        if len(made) == 1:
            unit, person, one = made[0]
            why = in_sentence(one.why.splitlines()[0])
            return Outcome(f"{unit.label} called in from {person.label}: {why}.", subjects, papers)
        units = joined([unit.label for unit, _, _ in made])
        return Outcome(f"{count(len(made), 'unit')} called in: {units}.", subjects, papers)


@dataclass(frozen=True, kw_only=True)
class EndCallIn(Operation):
    """A call-in whose reason is gone ends; the wearer keeps the unit."""

    call_in_id: int

    code: ClassVar[str] = "end-call-in"
    words: ClassVar[str] = "Ending a call-in"

    def run(self, work: Work, context: Context) -> Outcome:
        """Ends it where nothing stands against the wearer any more."""
        one = fetch(work, CallIn, self.call_in_id, "This call-in")
        unit, person = fetch(work, Unit, one.unit_id, "This unit"), fetch(work, Person, one.person_id, "The wearer")
        work.take(one)
        if one.closed_at is not None:
            raise NothingToCallIn(unit.label, "this call-in has ended already")
        if unit.where in GONE:
            raise StillCalledIn(unit.label, f"it is {unit.where.value}")
        custody = fetch(work, Custody, one.custody_id, "This custody")
        against = recheck(work, context.house, custody, context.moment)
        if against:
            raise StillCalledIn(unit.label, in_sentence(against[0].words))
        work.save(replace(one, closed_at=context.moment))
        keeps = f"{person.label} keeps it."
        if is_late(custody, context.moment):
            keeps = f"It is overdue all the same: {person.label} brings it back."
        return Outcome(f"Call-in of {unit.label} ended: the reason is gone. {keeps}", (unit.label, person.label))


def is_late(custody: Custody, moment: datetime) -> bool:
    """Whether the unit should be back. Lateness is no reason to call in, and the end of a call-in does not lift it."""
    return custody.due_at is not None and custody.due_at < moment


def close_call_in(work: Work, custody: Custody, moment: datetime) -> None:
    """Ends the call-in of a custody that ends: the unit is back."""
    one = work.first(CallIn, custody_id=custody.id, closed_at=None)
    if one is not None:
        work.save(replace(one, closed_at=max(moment, one.made_at)))


def note_call_in(work: Work, context: Context, unit: Unit, why: str) -> None:
    """A hold's own slip calls the unit in: the call-in is noted, so that no second slip is asked for."""
    custody = work.first(Custody, unit_id=unit.id, returned_at=None)
    if custody is None:
        return
    there = work.first(CallIn, custody_id=custody.id, closed_at=None)
    if there is None:
        work.save(_made(context, custody, capital(why)))
    else:
        work.save(replace(there, why=f"{there.why}\n{capital(why)}"))


def why_words(against: tuple[Against, ...]) -> str:
    """The reasons, one a line, as a call-in keeps them."""
    return "\n".join(one.words for one in against)


def _call_in(work: Work, context: Context, custody_id: int) -> tuple[Unit, Person, CallIn]:
    custody = fetch(work, Custody, custody_id, "This custody")
    work.take(custody)
    unit, person = fetch(work, Unit, custody.unit_id, "This unit"), fetch(work, Person, custody.person_id, "The wearer")
    if custody.returned_at is not None:
        raise NothingToCallIn(unit.label, "it is back")
    if work.first(CallIn, custody_id=custody.id, closed_at=None):
        raise NothingToCallIn(unit.label, "it was called in already")
    against = recheck(work, context.house, custody, context.moment)
    if not against:
        raise NothingToCallIn(unit.label, "nothing stands against its wearer")
    return unit, person, work.save(_made(context, custody, why_words(against)))


def _made(context: Context, custody: Custody, why: str) -> CallIn:
    return CallIn(
        custody_id=custody.id,
        unit_id=custody.unit_id,
        person_id=custody.person_id,
        why=why,
        made_at=context.moment,
        by_id=context.clerk.id,
    )
