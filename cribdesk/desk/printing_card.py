"""The record behind the wearer's card: the lines of the model's file, and what its own figures say."""

from __future__ import annotations

from datetime import datetime

from cribdesk.crib.model import UnitModel
from cribdesk.crib.words import hours, in_sentence, joined, number
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.printouts_card import CardPart, CardRow, WearersCard
from cribdesk.desk.use_register import rules_in_force

Said = tuple[str, str]
NO_AIR = (
    "This helmet gives no air and filters none.",
    "It keeps light and sparks from eyes and face. Where there is fume, ask for a respirator.",
)
BLOWER_OFF_LOOSE = (
    "Blower off: no protection.",
    "Loose-fitting, it protects only while it blows. Leave the fume first, then take it off.",
)
BLOWER_OFF_TIGHT = (
    "Blower off: leave.",
    "Without its air it protects far less and breathing is hard. Leave the area first, then take it off.",
)
SEAL = (
    "It protects only while it seals.",
    "Leave the area first, then take it off. Never lift it inside.",
)


def wearers_card(reader: Reader, house: House, of: str, moment: datetime) -> WearersCard:
    """The card of the model of that code; without a query."""
    model = house.models.get(of)
    if model is None:
        raise LookupError(f"There is no unit model {of} in resources/units.")
    if model.card is None:
        raise LookupError(f"The file of {of} has no [card]: write one, then it prints.")
    card = model.card
    rule, detail = rule_of(model)
    alarm = alarm_test(model)
    return WearersCard(
        code=model.code,
        name=model.name,
        rule=rule,
        rule_detail=detail,
        parts=(
            CardPart("Put on and adjust", card.put_on, numbered=True),
            CardPart("Before each use", (*card.before, *((alarm,) if alarm else ()))),
            CardPart("During work", card.during),
            CardPart("Clean", card.clean),
            CardPart("Store", card.store),
        ),
        alarms=tuple(CardRow(one.sign, one.means, one.do) for one in card.alarms),
        facts=facts_of_model(model),
        cautions=tuple((when, in_sentence(do)) for when, do in model.cautions),
        rule_set=rules_in_force(house),
        origin=model.origin,
    )


def rule_of(model: UnitModel) -> Said:
    """The one sentence to keep in mind, told by how the model works and never by its file's words."""
    if model.facepiece == "none":
        return NO_AIR
    if not model.powered:
        return SEAL
    return BLOWER_OFF_TIGHT if model.tight_fitting else BLOWER_OFF_LOOSE


def alarm_test(model: UnitModel) -> str:
    """How the low-flow alarm is tried, with the model's own window; '' where it has no such alarm."""
    if model.alarm_window_s is None:
        return ""
    first, last = model.alarm_window_s
    signals = "sounds and shakes" if model.alarm_vibrates else "sounds"
    return (
        f"Alarm: tube end closed with your palm, it {signals} after {number(first)} to {number(last)} s; open again, "
        "it stops. If not, do not use it."
    )


def facts_of_model(model: UnitModel) -> tuple[Said, ...]:
    """What the model's figures say to its wearer."""
    return tuple(fact for fact in (_fit(model), _alarm(model), _battery(model), _lens(model), _parts(model)) if fact[1])


def _fit(model: UnitModel) -> Said:
    if model.facepiece == "none":
        return "Fit", ""
    if model.tight_fitting:
        return "Fit", "tight, only in the size you were fit-tested with, shaven where it seals"
    return "Fit", "loose, so no fit test; it needs its air all the time"


def _alarm(model: UnitModel) -> Said:
    if not model.powered:
        return "Alarm", ""
    return "Alarm", "" if model.alarm_window_s else "none for low flow in this model: feel for the air yourself"


def _battery(model: UnitModel) -> Said:
    one = len(model.run_hours) == 1
    runs = [f"about {hours(value)}" + ("" if one else f" at {speed}") for speed, value in model.run_hours.items()]
    return "Full battery", f"{', '.join(runs)}; less when cold, or with an old pack or a full filter" if runs else ""


def _lens(model: UnitModel) -> Said:
    return "Lens", f"shade {model.shade_range[0]} to {model.shade_range[1]}" if model.shade_range else ""


def _parts(model: UnitModel) -> Said:
    own = [in_sentence(one.name) for one in model.positions if one.wearer_changes]
    if not own:
        return "Parts", "nothing on it is changed by you: bring it to the counter"
    return "Parts", f"you may change the {joined(own)}; everything else is the bench's"


def title_of(model: UnitModel) -> str:
    """How the card is called: 'Wearer's card, welding PAPR'."""
    return f"Wearer's card, {model.short_name}"


__all__ = ["alarm_test", "facts_of_model", "rule_of", "title_of", "wearers_card"]
