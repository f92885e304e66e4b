"""Forms for a maker's notice: what it means and where that is, then everything blocked and held; and its end."""

from __future__ import annotations

from collections.abc import Mapping

from cribdesk.crib.records import Lot, Recall, StockItem
from cribdesk.crib.words import day
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation
from cribdesk.desk.recall import CloseRecall, HoldRecalled, OpenRecall, pack_models
from cribdesk.desk.recall_reach import Meant, holders_of, meant_by, meant_words, reach, reach_words

MODEL_ABOUT = "model"
NEW = "new"
"""Of an item: a lot that never came in by the book."""
SAFETY = (
    "Follow the maker's notice itself; this form only finds, blocks and holds. "
    "What the book does not know, such as parts in a drawer, has to be looked for."
)


def _choices(asked: Asked) -> tuple[tuple[str, str], ...]:
    """Lots by item, those of a scanned item first, then models of units and packs, then each item to be scanned.

    A lot's value is its item's label and the lot's id, or NEW for one that is not here.
    """
    items = {one.id: one for one in asked.reader.find(StockItem)}
    lots = asked.reader.find(Lot)
    lots.sort(key=lambda one: (items[one.item_id].label != asked.label, items[one.item_id].name, one.code))
    models = sorted(asked.house.models.values(), key=lambda one: one.code)
    there = {one.item_id for one in lots}
    scanned = sorted((one.name, one.label) for one in items.values() if one.id in there)
    return (
        *((f"{items[one.item_id].label} {one.id}", f"{items[one.item_id].name}: lot {one.code}") for one in lots),
        *((f"{MODEL_ABOUT} {one.code}", f"Unit model {one.code}: {one.name}") for one in models),
        *((f"{MODEL_ABOUT} {code}", f"Battery pack {code}") for code in pack_models(asked.house)),
        *((f"{one.label} {NEW}", f"{one.name}: a lot that never came in") for one in _by_name(items, asked)),
        *((label, f"{name}: choose its lot") for name, label in scanned),
    )


def _by_name(items: Mapping[int, StockItem], asked: Asked) -> list[StockItem]:
    return sorted(items.values(), key=lambda one: (one.label != asked.label, one.name, one.label))


def _chosen(asked: Asked, choices: tuple[tuple[str, str], ...]) -> str:
    """What is recalled: as it was chosen; of a scanned item its lot, where it has one only."""
    if asked.part and asked.about in dict(choices):
        return asked.about
    of_it = [value for value, _ in choices if value.startswith(f"{asked.label} ")] if asked.label else []
    own = [value for value in of_it if not value.endswith(f" {NEW}")]
    return own[0] if len(own) == 1 else ""


def _meant(about: str) -> Meant:
    """What was chosen: '' where nothing is."""
    label, _, rest = about.partition(" ")
    if label == MODEL_ABOUT:
        return Meant(model=rest)
    return Meant(lot_id=int(rest)) if rest.isdigit() else Meant()


def _recall_fields(asked: Asked) -> Fields:
    choices = _choices(asked)
    value = _chosen(asked, choices)
    help_words = "A lot; or a model of units or of packs."
    about = EntryField(ABOUT, "What is recalled", "choice", True, help_words, choices, value)
    if not value:
        return (about,)
    more: Fields = ()
    if _meant(value).model:
        more = (
            EntryField("serial_from", "First serial", help="Both empty: every one of the model."),
            EntryField("serial_to", "Last serial"),
        )
    elif value.endswith(f" {NEW}"):
        more = (EntryField("lot_code", "Lot", needed=True, help="As the notice writes it. It is blocked on arrival."),)
    return (
        about,
        *more,
        EntryField("notice", "Notice", needed=True, help="Its number, or its date where it has none."),
        EntryField("maker", "From"),
        EntryField("why", "What the maker found", needed=True),
    )


