"""A table as high as its rows, so that several of them scroll together as one page."""

from __future__ import annotations

from PySide6.QtCore import Qt

from cribdesk.window.components.cells import Column, Row
from cribdesk.window.components.table import Table
from cribdesk.window.look import current, source

HEAD, ROW = 36, 48


class WholeTable(Table):
    """Shows all its rows; the page around it scrolls."""

    def __init__(self, columns: tuple[Column, ...], name: str = "") -> None:
        super().__init__(columns, name)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        source.look_changed.connect(self.fit_rows)

    def show_rows(self, rows: tuple[Row, ...]) -> None:
        """Show these, and take the height they need."""
        self.set_rows(rows)
        self.fit_rows()

    def fit_rows(self) -> None:
        """Take the height the rows need."""
        look = current()
        self.setFixedHeight(look.px(HEAD) + look.px(ROW) * len(self.rows_model.rows) + 2)
