"""An area as it stands from now on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import Area, Role
from cribdesk.crib.refusal import WrongFigure
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.people import OFFICE
from cribdesk.desk.ports import Work


@dataclass(frozen=True, kw_only=True)
class ChangeArea(Operation):
    """What is in the air, what is done there, or whether a respirator is required there changes."""

    area_id: int
    area_name: str
    required: bool
    agents: str = ""
    processes: str = ""
    dust_ug_m3: int | None = None
    note: str = ""

    code: ClassVar[str] = "change-area"
    words: ClassVar[str] = "Changing an area"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves the new values; what is out there is weighed by them from then on."""
        area = fetch(work, Area, self.area_id, "This area")
        if not self.area_name.strip():
            raise WrongFigure("Area", "the name is empty")
        if self.dust_ug_m3 is not None and self.dust_ug_m3 < 0:
            raise WrongFigure("Dust", "a concentration is not below zero")
        work.take(area)
        work.save(
            replace(
                area,
                name=self.area_name.strip(),
                required=self.required,
                agents=self.agents,
                processes=self.processes,
                dust_ug_m3=self.dust_ug_m3,
                note=self.note,
            )
        )
        told = ""
        if area.required != self.required:
            told = f" A respirator is {'required' if self.required else 'not required'} there from now on."
        return Outcome(f"Area {area.label} changed.{told}", (area.label,))
