"""Batteries: every pack, where it is, and its last runs."""

from __future__ import annotations

from cribdesk.crib.words import count, number
from cribdesk.desk.cards import BatteryRow
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import change_buttons
from cribdesk.window.layout import Boxes, Panel, Size
from cribdesk.window.lists import ListPanel, Opening, button_line, facts_beside
from cribdesk.window.view import Page, View

COLUMNS = (
    Column("", 40),
    Column("Label", 150),
    Column("Model", 130, need=5),
    Column("Where", 0),
    Column("Charged", 150, need=3),
    Column("Last run", 220, need=4),
    Column("Cycles", 90, right=True, need=6),
    Column("Note", 180, need=8),
)


class Batteries(Page):
    """One list; a row opens to all that is known of the pack."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(
            doors,
            "batteries",
            COLUMNS,
            "Batteries",
            none="No batteries yet. Enter one, or load all with cribdesk load.",
        )
        self._answer = ""
        self._rows: dict[str, BatteryRow] = {}
        self._opening = Opening(doors, self.list, self._detail)
        Boxes(self).addWidget(self.list)

    def open(self, kind: str, argument: str) -> None:
        self._opening.want(argument)

    def want(self) -> None:
        self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind != "batteries" or not isinstance(data, tuple):
            return
        rows = [row for row in data if isinstance(row, BatteryRow)]
        out = sum(bool(row.holder) for row in rows)
        self._answer = f"{count(len(rows) - out, 'pack is', 'packs are')} here, {out} out"
        self._rows = {row.label: row for row in rows}
        self.list.show_rows(tuple(_row(row) for row in rows), count(len(rows), "pack"))
        self._opening.rows_shown()

    def _detail(self, label: str) -> Panel | None:
        row = self._rows.get(label)
        if row is None:
            return None
        panel = Panel("sheet", (24, 4, 24, 16), 4)
        facts = (("Where", _where(row)), ("Charged", row.charged), ("Last run", row.last_run), ("Note", row.note))
        panel.column.addLayout(facts_beside(facts))
        panel.column.addSpacing(8)
        panel.column.addLayout(button_line(change_buttons(self.doors, "battery", label, "row")))
        return panel

    def fit(self, size: Size) -> None:
        self.list.fit(size)

    def answer(self) -> str:
        return self._answer or "Batteries"


def _where(row: BatteryRow) -> str:
    return f"{row.where}, with {row.holder}" if row.holder else row.where


def _row(row: BatteryRow) -> Row:
    told = ". ".join(part for part in (row.label, row.where, row.holder, row.charged, row.last_run, row.note) if part)
    cells = (
        Mark("out" if row.holder else row.sign),
        PlateCell(row.label),
        row.model,
        _where(row),
        row.charged,
        row.last_run,
        number(row.cycles),
        row.note,
    )
    return Row(row.label, cells, bold=False, told=told)


VIEW = View(
    "batteries",
    "Batteries",
    4,
    frozenset({"battery", "battery_run", "charger", "charger_slot", "custody"}),
    ("batteries",),
    Batteries,
)
