"""When a shelf is to be counted again, by how badly an item is missed, and what a difference is put down to."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from cribdesk.crib.records import Lot

CLASSES = ("A", "B", "C")
DAYS = {"A": 30, "B": 91, "C": 365}
"""Monthly, quarterly, yearly (a house rule; the settings say otherwise)."""

WHYS = (
    ("fitted or handed out and not booked", "Fitted or handed out, not booked"),
    ("counted wrong before", "Counted wrong before"),
    ("broken or thrown away", "Broken or thrown away"),
    ("lay in another bin", "Lay in another bin"),
    ("not explained", "Cannot be explained"),
)
"""What a difference is put down to: as the journal keeps it, and as it is asked."""


def counted_on(lots: Iterable[Lot], counts: dict[int, date]) -> date | None:
    """The day from which on all that lies there is known: the oldest among its lots' last counts.

    What was never counted since it came in was counted then. None where nothing lies there, or nothing tells.
    """
    days = [max(known) for lot in lots if lot.on_hand and (known := _known(lot, counts))]
    return min(days, default=None)


def _known(lot: Lot, counts: dict[int, date]) -> list[date]:
    return [one for one in (counts.get(lot.id), lot.received_on) if one is not None]


def due_on(last: date, days: int) -> date:
    """The day the next count is due."""
    return last + timedelta(days=days)
