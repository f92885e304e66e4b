"""A run as stored: compact canonical text with the wording and limits it was asked with."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from cribdesk.procedure.answers import Asked
from cribdesk.procedure.state import Run

FORMAT = 1
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_TEXTS = ("step", "kind", "title", "question", "limit", "answer", "by", "unit", "instrument", "remedy_kind",
          "position", "finding")
_COUNTS = ("number", "retest", "tried")
_THOUSANDTHS = ("value", "mean", "uncertainty", "actual", "temperature_c", "pressure_hpa", "needed")
_FLAGS = ("good", "replaced")


@dataclass(frozen=True)
class RunRecord:
    """A run that can be read without its procedure; `digest` names the procedure's exact text."""

    procedure: str
    name: str
    kind: str
    revision: int
    digest: str
    model: str
    by: str
    started: datetime
    ended: datetime | None
    verdict: str
    fault: str
    fault_words: str
    broken_off: str
    asked: tuple[Asked, ...]

    @property
    def not_good(self) -> bool:
        """Whether any answer was not good, also one taken back."""
        return any(not asked.good for asked in self.asked)


def record_of(run: Run) -> RunRecord:
    """The record of a run, ended or not."""
    procedure = run.procedure
    return RunRecord(
        procedure=procedure.code,
        name=procedure.name,
        kind=procedure.kind,
        revision=procedure.revision,
        digest=procedure.digest,
        model=run.model.code,
        by=run.by,
        started=run.started,
        ended=run.ended,
        verdict=run.verdict or "",
        fault=run.fault or "",
        fault_words=run.fault_words,
        broken_off=run.broken_off or "",
        asked=run.asked,
    )


def to_json(run: Run | RunRecord) -> str:
    """Canonical JSON: sorted keys, no blanks, only texts, integers and booleans. Figures are thousandths,
    times microseconds since 1970 UTC, durations milliseconds; what is empty is left out."""
    record = record_of(run) if isinstance(run, Run) else run
    content: dict[str, object] = {
        "format": FORMAT,
        "procedure": record.procedure,
        "name": record.name,
        "kind": record.kind,
        "revision": record.revision,
        "digest": record.digest,
        "model": record.model,
        "by": record.by,
        "started_us": _microseconds(record.started),
        "asked": [_asked_out(asked) for asked in record.asked],
    }
    for key in ("verdict", "fault", "fault_words", "broken_off"):
        if getattr(record, key):
            content[key] = getattr(record, key)
    if record.ended is not None:
        content["ended_us"] = _microseconds(record.ended)
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def from_json(text: str) -> RunRecord:
    """The record in such a text; raises ValueError in plain words when it is not one."""
    try:
        content = json.loads(text)
        if content["format"] != FORMAT:
            raise ValueError(f"format {content['format']} is not known")
        return _record_in(content)
    except (KeyError, TypeError, ValueError, RecursionError, OverflowError) as fault:
        raise ValueError(f"This is not the record of an inspection: {fault}.") from fault


def _record_in(content: Mapping[str, object]) -> RunRecord:
    asked = content["asked"]
    if not isinstance(asked, list):
        raise ValueError("'asked' is not a list")
    ended = content.get("ended_us")
    return RunRecord(
        **{key: _text(content[key]) for key in ("procedure", "name", "kind", "digest", "model", "by")},
        **{key: _text(content.get(key, "")) for key in ("verdict", "fault", "fault_words", "broken_off")},
        revision=_whole(content["revision"]),
        started=_moment(content["started_us"]),
        ended=None if ended is None else _moment(ended),
        asked=tuple(_asked_in(entry) for entry in asked),
    )


def _asked_out(asked: Asked) -> dict[str, object]:
    out: dict[str, object] = {key: getattr(asked, key) for key in (*_TEXTS, *_COUNTS) if getattr(asked, key)}
    out |= {key: getattr(asked, key) for key in _FLAGS if getattr(asked, key) or key == "good"}
    for key in _THOUSANDTHS:
        if getattr(asked, key) is not None:
            out[f"{key}_thousandths"] = round(getattr(asked, key) * 1000)
    out["moment_us"] = _microseconds(asked.moment)
    out["elapsed_ms"] = round(asked.elapsed_s * 1000)
    if asked.replaced_at is not None:
        out["replaced_at_us"] = _microseconds(asked.replaced_at)
    return out


def _asked_in(entry: object) -> Asked:
    if not isinstance(entry, dict):
        raise ValueError(f"{entry!r} is not an answer")
    kept = {key: entry.get(f"{key}_thousandths") for key in _THOUSANDTHS}
    figures: dict[str, Any] = {key: None if n is None else _whole(n) / 1000 for key, n in kept.items()}
    parts: dict[str, Any] = {key: _text(entry.get(key, "")) for key in _TEXTS}
    parts |= {key: _whole(entry.get(key, 0)) for key in _COUNTS}
    parts |= {key: entry.get(key, False) is True for key in _FLAGS}
    replaced_at = entry.get("replaced_at_us")
    return Asked(
        **parts,
        **figures,
        moment=_moment(entry["moment_us"]),
        elapsed_s=_whole(entry["elapsed_ms"]) / 1000,
        replaced_at=None if replaced_at is None else _moment(replaced_at),
    )


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{value!r} is not a text")
    return value


def _whole(value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError(f"{value!r} is not a whole number")
    return value


def _microseconds(moment: datetime) -> int:
    return (moment - _EPOCH) // timedelta(microseconds=1)


def _moment(value: object) -> datetime:
    return _EPOCH + timedelta(microseconds=_whole(value))
