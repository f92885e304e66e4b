"""Stock: every item, what is on the shelf, and its lots."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib.words import count, number
from cribdesk.desk.cards import LotRow, StockRow
from cribdesk.window.components.base import SignMark, Words
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row, StockBar
from cribdesk.window.entry_form import change_buttons, form_button
from cribdesk.window.layout import Panel
from cribdesk.window.layout import Row as Line
from cribdesk.window.list_page import ListPage
from cribdesk.window.lists import button_line
from cribdesk.window.view import View

COLUMNS = (
    Column("", 40),
    Column("Item", 0),
    Column("Code", 150, need=8),
    Column("Label", 150, need=5),
    Column("On hand", 90, right=True),
    Column("and its minimum", 200, need=3),
    Column("Minimum", 90, right=True, need=6),
    Column("Bin", 100, need=2),
    Column("Lots", 80, right=True, need=7),
)


class Stock(ListPage[StockRow]):
    """One list, the low ones first; a row opens to its lots."""

    kind = "stock"
    title = "Stock"
    none = "Nothing on the shelf yet. Enter an item, or load all with cribdesk load."
    columns = COLUMNS
    row_type = StockRow

    def answer_of(self, rows: Sequence[StockRow]) -> str:
        low = sum(row.short for row in rows)
        return f"{count(low, 'item is', 'items are')} below the minimum" if low else "Nothing is below its minimum"

    def counted(self, number: int) -> str:
        return count(number, "item")

    def row_of(self, row: StockRow) -> Row:
        return _row(row)

    def detail_of(self, row: StockRow) -> Panel:
        panel = Panel("sheet", (64, 4, 64, 16), 4)
        panel.column.addWidget(Words(row.code, ink="ink2", wrap=True))
        if not row.lots:
            panel.column.addWidget(Words("No lot is on the shelf.", wrap=True))
        for lot in row.lots:
            panel.column.addLayout(self._lot(row.label, lot))
        count_it = form_button(self.doors, "count", "Count a lot", row.label, size="row")
        panel.column.addSpacing(8)
        panel.column.addLayout(button_line((count_it, *change_buttons(self.doors, "item", row.label, "row"))))
        return panel

    def _lot(self, label: str, lot: LotRow) -> Line:
        until = f"good until {lot.expires}" if lot.expires else ""
        words = ", ".join(part for part in (count(lot.on_hand, "piece"), until, lot.trouble) if part)
        line = Line(gap=8)
        if lot.trouble:
            line.addWidget(SignMark("stop", 20, "sheet"))
        line.addWidget(Words(f"Lot {lot.code}: {words}", wrap=True), 1)
        about, told = f"{label} {lot.lot_id}", f"lot {lot.code}"
        block = "Lift the block" if lot.blocked else "Block"
        line.addWidget(form_button(self.doors, "count", "Count", about, told, "row"))
        line.addWidget(form_button(self.doors, "block", block, about, told, "row"))
        return line


def _row(row: StockRow) -> Row:
    whole = max(row.minimum * 3, row.on_hand, 1)
    bar = StockBar(
        row.on_hand / whole,
        row.minimum / whole,
        level="caution" if row.short else "fine",
        told=f"{row.on_hand}, minimum {row.minimum}",
    )
    told = f"{row.name}: {row.on_hand} that may be fitted, minimum {row.minimum}"
    cells = (
        Mark("caution" if row.short else ""),
        row.name,
        row.code,
        PlateCell(row.label),
        number(row.on_hand),
        bar,
        number(row.minimum),
        row.bin,
        number(len(row.lots)),
    )
    return Row(row.label, cells, bold=row.short, told=f"{told}. {row.trouble}" if row.trouble else told)


VIEW = View("stock", "Stock", 6, frozenset({"stock_item", "lot", "bin", "movement"}), ("stock",), Stock)
