"""Every unit on the rack is scanned, and the book is held to it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.records import Unit, Where
from cribdesk.crib.words import count
from cribdesk.desk.cards import Card, UnitCard
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.ports import Reader
from cribdesk.desk.rack_audit import AuditRack
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.routing import Routed, also, say
from cribdesk.desk.slate import AskForm, AskLine, Show, Slate

SHELF = "rack-audits"
"""The list that comes up where something differs."""


def _opens(house: House, slate: Slate, moment: datetime) -> AskForm:
    return AskForm(
        "rack-audit", "What hangs on the rack?", lines_none="Scan each unit on the rack, one after the other.",
        go="Compare with the book", cost="moves nothing",
    )  # fmt: skip


def _takes(house: House, slate: Slate, form: AskForm, card: Card) -> AskForm | str | None:
    if not isinstance(card, UnitCard):
        return f"{card.label} is no unit. Auditing the rack: scan the units. Nothing changed."
    if any(one.label == card.label for one in form.lines):
        return f"{card.label} is counted already. Nothing changed."
    expected = card.unit.where is Where.RACK and not card.is_out
    book = "on the rack" if expected else f"hangs here; in the book it is {card.where_words}"
    words = f"{card.label} {book}"
    line = AskLine(str(card.unit.id), card.label, words, level="" if expected else "caution")
    return replace(form, lines=(*form.lines, line))


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """How many the book expects, and how many of them were scanned."""
    expected = {str(one.id) for one in reader.find(Unit, where=Where.RACK)}
    there = sum(1 for one in form.lines if one.key in expected)
    beside = len(form.lines) - there
    more = f", {beside} not expected" if beside else ""
    return replace(form, lead=f"By the book {count(len(expected), 'unit')} on the rack: {there} scanned{more}.")


def _lacks(form: AskForm) -> str:
    return "" if form.lines else "Scan the first unit."


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> AuditRack:
    return AuditRack(operation_id=token, unit_ids=tuple(int(one.key) for one in form.lines))


def _after(house: House, slate: Slate, form: AskForm | None, receipt: Receipt, moment: datetime) -> Routed:
    """Where something differs its list comes up, for each to be said or moved."""
    told = say(slate, "caution" if receipt.subjects else "taken", receipt.sentence, moment)
    return also(told, Show("shift", SHELF)) if receipt.subjects else told


MATTERS = (
    Matter(
        id="rack-audit", offered=lambda house, slate: "" if slate.empty else None, opens=_opens, takes=_takes,
        asks=_asks, lacks=_lacks, builds=_builds, after=_after,
    ),
)  # fmt: skip
