"""Units are inspected and sealed for the next shift, one after the other."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.records import Role
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.pre_staging import MODE
from cribdesk.desk.routing import Routed, say
from cribdesk.desk.slate import Slate

MAY = (Role.ATTENDANT.value, Role.TECHNICIAN.value)


def _offered(house: House, slate: Slate) -> str | None:
    if not slate.empty:
        return None
    if slate.clerk is not None and not set(MAY) & set(slate.clerk.roles.split(",")):
        return f"A bench inspection takes a {' or '.join(MAY)}."
    return ""


def _turns(house: House, slate: Slate, moment: datetime) -> Routed:
    begun = replace(slate.cleared(), mode=MODE)
    meter = "" if slate.meter is not None else " The flow meter first."
    return say(begun, "taken", f"For the next shift: scan unit after unit.{meter} F9 ends it.", moment)


MATTERS = (Matter(id="pre-stage", offered=_offered, turns=_turns),)
