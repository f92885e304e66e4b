"""A shift is handed over: the figures as they stand, a note, who takes over."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.shift import Turn
from cribdesk.crib.words import capital, clock, in_sentence
from cribdesk.desk.cards import Card, PersonCard
from cribdesk.desk.close_shift import CloseShift, closed_already
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.ports import Reader
from cribdesk.desk.saying import moment_words
from cribdesk.desk.shift_figures import began_at, closable, figures
from cribdesk.desk.slate import AskForm, AskLine, Slate

TAKER = "taker"
TROUBLE = ("Overdue", "Called in and not back", "Missing", "Papers that did not print", "Returned, to complete")
"""Figures that are marked while they are not zero."""


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    return AskForm(
        "close-shift", "The shift is handed over", lead="Counting.", fields=_fields((), ""),
        go="Close the shift", cost="prints its page to sign",
    )  # fmt: skip


def _fields(choices: tuple[tuple[str, str], ...], first: str) -> tuple[EntryField, ...]:
    return (
        EntryField("shift", "Which shift", "choice", True, choices=choices, value=first),
        EntryField("note", "Note for who comes", help="What they have to know. The page carries it."),
    )


def _words(turn: Turn, house: House, moment: datetime) -> str:
    begins = moment_words(turn.start, house, moment)
    return f"{turn.name}, {begins} to {clock(turn.end, house.zone)}"


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    if not isinstance(card, PersonCard):
        return None
    if slate.clerk is not None and card.person.id == slate.clerk.person_id:
        return f"{card.person.name} hands the shift over. Scan the badge of who takes it. Nothing changed."
    if not card.person.roles:
        return f"{card.person.name} is no clerk of this crib. Nothing changed."
    if card.badge_ended:
        return f"The badge of {card.person.name} has ended. Nothing changed."
    kept = tuple(one for one in form.ids if one[0] != TAKER)
    line = AskLine(TAKER, card.label, f"{card.person.name} takes it over")
    return replace(form, ids=(*kept, (TAKER, card.person.id)), lines=(*_without_taker(form), line))


def _without_taker(form: AskForm) -> tuple[AskLine, ...]:
    return tuple(one for one in form.lines if one.key != TAKER)


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """Which shifts can be closed, and the figures of the one chosen."""
    if ("counted", form.value("shift")) in form.extra:
        return form  # a note is typed, or a badge was scanned: nothing to count anew
    free = [one for one in closable(house, moment) if closed_already(reader, one, moment) is None]
    choices = tuple((one.start.isoformat(), _words(one, house, moment)) for one in free)
    fields = _fields(choices, choices[0][0] if choices else "")
    taker = tuple(one for one in form.lines if one.key == TAKER)
    filled = replace(form, fields=fields)
    chosen = next((one for one in free if one.start.isoformat() == filled.value("shift")), None)
    if chosen is None:
        lead = "Every shift that began within the last day is handed over." if not free else "Choose the shift."
        return replace(filled, lead=lead, lines=taker)
    began = began_at(reader, moment)
    told = figures(reader, house, began, moment)
    lines = tuple(
        AskLine(f"figure {one.name}", "", f"{one.name}: {one.number}", note=one.detail,
                level="caution" if one.name in TROUBLE else "")
        for one in told if one.number != "0"
    )  # fmt: skip
    none = "; ".join(in_sentence(one.name) for one in told if one.number == "0")
    lines = (*lines, AskLine("figure none", "", "None at all", note=capital(none))) if none else lines
    who = "Scan the badge of who takes over, or let them sign the page alone."
    lead = f"Since {moment_words(began, house, moment)}. {who}"
    counted = (("counted", filled.value("shift")),)
    return replace(filled, lead=lead, lines=(*lines, *taker), extra=counted)


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> CloseShift:
    return CloseShift(
        operation_id=token,
        start=datetime.fromisoformat(form.value("shift")),
        taken_by=form.id(TAKER) or None,
        note=form.value("note"),
    )


MATTERS = (
    Matter(
        id="close-shift", offered=lambda house, slate: "" if slate.empty else None, opens=_opens, takes=_takes,
        asks=_asks, builds=_builds,
    ),
)  # fmt: skip
