"""The card of a carton: what its code says, and the item that its number stands for here."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.records import StockItem
from cribdesk.desk.gs1 import Carton


@dataclass(frozen=True)
class CartonCard:
    """A carton. `item` is None where its number is unknown here; `holds` are the pieces in one, 0 where not known."""

    carton: Carton
    item: StockItem | None
    holds: int = 0

    @property
    def label(self) -> str:
        """The number it carries."""
        return self.carton.gtin
