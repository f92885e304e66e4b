"""Derived tables: what is worked out from the records and kept to be at hand. The only place that writes them.

They stand outside journal, replay, check and dump, hold no record, and may be dropped at any moment. Each row
carries the journal's entry it rests on and the number of the method it was made by; rows of another method are
passed over, and made anew.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import asdict, fields
from datetime import datetime
from typing import Any

from cribdesk.crib.entry import moment_of, stamp
from cribdesk.crib.forecast import Cover, Fit, Forecast
from cribdesk.crib.run_time import RunFit, Share
from cribdesk.crib.stock_forecast import Demand, Lead, Score, Spread
from cribdesk.store import derived_runs
from cribdesk.store.engine import Engine

DERIVED = "derived_"
"""How the names of all derived tables begin."""

METHOD = 4
"""Goes up when fits or forecasts are worked out otherwise than before."""

TABLES = (
    "CREATE TABLE IF NOT EXISTS derived_cover (id INTEGER PRIMARY KEY, seq BIGINT NOT NULL, method INTEGER NOT NULL, "
    "body TEXT NOT NULL)",
    "CREATE TABLE IF NOT EXISTS derived_fit (model TEXT NOT NULL, position TEXT NOT NULL, seq BIGINT NOT NULL, "
    "method INTEGER NOT NULL, body TEXT NOT NULL, PRIMARY KEY (model, position))",
    "CREATE TABLE IF NOT EXISTS derived_forecast (unit_id BIGINT NOT NULL, position TEXT NOT NULL, "
    "seq BIGINT NOT NULL, method INTEGER NOT NULL, body TEXT NOT NULL, PRIMARY KEY (unit_id, position))",
    "CREATE TABLE IF NOT EXISTS derived_demand (item_id BIGINT PRIMARY KEY, seq BIGINT NOT NULL, "
    "method INTEGER NOT NULL, body TEXT NOT NULL)",
    derived_runs.TABLE,
)
NAMES = ("derived_forecast", "derived_fit", "derived_cover", "derived_demand", derived_runs.NAME)
DIGITS = 6
ENCODE = json.JSONEncoder(separators=(",", ":")).encode
_FIELDS = [one.name for one in fields(Forecast)]
LEFT_AT, AT_AT = _FIELDS.index("left"), _FIELDS.index("at")


class SqlDeriving:
    """One open transaction on the derived tables. Made by SqlStore.deriving, which commits it or rolls it back."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        if not there(engine):
            for sql in TABLES:
                engine.run(sql)

    def put_fits(self, fits: Sequence[Fit]) -> None:
        """Keeps these in place of those of the same model and position."""
        mark = self._engine.mark
        for one in fits:
            sql = f"DELETE FROM derived_fit WHERE model = {mark} AND position = {mark}"
            self._engine.run(sql, (one.model, one.position))
        rows = [(one.model, one.position, one.seq, METHOD, _text(one)) for one in fits]
        self._engine.insert_all("derived_fit", ("model", "position", "seq", "method", "body"), rows)

    def put_forecasts(self, made: Sequence[tuple[int, Forecast]]) -> None:
        """Keeps these (unit id, forecast) in place of those of the same unit and position."""
        engine = self._engine
        by_position: dict[str, list[int]] = {}
        for unit_id, one in made:
            by_position.setdefault(one.position, []).append(unit_id)
        for position, units in by_position.items():
            sql = f"DELETE FROM derived_forecast WHERE position = {engine.mark} AND unit_id {engine.one_of}"
            engine.run(sql, (position, engine.some(units)))
        rows = [(unit_id, one.position, one.seq, METHOD, _line(one)) for unit_id, one in made]
        engine.insert_all("derived_forecast", ("unit_id", "position", "seq", "method", "body"), rows)

    def drop_forecasts(self, unit_ids: Sequence[int]) -> None:
        """Forgets what is kept for these units."""
        engine = self._engine
        engine.run(f"DELETE FROM derived_forecast WHERE unit_id {engine.one_of}", (engine.some(unit_ids),))

    def drop_fit(self, model: str, position: str, unit_ids: Sequence[int]) -> None:
        """Forgets the fit of a position, and what was forecast there for these units."""
        engine, mark = self._engine, self._engine.mark
        engine.run(f"DELETE FROM derived_fit WHERE model = {mark} AND position = {mark}", (model, position))
        sql = f"DELETE FROM derived_forecast WHERE position = {mark} AND unit_id {engine.one_of}"
        engine.run(sql, (position, engine.some(unit_ids)))

    def put_demands(self, made: Sequence[Demand]) -> None:
        """Keeps this expected use in place of what was kept of the same items."""
        engine = self._engine
        ids = engine.some([one.item_id for one in made])
        engine.run(f"DELETE FROM derived_demand WHERE item_id {engine.one_of}", (ids,))
        rows = [(one.item_id, one.seq, METHOD, ENCODE(_plain(asdict(one)))) for one in made]
        self._engine.insert_all("derived_demand", ("item_id", "seq", "method", "body"), rows)

    def drop_demands_but(self, item_ids: Sequence[int]) -> None:
        """Forgets the expected use of all other items."""
        engine = self._engine
        engine.run(f"DELETE FROM derived_demand WHERE NOT item_id {engine.one_of}", (engine.some(item_ids),))

    def cover(self, cover: Cover) -> None:
        """Says what it all rests on from now on."""
        self._engine.run("DELETE FROM derived_cover")
        row = (1, cover.seq, METHOD, _text(cover))
        self._engine.insert_all("derived_cover", ("id", "seq", "method", "body"), [row])

    def put_runs(self, fit: RunFit, shares: Sequence[Share]) -> None:
        """Keeps what the runs with packs of one model say, in place of what was kept of that model."""
        derived_runs.put(self._engine, fit, shares)

    def put_shares(self, shares: Sequence[Share], seq: int) -> None:
        """Keeps these shares of run time in place of those of the same pack or unit."""
        derived_runs.put_shares(self._engine, shares, seq)

    def put_seen_runs(self, seen: Sequence[tuple[str, int]], seq: int) -> None:
        """Says how many runs of each pack model were there when they were looked at last."""
        derived_runs.put_seen(self._engine, seen, seq)

    def drop(self) -> None:
        """Forgets everything derived; it is made again when it is asked for."""
        for name in NAMES:
            self._engine.run(f"DELETE FROM {name}")


