"""Areas: places and tasks that units are issued for."""

from __future__ import annotations

from cribdesk.crib.words import count
from cribdesk.desk.cards import AreaRow
from cribdesk.window.components.cells import Column, PlateCell, Row
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import change_buttons
from cribdesk.window.layout import Boxes, Panel, Size
from cribdesk.window.lists import ListPanel, Opening, button_line, facts_beside
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
    """One list; a row opens to what is noted of it."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(
            doors, "areas", COLUMNS, "Areas", none="No areas yet. Enter one, or load all with cribdesk load."
        )
        self._answer = ""
        self._rows: dict[str, AreaRow] = {}
        self._opening = Opening(doors, self.list, self._detail)
        Boxes(self).addWidget(self.list)

    def open(self, kind: str, argument: str) -> None:
        self._opening.want(argument)

    def want(self) -> None:
        self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind != "areas" or not isinstance(data, tuple):
            return
        rows = [row for row in data if isinstance(row, AreaRow)]
        self._answer = f"{count(len(rows), 'area')}; exposure is not checked here yet"
        self._rows = {row.label: row for row in rows}
        self.list.show_rows(tuple(_row(row) for row in rows), count(len(rows), "area"))
        self._opening.rows_shown()

    def _detail(self, label: str) -> Panel | None:
        row = self._rows.get(label)
        if row is None:
            return None
        panel = Panel("sheet", (24, 4, 24, 16), 4)
        known = (("Process", row.processes), ("Agents", row.agents), ("Note", row.note))
        panel.column.addLayout(facts_beside((*known, ("Units out for it now", str(row.out_now)))))
        panel.column.addSpacing(8)
        panel.column.addLayout(button_line(change_buttons(self.doors, "area", label, "row")))
        return panel

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
