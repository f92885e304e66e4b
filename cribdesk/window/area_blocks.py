"""The pieces of the page of an area: a unit model, an agent that opens to how its figures were reached, a told line."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from cribdesk.desk.cards_area import AgentThere, ModelThere, Told
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.doors import Doors
from cribdesk.window.entry_form import form_button
from cribdesk.window.layout import Boxes, Panel
from cribdesk.window.layout import Row as Line
from cribdesk.window.lists import button_line, fixed
from cribdesk.window.rows import Fact


def told_lines(column: Boxes, lines: Iterable[Told]) -> None:
    """Name and figure in a line, what it rests on below."""
    for one in lines:
        column.addWidget(Fact(one.name, one.figure))
        if one.basis:
            column.addWidget(Words(one.basis, 14, ink="ink2", wrap=True))


def signed(mark: str, head: str, beside: str = "", px: int = 24, on: str = "page") -> Line:
    """A sign, words in bold, and what stands at the right of them."""
    line = Line(gap=12)
    at = Boxes()
    at.addWidget(SignMark(mark, px, on))
    at.addStretch(1)
    line.addLayout(at)
    line.addWidget(Words(head, 18, True, wrap=True), 1)
    if beside:
        right = Boxes()
        right.addWidget(Words(beside, 18, True))
        right.addStretch(1)
        line.addLayout(right)
    return line


def indented(*lines: QWidget) -> Boxes:
    """What belongs to a signed head stands under its words."""
    column = Boxes(margins=(36, 0, 0, 0), gap=2)
    for one in lines:
        column.addWidget(one)
    return column


class ModelBlock(Panel):
    """One unit model: whether it is enough, by which factor, what its lens covers."""

    def __init__(self, one: ModelThere) -> None:
        super().__init__("page", (0, 8, 0, 8), 2)
        self.column.addLayout(signed(one.level or "dot", f"{one.name}: {one.verdict}"))
        lens = f"Lens: {one.lens}." if one.lens else "No lens."
        under = f"Factor {one.factor}. {lens}" if one.level else lens
        self.column.addLayout(indented(Words(under, ink="ink2", wrap=True)))
        self.column.addLayout(indented(*(Words(f"{words}.", wrap=True) for words in one.cautions)))
        if one.basis:
            self.column.addLayout(indented(Words(f"Factor: {one.basis}.", 14, ink="ink2", wrap=True)))
        self.column.addSpacing(6)
        self.column.addWidget(Rule())


class AgentBlock(Panel):
    """One agent; its button opens to how each figure was reached, the samples and what may be entered of it."""

    grown = Signal()

    def __init__(self, doors: Doors, area: str, one: AgentThere, opened: bool) -> None:
        super().__init__("page", (0, 8, 0, 8), 2)
        self.name = one.name
        self.column.addLayout(signed(one.level, one.name, one.needed))
        words = [Words(one.found, wrap=True)]
        if one.against:
            words.append(Words(one.against, wrap=True))
        words.append(Words(", ".join(part for part in (one.basis, one.review) if part), 14, ink="ink2", wrap=True))
        self.column.addLayout(indented(*words))
        self.button = fixed(ActionButton("How reached", "plain", size="row"))
        self.button.setAccessibleName(f"How this was reached, {one.name}")
        self.button.clicked.connect(self._turn)
        line = button_line((self.button, *self._buttons(doors, area, one)))
        holder = Boxes(margins=(36, 8, 0, 0))
        holder.addLayout(line)
        self.column.addLayout(holder)
        self.account = Panel("sheet", (16, 8, 16, 12), 4)
        self._fill(one)
        around = Boxes(margins=(36, 8, 0, 0))
        around.addWidget(self.account)
        self.column.addLayout(around)
        self.account.setVisible(opened)
        self.column.addSpacing(6)
        self.column.addWidget(Rule())

    def _buttons(self, doors: Doors, area: str, one: AgentThere) -> tuple[ActionButton, ...]:
        about = f"{area} {one.assessment}"
        found = []
        if one.sampled:
            found.append(form_button(doors, "sample", "Add a sample", about, one.name, "row"))
        found.append(form_button(doors, "withdraw-finding", "Withdraw", about, one.name, "row"))
        return tuple(found)

    def _fill(self, one: AgentThere) -> None:
        column = self.account.column
        if not one.how:
            column.addWidget(Words("Nobody has a finding of it: there is no figure to reach.", wrap=True))
        told_lines(column, one.how)
        if one.statistics or one.note:
            column.addSpacing(8)
            column.addWidget(Words("What the samples say together", bold=True, wrap=True))
            if one.note:
                column.addWidget(Words(one.note, ink="ink2", wrap=True))
            told_lines(column, one.statistics)
        if one.samples:
            column.addSpacing(8)
            column.addWidget(Words("Samples", bold=True, wrap=True))
            for words in one.samples:
                column.addWidget(Words(words, wrap=True))

    @property
    def opened(self) -> bool:
        """Whether the account is open."""
        return not self.account.isHidden()

    def _turn(self) -> None:
        self.account.setVisible(self.account.isHidden())
        self.grown.emit()
