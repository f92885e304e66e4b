"""One entry of the journal: one operation as it was done, by whom, when; and its canonical form."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

Value = str | int | bool | None
Row = Mapping[str, Value]

START = "0" * 64
"""The digest that stands before the first entry."""

LARGEST = 2**53 - 1
"""Integers beyond this do not survive every JSON reader (RFC 8785, RFC 7493)."""


@dataclass(frozen=True)
class Entry:
    """One operation. `rows` are whole after-images, as (table, columns) in the order they were written.

    `papers` are (paper, label of what it is about); `corrects` the seq of an entry this one puts right;
    `late` marks a moment that lies before the last entry's (the workstation's clock was set back).
    """

    seq: int
    schema: int
    operation: str
    operation_id: str
    request: str  # SHA-256 of the request
    moment: datetime
    counter: str
    clerk: str
    subjects: tuple[str, ...]
    sentence: str
    rows: tuple[tuple[str, Row], ...]
    papers: tuple[tuple[str, str], ...] = ()
    corrects: int | None = None
    late: bool = False

    def plain(self) -> dict[str, object]:
        """The entry as JSON values."""
        return {
            "seq": self.seq,
            "schema": self.schema,
            "operation": self.operation,
            "operation_id": self.operation_id,
            "request": self.request,
            "moment": stamp(self.moment),
            "counter": self.counter,
            "clerk": self.clerk,
            "subjects": list(self.subjects),
            "sentence": self.sentence,
            "rows": [[table, dict(row)] for table, row in self.rows],
            "papers": [list(paper) for paper in self.papers],
            "corrects": self.corrects,
            "late": self.late,
        }

    def canonical(self) -> bytes:
        """The entry's canonical JSON (RFC 8785: sorted keys, no spaces, UTF-8)."""
        return canonical(self.plain())


def from_plain(plain: Mapping[str, object]) -> Entry:
    """The entry of its JSON values. Raises ValueError, KeyError or TypeError where they are none."""
    values = dict(plain)
    return Entry(
        seq=_integer(values["seq"]),
        schema=_integer(values["schema"]),
        operation=str(values["operation"]),
        operation_id=str(values["operation_id"]),
        request=str(values["request"]),
        moment=moment_of(str(values["moment"])),
        counter=str(values["counter"]),
        clerk=str(values["clerk"]),
        subjects=tuple(str(one) for one in _list(values["subjects"])),
        sentence=str(values["sentence"]),
        rows=tuple((str(_list(row)[0]), _mapping(_list(row)[1])) for row in _list(values["rows"])),
        papers=tuple((str(_list(one)[0]), str(_list(one)[1])) for one in _list(values["papers"])),
        corrects=None if values["corrects"] is None else _integer(values["corrects"]),
        late=bool(values["late"]),
    )


def canonical(value: object) -> bytes:
    """Canonical JSON of text, integers within 2^53, booleans and null under ASCII keys (RFC 8785).

    For such values sorted, compact `json.dumps` is the canonical form; floats are refused with ValueError.
    """
    _only_plain(value)
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode("utf-8")


def chained(previous: str, body: bytes) -> str:
    """The digest of an entry: SHA-256 over the previous digest and the entry's canonical JSON."""
    return hashlib.sha256(previous.encode("ascii") + body).hexdigest()


def sealed(salt: bytes, value: Value) -> str:
    """What stands in an entry for a personal value: SHA-256 over 16 random bytes and its canonical JSON."""
    return hashlib.sha256(salt + canonical(value)).hexdigest()


def stamp(moment: datetime) -> str:
    """The moment as stored: UTC, microseconds, Z. Raises ValueError for a moment without a zone."""
    offset = moment.utcoffset()
    if offset is None:
        raise ValueError("a moment needs its zone")
    return (moment.replace(tzinfo=None) - offset).isoformat(timespec="microseconds") + "Z"


def moment_of(text: str) -> datetime:
    """The moment of a stored stamp."""
    return datetime.fromisoformat(text)


def _only_plain(value: object) -> None:
    if value is None or isinstance(value, (str, bool)):
        return
    if isinstance(value, int):
        if abs(value) > LARGEST:
            raise ValueError(f"{value} is beyond 2^53")
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            if not isinstance(key, str) or not key.isascii():
                raise ValueError(f"{key!r} is no ASCII key")
            _only_plain(inner)
    elif isinstance(value, Sequence) and not isinstance(value, bytes):
        for inner in value:
            _only_plain(inner)
    else:
        raise ValueError(f"{value!r} may not stand in the journal")


def _integer(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError(f"{value!r} is no whole number")
    return value


def _list(value: object) -> list[object]:
    if not isinstance(value, (list, tuple)):
        raise ValueError(f"{value!r} is no list")
    return list(value)


def _mapping(value: object) -> dict[str, Value]:
    if not isinstance(value, Mapping):
        raise ValueError(f"{value!r} is no row")
    return {str(key): one for key, one in value.items()}
