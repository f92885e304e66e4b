"""After a class or a test day: one clearance for everybody who was there, in one entry, or for nobody."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from cribdesk.crib.clearance import fit_trouble, good_until
from cribdesk.crib.records import Clearance, ClearanceKind, Person, Role
from cribdesk.crib.refusal import NotAllowed, WrongFigure
from cribdesk.crib.words import capital, count, date_words
from cribdesk.desk.house import House
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.people import OFFICE, fit_test_size
from cribdesk.desk.ports import Records, Work

KINDS = (ClearanceKind.TRAINING, ClearanceKind.FIT_TEST)
"""What is given to many on one day. What the health professional says comes one by one."""


class RowsNotAllowed(NotAllowed):
    """Rows of one entry that cannot be: every one is named, and nothing of the entry is written."""

    def __init__(self, faults: tuple[tuple[int, str, str], ...]) -> None:
        told = "; ".join(f"row {row}, {label}: {why}" for row, label, why in faults)
        super().__init__(f"{capital(told)}.", "Take them out or set them right; nobody was entered.")
        self.faults = faults


@dataclass(frozen=True, kw_only=True)
class ClearMany(Operation):
    """A training or a fit test of one day. `rows` are (person id, size, fit factor or None), in their order."""

    kind: ClearanceKind
    given_on: date
    rows: tuple[tuple[int, str, int | None], ...]
    model: str = ""
    method: str = ""
    detail: str = ""

    code: ClassVar[str] = "clear-many"
    words: ClassVar[str] = "Entering a class or a test day"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Weighs every row first, then saves them all."""
        today = context.house.today(context.moment)
        if self.kind not in KINDS:
            raise WrongFigure("What it is", "this comes one by one")
        if self.given_on > today:
            raise WrongFigure("Date", f"{date_words(self.given_on)} is still to come")
        if not self.rows:
            raise WrongFigure("Who was there", "nobody: scan their badges")
        if self.kind is ClearanceKind.FIT_TEST and self.model not in context.house.models:
            raise WrongFigure("Model", "a fit test is made with one model of respirator")
        faults = self.faults(work, context.house, today)
        if faults:
            raise RowsNotAllowed(faults)
        people = {one.id: one for one in work.find(Person, id=sorted({row[0] for row in self.rows}))}
        work.take(*people.values())
        for person_id, size, factor in self.rows:
            work.save(self._clearance(person_id, size, factor))
        labels = tuple(people[row[0]].label for row in self.rows)
        of_model = f" with {self.model}" if self.kind is ClearanceKind.FIT_TEST else ""
        who = count(len(labels), "person", "people")
        what = f"{capital(self.kind.value)} of {date_words(self.given_on)}{of_model}"
        return Outcome(f"{what} entered for {who}.", labels)

    def faults(self, records: Records, house: House, today: date) -> tuple[tuple[int, str, str], ...]:
        """(row from 1, label, what is wrong with it) of every row that cannot be; in two queries."""
        people = {one.id: one for one in records.find(Person, id=sorted({row[0] for row in self.rows}))}
        there = records.find(Clearance, person_id=sorted(people), kind=self.kind, given_on=self.given_on)
        many = Counter(row[0] for row in self.rows)
        found = []
        for number, (person_id, size, factor) in enumerate(self.rows, 1):
            person = people.get(person_id)
            if person is None:
                found.append((number, "somebody", "not in this store"))
                continue
            made = self._clearance(person_id, size, factor)
            why = "is in the list twice" if many[person_id] > 1 else self._fault(house, today, person, made, there)
            found += [(number, person.label, why)] if why else []
        return tuple(found)

    def _clearance(self, person_id: int, size: str, factor: int | None) -> Clearance:
        fit = self.kind is ClearanceKind.FIT_TEST
        return Clearance(
            person_id=person_id,
            kind=self.kind,
            given_on=self.given_on,
            model=self.model if fit else "",
            size=size if fit else "",
            detail=self.detail.strip(),
            method=self.method if fit else "",
            fit_factor=factor if fit else None,
        )

    def _fault(self, house: House, today: date, person: Person, made: Clearance, there: list[Clearance]) -> str:
        """What is wrong with one row, in words, or nothing."""
        if person.ended(today):
            return "the badge has ended"
        if house.from_elsewhere(person):
            return "is of another employer: enter it alone, with the employer's proof"
        until = good_until(made, house.clearance_months)
        if until is not None and until < today:
            return f"ran out on {date_words(until)} already"
        if any((one.person_id, one.model, one.size) == (person.id, made.model, made.size) for one in there):
            return "is on file already"
        model = house.models.get(self.model)
        if self.kind is not ClearanceKind.FIT_TEST or model is None:
            return ""
        if not self.method:
            return "say how the fit test was made"
        return fit_test_size(model, made.size) or fit_trouble(model, self.method, made.fit_factor)
