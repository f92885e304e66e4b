"""Erasing the personal values that are kept of somebody, once no period runs any more."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import ClassVar

from cribdesk.crib.records import (
    Area,
    Assessment,
    Certification,
    Clearance,
    ClearanceKind,
    Custody,
    Notice,
    Person,
    Role,
    Unit,
)
from cribdesk.crib.refusal import MayNotErase, StillKept, WrongFigure
from cribdesk.crib.retention import Kept, periods
from cribdesk.crib.words import count, date_words
from cribdesk.desk.house import House
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work

LEAD = "lead"
_LEAD_NAMED = re.compile(r"\b(lead|pb)\b", re.IGNORECASE)

REMAINS = (
    "What stays: the badge's label with what went out on it, when, by whose check and to which area; clearances with "
    "their dates, work limits as codes; and in the journal trade, crew and employer as they were entered. What it "
    "cannot reach: backups and dumps made before, printed papers, files somebody exported, and a name that was typed "
    "where no name belongs."
)
STAYS = "The label, its dates and what went out on it stay; backups, dumps and papers made before are not reached."


@dataclass(frozen=True, kw_only=True)
class ErasePerson(Operation):
    """Name, other badges' numbers, remarks and free text about somebody who left are erased, for good.

    `left_on` is the last day of their employment, from which the longest period runs.
    """

    person_id: int
    left_on: date

    code: ClassVar[str] = "erase-person"
    words: ClassVar[str] = "Erasing what is kept of a person"
    may: ClassVar[tuple[Role, ...]] = (Role.PROGRAM, Role.SYSTEM)

    def run(self, work: Work, context: Context) -> Outcome:
        """Empties the values and throws their seals away. Raises NotAllowed while anything stands against it."""
        person = fetch(work, Person, self.person_id, "This person")
        work.take(person)
        _must_be_gone(work, context, person)
        self._must_be_over(work, context, person)
        rows = work.forget(person.id)
        if not rows:
            raise MayNotErase(person.label, "nothing personal is kept of them any more", "")
        now = work.get(Person, person.id)
        work.save(replace(now, trade="", crew="", employer="", roles="", active=False))
        told = f"{person.label}: what was personal is erased, in {count(rows, 'record')}."
        return Outcome(f"{told} {STAYS}", (person.label,))

    def _must_be_over(self, work: Work, context: Context, person: Person) -> None:
        """Raises NotAllowed while the law's time runs, or for a last day that the store knows to be wrong."""
        today = context.house.today(context.moment)
        if self.left_on > today:
            raise WrongFigure("Last day", f"{date_words(self.left_on)} is still to come")
        last = last_known(work, context.house, person)
        if last is not None and self.left_on < last:
            raise WrongFigure("Last day", f"something of {date_words(last)} is on file")
        found = periods(kept_of(work, context.house, person, self.left_on))
        if found and found[0].until >= today:
            longest = found[0]
            raise StillKept(person.label, date_words(longest.until), longest.what, longest.basis)


def _must_be_gone(work: Work, context: Context, person: Person) -> None:
    """Raises MayNotErase for a badge that still stands, or of whom something is open."""
    if person.id == context.clerk.id:
        raise MayNotErase(person.label, "it is who is signed on", "Let somebody else sign on.")
    if not person.ended(context.house.today(context.moment)):
        raise MayNotErase(person.label, "the badge still stands", "End it first, by a change of the person.")
    custody = work.first(Custody, person_id=person.id, returned_at=None)
    if custody is not None:
        unit = fetch(work, Unit, custody.unit_id, "This unit")
        raise MayNotErase(person.label, f"{unit.label} is out on this badge", "Take it back first.")
    if work.first(Notice, person_id=person.id, seen_at=None):
        raise MayNotErase(person.label, "a notice about them waits for its answer", "Answer it first.")
    for one in work.latest_of_each(Certification, "unit_id").values():
        if one.by_id == person.id:
            unit = fetch(work, Unit, one.unit_id, "This unit")
            why = f"the certification of {unit.label} in force names them (29 CFR 1910.134(h)(3)(iv))"
            raise MayNotErase(person.label, why, "Let it be certified anew first.")


def kept_of(records: Records, house: House, person: Person, left_on: date) -> Kept:
    """What is kept of a person, as far as it has to be kept for a time; five queries at most."""
    clearances = records.find(Clearance, person_id=person.id)
    custodies = records.find(Custody, person_id=person.id)
    lead = _lead_areas(records, {one.area_id for one in custodies if one.area_id})
    return Kept(
        left_on,
        medical=any(one.kind is ClearanceKind.MEDICAL for one in clearances),
        fit_test=any(one.kind is ClearanceKind.FIT_TEST for one in clearances),
        worn_on=_last(house, [one.issued_at for one in custodies]),
        lead_on=_last(house, [one.issued_at for one in custodies if one.area_id in lead]),
    )


def last_known(records: Records, house: House, person: Person) -> date | None:
    """The last day of which the store keeps something of this person; None where there is none."""
    custodies = records.find(Custody, person_id=person.id)
    worn = _last(house, [one.returned_at or one.issued_at for one in custodies])
    given = [one.given_on for one in records.find(Clearance, person_id=person.id)]
    return max([*given, *([worn] if worn else [])], default=None)


def _last(house: House, moments: list[datetime]) -> date | None:
    return house.today(max(moments)) if moments else None


def _lead_areas(records: Records, area_ids: set[int]) -> set[int]:
    """Which of the areas have, or had, lead: by an assessment, or by the words of what is in the air."""
    assessed = {one.area_id for one in records.find(Assessment, substance=LEAD)}
    areas = records.find(Area, id=sorted(area_ids))
    return {one.id for one in areas if one.id in assessed or _LEAD_NAMED.search(one.agents)}
