"""The least protective shade for an operation, by the rows of a table that is handed in as text."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

COLUMNS = (
    "row_id", "operation", "variant",
    "electrode_32nds_min", "electrode_32nds_max",
    "current_a_min", "current_a_max",
    "plate_in_min", "plate_in_max",
    "minimum_shade", "note", "source", "checked",
)  # fmt: skip
DARKEST = 15.0


@dataclass(frozen=True, slots=True)
class Span:
    """From `low` to `high`, both ends included; `high` None is open upwards."""

    low: float
    high: float | None

    def holds(self, value: float) -> bool:
        return self.low <= value and (self.high is None or value <= self.high)

    def __str__(self) -> str:
        return f"over {self.low:g}" if self.high is None else f"{self.low:g} to {self.high:g}"


@dataclass(frozen=True, slots=True)
class ShadeRow:
    """One row: an operation, the spans it holds for (None: the row does not ask), its shade and its source.

    `checked` is how the row was checked against its source, for example 'verified' or 'memory'.
    """

    row_id: str
    operation: str
    variant: str
    electrode_32nds: Span | None
    current_a: Span | None
    plate_in: Span | None
    minimum_shade: float
    note: str
    source: str
    checked: str


@dataclass(frozen=True, slots=True)
class ShadeTable:
    """All rows, in the order of the text."""

    rows: tuple[ShadeRow, ...]

    @property
    def operations(self) -> tuple[str, ...]:
        """Every operation once, in the order of the table."""
        return tuple(dict.fromkeys(row.operation for row in self.rows))

    def of(self, operation: str) -> tuple[ShadeRow, ...]:
        """The rows of one operation. Raises ValueError for an operation that the table does not have."""
        rows = tuple(row for row in self.rows if row.operation == operation)
        if not rows:
            raise ValueError(f"{operation!r} is not in the shade table; it has {', '.join(self.operations)}")
        return rows


@dataclass(frozen=True, slots=True)
class Quantity:
    """One of the three figures that a row may ask for, with its words and its column."""

    column: str
    words: str
    unit: str


ELECTRODE = Quantity("electrode_32nds", "electrode size", "32nds of an inch")
CURRENT = Quantity("current_a", "current", "A")
PLATE = Quantity("plate_in", "plate thickness", "in")
QUANTITIES = (ELECTRODE, CURRENT, PLATE)


def minimum_shade(
    operation: str,
    current_a: float | None = None,
    electrode_32nds: float | None = None,
    plate_in: float | None = None,
    *,
    table: ShadeTable,
) -> float:
    """The least shade number the table allows for this work.

    `current_a` in amperes, `electrode_32nds` in 32nds of an inch, `plate_in` in inches. Where size and
    current point to different rows, or a figure stands on an edge that two rows share, it is the darker (at
    an edge that the printed table gives to the lighter row alone, as 'over 1/2 inch' does, this is one row on
    the safe side). A figure the operation's rows do not ask for decides nothing. Raises ValueError for an
    operation or a figure outside the table, and where every figure that could decide is missing: the maker's
    instructions or a qualified person decide then. Source of the table: 29 CFR 1910.133(a)(5).
    """
    return deciding_row(operation, current_a, electrode_32nds, plate_in, table=table).minimum_shade


def deciding_row(
    operation: str,
    current_a: float | None = None,
    electrode_32nds: float | None = None,
    plate_in: float | None = None,
    *,
    table: ShadeTable,
) -> ShadeRow:
    """The row that `minimum_shade` goes by, for its source and note; same arguments, same ValueErrors."""
    rows = table.of(operation)
    figures = {
        ELECTRODE: _figure(ELECTRODE, electrode_32nds),
        CURRENT: _figure(CURRENT, current_a),
        PLATE: _figure(PLATE, plate_in),
    }
    asked = [quantity for quantity in QUANTITIES if any(_span(row, quantity) for row in rows)]
    if not asked:
        return max(rows, key=lambda row: row.minimum_shade)
    fitting: list[ShadeRow] = []
    for quantity in asked:
        value = figures[quantity]
        if value is not None:
            fitting += _rows_at(rows, quantity, value)
    if not fitting:
        needed = " or ".join(quantity.words for quantity in asked)
        raise ValueError(f"{operation}: the shade depends on the {needed}, which is not given")
    return max(fitting, key=lambda row: row.minimum_shade)


def read_table(csv_text: str) -> ShadeTable:
    """The table from its text, comma-separated with the columns of COLUMNS in any order; others are let be.

    Raises ValueError naming the line and the column where something is missing or does not fit.
    """
    reader = csv.DictReader(io.StringIO(csv_text.lstrip("\ufeff"), newline=""), strict=True)
    try:
        missing = [column for column in COLUMNS if column not in (reader.fieldnames or ())]
        if missing:
            raise ValueError(f"The shade table lacks the column {', '.join(missing)}")
        rows = tuple(_read_rows(reader))
    except csv.Error as fault:
        raise ValueError(f"The shade table, line {reader.line_num}: {fault}") from None
    if not rows:
        raise ValueError("The shade table has no rows")
    _refuse_doubles(rows)
    _refuse_mixed(rows)
    return ShadeTable(rows)


def _figure(quantity: Quantity, value: float | None) -> float | None:
    if value is None:
        return None
    try:
        figure = math.nan if isinstance(value, str | bytes) else float(value)
    except (TypeError, ValueError):
        figure = math.nan
    if not math.isfinite(figure) or figure <= 0:
        raise ValueError(f"The {quantity.words} must be a number above zero, not {value!r} {quantity.unit}")
    return figure


def _span(row: ShadeRow, quantity: Quantity) -> Span | None:
    span: Span | None = getattr(row, quantity.column)
    return span


def _rows_at(rows: tuple[ShadeRow, ...], quantity: Quantity, value: float) -> list[ShadeRow]:
    """The rows whose span holds the value: two on a shared edge. Raises ValueError where none does."""
    spans = [(row, span) for row in rows if (span := _span(row, quantity)) is not None]
    found = [row for row, span in spans if span.holds(value)]
    if not found:
        known = ", ".join(str(span) for _, span in spans)
        figure = f"{quantity.words} {value:g} {quantity.unit}"
        raise ValueError(f"{rows[0].operation}: {figure} is outside the shade table ({known})")
    return found


def _read_rows(reader: csv.DictReader[str]) -> Iterator[ShadeRow]:
    for cells in reader:
        where = f"The shade table, line {reader.line_num}"
        if None in cells or None in cells.values():
            raise ValueError(f"{where}: it has more or fewer cells than there are columns")
        yield _read_row(cells, where)


def _read_row(cells: Mapping[str, str], where: str) -> ShadeRow:
    text = {column: cells[column].strip() for column in COLUMNS}
    for column in ("row_id", "operation", "source", "checked"):
        if not text[column]:
            raise ValueError(f"{where}, {column}: it is empty")
    shade = _number(text["minimum_shade"], f"{where}, minimum_shade")
    if not 0 < shade <= DARKEST:
        raise ValueError(
            f"{where}, minimum_shade: {shade:g} is not a shade number from above 0 to {DARKEST:g}"
        )
    return ShadeRow(
        row_id=text["row_id"],
        operation=text["operation"],
        variant=text["variant"],
        electrode_32nds=_read_span(text, ELECTRODE, where),
        current_a=_read_span(text, CURRENT, where),
        plate_in=_read_span(text, PLATE, where),
        minimum_shade=shade,
        note=text["note"],
        source=text["source"],
        checked=text["checked"],
    )


def _read_span(text: Mapping[str, str], quantity: Quantity, where: str) -> Span | None:
    low, high = text[f"{quantity.column}_min"], text[f"{quantity.column}_max"]
    if not low and not high:
        return None
    if not low:
        raise ValueError(f"{where}, {quantity.column}_min: it is empty while {quantity.column}_max is not")
    begin = _number(low, f"{where}, {quantity.column}_min")
    if not high:
        return Span(begin, None)
    end = _number(high, f"{where}, {quantity.column}_max")
    if end <= begin:
        raise ValueError(f"{where}, {quantity.column}_max: {end:g} is not above {begin:g}")
    return Span(begin, end)


def _number(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"{where}: {text!r} is not a number") from None
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"{where}: {text!r} is not a number of zero or more")
    return value


def _refuse_doubles(rows: tuple[ShadeRow, ...]) -> None:
    seen: set[str] = set()
    for row in rows:
        if row.row_id in seen:
            raise ValueError(f"The shade table, row {row.row_id}: it stands there twice")
        seen.add(row.row_id)


def _refuse_mixed(rows: tuple[ShadeRow, ...]) -> None:
    """All rows of an operation ask for the same figures; a missing one would hide a darker row otherwise."""
    kinds: dict[str, tuple[bool, ...]] = {}
    for row in rows:
        asks = tuple(_span(row, quantity) is not None for quantity in QUANTITIES)
        if kinds.setdefault(row.operation, asks) != asks:
            raise ValueError(
                f"The shade table, row {row.row_id}: the rows of {row.operation} ask for different figures"
            )
