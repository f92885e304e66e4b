"""Looking records and entries up: the Reader, and what it shares with the Work."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Any, TypeVar

from cribdesk.crib.entry import Entry, from_plain, moment_of
from cribdesk.crib.forecast import Cover, Fit, Forecast
from cribdesk.crib.records import Record
from cribdesk.crib.run_time import RunFit, Shares
from cribdesk.crib.stock_forecast import Demand
from cribdesk.desk.ports import FILLED, Head, Page
from cribdesk.store import derived, derived_runs
from cribdesk.store.engine import Engine
from cribdesk.store.mapping import Shape, shape_of

R = TypeVar("R", bound=Record)


class SqlRecords:
    """Records by equality: a statement is compiled once for each set of fields asked for."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def get(self, kind: type[R], id: int) -> R:
        """The record of that id. Raises LookupError."""
        found = self.first(kind, id=id)
        if found is None:
            raise LookupError(f"there is no {shape_of(kind).table} {id}")
        return found

    def find(self, kind: type[R], /, **equal: object) -> list[R]:
        """All records whose fields are as said, by id."""
        return self._select(kind, "", " ORDER BY id", equal)

    def first(self, kind: type[R], /, **equal: object) -> R | None:
        """The one record of the lowest id, or None."""
        return next(iter(self._select(kind, "", " ORDER BY id LIMIT 1", equal)), None)

    def latest(self, kind: type[R], /, **equal: object) -> R | None:
        """The one record of the highest id, or None."""
        return next(iter(self._select(kind, "", " ORDER BY id DESC LIMIT 1", equal)), None)

    def latest_of_each(self, kind: type[R], by: str, /, **equal: object) -> dict[int, R]:
        """The record of the highest id for each value of the field `by` (an id), in one query."""
        found = self._select(kind, shape_of(kind).by_field[by].name, "", equal)
        return {value: one for one in found if (value := getattr(one, by)) is not None}

    def within(self, kind: type[R], field: str, first: datetime, last: datetime, /, **equal: object) -> list[R]:
        """All records whose moment lies from `first` on and before `last`, by id, in one query."""
        shape = shape_of(kind)
        if field not in shape.by_field:
            raise TypeError(f"{kind.__name__} has no field {field!r}")
        conditions, values = self._conditions(shape, equal)
        if None in conditions:
            return []
        name, mark = shape.by_field[field].name, self._engine.mark
        bounds = [f'"{name}" >= {mark}', f'"{name}" < {mark}']
        sql = _statement(shape, "", " ORDER BY id", [*conditions, *bounds])
        limits = [shape.column_value(field, first), shape.column_value(field, last)]
        return [shape.record(row) for row in self._engine.run(sql, [*values, *limits]).fetchall()]

    def columns(self, kind: type[R], names: Sequence[str], /, **equal: object) -> list[tuple[Any, ...]]:
        """Only these fields of all records whose fields are as said, by id, in one query: for very many rows."""
        shape = shape_of(kind)
        conditions, values = self._conditions(shape, equal)
        if None in conditions:
            return []
        columns = [shape.by_field[name] for name in names]
        named = ", ".join(f'"{column.name}"' for column in columns)
        sql = f'SELECT {named} FROM "{shape.table}"{_where(conditions)} ORDER BY id'
        rows = self._engine.run(sql, values).fetchall()
        turned = [(n, column.to_field) for n, column in enumerate(columns) if column.to_field is not None]
        if not turned:
            return [tuple(row) for row in rows]
        found = []
        for row in rows:
            plain = list(row)
            for n, turn in turned:
                if plain[n] is not None:
                    plain[n] = turn(plain[n])
            found.append(tuple(plain))
        return found

    def total(self, kind: type[R], name: str, /, **equal: object) -> float:
        """The sum of one field over all records whose fields are as said, in one query."""
        shape = shape_of(kind)
        conditions, values = self._conditions(shape, equal)
        if None in conditions:
            return 0.0
        column = shape.by_field[name]
        sql = f'SELECT SUM("{column.name}") FROM "{shape.table}"{_where(conditions)}'
        found = int(self._engine.run(sql, values).fetchone()[0] or 0)
        return float(column.to_field(found) if column.to_field is not None else found)

    def begun_at(self) -> datetime | None:
        """When the store's first entry was written; None before it."""
        found = self._engine.run("SELECT moment FROM entry WHERE seq = 1").fetchone()
        return moment_of(found[0]) if found is not None else None

    def fits(self, keys: Collection[tuple[str, str]] | None = None) -> dict[tuple[str, str], Fit]:
        """The fits kept, by unit model and position, of these or of all."""
        return derived.fits(self._engine, keys)

    def cover(self) -> Cover | None:
        """What the fits and forecasts kept rest on as a whole."""
        return derived.cover(self._engine)

    def demands(self, item_ids: Collection[int] | None = None) -> dict[int, Demand]:
        """The expected use kept, by item, of these or of all."""
        return derived.demands(self._engine, item_ids)

    def entry_of(self, operation_id: str) -> Entry | None:
        """The entry an operation id wrote."""
        sql = f"SELECT body FROM entry WHERE operation_id = {self._engine.mark}"
        found = self._engine.run(sql, (operation_id,)).fetchone()
        return None if found is None else _entry(found[0])

    def forecasts(self, unit_ids: Sequence[int]) -> dict[int, dict[str, Forecast]]:
        """The forecasts kept for these units, by unit and position, in one query."""
        return derived.forecasts(self._engine, unit_ids)

    def run_times(
        self, battery_ids: Sequence[int] | None, unit_ids: Sequence[int] | None
    ) -> tuple[dict[str, RunFit], Shares]:
        """What runs say, by pack model, and the shares of these packs and units (None: all), in one query."""
        return derived_runs.kept(self._engine, battery_ids, unit_ids) if derived.there(self._engine) else ({}, {})

    def seen_runs(self) -> dict[str, int]:
        """How many runs of each pack model were there when they were looked at last."""
        return derived_runs.seen(self._engine) if derived.there(self._engine) else {}

    def _select(self, kind: type[R], group: str, order: str, equal: dict[str, object]) -> list[R]:
        shape = shape_of(kind)
        conditions, values = self._conditions(shape, equal)
        if None in conditions:  # one of none
            return []
        key = (shape.table, group, order, *conditions)
        sql = self._engine.compiled(key, lambda: _statement(shape, group, order, conditions))
        return [shape.record(row) for row in self._engine.run(sql, values).fetchall()]

    def _conditions(self, shape: Shape[Any], equal: dict[str, object]) -> tuple[list[str | None], list[Any]]:
        conditions, values = [], []
        for field, value in equal.items():
            condition, bound = self._condition(shape, field, value)
            conditions.append(condition)
            values += bound
        return conditions, values

    def _condition(self, shape: Shape[Any], field: str, value: object) -> tuple[str | None, list[Any]]:
        if field not in shape.by_field:
            raise TypeError(f"{shape.kind.__name__} has no field {field!r}")
        name = f'"{shape.by_field[field].name}"'
        if value is None:
            return f"{name} IS NULL", []
        if value is FILLED:
            return f"{name} IS NOT NULL", []
        if isinstance(value, (str, int, float)) or not isinstance(value, Iterable):
            return f"{name} = {self._engine.mark}", [shape.column_value(field, value)]
        some = [shape.column_value(field, one) for one in value]
        if not some:
            return None, []
        if None in some:
            raise ValueError(f"{field}: None is not one of several values; ask for it on its own")
        return f"{name} {self._engine.one_of}", [self._engine.some(some)]


