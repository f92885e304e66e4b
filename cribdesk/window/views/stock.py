"""Stock: every item, what is on the shelf, and its lots."""

from __future__ import annotations

from cribdesk.crib.words import count, number
from cribdesk.desk.cards import LotRow, StockRow
from cribdesk.window.components.base import SignMark, Words
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row, StockBar
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import change_buttons, form_button
from cribdesk.window.layout import Boxes, Panel, Size
from cribdesk.window.layout import Row as Line
from cribdesk.window.lists import ListPanel, Opening, button_line
from cribdesk.window.view import Page, View

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


class Stock(Page):
    """One list, the low ones first; a row opens to its lots."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(
            doors,
            "stock",
            COLUMNS,
            "Stock",
            none="Nothing on the shelf yet. Enter an item, or load all with cribdesk load.",
        )
        self._rows: dict[str, StockRow] = {}
        self._answer = ""
        self._opening = Opening(doors, self.list, self._lots)
        Boxes(self).addWidget(self.list)

    def open(self, kind: str, argument: str) -> None:
        self._opening.want(argument)

    def want(self) -> None:
        self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind != "stock" or not isinstance(data, tuple):
            return
        rows = [row for row in data if isinstance(row, StockRow)]
        self._rows = {row.label: row for row in rows}
        low = sum(row.short for row in rows)
        self._answer = (
            f"{count(low, 'item is', 'items are')} below the minimum" if low else "Nothing is below its minimum"
        )
        self.list.show_rows(tuple(_row(row) for row in rows), count(len(rows), "item"))
        self._opening.rows_shown()

    def _lots(self, label: str) -> Panel | None:
        row = self._rows.get(label)
        if row is None:
            return None
        panel = Panel("sheet", (64, 4, 64, 16), 4)
        panel.column.addWidget(Words(row.code, ink="ink2", wrap=True))
        if not row.lots:
            panel.column.addWidget(Words("No lot is on the shelf.", wrap=True))
        for lot in row.lots:
            panel.column.addLayout(self._lot(label, lot))
        count_it = form_button(self.doors, "count", "Count a lot", label, size="row")
        panel.column.addSpacing(8)
        panel.column.addLayout(button_line((count_it, *change_buttons(self.doors, "item", label, "row"))))
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

    def fit(self, size: Size) -> None:
        self.list.fit(size)

    def answer(self) -> str:
        return self._answer or "Stock"


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


VIEW = View("stock", "Stock", 5, frozenset({"stock_item", "lot", "bin", "movement"}), ("stock",), Stock)
