"""Used filters: the first step for a unit by its last area, and the bags and drums they go into.

The program suggests words for the stream and keeps the log; the generator of the waste decides (40 CFR 262.11).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.label import Kind
from cribdesk.crib.records import Area, Unit, Waste, WasteBag
from cribdesk.crib.refusal import BagClosed, WrongFigure
from cribdesk.crib.serviceable import Standing
from cribdesk.crib.used import caution_words, first_step
from cribdesk.crib.words import count
from cribdesk.desk.cards import UsedCard
from cribdesk.desk.house import House
from cribdesk.desk.numbering import fresh_label
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work

MOST_PIECES = 1000
LONGEST = 80


def used_card(records: Records, house: House, standing: Standing) -> UsedCard | None:
    """The first step by the area it was worn in last; two queries. None where it was worn nowhere.

    An area that needs no respirator and has nothing entered says nothing.
    """
    last = standing.last_custody
    area = records.first(Area, id=last.area_id) if last and last.area_id and house.handling else None
    if area is None or not (area.agents.strip() or area.required):
        return None
    found = first_step(area.agents, house.handling)
    bags = records.find(WasteBag, stream=found.stream, closed_at=None)
    return UsedCard(
        area=area.name,
        area_label=area.label,
        words=caution_words(found),
        stream=found.stream,
        basis=found.basis,
        bag=bags[-1].label if bags else "",
        said=found.said,
    )


@dataclass(frozen=True, kw_only=True)
class OpenBag(Operation):
    """A bag or drum for one stream is opened; its label prints."""

    stream: str
    area_id: int | None = None

    code: ClassVar[str] = "open-bag"
    words: ClassVar[str] = "Opening a waste bag"

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it under a fresh label."""
        stream = " ".join(self.stream.split())
        if not 0 < len(stream) <= LONGEST:
            raise WrongFigure("Waste stream", f"it has words, {LONGEST} characters at most")
        if self.area_id is not None:
            fetch(work, Area, self.area_id, "This area")
        bag = work.save(
            WasteBag(
                label=fresh_label(work, Kind.BAG),
                stream=stream,
                area_id=self.area_id,
                opened_at=context.moment,
                by_id=context.clerk.id,
            )
        )
        return Outcome(f"Waste bag {bag.label} opened: {stream}.", (bag.label,), (("bag_label", bag.label),))


@dataclass(frozen=True, kw_only=True)
class BagWaste(Operation):
    """Something goes into an open bag: what, how many, out of which unit."""

    bag_id: int
    what: str
    quantity: int = 1
    unit_id: int | None = None

    code: ClassVar[str] = "bag-waste"
    words: ClassVar[str] = "Putting into a waste bag"

    def run(self, work: Work, context: Context) -> Outcome:
        """One more line of the bag's log."""
        bag = open_bag(work, self.bag_id)
        what = " ".join(self.what.split())
        if not 0 < len(what) <= LONGEST:
            raise WrongFigure("What goes in", f"say it, in {LONGEST} characters at most")
        if not 1 <= self.quantity <= MOST_PIECES:
            raise WrongFigure("How many", f"between 1 and {MOST_PIECES}")
        unit = fetch(work, Unit, self.unit_id, "This unit") if self.unit_id is not None else None
        work.save(
            Waste(
                waste_bag_id=bag.id,
                what=what,
                quantity=self.quantity,
                unit_id=unit.id if unit else None,
                at=context.moment,
                by_id=context.clerk.id,
            )
        )
        pieces = sum(one.quantity for one in work.find(Waste, waste_bag_id=bag.id))
        of = f" of {unit.label}" if unit else ""
        words = f"{self.quantity} x {what}{of} into bag {bag.label}, {count(pieces, 'piece')} in it."
        return Outcome(words, (bag.label, *((unit.label,) if unit else ())))


@dataclass(frozen=True, kw_only=True)
class CloseBag(Operation):
    """A bag is closed and goes into its drum."""

    bag_id: int
    drum: str

    code: ClassVar[str] = "close-bag"
    words: ClassVar[str] = "Closing a waste bag"

    def run(self, work: Work, context: Context) -> Outcome:
        """From then on it takes nothing more."""
        bag = open_bag(work, self.bag_id)
        drum = " ".join(self.drum.split())
        if not 0 < len(drum) <= LONGEST:
            raise WrongFigure("Drum", "its number is needed")
        work.save(replace(bag, closed_at=context.moment, drum=drum))
        pieces = sum(one.quantity for one in work.find(Waste, waste_bag_id=bag.id))
        return Outcome(f"Waste bag {bag.label} closed with {count(pieces, 'piece')}, in drum {drum}.", (bag.label,))


def open_bag(work: Work, bag_id: int) -> WasteBag:
    """The bag, taken for change. Raises BagClosed for one that takes nothing more."""
    bag = fetch(work, WasteBag, bag_id, "This waste bag")
    work.take(bag)
    if bag.closed_at is not None:
        raise BagClosed(bag.label, bag.drum)
    return bag