def there(engine: Engine) -> bool:
    """Whether the derived tables were made. Asked once a connection, and again only while they are missing."""
    if not engine.derived_there:
        engine.derived_there = set(NAMES) <= set(engine.database.get_tables())
    return engine.derived_there


def forecasts(engine: Engine, unit_ids: Sequence[int]) -> dict[int, dict[str, Forecast]]:
    """The forecasts kept for these units, by unit and position."""
    found: dict[int, dict[str, Forecast]] = {}
    if not unit_ids or not there(engine):
        return found
    if len(unit_ids) == 1:
        where, value = f"= {engine.mark}", unit_ids[0]
    else:
        where, value = engine.one_of, engine.some(unit_ids)
    sql = f"SELECT unit_id, body FROM derived_forecast WHERE unit_id {where} AND method = {METHOD}"
    for unit_id, body in engine.run(sql, (value,)).fetchall():
        one = _forecast(json.loads(body))
        found.setdefault(unit_id, {})[one.position] = one
    return found


def fits(engine: Engine, keys: Collection[tuple[str, str]] | None = None) -> dict[tuple[str, str], Fit]:
    """The fits kept, by unit model and position, of these or of all."""
    if not there(engine):
        return {}
    sql = f"SELECT body FROM derived_fit WHERE method = {METHOD}"
    values: tuple[Any, ...] = ()
    if keys is not None:
        sql += f" AND model {engine.one_of} AND position {engine.one_of}"
        values = (engine.some(sorted({model for model, _ in keys})), engine.some(sorted({code for _, code in keys})))
    found = [_fit(json.loads(body)) for (body,) in engine.run(sql, values).fetchall()]
    return {(one.model, one.position): one for one in found if keys is None or (one.model, one.position) in keys}


def demands(engine: Engine, item_ids: Collection[int] | None = None) -> dict[int, Demand]:
    """The expected use kept, by item, of these or of all."""
    if not there(engine):
        return {}
    sql = f"SELECT item_id, body FROM derived_demand WHERE method = {METHOD}"
    values: tuple[Any, ...] = ()
    if item_ids is not None:
        sql += f" AND item_id {engine.one_of}"
        values = (engine.some(sorted(item_ids)),)
    return {item_id: _demand(json.loads(body)) for item_id, body in engine.run(sql, values).fetchall()}


def cover(engine: Engine) -> Cover | None:
    """What the fits and forecasts kept rest on as a whole."""
    if not there(engine):
        return None
    row = engine.run(f"SELECT body FROM derived_cover WHERE method = {METHOD}").fetchone()
    if row is None:
        return None
    body = json.loads(row[0])
    pairs = {name: tuple(tuple(row) for row in body[name]) for name in ("doubts", "fresh")}
    return Cover(**{**body, **pairs, "at": moment_of(body["at"])})


def _line(one: Forecast) -> str:
    """The forecast's values in their order: there are very many of them."""
    values = list(vars(one).values())
    for n, value in enumerate(values):
        if type(value) is float:
            values[n] = round(value, DIGITS)
    values[LEFT_AT] = [round(left, DIGITS) for left in one.left]
    values[AT_AT] = stamp(one.at)
    return ENCODE(values)


def _text(one: Fit | Cover) -> str:
    return ENCODE(_plain(vars(one)))


def _plain(value: Any) -> Any:
    """As JSON keeps it: moments as text, figures to so many digits."""
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    return value


def _forecast(values: list[Any]) -> Forecast:
    values[LEFT_AT] = tuple(values[LEFT_AT])
    values[AT_AT] = moment_of(values[AT_AT])
    return Forecast(*values)


def _fit(body: dict[str, Any]) -> Fit:
    pairs = {name: tuple(tuple(row) for row in body[name]) for name in ("left", "curve", "laws", "band", "areas")}
    rows = {name: tuple(body[name]) for name in ("scale", "shape", "ages")}
    return Fit(**{**body, **pairs, **rows, "at": moment_of(body["at"])})


def _demand(body: dict[str, Any]) -> Demand:
    spreads = {
        name: Spread(body[name]["first"], tuple(body[name]["chances"])) if body[name] else None
        for name in ("until_delivery", "until_next")
    }
    changed = {
        **spreads,
        "lead": Lead(**body["lead"]),
        "path": tuple(tuple(row) for row in body["path"]),
        "scores": tuple(Score(**one) for one in body["scores"]),
        "history": tuple(body["history"]),
        "history_to": moment_of(body["history_to"]),
        "at": moment_of(body["at"]),
        "scored_at": moment_of(body["scored_at"]) if body["scored_at"] else None,
    }
    return Demand(**{**body, **changed})
