"""A cabinet is called, placed or meant otherwise from now on, or goes out of use."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import Cabinet, Role, Unit, Where
from cribdesk.crib.refusal import LabelTaken, NamedForDanger, WrongFigure
from cribdesk.crib.words import joined
from cribdesk.desk.cabinet import OFFICE
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Work


@dataclass(frozen=True, kw_only=True)
class ChangeCabinet(Operation):
    """Name, place, purpose of a cabinet, and whether it is used. `for_danger` is asked as when it was entered."""

    cabinet_id: int
    cabinet_name: str
    cabinet_place: str
    purpose: str
    for_danger: bool
    active: bool = True

    code: ClassVar[str] = "change-cabinet"
    words: ClassVar[str] = "Changing a cabinet"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """What lies in it goes on lying there under the new name; out of use goes only an empty one."""
        cabinet = fetch(work, Cabinet, self.cabinet_id, "This cabinet")
        work.take(cabinet)
        name, purpose = self._name(work, cabinet), self.purpose.strip()
        if not purpose:
            raise WrongFigure("Purpose", "name what its units may be used for")
        if self.for_danger:
            raise NamedForDanger()
        inside = work.find(Unit, where=Where.EMERGENCY, place=cabinet.name)
        if inside and not self.active:
            labels = joined([one.label for one in inside])
            raise WrongFigure(cabinet.name, f"{labels} lies in it; take it out first, then it goes out of use")
        seal = cabinet.seal if self.active else ""
        work.save(
            replace(
                cabinet, name=name, place=self.cabinet_place.strip(), purpose=purpose, active=self.active, seal=seal
            )
        )
        if name != cabinet.name:
            work.take(*inside)
            for unit in inside:
                work.save(replace(unit, place=name))
        called = f", called {cabinet.name} before" if name != cabinet.name else ""
        words = f"for {purpose}" if self.active else "out of use"
        return Outcome(
            f"Cabinet {name}, {cabinet.label}{called}: {words}.", (cabinet.label, *(one.label for one in inside))
        )

    def _name(self, work: Work, cabinet: Cabinet) -> str:
        name = self.cabinet_name.strip()
        if not name:
            raise WrongFigure("Cabinet", "the name is empty")
        there = work.first(Cabinet, name=name)
        if there is not None and there.id != cabinet.id:
            raise LabelTaken(name, "a cabinet in this store")
        return name
