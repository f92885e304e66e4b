"""The form to scrap a unit: why, and for each labelled part in it whether it is kept."""

from __future__ import annotations

from cribdesk.crib.records import AWAY, Custody, Fitted, Part, StockItem, Unit, Where
from cribdesk.crib.words import hours
from cribdesk.desk.entry_form import ABOUT, Asked, EntryField, EntryKind, Fields, Filled
from cribdesk.desk.operation import Operation
from cribdesk.desk.saying import WHERE_WORDS
from cribdesk.desk.scrapping import KEEP, SCRAP, WASTE, ScrapUnit

FORM = "scrap"


def _fields(asked: Asked) -> Fields:
    out = {one.unit_id for one in asked.reader.find(Custody, returned_at=None)}
    units = [one for one in asked.reader.find(Unit) if one.where is not Where.SCRAPPED and one.id not in out]
    choices = tuple((one.label, f"{one.label}, {WHERE_WORDS.get(one.where, one.where.value)}") for one in units)
    unit = next((one for one in units if one.label == asked.label), None)
    known = unit.label if unit else ""
    help_words = "Choose it, or scan its label. One that somebody has is taken back first."
    about = EntryField(ABOUT, "Unit", "choice", True, help_words, choices, known)
    if unit is None:
        return (about,)
    why = EntryField("why", "Why it is scrapped", needed=True, help="What happened to it, as it was found.")
    return (about, why, *_parts(asked, unit))


def _parts(asked: Asked, unit: Unit) -> Fields:
    """Two fields for each labelled part: what becomes of it, and its fault where it is kept."""
    fitted = [one for one in asked.reader.find(Fitted, unit_id=unit.id, removed_at=None) if one.part_id]
    parts = {one.id: one for one in asked.reader.find(Part, id=sorted(one.part_id or 0 for one in fitted))}
    items = {one.id: one for one in asked.reader.find(StockItem, id=sorted({one.item_id for one in fitted}))}
    here = unit.where not in AWAY
    fields: list[EntryField] = []
    for one in fitted:
        part = parts[one.part_id or 0]
        choices = ((KEEP, "Keep it for reuse"), (SCRAP, "Scrap it"))
        told = f"{hours(one.worn(unit.worn_hours))} worn" + (f"; fault: {part.fault}" if part.fault else "")
        told += "" if here else f". The unit is {unit.where.value}: nothing of it is here to be kept"
        name = f"{items[one.item_id].name}, {part.label}"
        fate = f"part {part.id}"
        fields.append(EntryField(fate, name, "choice", True, f"{told}.", choices if here else choices[1:],
                                 "" if here else SCRAP))  # fmt: skip
        fields.append(EntryField(f"fault {part.id}", f"Fault of {part.label}", value=part.fault, only=(fate, KEEP),
                                 help="A part with a fault is fitted nowhere. Empty for none."))  # fmt: skip
    return tuple(fields)


def _build(filled: Filled, asked: Asked, token: str) -> Operation:
    unit = asked.reader.first(Unit, label=filled.pick(ABOUT))
    fitted = asked.reader.find(Fitted, unit_id=unit.id, removed_at=None) if unit else []
    ids = [one.part_id for one in fitted if one.part_id]
    parts = tuple(
        (id_, filled.pick(f"part {id_}"), filled.text(f"fault {id_}") if filled.pick(f"part {id_}") == KEEP else "")
        for id_ in ids
    )
    return ScrapUnit(operation_id=token, unit_id=unit.id if unit else 0, why=filled.text("why"), parts=parts)


SCRAP_FORMS = (
    EntryKind(
        FORM, FORM, "Scrap", "Scrap a unit", ScrapUnit, _fields, _build,
        f"It is never issued again. Parts without a label are scrapped with it. {WASTE}",
        lambda asked: "" if asked.reader.first(Unit) else "There is no unit yet.", again=False,
    ),
)  # fmt: skip
