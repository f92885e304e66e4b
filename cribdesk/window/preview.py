"""A paper on screen, page by page, before or after it is printed."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import QImage, QKeySequence, QPainter, QPaintEvent, QShortcut
from PySide6.QtWidgets import QFileDialog, QSizePolicy, QWidget

from cribdesk.crib.words import count
from cribdesk.window import drawing
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.layout import Boxes, Panel, Row, Size
from cribdesk.window.look import current, ground
from cribdesk.window.plot_file import csv_file
from cribdesk.window.rendering import NotAPaper, opened


class Sheet(QWidget):
    """One page, as large as the room allows, on its own white."""

    def __init__(self, pdf: bytes) -> None:
        super().__init__()
        self._pdf, self._number = pdf, 0
        self._image: QImage | None = None
        self._points = QSizeF(1, 1)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(120, 120)

    def show_page(self, number: int) -> None:
        """Show another page."""
        self._number, self._image = number, None
        self.setAccessibleName(f"Page {number + 1}")
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(480, 640)

    def _target(self) -> QRectF:
        room = QRectF(self.rect())
        scale = min(room.width() / self._points.width(), room.height() / self._points.height())
        wide, high = self._points.width() * scale, self._points.height() * scale
        return QRectF((room.width() - wide) / 2, (room.height() - high) / 2, wide, high)

    def _draw_image(self) -> None:
        with opened(self._pdf) as document:
            self._points = document.size(self._number)
            wide = self._target().width() * self.devicePixelRatioF()
            self._image = document.image(self._number, 72 * wide / self._points.width())

    def resizeEvent(self, event: object) -> None:
        self._image = None

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._image is None:
            self._draw_image()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, True)
        target = self._target()
        if self._image is not None:
            painter.drawImage(target, self._image, QRectF(self._image.rect()))
        drawing.box(painter, target, edge=current().colours.edge)
        painter.end()


PaperTable = tuple[tuple[object, ...], ...] | bytes
"""What a paper says as rows, its head first, or as the CSV file they make; none where it is no list."""


class Preview(Panel):
    """The paper with its buttons: `printed` asks to print it, `closed` goes back. Save writes a file: a PDF, or, of a
    paper with a `table`, its rows as CSV where the name ends so.
    """

    closed = Signal()
    printed = Signal()
    saved = Signal(str)

    def __init__(self, title: str, pdf: bytes, table: PaperTable = ()) -> None:
        super().__init__()
        self._pdf, self._title, self._at, self._table = pdf, title, 0, table
        try:
            with opened(pdf) as document:
                self._pages, self._fault = len(document), ""
        except NotAPaper as fault:
            self._pages, self._fault = 0, str(fault)
        self.words = Words(title, 24, True, wrap=True)
        self.place = Words("", ink="ink2")
        self.said = Words("", wrap=True)
        self.sheet = Sheet(pdf)
        self._head = Row(margins=(24, 14, 24, 14), gap=16)
        self._head.addWidget(self.words, 1)
        self._head.addWidget(self.place)
        self._foot = Row(margins=(24, 12, 24, 12), gap=8)
        self._lay_out()
        self._turn(0)
        self._turn_by_keys()

    def _turn_by_keys(self) -> None:
        """Page Up and Page Down turn too, Home and End go to the first and the last page."""
        turns = {
            Qt.Key.Key_PageUp: lambda: self._at - 1,
            Qt.Key.Key_PageDown: lambda: self._at + 1,
            Qt.Key.Key_Home: lambda: 0,
            Qt.Key.Key_End: lambda: self._pages - 1,
        }
        for key, to in turns.items():
            one = QShortcut(QKeySequence(key), self)
            one.activated.connect(lambda to=to: self._turn(to()))
        self.place.setToolTip("Page Up, Page Down; Home and End for the first and the last page")

    def _lay_out(self) -> None:
        self.column.addLayout(self._head)
        self.column.addWidget(Rule("edge"))
        middle = Boxes(margins=(24, 16, 24, 16), gap=8)
        if self._pages:
            middle.addWidget(self.sheet, 1)
        else:
            middle.addWidget(Words(self._fault or "This paper has no page.", wrap=True))
            middle.addStretch(1)
        middle.addWidget(self.said)
        self.column.addLayout(middle, 1)
        self.column.addWidget(Rule())
        self.column.addLayout(self._foot)
        ground(self, "page")
        self.buttons: dict[str, ActionButton] = {}
        for key, words, kind in (("F5", "Print", "go"), ("F6", "Page back", "plain"), ("F7", "Page on", "plain"),
                                 ("F8", "Save", "plain"), ("F9", "Close", "quiet")):  # fmt: skip
            button = ActionButton(words, kind, key, size="small")
            button.setProperty("key", key)
            button.clicked.connect(self._pressed)
            self.buttons[key] = button
            self._foot.addWidget(button, 1)

    def _pressed(self) -> None:
        self.press(str(self.sender().property("key")))

    def press(self, key: str) -> bool:
        """F5 print, F6 and F7 turn the page, F8 save, F9 close."""
        if key == "F5" and self._pages:
            self.printed.emit()
        elif key in ("F6", "F7"):
            self._turn(self._at + (1 if key == "F7" else -1))
        elif key == "F8" and self._pages:
            self._ask_where()
        elif key in ("F9", "Esc", "F12"):
            self.closed.emit()
        else:
            return False
        return True

    def _turn(self, to: int) -> None:
        self._at = max(0, min(self._pages - 1, to))
        self.place.setText(f"page {self._at + 1} of {self._pages}" if self._pages > 1 else count(self._pages, "page"))
        self.buttons["F6"].setEnabled(self._at > 0)
        self.buttons["F7"].setEnabled(self._at < self._pages - 1)
        for key in ("F5", "F8"):
            self.buttons[key].setEnabled(bool(self._pages))
        if self._pages:
            self.sheet.show_page(self._at)

    def _ask_where(self) -> None:
        kinds = "PDF (*.pdf);;CSV, a table (*.csv)" if self._table else "PDF (*.pdf)"
        dialog = QFileDialog(self, "Save the paper", f"{self._title}.pdf", kinds)
        dialog.filterSelected.connect(lambda kind: dialog.setDefaultSuffix("csv" if "csv" in kind else "pdf"))
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, True)
        dialog.fileSelected.connect(self.save)
        dialog.open()

    def save(self, path: str) -> None:
        """Write the file, or say why not; a half-written file does not stay."""
        target = Path(path)
        part = target.with_name(f"{target.name}.part")
        try:
            part.write_bytes(self._content(target))
            part.replace(target)
        except OSError as fault:
            part.unlink(missing_ok=True)
            self.said.setText(f"Not saved: {fault.strerror or fault}. Choose another folder. Nothing was written.")
            return
        self.said.setText(f"Saved as {target.name}.")
        self.saved.emit(path)

    def _content(self, target: Path) -> bytes:
        """What the file of that name holds."""
        if self._table and target.suffix.lower() == ".csv":
            return self._table if isinstance(self._table, bytes) else csv_file(self._table)
        return self._pdf

    def fit(self, size: Size) -> None:
        """It fits any room."""
