"""The page of one unit: parts, what is next and why, readings against their limit, the whole history."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from cribdesk.crib.meter import correction_words
from cribdesk.crib.records import Where
from cribdesk.crib.words import capital, count, day, hours, number, span
from cribdesk.desk.cards import AirflowTrend, FlowPoint, UnitCard
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, SignMark, Words
from cribdesk.window.components.life import PartsPath
from cribdesk.window.components.plot import Band, Dots, Limit, Line, Now, Plot, PlotData, ticks
from cribdesk.window.counter.what import sign_of, state_words
from cribdesk.window.doors import Doors
from cribdesk.window.drawing import width
from cribdesk.window.entry_form import change_buttons
from cribdesk.window.history import History
from cribdesk.window.layout import Boxes, Fixed, Panel, Row, Scroll, Size, empty
from cribdesk.window.lists import button_line, fixed
from cribdesk.window.lives import account_of, lives_of
from cribdesk.window.look import current
from cribdesk.window.rows import Fact, Head, Upright
from cribdesk.window.run_time import lay_run_time
from cribdesk.window.survival import Survival
from cribdesk.window.wearer_card import card_button

NO_RUNS = "Too few runs were driven flat to tell packs from filters yet."
SIDE = 480
RAIL_AND_BUTTONS = 860
"""What the rail, three buttons, the sign and the gaps take of a line, at 100 %."""


class UnitPage(Panel):
    """Left the parts and the history, right the account of what is next and the readings."""

    def __init__(self, doors: Doors) -> None:
        super().__init__()
        self._doors = doors
        self._card: UnitCard | None = None
        self._size = Size.WIDE
        self._position, self._pictured = "", ""
        self._top = Row(margins=(24, 14, 24, 14), gap=14)
        self.column.addLayout(self._top)
        self.column.addWidget(Rule("edge"))
        self._body = Row()
        self.column.addLayout(self._body, 1)
        self.history = History(doors)
        self.parts, self._facts = PartsPath(36), Boxes()
        self.parts.opened.connect(self._open_part)
        self._left, self._right = self._make_left(), self._make_right(doors)
        self._left_scroll: Scroll | None = None
        self._columns = 0
        self._shown: list[QWidget] = []
        self._lay_body()

    def _make_left(self) -> Panel:
        left = Panel("page", (24, 12, 24, 12))
        self._beside = Words("", ink="ink2", wrap=True)
        left.column.addWidget(self._beside)
        left.column.addWidget(Head("Parts", "life left"))
        left.column.addWidget(self.parts)
        left.column.addSpacing(8)
        left.column.addWidget(Rule())
        left.column.addLayout(self._facts)
        left.column.addWidget(Rule())
        left.column.addSpacing(8)
        left.column.addWidget(self.history)
        left.column.addStretch(1)
        return left

    def _make_right(self, doors: Doors) -> Panel:
        right = Panel("sheet", (24, 14, 24, 16), 8)
        self._head, self._why = Boxes(gap=4), Words("", wrap=True)
        self._run_time = Boxes(gap=4)
        self.plot, self.plot_words = Plot(high=300), Words("", 14, ink="ink2", wrap=True)
        right.column.addLayout(self._head)
        right.column.addWidget(Rule())
        right.column.addWidget(Words("How this was reached", bold=True, wrap=True))
        right.column.addWidget(self._why)
        self.survival = Survival()
        self.survival.said.connect(doors.say)
        right.column.addWidget(self.survival)
        right.column.addSpacing(8)
        right.column.addWidget(Rule())
        right.column.addWidget(Words("Airflow readings", bold=True, wrap=True))
        right.column.addWidget(self.plot_words)
        right.column.addWidget(self.plot)
        right.column.addLayout(self._run_time)
        right.column.addStretch(1)
        return right

    def _lay_body(self) -> None:
        """Two columns side by side, or one under the other where the window is small."""
        columns = 1 if self._size is Size.SMALL else 2
        if columns == self._columns:
            return
        self._columns = columns
        for panel in (self._left, self._right):
            panel.setParent(None)
        empty(self._body)
        if columns == 2:
            self._side = Fixed(SIDE)
            self._side.column.addWidget(Scroll(self._left))
            right = Scroll(self._right, "sheet")
            self._body.addWidget(self._side)
            self._body.addWidget(Upright())
            self._body.addWidget(right, 1)
            self._shown = [self._side, right]
            scroll = self._side.findChild(Scroll)
        else:
            both = Panel()
            both.column.addWidget(self._right)
            both.column.addWidget(self._left)
            scroll = Scroll(both)
            self._body.addWidget(scroll, 1)
            self._shown = [scroll]
        self._left.show()
        self._right.show()
        if isinstance(scroll, Scroll):
            self.history.follow(scroll)

    def expect(self, label: str) -> None:
        """Another unit was asked for: what stands here is no longer it."""
        if self._card is None or self._card.label != label:
            self._card, self._position = None, ""
            empty(self._top)
            self._top.addWidget(Words(label, 36, True))
            self._top.addWidget(Words("Looking it up.", ink="ink2"), 1)
            self._body_shown(False)

    def _body_shown(self, shown: bool) -> None:
        for panel in self._shown:
            panel.setVisible(shown)

    def show_card(self, card: UnitCard) -> None:
        """Show this unit."""
        self._card = card
        self._body_shown(True)
        self._lay_top(card)
        self.parts.set_parts(lives_of(card, None))
        empty(self._facts)
        self._facts.addWidget(Fact("Worn in all", hours(card.unit.worn_hours), bold=False))
        self._facts.addWidget(Fact("Issues", number(card.issues), bold=False))
        self._facts.addWidget(Fact("Serial", card.unit.serial or "none", bold=False))
        if card.used is not None:
            self._facts.addWidget(Fact("Worn last in", card.used.area, bold=False))
            self._facts.addWidget(Words(card.used.words, wrap=True))
        if card.battery is not None:
            self._facts.addWidget(Fact("Battery", card.battery.label, bold=False))
        if card.unit.where is not Where.SCRAPPED:
            move, label, scrap = change_buttons(self._doors, "unit", card.label)
            move.set_key("F6")
            self._facts.addSpacing(8)
            self._facts.addLayout(button_line((move, label)))
            self._facts.addSpacing(8)
            more = fixed(ActionButton("More", "plain", "F10", size="bar"))
            more.setAccessibleName(f"What else can be done with {card.label}")
            more.clicked.connect(self._doer("more"))
            self._facts.addLayout(button_line((scrap, more)))
            self._facts.addSpacing(12)
        if card.model.card is not None:
            self._facts.addLayout(button_line((card_button(self._doors, card.model),)))
            self._facts.addSpacing(12)
        self.history.show_rows(card.timeline, card.before, card.label, card.entries)
        self._account(card)
        self._readings(card)
        empty(self._run_time)
        if card.model.battery_models:
            self._run_time.addSpacing(8)
            self._run_time.addWidget(Rule())
            self._run_time.addSpacing(8)
            self._run_time.addWidget(Words("Run time: battery or filter", bold=True, wrap=True))
            lay_run_time(self._run_time, card.run_time, NO_RUNS)

    def take_more(self, data: object) -> None:
        """The next page of the history."""
        self.history.take_more(data)

    def _lay_top(self, card: UnitCard) -> None:
        empty(self._top)
        self._top.addWidget(Words(card.label, 36, True))
        roomy = self._roomy(card)
        if roomy:
            name = Words(card.model.name, ink="ink2", wrap=True)
            look = current()
            name.setFixedWidth(min(round(width(card.model.name, look.font(18))) + look.px(4), look.px(270)))
            self._top.addWidget(name)
        self._top.addWidget(SignMark(sign_of(card), 24))
        state = Words(state_words(card), 24 if self._size is not Size.SMALL else 18, True, wrap=not roomy)
        self._top.addWidget(state, 0 if roomy else 1)
        if roomy:
            self._top.addWidget(Words(card.where_words, ink="ink2", wrap=True), 1)
        for words, key, kind, command in self._offers(card):
            button = fixed(ActionButton(words, kind, "" if self._size is Size.SMALL else key, size="bar"))
            button.clicked.connect(self._doer(command))
            self._top.addWidget(button)
        if not roomy:
            self._beside.setText(f"{capital(card.model.name)}, {card.where_words}")
        self._beside.setVisible(not roomy)

    def _roomy(self, card: UnitCard) -> bool:
        """Whether label, model, state, where and the buttons stand in one line without a cut."""
        look = current()
        words = (
            width(card.label, look.font(36, True))
            + min(width(card.model.name, look.font(18)), look.px(270))
            + width(state_words(card), look.font(24, True))
            + width(card.where_words, look.font(18))
        )
        return self.window().width() >= max(look.px(1400), words + look.px(RAIL_AND_BUTTONS))

    def _offers(self, card: UnitCard) -> tuple[tuple[str, str, str, str], ...]:
        if card.unit.where.value == "scrapped":
            return ()
        hold = ("Hold", "F8", "plain", "hold")
        if card.is_out:
            return (("Take back", "F5", "go", "take-back"), hold)
        ready = card.condition.state.value == "ready"
        first = ("Issue", "F5", "go", "issue") if ready else ("To the counter", "F5", "go", "issue")
        return (first, ("Change a part", "F7", "plain", "change"), hold)

    def _doer(self, command: str) -> Callable[[], None]:
        return lambda: self._do(command)

    def _do(self, command: str) -> None:
        if self._card is not None:
            self._doors.chosen.emit(command, self._card.label)

    def press(self, key: str) -> bool:
        """F5 to F8: the same as the buttons."""
        if key == "F6" and self._card and self._card.unit.where is not Where.SCRAPPED:
            self._doors.entry_wanted.emit("move", self._card.label)
            return True
        if key == "F10" and self._card and self._card.unit.where is not Where.SCRAPPED:
            self._do("more")
            return True
        for _, its, _, command in self._offers(self._card) if self._card else ():
            if its == key:
                self._do(command)
                return True
        return False

    def _open_part(self, position: str) -> None:
        self._position = position
        if self._card is not None:
            self._account(self._card)

    def _account(self, card: UnitCard) -> None:
        """The part that is next, or the one that was opened: its figure in a sentence and how it came about."""
        position = self._position or (card.next_change.position if card.next_change else "")
        part = next((one for one in card.parts if one.position == position), None)
        self._want_picture(card, position if part is not None and part.forecast is not None else "")
        empty(self._head)
        for hold in card.holds:
            self._head.addLayout(_signed("on hold", hold.words, f"Cleared by {hold.proof_words}. Tag {hold.hold.tag}."))
        if part is None:
            self._head.addWidget(Words("No change is due by hours or date", 24, True, wrap=True))
            self._why.setText("Every part is judged by looking.")
            return
        said = f"{part.name}: {part.why}"
        if part.middle is not None:
            left = f"about {hours(part.middle)} left" if part.middle > 0 else f"{hours(-part.middle)} past"
            when = (
                f", so about {day(part.due_on, self._doors.house.today(self._doors.moment))}"
                if part.due_on and part.middle > 0
                else ""
            )
            said = f"{part.name}: {left}{when}"
            if part.forecast is not None and part.early is not None and part.late is not None and part.middle > 0:
                said = f"{part.name}: {span(part.early, part.late)} left{when.replace('so about', 'from')}"
        past = part.middle is not None and part.middle <= 0
        mark = ("stop" if part.binding else "caution") if past else "due"
        self._head.addLayout(_signed(mark, said, capital(part.why)))
        self._why.setText(account_of(card, part.position, self._doors))

    def _want_picture(self, card: UnitCard, position: str) -> None:
        """Asks for the picture behind the forecast; what stands of another part or unit is hidden meanwhile."""
        wanted = f"{card.label}\n{position}"
        if wanted != self._pictured:
            self._pictured = wanted
            self.survival.show_picture(None)
        if position:
            self._doors.wanted.emit("life", wanted)

    def take_life(self, data: object) -> None:
        """The picture came; it is shown if its part is still the open one."""
        if isinstance(data, tuple) and data[0] == self._pictured and self._card is not None:
            self.survival.show_picture(data[1], self._card.label, self._card.model.code)

    def _readings(self, card: UnitCard) -> None:
        data = plot_of(card.flow, card.unit.worn_hours, card.air_trend)
        self.plot.setVisible(data is not None)
        self.plot.set_data(data)
        if data is None:
            none = (
                "No reading yet. The first full inspection writes one."
                if card.model.flow_minimum_lpm
                else "This model gives no air of its own."
            )
            self.plot_words.setText(none)
            return
        last = card.flow[-1]
        limit = f"; at least {number(last.limit_lpm)} is needed" if last.limit_lpm else ""
        wrong = [one for one in card.flow if one.error_lpm]
        beside = f" {capital(correction_words(wrong[-1].flow_lpm, wrong[-1].error_lpm))}." if wrong else ""
        hollow = f" {count(len(wrong), 'reading')} corrected beside." if len(wrong) > 1 else ""
        trend = f" {card.air_trend.words}" if card.air_trend else ""
        self.plot_words.setText(
            f"Last {number(last.flow_lpm)} L/min, {self._doors.when(last.at)}{limit}. "
            f"{count(len(card.flow), 'reading')}.{beside}{hollow}{trend}"
        )
        self.plot_words.setToolTip(self._doors.exactly(last.at))

    def fit(self, size: Size) -> None:
        """One column where the window is small."""
        self._size = size
        self._lay_body()
        if self._columns == 2:
            self._side.set_wide(SIDE if size is Size.WIDE else 440)
        if self._card is not None:
            self.show_card(self._card)


def _signed(mark: str, head: str, words: str) -> Row:
    line = Row(gap=16)
    at = Boxes()
    at.addWidget(SignMark(mark, 32, "sheet"))
    at.addStretch(1)
    line.addLayout(at)
    inner = Boxes(gap=4)
    inner.addWidget(Words(head, 24, True, wrap=True))
    inner.addWidget(Words(words, wrap=True))
    line.addLayout(inner, 1)
    return line


def plot_of(flow: tuple[FlowPoint, ...], now_hours: float, trend: AirflowTrend | None = None) -> PlotData | None:
    """Readings over worn hours, 0 being now, against the limit they were asked with."""
    if not flow:
        return None
    points = tuple((one.at_hours - now_hours, one.flow_lpm) for one in flow)
    limit = flow[-1].limit_lpm
    really = tuple((one.at_hours - now_hours, one.really_lpm) for one in flow if one.error_lpm)
    values = [y for _, y in (*points, *really)] + ([limit] if limit else [])
    low, high = min(values) - 12, max(values) + 10
    left = min(points[0][0] - 4, -20.0)
    last = points[-1]
    line = tuple((x - now_hours, y) for x, y in trend.line) if trend else ()
    shaded = tuple((x - now_hours, a, b) for x, a, b in trend.band) if trend else ()
    right = max([4.0, *(x for x, _ in line)])
    return PlotData(
        x=(left, right), y=(low, high), x_ticks=ticks(left, right if right > 4 else 0), y_ticks=ticks(low, high),
        x_name="worn hours, 0 = now", y_name="L/min",
        told=f"{len(points)} airflow readings, the last {last[1]:.0f} L/min, limit {limit or 'none'}",
        lines=(*((Line(points),) if len(points) > 1 else ()), *((Line(line, "forecast"),) if line else ())),
        bands=(Band(shaded),) if shaded else (),
        dots=(Dots(points), *((Dots(really, "hollow"),) if really else ())),
        limit=Limit(limit, f"minimum {limit:.0f}") if limit else None,
        now=Now(last[0], f"last {last[1]:.0f}", last[1], upright=False),
    )  # fmt: skip


__all__ = ["UnitPage", "plot_of"]
