"""Forms for what is bought: a requisition is written, changed, brought a step on; a price; goods that go back."""

from __future__ import annotations

from cribdesk.crib.records import (
    Delivery,
    Lot,
    Requisition,
    RequisitionLine,
    RequisitionState,
    StockItem,
    Supplier,
)
from cribdesk.crib.requisition import OPEN, steps_by_hand, substitutes
from cribdesk.crib.words import count, date_words, number
from cribdesk.desk.deliveries import expected
from cribdesk.desk.entry_form import ABOUT, NO, Asked, EntryField, EntryKind, Fields, Filled, or_none
from cribdesk.desk.operation import Operation
from cribdesk.desk.prices import EnterPrice, money
from cribdesk.desk.requisition_steps import in_drafts, lines_of
from cribdesk.desk.requisitions import MOST_PIECES, ChangeRequisition, LineChange, MakeRequisitions, StepRequisition
from cribdesk.desk.supplier_return import ReturnToSupplier

FREE = 4
"""Lines for further items in a form."""
LOTS_SHOWN = 20
CHOSEN = "chosen_"
"""Begins the field of an item that was chosen elsewhere; its label follows."""

Choices = tuple[tuple[str, str], ...]

_STEP_WORDS = {
    RequisitionState.SENT: "Hand it over: it prints, to be signed",
    RequisitionState.BACK_ORDERED: "It is back-ordered",
    RequisitionState.CLOSED: "Close it: nothing more comes",
    RequisitionState.CANCELLED: "Cancel it",
}


def chosen_words(pairs: tuple[tuple[str, int], ...]) -> str:
    """What the form of a requisition is about, for items chosen elsewhere: (label, pieces) of each."""
    return ",".join(f"{label}:{pieces}" for label, pieces in pairs)


def _chosen(about: str) -> tuple[tuple[str, int], ...]:
    found = []
    for one in about.split(","):
        label, _, pieces = one.partition(":")
        if label and (not pieces or pieces.isdigit()):
            found.append((label, int(pieces or 0)))
    return tuple(found)


def _orderable(asked: Asked) -> list[StockItem]:
    found = [one for one in asked.reader.find(StockItem, active=True) if one.supplier_id is not None]
    return sorted(found, key=lambda one: (one.name, one.label))


def _suppliers(asked: Asked) -> dict[int, str]:
    return {one.id: one.name for one in asked.reader.find(Supplier)}


def _choices(items: list[StockItem], suppliers: dict[int, str]) -> Choices:
    return tuple((one.label, f"{one.name}, {one.code}, {suppliers[one.supplier_id or 0]}") for one in items)


def _line(key: str, item: EntryField) -> Fields:
    only = (f"item_{key}", *(value for value, _ in item.choices if value))
    return item, EntryField(f"pieces_{key}", "Pieces of it", "number", True, "Whole packs.", only=only)


def _free_lines(choices: Choices, begin: int, many: int, needed: bool) -> Fields:
    """Empty lines; the next comes up once the one before has its item."""
    labels = tuple(label for label, _ in choices)
    fields: list[EntryField] = []
    for place in range(begin, begin + many):
        only = (f"item_{place - 1}", *labels) if place > begin else None
        item = EntryField(
            f"item_{place}", "Item" if needed and place == begin else "And of", "choice", needed and place == begin,
            "Choose it, or scan its label." if place == begin else "", or_none(choices, "nothing"), "", only,
            begins=True,
        )  # fmt: skip
        fields += _line(str(place), item)
    return tuple(fields)


def _make_fields(asked: Asked) -> Fields:
    items, suppliers = _orderable(asked), _suppliers(asked)
    known = {one.label: one for one in items}
    chosen = [(known[label], pieces) for label, pieces in _chosen(asked.about) if label in known]
    fields: list[EntryField] = []
    if chosen:
        words = f"{count(len(chosen), 'item')} chosen in the stock"
        choices = ((asked.about, words), ("", "none of them"))
        fields.append(EntryField(ABOUT, "What is ordered", "choice", choices=choices, value=asked.about, begins=True))
    drafted = in_drafts(asked.reader, [item.id for item, _ in chosen])
    for place, (item, pieces) in enumerate(chosen):
        ((_, words),) = _choices([item], suppliers)
        there = f" {number(drafted[item.id])} stand on a draft already." if drafted[item.id] else ""
        packs = f"Packs of {number(item.pack_size)}. " if item.pack_size > 1 else ""
        helped = f"{packs}0 leaves it out.{there}"
        fields.append(EntryField(f"{CHOSEN}{item.label}", words, "number", True, helped, value=str(pieces or ""),
                                 begins=not place))  # fmt: skip
    fields += _free_lines(_choices(items, suppliers), 1, FREE if chosen else 2 * FREE, not chosen)
    return (*fields, EntryField("note", "Note on it", help="Printed: a cost centre, where to deliver.", begins=True))


