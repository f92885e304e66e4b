"""Pieces set aside: they lie in the bench's tray, or are kept for a named purpose, and are still on the book."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import Lot, Role, SetAside, StockItem
from cribdesk.crib.refusal import WrongFigure
from cribdesk.crib.words import number
from cribdesk.desk.house import House
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work

BENCH = ""
"""The purpose of what lies in the bench's tray: parts that fall due, which expected use counts already."""

WHO = (Role.STOREKEEPER, Role.TECHNICIAN, Role.PROGRAM, Role.SYSTEM)
TRAY_WORDS = "the bench's tray"


def purpose_words(purpose: str) -> str:
    """'the bench's tray', or what they are kept for."""
    return purpose or TRAY_WORDS


def set_asides(records: Records, ids: Collection[int] | None = None) -> dict[int, tuple[SetAside, ...]]:
    """What is set aside of these items, or of all, by item; one query."""
    only: dict[str, object] = {} if ids is None else {"item_id": sorted(ids)}
    found: defaultdict[int, list[SetAside]] = defaultdict(list)
    for one in records.find(SetAside, **only):
        if one.quantity:
            found[one.item_id].append(one)
    return {item: tuple(some) for item, some in found.items()}


@dataclass(frozen=True, kw_only=True)
class SetPiecesAside(Operation):
    """So many pieces of each item are set aside now: (item id, pieces); 0 puts back what was. Empty: for the bench."""

    lines: tuple[tuple[int, int], ...]
    purpose: str = BENCH

    code: ClassVar[str] = "set-aside"
    words: ClassVar[str] = "Setting pieces aside"
    may: ClassVar[tuple[Role, ...]] = WHO

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves how many; more than lie there usable, and free of another purpose, is not allowed."""
        if not self.lines:
            raise WrongFigure("Pieces", "nothing is named")
        if len({item_id for item_id, _ in self.lines}) < len(self.lines):
            raise WrongFigure("Item", "one stands there twice; say how many in one line")
        purpose = " ".join(self.purpose.split())
        told, labels = [], []
        for item_id, pieces in self.lines:
            item = fetch(work, StockItem, item_id, "This item")
            if self._one(work, context, item, pieces, purpose):
                told.append(f"{number(pieces)} {item.name}")
                labels.append(item.label)
        if not told:
            raise WrongFigure("Pieces", f"so many are set aside for {purpose_words(purpose)} already")
        return Outcome(f"Set aside for {purpose_words(purpose)}: {', '.join(told)}.", tuple(labels))

    def _one(self, work: Work, context: Context, item: StockItem, pieces: int, purpose: str) -> bool:
        """Whether anything changed."""
        if pieces < 0:
            raise WrongFigure(item.name, "pieces are not below zero")
        there = set_asides(work, [item.id]).get(item.id, ())
        elsewhere = sum(one.quantity for one in there if one.purpose != purpose)
        free = usable_of(work, context, item) - elsewhere
        if pieces > max(0, free):
            kept = f", {number(elsewhere)} of them are set aside already" if elsewhere else ""
            raise WrongFigure(item.name, f"{number(free + elsewhere)} usable are there{kept}")
        known = work.first(SetAside, item_id=item.id, purpose=purpose)
        if (known.quantity if known else 0) == pieces:
            return False
        if known is None:
            known = SetAside(item_id=item.id, purpose=purpose, at=context.moment, by_id=context.clerk.id)
        else:
            work.take(known)
        work.save(replace(known, quantity=pieces, at=context.moment, by_id=context.clerk.id))
        return True


def usable_of(records: Records, context: Context, item: StockItem) -> int:
    """Pieces of it in lots that may be used today."""
    return _usable(records.find(Lot, item_id=item.id), context.house, context)


def _usable(lots: Collection[Lot], house: House, context: Context) -> int:
    today = house.today(context.moment)
    return sum(one.on_hand for one in lots
               if not one.blocked and (one.expires_on is None or one.expires_on >= today))  # fmt: skip


def take_from_tray(work: Work, item_id: int, pieces: int) -> None:
    """A part that is fitted came out of the bench's tray, where some of the item lies in it."""
    known = work.first(SetAside, item_id=item_id, purpose=BENCH)
    if known is not None and known.quantity:
        work.take(known)
        work.save(replace(known, quantity=max(0, known.quantity - pieces)))


def kept_words(some: Collection[SetAside]) -> str:
    """'4 in the bench's tray and 6 for the dock job'."""
    told = [f"{number(one.quantity)} in {TRAY_WORDS}" if one.purpose == BENCH else
            f"{number(one.quantity)} for {one.purpose}" for one in some]  # fmt: skip
    return " and ".join(told)


def reserved_of(some: Mapping[int, Collection[SetAside]], item_id: int) -> tuple[int, int]:
    """(all pieces set aside of an item, those of them that expected use does not count)."""
    rows = some.get(item_id, ())
    return sum(one.quantity for one in rows), sum(one.quantity for one in rows if one.purpose != BENCH)
