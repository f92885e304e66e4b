"""The daily check of a flow meter: scanned on the empty counter, then one key."""

from __future__ import annotations

from datetime import datetime

from cribdesk.desk import checks
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.meter_check import reference_of
from cribdesk.desk.routing import Routed
from cribdesk.desk.slate import Slate


def _offered(house: House, slate: Slate) -> str | None:
    """Only right after a meter was scanned beside nothing else."""
    if not slate.empty or slate.meter is None or slate.line.label != slate.meter.label:
        return None
    return "" if reference_of(house) else "Enter the flow of the reference blower in the settings first."


def _turns(house: House, slate: Slate, moment: datetime) -> Routed:
    assert slate.meter is not None
    return checks.begin_meter(house, slate, slate.meter, moment)


MATTERS = (Matter(id="meter-check", offered=_offered, shown=True, kind="go", turns=_turns),)
