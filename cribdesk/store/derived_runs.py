"""What is worked out of battery runs and kept at hand: a fit for each pack model, a share for each pack and unit.

They stand with the other derived tables: outside journal, replay, check and dump.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from math import inf, isfinite
from typing import Any

from cribdesk.crib.entry import moment_of, stamp
from cribdesk.crib.run_time import BATTERY, UNIT, RunFit, Share, Shares
from cribdesk.store.engine import Engine

METHOD = 1
"""Goes up when run times are worked out otherwise than before."""

TABLE = (
    "CREATE TABLE IF NOT EXISTS derived_run (kind TEXT NOT NULL, record_id BIGINT NOT NULL, model TEXT NOT NULL, "
    "seq BIGINT NOT NULL, method INTEGER NOT NULL, body TEXT NOT NULL, PRIMARY KEY (kind, record_id, model))"
)
NAME = "derived_run"
COLUMNS = ("kind", "record_id", "model", "seq", "method", "body")
FIT, SEEN = "fit", "seen"


def put(engine: Engine, fit: RunFit, shares: Sequence[Share]) -> None:
    """Keeps the fit of a pack model with all its shares, in place of what was kept of it."""
    engine.run(f"DELETE FROM {NAME} WHERE model = {engine.mark}", (fit.model,))
    rows = [(FIT, 0, fit.model, fit.seq, METHOD, _fit_text(fit))]
    rows += [(one.kind, one.record_id, one.model, fit.seq, METHOD, _share_text(one)) for one in shares]
    engine.insert_all(NAME, COLUMNS, rows)


def put_seen(engine: Engine, seen: Sequence[tuple[str, int]], seq: int) -> None:
    """Says how many runs of each pack model were there when it was last tried to fit them."""
    for model, _ in seen:
        engine.run(f"DELETE FROM {NAME} WHERE model = {engine.mark} AND kind = {engine.mark}", (model, SEEN))
    engine.insert_all(NAME, COLUMNS, [(SEEN, 0, model, seq, METHOD, str(many)) for model, many in seen])


def put_shares(engine: Engine, shares: Sequence[Share], seq: int) -> None:
    """Keeps these shares in place of those of the same pack or unit; the fits stay."""
    for one in shares:
        sql = f"DELETE FROM {NAME} WHERE kind = {engine.mark} AND record_id = {engine.mark} AND model = {engine.mark}"
        engine.run(sql, (one.kind, one.record_id, one.model))
    rows = [(one.kind, one.record_id, one.model, seq, METHOD, _share_text(one)) for one in shares]
    engine.insert_all(NAME, COLUMNS, rows)


def kept(
    engine: Engine, battery_ids: Sequence[int] | None, unit_ids: Sequence[int] | None
) -> tuple[dict[str, RunFit], Shares]:
    """The fits by pack model, and the shares of these packs and units, None for all; in one query."""
    chosen, values = [f"kind = {engine.mark}"], [FIT]
    for kind, ids in ((BATTERY, battery_ids), (UNIT, unit_ids)):
        if ids is None:
            chosen.append(f"kind = {engine.mark}")
            values.append(kind)
        elif ids:
            chosen.append(f"(kind = {engine.mark} AND record_id {engine.one_of})")
            values += [kind, engine.some(ids)]
    sql = f"SELECT kind, model, body FROM {NAME} WHERE method = {METHOD} AND ({' OR '.join(chosen)})"
    fits: dict[str, RunFit] = {}
    shares: Shares = {}
    for kind, model, body in engine.run(sql, tuple(values)).fetchall():
        if kind == FIT:
            fits[model] = _fit(json.loads(body))
        else:
            one = _share(json.loads(body))
            shares[kind, one.record_id, model] = one
    return fits, shares


def seen(engine: Engine) -> dict[str, int]:
    """How many runs of each pack model were there when it was last tried to fit them."""
    sql = f"SELECT model, body FROM {NAME} WHERE method = {METHOD} AND kind = {engine.mark}"
    return {model: int(body) for model, body in engine.run(sql, (SEEN,)).fetchall()}


def _fit_text(fit: RunFit) -> str:
    return json.dumps({**vars(fit), "at": stamp(fit.at), "fade": _pair(fit.fade), "load": _pair(fit.load)})


def _pair(slope: tuple[float, float]) -> tuple[float, float | None]:
    return slope[0], slope[1] if isfinite(slope[1]) else None


def _fit(body: dict[str, Any]) -> RunFit:
    rows = {name: tuple(tuple(row) for row in body[name]) for name in ("speeds", "groups", "left_out")}
    slopes = {name: (body[name][0], inf if body[name][1] is None else body[name][1]) for name in ("fade", "load")}
    return RunFit(**{**body, **rows, **slopes, "known": tuple(body["known"]), "at": moment_of(body["at"])})


def _share_text(share: Share) -> str:
    body = {**vars(share), "since": stamp(share.since) if share.since else None}
    return json.dumps({**body, "effect": round(share.effect, 6), "error": round(share.error, 6)})


def _share(body: dict[str, Any]) -> Share:
    return Share(**{**body, "since": moment_of(body["since"]) if body["since"] else None})
