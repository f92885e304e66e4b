"""Sets of parts that are handed out by one scan, and the house limits a person and week."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.label import Kind
from cribdesk.crib.records import HandOutLimit, PartsSet, PartsSetLine, Role, StockItem
from cribdesk.crib.refusal import ForTheBench, LabelTaken, WrongFigure
from cribdesk.crib.words import count, number
from cribdesk.desk.hand_out import MOST_PIECES, for_the_bench
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.stock import SHELF

Lines = tuple[tuple[int, int], ...]
"""(item, pieces) of a set."""


@dataclass(frozen=True, kw_only=True)
class AddPartsSet(Operation):
    """A set of parts is entered: (item, pieces) a line; its label prints."""

    set_name: str
    lines: Lines

    code: ClassVar[str] = "add-parts-set"
    words: ClassVar[str] = "Entering a set of parts"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label; a second one of that name is not allowed."""
        name = _name(work, self.set_name, 0)
        items = _items(work, context, self.lines)
        made = work.save(PartsSet(label=fresh_label(work, Kind.SET), name=name))
        for item, pieces in items:
            work.save(PartsSetLine(parts_set_id=made.id, item_id=item.id, quantity=pieces))
        sentence = f"Set {name} entered as {made.label}: {_told(items)}."
        return Outcome(sentence, (made.label,), (("label_sheet", made.label),))


@dataclass(frozen=True, kw_only=True)
class ChangePartsSet(Operation):
    """A set holds something else from now on, is called otherwise, or is used no more."""

    set_id: int
    set_name: str
    lines: Lines
    active: bool = True

    code: ClassVar[str] = "change-parts-set"
    words: ClassVar[str] = "Changing a set of parts"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """What is in it no more stays as a line of none."""
        known = fetch(work, PartsSet, self.set_id, "This set")
        work.take(known)
        name = _name(work, self.set_name, known.id)
        items = _items(work, context, self.lines)
        work.save(replace(known, name=name, active=self.active))
        wanted = {item.id: pieces for item, pieces in items}
        for line in work.find(PartsSetLine, parts_set_id=known.id):
            pieces = wanted.pop(line.item_id, 0)
            if pieces != line.quantity:
                work.save(replace(line, quantity=pieces))
        for item_id, pieces in wanted.items():
            work.save(PartsSetLine(parts_set_id=known.id, item_id=item_id, quantity=pieces))
        words = _told(items) if self.active else "used no more"
        return Outcome(f"Set {name}, {known.label}: {words}.", (known.label,))


@dataclass(frozen=True, kw_only=True)
class SetHandOutLimit(Operation):
    """How many of an item a person gets a week before the counter asks; 0 takes the limit away (a house rule)."""

    item_id: int
    per_week: int

    code: ClassVar[str] = "set-hand-out-limit"
    words: ClassVar[str] = "Setting a limit a week"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it; it is a caution at the counter, never a stop."""
        item = fetch(work, StockItem, self.item_id, "This item")
        if not 0 <= self.per_week <= MOST_PIECES:
            raise WrongFigure("Limit", f"between 0 and {MOST_PIECES} pieces")
        known = work.first(HandOutLimit, item_id=item.id)
        if known is None:
            work.save(HandOutLimit(item_id=item.id, per_week=self.per_week))
        else:
            work.take(known)
            work.save(replace(known, per_week=self.per_week))
        if not self.per_week:
            return Outcome(f"{item.name}: no limit a week.", (item.label,))
        return Outcome(f"{item.name}: {count(self.per_week, 'piece')} a person and week.", (item.label,))


def _name(work: Work, wanted: str, of: int) -> str:
    name = wanted.strip()
    if not name:
        raise WrongFigure("Set", "the name is empty")
    if any(one.id != of and one.name.casefold() == name.casefold() for one in work.find(PartsSet)):
        raise LabelTaken(name, "a set in this store")
    return name


def _items(work: Work, context: Context, lines: Lines) -> tuple[tuple[StockItem, int], ...]:
    """The items with their pieces, each once. Raises NotAllowed for none, or for what is the bench's alone."""
    found: dict[int, tuple[StockItem, int]] = {}
    for item_id, pieces in lines:
        item = fetch(work, StockItem, item_id, "This item")
        if not 1 <= pieces <= MOST_PIECES:
            raise WrongFigure(item.name, f"between 1 and {MOST_PIECES} pieces")
        if item.id in found:
            raise WrongFigure(item.name, "it stands twice in the set")
        if for_the_bench(context.house, item.code):
            raise ForTheBench(item.name)
        found[item.id] = (item, pieces)
    if not found:
        raise WrongFigure("Set", "nothing is in it")
    return tuple(found.values())


def _told(items: tuple[tuple[StockItem, int], ...]) -> str:
    return ", ".join(f"{number(pieces)} {item.name}" for item, pieces in items)
