"""Labels that were there before are bound; a label that melted is replaced and the old one dies."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.label import KIND_WORDS, Kind
from cribdesk.crib.records import BoundLabel, DeadLabel
from cribdesk.crib.refusal import LabelTaken, Unknown, WrongFigure, WrongKind
from cribdesk.desk.numbering import HOME, fresh_label, owner_of
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work

BINDABLE = (
    Kind.UNIT, Kind.PART, Kind.PERSON, Kind.BATTERY, Kind.ITEM, Kind.BIN, Kind.INSTRUMENT, Kind.AREA, Kind.SET,
    Kind.CABINET,
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class BindLabel(Operation):
    """A foreign text (an employee badge, a maker's barcode, an etched number) will scan as this record."""

    text: str
    label: str

    code: ClassVar[str] = "bind-label"
    words: ClassVar[str] = "Binding a label"

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the binding; a text belongs to one record only."""
        text = self.text.strip()
        kind = kind_of(self.label)
        record = owner_of(work, self.label) if kind in BINDABLE else None
        if kind not in BINDABLE:
            raise WrongKind(self.label, f"A label cannot be bound to {KIND_WORDS[kind]}")
        if record is None:
            raise Unknown(self.label)
        if not text:
            raise WrongFigure("Label", "there is nothing to bind")
        there = work.first(BoundLabel, text=text)
        if there is not None:
            raise LabelTaken("This text", "another record" if there.record_id != record.id else self.label)
        work.save(BoundLabel(text=text, kind=kind.value, record_id=record.id))
        return Outcome(f"A label that was there before now scans as {self.label}.", (self.label,))


@dataclass(frozen=True, kw_only=True)
class ReplaceLabel(Operation):
    """A melted or lost label: the record gets a fresh one, the old one scans no more."""

    label: str

    code: ClassVar[str] = "replace-label"
    words: ClassVar[str] = "Replacing a label"

    def run(self, work: Work, context: Context) -> Outcome:
        """Gives the fresh label and prints it."""
        kind = kind_of(self.label)
        if kind not in BINDABLE:
            raise WrongKind(self.label, "Tags and slips are printed again, not replaced")
        found = owner_of(work, self.label)
        if found is None:
            raise Unknown(self.label)
        home, field = HOME[kind]
        record = fetch(work, home, found.id, self.label)
        work.take(record)
        fresh = fresh_label(work, kind)
        work.save(
            DeadLabel(label=self.label, kind=kind.value, record_id=record.id, died_at=context.moment)
        )
        work.save(replace(record, **{field: fresh}))  # type: ignore[arg-type]
        sentence = f"{self.label} is replaced by {fresh}; the old label scans no more."
        return Outcome(sentence, (fresh, self.label), (("label_sheet", fresh),))


def kind_of(label: str) -> Kind:
    """What a label of ours is on. Raises Unknown for what is none."""
    try:
        return Kind(label[:1])
    except ValueError:
        raise Unknown(label or "A label without characters") from None
