"""Areas: places and tasks that units are issued for."""

from __future__ import annotations

from cribdesk.crib.words import count
from cribdesk.desk.cards import AreaRow
from cribdesk.window.components.cells import Column, PlateCell, Row
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Size
from cribdesk.window.lists import ListPanel
from cribdesk.window.view import Page, View

COLUMNS = (
    Column("Label", 150),
    Column("Area or task", 0),
    Column("Process", 240, need=4),
    Column("Agents", 220, need=5),
    Column("Respirator", 130, need=3),
    Column("Exposure", 170, need=2),
)


class Areas(Page):
    """One list."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(
            doors, "areas", COLUMNS, "Areas", none="No areas yet. Enter one, or load all with cribdesk load."
        )
        self._answer = ""
        Boxes(self).addWidget(self.list)

    def want(self) -> None:
        self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind != "areas" or not isinstance(data, tuple):
            return
        rows = [row for row in data if isinstance(row, AreaRow)]
        self._answer = f"{count(len(rows), 'area')}; exposure is not checked here yet"
        self.list.show_rows(tuple(_row(row) for row in rows), count(len(rows), "area"))

    def fit(self, size: Size) -> None:
        self.list.fit(size)

    def answer(self) -> str:
        return self._answer or "Areas"


def _row(area: AreaRow) -> Row:
    cells = (
        PlateCell(area.label),
        area.name,
        area.processes,
        area.agents,
        "required" if area.required else "voluntary",
        "not checked yet",
    )
    told = ". ".join(
        part for part in (area.name, area.processes, area.agents, area.note, "An industrial hygienist decides") if part
    )
    return Row(area.label, cells, told=told)


VIEW = View("areas", "Areas", 7, frozenset({"area"}), ("areas",), Areas)
