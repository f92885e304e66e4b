"""What a column, a row and a fault of a site's spreadsheets are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from cribdesk.crib.records import Role
from cribdesk.crib.words import count


@dataclass(frozen=True)
class Column:
    """One column. Kinds: text, whole, figure, price, date, yes-no, roles, or one of `choices`."""

    name: str
    words: str
    kind: str = "text"
    needed: bool = False
    default: str = ""
    choices: tuple[str, ...] = ()
    low: float = 0
    high: float = 1_000_000


def column(
    name: str, words: str, kind: str = "text", *, default: str = "", low: float = 0, high: float = 1_000_000
) -> Column:
    """A column; a name that ends in * may not be empty."""
    return Column(name.rstrip("*"), words, kind, name.endswith("*"), default, (), low, high)


def one_of(name: str, choices: tuple[str, ...], words: str, default: str = "") -> Column:
    """A column that takes one of a few words."""
    return Column(name.rstrip("*"), words, "choice", name.endswith("*"), default, choices)


Files = dict[str, tuple[str, tuple[Column, ...]]]
"""Every file with what it holds and its columns."""


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong, by file, row as the spreadsheet counts (the header is row 1) and field."""

    file: str
    row: int
    field: str
    words: str

    def __str__(self) -> str:
        place = [self.file, f"row {self.row}" if self.row else "", self.field]
        return f"{', '.join(part for part in place if part)}: {self.words}."


class IntakeFaults(Exception):
    """The spreadsheets cannot be loaded; `faults` lists everything that is wrong in them."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        head = f"{count(len(faults), 'fault')} in the spreadsheets. Nothing is loaded."
        super().__init__("\n".join((head, *map(str, faults))))
        self.faults = faults


@dataclass(frozen=True)
class Row:
    """One row, its fields read; an empty field that is not needed has its default, or None."""

    file: str
    number: int
    values: Mapping[str, object] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """Words, or ''."""
        value = self.values.get(name)
        return value if isinstance(value, str) else ""

    def day(self, name: str) -> date | None:
        """A date, or None."""
        value = self.values.get(name)
        return value if isinstance(value, date) else None

    def whole(self, name: str) -> int | None:
        """A whole number, or None."""
        value = self.values.get(name)
        return value if isinstance(value, int) else None

    def figure(self, name: str) -> float:
        """A number; 0 where there is none."""
        value = self.values.get(name)
        return float(value) if isinstance(value, (int, float)) else 0.0

    def yes(self, name: str) -> bool:
        """Yes or no."""
        return self.values.get(name) is True

    def roles(self) -> tuple[Role, ...]:
        """The roles, in their order."""
        value = self.values.get("roles")
        return tuple(role for role in Role if isinstance(value, tuple) and role.value in value)

    def has(self, name: str) -> bool:
        """Whether the field could be read and is not empty."""
        return self.values.get(name) not in (None, "", ())

    def fault(self, name: str, words: str) -> Fault:
        """A fault in one of its fields."""
        return Fault(self.file, self.number, name, words)


Sheets = Mapping[str, tuple[Row, ...]]
"""The rows of each file; a file that is not there has none."""
