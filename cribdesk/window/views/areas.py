"""Areas: places and tasks that units are issued for."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib.words import count
from cribdesk.desk.cards import AreaRow
from cribdesk.window.components.cells import Column, PlateCell, Row
from cribdesk.window.entry_form import change_buttons
from cribdesk.window.layout import Panel
from cribdesk.window.list_page import ListPage
from cribdesk.window.lists import button_line, facts_beside
from cribdesk.window.view import View

COLUMNS = (
    Column("Label", 150),
    Column("Area or task", 0),
    Column("Process", 240, need=4),
    Column("Agents", 220, need=5),
    Column("Respirator", 130, need=3),
    Column("Exposure", 170, need=2),
)


class Areas(ListPage[AreaRow]):
    """One list; a row opens to what is noted of it."""

    kind = "areas"
    title = "Areas"
    none = "No areas yet. Enter one, or load all with cribdesk load."
    columns = COLUMNS
    row_type = AreaRow

    def answer_of(self, rows: Sequence[AreaRow]) -> str:
        return f"{self.counted(len(rows))}; exposure is not checked here yet"

    def counted(self, number: int) -> str:
        return count(number, "area")

    def row_of(self, row: AreaRow) -> Row:
        return _row(row)

    def detail_of(self, row: AreaRow) -> Panel:
        panel = Panel("sheet", (24, 4, 24, 16), 4)
        known = (("Process", row.processes), ("Agents", row.agents), ("Note", row.note))
        panel.column.addLayout(facts_beside((*known, ("Units out for it now", str(row.out_now)))))
        panel.column.addSpacing(8)
        panel.column.addLayout(button_line(change_buttons(self.doors, "area", row.label, "row")))
        return panel


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


VIEW = View("areas", "Areas", 8, frozenset({"area"}), ("areas",), Areas)