class SqlReader(SqlRecords):
    """Lists for views and papers. Every call is one query."""

    def entries(self, *, before: int | None = None, count: int = 50, subject: str | None = None) -> Page:
        """Entries newest first, of one subject's label or of all; `before` is a seq."""
        mark = self._engine.mark
        if subject is None:
            sql, values = "SELECT e.seq, e.body FROM entry e WHERE 1 = 1", []
        else:
            sql = f"SELECT e.seq, e.body FROM subject s JOIN entry e ON e.seq = s.seq WHERE s.label = {mark}"
            values = [subject]
        seq = "e.seq" if subject is None else "s.seq"
        if before is not None:
            sql += f" AND {seq} < {mark}"
            values.append(before)  # type: ignore[arg-type]
        sql += f" ORDER BY {seq} DESC LIMIT {mark}"
        rows = self._engine.run(sql, (*values, count + 1)).fetchall()
        shown = rows[:count]
        more = shown[-1][0] if len(rows) > count and shown else None
        return Page(tuple(_entry(body) for _, body in shown), more)

    def entry_count(self, subject: str | None = None) -> int:
        """How many entries there are, of one subject or in all."""
        if subject is None:
            return self.head().seq  # numbered without gaps
        sql = f"SELECT COUNT(*) FROM subject WHERE label = {self._engine.mark}"
        return int(self._engine.run(sql, (subject,)).fetchone()[0])

    def newest(self, kind: type[R], count: int, /, **equal: object) -> list[R]:
        """The `count` records of the highest ids, by id."""
        return self._select(kind, "", f" ORDER BY id DESC LIMIT {int(count)}", equal)[::-1]

    def count(self, kind: type[R], /, **equal: object) -> int:
        """How many records there are."""
        shape = shape_of(kind)
        conditions, values = self._conditions(shape, equal)
        if None in conditions:
            return 0
        sql = f'SELECT COUNT(*) FROM "{shape.table}"{_where(conditions)}'
        return int(self._engine.run(sql, values).fetchone()[0])

    def search(self, kind: type[R], fields: Sequence[str], text: str, count: int = 50) -> list[R]:
        """Records with the text in one of the fields, case ignored, by id.

        The text is sought here and not by the engine: engines disagree about case beyond ASCII.
        """
        shape = shape_of(kind)
        places = [shape.fields.index(field) for field in fields]
        wanted = text.casefold()
        found: list[R] = []
        sql = self._engine.compiled((shape.table, "all"), lambda: _statement(shape, "", " ORDER BY id", []))
        for row in self._engine.run(sql):
            if any(wanted in str(row[place] or "").casefold() for place in places):
                found.append(shape.record(row))
                if len(found) == count:
                    break
        return found

    def head(self) -> Head:
        """Where the journal stands."""
        return read_head(self._engine)


def read_head(engine: Engine, *, lock: bool = False) -> Head:
    """The journal's head; locked until the transaction ends, where asked for."""
    more, end = (engine.given_up, engine.for_update) if lock else ("", "")
    seq, digest, moment, *_ = engine.run(f"SELECT seq, digest, moment{more} FROM journal_head{end}").fetchone()
    return Head(seq, digest, None if moment is None else moment_of(moment))


def _statement(shape: Shape[Any], group: str, order: str, conditions: Sequence[str | None]) -> str:
    names = ", ".join(f'"{name}"' for name in shape.names)
    where = _where(conditions)
    if group:
        where = f' WHERE id IN (SELECT MAX(id) FROM "{shape.table}"{where} GROUP BY "{group}")'
    return f'SELECT {names} FROM "{shape.table}"{where}{order}'


def _where(conditions: Sequence[str | None]) -> str:
    return f" WHERE {' AND '.join(one for one in conditions if one)}" if conditions else ""


def _entry(body: str) -> Entry:
    return from_plain(json.loads(body))
