"""Another employer's proof of a clearance, and the information sheet for voluntary users: both go on file."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from cribdesk.crib.records import Clearance, Evidence, InformationSheet, Person, Role
from cribdesk.crib.refusal import AlreadyOnFile, WrongFigure
from cribdesk.crib.words import date_words
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.people import OFFICE, save_proof
from cribdesk.desk.ports import Work


@dataclass(frozen=True, kw_only=True)
class AddEvidence(Operation):
    """The employer's proof of a clearance that was entered without one."""

    clearance_id: int
    document: str
    dated_on: date
    seen_on: date

    code: ClassVar[str] = "add-evidence"
    words: ClassVar[str] = "Entering a proof"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it beside the clearance, which stands from then on where nothing else is against it."""
        clearance = fetch(work, Clearance, self.clearance_id, "This clearance")
        person = fetch(work, Person, clearance.person_id, "This person")
        work.take(person)
        if not context.house.from_elsewhere(person):
            raise WrongFigure("Employer", f"{person.label} is one of your own: no proof is asked for")
        if work.first(Evidence, clearance_id=clearance.id):
            raise AlreadyOnFile(f"The proof of this {clearance.kind.value}")
        save_proof(work, context, person, clearance, self.document, self.dated_on, self.seen_on)
        what = f"{clearance.kind.value} of {date_words(clearance.given_on)}"
        return Outcome(f"{person.label}: proof of {what} is on file.", (person.label,))


@dataclass(frozen=True, kw_only=True)
class GiveSheet(Operation):
    """The information for voluntary users was handed over: 29 CFR 1910.134, Appendix D."""

    person_id: int

    code: ClassVar[str] = "information-sheet"
    words: ClassVar[str] = "Recording the information sheet"

    def run(self, work: Work, context: Context) -> Outcome:
        """Dates it today; the sheet prints. Given again it is dated again: nothing is lost by that."""
        person = fetch(work, Person, self.person_id, "This person")
        today = context.house.today(context.moment)
        sheet = work.save(InformationSheet(person_id=person.id, given_on=today, by_id=context.clerk.id))
        paper = (("information_sheet", str(sheet.id)),)
        return Outcome(f"Information sheet given to {person.label}.", (person.label,), paper)
