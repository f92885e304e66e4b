"""Stock: every item, what is on the shelf, and its lots."""

from __future__ import annotations

from cribdesk.crib.words import count, date_words, number
from cribdesk.desk.cards import ItemCard
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
    Column("Label", 150, need=5),
    Column("On hand", 90, right=True),
    Column("and its minimum", 200, need=3),
    Column("Minimum", 90, right=True, need=6),
    Column("Bin", 100, need=2),
    Column("Lots", 80, right=True, need=7),
)


def is_low(card: ItemCard) -> bool:
    """Below the minimum that was set."""
    return card.on_hand < card.item.minimum


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
        self._cards: dict[str, ItemCard] = {}
        self._opened, self._answer = "", ""
        Boxes(self).addWidget(self.list)

    def want(self) -> None:
        self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind != "stock" or not isinstance(data, tuple):
            return
        cards = sorted(
            (card for card in data if isinstance(card, ItemCard)), key=lambda card: (not is_low(card), card.item.name)
        )
        self._cards = {card.label: card for card in cards}
        low = sum(is_low(card) for card in cards)
        self._answer = (
            f"{count(low, 'item is', 'items are')} below the minimum" if low else "Nothing is below its minimum"
        )
        self.list.show_rows(tuple(_row(card) for card in cards), count(len(cards), "item"))

    def _open(self, label: str) -> None:
        if label == self._opened:
            self._opened = ""
            self.list.table.close_under()
            return
        self._opened = label
        self.list.table.open_under(label, self._lots(self._cards[label]))

    def _lots(self, card: ItemCard) -> Panel:
        panel = Panel("sheet", (64, 4, 64, 16))
        item = card.item
        about = ", ".join(
            part for part in (item.code, item.maker, item.maker_number, f"packs of {item.pack_size}") if part
        )
        panel.column.addWidget(Words(about, ink="ink2", wrap=True))
        if not card.lots:
            panel.column.addWidget(Words("No lot has arrived yet.", wrap=True))
        for lot in card.lots:
            until = f", good until {date_words(lot.expires_on)}" if lot.expires_on else ""
            blocked = f", blocked: {lot.blocked}" if lot.blocked else ""
            panel.column.addWidget(
                Fact(
                    f"Lot {lot.code}",
                    f"{count(lot.on_hand, 'piece')}{until}{blocked}",
                    "stop" if lot.blocked else "",
                    bold=False,
                )
            )
        return panel

    def fit(self, size: Size) -> None:
        self.list.fit(size)

    def answer(self) -> str:
        return self._answer or "Stock"


def _row(card: ItemCard) -> Row:
    low, item = is_low(card), card.item
    whole = max(item.maximum or 0, item.minimum * 3, card.on_hand, 1)
    bar = StockBar(
        card.on_hand / whole,
        item.minimum / whole,
        level="caution" if low else "fine",
        told=f"{card.on_hand}, minimum {item.minimum}",
    )
    told = f"{item.name}: {card.on_hand} on hand, minimum {item.minimum}; blocked lots are not counted"
    cells = (
        Mark("caution" if low else ""),
        item.name,
        PlateCell(card.label),
        number(card.on_hand),
        bar,
        number(item.minimum),
        card.bin.code if card.bin else "",
        number(len(card.lots)),
    )
    return Row(card.label, cells, bold=low, told=told)


VIEW = View("stock", "Stock", 5, frozenset({"stock_item", "lot", "bin", "movement"}), ("stock",), Stock)
