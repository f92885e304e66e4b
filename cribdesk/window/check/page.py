"""The page of a check: one step at a time, the track beside it, the answers at its foot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtWidgets import QWidget

from cribdesk.crib.words import capital, minutes_seconds
from cribdesk.desk.slate import Check, Line, Slate
from cribdesk.procedure.model import NO_FILTER
from cribdesk.procedure.run import (
    Answer,
    Chosen,
    Found,
    Good,
    NotGood,
    RailRow,
    RemedyDone,
    RemedyNotPossible,
    page,
    rail,
)
from cribdesk.procedure.run import Page as StepPage
from cribdesk.window.check.bodies import ActionBody, ChoiceBody, EndedBody, LookBody, RemedyBody, StepBody
from cribdesk.window.check.reading import BALLS, ReadingBody
from cribdesk.window.check.timed import TimedBody
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.scan_line import Said, ScanLine
from cribdesk.window.components.track import State, Step, Track
from cribdesk.window.counter.forms import FormPage
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Boxes, Panel, Row, Scroll, Size, empty
from cribdesk.window.look import current
from cribdesk.window.view import Page

STATES: dict[str, State] = {"done": "done", "now": "now", "ahead": "to do", "remedied": "caution", "failed": "stop"}
PURPOSES = {
    "issue": "before the issue",
    "bench": "at the bench",
    "pre-stage": "for the next shift",
}
BODIES: dict[str, Callable[[], StepBody]] = {
    "look": LookBody, "action": ActionBody, "choice": ChoiceBody, "remedy": RemedyBody, "ended": EndedBody,
    "reading": ReadingBody, "timed": TimedBody,
}  # fmt: skip
FOUND_WORDS = {NO_FILTER: "No filter"}
"""What was found, short enough for a button."""
ANSWER_KEYS = {"good": "F5", "next": "F5", "no-filter": "F6", "not-good": "F8", "back": "F9", "break-off": "F12"}
OPTION_KEYS = ("F5", "F6", "F7", "F8")
NARROW = 860
"""Pixels at 100 %, below which a page has to drop what is read once."""


@dataclass(frozen=True)
class Reply:
    """One answer at the foot: its key, its words, how it looks, what it does, and why it cannot be given yet."""

    key: str
    words: str
    kind: str
    do: Callable[[], None]
    why: str = ""
    mark: str = ""


class CheckPage(Page):
    """Covers all places while a check runs. Keeps what is typed and the time, both gone with the step."""

    def __init__(self, doors: Doors) -> None:
        super().__init__(doors)
        self._size = Size.WIDE
        self._slate: Slate | None = None
        self._seen: object = None
        self._page = StepPage("ended")
        self._body: StepBody = EndedBody()
        self._replies: tuple[Reply, ...] = ()
        self._shown: tuple[tuple[str, str, str, str], ...] = ()
        self._step_clock, self._run_clock = QElapsedTimer(), QElapsedTimer()
        self._run_began: object = None
        self._second = QTimer(self)
        self._second.setInterval(1000)
        self._second.timeout.connect(self._say)
        self._line: Line | None = None
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)  # so that no answer has the focus when a step comes up
        self._lay_out()

    def _lay_out(self) -> None:
        self.strip = ScanLine("")
        self.track = Track()
        self.heading = Words("", 36, True, wrap=True)
        self.instruction = Words("", 24, wrap=True)
        self.form = FormPage(self.doors)
        self.form.hide()
        inside = Panel("page", (40, 24, 40, 12), 8)
        self._inside = inside
        inside.column.addWidget(self.heading)
        inside.column.addWidget(self.instruction)
        self._cautions = Boxes(gap=8)
        inside.column.addLayout(self._cautions)
        inside.column.addSpacing(8)
        self._place = Boxes()
        inside.column.addLayout(self._place, 1)
        self._scroll = Scroll(inside)
        self._foot = QWidget()
        foot = Boxes(self._foot)
        foot.addWidget(Rule())
        self._buttons = Row(margins=(40, 16, 40, 24), gap=8)
        foot.addLayout(self._buttons)
        self._right = Boxes()
        self._right.addWidget(self._scroll, 1)
        self._right.addWidget(self.form, 1)
        middle = Row()
        middle.addWidget(self.track)
        middle.addLayout(self._right, 1)
        self._all = Boxes(self)
        self._all.addWidget(self.strip)
        self._all.addLayout(middle, 1)
        self._all.addWidget(self._foot)

    # What is shown.

    def show_slate(self, slate: Slate) -> None:
        """Show the page that stands open; a new one starts its clock, the same one keeps what is typed."""
        check = slate.check
        assert check is not None
        self._slate = slate
        if check.run.started != self._run_began:
            self._run_began = check.run.started
            self._run_clock.start()
            self._second.start()
        seen = (check.run.started, check.run.standing, len(check.run.asked), check.run.verdict)
        if seen != self._seen:
            self._seen, self._line = seen, None
            self._step_clock.start()
            self._new_page(check)
        else:
            self._body.refresh(slate)
        self._show_form(slate)
        self.track.set_steps(steps_of(rail(check.run)))
        self._lay_foot()
        self._say()

    def _new_page(self, check: Check) -> None:
        assert self._slate is not None
        self._body.leave()
        self._body.blockSignals(True)
        self._page = page(check.run)
        self._say_first(check)
        empty(self._place)
        self._body = BODIES[self._page.kind]()
        self._body.doors = self.doors
        ended = self._page.kind == "ended"
        self.heading.setText("" if ended else self._page.heading)
        self.instruction.setText("" if ended else self._page.instruction)
        # Where the window is small, field and clock need the room: the page's words stand inside them.
        inside = self._size is Size.SMALL and self._page.kind in ("timed", "reading")
        self.heading.setVisible(bool(self.heading.text()) and not inside)
        size = self._size if self._wide() else min(self._size, Size.MIDDLE)
        beside = inside or (size is Size.MIDDLE and self._page.kind == "reading")
        self.instruction.setVisible(bool(self.instruction.text()) and not beside)
        self._body.narrow = size is Size.SMALL and self.width() < current().px(NARROW)
        self._body.show_page(self._page, self._slate, size)
        self._body.changed.connect(self._lay_foot)
        if isinstance(self._body, TimedBody):
            self._body.outcome.connect(self._answer)
        self._place.addWidget(self._body, 1)
        self._scroll.verticalScrollBar().setValue(0)
        self.take_focus()

    def _say_first(self, check: Check) -> None:
        """What the bench does first with what a unit brought along: while its first step or a remedy stands open."""
        empty(self._cautions)
        if self._page.number > 1 and self._page.kind != "remedy":
            return
        for words in check.cautions if self._page.kind != "ended" else ():
            line = Row(gap=12)
            line.addWidget(SignMark("caution", 24))
            line.addWidget(Words(words, bold=True, wrap=True), 1)
            self._cautions.addLayout(line)

    def take_focus(self) -> None:
        """Take the keys: for the field where something is typed, else for no button at all."""
        if self.form.isVisibleTo(self):
            return
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        self._body.take_focus()

    def _show_form(self, slate: Slate) -> None:
        shown, was_shown = slate.form is not None, self.form.isVisibleTo(self)
        if slate.form is not None:
            self.form.show_form(slate.form, slate)
        elif was_shown:
            self.form.close_form()
        self.form.setVisible(shown)
        self._scroll.setVisible(not shown)
        if was_shown and not shown:
            self.take_focus()

    def show_line(self, line: Line) -> None:
        """Say what became of a scan; it stays until the next page."""
        if line.level != "quiet":
            self._line = line
            self._say()

    def _say(self) -> None:
        if self._slate is None or self._slate.check is None:
            return
        check, clerk = self._slate.check, self._slate.clerk
        seconds = self._run_clock.elapsed() / 1000 if self._run_clock.isValid() else 0.0
        at = f"step {self._page.number} of {self._page.of}, {minutes_seconds(seconds)}"
        line = self._line
        if line is not None:
            mark = {"refused": "stop", "caution": "caution"}.get(line.level, "")
            said = Said(line.words, check.labels[0], mark=mark, right=at, plate=True)
        else:
            tray = f" of {check.labels[0]} and {len(check.labels) - 1} more" if len(check.labels) > 1 else ""
            name = check.run.procedure.name
            where = "" if name.startswith("Bench") else PURPOSES.get(check.purpose, "")
            words = ", ".join(one for one in (f"{name} {where}".strip() + tray, clerk.name if clerk else "") if one)
            said = Said(words, check.labels[0], right=at, plate=True)
        if said != self.strip.said():
            self.strip.say(said)

    def leave(self) -> None:
        """The check is over: every clock stops."""
        self._body.leave()
        self._second.stop()
        self._slate, self._seen, self._run_began = None, None, None

    # Answers.

    def _elapsed(self) -> float:
        return self._step_clock.elapsed() / 1000 if self._step_clock.isValid() else 0.0

    def _answer(self, answer: object) -> None:
        self.doors.answered.emit(answer, self._elapsed())

    def _gives(self, answer: Answer) -> Callable[[], None]:
        return lambda: self._answer(answer)

    def _chooses(self, command: str) -> Callable[[], None]:
        return lambda: self.doors.chosen.emit(command, "")

    def replies(self) -> tuple[Reply, ...]:
        """The answers that can be given to this page, in their one order: yes, no, back, break off."""
        slate = self._slate
        if slate is None or slate.check is None or slate.pending is not None:
            return ()
        if self._page.kind == "ended":
            return (Reply("F5", "Close", "go", self._chooses("done")),)
        ends = (
            Reply(
                "F9",
                "Back",
                "plain",
                self._chooses("back"),
                "" if self._page.can_go_back and not self._running() else "not now",
            ),
            Reply("F12", "Break off", "quiet", self._chooses("break-off")),
        )
        return (*self._answers(), *ends)

    def _running(self) -> bool:
        return isinstance(self._body, TimedBody) and self._body.running

    def _answers(self) -> tuple[Reply, ...]:
        kind, body = self._page.kind, self._body
        if kind == "look":
            return (
                Reply("F5", "Good", "answer", self._gives(Good()), mark="fine"),
                Reply("F8", "Not good", "answer", self._gives(NotGood()), mark="not good"),
            )
        if kind == "action":
            return (
                Reply("F5", "Done", "go", self._gives(Good())),
                Reply("F8", "Not possible", "plain", self._gives(NotGood())),
            )
        if kind == "choice":
            return tuple(
                Reply(
                    OPTION_KEYS[n] if n < len(OPTION_KEYS) else "", capital(words), "answer", self._gives(Chosen(words))
                )
                for n, words in enumerate(self._page.options)
            )
        if kind == "remedy":
            return self._remedy_replies()
        if isinstance(body, ReadingBody):
            return self._reading_replies(body)
        return self._timed_replies(body) if isinstance(body, TimedBody) else ()

    def _remedy_replies(self) -> tuple[Reply, ...]:
        slate = self._slate
        assert slate is not None
        no = Reply("F8", "Not possible", "plain", self._gives(RemedyNotPossible()))
        if slate.form is not None:
            why = "" if getattr(slate.form, "chosen", 0) is not None else "Choose what goes in."
            return (Reply("F5", "Fitted", "go", self._chooses("done"), why), no)
        why = "Scan the pack." if slate.check is not None and slate.check.ask == "battery" else ""
        done = Reply("F5", "Done", "go", self._gives(RemedyDone()), why)
        finding = self._page.remedy.finding if self._page.remedy else ""
        found = (Reply("F6", FOUND_WORDS[finding], "plain", self._gives(Found(finding))),) if finding else ()
        return (done, *found, no)

    def _reading_replies(self, body: ReadingBody) -> tuple[Reply, ...]:
        value, lacks = body.field.reading(), body.lacks()
        enter = Reply("F5", f"Enter {value}" if value else "Enter", "go", lambda: self._enter(body), lacks)
        if not self._page.allows_ball:
            return (enter, Reply("F8", "Cannot be read", "plain", self._gives(NotGood())))
        if value and not body.roomy:
            return (enter,)  # the verdict needs the room; take the figure back to say where the ball stands
        meter = "" if lacks in ("", "Type the reading.") else lacks
        return (enter, *(Reply(key, words, "ball", self._ball(body, where), meter) for key, words, where in BALLS))

    def _ball(self, body: ReadingBody, where: str) -> Callable[[], None]:
        return lambda: self._answer(body.ball(where))

    def _enter(self, body: ReadingBody) -> None:
        measured = body.measured()
        if measured is not None:
            self._answer(measured)

    def _timed_replies(self, body: TimedBody) -> tuple[Reply, ...]:
        if not body.running:
            start = Reply("F5", "Start the clock", "go", body.start)
            if self._page.signals:
                return (start, Reply("F8", f"{capital(self._page.signals[0])} already", "plain", body.before))
            return (start, Reply("F8", "Not possible", "plain", self._gives(NotGood())))
        yes = Reply("F5", body.signal_words, "go", body.all_came, body.too_soon())
        no = "Only one" if len(self._page.signals) > 1 else "Does not come" if self._page.signals else "Cut short"
        return (yes, Reply("F8", no, "plain", body.only_one))

    def press(self, key: str) -> bool:
        for reply in self.replies():
            if reply.key == key:
                if not reply.why:
                    reply.do()
                return True
        return False

    def answer_by_command(self, command: str) -> bool:
        """What an answer card says: 'next' goes on from what is read or done, never past a look."""
        kind = self._page.kind
        if command == "good" and kind in ("reading", "choice", "ended"):
            return False
        if command == "next" and kind in ("look", "choice"):
            return False
        if command == "not-good" and kind == "choice":
            return False
        if command == "not-good" and kind == "reading":
            self._answer(NotGood())
            return True
        if command == "no-filter" and kind != "remedy":
            return False
        key = ANSWER_KEYS.get(command, "")
        reply = next((one for one in self.replies() if one.key == key and key), None)
        if reply is None or reply.why:
            return False
        reply.do()
        return True

    # The foot.

    def _lay_foot(self) -> None:
        self._replies = self.replies()
        shown = tuple((one.key, one.words, one.kind, one.why) for one in self._replies)
        shown = (*shown, (self._size.name, str(current().u), "", self._busy()))
        if shown == self._shown:
            return
        self._shown = shown
        empty(self._buttons)
        if self._busy():
            self._buttons.addWidget(Words(self._busy(), 24, True, wrap=True), 1)
        wide = self._wide()
        body = self._body
        if isinstance(body, ReadingBody):
            body.show_balls([self._button(one, wide) for one in self._replies if one.kind == "ball"])
        elif isinstance(body, ChoiceBody):
            body.show_options([self._button(one, wide) for one in self._replies if one.kind == "answer"])
        for reply in self._replies:
            if reply.kind == "ball" or (reply.kind == "answer" and isinstance(body, ChoiceBody)):
                continue
            self._buttons.addWidget(self._button(reply, wide), 3 if reply.kind in ("go", "answer") else 1)

    def _busy(self) -> str:
        pending = self._slate.pending if self._slate else None
        return pending.words if pending else ""

    def _wide(self) -> bool:
        return self.window().width() / current().u >= 1400

    def _button(self, reply: Reply, wide: bool) -> ActionButton:
        large = reply.kind in ("go", "answer")
        px = (36 if wide and self._page.kind != "choice" else 24) if large else 18
        size = "main" if self._size is Size.SMALL else "foot"
        kind = "plain" if reply.kind == "ball" else reply.kind
        small = self._size is Size.SMALL
        if reply.kind == "ball":
            size = "bar" if small else "small"
        key = "" if reply.kind == "ball" and small else reply.key
        button = ActionButton(reply.words, kind, key, size=size, mark=reply.mark, px=px)
        if reply.why and large:
            button.set_off(reply.why)
        elif reply.why:
            button.setEnabled(False)
        button.clicked.connect(reply.do)
        return button

    def fit(self, size: Size) -> None:
        self._size = size
        wide = self._wide()
        self.strip.set_compact(size is Size.SMALL)
        self.track.setVisible(size is not Size.SMALL)
        side = 40 if wide else 24
        small = size is Size.SMALL
        self._inside.column.set_margins(
            (side, 8 if small else 16 if size is Size.MIDDLE else 24, side, 4 if small else 8)
        )
        self.form.set_side(side)
        self._buttons.set_margins((side, 8 if small else 16, side, 8 if small else 24))
        self._right.removeWidget(self._foot)
        self._all.removeWidget(self._foot)
        (self._right if wide else self._all).addWidget(self._foot)
        if self._slate is not None and self._slate.check is not None and not self._running():
            typed = self._body.field.text() if isinstance(self._body, ReadingBody) else ""
            self._new_page(self._slate.check)
            if typed and isinstance(self._body, ReadingBody):
                self._body.field.setText(typed)
        self._shown = ()
        self._lay_foot()


def steps_of(rows: tuple[RailRow, ...]) -> tuple[Step, ...]:
    """The track's rows; while a ladder stands open the good steps before it fold to one row."""
    open_ladder = any(row.indent for row in rows)
    found: list[Step] = []
    good: list[RailRow] = []
    for row in rows:
        if open_ladder and row.state == "done" and not row.indent and not found:
            good.append(row)
            continue
        if good:
            found.append(_folded(good))
            good = []
        state = STATES[row.state]
        if row.state == "failed" and row.indent and "on hold" not in row.text:
            state = "not good"
        found.append(Step(row.text, state, row.value, bool(row.indent)))
    return (*found, *([_folded(good)] if good else []))


def _folded(rows: list[RailRow]) -> Step:
    if len(rows) == 1:
        return Step(rows[0].text, "done", rows[0].value)
    return Step(f"{rows[0].number} to {rows[-1].number}", "done", "good")
