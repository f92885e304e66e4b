"""The counter: the slate as it lies, or every unit while it is empty."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from cribdesk.desk.actions import Action
from cribdesk.desk.cards_lists import CounterBoard
from cribdesk.desk.readiness import Readiness
from cribdesk.desk.slate import Slate
from cribdesk.window.components.timeline import ShiftStrip
from cribdesk.window.counter.empty import EmptyCounter
from cribdesk.window.counter.forms import FormPage
from cribdesk.window.counter.middle import Middle
from cribdesk.window.counter.verdict import Verdict
from cribdesk.window.counter.what import What
from cribdesk.window.counter.who import Who, WhoLine
from cribdesk.window.doors import Doors
from cribdesk.window.events import events_of, row_of
from cribdesk.window.layout import Boxes, Row, Size, Stack
from cribdesk.window.look import current
from cribdesk.window.rows import Upright
from cribdesk.window.view import Page, View


class Counter(Page):
    """Board or slate, with the strip of this shift beneath where there is room."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._size = Size.WIDE
        self._slate, self._actions = Slate(), ()  # type: Slate, tuple[Action, ...]
        self._board: CounterBoard | None = None
        self._readiness: Readiness | None = None
        self.empty = EmptyCounter(doors)
        self.who, self.who_line, self.what = Who(doors), WhoLine(doors), What(doors)
        self.forms, self.middle = FormPage(doors), Middle(doors)
        self.verdict = Verdict(doors)
        self.shift = ShiftStrip()
        self.shift.print_again.connect(self._print_again)
        self.shift.opened.connect(self._open_entry)
        self._lay_out()

    def _lay_out(self) -> None:
        self._center = Stack()
        for page in (self.what, self.forms, self.middle):
            self._center.addWidget(page)
        self._slate_page = QWidget()
        whole = Boxes(self._slate_page)
        whole.addWidget(self.who_line)
        body = Row()
        whole.addLayout(body, 1)
        left = Boxes()
        pair = Row()
        pair.addWidget(self.who)
        self._rule = Upright()
        pair.addWidget(self._rule)
        pair.addWidget(self._center, 1)
        left.addLayout(pair, 1)
        body.addLayout(left, 1)
        body.addWidget(Upright("edge"))
        body.addWidget(self.verdict)
        self._stack = Stack()
        self._stack.addWidget(self.empty)
        self._stack.addWidget(self._slate_page)
        column = Boxes(self)
        column.addWidget(self._stack, 1)
        column.addWidget(self.shift)

    def want(self) -> None:
        self.doors.wanted.emit("board", "")
        if self._slate.mode == "pre-stage":
            self.doors.wanted.emit("readiness", "")

    def take(self, kind: str, data: object) -> None:
        if kind == "readiness" and isinstance(data, Readiness):
            self._readiness = data
            if self._slate.mode == "pre-stage":
                self._show_center(self._slate)
        if kind == "board" and isinstance(data, CounterBoard):
            self.show_board(data)

    def show_board(self, board: CounterBoard) -> None:
        """Show the numbers, the units and this shift."""
        self._board = board
        if self._slate.mode == "pre-stage":
            self.doors.wanted.emit("readiness", "")  # a seal that came out since counts
        self.empty.show_board(board)
        self.shift.set_head(board.shift_words, "Ctrl+9 whole journal")
        self.shift.set_events(events_of(board.shift, self.doors))

    def show_slate(self, slate: Slate, actions: tuple[Action, ...]) -> None:
        """Show what lies on the counter."""
        begins = slate.mode == "pre-stage" and (self._slate.mode, self._slate.done) != (slate.mode, slate.done)
        self._slate, self._actions = slate, actions
        if begins:
            self.doors.wanted.emit("readiness", "")
        self._fit_shift()
        blank = slate.empty and slate.mode == "counter" and slate.pending is None and slate.passed is None
        if slate.form is None:
            self.forms.close_form()  # before its page goes: it gives the focus back
        self._stack.setCurrentIndex(0 if blank else 1)
        if blank:
            return
        wide = self._size is Size.WIDE
        side = tuple(one for one in actions if one.command == "area") if wide else ()
        rest = tuple(one for one in actions if one not in side)
        self._show_center(slate)
        if wide:
            self.who.show_slate(slate, side)
        else:
            self.who_line.show_slate(slate)
        self.verdict.show_slate(slate, rest)

    def _show_center(self, slate: Slate) -> None:
        self._fit_who(slate)
        if slate.form is not None:
            other = self.forms.show_form(slate.form, slate)
            self._center.setCurrentWidget(self.forms)
            if other and self.isVisible():
                self.forms.take_focus()
            return
        if slate.passed is not None:
            self.middle.show_passed(slate)
            self._center.setCurrentWidget(self.middle)
        elif slate.mode == "returns":
            self.middle.show_returns(slate)
            self._center.setCurrentWidget(self.middle)
        elif slate.mode == "pre-stage":
            self.middle.show_pre_staging(slate, self._readiness)
            self._center.setCurrentWidget(self.middle)
        elif slate.mode == "sign-on":
            self.middle.show_sign_on(slate)
            self._center.setCurrentWidget(self.middle)
        elif slate.tray:
            self.middle.show_tray(slate)
            self._center.setCurrentWidget(self.middle)
        else:
            self.what.show_slate(slate)
            self._center.setCurrentWidget(self.what)

    def _fit_who(self, slate: Slate) -> None:
        wide = self._size is Size.WIDE
        shown = slate.form is None and slate.mode == "counter" and not slate.tray
        alone = slate.unit is not None and slate.person is None and slate.unit.is_out
        self.who.setVisible(wide and shown and not alone)
        self._rule.setVisible(wide and shown and not alone)
        self.who_line.setVisible(not wide and shown and not alone)

    def fit(self, size: Size) -> None:
        self._size = size
        self.empty.fit(size)
        self.what.fit(size)
        self.verdict.fit(size)
        self.show_slate(self._slate, self._actions)

    def _fit_shift(self) -> None:
        """The strip of this shift, where board or slate leaves it the room."""
        tall = self.window().height() / current().u >= 880
        self.shift.setVisible(self._size is Size.WIDE and (tall or not self._slate.empty))

    def press(self, key: str) -> bool:
        if key == "Esc":
            return self.verdict.close_account()
        for action in self._actions:
            if action.key == key:
                return self._do(action)
        if key == "F6" and self._slate.empty and self._slate.mode == "counter":
            self.doors.chosen.emit("returns", "")
            return True
        if key == "F10" and self._slate.empty:
            self.doors.chosen.emit("more", "")
            return True
        return False

    def _do(self, action: Action) -> bool:
        if not action.enabled:
            self.doors.say.emit(action.why)
            return True
        self.doors.chosen.emit(action.command, "")
        return True

    def _print_again(self, id_: str) -> None:
        row = row_of(self._board.shift, id_) if self._board else None
        if row and row.papers:
            self.doors.print_again.emit(*row.papers[0])

    def _open_entry(self, id_: str) -> None:
        self.doors.open_place.emit("journal", id_)


VIEW = View(
    "counter",
    "Counter",
    1,
    frozenset(
        {"unit", "custody", "hold", "inspection", "cleaning", "fitted", "battery", "person", "instrument", "print"}
    ),
    ("board", "readiness"),
    Counter,
)
