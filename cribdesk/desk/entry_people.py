"""Forms for people: the first of a store, everybody after, their clearances."""

from __future__ import annotations

from cribdesk.crib.clearance import FIT_METHODS, QUANTITATIVE
from cribdesk.crib.records import Clearance, ClearanceKind, Person, Role
from cribdesk.crib.words import date_words
from cribdesk.desk.entry_form import NO, YES, Asked, EntryField, EntryKind, Fields, Filled, model_choices, same
from cribdesk.desk.entry_office import proof_fields
from cribdesk.desk.operation import Operation
from cribdesk.desk.people import AddClearance, AddPerson, FirstStart


def _first_fields(asked: Asked) -> Fields:
    return (EntryField("full_name", "Your name", needed=True, help="As it shall stand on papers."),)


def _first(filled: Filled, asked: Asked, token: str) -> Operation:
    return FirstStart(operation_id=token, full_name=filled.text("full_name"))


_ROLE_HELP = {
    Role.ATTENDANT: "Attendant: issues and takes back",
    Role.TECHNICIAN: "Bench technician: cleans, changes parts, inspects",
    Role.STOREKEEPER: "Storekeeper: looks after the shelf",
    Role.PROGRAM: "Program administrator: people, clearances, areas, releases",
    Role.SYSTEM: "System administrator: settings",
}


def person_fields(person: Person | None = None) -> Fields:
    """What is asked of a person, filled with what stands where somebody is there already."""
    has = {role: YES if person is not None and person.has(role) else NO for role in Role}
    roles = (EntryField(role.value, words, "yes-no", value=has[role]) for role, words in _ROLE_HELP.items())
    name, trade, crew, employer, ends = "", "", "", "", ""
    if person is not None:
        name, trade, crew, employer = person.name, person.trade, person.crew, person.employer
        ends = person.ends_on.isoformat() if person.ends_on else ""
    return (
        EntryField("full_name", "Name", needed=True, help="As it shall stand on papers.", value=name),
        EntryField("trade", "Trade", value=trade),
        EntryField("crew", "Crew or shift", value=crew),
        EntryField("employer", "Employer", help="Empty for your own people.", value=employer),
        EntryField("ends_on", "Badge good until", "date", help="Empty: no end. Write it like 2027-05-31.", value=ends),
        *roles,
    )


def _person_fields(asked: Asked) -> Fields:
    return person_fields()


def _person(filled: Filled, asked: Asked, token: str) -> Operation:
    return AddPerson(
        operation_id=token,
        full_name=filled.text("full_name"),
        trade=filled.text("trade"),
        crew=filled.text("crew"),
        employer=filled.text("employer"),
        ends_on=filled.day("ends_on"),
        roles=tuple(role for role in Role if filled.yes(role.value)),
    )


MEASURED = tuple(one for one in FIT_METHODS if one.startswith(QUANTITATIVE))
"""Methods whose instrument tells a fit factor."""


def _clearance_fields(asked: Asked) -> Fields:
    people = sorted(asked.reader.find(Person, active=True), key=lambda one: one.name)
    guests = [one.label for one in people if asked.house.from_elsewhere(one)]
    models = model_choices(model for model in asked.house.models.values() if model.tight_fitting)
    fit = ("kind", ClearanceKind.FIT_TEST.value)
    sizes = [
        EntryField(f"size {model.code}", "Size", "choice", True, choices=same(model.sizes), only=("model", model.code))
        for model in asked.house.models.values()
        if model.sizes and model.tight_fitting
    ]
    return (
        EntryField(
            "person", "Person", "choice", True, value=asked.about,
            choices=tuple((one.label, f"{one.name}, {one.label}") for one in people),
        ),
        EntryField("kind", "What it is", "choice", True, choices=same(kind.value for kind in ClearanceKind)),
        EntryField("given_on", "Given on", "date", True, value=asked.house.today(asked.moment).isoformat()),
        EntryField("until", "Good until", "date", help="Empty: training and fit test run a year, a medical stands."),
        EntryField(
            "model", "Unit model it was made with", "choice", True, choices=models, only=fit,
            help="One model is one make and style: with the size all that 29 CFR 1910.134(f)(2) names.",
        ),
        *sizes,
        EntryField(
            "method", "How it was made", "choice", True, choices=same(FIT_METHODS), only=fit,
            help="A protocol of 29 CFR 1910.134, Appendix A.",
        ),
        EntryField(
            "fit_factor", "Fit factor measured", "number", True, only=("method", *MEASURED),
            help="100 for a half mask, 500 for a full facepiece at least: 29 CFR 1910.134(f)(7).",
        ),
        EntryField("detail", "Limits or remarks", help="What the wearer may not do; never a diagnosis."),
        EntryField("cleared", "Cleared", "yes-no", value=YES, help="No tick: it was refused."),
        *proof_fields(("person", *guests), False, asked.house.today(asked.moment).isoformat()),
    )  # fmt: skip


def _clearance(filled: Filled, asked: Asked, token: str) -> Operation:
    person = asked.reader.first(Person, label=filled.pick("person"))
    kind, model = filled.pick("kind"), filled.pick("model")
    today, given, until = asked.house.today(asked.moment), filled.day("given_on"), filled.day("until")
    if given and given > today:
        filled.troubles["given_on"] = f"{date_words(given)} is still to come."
    if given and until and until < given:
        filled.troubles["until"] = f"{date_words(until)} lies before {date_words(given)}."
    return AddClearance(
        operation_id=token,
        person_id=person.id if person else 0,
        kind=ClearanceKind(kind) if kind else ClearanceKind.MEDICAL,
        given_on=filled.the_day("given_on"),
        cleared=filled.yes("cleared"),
        until=until,
        model=model,
        size=filled.pick(f"size {model}") if model else "",
        detail=filled.text("detail"),
        method=filled.pick("method"),
        fit_factor=filled.whole("fit_factor", low=1, high=1_000_000),
        document=filled.text("document"),
        dated_on=filled.day("dated_on"),
        seen_on=filled.day("seen_on"),
    )


def _on_file(asked: Asked) -> str:
    """What is on file of the person it is about, with limits and remarks: for the role that enters it, nobody else."""
    person = asked.reader.first(Person, label=asked.label) if asked.label else None
    if person is None:
        return "What is written here is seen by this role alone; at the counter only cleared, not cleared, until when."
    rows = asked.reader.find(Clearance, person_id=person.id)
    told = [
        f"{one.kind.value} of {date_words(one.given_on)}{_told(one.detail)}"
        for one in sorted(rows, key=lambda one: (one.given_on, one.id))[-LAST:]
    ]
    return f"On file: {'; '.join(told)}." if told else f"Nothing is on file of {person.name} yet."


def _told(detail: str) -> str:
    return f": {detail.rstrip('.')}" if detail else ""


LAST = 6
"""So many of a person's clearances are told above the form."""

PEOPLE_FORMS = (
    EntryKind(
        "first", "first", "First start", "This store is empty. Who looks after it?", FirstStart, _first_fields, _first,
        "You become its system administrator and are signed on. Everybody and everything else follows.",
    ),
    EntryKind("person", "people", "Person", "Enter a person", AddPerson, _person_fields, _person),
    EntryKind(
        "clearance", "people", "Clearance", "Enter a clearance", AddClearance, _clearance_fields, _clearance,
        _on_file, private=True,
    ),
)  # fmt: skip
