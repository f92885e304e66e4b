"""How one item is ordered by its storekeeper's own word, which goes before every suggestion."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.counting import CLASSES
from cribdesk.crib.records import OrderRule, Role, StockItem
from cribdesk.crib.refusal import WrongFigure
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work
from cribdesk.desk.stock import SHELF

LOWEST_SERVICE, HIGHEST_SERVICE = 500, 999


@dataclass(frozen=True, kw_only=True)
class SetOrderRule(Operation):
    """An item's own minimum and maximum, its criticality, and where the house's rule does not do for it."""

    item_id: int
    minimum: int = 0
    maximum: int | None = None
    criticality: str = "B"
    service_permille: int | None = None
    review_days: int | None = None
    shelf_space: int | None = None

    code: ClassVar[str] = "order-rule"
    words: ClassVar[str] = "Setting how an item is ordered"
    may: ClassVar[tuple[Role, ...]] = SHELF

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves what differs. Figures that cannot be are not allowed."""
        item = fetch(work, StockItem, self.item_id, "This item")
        work.take(item)
        self._check(item)
        work.save(replace(item, minimum=self.minimum, maximum=self.maximum, criticality=self.criticality))
        there = work.first(OrderRule, item_id=item.id)
        wanted = (self.service_permille, self.review_days, self.shelf_space)
        if there is not None:
            work.take(there)
        if there is not None or any(one is not None for one in wanted):
            rule = there or OrderRule(item_id=item.id)
            work.save(
                replace(rule, service_permille=wanted[0], review_days=wanted[1], shelf_space=wanted[2])
            )
        top = f", maximum {self.maximum}" if self.maximum is not None else ", no maximum"
        return Outcome(f"{item.name}: minimum {self.minimum}{top}, criticality {self.criticality}.", (item.label,))

    def _check(self, item: StockItem) -> None:
        if self.minimum < 0:
            raise WrongFigure("Minimum", "it is not below zero")
        if self.maximum is not None and self.maximum < max(1, self.minimum):
            raise WrongFigure("Maximum", "it is at least 1, and not less than the minimum")
        if self.criticality not in CLASSES:
            raise WrongFigure("Criticality", "it is A, B or C")
        low, high = LOWEST_SERVICE, HIGHEST_SERVICE
        if self.service_permille is not None and not low <= self.service_permille <= high:
            raise WrongFigure("Service", f"it is between {low / 10:.0f} and {high / 10:.1f} percent")
        if self.review_days is not None and self.review_days < 1:
            raise WrongFigure("Review", "it is at least 1 day")
        if self.shelf_space is not None and self.shelf_space < 1:
            raise WrongFigure("Shelf space", f"{item.name} needs room for at least 1 piece")
