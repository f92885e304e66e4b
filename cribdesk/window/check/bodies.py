"""What stands on the page of each kind of step: look, action, choice, remedy, and the end."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from cribdesk.desk.slate import Slate
from cribdesk.procedure.run import Page as StepPage
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.look_step import LookPictures
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Row, Size, empty


class StepBody(QWidget):
    """The middle of the page. `changed` says that the answers below must be laid anew."""

    changed = Signal()
    doors: Doors
    narrow = False
    """Even less room than in the smallest window: large text in a small one."""

    def __init__(self) -> None:
        super().__init__()
        self.column = Boxes(self, gap=12)

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        """Show another page, from scratch. Every kind of body has its own way; this one shows none."""

    def refresh(self, slate: Slate) -> None:
        """The same page again: only what stands beside it may differ."""

    def take_focus(self) -> None:
        """Take the keys where something is typed."""

    def leave(self) -> None:
        """The page is gone: stop every clock."""


class LookBody(StepBody):
    """A picture of good, pictures of not good, neither ticked."""

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        if page.good or page.bad:
            self.pictures = LookPictures()
            self.pictures.set_step("" if size is Size.SMALL else page.picture or "", page.good, page.bad)
            self.column.addWidget(self.pictures, 1)
        else:
            self.column.addStretch(1)
        said = [f"Asked {page.tried + 1} of {page.tries} times."] if page.tried else []
        if page.otherwise:
            said.append(f"If it is not good, next: {page.otherwise[:1].lower()}{page.otherwise[1:]}.")
        if said and size is not Size.SMALL:
            self.column.addWidget(Words(" ".join(said), ink="ink2", wrap=True))


def _signed(mark: str, head: str, words: str) -> Row:
    line = Row(gap=16)
    inner = Boxes(gap=4)
    inner.addWidget(Words(head, 24, True, wrap=True))
    if words:
        inner.addWidget(Words(words[:1].upper() + words[1:], 24, wrap=True))
    at = Boxes()
    at.addWidget(SignMark(mark, 32))
    at.addStretch(1)
    line.addLayout(at)
    line.addLayout(inner, 1)
    return line


class ChoiceBody(StepBody):
    """One of several answers, each a button of the same weight."""

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        self._options = Boxes(gap=8)
        self.column.addLayout(self._options)
        self.column.addStretch(1)

    def show_options(self, buttons: list[ActionButton]) -> None:
        """The answers, in the order of the procedure."""
        empty(self._options)
        for button in buttons:
            self._options.addWidget(button)


class ActionBody(StepBody):
    """Something to do, then done or not possible."""

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        if page.good:
            self.column.addLayout(_signed("fine", "Done when", page.good))
        self.column.addStretch(1)


class RemedyBody(StepBody):
    """One rung of the ladder: what to try now, and what it waits for."""

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        self.asks = Words("", 24, True, wrap=True)
        self.column.addWidget(self.asks)
        if page.remedy is not None and page.remedy.then_retest:
            self.column.addWidget(Words("Then the step is asked again.", ink="ink2", wrap=True))
        if page.earlier:
            self.column.addSpacing(8)
            self.column.addWidget(Rule())
            for one in page.earlier:
                line = Row()
                line.addWidget(Words(one.name, ink="ink2"))
                line.addStretch(1)
                line.addWidget(Words(one.words, bold=True))
                self.column.addLayout(line)
        if page.limit is not None:
            self.column.addWidget(Words(f"{page.title}: {page.limit.words} is needed.", ink="ink2", wrap=True))
        self.column.addStretch(1)
        self._kind = page.remedy.kind if page.remedy else ""
        self.refresh(slate)

    def refresh(self, slate: Slate) -> None:
        ask = slate.check.ask if slate.check else ""
        words = {"battery": "Scan the charged pack that goes in.", "change": "Choose the part that goes in."}
        words["swap-battery"] = words["battery"]
        self.asks.setText(words.get(ask, ask))
        self.asks.setVisible(bool(ask))


ENDS = {"pass": ("fine", "Passed"), "fail": ("stop", "Not good"), "broken off": ("caution", "Broken off")}


class EndedBody(StepBody):
    """The run has its verdict."""

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        mark, words = ENDS.get(page.heading, ("due", page.heading))
        line = Row(gap=24)
        line.addWidget(SignMark(mark, 56))
        line.addWidget(Words(words, 36, True), 1)
        self.column.addLayout(line)
        if page.instruction:
            self.column.addWidget(Words(page.instruction, 24, wrap=True))
        self.column.addStretch(1)
