"""Forms for units, position by position, and for parts that get a label of their own."""

from __future__ import annotations

from cribdesk.crib.model import Position, UnitModel
from cribdesk.crib.records import Lot, Part, PartPlace, StockItem
from cribdesk.crib.words import date_words
from cribdesk.desk.entry_form import Asked, EntryField, EntryKind, Fields, Filled, model_choices, or_none, same
from cribdesk.desk.operation import Operation
from cribdesk.desk.unit import AddPart, AddUnit


def _part_fields(asked: Asked) -> Fields:
    positions = [one for model in asked.house.models.values() for one in model.positions if one.labelled]
    codes = sorted({code for one in positions for code in one.items})
    items = {one.id: one for one in asked.reader.find(StockItem, code=codes)}
    lots = tuple((str(one.id), _lot_words(items[one.item_id], one)) for one in _free_lots(asked, tuple(items)))
    return (
        EntryField("lot", "Part, and the lot it is taken from", "choice", True, choices=lots),
        EntryField("serial", "The maker's number"),
    )


def _part(filled: Filled, asked: Asked, token: str) -> Operation:
    chosen = filled.pick("lot")
    lot = asked.reader.get(Lot, int(chosen)) if chosen else None
    return AddPart(
        operation_id=token,
        item_id=lot.item_id if lot else 0,
        lot_id=lot.id if lot else 0,
        serial=filled.text("serial"),
    )


def _free_lots(asked: Asked, item_ids: tuple[int, ...]) -> list[Lot]:
    """Lots of these items of which something may be fitted today, the first to expire first."""
    today = asked.house.today(asked.moment)
    free = [
        one
        for one in asked.reader.find(Lot, item_id=sorted(item_ids))
        if one.on_hand and not one.blocked and (one.expires_on is None or one.expires_on >= today)
    ]
    return sorted(free, key=lambda one: (one.expires_on is None, str(one.expires_on or ""), one.id))


def _lot_words(item: StockItem, lot: Lot) -> str:
    until = f", until {date_words(lot.expires_on)}" if lot.expires_on else ""
    return f"{item.name}, lot {lot.code}{until}: {lot.on_hand} there"


def _unit_fields(asked: Asked) -> Fields:
    models = list(asked.house.models.values())
    choices = _fitting_choices(asked, models)
    fields = [
        EntryField("model", "Unit model", "choice", True, choices=model_choices(models)),
        EntryField("serial", "Number on it", help="Yours or the maker's; empty where it has none."),
    ]
    for model in models:
        here = ("model", model.code)
        if model.sizes:
            sizes = same(model.sizes)
            fields.append(EntryField(f"size {model.code}", "Size", "choice", True, choices=sizes, only=here))
        for position in sorted(model.positions, key=lambda one: one.order):
            there = choices.get((model.code, position.code), ())
            fields.append(
                EntryField(
                    f"{model.code} {position.code}", position.name, "choice", choices=or_none(there, "nothing yet"),
                    help="" if there else f"Nothing of it is on the shelf: {' or '.join(position.items)}.", only=here,
                )
            )  # fmt: skip
    return tuple(fields)


def _fitting_choices(asked: Asked, models: list[UnitModel]) -> dict[tuple[str, str], tuple[tuple[str, str], ...]]:
    """What may sit at each position: a lot, or a labelled part on the shelf; in three queries."""
    items = {one.code: one for one in asked.reader.find(StockItem)}
    lots = _free_lots(asked, tuple(one.id for one in items.values()))
    parts = [one for one in asked.reader.find(Part, place=PartPlace.SHELF) if not one.fault]
    return {
        (model.code, position.code): _at(position, items, lots, parts)
        for model in models
        for position in model.positions
    }


def _at(
    position: Position, items: dict[str, StockItem], lots: list[Lot], parts: list[Part]
) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = []
    for code in position.items:
        item = items.get(code)
        if item is None:
            continue
        if position.labelled:
            found += [
                (f"part {one.id}", f"{one.label}{f', {one.serial}' if one.serial else ''}, on the shelf")
                for one in parts
                if one.item_id == item.id
            ]
        made = ", gets a label" if position.labelled else ""
        found += [(f"lot {one.id}", f"{_lot_words(item, one)}{made}") for one in lots if one.item_id == item.id]
    return tuple(found)


def _unit(filled: Filled, asked: Asked, token: str) -> Operation:
    model = asked.house.models.get(filled.pick("model"))
    parts: list[tuple[str, int, int | None, int | None]] = []
    for position in model.positions if model else ():
        kind, _, number = filled.pick(f"{model.code} {position.code}" if model else "").partition(" ")
        if kind == "part":
            part = asked.reader.get(Part, int(number))
            parts.append((position.code, part.item_id, None, part.id))
        elif kind == "lot":
            lot = asked.reader.get(Lot, int(number))
            parts.append((position.code, lot.item_id, lot.id, None))
    return AddUnit(
        operation_id=token,
        model=model.code if model else "",
        serial=filled.text("serial"),
        size=filled.pick(f"size {model.code}") if model else "",
        parts=tuple(parts),
    )


def _no_parts(asked: Asked) -> str:
    (lots, _) = _part_fields(asked)
    return "" if lots.choices else "No part that gets a label is on the shelf. Enter its stock item and a lot first."


UNIT_FORMS = (
    EntryKind(
        "unit", "units", "Unit", "Enter a unit", AddUnit, _unit_fields, _unit,
        "Say what sits at each position. It goes to the bench and is ready after its first inspection, not before.",
    ),
    EntryKind(
        "part", "units", "Labelled part", "Label a part", AddPart, _part_fields, _part,
        "One piece comes off its lot and lies on the shelf under a label of its own.", _no_parts,
    ),
)  # fmt: skip
