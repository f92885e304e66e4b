"""The rack scanned against the book: what is absent, what hangs there beside it. Nothing is moved by it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from cribdesk.crib.records import RackAudit, Unit, Where
from cribdesk.crib.refusal import NotCounted
from cribdesk.crib.words import count, joined
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work

NAMED = 6
"""So many labels a sentence names; the rest it counts."""


@dataclass(frozen=True, kw_only=True)
class AuditRack(Operation):
    """Every unit on the rack was scanned."""

    unit_ids: tuple[int, ...]

    code: ClassVar[str] = "rack-audit"
    words: ClassVar[str] = "Auditing the rack"

    def run(self, work: Work, context: Context) -> Outcome:
        """Keeps what the book expected, what was there, and the labels of what differs."""
        if not self.unit_ids:
            raise NotCounted
        scanned = {one: fetch(work, Unit, one, "This unit").label for one in self.unit_ids}
        expected = {one.id: one.label for one in work.find(Unit, where=Where.RACK)}
        absent = sorted(label for id_, label in expected.items() if id_ not in scanned)
        surplus = sorted(label for id_, label in scanned.items() if id_ not in expected)
        there = len(expected) - len(absent)
        work.save(
            RackAudit(
                place=Where.RACK.value, expected=len(expected), there=there, absent="\n".join(absent),
                surplus="\n".join(surplus), at=context.moment, by_id=context.clerk.id,
            )
        )  # fmt: skip
        return Outcome(f"Rack audited: {audit_words(len(expected), there, absent, surplus)}.", (*absent, *surplus))


def audit_words(expected: int, there: int, absent: list[str], surplus: list[str]) -> str:
    """'12 expected, 11 there; absent U0000016; not expected U000003B'; 'all agree' where nothing differs."""
    words = f"{expected} expected, {there} there"
    parts = [words]
    if absent:
        parts.append(f"absent {named(absent)}")
    if surplus:
        parts.append(f"not expected {named(surplus)}")
    return "; ".join(parts) if len(parts) > 1 else f"{words}, nothing differs"


def named(labels: list[str]) -> str:
    """The labels, the first of many and a count of the rest."""
    if len(labels) <= NAMED:
        return joined(labels)
    return joined([*labels[:NAMED], count(len(labels) - NAMED, "more", "more")])
