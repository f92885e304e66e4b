"""The forms that lie on the counter: a return, a hold, a change of part, an area. They hold no rules."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta

from cribdesk.crib.hold import choosable
from cribdesk.crib.records import Custody, RunEnd
from cribdesk.crib.shift import turns
from cribdesk.crib.words import hours, number, when
from cribdesk.desk.cards import BatteryCard, BinCard, Card, ItemCard, PartCard, PersonCard, UnitCard
from cribdesk.desk.count_form import count_form
from cribdesk.desk.facts import planned_hours
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.matters import matters
from cribdesk.desk.routing import Routed, also, refuse, say, weigh
from cribdesk.desk.saying import name_of
from cribdesk.desk.slate import (
    AreaForm,
    AreasOffered,
    AskForm,
    ChangeForm,
    Filled,
    Form,
    HoldForm,
    Inquire,
    Inquired,
    Offer,
    Offered,
    ReleaseForm,
    ReturnForm,
    Scanned,
    Slate,
)

LONGEST_TEXT = 400
YES, NO = "yes", "no"
ASSIGNED = "assigned"
"""What stands for no time of return among the times of the area form."""


def hold_form(card: UnitCard) -> HoldForm:
    """An empty hold of this unit."""
    return HoldForm(card.unit.id, card.label, choosable(card.model))


def change_form(card: UnitCard) -> ChangeForm:
    """An empty change of a part of this unit."""
    ordered = sorted(card.model.positions, key=lambda position: position.order)
    return ChangeForm(card.unit.id, card.label, tuple((one.code, one.name) for one in ordered))


def return_form(house: House, card: UnitCard, custody: Custody, moment: datetime) -> ReturnForm:
    """The rest of a return, its hours proposed by the clock and the shift."""
    ended = custody.returned_at or moment
    proposed = custody.worn_hours
    if proposed is None and ended > custody.issued_at:
        proposed = round(planned_hours(house, custody.issued_at, ended), 1)
    since = when(custody.issued_at, house.zone, moment)
    words = "The clock cannot tell" if proposed is None else f"Out since {since}; the clock proposes {hours(proposed)}"
    reasons = tuple(one for one in choosable(card.model) if one.proof == "bench inspection")
    return ReturnForm(
        custody_id=custody.id,
        unit_id=card.unit.id,
        unit_label=card.label,
        holder=name_of(card.holder or card.last_holder),
        worn_hours=proposed,
        proposed_words=words,
        speeds=card.model.speeds,
        speed=card.model.speeds[0] if len(card.model.speeds) == 1 else "",
        battery_label=card.battery.label if card.battery else "",
        reasons=reasons,
        returned=custody.returned_at is not None,
    )


def filled(slate: Slate, event: Filled) -> Routed:
    """One field of the open form. What cannot be is told and not taken."""
    form = slate.form
    if form is None:
        return slate, ()
    value = event.value.strip()
    if len(value) > LONGEST_TEXT:
        return refuse(slate, f"That is {len(value)} characters; {LONGEST_TEXT} fit.", event.moment)
    try:
        changed = _with(form, event.name, value)
    except ValueError as failure:
        return replace(slate, form=replace(form, trouble=str(failure))), ()
    slate = replace(slate, form=changed)
    if isinstance(changed, AskForm):
        return slate, inquiry(changed)
    if isinstance(changed, ChangeForm) and event.name == "position" and value:
        return slate, (Offer(changed.unit_id, changed.position),)
    return slate, ()


def _with(form: Form, name: str, value: str) -> Form:
    match form:
        case ReturnForm():
            return replace(_return_with(form, name, value), trouble="")
        case HoldForm() if name == "reason":
            if value not in {reason.code for reason in form.reasons}:
                raise ValueError("This reason is not on the list.")
            return replace(form, reason=value, trouble="")
        case HoldForm() if name == "detail":
            return replace(form, detail=value, trouble="")
        case ChangeForm() if name == "position" and not form.for_check:
            if value not in {code for code, _ in form.positions}:
                raise ValueError("This model has no such position.")
            return replace(form, position=value, choices=(), chosen=None, trouble="")
        case ChangeForm() if name == "choice":
            return replace(form, chosen=_index(value, len(form.choices)), trouble="")
        case ChangeForm() if name == "why":
            return replace(form, why=value, trouble="")
        case ReleaseForm() if name == "word":
            return replace(form, word=value, trouble="")
        case AskForm():
            return _ask_with(form, name, value)
        case AreaForm() if name in ("area", "due"):
            return replace(form, area=value, trouble="") if name == "area" else replace(form, due=value, trouble="")
    return form


def _return_with(form: ReturnForm, name: str, value: str) -> ReturnForm:
    match name:
        case "worn_hours":
            return replace(form, worn_hours=number_of(value, "Hours worn") if value else None)
        case "bars_left":
            return replace(form, bars_left=int(number_of(value, "Bars left")) if value else None)
        case "battery_end":
            return replace(form, battery_end=RunEnd(value) if value else None)
        case "battery_back":
            return replace(form, battery_back={YES: True, NO: False}.get(value))
        case "fault" if value and value not in {reason.code for reason in form.reasons}:
            raise ValueError("This fault is not on the list.")
        case "any_fault":
            return replace(form, any_fault=value == YES, fault=form.fault if value == YES else "")
        case "fault":
            return replace(form, any_fault=bool(value), fault=value)
        case "speed" | "alarms" | "damage":
            return replace(form, **{name: value})  # type: ignore[arg-type]
        case "brought_by" if not value:
            return replace(form, brought_by=None, brought_by_name="")
    return form


LINE = "line "
"""Before the key of a line whose number is filled in."""


def _ask_with(form: AskForm, name: str, value: str) -> AskForm:
    """A field of a matter's form, or the number of one of its lines; none at all takes the line out."""
    turn = form.turn + 1
    if name.startswith(LINE):
        key = name.removeprefix(LINE)
        number_ = int(number_of(value, "How many")) if value else 0
        lines = tuple(replace(one, number=number_) if one.key == key else one for one in form.lines)
        return replace(form, lines=tuple(one for one in lines if one.number), trouble="", turn=turn)
    asked = next((one for one in form.fields if one.name == name), None)
    if asked is None:
        return form
    if asked.kind == "choice" and value and value not in {one for one, _ in asked.choices}:
        raise ValueError(f"{asked.words}: that is not on the list.")
    if asked.kind == "number" and value:
        number_of(value, asked.words)
    known = dict(form.values) | {name: value}
    return replace(form, values=tuple(known.items()), trouble="", turn=turn)


