"""Stock: every item, what is on the shelf, and its lots."""

from __future__ import annotations

from cribdesk.crib.words import count, number
from cribdesk.desk.cards import StockRow
from cribdesk.window.components.base import Words
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row, StockBar
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Size
from cribdesk.window.lists import ListPanel
from cribdesk.window.rows import Fact
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
        self.list.table.opened.connect(self._open)
        self._rows: dict[str, StockRow] = {}
        self._opened, self._answer = "", ""
        Boxes(self).addWidget(self.list)

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

    def _open(self, label: str) -> None:
        if label == self._opened:
            self._opened = ""
            self.list.table.close_under()
            return
        self._opened = label
        self.list.table.open_under(label, self._lots(self._rows[label]))

    def _lots(self, row: StockRow) -> Panel:
        panel = Panel("sheet", (64, 4, 64, 16))
        panel.column.addWidget(Words(row.code, ink="ink2", wrap=True))
        if not row.lots:
            panel.column.addWidget(Words("No lot is on the shelf.", wrap=True))
        for lot in row.lots:
            until = f", good until {lot.expires}" if lot.expires else ""
            trouble = f", {lot.trouble}" if lot.trouble else ""
            words = f"{count(lot.on_hand, 'piece')}{until}{trouble}"
            panel.column.addWidget(Fact(f"Lot {lot.code}", words, "stop" if lot.trouble else "", bold=False))
        return panel

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
