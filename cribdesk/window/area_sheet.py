"""The page of one area: what is enough there first, then its agents, and beside them everything else said of it."""

from __future__ import annotations

from cribdesk.desk.cards_area import AreaPage
from cribdesk.window.area_blocks import AgentBlock, ModelBlock, told_lines
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.plate import Plate
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import change_buttons, form_button
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, Size, empty
from cribdesk.window.lists import button_line
from cribdesk.window.rows import EmptyState, Fact, Head, Upright

FIRST_HEAD = "No finding is on file for this area"
FIRST = (
    "First ask the industrial hygienist what is in the air and how much of it. Then enter each agent with its finding, "
    "also what is there and not assessed yet. Until then nothing is issued where a respirator is required."
)
WORN = (
    "Protection counts only while the unit is worn: worn so long, a factor protects like the second figure "
    "(the weighting of 29 CFR 1926.62(c)(3))."
)


class AreaSheet(Panel):
    """A picture of an `AreaPage`; the agents that are open stay open while it is read anew."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self.page: AreaPage | None = None
        self._size = Size.WIDE
        self._open: set[str] = set()
        self.blocks: list[AgentBlock] = []
        self._top = Boxes(margins=(24, 12, 24, 12), gap=8)
        self.column.addLayout(self._top)
        self.column.addWidget(Rule("edge"))
        self._body = Row()
        self.column.addLayout(self._body, 1)

    def expect(self, label: str) -> None:
        """Another area was asked for: what stands here is no longer it."""
        if self.page is None or self.page.label != label:
            self.page = None
            self._open = set()
            empty(self._top)
            empty(self._body)
            self._top.addWidget(Words("Looking it up.", ink="ink2"))

    def answer(self) -> str:
        """The page's sentence for the strip."""
        return f"{self.page.name}: {self.page.answer.head}" if self.page else "Areas"

    def show_page(self, page: AreaPage) -> None:
        """Show this area."""
        if self.page is not None and self.page.label == page.label:
            self._open = {one.name for one in self.blocks if one.opened}
        self.page = page
        self._lay_top(page)
        self._lay_body(page)

    def _lay_top(self, page: AreaPage) -> None:
        empty(self._top)
        line = Row(gap=14)
        line.addWidget(Words(page.name, 36, True, wrap=True), 1)
        line.addWidget(Words("Respirator required" if page.required else "Worn by choice", ink="ink2"))
        line.addWidget(Plate(page.label))
        self._top.addLayout(line)
        answer = Row(gap=16)
        at = Boxes()
        at.addWidget(SignMark(page.answer.level or "dot", 32))
        at.addStretch(1)
        answer.addLayout(at)
        inner = Boxes(gap=4)
        inner.addWidget(Words(page.answer.head, 24, True, wrap=True))
        if page.answer.words:
            inner.addWidget(Words(page.answer.words, wrap=True))
        answer.addLayout(inner, 1)
        self._top.addLayout(answer)
        self._top.addWidget(Words(page.hygienist, 14, ink="ink2", wrap=True))

    def _lay_body(self, page: AreaPage) -> None:
        empty(self._body)
        left, right = Panel("page", (24, 12, 24, 24), 4), Panel("sheet", (24, 12, 24, 24), 4)
        self._agents(left, page)
        self._models(left, page)
        self._earlier(left, page)
        left.column.addStretch(1)
        self._beside(right, page)
        right.column.addStretch(1)
        if self._size is Size.SMALL:
            both = Panel()
            both.column.addWidget(left)
            both.column.addWidget(right)
            self._body.addWidget(Scroll(both), 1)
            return
        side = Fixed(456 if self._size is Size.WIDE else 360, "sheet")
        side.column.addWidget(Scroll(right, "sheet"))
        self._body.addWidget(Scroll(left), 1)
        self._body.addWidget(Upright())
        self._body.addWidget(side)

    def _form(self, form: str, words: str, about: str = "") -> ActionButton:
        assert self.page is not None
        return form_button(self._doors, form, words, about or self.page.label, size="row")

    # At the left.

    def _agents(self, panel: Panel, page: AreaPage) -> None:
        column = panel.column
        column.addWidget(Head("In the air", page.rules))
        finding = self._form("assess", "Enter a finding")
        finding.set_key("F6")
        column.addLayout(button_line((finding,)))
        self.blocks = []
        if not page.agents:
            column.addWidget(EmptyState(FIRST_HEAD, FIRST))
        for one in page.agents:
            block = AgentBlock(self._doors, page.label, one, one.name in self._open)
            self.blocks.append(block)
            column.addWidget(block)
        if page.mixtures:
            column.addWidget(Words("What acts alike, together", bold=True, wrap=True))
            told_lines(column, page.mixtures)
        column.addSpacing(16)

    def _models(self, panel: Panel, page: AreaPage) -> None:
        panel.column.addWidget(Head("Which units are enough"))
        for one in page.models:
            panel.column.addWidget(ModelBlock(one))
        panel.column.addLayout(button_line((self._limits_button(),)))
        panel.column.addSpacing(16)

    def _limits_button(self) -> ActionButton:
        button = ActionButton("Limits and test evidence", "plain", size="row")
        button.clicked.connect(lambda: self._doors.open_place.emit("limits", ""))
        return button

    def _earlier(self, panel: Panel, page: AreaPage) -> None:
        if page.earlier:
            panel.column.addWidget(Head("Earlier findings", "they stay on file"))
            for words in page.earlier:
                panel.column.addWidget(Words(words, ink="ink2", wrap=True))

    # At the right.

    def _beside(self, panel: Panel, page: AreaPage) -> None:
        column = panel.column
        self._part(column, "Conditions", (self._form("area-condition", "Say what holds"),))
        if page.conditions:
            told_lines(column, page.conditions)
        else:
            self._say(column, "Nothing was said of oxygen, confined space, explosive location or the hours exposed.")
        self._part(column, "Shade", self._two("area-process", "Add a process", "end-process", bool(page.processes)))
        for one in page.processes:
            column.addWidget(Words(f"{one.words}: {one.shade}", bold=True, wrap=True))
            column.addWidget(Words(one.covered, wrap=True))
            if one.basis:
                self._say(column, one.basis, 14)
        if not page.processes:
            self._say(column, "No process is noted: no shade is asked for.")
        self._part(column, "Controls", self._two("area-control", "Add a control", "end-control", bool(page.controls)))
        for each in page.controls:
            column.addWidget(Words(f"{each.rank}: {each.what}, {each.since}", wrap=True))
        if not page.controls:
            self._say(column, "No control is recorded.")
        for words in page.notes:
            column.addLayout(_note(words))
        self._part(column, "Worn for a part of the time", ())
        self._say(column, WORN, 14)
        told_lines(column, page.worn)
        self._part(column, "The area", change_buttons(self._doors, "area", page.label, "row"))
        for name, words in page.facts:
            if words:
                column.addWidget(Fact(name, words, bold=False))

    def _two(self, add: str, words: str, end: str, there: bool) -> tuple[ActionButton, ...]:
        return (self._form(add, words), *((self._form(end, "End one"),) if there else ()))

    def _part(self, column: Boxes, words: str, buttons: tuple[ActionButton, ...]) -> None:
        if column.count():
            column.addSpacing(8)
            column.addWidget(Rule())
            column.addSpacing(4)
        column.addWidget(Words(words, bold=True, wrap=True))
        if buttons:
            column.addLayout(button_line(buttons))
            column.addSpacing(4)

    def _say(self, column: Boxes, words: str, px: int = 18) -> None:
        column.addWidget(Words(words, px, ink="ink2", wrap=True))

    # Keys and room.

    def press(self, key: str) -> bool:
        """F6 enters a finding."""
        if key == "F6" and self.page is not None:
            self._doors.entry_wanted.emit("assess", self.page.label)
            return True
        return False

    def fit(self, size: Size) -> None:
        """One column where the window is small."""
        if size is not self._size:
            self._size = size
            if self.page is not None:
                self.show_page(self.page)


def _note(words: str) -> Row:
    line = Row(gap=12)
    at = Boxes()
    at.addWidget(SignMark("caution", 20, "sheet"))
    at.addStretch(1)
    line.addLayout(at)
    line.addWidget(Words(words, wrap=True), 1)
    return line