def _lines(filled: Filled, asked: Asked) -> tuple[tuple[int, int], ...]:
    """(item id, pieces) of each line that has an item; one that stands there twice is told."""
    found: list[tuple[int, int]] = []
    for field in filled.form.fields:
        if field.name.startswith(CHOSEN):
            label, pieces = field.name.removeprefix(CHOSEN), filled.whole(field.name, 0, MOST_PIECES)
            if pieces == 0:
                continue
        elif field.name.startswith("item_"):
            label = filled.pick(field.name)
            pieces = filled.whole(f"pieces_{field.name.removeprefix('item_')}", 1, MOST_PIECES)
        else:
            continue
        item = asked.reader.first(StockItem, label=label) if label else None
        if item is None:
            continue
        if item.id in {one for one, _ in found}:
            filled.troubles[field.name] = "It stands there already: say how many in one line."
        found.append((item.id, pieces or 0))
    return tuple(found)


def _make(filled: Filled, asked: Asked, token: str) -> Operation:
    lines = _lines(filled, asked)
    return MakeRequisitions(operation_id=token, lines=lines, note=filled.text("note"))


def _no_items(asked: Asked) -> str:
    return "" if _orderable(asked) else "No stock item has a supplier yet. Enter suppliers, then items with them."


# A requisition that is there is changed, or brought a step on.


def _about(asked: Asked, states: tuple[RequisitionState, ...]) -> tuple[EntryField, Requisition | None]:
    """The field of the requisition, and the one that stands in it."""
    suppliers = _suppliers(asked)
    known = asked.reader.find(Requisition, state=[one.value for one in states])
    known.sort(key=lambda one: -one.number)
    choices = tuple((str(one.number), f"{one.number} to {suppliers[one.supplier_id]}, {one.state}") for one in known)
    here = next((one for one in known if str(one.number) == asked.label), None)
    value = str(here.number) if here else ""
    return EntryField(ABOUT, "Requisition", "choice", True, "", choices, value), here


def _draft_or_open(asked: Asked) -> str:
    states = [RequisitionState.DRAFT.value, *(one.value for one in OPEN)]
    return "" if asked.reader.first(Requisition, state=states) else "No requisition is open. Write one first."


def _change_fields(asked: Asked) -> Fields:
    about, made = _about(asked, (RequisitionState.DRAFT, *OPEN))
    if made is None:
        return (about,)
    lines = lines_of(asked.reader, made.id)
    items = {one.id: one for one in asked.reader.find(StockItem, active=True)}
    items |= {one.id: one for one in asked.reader.find(StockItem, id=sorted({line.item_id for line in lines}))}
    by_code = {one.code: one for one in items.values() if one.active}
    draft = made.state == RequisitionState.DRAFT.value
    fields: list[EntryField] = [about]
    for line in lines:
        fields += _line_fields(asked, line, items[line.item_id], by_code, draft)
    if draft:
        on_it = {line.item_id for line in lines}
        more = [one for one in items.values() if one.supplier_id == made.supplier_id and one.id not in on_it]
        more.sort(key=lambda one: one.name)
        fields += _free_lines(_choices(more, _suppliers(asked)), 1, FREE, False) if more else ()
    return tuple(fields)


def _line_fields(
    asked: Asked, line: RequisitionLine, item: StockItem, by_code: dict[str, StockItem], draft: bool
) -> Fields:
    """What can be changed of one line now: its pieces, the day promised, another item in its place."""
    fields: list[EntryField] = []
    came = f", {number(line.arrived)} came" if line.arrived else ""
    name = f"{item.name}, {number(line.quantity)} at {money(line.price_cents)}{came}"
    if draft:
        helped = f"Packs of {number(item.pack_size)}. 0 takes it off."
        fields.append(EntryField(f"pieces_of_{line.id}", f"{name}: pieces", "number", True, helped,
                                 value=str(line.quantity), begins=True))  # fmt: skip
    promised = line.promised_on.isoformat() if line.promised_on else ""
    words = "Promised for" if draft else f"{name}: promised for"
    fields.append(EntryField(f"promised_{line.id}", words, "date", help="Like 2027-05-31. Empty: no day.",
                             value=promised, begins=not draft))  # fmt: skip
    codes = substitutes(asked.house.models.values(), item.code) & set(by_code)
    if codes and not line.arrived:
        choices = tuple((by_code[code].label, f"{by_code[code].name}, {code}") for code in sorted(codes))
        fields.append(EntryField(f"instead_{line.id}", "Another item in its place", "choice",
                                 help="Only what a unit model names for the same position.",
                                 choices=or_none(choices, "no, as asked for")))  # fmt: skip
    return tuple(fields)


