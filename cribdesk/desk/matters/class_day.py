"""After a class or a test day: what, when, then badge after badge; entered for all of them at once, or for nobody."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from cribdesk.crib.clearance import FIT_METHODS, QUANTITATIVE
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import ClearanceKind
from cribdesk.crib.words import count
from cribdesk.desk import typed
from cribdesk.desk.cards import Card, PersonCard
from cribdesk.desk.class_day import KINDS, ClearMany
from cribdesk.desk.entry_form import EntryField, model_choices, same
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.people import OFFICE
from cribdesk.desk.ports import Reader
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, named, say
from cribdesk.desk.slate import AskForm, AskLine, Slate

CLASS = "class-day"
FIT = ("kind", ClearanceKind.FIT_TEST.value)
OUT = "out"
"""The field that takes somebody out of the list again."""
MOST_OUT = 6
MEASURED = tuple(one for one in FIT_METHODS if one.startswith(QUANTITATIVE))
NO_MEDICAL = "Nothing medical is written here: that stays with the health professional."


def _offered(house: House, slate: Slate) -> str | None:
    if not slate.empty:
        return None
    roles = set(slate.clerk.roles.split(",")) if slate.clerk else set()
    return "" if roles & {one.value for one in OFFICE} else "A program administrator enters a class or a test day."


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    tight = sorted((one for one in house.models.values() if one.tight_fitting), key=lambda one: one.code)
    return AskForm(
        matter=CLASS,
        title="A class or a test day",
        lead="Say what it was, then scan the badges one after the other. Size and fit factor go with the badge after.",
        fields=_fields(house, tight, moment),
        lines_none="Nobody yet: scan the badges of those who were there and passed.",
        go="Enter it for all of them",
        cost="one entry; for all, or for nobody",
        cautions=(NO_MEDICAL,),
        extra=(("today", house.today(moment).isoformat()), ("sized", " ".join(one.code for one in tight if one.sizes))),
    )


def _fields(house: House, tight: list[UnitModel], moment: datetime) -> tuple[EntryField, ...]:
    sizes = (
        EntryField(f"size {one.code}", "Size of the next badge", "choice", True, choices=same(one.sizes),
                   only=("model", one.code))
        for one in tight if one.sizes
    )  # fmt: skip
    return (
        EntryField("kind", "What it was", "choice", True, choices=same(one.value for one in KINDS)),
        EntryField("given_on", "On", "date", True, value=house.today(moment).isoformat()),
        EntryField("model", "Unit model it was made with", "choice", True, choices=model_choices(tight), only=FIT),
        EntryField("method", "How it was made", "choice", True, choices=same(FIT_METHODS), only=FIT),
        *sizes,
        EntryField(
            "factor", "Fit factor of the next badge", "number", only=("method", *MEASURED),
            help="100 for a half mask, 500 for a full facepiece at least.",
        ),
    )  # fmt: skip


def _shown(form: AskForm, name: str) -> str:
    """What stands in a field that is asked for now, or ''."""
    return form.value(name).strip() if name in {one.name for one in form.shown()} else ""


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    if not isinstance(card, PersonCard):
        return None
    kind, model = form.value("kind"), _shown(form, "model")
    if not kind:
        return "Say first what it was: a training or a fit test. Nothing changed."
    size, factor = _shown(form, f"size {model}"), _shown(form, "factor")
    if kind == FIT[1]:
        if not model or not _shown(form, "method"):
            return "Say first with which model, and how it was made. Nothing changed."
        if model in dict(form.extra)["sized"].split() and not size:
            return f"Say first which size {card.person.name} was tested with. Nothing changed."
        if _shown(form, "method") in MEASURED and not factor:
            return f"Say first the fit factor of {card.person.name}. Nothing changed."
    if any(one.label == card.label for one in form.lines):
        return f"{card.person.name} is in the list already. Nothing changed."
    told = ", ".join(words for words in (f"size {size}" if size else "", f"factor {factor}" if factor else "") if words)
    line = AskLine(card.label, card.label, card.person.name, note=told)
    values = tuple((name, value) for name, value in form.values if name != "factor")  # each has a figure of their own
    row = {f"row {card.label}": f"{card.person.id};{size};{factor}", f"note {card.label}": told}
    return replace(form, lines=(line, *form.lines), values=values, extra=tuple((dict(form.extra) | row).items()))


def _request(form: AskForm, token: str) -> ClearMany:
    """What the form asks for; a date that cannot be read is today's until it is mended, and lacks says so."""
    told, rows = dict(form.extra), []
    for line in form.lines:
        person_id, size, factor = told[f"row {line.key}"].split(";")
        rows.append((int(person_id), size, int(factor) if factor.isdigit() else None))
    kind = form.value("kind")
    return ClearMany(
        operation_id=token,
        kind=ClearanceKind(kind) if kind else ClearanceKind.TRAINING,
        given_on=_day(form) or date.fromisoformat(told["today"]),
        rows=tuple(rows),
        model=_shown(form, "model"),
        method=_shown(form, "method"),
    )


def _day(form: AskForm) -> date | None:
    try:
        return typed.day_of(form.value("given_on"))
    except ValueError:
        return None


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """Takes out who is to go, and says beside each line what is wrong with it; at most two queries."""
    out = form.value(OUT)
    lines = tuple(one for one in form.lines if one.key != out)
    kept = replace(form, lines=lines)
    faults = {number: why for number, _, why in _request(kept, "").faults(reader, house, house.today(moment))}
    notes = dict(form.extra)
    marked = tuple(
        replace(one, note=faults[row], level="stop") if row in faults
        else replace(one, note=notes.get(f"note {one.key}", ""), level="")
        for row, one in enumerate(lines, 1)
    )  # fmt: skip
    fields = tuple(one for one in form.fields if one.name != OUT)
    if marked:  # the last one scanned, and whoever cannot stay
        out_of = [marked[0], *(one for one in marked[1:] if one.level)][:MOST_OUT]
        choices = tuple((one.key, one.words) for one in out_of)
        fields = (*fields, EntryField(OUT, "Take out of the list", "choice", choices=choices))
    values = tuple((name, value) for name, value in form.values if name != OUT)
    lead = f"{count(len(marked), 'person', 'people')} in the list." if marked else form.lead
    return replace(form, lines=marked, fields=fields, values=values, lead=lead)


def _lacks(form: AskForm) -> str:
    if not form.lines:
        return "Scan the badges of those who were there."
    if _day(form) is None:
        return "On: write the day like 2026-11-25."
    wrong = [row for row, one in enumerate(form.lines, 1) if one.level == "stop"]
    if wrong:
        return f"Row {wrong[0]}, {form.lines[wrong[0] - 1].words}: {form.lines[wrong[0] - 1].note}."
    return ""


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return _request(form, token)


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    return say(replace(slate, form=None), "taken", named(slate, receipt.sentence, receipt.names), moment)


MATTERS = (
    Matter(
        id=CLASS,
        offered=_offered,
        opens=_opens,
        takes=_takes,
        asks=_asks,
        lacks=_lacks,
        builds=_builds,
        after=_after,
    ),
)
