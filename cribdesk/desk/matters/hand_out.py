"""Consumables over the counter: badge, item labels, done; and the wearer's word that one of them is fitted."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.records import HandOut, StockItem
from cribdesk.crib.words import capital, count, number
from cribdesk.desk.cards import BinCard, Card, ItemCard, PartCard, SetCard, UnitCard
from cribdesk.desk.entry_form import EntryField
from cribdesk.desk.hand_out import (
    ConfirmFitting,
    HandItemsOut,
    Kept,
    Planned,
    for_the_bench,
    kept_by,
    over_words,
    plan,
)
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter, changed
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Reader
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, named, say
from cribdesk.desk.saying import moment_words
from cribdesk.desk.slate import AskForm, AskLine, Slate
from cribdesk.desk.still_out import against_use

ALONG, NOW = "along", "now"
SHOWN = 8
"""Hand-outs with something left to be fitted that are offered, newest first."""

_FITTED = EntryField(
    "fitted",
    "Fitted now?",
    "choice",
    choices=((ALONG, "taken along"), (NOW, "fitted now")),
    value=ALONG,
    help="Hours at the position start anew once it is fitted. The wearer checks the unit before the next use.",
)


# Handing out.


def _offered(house: House, slate: Slate) -> str | None:
    person = slate.person
    if person is None or slate.battery is not None:
        return None
    unit = slate.unit
    if unit is not None and not (unit.holder and unit.is_out and unit.holder.id == person.person.id):
        return None
    if person.badge_ended:
        return f"The badge of {person.person.name} has ended: nothing is handed out."
    return ""


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    person = slate.person
    assert person is not None
    held = ", ".join(one.unit for one in person.holds_now)
    chosen = slate.unit.label if slate.unit else ""
    cautions = () if held else (f"{person.person.name} holds no unit now.",)
    return AskForm(
        matter="hand-out",
        title=f"Handed to {person.person.name}",
        label=person.label,
        lead=f"Holds {held} now." if held else "",
        fields=(_FITTED,),
        values=(("unit", chosen),) if chosen else (),
        lines_none="Scan the label of the item, its bin, or a set.",
        counted=True,
        cautions=cautions,
        go="Hand out",
        ids=(("person", person.person.id), *((_unit_key(slate.unit),) if slate.unit else ())),
    )


def _unit_key(card: UnitCard) -> tuple[str, int]:
    return f"unit {card.label}", card.unit.id


def _hears(form: AskForm, command: str) -> tuple[AskForm, str] | None:
    """The printed code for a fitting, scanned while the list is open: what goes out is fitted now."""
    return (changed(form, fitted=NOW), "Fitted now") if command == "confirm-fitting" else None


def _begins(house: House, slate: Slate, card: Card) -> bool:
    fits = isinstance(card, (ItemCard, BinCard, SetCard))
    return fits and slate.clerk is not None and _offered(house, slate) is not None


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    match card:
        case ItemCard():
            return _with(house, form, ((card, 1),))
        case BinCard() if len(card.items) == 1:
            return _with(house, form, ((card.items[0], 1),))
        case BinCard():
            what = f"{count(len(card.items), 'item')}: scan the label of the item" if card.items else "nothing"
            return f"Bin {card.bin.code} holds {what}. Nothing changed."
        case SetCard() if not card.set.active or not card.items:
            return f"Set {card.set.name} is out of use. Nothing changed."
        case SetCard():
            return _with(house, form, card.items)
        case PartCard():
            return f"{card.label} is a part with a label of its own: it is changed at the bench. Nothing changed."
        case UnitCard():
            if slate.person is None or card.label not in {one.unit for one in slate.person.holds_now}:
                return f"{card.label} is not with them now. Nothing changed."
            ids = dict((*form.ids, _unit_key(card)))
            values = dict(form.values) | {"unit": card.label}
            return replace(form, values=tuple(values.items()), ids=tuple(ids.items()))
    return None


def _with(house: House, form: AskForm, more: tuple[tuple[ItemCard, int], ...]) -> AskForm | str:
    """The form with so many more of these; one that is the bench's alone is told and not taken."""
    lines, ids = {one.key: one for one in form.lines}, dict(form.ids)
    for card, pieces in more:
        item = card.item
        if for_the_bench(house, item.code):
            return f"{item.name} is changed at the bench, not by its wearer. Nothing changed."
        if not item.active:
            return f"{item.name} is out of use. Nothing changed."
        before = lines.pop(item.label, AskLine(item.label, "", item.name, 0))
        lines[item.label] = replace(before, number=before.number + pieces)
        ids[item.label] = item.id
    return replace(form, lines=tuple(lines.values()), ids=tuple(ids.items()))


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """Which of their units each line is for, what is short or over a house limit, which unit may not be used.

    Seven queries, and some for each unit they have.
    """
    kept = kept_by(reader, house, form.id("person"))
    chosen = next((one.unit.id for one in kept if one.unit.label == form.value("unit")), 0)
    lines = tuple((form.id(one.key), one.number) for one in form.lines)
    planned = plan(reader, house, form.id("person"), lines, kept, chosen, moment)
    fields: tuple[EntryField, ...] = (_FITTED,)
    if len(kept) > 1:
        fields = (_unit_field(kept), _FITTED)
    shown = tuple(_told(line, one) for line, one in zip(form.lines, planned, strict=True))
    holds = ", ".join(one.unit.label for one in kept)
    cautions = _not_to_be_used(reader, house, kept, moment) if kept else ("They hold no unit now.",)
    over = tuple(f"Over the house limit: {over_words(one)}." for one in planned if one.over)
    over += tuple(f"{one.item.name}: {number(one.free)} there, {one.aside_for}." for one in planned if one.into_aside)
    unclear = next((one.item.name for one in planned if one.unclear), "")
    extra = (
        ("unclear", unclear),
        ("none", "" if any(not one.short for one in planned) or not planned else "Nothing of it is there in full."),
        ("no-place", "" if any(one.position for one in planned) else "Nothing of it goes into a unit they have."),
    )
    return replace(
        form,
        lead=f"Holds {holds} now." if holds else "",
        ids=tuple((dict(form.ids) | {f"unit {one.unit.label}": one.unit.id for one in kept}).items()),
        fields=fields,
        lines=shown,
        cautions=cautions + over,
        extra=extra,
    )


