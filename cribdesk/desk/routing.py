"""What the parts of the router share: a slate and the requests that go with it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.desk.operation import Operation
from cribdesk.desk.slate import Clerk, Do, Line, Pending, Request, Say, Slate, Weigh

Routed = tuple[Slate, tuple[Request, ...]]


def say(slate: Slate, level: str, words: str, moment: datetime, label: str = "") -> Routed:
    """The same slate with a line and its sound."""
    line = Line(level, words, label or slate.line.label, moment)
    return replace(slate, line=line), (Say(level, words),)


def refuse(slate: Slate, words: str, moment: datetime, label: str = "") -> Routed:
    """Nothing changed, and why."""
    return say(slate, "refused", words, moment, label)


def do(slate: Slate, operation: Operation, after: str, words: str = "", clerk: Clerk | None = None) -> Routed:
    """One operation under way; the slate takes no second."""
    who = clerk or slate.clerk
    pending = Pending(operation.operation_id, words or operation.words, after, clerk)
    return replace(slate, pending=pending), (Do(operation, who.person_id if who else None),)


def weigh(slate: Slate) -> tuple[Request, ...]:
    """The request that looks everything on the slate up again."""
    if not (slate.unit or slate.person or slate.battery):
        return ()
    return (
        Weigh(
            unit_id=slate.unit.unit.id if slate.unit else None,
            person_id=slate.person.person.id if slate.person else None,
            battery_id=slate.battery.battery.id if slate.battery else None,
            ids=slate.ids(),
        ),
    )


def also(routed: Routed, *requests: Request) -> Routed:
    """The same with more requests."""
    slate, before = routed
    return slate, before + requests


def named(slate: Slate, sentence: str, known: tuple[tuple[str, str], ...] = ()) -> str:
    """The sentence with the labels of people turned into names: those on the slate, and others `known`."""
    names = dict(known)
    if slate.person:
        names[slate.person.label] = slate.person.person.name
    if slate.unit and slate.unit.holder:
        names[slate.unit.holder.label] = slate.unit.holder.name
    if slate.clerk:
        names.setdefault(slate.clerk.label, slate.clerk.name)
    for label, name in names.items():
        sentence = sentence.replace(label, name)
    return sentence
