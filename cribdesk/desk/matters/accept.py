"""Cautions that somebody accepts by name and with a reason, before the check of an issue begins."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.acceptance import WHYS, Accepted, role_words, still_wanting, who_accepts
from cribdesk.crib.reasons import stops
from cribdesk.crib.records import Role
from cribdesk.desk.cards import Card, PersonCard
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.routing import Routed, say
from cribdesk.desk.slate import AskForm, AskLine, Slate

ACCEPT = "accept"
WORDS = "else"
"""The choice whose reason is written in words."""
BY = "by"


def _offered(house: House, slate: Slate) -> str | None:
    if slate.unit is None or slate.person is None or slate.unit.is_out or stops(slate.reasons):
        return None
    return "" if still_wanting(slate.reasons, slate.accepted) else None


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    wanting = still_wanting(slate.reasons, slate.accepted)
    roles = who_accepts(wanting)
    form = AskForm(
        matter=ACCEPT,
        title="Accept the cautions" if len(wanting) > 1 else "Accept the caution",
        label=slate.unit.label if slate.unit else "",
        fields=(
            EntryField("why", "Why it may go out", "choice", True,
                       choices=tuple((value or WORDS, words) for value, words in WHYS)),
            EntryField("words", "In words", needed=True, only=("why", WORDS),
                       help="What was asked or seen. Nothing medical."),
        ),
        go="Accept by name",
        cost="name and reason stay with the issue",
        cautions=tuple(f"{one.words}. {one.detail} ({one.basis})" for one in wanting),
        lines_none=f"Scan the badge of a {role_words(roles)} who accepts it.",
        extra=(("roles", ",".join(one.value for one in roles)),),
    )  # fmt: skip
    clerk = slate.clerk
    if clerk is not None and set(clerk.roles.split(",")) & {one.value for one in roles}:
        return _with(form, clerk.person_id, clerk.label, clerk.name)
    return form


def _with(form: AskForm, person_id: int, label: str, name: str) -> AskForm:
    return replace(form, ids=((BY, person_id),), lines=(AskLine(label, label, name, note="accepts it"),))


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    """The badge of who accepts: of a role that may, and live."""
    if not isinstance(card, PersonCard):
        return None
    wanted = tuple(Role(one) for one in dict(form.extra)["roles"].split(","))
    if not card.person.has(*wanted):
        return f"{card.person.name} may not accept it: it takes a {role_words(wanted)}. Nothing changed."
    if card.badge_ended:
        return f"The badge of {card.person.name} has ended. Nothing changed."
    return _with(form, card.person.id, card.label, card.person.name)


def _lacks(form: AskForm) -> str:
    return "" if form.id(BY) else form.lines_none


def _settles(house: House, slate: Slate, form: AskForm, moment: datetime) -> Routed:
    """It stands on the slate, and is written with the issue; put aside, it is gone."""
    why = form.value("why")
    told = form.value("words").strip() if why == WORDS else why
    taken = tuple(
        Accepted(one.code, one.subject, one.words, told, form.id(BY))
        for one in still_wanting(slate.reasons, slate.accepted)
    )
    kept = replace(slate, form=None, accepted=(*slate.accepted, *taken))
    return say(kept, "taken", f"Accepted by {form.lines[0].words}: {told}", moment)


MATTERS = (
    Matter(
        id=ACCEPT,
        offered=_offered,
        shown=True,
        kind="go",
        cost="by name and with a reason",
        opens=_opens,
        takes=_takes,
        lacks=_lacks,
        settles=_settles,
    ),
)