def _not_to_be_used(reader: Reader, house: House, kept: tuple[Kept, ...], moment: datetime) -> tuple[str, ...]:
    """A new part does not make a unit good that may not be used; one past its limit may be all that was wrong."""
    against = ((one.unit.label, against_use(reader, house, one.unit, one.custody, moment)) for one in kept)
    what = "Take it back, unless a new part ends it."
    return tuple(f"Do not use {label}: {why}. {what}" for label, why in against if why)


def _unit_field(kept: tuple[Kept, ...]) -> EntryField:
    choices = tuple((one.unit.label, f"{one.unit.label}, {one.model.short_name}") for one in kept)
    return EntryField("unit", "For which unit?", "choice", choices=choices, help="Or scan the unit.")


def _told(line: AskLine, planned: Planned) -> AskLine:
    """The line with where it goes and what is there; short is told first."""
    if planned.short:
        note = f"{number(planned.free)} there: none of it is handed out"
        return replace(line, note=note, level="stop")
    level = "caution" if planned.over else ""
    lot = f"lot {planned.lots[0][0].code}, {number(planned.free)} there"
    if planned.unclear:
        return replace(line, note=f"Fits more than one of theirs; {lot}", level="caution")
    if planned.kept is not None and planned.position is not None:
        place = planned.position.name
        return replace(line, note=f"{place} of {planned.kept.unit.label}; {lot}", level=level)
    if planned.named:
        return replace(line, note=f"Fits nothing they have; {lot}", level="caution")
    return replace(line, note=capital(lot), level=level)


