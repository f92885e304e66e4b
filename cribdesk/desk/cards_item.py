"""What an opened row of the stock list shows besides the row itself."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.desk.cards_stock import StockDetail


@dataclass(frozen=True)
class MovementLine:
    """One change of stock: when, how many with their sign, why, and of which unit."""

    when: str
    quantity: int
    lot: str
    why: str
    unit: str = ""


@dataclass(frozen=True)
class ItemPage:
    """An item opened: what will be used and why, its last movements, count and delivery. `movements_all` counts all.

    `prices` are told latest first; `instead` are the items a unit model allows in its place. `shelf` is what lay on the
    shelf by the book, (days before today, pieces) at each change, oldest first.
    """

    label: str
    detail: StockDetail | None
    movements: tuple[MovementLine, ...]
    movements_all: int
    last_count: str
    next_count: str
    last_delivery: str
    shelf: tuple[tuple[float, int], ...] = ()
    prices: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
