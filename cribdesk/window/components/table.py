"""One table over frozen rows, painted by the components' own painters; a row opens in place."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QEvent, QModelIndex, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from cribdesk.window import drawing
from cribdesk.window.components.cells import (
    Column,
    Index,
    LifeCell,
    Mark,
    PlateCell,
    Row,
    RowsModel,
    StockBar,
    Tick,
    draw_stock,
)
from cribdesk.window.components.life import draw_life
from cribdesk.window.components.plate import draw_plate
from cribdesk.window.look import current, source
from cribdesk.window.signs import sign, tick_box

ROW = 48


class _Painter(QStyledItemDelegate):
    """Paints every kind of cell with the painters the components have."""

    def __init__(self, table: Table) -> None:
        super().__init__(table)
        self._table = table

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(0, current().px(ROW))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        look, c = current(), current().colours
        whole = QRectF(option.rect)
        number = index.row()
        opened = self._table.opened_row() == number
        if opened:
            painter.fillRect(whole, c.sheet)
        elif self._table.hovered == number:
            painter.fillRect(whole, c.track)
        band = QRectF(whole.left(), whole.top(), whole.width(), look.px(ROW))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        row = self._table.rows_model.rows[number]
        self._cell(painter, band.adjusted(look.px(8), 0, -look.px(8), 0), index, row)
        drawing.hairline(painter, whole.left(), whole.right() + 1, whole.bottom() - look.px(1) + 1, c.line)
        if index.column() == 0 and self._table.currentIndex().row() == number and self._table.hasFocus():
            painter.fillRect(QRectF(whole.left(), band.top() + 8, look.px(4), band.height() - 16), c.ink)

    def _cell(self, painter: QPainter, room: QRectF, index: Index, row: Row) -> None:
        look, c = current(), current().colours
        cell = row.cells[index.column()] if index.column() < len(row.cells) else ""
        if isinstance(cell, str):
            right = self._table.rows_model.columns[index.column()].right
            align = drawing.RIGHT if right else drawing.LEFT
            drawing.text(painter, room, cell, look.font(18, row.bold), c.ink, align, elide=True)
        elif isinstance(cell, Mark) and cell.kind:
            side = look.px(24)
            sign(painter, QRectF(room.left(), room.center().y() - side / 2, side, side), cell.kind)
        elif isinstance(cell, PlateCell):
            draw_plate(painter, room, cell.label)
        elif isinstance(cell, LifeCell):
            draw_life(painter, room.adjusted(look.px(5), 0, -look.px(5), 0), cell.life)
        elif isinstance(cell, StockBar):
            draw_stock(painter, room, cell)
        elif isinstance(cell, Tick):
            side = look.px(22)
            tick_box(painter, QRectF(room.left(), room.center().y() - side / 2, side, side), cell.ticked)


class Table(QTableView):
    """The view: `opened(id)` by a press, Return or Space; `ticked(id, bool)` for a `Tick` in the first cell.

    `open_under(id, widget)` opens a row in place with a widget beneath its cells; one at a time.
    """

    opened = Signal(str)
    ticked = Signal(str, bool)
    sort_asked = Signal(str, bool)

    def __init__(self, columns: tuple[Column, ...], name: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows_model = RowsModel(columns, self)
        self.hovered = -1
        self._empty = ""
        self._detail: QWidget | None = None
        self._detail_id = ""
        self._sorted: tuple[str, bool] = ("", False)
        self.setAccessibleName(name)
        self.setModel(self.rows_model)
        self.setItemDelegate(_Painter(self))
        self.setShowGrid(False)
        self.setMouseTracking(True)
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setSectionsClickable(any(column.key for column in columns))
        self.horizontalHeader().sectionClicked.connect(self._sort)
        self.entered.connect(self._hover)
        self.clicked.connect(self._click)
        source.look_changed.connect(self.refit)
        self.refit()

    def set_rows(self, rows: tuple[Row, ...], more: bool = False) -> None:
        """Show these; the row one stood on and the opened row stay if they are still there."""
        here = self.currentIndex().row()
        id_ = self.rows_model.rows[here].id if 0 <= here < len(self.rows_model.rows) else ""
        detail, detail_id = self._detail, self._detail_id
        at = self.verticalScrollBar().value()
        self.rows_model.set_rows(rows, more)
        self._fit_columns()
        number = self.rows_model.number_of(id_) if id_ else -1
        if number >= 0:
            self.setCurrentIndex(self.rows_model.index(number, 0))
        if detail is not None:
            self._lay_detail(detail_id, detail)
        self.verticalScrollBar().setValue(at)

    def set_empty_words(self, words: str) -> None:
        """What to do first, said while there is no row."""
        self._empty = words
        self.viewport().update()

    def refit(self) -> None:
        """Take sizes of the look anew."""
        look = current()
        self.verticalHeader().setDefaultSectionSize(look.px(ROW))
        self.horizontalHeader().setFont(look.font(14))
        self.horizontalHeader().setFixedHeight(look.px(36))
        self._fit_columns()
        if self._detail is not None:
            self._lay_detail(self._detail_id, self._detail)

    def _fit_columns(self) -> None:
        """Give each column its width, dropping the less needed from the right while they do not fit."""
        look, columns = current(), self.rows_model.columns
        room = self.viewport().width()
        wants = [look.px(column.wide or column.least) for column in columns]
        shown = set(range(len(columns)))
        for number in sorted(shown, key=lambda n: (-columns[n].need, -n)):
            if sum(wants[n] for n in shown) <= room or columns[number].need == 0:
                break
            shown.discard(number)
        spare = room - sum(wants[n] for n in shown)
        loose = [n for n in shown if not columns[n].wide]
        for number in range(len(columns)):
            self.setColumnHidden(number, number not in shown)
            more = spare // len(loose) if number in loose and spare > 0 else 0
            self.setColumnWidth(number, wants[number] + more)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_columns()
        self._place_detail()

    def _hover(self, index: QModelIndex) -> None:
        self.hovered = index.row()
        self.viewport().update()

    def leaveEvent(self, event: QEvent) -> None:
        self.hovered = -1
        self.viewport().update()
        super().leaveEvent(event)

    def _click(self, index: QModelIndex) -> None:
        row = self.rows_model.rows[index.row()]
        cell = row.cells[index.column()] if index.column() < len(row.cells) else ""
        if isinstance(cell, Tick):
            self._turn(index.row())
        else:
            self.opened.emit(row.id)

    def _turn(self, number: int) -> None:
        row = self.rows_model.rows[number]
        tick = row.cells[0]
        if isinstance(tick, Tick):
            turned = replace(row, cells=(Tick(not tick.ticked), *row.cells[1:]))
            self.rows_model.set_row(number, turned)
            self.ticked.emit(row.id, not tick.ticked)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        number = self.currentIndex().row()
        if number < 0 or event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            super().keyPressEvent(event)
            return
        row = self.rows_model.rows[number]
        if event.key() == Qt.Key.Key_Space and row.cells and isinstance(row.cells[0], Tick):
            self._turn(number)
        else:
            self.opened.emit(row.id)

    def focusInEvent(self, event: Any) -> None:
        super().focusInEvent(event)
        if not self.currentIndex().isValid() and self.rows_model.rows:
            self.setCurrentIndex(self.rows_model.index(0, 0))
        self.viewport().update()

    def focusOutEvent(self, event: Any) -> None:
        super().focusOutEvent(event)
        self.viewport().update()

    def _sort(self, section: int) -> None:
        key = self.rows_model.columns[section].key
        if key:
            self._sorted = (key, not self._sorted[1] if self._sorted[0] == key else False)
            self.sort_asked.emit(*self._sorted)

    def opened_row(self) -> int:
        """The number of the row opened in place, or -1."""
        return self.rows_model.number_of(self._detail_id) if self._detail_id else -1

    def open_under(self, id_: str, widget: QWidget) -> None:
        """Open a row with the widget beneath its cells; the one opened before is closed."""
        self.close_under()
        widget.setParent(self.viewport())
        self._lay_detail(id_, widget)
        widget.show()
        before: QWidget = self
        for button in widget.findChildren(QAbstractButton):  # Tab leads from the row into what it opened
            QWidget.setTabOrder(before, button)
            before = button

    def close_under(self) -> None:
        """Close the opened row, if any."""
        number = self.opened_row()
        if number >= 0:
            self.setRowHeight(number, current().px(ROW))
        if self._detail is not None:
            self._detail.hide()
            self._detail.deleteLater()
        self._detail, self._detail_id = None, ""
        self.viewport().update()

    def fit_detail(self) -> None:
        """What the opened row holds has grown or shrunk: give it the room it needs now."""
        if self._detail is not None:
            layout = self._detail.layout()
            if layout is not None:
                layout.activate()
            self._lay_detail(self._detail_id, self._detail)

    def _lay_detail(self, id_: str, widget: QWidget) -> None:
        self._detail, self._detail_id = widget, id_
        number = self.rows_model.number_of(id_)
        if number < 0:
            self.close_under()
            return
        wide = self.viewport().width()
        high = widget.heightForWidth(wide) if widget.hasHeightForWidth() else widget.sizeHint().height()
        self.setRowHeight(number, current().px(ROW) + max(high, widget.minimumHeight()))
        self._place_detail()

    def _place_detail(self) -> None:
        number = self.opened_row()
        if self._detail is None or number < 0:
            return
        top = self.rowViewportPosition(number) + current().px(ROW)
        high = self.rowHeight(number) - current().px(ROW) - current().px(1)
        self._detail.setGeometry(QRect(0, top, self.viewport().width(), high))

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        super().scrollContentsBy(dx, dy)
        self._place_detail()

    def updateGeometries(self) -> None:
        super().updateGeometries()
        self._place_detail()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self.rows_model.rows or not self._empty:
            return
        look = current()
        painter = QPainter(self.viewport())
        room = QRectF(look.px(8), look.px(24), self.viewport().width() - look.px(16), 0)
        drawing.paragraph(painter, room, self._empty, look.font(18), look.colours.ink2, look.px(24))
        painter.end()
