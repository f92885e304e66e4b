"""People: adding them, their clearances, signing on and off."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.clearance import fit_trouble
from cribdesk.crib.label import Kind
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Clearance, ClearanceKind, Evidence, Person, Role
from cribdesk.crib.refusal import WrongFigure
from cribdesk.crib.words import date_words
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work

OFFICE = (Role.PROGRAM, Role.SYSTEM)


@dataclass(frozen=True, kw_only=True)
class FirstStart(Operation):
    """An empty store gets its first person, its system administrator; the entry's clerk is that person."""

    full_name: str

    code: ClassVar[str] = "first-start"
    words: ClassVar[str] = "The first start"
    begins: ClassVar[bool] = True

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the person as system administrator."""
        wanted = self.full_name.strip()
        if not wanted:
            raise WrongFigure("Name", "it is empty")
        person = work.save(replace(context.clerk, name=wanted, roles=Role.SYSTEM.value))
        sentence = f"Store begun; {person.label} is its system administrator."
        return Outcome(sentence, (person.label,), (("label_sheet", person.label),))


@dataclass(frozen=True, kw_only=True)
class SignOn(Operation):
    """A clerk takes the counter. The clerk is who signs on."""

    code: ClassVar[str] = "sign-on"
    words: ClassVar[str] = "Signing on"

    def run(self, work: Work, context: Context) -> Outcome:
        """Writes the entry alone: who is at a counter is the workstation's matter."""
        return Outcome(f"{context.clerk.label} signed on at {context.counter}.", (context.clerk.label,))


@dataclass(frozen=True, kw_only=True)
class SignOff(Operation):
    """A clerk leaves the counter."""

    code: ClassVar[str] = "sign-off"
    words: ClassVar[str] = "Signing off"

    def run(self, work: Work, context: Context) -> Outcome:
        """Writes the entry alone."""
        return Outcome(f"{context.clerk.label} signed off at {context.counter}.", (context.clerk.label,))


@dataclass(frozen=True, kw_only=True)
class AddPerson(Operation):
    """A wearer or clerk is entered; the badge's label is made here."""

    full_name: str
    trade: str = ""
    crew: str = ""
    employer: str = ""
    ends_on: date | None = None
    roles: tuple[Role, ...] = ()

    code: ClassVar[str] = "add-person"
    words: ClassVar[str] = "Entering a person"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the person under a fresh label."""
        wanted = self.full_name.strip()
        if not wanted:
            raise WrongFigure("Name", "it is empty")
        person = work.save(
            Person(
                label=fresh_label(work, Kind.PERSON),
                name=wanted,
                trade=self.trade,
                crew=self.crew,
                employer=self.employer,
                ends_on=self.ends_on,
                roles=",".join(role.value for role in self.roles),
            )
        )
        return Outcome(f"{person.label} entered.", (person.label,), (("label_sheet", person.label),))


@dataclass(frozen=True, kw_only=True)
class ChangePerson(Operation):
    """A person's crew, roles, end date or standing changes."""

    person_id: int
    full_name: str
    trade: str = ""
    crew: str = ""
    employer: str = ""
    ends_on: date | None = None
    active: bool = True
    roles: tuple[Role, ...] = ()

    code: ClassVar[str] = "change-person"
    words: ClassVar[str] = "Changing a person"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the new values; a clerk cannot take the last administrator's role away."""
        person = fetch(work, Person, self.person_id, "This person")
        if not self.full_name.strip():
            raise WrongFigure("Name", "it is empty")
        work.take(person)
        changed = replace(
            person,
            name=self.full_name.strip(),
            trade=self.trade,
            crew=self.crew,
            employer=self.employer,
            ends_on=self.ends_on,
            active=self.active,
            roles=",".join(role.value for role in self.roles),
        )
        if person.has(*OFFICE) and not (changed.active and changed.has(*OFFICE)):
            _someone_else_is_left(work, person)
        work.save(changed)
        return Outcome(f"{person.label} changed.", (person.label,))


