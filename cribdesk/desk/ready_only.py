"""What only a ready unit may do: lie in a cabinet, be lent."""

from __future__ import annotations

from cribdesk.crib.records import Unit
from cribdesk.crib.refusal import NotReady
from cribdesk.crib.serviceable import Serviceable, condition
from cribdesk.desk.facts import standing_of
from cribdesk.desk.operation import Context
from cribdesk.desk.ports import Work

IN_A_CABINET = "The emergency cabinet takes a ready unit only."


def must_be_ready(work: Work, context: Context, unit: Unit, only: str = IN_A_CABINET) -> None:
    """Raises NotReady for a unit that is not, or of which nothing can be said."""
    if unit.model not in context.house.models:
        raise NotReady(unit.label, f"model {unit.model} has no file in resources/units", only)
    found = condition(standing_of(work, context.house, unit, context.moment))
    if found.state is not Serviceable.READY:
        raise NotReady(unit.label, f"{found.state.value}, {'; '.join(found.why)}", only)
