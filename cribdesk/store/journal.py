"""The journal as lines: out of a store, into plain text and back, each link verified.

A line is one entry as canonical JSON: `{"digest": ..., "entry": ..., "sealed": {digest: [salt, value]}}`. The
entry stands in it byte for byte as it was chained; `sealed` holds the personal values that it brought, with
the 16 bytes in hex, unless they were erased.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from cribdesk.crib.entry import START, canonical, chained, sealed
from cribdesk.store.engine import Engine
from cribdesk.store.faults import Damaged

Seals = dict[str, tuple[str, str]]
"""Digest and, of what it stands for, the 16 bytes in hex and the value."""

OPENING = b'{"digest":"'
MIDDLE = b'","entry":'
CLOSING = b',"sealed":'
NO_SEALS = CLOSING + b"{}}"
DIGEST_AT, DIGEST_END = len(OPENING), len(OPENING) + 64
BODY_AT = DIGEST_END + len(MIDDLE)

BATCH = 500


@dataclass(frozen=True)
class Line:
    """One entry as it is kept: its digest, its canonical JSON, and the personal values it brought."""

    digest: str
    body: bytes
    seals: Seals = field(default_factory=dict)

    def text(self) -> bytes:
        """The line without its end."""
        closing = canonical({digest: list(pair) for digest, pair in self.seals.items()})
        return b"".join((OPENING, self.digest.encode(), MIDDLE, self.body, CLOSING, closing, b"}"))


def lines(engine: Engine) -> Iterator[Line]:
    """Every entry of the store, oldest first. Part of the caller's transaction."""
    seals = _seals(engine)
    last = 0
    sql = f"SELECT seq, digest, body FROM entry WHERE seq > {engine.mark} ORDER BY seq LIMIT {BATCH}"
    while rows := engine.run(sql, (last,)).fetchall():
        for seq, digest, body in rows:
            yield Line(digest, body.encode(), seals.get(seq, {}))
        last = rows[-1][0]


def _seals(engine: Engine) -> dict[int, Seals]:
    rows = engine.run("SELECT seq, digest, salt, value FROM sealed ORDER BY seq, digest").fetchall()
    return {
        seq: {digest: (salt, json.loads(value)) for _, digest, salt, value in group}
        for seq, group in groupby(rows, key=lambda row: row[0])
    }


class Chain:
    """Verifies lines one after the other, from the first."""

    def __init__(self) -> None:
        self.seq = 0
        self.digest = START

    def follow(self, text: bytes) -> tuple[Line, dict[str, Any]]:
        """The line, and its entry's JSON, once it is seen to follow the lines before. Raises Damaged.

        What is read is what was hashed: the entry's bytes are cut out first and parsed by themselves.
        """
        self.seq += 1
        end = text.rfind(CLOSING)
        try:
            if text[:DIGEST_AT] != OPENING or text[DIGEST_END:BODY_AT] != MIDDLE or end < 0:
                raise ValueError("other keys")
            line = Line(
                text[DIGEST_AT:DIGEST_END].decode("ascii"), text[BODY_AT:end], _seals_of(text[end:].rstrip(b"\n"))
            )
            entry: dict[str, Any] = json.loads(line.body)
            seq = entry["seq"]
        except (ValueError, KeyError, TypeError) as failure:
            raise Damaged(self.seq, "it is not a line of a journal") from failure
        self.link(seq, line.digest, line.body)
        for digest, (salt, value) in line.seals.items():
            if not _fits(digest, salt, value):
                raise Damaged(self.seq, "a personal value does not fit its digest")
        return line, entry

    def link(self, seq: int, digest: str, body: bytes) -> None:
        """Goes one link on. Raises Damaged where it does not follow."""
        if seq != self.seq:
            raise Damaged(self.seq, f"entry {seq} stands in its place")
        if chained(self.digest, body) != digest:
            raise Damaged(self.seq, "it does not fit its digest")
        self.digest = digest


def _seals_of(closing: bytes) -> dict[str, tuple[str, str]]:
    if closing == NO_SEALS:
        return {}
    found = json.loads(closing[len(CLOSING) : -1])
    return {str(digest): (str(salt), str(value)) for digest, (salt, value) in found.items()}


def _fits(digest: str, salt: str, value: str) -> bool:
    try:
        return sealed(bytes.fromhex(salt), value) == digest
    except ValueError:
        return False
