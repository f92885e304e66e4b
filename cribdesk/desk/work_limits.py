"""Work limits of a wearer: entered as a code without the reason, and ended."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.records import Person, Role, WorkLimit
from cribdesk.crib.refusal import AlreadyOnFile, WrongFigure
from cribdesk.crib.words import date_words, in_sentence
from cribdesk.crib.work_limit import limit_of, words_of
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.people import OFFICE
from cribdesk.desk.ports import Work


@dataclass(frozen=True, kw_only=True)
class SetWorkLimit(Operation):
    """A work limit of the health professional stands for a person from now on. `code` is one of crib/work_limit.py."""

    person_id: int
    code_of_limit: str
    given_on: date

    code: ClassVar[str] = "set-work-limit"
    words: ClassVar[str] = "Entering a work limit"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it; one of the same sort that stood before ends today, so that one figure counts."""
        person = fetch(work, Person, self.person_id, "This person")
        today = context.house.today(context.moment)
        try:
            limit = limit_of(self.code_of_limit)
        except ValueError as failure:
            raise WrongFigure("Work limit", str(failure)) from None
        if self.given_on > today:
            raise WrongFigure("Given on", f"{date_words(self.given_on)} is still to come")
        work.take(person)
        standing = work.find(WorkLimit, person_id=person.id, ended_on=None)
        if any(one.code == limit.code for one in standing):
            raise AlreadyOnFile(f"Work limit of {person.label}, {in_sentence(limit.words)},")
        alike = [one for one in standing if _same_sort(one.code, limit.of.code)]
        for one in alike:
            work.take(one)
            work.save(replace(one, ended_on=today))
        work.save(
            WorkLimit(person_id=person.id, code=limit.code, given_on=self.given_on, by_id=context.clerk.id)
        )
        before = f", in place of {in_sentence(words_of(alike[0].code))}" if alike else ""
        return Outcome(f"Work limit of {person.label}: {in_sentence(limit.words)}{before}.", (person.label,))


@dataclass(frozen=True, kw_only=True)
class EndWorkLimit(Operation):
    """A work limit ends: the health professional took it back."""

    work_limit_id: int

    code: ClassVar[str] = "end-work-limit"
    words: ClassVar[str] = "Ending a work limit"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """It ends today, and stays on file."""
        limit = fetch(work, WorkLimit, self.work_limit_id, "This work limit")
        person = fetch(work, Person, limit.person_id, "This person")
        if limit.ended_on is not None:
            raise WrongFigure("Work limit", f"it ended on {date_words(limit.ended_on)} already")
        work.take(limit)
        work.save(replace(limit, ended_on=context.house.today(context.moment)))
        words = in_sentence(words_of(limit.code))
        return Outcome(f"Work limit of {person.label} ended: {words}.", (person.label,))


def _same_sort(code: str, sort: str) -> bool:
    try:
        return limit_of(code).of.code == sort
    except ValueError:
        return False