def inquiry(form: AskForm) -> tuple[Inquire, ...]:
    """The request that lets the store fill the form in, where its matter asks for that."""
    return (Inquire(form),) if matters()[form.matter].asks is not None else ()


def inquired(slate: Slate, event: Inquired) -> Slate:
    """What the store filled in; an answer for an older form is dropped."""
    form = slate.form
    if not isinstance(form, AskForm) or (form.matter, form.turn) != (event.form.matter, event.form.turn):
        return slate
    return replace(slate, form=event.form)


def begun_by(house: House, slate: Slate, card: Card) -> Matter | None:
    """The matter that this scan opens by itself, beside what lies there."""
    return next((one for one in matters().values() if one.begins(house, slate, card)), None)


def begin_with(house: House, slate: Slate, matter: Matter, event: Scanned) -> Routed:
    """The matter's form, with the scan taken into it; what the form does not take leaves the counter as it is."""
    assert matter.opens is not None
    why = matter.offered(house, slate)
    if why:
        return refuse(slate, f"{why} Nothing changed.", event.moment, event.card.label)
    opened = replace(slate, form=matter.opens(house, slate, event.moment))
    routed = _into_matter(house, opened, event)
    if routed[0].line.level == "refused":
        return replace(slate, line=routed[0].line), routed[1]
    return routed


