"""Batteries: every pack, where it is, and its last runs."""

from __future__ import annotations

from cribdesk.crib.words import count, number
from cribdesk.desk.cards import BatteryCard
from cribdesk.window.components.cells import Column, Mark, PlateCell, Row
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Size
from cribdesk.window.lists import ListPanel
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
    """One list."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self.list = ListPanel(
            doors, "batteries", COLUMNS, "Batteries", none="None yet. Enter one, or load all with cribdesk load."
        )
        self._answer = ""
        Boxes(self).addWidget(self.list)

    def want(self) -> None:
        self.list.want()

    def take(self, kind: str, data: object) -> None:
        if kind != "batteries" or not isinstance(data, tuple):
            return
        cards = [card for card in data if isinstance(card, BatteryCard)]
        free = sum(not card.in_use for card in cards)
        self._answer = f"{count(free, 'pack is', 'packs are')} here, {len(cards) - free} out"
        self.list.show_rows(tuple(self._row(card) for card in cards), count(len(cards), "pack"))

    def _row(self, card: BatteryCard) -> Row:
        battery = card.battery
        charged = self.doors.when(battery.charged_at) if battery.charged_at else ""
        exact = f"charged {self.doors.exactly(battery.charged_at)}" if battery.charged_at else "never charged here"
        told = f"{card.label}, {card.where_words}, {exact}, serial {battery.serial or 'none'}. {'. '.join(card.runs)}"
        mark = "out" if card.in_use else "battery"
        cells = (
            Mark(mark),
            PlateCell(card.label),
            battery.model,
            card.where_words,
            charged,
            card.runs[0] if card.runs else "",
            number(battery.cycles),
            battery.note,
        )
        return Row(card.label, cells, told=told)

    def fit(self, size: Size) -> None:
        self.list.fit(size)

    def answer(self) -> str:
        return self._answer or "Batteries"


VIEW = View(
    "batteries",
    "Batteries",
    4,
    frozenset({"battery", "battery_run", "charger", "charger_slot", "custody"}),
    ("batteries",),
    Batteries,
)
