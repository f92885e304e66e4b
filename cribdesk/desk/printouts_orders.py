"""What a requisition's paper carries, and the same as a table; see printouts.py for what every such record is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

NOT_SENT = "The program sends nothing: this paper is handed over, signed."
COLUMNS = (
    "requisition", "state", "made_on", "supplier", "line", "code", "item", "maker", "maker_number", "pack_size",
    "packs", "pieces", "price", "sum", "promised_on", "arrived",
)  # fmt: skip
"""The columns of the table: days as 2027-05-31, prices with a point and two places, of one piece and of the line."""


@dataclass(frozen=True)
class RequisitionRow:
    """One line: what, in how many packs of how many pieces, at what price of a piece in cents, promised for when."""

    code: str
    item: str
    maker: str
    maker_number: str
    pack_size: int
    pieces: int
    price_cents: int
    promised_on: date | None = None
    arrived: int = 0

    @property
    def packs(self) -> str:
        """How many packs: a whole number, but where the pack of the item changed since."""
        whole, rest = divmod(self.pieces, self.pack_size)
        return str(whole) if not rest else f"{self.pieces / self.pack_size:.2f}"

    @property
    def sum_cents(self) -> int:
        """What the line costs."""
        return self.pieces * self.price_cents


@dataclass(frozen=True)
class SentBackRow:
    """Goods of this requisition that went back: when, what, of which lot, how many, why."""

    on: date
    item: str
    lot: str
    pieces: int
    why: str


@dataclass(frozen=True)
class RequisitionSheet:
    """A requisition as it is now. `since` is the day it came into its state; `by` who wrote it, `step_note` what was
    said at the last step.
    """

    number: int
    supplier: str
    state: str
    since: date
    made_on: date
    by: str
    rows: tuple[RequisitionRow, ...]
    note: str = ""
    step_note: str = ""
    sent_back: tuple[SentBackRow, ...] = ()
    decides: str = NOT_SENT

    @property
    def total_cents(self) -> int:
        """What all of it costs."""
        return sum(one.sum_cents for one in self.rows)

    def table(self) -> tuple[tuple[object, ...], ...]:
        """The head and a row for each line, for other programs."""
        head = (self.number, self.state, self.made_on.isoformat(), self.supplier)
        rows = (
            (
                *head, place, one.code, one.item, one.maker, one.maker_number, one.pack_size, one.packs, one.pieces,
                _plain(one.price_cents), _plain(one.sum_cents),
                one.promised_on.isoformat() if one.promised_on else "", one.arrived,
            )
            for place, one in enumerate(self.rows, 1)
        )  # fmt: skip
        return (COLUMNS, *rows)


def _plain(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"
