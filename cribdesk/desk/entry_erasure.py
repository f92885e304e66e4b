"""The form that erases what is kept of somebody who left."""

from __future__ import annotations

from cribdesk.crib.records import Person
from cribdesk.crib.retention import periods
from cribdesk.crib.words import date_words
from cribdesk.desk.entry_form import ABOUT, YES, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.erasure import REMAINS, ErasePerson, kept_of, last_known
from cribdesk.desk.operation import Operation
from cribdesk.desk.saying import name_of

FORM = "erase-person"
LAW = (
    "Another law may ask for longer than 29 CFR 1910.1020(d) and 1910.134(m); whether it does is for the program "
    "administrator to find out. It cannot be undone."
)


def _gone(asked: Asked) -> list[Person]:
    """Those whose badge stands no more and whose name is still there, by name."""
    today = asked.house.today(asked.moment)
    found = [one for one in asked.reader.find(Person) if one.ended(today) and one.name]
    return sorted(found, key=lambda one: (name_of(one).casefold(), one.label))


def _fields(asked: Asked) -> Fields:
    known = {one.label: one for one in _gone(asked)}
    value = asked.label if asked.label in known else ""
    choices = tuple((label, f"{name_of(one)}, {label}") for label, one in known.items())
    about = EntryField(ABOUT, "Person", "choice", True, "Whose badge stands no more.", choices, value)
    if not value:
        return (about,)
    person = known[value]
    left = person.ends_on or last_known(asked.reader, asked.house, person)
    today = asked.house.today(asked.moment)
    day = left.isoformat() if left is not None and left <= today else ""
    return (
        about,
        EntryField("left_on", "Last day of employment", "date", True, _period(asked, person, day), value=day),
        EntryField("sure", "Erase it for good", "yes-no", True, "It cannot be undone."),
    )


def _period(asked: Asked, person: Person, day: str) -> str:
    """How long it is kept, as far as the form knows."""
    left = person.ends_on if person.ends_on and person.ends_on.isoformat() == day else None
    left = left or last_known(asked.reader, asked.house, person)
    found = periods(kept_of(asked.reader, asked.house, person, left)) if left else ()
    if not found:
        return "Nothing is on file that has to be kept for a time."
    return f"With this day it is kept until {date_words(found[0].until)}: {found[0].what} ({found[0].basis})."


def _build(filled: Filled, asked: Asked, token: str) -> Operation:
    person = asked.reader.first(Person, label=filled.pick(ABOUT))
    left_on = filled.the_day("left_on")
    if "sure" not in filled.troubles and filled.values.get("sure") != YES:
        filled.troubles["sure"] = "Tick it, then enter once more."
    return ErasePerson(operation_id=token, person_id=person.id if person else 0, left_on=left_on)


def _nobody(asked: Asked) -> str:
    return "" if _gone(asked) else "Nobody is here whose badge has ended and whose name is still kept."


ERASURE_FORMS = (
    EntryKind(
        FORM, FORM, "Erase", "Erase what is kept of a person", ErasePerson, _fields, _build, f"{REMAINS} {LAW}",
        _nobody, again=False, private=True,
    ),
)  # fmt: skip
