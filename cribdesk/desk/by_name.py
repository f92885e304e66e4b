"""A person with no badge in hand: who it is stands on the counter until the clerk has asked and confirmed it."""

from __future__ import annotations

from cribdesk.crib.words import capital
from cribdesk.desk.cards import PersonCard
from cribdesk.desk.saying import name_of
from cribdesk.desk.slate import AskForm, AskLine

MATTER = "by-name"


def form_of(card: PersonCard) -> AskForm:
    """'Is this Łucja Wronecka?', with what only they would know beside it."""
    person = card.person
    held = ", ".join(one.unit for one in card.holds_now)
    crew = f"{person.crew} crew" if person.crew else ""
    words = ", ".join(one for one in (person.trade, crew, person.employer) if one)
    holds = f"Holds {held} now" if held else "Holds nothing now"
    return AskForm(
        matter=MATTER,
        title=f"Is this {name_of(person)}?",
        label=person.label,
        lead="Ask for name and crew, and let them say it. What is handed out is recorded as found by name.",
        lines=(AskLine(person.label, "", capital(words) or name_of(person), note=holds),),
        cautions=("This badge has ended.",) if card.badge_ended else (),
        go="Yes, it is",
        ids=(("person", person.id),),
    )
