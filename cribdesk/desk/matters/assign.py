"""A unit goes out to one person for weeks: with no time of return, and with the wearer's own checks."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.routing import Routed, also, say, weigh
from cribdesk.desk.slate import Slate


def _offered(house: House, slate: Slate) -> str | None:
    if slate.person is None or slate.unit is None or slate.unit.is_out:
        return None
    return "It is to be assigned already; F6 chooses a time of return." if slate.assigned else ""


def _turns(house: House, slate: Slate, moment: datetime) -> Routed:
    placed = replace(slate, assigned=True, due_at=None, facts=None, reasons=())
    words = "Assigned: no time of return. The wearer checks it before each use"
    return also(say(placed, "taken", words, moment), *weigh(placed))


MATTERS = (Matter(id="assign", offered=_offered, turns=_turns),)
