"""What a table shows: columns, rows, the kinds of cells, and their model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QWidget

from cribdesk.window import drawing
from cribdesk.window.components.life import Life
from cribdesk.window.look import current

Index = QModelIndex | QPersistentModelIndex
CELL = Qt.ItemDataRole.UserRole


@dataclass(frozen=True)
class Column:
    """A head and its width in 100 % px; width 0 takes what is left. `need` 0 is dropped last, 9 first.

    A column of width 0 keeps at least `least`. `key` is what `sort_asked` tells; without a key the head sorts nothing.
    """

    head: str
    wide: int = 0
    right: bool = False
    need: int = 0
    key: str = ""
    least: int = 160


@dataclass(frozen=True)
class Mark:
    """A sign in a cell; empty for none."""

    kind: str


@dataclass(frozen=True)
class PlateCell:
    """A label as its plate."""

    label: str


@dataclass(frozen=True)
class LifeCell:
    """A life bar; `told` says it in words."""

    life: Life
    told: str


@dataclass(frozen=True)
class StockBar:
    """What is there, what is coming, and where to reorder, as shares of the bin (0 to 1)."""

    there: float
    reorder: float
    coming: float = 0.0
    level: str = "fine"
    told: str = ""


@dataclass(frozen=True)
class Tick:
    """A box that is ticked or not."""

    ticked: bool


Cell = str | Mark | PlateCell | LifeCell | StockBar | Tick


@dataclass(frozen=True)
class Row:
    """One row: its id, its cells, bold where somebody must act, and the whole words on hover."""

    id: str
    cells: tuple[Cell, ...]
    bold: bool = False
    told: str = ""


def spoken(cell: Cell) -> str:
    """A cell in words, for screen readers and for hovering."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Mark):
        return cell.kind
    if isinstance(cell, PlateCell):
        return cell.label
    if isinstance(cell, Tick):
        return "chosen" if cell.ticked else "not chosen"
    return cell.told


class RowsModel(QAbstractTableModel):
    """Frozen rows as a Qt model; `more_wanted(count)` at the end of the list while the source has more."""

    more_wanted = Signal(int)

    def __init__(self, columns: tuple[Column, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.columns = columns
        self.rows: list[Row] = []
        self._more = False
        self._asked = False

    def set_rows(self, rows: tuple[Row, ...], more: bool = False) -> None:
        """Show these; `more` says that the source has further ones."""
        self.beginResetModel()
        self.rows, self._more, self._asked = list(rows), more, False
        self.endResetModel()

    def append_rows(self, rows: tuple[Row, ...], more: bool = False) -> None:
        """Add a page at the end."""
        if rows:
            first = len(self.rows)
            self.beginInsertRows(QModelIndex(), first, first + len(rows) - 1)
            self.rows.extend(rows)
            self.endInsertRows()
        self._more, self._asked = more, False

    def set_row(self, number: int, row: Row) -> None:
        """Put another row in the place of one."""
        self.rows[number] = row
        self.dataChanged.emit(self.index(number, 0), self.index(number, len(self.columns) - 1))

    def number_of(self, id_: str) -> int:
        """Where a row stands, or -1."""
        return next((n for n, row in enumerate(self.rows) if row.id == id_), -1)

    def canFetchMore(self, parent: Index) -> bool:
        return self._more and not self._asked and not parent.isValid()

    def fetchMore(self, parent: Index) -> None:
        self._asked = True
        self.more_wanted.emit(len(self.rows))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return 0 if parent.isValid() else len(self.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        row = self.rows[index.row()]
        cell = row.cells[index.column()] if index.column() < len(row.cells) else ""
        if role == CELL:
            return cell
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return spoken(cell)
        if role == Qt.ItemDataRole.ToolTipRole:
            return row.told or (cell if isinstance(cell, str) else None)
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if orientation != Qt.Orientation.Horizontal:
            return None
        column = self.columns[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.head
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return drawing.RIGHT if column.right else drawing.LEFT
        if role == Qt.ItemDataRole.FontRole:
            return current().font(14)
        return None


def draw_stock(painter: QPainter, room: QRectF, bar: StockBar) -> None:
    """The bar of a stock item: filled to what is there, dashed what is coming, an upright to reorder at."""
    look, c = current(), current().colours
    body = QRectF(room.left(), room.center().y() - look.px(7), room.width(), look.px(14))
    painter.fillRect(body, c.track)
    drawing.hairline(painter, body.left(), body.right(), body.bottom() - look.px(1), c.edge)
    there = QRectF(body.left(), body.top(), body.width() * min(1.0, bar.there), body.height())
    if bar.level == "fine":
        painter.fillRect(there, c.steel)
    elif there.width() >= 1:
        fill = c.stop if bar.level == "stop" else c.caut
        drawing.box(painter, there, fill=fill, edge=c.ink, thick=1)
    if bar.coming:
        wide = body.width() * (min(1.0, bar.there + bar.coming) - min(1.0, bar.there))
        coming = QRectF(there.right(), body.top() + 0.5, wide, body.height() - 1)
        painter.setBrush(c.sheet)
        painter.setPen(QPen(c.ink, look.u, Qt.PenStyle.DashLine))
        painter.drawRect(coming)
    x = body.left() + body.width() * min(1.0, bar.reorder)
    drawing.upright(painter, x - look.px(1), body.top() - look.px(6), body.bottom() + look.px(6), c.ink, 2)
