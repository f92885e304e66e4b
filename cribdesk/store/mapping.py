"""The one mapping between record classes and tables, derived from the records' fields.

A table is the record's name in snake case; a column is the field's name, except where a quantity is kept as a
whole number of a smaller unit: `worn_hours` is the column `worn_minutes`, `flow_lpm` is `flow_ml_min`,
`seconds` is `milliseconds`, `kg_m3` is `g_m3`. No column holds a float.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from enum import StrEnum
from math import isfinite
from types import NoneType
from typing import Any, Generic, TypeVar, cast, get_args, get_type_hints

from cribdesk.crib.entry import Value, moment_of, stamp
from cribdesk.crib.records import RECORDS, Record

R = TypeVar("R", bound=Record)
Convert = Callable[[Any], Any]

SMALL_UNITS = (
    ("hours", "minutes", 60),
    ("lpm", "ml_min", 1000),
    ("seconds", "milliseconds", 1000),
    ("kg_m3", "g_m3", 1000),
)
"""Last word of a float field, last words of its column, how many of the small unit make one."""


@dataclass(frozen=True)
class Column:
    """One column. `kind` is int, str or bool; `choices` the values of an enum; None converts nothing."""

    name: str
    field: str
    kind: type
    null: bool
    personal: bool
    choices: tuple[str, ...]
    to_column: Convert | None
    to_field: Convert | None


class Shape(Generic[R]):
    """One record class and its table, both ways. `id` and `revision` are the first two columns."""

    def __init__(self, kind: type[R]) -> None:
        hints = get_type_hints(kind)
        self.kind = kind
        self.table = snake(kind.__name__)
        self.columns = tuple(
            _column(one.name, hints[one.name], bool(one.metadata.get("personal"))) for one in fields(kind)
        )
        self.names = tuple(column.name for column in self.columns)
        self.fields = tuple(column.field for column in self.columns)
        self.by_field = {column.field: column for column in self.columns}
        self.personal = tuple(column.name for column in self.columns if column.personal)
        self._texts = tuple(column.name for column in self.columns if column.kind is str)
        self._out = tuple((c.field, c.to_column) for c in self.columns if c.to_column is not None)
        self._in = tuple((c.field, c.to_field) for c in self.columns if c.to_field is not None)

    def row(self, record: R) -> dict[str, Value]:
        """The record's columns, in the table's order. Raises ValueError for what no column can hold."""
        values = dict(vars(record))
        for name, convert in self._out:
            value = values[name]
            if value is not None:
                values[name] = convert(value)
        row: dict[str, Value] = dict(zip(self.names, values.values(), strict=True))
        for name in self._texts:
            if row[name] is not None and "\0" in cast(str, row[name]):
                raise ValueError(f"{self.table}.{name} may not hold the character NUL")
        return row

    def record(self, values: Sequence[Any]) -> R:
        """The record of its columns, in the table's order."""
        made = dict(zip(self.fields, values, strict=True))
        for name, convert in self._in:
            value = made[name]
            if value is not None:
                made[name] = convert(value)
        record = object.__new__(self.kind)
        object.__setattr__(record, "__dict__", made)  # __init__ of a frozen class sets fields one by one: slow
        return record

    def column_value(self, field: str, value: object) -> Value:
        """A value of a field as its column holds it."""
        convert = self.by_field[field].to_column
        return cast(Value, value if value is None or convert is None else convert(value))


def snake(name: str) -> str:
    """StockItem as stock_item."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", name).lower()


def shape_of(kind: type[R]) -> Shape[R]:
    """The shape of a record class. Raises KeyError for a class that is not stored."""
    return cast("Shape[R]", _OF_KIND[kind])


def shape_of_table(table: str) -> Shape[Any]:
    """The shape of a table. Raises KeyError for a table of no record class."""
    return _OF_TABLE[table]


def _column(name: str, hint: Any, personal: bool) -> Column:
    options = [one for one in get_args(hint) if one is not NoneType] or [hint]
    (plain,) = options
    null = plain is not hint
    if plain is float:
        column, scale = _small_unit(name)
        return Column(column, name, int, null, personal, (), _to_small(scale), _from_small(scale))
    if issubclass(plain, StrEnum):
        choices = tuple(one.value for one in plain)
        return Column(name, name, str, null, personal, choices, _text, {one.value: one for one in plain}.__getitem__)
    if plain is datetime:
        return Column(name, name, str, null, personal, (), stamp, moment_of)
    if plain is date:
        return Column(name, name, str, null, personal, (), date.isoformat, date.fromisoformat)
    if plain is bool:
        return Column(name, name, bool, null, personal, (), bool, bool)
    if plain is int or plain is str:
        return Column(name, name, plain, null, personal, (), None, None)
    raise TypeError(f"{name}: no column can hold {plain!r}")


def _small_unit(name: str) -> tuple[str, int]:
    for large, small, scale in SMALL_UNITS:
        if name == large or name.endswith("_" + large):
            return name.removesuffix(large) + small, scale
    raise TypeError(f"{name}: a float field needs a unit that has a smaller one")


def _to_small(scale: int) -> Convert:
    def convert(value: float) -> int:
        if not isfinite(value):
            raise ValueError(f"{value} is no quantity")
        return round(value * scale)

    return convert


def _from_small(scale: int) -> Convert:
    def convert(value: int) -> float:
        return value / scale

    return convert


def _text(value: StrEnum) -> str:
    return value.value


SHAPES: tuple[Shape[Any], ...] = tuple(Shape(kind) for kind in RECORDS)
"""A shape for every record class, each after those it points at."""

_OF_KIND: dict[type[Record], Shape[Any]] = {shape.kind: shape for shape in SHAPES}
_OF_TABLE: dict[str, Shape[Any]] = {shape.table: shape for shape in SHAPES}
