"""Forms for work limits: one is entered as a code without the reason, one ends."""

from __future__ import annotations

from cribdesk.crib.records import Person, WorkLimit
from cribdesk.crib.words import date_words, in_sentence
from cribdesk.crib.work_limit import KINDS, words_of
from cribdesk.desk.entry_form import Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation
from cribdesk.desk.saying import name_of
from cribdesk.desk.standings import people
from cribdesk.desk.work_limits import EndWorkLimit, SetWorkLimit

NO_REASON = "Only what the wearer may not do, as the health professional wrote it. Never the reason, never a diagnosis."


def _set_fields(asked: Asked) -> Fields:
    found = sorted(asked.reader.find(Person, active=True), key=lambda one: one.name.casefold())
    figures = (
        EntryField(
            f"figure {one.kind}", "At most" if one.kind == "hours" else "Up to", "number", True, unit=one.unit,
            decimals=1, only=("limit", one.kind),
        )
        for one in KINDS if one.figured
    )  # fmt: skip
    choices = tuple((one.kind, one.words.replace("{}", "…")) for one in KINDS)
    return (
        EntryField(
            "person", "Person", "choice", True, value=asked.about,
            choices=tuple((one.label, f"{one.name}, {one.label}") for one in found),
        ),
        EntryField("limit", "What the wearer may not do", "choice", True, choices=choices),
        *figures,
        EntryField("given_on", "Given on", "date", True, value=asked.house.today(asked.moment).isoformat()),
    )  # fmt: skip


def _set(filled: Filled, asked: Asked, token: str) -> Operation:
    person = asked.reader.first(Person, label=filled.pick("person"))
    chosen = next((one for one in KINDS if one.kind == filled.pick("limit")), KINDS[0])
    given, today = filled.day("given_on"), asked.house.today(asked.moment)
    if given and given > today:
        filled.troubles["given_on"] = f"{date_words(given)} is still to come."
    figure = filled.figure(f"figure {chosen.kind}", chosen.low, chosen.high) if chosen.figured else None
    return SetWorkLimit(
        operation_id=token,
        person_id=person.id if person else 0,
        code_of_limit=chosen.code.replace("N", f"{figure or chosen.low:g}") if chosen.figured else chosen.code,
        given_on=filled.the_day("given_on"),
    )


def _standing(asked: Asked) -> list[tuple[Person, WorkLimit]]:
    rows = asked.reader.find(WorkLimit, ended_on=None)
    who = people(asked.reader, (one.person_id for one in rows))
    pairs = [(who[one.person_id], one) for one in rows]
    about = [pair for pair in pairs if pair[0].label == asked.label] if asked.label else pairs
    return sorted(about, key=lambda pair: (name_of(pair[0]).casefold(), pair[1].id))


def _end_fields(asked: Asked) -> Fields:
    choices = tuple(
        (str(one.id), f"{name_of(person)}: {in_sentence(words_of(one.code))}, since {date_words(one.given_on)}")
        for person, one in _standing(asked)
    )
    known = choices[0][0] if len(choices) == 1 else ""
    return (EntryField("work_limit", "Work limit", "choice", True, choices=choices, value=known),)


def _end(filled: Filled, asked: Asked, token: str) -> Operation:
    picked = filled.pick("work_limit")
    return EndWorkLimit(operation_id=token, work_limit_id=int(picked) if picked else 0)


def _none_stands(asked: Asked) -> str:
    return "" if _standing(asked) else "No work limit stands here: there is none to end."


WORK_LIMIT_FORMS = (
    EntryKind(
        "work-limit", "people", "Work limit", "Enter a work limit", SetWorkLimit, _set_fields, _set, NO_REASON,
    ),
    EntryKind(
        "end-work-limit", "people", "End a limit", "End a work limit", EndWorkLimit, _end_fields, _end,
        "The health professional took it back. It stays on file.", _none_stands,
    ),
)  # fmt: skip
