"""Batteries: every pack, where it is, and its last runs."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib.words import count, number
from cribdesk.desk.cards_lists import BatteryRow
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.entry_form import change_buttons
from cribdesk.window.layout import Panel
from cribdesk.window.list_page import ListPage
from cribdesk.window.lists import button_line, facts_beside
from cribdesk.window.run_time import lay_run_time
from cribdesk.window.view import View

COLUMNS = (
    Column("", 40),
    Column("Label", 150),
    Column("Model", 130, need=5),
    Column("Where", 0),
    Column("Charged", 150, need=3),
    Column("Last run", 220, need=4),
    Column("Cycles", 90, right=True, need=6),
    Column("Health", 110, right=True, need=2),
    Column("Note", 180, need=8),
)


class Batteries(ListPage[BatteryRow]):
    """One list; a row opens to all that is known of the pack."""

    kind = "batteries"
    title = "Batteries"
    none = "No batteries yet. Enter one, or load all with cribdesk load."
    columns = COLUMNS
    row_type = BatteryRow

    def answer_of(self, rows: Sequence[BatteryRow]) -> str:
        out = sum(bool(row.holder) for row in rows)
        return f"{count(len(rows) - out, 'pack is', 'packs are')} here, {out} out"

    def counted(self, number: int) -> str:
        return count(number, "pack")

    def row_of(self, row: BatteryRow) -> Row:
        return _row(row)

    def detail_of(self, row: BatteryRow) -> Panel:
        panel = Panel("sheet", (24, 4, 24, 16), 4)
        facts = (("Where", _where(row)), ("Charged", row.charged), ("Last run", row.last_run),
                 ("Of an average new one", _health(row)), ("Note", row.note))  # fmt: skip
        panel.column.addLayout(facts_beside(facts))
        panel.column.addSpacing(4)
        lay_run_time(panel.column, row.run_time, figures=False, grown=self.list.table.fit_detail)
        panel.column.addSpacing(8)
        panel.column.addLayout(button_line(change_buttons(self.doors, "battery", row.label, "row")))
        return panel


def _where(row: BatteryRow) -> str:
    return f"{row.where}, with {row.holder}" if row.holder else row.where


def _health(row: BatteryRow) -> str:
    return row.run_time.health if row.run_time else ""


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
        _health(row),
        row.note,
    )
    return Row(row.label, cells, bold=False, told=told)


VIEW = View(
    "batteries",
    "Batteries",
    5,
    frozenset({"battery", "battery_run", "charger", "charger_slot", "custody"}),
    ("batteries",),
    Batteries,
)
