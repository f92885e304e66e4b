"""Forms of the office: another employer's proof, an answer to a notice, an area as it stands from now on."""

from __future__ import annotations

from cribdesk.crib.records import Area, Clearance, Evidence, Notice, Person, Unit
from cribdesk.crib.words import capital, date_words
from cribdesk.desk.area import ChangeArea
from cribdesk.desk.entry_form import ABOUT, NO, YES, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.notices import SeeNotice
from cribdesk.desk.operation import Operation
from cribdesk.desk.proof import AddEvidence
from cribdesk.desk.saying import moment_words, name_of
from cribdesk.desk.standings import people

Choices = tuple[tuple[str, str], ...]


def proof_fields(only: tuple[str, ...] | None, needed: bool, today: str) -> Fields:
    """What is asked of an employer's proof."""
    empty = "" if needed else " Empty: none is there yet, and it does not stand."
    return (
        EntryField(
            "document", "The employer's proof", needed=needed, only=only,
            help=f"Which paper it is: a card, a letter, a record's number. Nothing medical.{empty}",
        ),
        EntryField("dated_on", "Dated", "date", needed, "The day on the paper.", only=only),
        EntryField("seen_on", "Seen here on", "date", value=today, only=only),
    )  # fmt: skip


# A proof that comes later than its clearance.


def unproven(asked: Asked) -> list[tuple[Person, Clearance]]:
    """Clearances of people of another employer that have no proof on file, by name."""
    guests = {
        one.id: one for one in asked.reader.find(Person, active=True) if asked.house.from_elsewhere(one)
    }
    there = {one.clearance_id for one in asked.reader.find(Evidence, person_id=sorted(guests))}
    rows = asked.reader.find(Clearance, person_id=sorted(guests), cleared=True)
    found = [(guests[one.person_id], one) for one in rows if one.id not in there]
    return sorted(found, key=lambda pair: (name_of(pair[0]).casefold(), pair[1].id))


def _clearance_words(person: Person, one: Clearance) -> str:
    model = f", {one.model} {one.size}".rstrip() if one.model else ""
    return f"{name_of(person)}, {person.employer}: {one.kind.value} of {date_words(one.given_on)}{model}"


def _evidence_fields(asked: Asked) -> Fields:
    rows = [pair for pair in unproven(asked) if asked.label[:1] != "P" or pair[0].label == asked.label]
    choices = tuple((str(one.id), _clearance_words(person, one)) for person, one in rows)
    known = asked.label if asked.label in dict(choices) else choices[0][0] if len(choices) == 1 else ""
    today = asked.house.today(asked.moment).isoformat()
    about = EntryField("clearance", "Proof of", "choice", True, choices=choices, value=known)
    return (about, *proof_fields(None, True, today))


def _evidence(filled: Filled, asked: Asked, token: str) -> Operation:
    picked = filled.pick("clearance")
    return AddEvidence(
        operation_id=token,
        clearance_id=int(picked) if picked else 0,
        document=filled.text("document"),
        dated_on=filled.the_day("dated_on"),
        seen_on=filled.day("seen_on") or asked.house.today(asked.moment),
    )


def _none_unproven(asked: Asked) -> str:
    return "" if unproven(asked) else "No clearance waits for a proof: nobody of another employer has one without."


# What waits for the program administrator.


def _notices(asked: Asked) -> list[Notice]:
    return sorted(asked.reader.find(Notice, seen_at=None), key=lambda one: (one.at, one.id))


def _notice_choices(asked: Asked, notices: list[Notice]) -> Choices:
    who = people(asked.reader, (one.person_id for one in notices))
    unit_ids = sorted({one.unit_id for one in notices if one.unit_id})
    units = {one.id: one.label for one in asked.reader.find(Unit, id=unit_ids)}
    found = []
    for one in notices:
        name = name_of(who[one.person_id]) if one.person_id in who else ""
        parts = (name, units.get(one.unit_id or 0, ""), moment_words(one.at, asked.house, asked.moment))
        about = ", ".join(part for part in parts if part)
        found.append((str(one.id), f"{capital(one.kind.value)}: {about}"))
    return tuple(found)