def _into_matter(house: House, slate: Slate, event: Scanned) -> Routed:
    form, card = slate.form, event.card
    assert isinstance(form, AskForm)
    taken = matters()[form.matter].takes(house, slate, form, card)
    if taken is None:
        words = f"{card.label} does not belong in what is open here. Finish it, or put it aside with F9."
        return refuse(slate, f"{words} Nothing changed.", event.moment, card.label)
    if isinstance(taken, str):
        return refuse(slate, taken, event.moment, card.label)
    taken = replace(taken, turn=form.turn + 1, trouble="")
    last = taken.lines[-1] if taken.lines and taken.lines != form.lines else None
    words = f"{last.words}, {number(last.number)}" if last and form.counted else last.words if last else "Taken"
    level = "caution" if last and last.level else "taken"
    return also(say(replace(slate, form=taken), level, words, event.moment, card.label), *inquiry(taken))


def number_of(text: str, what: str) -> float:
    """A figure as people type it, comma or point. Raises ValueError in plain words."""
    try:
        figure = float(text.replace(",", ".").replace("\u00a0", "").replace(" ", ""))
    except ValueError:
        raise ValueError(f"{what}: '{text[:20]}' is no number.") from None
    if not 0 <= figure < 10_000:
        raise ValueError(f"{what}: between 0 and 10 000.")
    return figure


def _index(value: str, count: int) -> int | None:
    if not value:
        return None
    if not value.isdigit() or int(value) >= count:
        raise ValueError("That is not on the list.")
    return int(value)


def offered(slate: Slate, event: Offered) -> Slate:
    """What may be fitted is known; a single possibility is still to be chosen by hand."""
    form = slate.form
    if not isinstance(form, ChangeForm) or form.position != event.position:
        return slate
    trouble = "" if event.choices else "Nothing of it is on the shelf. Order it, or count the bin."
    return replace(slate, form=replace(form, choices=event.choices, chosen=None, trouble=trouble))


def areas_offered(house: House, slate: Slate, event: AreasOffered) -> Slate:
    """The areas and the next ends of a shift."""
    if not isinstance(slate.form, AreaForm):
        return slate
    ends = sorted({turn.end for turn in turns(house.plan, house.zone, house.today(event.moment))})
    later = [end for end in ends if end > event.moment][:4]
    later.append(later[0] + timedelta(days=7))
    later = _within_badge(house, slate, later, event.moment)
    times = [(end.isoformat(), when(end, house.zone, event.moment)) for end in later]
    times.append((ASSIGNED, "Assigned, no time of return"))
    chosen = slate.area.label if slate.area else ""
    due = ASSIGNED if slate.assigned else slate.due_at.isoformat() if slate.due_at else ""
    return replace(slate, form=AreaForm(event.areas, tuple(times), chosen, due))


def _within_badge(house: House, slate: Slate, times: list[datetime], moment: datetime) -> list[datetime]:
    """Only times at which the wearer's badge is still good; where it ends first, the end of its last day."""
    ends_on = slate.person.person.ends_on if slate.person else None
    if ends_on is None or all(house.today(one) <= ends_on for one in times):
        return times
    last = datetime.combine(ends_on, time(23, 59), house.zone).astimezone(moment.tzinfo)
    good = [one for one in times if house.today(one) <= ends_on]
    return [*good, last] if last > moment and last not in good else good


def scanned(house: House, slate: Slate, event: Scanned) -> Routed:
    """A scan while a form is open fills what it fits; all else is told."""
    form, card = slate.form, event.card
    if isinstance(form, AskForm):
        return _into_matter(house, slate, event)
    if isinstance(form, ReturnForm) and isinstance(card, PersonCard):
        brought = replace(form, brought_by=card.person.id, brought_by_name=card.person.name)
        return say(replace(slate, form=brought), "taken", f"Brought by {card.person.name}", event.moment, card.label)
    if isinstance(form, ReturnForm) and isinstance(card, BatteryCard):
        return _battery_back(slate, form, card, event)
    if isinstance(form, ChangeForm) and isinstance(card, (ItemCard, BinCard, PartCard)):
        return _choose(slate, form, event)
    if isinstance(form, AreaForm) and any(card.label == area.label for area in form.areas):
        chosen = replace(slate, form=replace(form, area=card.label))
        return say(chosen, "taken", "Area chosen", event.moment, card.label)
    words = f"{card.label} does not belong in what is open here. Finish it, or put it aside with F9. Nothing changed."
    return refuse(slate, words, event.moment, card.label)


