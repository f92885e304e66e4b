"""Forms for what is handed out: sets of parts, and the house limits a person and week."""

from __future__ import annotations

from cribdesk.crib.records import HandOutLimit, PartsSet, PartsSetLine, StockItem
from cribdesk.desk.entry_form import ABOUT, NO, YES, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.hand_out import MOST_PIECES, for_the_bench
from cribdesk.desk.operation import Operation
from cribdesk.desk.parts_sets import AddPartsSet, ChangePartsSet, SetHandOutLimit

LINES = 8
"""Items in a set, at most."""

Choices = tuple[tuple[str, str], ...]


def _items(asked: Asked) -> list[StockItem]:
    found = [one for one in asked.reader.find(StockItem, active=True) if not for_the_bench(asked.house, one.code)]
    return sorted(found, key=lambda one: (one.name, one.label))


def _no_items(asked: Asked) -> str:
    return "" if _items(asked) else "There is no stock item yet that may be handed out. Enter one first."


def _no_sets(asked: Asked) -> str:
    return "" if asked.reader.first(PartsSet) else "There is no set yet. Enter one first."


def _line_fields(asked: Asked, known: tuple[tuple[str, int], ...] = ()) -> Fields:
    """Item and pieces, line after line; the next line comes up once the one before has its item."""
    choices = (("", "nothing"), *((one.label, f"{one.name}, {one.code}") for one in _items(asked)))
    labels = tuple(label for label, _ in choices if label)
    found: list[EntryField] = []
    for number in range(1, LINES + 1):
        item, pieces = known[number - 1] if number <= len(known) else ("", 1)
        only = (f"item_{number - 1}", *labels) if number > 1 else None
        help_words = "Choose it, or scan its label." if number == 1 else ""
        found.append(
            EntryField(
                f"item_{number}", f"Item {number}", "choice", number == 1, help_words, choices, item, only, begins=True
            )
        )
        found.append(
            EntryField(
                f"pieces_{number}", "Pieces of it", "number", True, value=str(pieces), only=(f"item_{number}", *labels)
            )
        )
    return tuple(found)


def _lines(filled: Filled, asked: Asked) -> tuple[tuple[int, int], ...]:
    found: dict[int, int] = {}
    for number in range(1, LINES + 1):
        label = filled.pick(f"item_{number}")
        pieces = filled.whole(f"pieces_{number}", 1, MOST_PIECES)
        item = asked.reader.first(StockItem, label=label) if label else None
        if item is None:
            continue
        if item.id in found:
            filled.troubles[f"item_{number}"] = "It stands in the set already: say how many there."
        found[item.id] = pieces or 0
    return tuple(found.items())


def _set_fields(asked: Asked) -> Fields:
    return (EntryField("set_name", "Set", needed=True, help="As it is called: Lens kit."), *_line_fields(asked))


def _set(filled: Filled, asked: Asked, token: str) -> Operation:
    return AddPartsSet(operation_id=token, set_name=filled.text("set_name"), lines=_lines(filled, asked))


def _sets(asked: Asked) -> Choices:
    known = sorted(asked.reader.find(PartsSet), key=lambda one: (not one.active, one.name))
    return tuple((one.label, f"{one.name}, {one.label}{'' if one.active else ', out of use'}") for one in known)


def _change_fields(asked: Asked) -> Fields:
    known = asked.reader.first(PartsSet, label=asked.label) if asked.label else None
    value = known.label if known else ""
    about = EntryField(ABOUT, "Set", "choice", True, "Choose it, or scan its label.", _sets(asked), value)
    if known is None:
        return (about,)
    lines = [one for one in asked.reader.find(PartsSetLine, parts_set_id=known.id) if one.quantity]
    labels = {one.id: one.label for one in asked.reader.find(StockItem, id=sorted({one.item_id for one in lines}))}
    held = tuple((labels[one.item_id], one.quantity) for one in lines)
    return (
        about,
        EntryField("set_name", "Name", needed=True, value=known.name),
        EntryField("active", "It is used", "yes-no", value=YES if known.active else NO),
        *_line_fields(asked, held),
    )


def _change(filled: Filled, asked: Asked, token: str) -> Operation:
    known = asked.reader.first(PartsSet, label=filled.pick(ABOUT))
    return ChangePartsSet(
        operation_id=token,
        set_id=known.id if known else 0,
        set_name=filled.text("set_name"),
        lines=_lines(filled, asked),
        active=filled.yes("active"),
    )


def _limit_fields(asked: Asked) -> Fields:
    limits = {one.item_id: one.per_week for one in asked.reader.find(HandOutLimit) if one.per_week}
    items = _items(asked)
    choices = tuple(
        (one.label, f"{one.name}, {f'{limits[one.id]} a week' if one.id in limits else 'no limit'}") for one in items
    )
    item = next((one for one in items if one.label == asked.label), None)
    about = EntryField(
        ABOUT, "Item", "choice", True, "Choose it, or scan its label.", choices, item.label if item else ""
    )
    if item is None:
        return (about,)
    now = str(limits.get(item.id, ""))
    words = "A caution at the counter, never a stop. Empty: no limit."
    return (about, EntryField("per_week", "Pieces a person and week", "number", help=words, value=now))


def _limit(filled: Filled, asked: Asked, token: str) -> Operation:
    item = asked.reader.first(StockItem, label=filled.pick(ABOUT))
    per_week = filled.whole("per_week", 0, MOST_PIECES)
    return SetHandOutLimit(operation_id=token, item_id=item.id if item else 0, per_week=per_week or 0)


SET_FORMS = (
    EntryKind(
        "parts-set", "stock", "Set of parts", "Enter a set of parts", AddPartsSet, _set_fields, _set,
        "One scan of its label hands out all of it.", _no_items,
    ),
    EntryKind(
        "change-parts-set", "stock", "Change a set", "Change a set of parts", ChangePartsSet, _change_fields, _change,
        "", _no_sets,
    ),
    EntryKind(
        "limit", "stock", "Limit a week", "Limit what one person gets a week", SetHandOutLimit, _limit_fields, _limit,
        "Over it the counter asks; it never refuses (a house rule).", _no_items,
    ),
)  # fmt: skip
