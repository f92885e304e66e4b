"""A filter that was just changed at the counter or in a check: which bag it goes into, and the scan that logs it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.desk.cards import BagCard
from cribdesk.desk.routing import Routed, do, refuse, say
from cribdesk.desk.slate import ChangeForm, Scanned, Slate, UsedPart
from cribdesk.desk.waste import BagWaste

BAGGED = "bagged"


def changed(slate: Slate, form: object) -> Slate:
    """The slate after a part was changed: a filter worn among agents waits for its bag."""
    unit = slate.unit
    if not isinstance(form, ChangeForm) or "filter" not in form.position:
        return slate
    if unit is None or unit.unit.id != form.unit_id or unit.used is None:
        return slate
    what = dict(form.positions).get(form.position, form.position)
    part = UsedPart(form.unit_id, form.unit_label, what.lower(), unit.used.stream, unit.used.bag)
    return replace(slate, used=part if unit.used.said else None)


def told(routed: Routed, moment: datetime) -> Routed:
    """The same with where the used filter goes behind what was said."""
    slate, requests = routed
    if slate.used is None:
        return routed
    said, more = say(slate, "caution", f"{slate.line.words} {slate.used.words}".strip(), moment)
    return said, (*(one for one in requests if type(one) is not type(more[0])), *more)


def into_bag(slate: Slate, part: UsedPart, card: BagCard, event: Scanned) -> Routed:
    """The bag was scanned that the filter goes into; another stream's bag, or a closed one, is told."""
    if card.bag.closed_at is not None:
        words = f"Bag {card.label} is closed, in drum {card.bag.drum}. Scan an open one. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    if card.bag.stream != part.stream:
        words = f"Bag {card.label} is for '{card.bag.stream}', this filter for '{part.stream}'. Nothing changed."
        return refuse(slate, words, event.moment, card.label)
    operation = BagWaste(operation_id=event.token, bag_id=card.bag.id, what=part.what, unit_id=part.unit_id)
    return do(slate, operation, BAGGED)
