"""The empty counter: number tiles, the board of every unit, what is first today."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from cribdesk.crib.words import capital, count
from cribdesk.desk.cards_lists import BoardCell, CounterBoard, FirstRow, Tile
from cribdesk.window import drawing
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Pressable, Rule, Words
from cribdesk.window.components.board import Board, Cell, Legend
from cribdesk.window.components.tile import NumberTile, figure_font
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, Size, empty
from cribdesk.window.look import Look, current
from cribdesk.window.rows import EmptyState
from cribdesk.window.signs import sign

FEW = 150  # more units than these are shown as one cell a model and condition
LEGEND = ("overdue", "on hold", "not checked", "needs cleaning", "out", "ready")


class FirstLine(Pressable):
    """One thing to do first: its sign, what, where it is done, and a line of detail."""

    ring_inside = True
    return_presses = True

    def __init__(self, row: FirstRow, where: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.row, self._where = row, where
        self.setAccessibleName(f"{row.sign}: {row.what}. {row.detail}. {where}")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    def _what(self, look: Look) -> list[str]:
        where = drawing.width(self._where, look.font(18)) + look.px(12)
        return drawing.broken(self.row.what, look.font(18, True), max(look.px(120), self.width() - look.px(40) - where))

    def _detail(self, look: Look) -> list[str]:
        return drawing.broken(self.row.detail, look.font(18), max(look.px(160), self.width() - look.px(40)))

    def measure(self, look: Look) -> QSize:
        lines = len(self._what(look)) + (len(self._detail(look)) if self.row.detail else 0)
        return QSize(look.px(260), look.px(22) + lines * look.px(24))

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def draw(self, painter: QPainter, look: Look) -> None:
        c = look.colours
        if self.underMouse():
            painter.fillRect(self.rect(), c.track)
        side, top = look.px(24), float(look.px(10))
        sign(painter, QRectF(0, (self.height() - side) / 2, side, side), self.row.sign or "dot", ground="sheet")
        at = QRectF(0, top, self.width(), look.px(24))
        drawing.text(painter, at, self._where, look.font(18), c.ink2, drawing.RIGHT)
        lines = [(line, True) for line in self._what(look)] + [(line, False) for line in self._detail(look)]
        for line, bold in lines:
            at = QRectF(look.px(40), top, self.width() - look.px(40), look.px(24))
            drawing.text(painter, at, line, look.font(18, bold), c.ink if bold else c.ink2)
            top += look.px(24)
        drawing.hairline(painter, 0, self.width(), self.height() - look.px(1), c.line)


class EmptyCounter(Panel):
    """Tiles over board and 'First today'."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self._tiles = QHBoxLayout()
        self._tiles.setContentsMargins(0, 0, 0, 0)
        self._tiles.setSpacing(0)
        self._more_tiles = QHBoxLayout()
        self._more_tiles.setContentsMargins(0, 0, 0, 0)
        self._more_tiles.setSpacing(0)
        self._shown: tuple[Tile, ...] = ()
        self._size = Size.WIDE
        self.board, self.legend = Board(), Legend(LEGEND)
        self.board.opened.connect(self._open_cell)
        self._none = EmptyState(
            "No units yet",
            "Enter one under Units, load all with cribdesk load, or open the sample with cribdesk --sample.",
        )
        self._first = Fixed(440, "sheet", (24, 16, 24, 0))
        self._first_rows = Boxes()
        self._first.column.addWidget(Words("First today", 24, True))
        self._first.column.addSpacing(8)
        self._first.column.addWidget(Rule())
        self._first.column.addLayout(self._first_rows)
        self._first.column.addStretch(1)
        self._lay_out()

    def _lay_out(self) -> None:
        self._tile_rows = Panel()
        self._tile_rows.column.addLayout(self._tiles)
        self._tile_rows.column.addLayout(self._more_tiles)
        self.column.addWidget(self._tile_rows)
        self._left, left = Panel(), Panel("page", (24, 16, 24, 4))
        self._left.column.addWidget(left, 1)
        head = Row(gap=24)
        head.addWidget(Words("Every unit", 24, True))
        head.addWidget(self.legend, 1)
        left.column.addLayout(head)
        left.column.addSpacing(8)
        left.column.addWidget(self.board)
        left.column.addWidget(self._none)
        left.column.addStretch(1)
        self._body = Row()
        self._scroll = Scroll(self._left)
        self._body.addWidget(self._scroll, 1)
        self._side = Panel("sheet")
        self._first_scroll = Scroll(self._first, "sheet")
        self._side.column.addWidget(self._first_scroll, 1)
        self._side.column.addWidget(Rule())
        foot = Boxes(margins=(24, 12, 24, 16))
        returns = ActionButton("Take returns", "plain", "F6", size="small", cost="one scan a unit")
        returns.clicked.connect(lambda: self._doors.chosen.emit("returns", ""))
        more = ActionButton("More", "plain", "F10", size="small")
        more.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        more.clicked.connect(lambda: self._doors.chosen.emit("more", ""))
        buttons = Row(gap=8)
        buttons.addWidget(returns, 1)
        buttons.addWidget(more)
        foot.addLayout(buttons)
        self._side.column.addLayout(foot)
        self._body.addWidget(self._side)
        self.column.addLayout(self._body, 1)

    def show_board(self, board: CounterBoard) -> None:
        """Show these numbers, units and things to do first."""
        self._shown = board.tiles
        self._lay_tiles()
        cells = _cells(board.cells)
        self.board.set_cells(cells)
        self.board.setVisible(bool(cells))
        self._none.setVisible(not cells)
        self.legend.setVisible(bool(cells))
        empty(self._first_rows)
        for row in board.first:
            line = FirstLine(row, self._doors.titles.get(row.place, capital(row.place)))
            line.clicked.connect(self._open_first)
            self._first_rows.addWidget(line)
        if not board.first:
            self._first_rows.addWidget(EmptyState("Nothing waits", "Scan a badge or a unit to begin."))

    def fit(self, size: Size) -> None:
        """Eight tiles in one row, or four and four; the list of first things narrower, then gone."""
        self._size = size
        if size is Size.SMALL:
            self._left.column.insertWidget(0, self._tile_rows)
        else:
            self.column.insertWidget(0, self._tile_rows)
        self._lay_tiles()
        self._first.set_wide(440 if size is Size.WIDE else 360)
        self._first_scroll.setFixedWidth(self._first.width())
        self._side.setVisible(size is not Size.SMALL)

    def _lay_tiles(self) -> None:
        empty(self._tiles)
        empty(self._more_tiles)
        wide = max((_tile_width(tile) for tile in self._shown), default=0.0)
        rows = 1 if self._size is not Size.SMALL and wide * len(self._shown) <= self._room() else 2
        half = -(-len(self._shown) // rows)
        for number, tile in enumerate(self._shown):
            one = NumberTile(tile.name, tile.sign, first=number % half == 0)
            one.set_number(tile.number, tile.against)
            one.setProperty("opens", tile.opens)
            one.clicked.connect(self._open_tile)
            (self._tiles if number < half else self._more_tiles).addWidget(one, 1)

    def _room(self) -> float:
        """The width for the tiles, also before the page was ever shown."""
        return self.window().width() - current().px(128 if self._size is not Size.SMALL else 104)

    def _open_tile(self) -> None:
        opens = str(self.sender().property("opens"))
        if opens in self._doors.titles:
            self._doors.open_place.emit(opens, "")
        else:
            self._doors.open_place.emit("units", opens)

    def _open_cell(self, id_: str) -> None:
        if id_.startswith("="):
            self._doors.open_place.emit("units", id_[1:])
        else:
            self._doors.open_place.emit("unit", id_)

    def _open_first(self) -> None:
        line = self.sender()
        if not isinstance(line, FirstLine):
            return
        if line.row.label[:1] in ("U", "P"):
            self._doors.open_label(line.row.label)
        else:
            self._doors.open_place.emit(line.row.place, line.row.label if line.row.place == "shift" else "")


def _tile_width(tile: Tile) -> float:
    """The least width at which all words of a tile are seen."""
    look = current()
    number = drawing.width(str(tile.number), figure_font(tile.number)) + look.px(40)
    words = drawing.width(tile.name, look.font(18, True)), drawing.width(tile.against, look.font(18))
    return max(number, *words) + look.px(17)


def _cells(cells: tuple[BoardCell, ...]) -> tuple[Cell, ...]:
    if len(cells) <= FEW:
        return tuple(
            Cell(cell.label, cell.short, _state(cell.state), f"{cell.label}, {cell.state}: {cell.hover}")
            for cell in cells
        )
    counts: dict[str, int] = {}
    for cell in cells:
        counts[cell.state] = counts.get(cell.state, 0) + 1
    return tuple(Cell(f"={state}", str(n), _state(state), f"{count(n, 'unit')} {state}") for state, n in counts.items())


def _state(state: str) -> str:
    return state if state in LEGEND else "due" if state == "due" else "out"
