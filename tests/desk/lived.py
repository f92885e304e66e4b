"""Stores with lives in them, written row by row: for forecasts, where issuing and inspecting would only take time."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from itertools import count

from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Area, Custody, Fitted, Person, StockItem, Unit
from cribdesk.desk.house import House
from cribdesk.desk.ports import Store, Unwritten, Work
from tests.desk.shop import house

START = datetime(2025, 1, 6, 6, 0, tzinfo=UTC)
USE = 5.0
"""Hours of one use."""


def house_with(position: str, **changes: object) -> House:
    """The shipped house, one position of the WL1 changed."""
    model = house().models["WL1"]
    places = tuple(replace(one, **changes) if one.code == position else one for one in model.positions)  # type: ignore[arg-type]
    changed: UnitModel = replace(model, positions=places)
    return replace(house(), models={**house().models, "WL1": changed})


@dataclass
class Lived:
    """A store that gets units with lives, one journal entry for each call."""

    store: Store
    numbers: count[int] = field(default_factory=lambda: count(1))

    def write(self, rows: Sequence[object]) -> list[object]:
        """Saves the records in one entry."""
        with self.store.work() as work:
            saved = [work.save(row) for row in rows]  # type: ignore[type-var]
            self.entry(work)
        return list(saved)

    def entry(self, work: Work) -> None:
        """The entry of what was saved."""
        number = next(self.numbers)
        work.commit(
            Unwritten(
                operation="try", operation_id=str(uuid.UUID(int=number)), request="0" * 64,
                moment=START + timedelta(minutes=number), counter="Office", clerk="P000001X",
                subjects=(f"P{number:06}X",), sentence=f"Tried {number}.",
            )
        )  # fmt: skip

    def ground(self, **dust: int | None) -> None:
        """A clerk, an item, and areas with their dust."""
        self.write([Person(label="P000001X", name="Somebody"), StockItem(label="I000001X", code="X", name="Part")])
        named = enumerate(dust.items(), 1)
        self.write([Area(label=f"A{n:06}X", name=name, dust_ug_m3=one) for n, (name, one) in named])

    def unit(
        self,
        worn: float,
        *lives: tuple[float, str],
        position: str = "pre-filter",
        area_id: int | None = None,
        at_once: bool = True,
        told: bool = True,
    ) -> int:
        """A unit whose parts at the position had these (hours, why) lives one after the other, the last still fitted.

        With `at_once` a life is one use, else it is worn in uses of 5 h. Not `told`, the uses say no hours, so that
        the end of a life is known to the hour of the unit's meter.
        """
        number = next(self.numbers)
        whole = sum(hours for hours, _ in lives) + worn
        label = f"U{number:06}X"
        with self.store.work() as work:
            unit = work.save(Unit(label=label, model="WL1", worn_hours=whole, added_at=START))
            for row in self._history(unit, lives, worn, position, area_id, at_once, told):
                work.save(row)
            self.entry(work)
        return unit.id

    def _history(
        self,
        unit: Unit,
        lives: Sequence[tuple[float, str]],
        worn: float,
        position: str,
        area_id: int | None,
        at_once: bool,
        told: bool,
    ) -> list[Custody | Fitted]:
        rows: list[Custody | Fitted] = []
        meter, moment = 0.0, START + timedelta(hours=1)
        for hours, why in (*lives, (worn, None)):
            fitted_at = moment
            for hours_of_use in _uses(hours, at_once):
                out, moment = moment, moment + timedelta(hours=hours_of_use + 12)
                rows.append(
                    Custody(
                        unit_id=unit.id, person_id=1, area_id=area_id, issued_at=out, issued_by=1,
                        returned_at=moment, received_by=1, worn_hours=hours_of_use if told else 0.0,
                    )
                )  # fmt: skip
            moment += timedelta(hours=1)
            rows.append(
                Fitted(
                    unit_id=unit.id, position=position, item_id=1, fitted_at=fitted_at, fitted_at_hours=meter,
                    removed_at=None if why is None else moment,
                    removed_at_hours=None if why is None else meter + hours,
                    removed_why=why or "",
                )
            )  # fmt: skip
            meter += hours
            moment += timedelta(hours=1)
        return rows


def _uses(hours: float, at_once: bool) -> list[float]:
    if at_once or hours <= USE:
        return [hours] if hours else []
    whole = int(hours // USE)
    rest = hours - whole * USE
    return [USE] * whole + ([rest] if rest > 1e-9 else [])