def _lacks(form: AskForm) -> str:
    if not form.lines:
        return "Scan what goes out."
    told = dict(form.extra)
    if told.get("unclear"):
        return "Scan the unit it is for."
    if told.get("none"):
        return told["none"]
    return told.get("no-place", "") if form.value("fitted") == NOW else ""


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    chosen = form.value("unit")
    return HandItemsOut(
        operation_id=token,
        person_id=form.id("person"),
        lines=tuple((form.id(one.key), one.number) for one in form.lines),
        unit_id=form.id(f"unit {chosen}") or None if chosen else None,
        fitted=form.value("fitted") == NOW,
        found_by_name=slate.by_name == form.id("person"),
    )


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    """The counter is clear for the next in the queue: their things must not go to whom was served before."""
    words = named(slate, receipt.sentence, receipt.names)
    level = "caution" if "Short, not handed out" in words else "taken"
    return say(slate.cleared(), level, words, moment)


# What was taken along is fitted.


def _fitting_offered(house: House, slate: Slate) -> str | None:
    if slate.unit is not None:
        return "" if slate.unit.is_out and slate.unit.custody else None
    return "" if slate.person is not None and slate.person.holds_now and slate.battery is None else None


def _fitting_opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    unit = slate.unit
    holder = unit.holder if unit is not None and unit.is_out else slate.person.person if slate.person else None
    assert holder is not None
    return AskForm(
        matter="confirm-fitting",
        title=f"What did {holder.name} fit?",
        label=unit.label if unit else holder.label,
        lead="Looking it up.",
        go="It is fitted",
        cost="its hours count from now",
        ids=(("person", holder.id), ("unit", unit.unit.id if unit else 0)),
    )


def _fitting_asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """What they took along for units they still have, newest first; four queries."""
    only = form.id("unit")
    kept = {one.unit.id: one for one in kept_by(reader, house, form.id("person"))}
    handed = reader.find(HandOut, person_id=form.id("person"), unit_id=[only] if only else sorted(kept))
    open_ones = [one for one in handed if one.unit_id in kept and one.fitted_pieces < one.quantity][::-1][:SHOWN]
    items = {one.id: one for one in reader.find(StockItem, id=sorted({one.item_id for one in open_ones}))}
    choices = tuple((str(one.id), _left_words(one, items, kept, house, moment)) for one in open_ones)
    if not choices:
        lead = "Nothing that they took along waits to be fitted."
        return replace(form, lead=lead, fields=(), extra=(("none", "yes"),))
    value = form.value("what") or (choices[0][0] if len(choices) == 1 else "")
    field = EntryField("what", "Taken along", "choice", False, "Or scan the item.", choices, value)
    codes = tuple((items[one.item_id].label, str(one.id)) for one in reversed(open_ones))
    lead = "One piece of it sits in the unit from now on. The wearer checks the unit before the next use."
    return replace(form, lead=lead, fields=(field,), extra=codes)


def _left_words(
    one: HandOut, items: dict[int, StockItem], kept: dict[int, Kept], house: House, moment: datetime
) -> str:
    left = one.quantity - one.fitted_pieces
    unit = kept[one.unit_id or 0].unit.label
    return f"{number(left)} {items[one.item_id].name}, for {unit}, {moment_words(one.at, house, moment)}"


def _fitting_takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    if isinstance(card, BinCard) and len(card.items) == 1:
        card = card.items[0]
    if not isinstance(card, ItemCard):
        return None
    chosen = dict(form.extra).get(card.label)
    if chosen is None:
        return f"{card.item.name} was not taken along for what they have now. Nothing changed."
    return replace(form, values=(("what", chosen),))


def _fitting_lacks(form: AskForm) -> str:
    if dict(form.extra).get("none") or not form.fields:
        return "Nothing waits to be fitted."
    return "" if form.value("what") else "Choose what was fitted, or scan it."


def _fitting_builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return ConfirmFitting(operation_id=token, hand_out_id=int(form.value("what")))


MATTERS = (
    Matter(
        id="hand-out",
        offered=_offered,
        shown=True,
        kind="go",
        cost="consumables, for a unit they have",
        opens=_opens,
        asks=_asks,
        begins=_begins,
        hears=_hears,
        takes=_takes,
        lacks=_lacks,
        builds=_builds,
        after=_after,
    ),
    Matter(
        id="confirm-fitting",
        offered=_fitting_offered,
        opens=_fitting_opens,
        asks=_fitting_asks,
        takes=_fitting_takes,
        lacks=_fitting_lacks,
        builds=_fitting_builds,
    ),
)
