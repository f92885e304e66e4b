"""The shift: its lists at the left, the open one at the right, each row with what can be done about it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from cribdesk.desk.shift_list import ShiftAction, ShiftPage, ShiftRow
from cribdesk.window import drawing
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Pressable, Rule, SignMark, Words
from cribdesk.window.components.plate import Plate
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import form_button
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, Size, empty
from cribdesk.window.lists import fixed
from cribdesk.window.look import Look
from cribdesk.window.rows import EmptyState, Upright
from cribdesk.window.view import CLERK, Page, View

WIDE, NARROW = 304, 232


class ListTitle(Pressable):
    """One list by its title, how many wait in it at the right."""

    ring_inside = True
    return_presses = True

    def __init__(self, id_: str, title: str, waiting: int | None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.id, self._title, self._waiting = id_, title, waiting
        self.setCheckable(True)
        told = f", {waiting} waiting" if waiting else ""
        self.setAccessibleName(title + told)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def nextCheckState(self) -> None:
        """The page decides which list is open."""

    def _lines(self, look: Look) -> list[str]:
        room = max(look.px(80), self.width() - look.px(76))
        return drawing.broken(self._title, look.font(18, self.isChecked()), room)

    def measure(self, look: Look) -> QSize:
        return QSize(look.px(NARROW - 1), look.px(20) + max(1, len(self._lines(look))) * look.px(24))

    def resizeEvent(self, event: object) -> None:
        self.updateGeometry()

    def draw(self, painter: QPainter, look: Look) -> None:
        c = look.colours
        if self.isChecked():
            painter.fillRect(self.rect(), c.page)
            painter.fillRect(QRectF(0, look.px(6), look.px(4), self.height() - look.px(12)), c.ink)
        elif self.underMouse():
            painter.fillRect(self.rect(), c.track)
        top = float(look.px(10))
        for line in self._lines(look):
            at = QRectF(look.px(24), top, self.width() - look.px(24), look.px(24))
            drawing.text(painter, at, line, look.font(18, self.isChecked()), c.ink)
            top += look.px(24)
        if self._waiting is not None:
            at = QRectF(0, look.px(10), self.width() - look.px(16), look.px(24))
            ink = c.ink if self._waiting else c.off
            drawing.text(painter, at, str(self._waiting), look.font(18, bool(self._waiting)), ink, drawing.RIGHT)
        drawing.hairline(painter, look.px(16), self.width(), self.height() - look.px(1), c.line)


class ShiftLine(Panel):
    """One row: sign, what and detail, the label it opens, its buttons."""

    def __init__(self, row: ShiftRow, doors: Doors, few: bool) -> None:
        super().__init__("page", (24, 8, 24, 8))
        self.row = row
        line = Row(gap=16)
        if row.sign:
            line.addWidget(SignMark(row.sign, 24))
        words = Boxes()
        words.addWidget(Words(row.what, bold=True, wrap=True))
        if row.detail:
            words.addWidget(Words(row.detail, ink="ink2", wrap=True))
        line.addLayout(words, 1)
        if row.label:
            plate = Plate(row.label)
            plate.opened.connect(doors.open_label)
            line.addWidget(plate)
        buttons = [action_button(one, doors, f"{row.what} {row.label}".strip()) for one in row.actions]
        if few and len(buttons) > 1:
            column = Boxes(gap=8)
            for button in buttons:
                column.addWidget(button)
            line.addLayout(column)
        else:
            for button in buttons:
                line.addWidget(button)
        self.column.addLayout(line)


def action_button(action: ShiftAction, doors: Doors, told: str = "", size: str = "row") -> ActionButton:
    """The button of an action."""
    if action.kind == "form":
        return form_button(doors, action.id, action.words, action.of, told, size=size)
    button = fixed(ActionButton(action.words, "plain", size=size))
    if told:
        button.setAccessibleName(f"{action.words}, {told}")
    signal = {
        "command": doors.chosen,
        "paper": doors.print_again,
        "preview": doors.preview_paper,
        "place": doors.open_place,
    }[action.kind]
    button.clicked.connect(lambda: signal.emit(action.id, action.of))
    return button


class Shift(Page):
    """The lists of the shift; the open one stays open while its rows change."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._size = Size.WIDE
        self._open = ""
        self._page: ShiftPage | None = None
        self._side = Fixed(WIDE, "sheet", (0, 8, 0, 8))
        self._titles = Boxes()
        self._side.column.addLayout(self._titles)
        self._side.column.addStretch(1)
        self._scroll_titles = Scroll(self._side, "sheet")
        self._scroll_titles.setFixedWidth(self._side.minimumWidth())
        self._inside = Panel("page", (0, 0, 0, 16))
        self.rows = Scroll(self._inside)
        head = Panel("page", (24, 16, 24, 12), 8)
        self.title, self.lead = Words("", 24, True, wrap=True), Words("", wrap=True)
        self._caution = Words("", 14, ink="ink2", wrap=True)
        self._tools, self._tools_below = Row(gap=8), Row(gap=8)
        top = Row(gap=16)
        words = Boxes(gap=4)
        for one in (self.title, self.lead, self._caution):
            words.addWidget(one)
        top.addLayout(words, 1)
        top.addLayout(self._tools)
        head.column.addLayout(top)
        head.column.addLayout(self._tools_below)
        right = Boxes()
        right.addWidget(head)
        right.addWidget(Rule("edge"))
        right.addWidget(self.rows, 1)
        body = Row()
        body.addWidget(self._scroll_titles)
        body.addWidget(Upright("edge"))
        body.addLayout(right, 1)
        Boxes(self).addLayout(body)

    def open(self, kind: str, argument: str) -> None:
        if argument:
            self._open = argument

    def want(self) -> None:
        self.doors.wanted.emit("shift", self._open)

    def take(self, kind: str, data: object) -> None:
        if kind == "shift" and isinstance(data, ShiftPage):
            self.show_page(data)

    def show_page(self, page: ShiftPage) -> None:
        """Show the lists and the open one."""
        fresh = self._page is None or page.open != self._page.open
        self._page, self._open = page, page.open
        empty(self._titles)
        for id_, title, waiting in page.titles:
            one = ListTitle(id_, title, waiting)
            one.setChecked(id_ == page.open)
            one.clicked.connect(self._turn)
            self._titles.addWidget(one)
        self.title.setText(page.title)
        self.lead.setText(page.rows.lead)
        self._caution.setText(page.rows.caution)
        self._caution.setVisible(bool(page.rows.caution))
        self._show_tools(page.rows.actions)
        self._show_rows(page)
        if fresh:
            self.rows.verticalScrollBar().setValue(0)

    def _show_tools(self, actions: tuple[ShiftAction, ...]) -> None:
        """Beside the words, or below them where there are several and room is short."""
        empty(self._tools)
        empty(self._tools_below)
        below = len(actions) > 1 and self._size is not Size.WIDE
        line = self._tools_below if below else self._tools
        for action in actions:
            line.addWidget(action_button(action, self.doors, size="bar"))
        if below:
            line.addStretch(1)

    def _show_rows(self, page: ShiftPage) -> None:
        empty(self._inside.column)
        group = ""
        for row in page.rows.rows:
            if row.group != group:
                group = row.group
                self._head_of(group)
            self._inside.column.addWidget(ShiftLine(row, self.doors, self._size is not Size.WIDE))
            self._inside.column.addWidget(Rule())
        if not page.rows.rows:
            none = Panel("page", (24, 0, 24, 0))
            none.column.addWidget(EmptyState(page.rows.none, ""))
            self._inside.column.addWidget(none)
        self._inside.column.addStretch(1)

    def _head_of(self, group: str) -> None:
        holder = Panel("page", (24, 16, 24, 6))
        holder.column.addWidget(Words(group, 18, True, wrap=True))
        self._inside.column.addWidget(holder)
        self._inside.column.addWidget(Rule("edge"))

    def _turn(self) -> None:
        title = self.sender()
        if isinstance(title, ListTitle):
            self.doors.open_place.emit("shift", title.id)

    def fit(self, size: Size) -> None:
        self._size = size
        self._side.set_wide(WIDE if size is Size.WIDE else NARROW)
        self._scroll_titles.setFixedWidth(self._side.minimumWidth())
        if self._page is not None:
            self.show_page(self._page)

    def answer(self) -> str:
        if self._page is None:
            return "Shift"
        return f"{self._page.title}: {self._page.rows.lead[:1].lower()}{self._page.rows.lead[1:]}"


VIEW = View(
    "shift",
    "Shift",
    2,
    frozenset(
        {
            CLERK,
            "unit", "custody", "hold", "inspection", "cleaning", "fitted", "person", "clearance", "area", "battery",
            "hand_out", "away", "call_in", "own_check", "notice", "waste", "waste_bag", "cabinet", "certification",
            "rack_audit", "shift_close", "lot", "requisition", "requisition_line", "meter_check", "instrument",
            "assessment", "sample", "site_limit", "area_condition", "area_process", "area_control", "factor_evidence",
            "work_limit", "program_evaluation", "site_setting",
        }
    ),
    ("shift",),
    Shift,
)  # fmt: skip