@dataclass(frozen=True, kw_only=True)
class AddClearance(Operation):
    """A medical recommendation, a training or a fit test is entered."""

    person_id: int
    kind: ClearanceKind
    given_on: date
    cleared: bool = True
    until: date | None = None
    model: str = ""
    size: str = ""
    detail: str = ""
    method: str = ""  # of a fit test, one of FIT_METHODS
    fit_factor: int | None = None
    document: str = ""  # another employer's proof, where it is there
    dated_on: date | None = None
    seen_on: date | None = None

    code: ClassVar[str] = "add-clearance"
    words: ClassVar[str] = "Entering a clearance"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it beside the earlier ones; nothing is overwritten."""
        person = fetch(work, Person, self.person_id, "This person")
        today = context.house.today(context.moment)
        if self.given_on > today:
            raise WrongFigure("Date", f"{date_words(self.given_on)} is still to come")
        if self.until and self.until < self.given_on:
            raise WrongFigure("Until", f"{date_words(self.until)} lies before {date_words(self.given_on)}")
        if self.kind is ClearanceKind.FIT_TEST:
            self._check_fit(context)
        elif self.method or self.fit_factor is not None:
            raise WrongFigure("Fit factor", f"a {self.kind.value} has none")
        clearance = work.save(
            Clearance(
                person_id=person.id,
                kind=self.kind,
                given_on=self.given_on,
                cleared=self.cleared,
                until=self.until,
                model=self.model,
                size=self.size,
                detail=self.detail,
                method=self.method,
                fit_factor=self.fit_factor,
            )
        )
        what = f"{self.kind.value} of {date_words(self.given_on)}"
        told = "" if self.cleared else ", not cleared"
        if self.document:
            dated, seen = self.dated_on or self.given_on, self.seen_on or today
            save_proof(work, context, person, clearance, self.document, dated, seen)
            told += ", with its proof"
        elif self.cleared and context.house.from_elsewhere(person):
            told += ", without proof of the employer: it does not stand yet"
        return Outcome(f"{person.label}: {what} entered{told}.", (person.label,))

    def _check_fit(self, context: Context) -> None:
        """A test that was not passed is entered as not cleared; one of a loose-fitting model cannot be."""
        model = context.house.models.get(self.model)
        if model is None:
            raise WrongFigure("Model", "a fit test is made with one model of respirator")
        trouble = fit_test_size(model, self.size) or fit_trouble(model, self.method, self.fit_factor)
        if trouble and (self.cleared or not model.tight_fitting):
            raise WrongFigure("Fit test", trouble)


def fit_test_size(model: UnitModel, size: str) -> str:
    """Why this is no size that a fit test with the model can be of, in words; '' where it is."""
    if not model.sizes or size in model.sizes:
        return ""
    return f"{model.code} comes in {', '.join(model.sizes)}: say which was tested"


def save_proof(
    work: Work, context: Context, person: Person, clearance: Clearance, document: str, dated_on: date, seen_on: date
) -> Evidence:
    """Keeps what another employer showed of a clearance: which paper, of which day, seen when and by whom."""
    today = context.house.today(context.moment)
    if not context.house.from_elsewhere(person):
        raise WrongFigure("Proof", f"{person.label} has no other employer")
    if not document.strip():
        raise WrongFigure("Proof", "say which paper it is")
    if not clearance.given_on <= dated_on <= today:
        raise WrongFigure("Dated", f"it lies between {date_words(clearance.given_on)} and today")
    if not dated_on <= seen_on <= today:
        raise WrongFigure("Seen", f"it lies between {date_words(dated_on)} and today")
    return work.save(
        Evidence(
            clearance_id=clearance.id,
            person_id=person.id,
            employer=person.employer,
            document=document.strip(),
            dated_on=dated_on,
            seen_on=seen_on,
            by_id=context.clerk.id,
        )
    )


def _someone_else_is_left(work: Work, person: Person) -> None:
    others = [one for one in work.find(Person, active=True) if one.id != person.id and one.has(*OFFICE)]
    if not others:
        raise WrongFigure("Roles", "nobody would be left to administer the program")