def _change(filled: Filled, asked: Asked, token: str) -> Operation:
    _, made = _about(asked, (RequisitionState.DRAFT, *OPEN))
    changes = []
    for line in lines_of(asked.reader, made.id) if made else []:
        instead = filled.pick(f"instead_{line.id}")
        item = asked.reader.first(StockItem, label=instead) if instead else None
        pieces = filled.whole(f"pieces_of_{line.id}", 0, MOST_PIECES)
        change = LineChange(
            line.id,
            item.id if item else line.item_id,
            line.quantity if pieces is None else pieces,
            filled.day(f"promised_{line.id}"),
        )
        changes.append(change.plain())
    return ChangeRequisition(
        operation_id=token,
        requisition_id=made.id if made else 0,
        lines=tuple(changes),
        added=_lines(filled, asked),
    )


def _step_fields(asked: Asked) -> Fields:
    about, made = _about(asked, (RequisitionState.DRAFT, *OPEN))
    if made is None:
        return (about,)
    lines = lines_of(asked.reader, made.id)
    steps = steps_by_hand(RequisitionState(made.state), any(one.arrived for one in lines))
    choices = tuple((one.value, _STEP_WORDS[one]) for one in steps)
    value = asked.part if asked.part in dict(choices) else choices[0][0]
    return (
        about,
        EntryField("to", "What happens", "choice", True, choices=choices, value=value),
        EntryField("note", "Why, or what was said", help="Needed where it is back-ordered, cancelled or closed short."),
    )


def _step(filled: Filled, asked: Asked, token: str) -> Operation:
    _, made = _about(asked, (RequisitionState.DRAFT, *OPEN))
    to = filled.pick("to")
    return StepRequisition(
        operation_id=token,
        requisition_id=made.id if made else 0,
        to=RequisitionState(to) if to else RequisitionState.SENT,
        note=filled.text("note"),
    )


# Prices, and goods that go back.


def _item(asked: Asked) -> tuple[EntryField, StockItem | None]:
    items = sorted(asked.reader.find(StockItem, active=True), key=lambda one: (one.name, one.label))
    here = next((one for one in items if one.label == asked.label), None)
    choices = tuple((one.label, f"{one.name}, {one.code}") for one in items)
    return EntryField(ABOUT, "Item", "choice", True, "Choose it, or scan its label.", choices, asked.label), here


def _price_fields(asked: Asked) -> Fields:
    about, item = _item(asked)
    if item is None:
        return (about,)
    suppliers = tuple((str(one), name) for one, name in sorted(_suppliers(asked).items(), key=lambda pair: pair[1]))
    today = asked.house.today(asked.moment)
    now = f"{money(item.price_cents)} now. Earlier prices, and lines already written, stay as they are."
    return (
        about,
        EntryField("supplier", "Supplier", "choice", True, "", suppliers, str(item.supplier_id or "")),
        EntryField("price", "Price of a piece", "number", True, now, decimals=2),
        EntryField("from_on", "From", "date", True, value=today.isoformat()),
    )


def _price(filled: Filled, asked: Asked, token: str) -> Operation:
    item, supplier = asked.reader.first(StockItem, label=filled.pick(ABOUT)), filled.pick("supplier")
    return EnterPrice(
        operation_id=token,
        item_id=item.id if item else 0,
        supplier_id=int(supplier) if supplier else 0,
        price_cents=filled.cents("price") or 0,
        from_on=filled.the_day("from_on"),
    )


def _no_supplier(asked: Asked) -> str:
    if asked.reader.first(StockItem) is None:
        return "There is no stock item yet. Enter one first."
    return "" if asked.reader.first(Supplier) else "There is no supplier yet. Enter one first."


