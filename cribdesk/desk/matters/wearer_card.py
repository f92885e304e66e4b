"""The wearer's card of the unit on the counter prints: one page about its model, to hand over with it."""

from __future__ import annotations

from datetime import datetime

from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.routing import Routed, also, say
from cribdesk.desk.slate import PrintPaper, Slate

PAPER = "wearer_card"


def _offered(house: House, slate: Slate) -> str | None:
    if slate.unit is None:
        return None
    return "" if slate.unit.model.card is not None else f"The file of {slate.unit.model.code} has no wearer's card yet."


def _turns(house: House, slate: Slate, moment: datetime) -> Routed:
    assert slate.unit is not None
    model = slate.unit.model
    routed = say(slate, "taken", f"The wearer's card of the {model.short_name} is printing.", moment)
    return also(routed, PrintPaper(PAPER, model.code))


MATTERS = (Matter(id="wearer-card", offered=_offered, turns=_turns),)
