"""Run time on a page: what to do about it first, the figures, and on demand what it all rests on."""

from __future__ import annotations

from collections.abc import Callable

from cribdesk.crib.run_time import RULE, Advice, RunTime
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Words
from cribdesk.window.layout import Boxes
from cribdesk.window.lists import button_line, fixed
from cribdesk.window.rows import Fact

MORE, LESS = "How sure is this", "Show less"


def lay_run_time(
    into: Boxes, told: RunTime | None, none: str = "", figures: bool = True, grown: Callable[[], None] | None = None
) -> None:
    """The block under its head; `none` where no run was told apart yet.

    Without `figures` they stand elsewhere. `grown` is called when the confidence was opened or closed.
    """
    if told is None:
        if none:
            into.addWidget(Words(none, ink="ink2", wrap=True))
        return
    into.addWidget(Words(told.action, bold=told.pair.advice() not in (Advice.FINE, Advice.LEARNING), wrap=True))
    if told.since:
        into.addWidget(Words(told.since, wrap=True))
    for name, value in told.figures if figures else ():
        into.addWidget(Fact(name, value, bold=False))
    into.addWidget(Words(RULE, 14, ink="ink2", wrap=True))
    lines = [Words(line, 14, ink="ink2", wrap=True) for line in told.confidence if line != RULE]
    button = fixed(ActionButton(MORE, "quiet", size="row"))

    def turn() -> None:
        shown = not lines[0].isVisible()
        for line in lines:
            line.setVisible(shown)
        button.set_word(LESS if shown else MORE)
        if grown is not None:
            grown()

    button.clicked.connect(turn)
    into.addLayout(button_line((button,)))
    for line in lines:
        line.hide()
        into.addWidget(line)


def short_words(told: RunTime | None) -> str:
    """The one line for a narrow place, or nothing where nothing is to be done."""
    if told is None:
        return ""
    to_do = "" if told.pair.advice() in (Advice.FINE, Advice.LEARNING) else told.action
    return " ".join(one for one in (to_do, told.since) if one)