def _recall_lead(asked: Asked) -> str:
    """Where it all is, before anything is done."""
    choices = _choices(asked)
    value = _chosen(asked, choices)
    if not value:
        return SAFETY
    if value.endswith(f" {NEW}"):
        return f"Nothing of it came in by the book. It is noted, and blocked when it comes. {SAFETY}"
    meant = _meant(value)
    found = reach(asked.reader, meant)
    where = reach_words(found, holders_of(asked.reader, [one.unit.id for one in found.hits]))
    return f"{where} {SAFETY}"


def _recall(filled: Filled, asked: Asked, token: str) -> Operation:
    meant = _meant(filled.pick(ABOUT))
    label, _, new = filled.pick(ABOUT).partition(" ")
    item = asked.reader.first(StockItem, label=label) if new == NEW else None
    first, last = (filled.text("serial_from"), filled.text("serial_to")) if meant.model else ("", "")
    if bool(first) != bool(last):
        filled.troubles["serial_to" if first else "serial_from"] = "Say the first and the last, or neither."
    elif first:
        try:
            reach(asked.reader, Meant(None, meant.model, first, last))
        except ValueError as failure:
            words = str(failure)
            filled.troubles["serial_to"] = f"{words[:1].upper()}{words[1:]}."
    return OpenRecall(
        operation_id=token,
        notice=filled.text("notice"),
        why=filled.text("why"),
        maker=filled.text("maker"),
        lot_id=meant.lot_id,
        item_id=item.id if item else None,
        lot_code=filled.text("lot_code") if item else "",
        model=meant.model,
        serial_from=first,
        serial_to=last,
    )


def _close_fields(asked: Asked) -> Fields:
    found = asked.reader.find(Recall, closed_at=None)
    today = asked.house.today(asked.moment)
    choices = tuple(
        (str(one.id), f"{one.notice}, {meant_words(reach(asked.reader, meant_by(one)), meant_by(one))}, "
         f"{day(asked.house.today(one.at), today)}") for one in found
    )  # fmt: skip
    value = asked.about if asked.about in dict(choices) else choices[0][0] if len(choices) == 1 else ""
    return (
        EntryField(ABOUT, "Recall", "choice", True, choices=choices, value=value),
        EntryField("word", "What became of it", needed=True, help="Sent back, scrapped, set right as the notice says."),
    )


def _close(filled: Filled, asked: Asked, token: str) -> Operation:
    chosen = filled.pick(ABOUT)
    return CloseRecall(operation_id=token, recall_id=int(chosen) if chosen else 0, word=filled.text("word"))


def _hold_fields(asked: Asked) -> Fields:
    found = asked.reader.find(Recall, closed_at=None)
    choices = tuple((str(one.id), one.notice) for one in found)
    value = asked.about if asked.about in dict(choices) else choices[0][0] if len(choices) == 1 else ""
    return (EntryField(ABOUT, "Recall", "choice", True, choices=choices, value=value),)


def _hold(filled: Filled, asked: Asked, token: str) -> Operation:
    chosen = filled.pick(ABOUT)
    return HoldRecalled(operation_id=token, recall_id=int(chosen) if chosen else 0)


def _none_open(asked: Asked) -> str:
    return "" if asked.reader.first(Recall, closed_at=None) else "No recall is open."


RECALL_FORMS = (
    EntryKind(
        "recall", "recall", "Recall", "A maker recalls a lot, units or packs", OpenRecall, _recall_fields, _recall,
        _recall_lead, again=False,
    ),
    EntryKind(
        "hold-recalled", "hold-recalled", "Hold", "Hold what a recall means", HoldRecalled, _hold_fields, _hold,
        "Units that were entered, or fitted with the lot, since the recall; packs that were entered since.", _none_open,
        again=False,
    ),
    EntryKind(
        "close-recall", "close-recall", "Close a recall", "Close a recall", CloseRecall, _close_fields, _close,
        "It closes once every unit is cleared and every pack is gone. A recalled lot stays blocked.", _none_open,
        again=False,
    ),
)  # fmt: skip