def _back_fields(asked: Asked) -> Fields:
    about, item = _item(asked)
    if item is None:
        return (about,)
    lots = [one for one in asked.reader.find(Lot, item_id=item.id) if one.on_hand][-LOTS_SHOWN:][::-1]
    words = tuple((str(one.id), f"{one.code}, {number(one.on_hand)} there{_until(one)}") for one in lots)
    value = asked.part if asked.part in dict(words) else words[0][0] if len(words) == 1 else ""
    came = _came(asked, item)
    fields = [
        about,
        EntryField("lot", "Lot", "choice", True, "" if lots else "Nothing of it lies on the shelf.", words, value),
        EntryField("quantity", "Pieces that go back", "number", True),
        EntryField("why", "Why", needed=True, help="Wrong item, damaged, past its date."),
    ]
    if came:
        lines = tuple(line for line, _ in came)
        fields += [
            EntryField("line", "It came for", "choice", choices=or_none(came, "no requisition")),
            EntryField("replaced", "The supplier sends it anew", "yes-no", value=NO, only=("line", *lines)),
        ]
    return tuple(fields)


def _until(lot: Lot) -> str:
    return f", until {date_words(lot.expires_on)}" if lot.expires_on else ""


def _came(asked: Asked, item: StockItem) -> Choices:
    """Lines that something of the item came for, the newest first; three queries."""
    came = asked.reader.find(Delivery, item_id=item.id)
    ids = list(dict.fromkeys(one.requisition_line_id for one in reversed(came) if one.requisition_line_id))
    lines = {one.id: one for one in asked.reader.find(RequisitionLine, id=ids[:LOTS_SHOWN])}
    of = sorted({one.requisition_id for one in lines.values()})
    numbers = {one.id: one.number for one in asked.reader.find(Requisition, id=of)}
    return tuple(
        (str(one), f"Requisition {numbers[lines[one].requisition_id]}, {number(lines[one].arrived)} came")
        for one in ids
        if one in lines
    )


def _back(filled: Filled, asked: Asked, token: str) -> Operation:
    lot, line = filled.pick("lot"), filled.pick("line")
    return ReturnToSupplier(
        operation_id=token,
        lot_id=int(lot) if lot else 0,
        quantity=filled.whole("quantity", 1) or 0,
        why=filled.text("why"),
        requisition_line_id=int(line) if line else None,
        replaced=bool(line) and filled.yes("replaced"),
    )


def _nothing_there(asked: Asked) -> str:
    return "" if asked.reader.first(Lot) else "Nothing ever came in. Receive a lot first."


def expected_field(asked: Asked) -> Fields:
    """For the form of a lot: the line it came for, of whatever item; and whether more than ordered is kept."""
    waiting = expected(asked.reader)
    if not waiting:
        return ()
    names = {one.id: one.name for one in asked.reader.find(StockItem, id=sorted({one.line.item_id for one in waiting}))}
    today = asked.house.today(asked.moment)
    choices = tuple((str(one.line.id), f"{names[one.line.item_id]}. {one.words(today)}") for one in waiting)
    lines = tuple(value for value, _ in choices)
    return (
        EntryField("line", "It came for", "choice", choices=or_none(choices, "no requisition")),
        EntryField("more_kept", "More came than is expected; all is kept", "yes-no", value=NO, only=("line", *lines)),
    )


_NOT_SENT = "Nothing is sent by the program: it prints, is signed, and goes the way your house has for it."

ORDER_FORMS = (
    EntryKind(
        "requisition", "orders", "Requisition", "Write a requisition", MakeRequisitions, _make_fields, _make,
        "Each supplier gets one of its own. A draft can be changed; it prints when it is handed over.", _no_items,
    ),
    EntryKind(
        "change-requisition", "orders", "Its lines", "Change a requisition, or note what was promised",
        ChangeRequisition, _change_fields, _change, "", _draft_or_open,
    ),
    EntryKind(
        "step-requisition", "orders", "Its next step", "Bring a requisition a step on", StepRequisition, _step_fields,
        _step, _NOT_SENT, _draft_or_open, again=False,
    ),
    EntryKind(
        "price", "orders", "Price", "Enter a price", EnterPrice, _price_fields, _price, "", _no_supplier,
    ),
    EntryKind(
        "supplier-return", "orders", "Send back", "Send goods back to their supplier", ReturnToSupplier, _back_fields,
        _back, "They leave the shelf now.", _nothing_there,
    ),
)  # fmt: skip