def _notice_fields(asked: Asked) -> Fields:
    notices = _notices(asked)
    choices = _notice_choices(asked, notices)
    known = asked.label if asked.label in dict(choices) else ""
    about = EntryField(ABOUT, "Notice", "choice", True, "", choices, known)
    answer = EntryField("answer", "What follows", needed=True, help="It stays with the notice.")
    return (about, answer) if known else (about,)


def _notice_lead(asked: Asked) -> str:
    """What was said and offered, whole."""
    one = next((one for one in _notices(asked) if str(one.id) == asked.label), None)
    if one is None:
        return "What was said is personal: it opens for this role only."
    said = f"Said: {one.detail.rstrip('.')}." if one.detail else "Nothing more was said."
    offered = f"Offered instead: {one.offered.rstrip('.')}." if one.offered else "Nothing was offered instead."
    return f"{said} {offered}"


def _notice(filled: Filled, asked: Asked, token: str) -> Operation:
    picked = filled.pick(ABOUT)
    return SeeNotice(operation_id=token, notice_id=int(picked) if picked else 0, answer=filled.text("answer"))


def _no_notice(asked: Asked) -> str:
    return "" if asked.reader.first(Notice, seen_at=None) else "Nothing waits for the program administrator."


# An area as it stands from now on.


def _area_fields(asked: Asked) -> Fields:
    areas = sorted(asked.reader.find(Area), key=lambda one: one.name.casefold())
    choices = tuple((one.label, f"{one.name}, {one.label}") for one in areas)
    area = next((one for one in areas if one.label == asked.label), None)
    about = EntryField(
        ABOUT, "Area", "choice", True, "Choose it, or scan its label.", choices, area.label if area else ""
    )
    if area is None:
        return (about,)
    dust = str(area.dust_ug_m3) if area.dust_ug_m3 is not None else ""
    help_words = "No tick: worn there by choice. Whether none is required an industrial hygienist decides."
    return (
        about,
        EntryField("area_name", "Area or task", needed=True, value=area.name),
        EntryField("processes", "What is done there", value=area.processes),
        EntryField("agents", "What is in the air", value=area.agents),
        EntryField("dust_ug_m3", "Assessed dust", "number", help="The hygienist's figure.", unit="µg/m³", value=dust),
        EntryField("note", "Note", value=area.note),
        EntryField(
            "required", "A respirator is required there", "yes-no", help=help_words,
            value=YES if area.required else NO,
        ),
    )  # fmt: skip


def _area(filled: Filled, asked: Asked, token: str) -> Operation:
    area = asked.reader.first(Area, label=filled.pick(ABOUT))
    return ChangeArea(
        operation_id=token,
        area_id=area.id if area else 0,
        area_name=filled.text("area_name"),
        required=filled.yes("required"),
        agents=filled.text("agents"),
        processes=filled.text("processes"),
        dust_ug_m3=filled.whole("dust_ug_m3", high=10_000_000),
        note=filled.text("note"),
    )


OFFICE_FORMS = (
    EntryKind(
        "evidence", "people", "Proof", "Enter an employer's proof", AddEvidence, _evidence_fields, _evidence,
        "Of contractors and visitors: without their employer's proof a clearance does not stand (a house rule).",
        _none_unproven,
    ),
    EntryKind(
        "see-notice", "see-notice", "Notice", "Answer a notice", SeeNotice, _notice_fields, _notice,
        _notice_lead, _no_notice, again=False, private=True,
    ),
    EntryKind(
        "change-area", "change-area", "Change", "Change an area", ChangeArea, _area_fields, _area,
        "What is out there is weighed by it at once: see the list To call in.", again=False,
    ),
)  # fmt: skip
