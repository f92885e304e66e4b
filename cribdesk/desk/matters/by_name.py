"""The confirmation that somebody without a badge is who the search found. Only the search opens it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.desk import by_name, scans
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.routing import Routed
from cribdesk.desk.slate import AskForm, Scanned, Slate


def _lay(house: House, slate: Slate, form: AskForm, moment: datetime) -> Routed:
    """The person lies on the counter, as by their badge; the slate remembers that it was by name."""
    card = slate.named
    assert card is not None
    bare = replace(slate, form=None, named=None)
    placed, requests = scans.person_down(bare, card, Scanned(moment, card.label, card))
    line = replace(placed.line, words=f"{placed.line.words}, found by name")
    return replace(placed, by_name=card.person.id, line=line), requests


MATTERS = (Matter(id=by_name.MATTER, offered=lambda house, slate: None, settles=_lay),)