def _battery_back(slate: Slate, form: ReturnForm, card: BatteryCard, event: Scanned) -> Routed:
    if not form.battery_label:
        words = f"{form.unit_label} went out without a battery. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    if card.label != form.battery_label:
        words = f"{card.label} is not the pack that went along; that was {form.battery_label}. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    back = replace(slate, form=replace(form, battery_back=True))
    return say(back, "taken", "Its battery is back", event.moment, card.label)


def _choose(slate: Slate, form: ChangeForm, event: Scanned) -> Routed:
    card = event.card
    wanted = _fits(form, card)
    if wanted is None and _booked_out(slate, form, card):
        return _count_first(slate, form, event)
    if wanted is None:
        words = f"{card.label} does not go there, or none of it is free. Take one from the list. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    chosen = replace(slate, form=replace(form, chosen=wanted))
    choice = form.choices[wanted]
    there = f", {number(choice.on_hand)} on the shelf" if choice.part_id is None else ""
    return say(chosen, "taken", f"{choice.words}{there}", event.moment, card.label)


def _booked_out(slate: Slate, form: ChangeForm, card: object) -> bool:
    """Whether this is an item of that position of which nothing is left by the book, though it was scanned."""
    position = slate.unit.model.position(form.position) if slate.unit else None
    empty = isinstance(card, ItemCard) and not card.lots
    return position is not None and not position.labelled and empty and bool(_codes(card) & set(position.items))


def _count_first(slate: Slate, form: ChangeForm, event: Scanned) -> Routed:
    """The book says 0 of what is in the hand: it is counted in place, and the change goes on. A check comes first."""
    card = event.card
    assert isinstance(card, ItemCard)
    if form.for_check:
        words = f"The book says 0 of {card.item.name}. Count it in the place Stock, then take this remedy again."
        return refuse(slate, f"{words} Nothing changed.", event.moment, card.label)
    counting = count_form((card.item.id,), form.position)
    asked = replace(slate, form=counting)
    words = f"The book says 0 of {card.item.name}. Count the bin, then the change goes on"
    return also(say(asked, "caution", words, event.moment, card.label), *inquiry(counting))


def _fits(form: ChangeForm, card: object) -> int | None:
    """The first choice (first to expire) that the scanned item, bin or part stands for."""
    for index, choice in enumerate(form.choices):
        if isinstance(card, PartCard) and choice.part_id == card.part.id:
            return index
        if isinstance(card, ItemCard) and choice.item_id == card.item.id:
            return index
        if isinstance(card, BinCard) and choice.item_id in {one.item.id for one in card.items}:
            return index
    return None


def change_with(slate: Slate, event: Scanned) -> Routed:
    """A part or item scanned beside a unit: the change form opens at the position it goes to."""
    unit, card = slate.unit, event.card
    assert unit is not None
    codes = _codes(card)
    position = next((one for one in unit.model.positions if codes & set(one.items)), None)
    if position is None:
        words = f"{card.label} goes into no position of {unit.label}. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    form = replace(change_form(unit), position=position.code)
    placed = replace(slate, form=form)
    words = f"{position.name} of {unit.label}: choose what goes in"
    return also(say(placed, "taken", words, event.moment, card.label), Offer(unit.unit.id, position.code))


def _codes(card: object) -> set[str]:
    if isinstance(card, (ItemCard, PartCard)):
        return {card.item.code}
    return {one.item.code for one in card.items} if isinstance(card, BinCard) else set()


def area_taken(slate: Slate, form: AreaForm, moment: datetime) -> Routed:
    """The area and time of the form are taken."""
    area = next((one for one in form.areas if one.label == form.area), slate.area)
    assigned = form.due == ASSIGNED or (slate.assigned and not form.due)
    due = datetime.fromisoformat(form.due) if form.due and not assigned else None if assigned else slate.due_at
    if due is not None and due <= moment:
        return refuse(slate, "That time is past. Choose a later one.", moment)
    placed = replace(slate, area=area, due_at=due, assigned=assigned, form=None, facts=None, accepted=())
    return also(say(placed, "taken", f"For {area.area.name}" if area else "Time changed", moment), *weigh(placed))
