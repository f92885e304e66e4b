"""A reading on its page: the field, what it comes to while it is typed, the meter's tube, the pad."""

from __future__ import annotations

from math import ceil, floor

from cribdesk.crib.flow import round_up, sure_from
from cribdesk.crib.reference import METER_KIND
from cribdesk.crib.words import capital
from cribdesk.desk import air
from cribdesk.desk.slate import Slate
from cribdesk.procedure.limits import Limit, Plausible, figure
from cribdesk.procedure.page import mark
from cribdesk.procedure.run import Ball, Measured, saying
from cribdesk.procedure.run import Page as StepPage
from cribdesk.window.check.air import AirFields
from cribdesk.window.check.bodies import StepBody
from cribdesk.window.components.action import ActionButton
from cribdesk.window.components.base import Rule, Words
from cribdesk.window.components.pad import NumberPad
from cribdesk.window.components.reading import FlowTube, ReadingField, Tube, VerdictLine
from cribdesk.window.layout import Boxes, Row, Size, empty

BALLS = (("F6", "Above the mark", "above"), ("F7", "At the mark", "at"), ("F8", "Below the mark", "below"))


class ReadingBody(StepBody):
    """Keeps what is typed and nothing else."""

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        check = slate.check
        assert check is not None
        self._page, self._check, self._small = page, check, size is Size.SMALL
        self.roomy = size is Size.WIDE
        self.field = ReadingField(page.unit, page.title, self._small, self.narrow)
        self.field.reading_changed.connect(self._typed)
        self.verdict = VerdictLine(self._small)
        self.meter = Words("", 18 if self.roomy else 14, wrap=True)
        self.pad = NumberPad(self.narrow)
        self.pad.pressed.connect(self._press)
        self.air = AirFields()
        self.air.set_air(air.today(self.doors.house, slate.air, check.run.started))
        self.air.changed.connect(lambda: self._typed(""))
        self.air.entered.connect(self.field.setFocus)
        self.field.selectionChanged.connect(self.air.left)
        self.field.cursorPositionChanged.connect(lambda *_: self.air.left())
        self.tube: FlowTube | None = None
        self._heading: Words | None = None
        line = Row(gap=16)
        if size is Size.WIDE and page.limit is not None and page.limit.low is not None:
            self.tube = FlowTube()
            line.addWidget(self.tube)
        inner = Boxes(gap=8)
        if size is Size.SMALL:
            self._heading = Words(page.heading, 24, True, wrap=True)
            inner.addWidget(self._heading)
            if not self.narrow:
                inner.addWidget(Words(page.instruction, 18, wrap=True))
            if page.instrument and not self.narrow:
                inner.addWidget(self.air)  # beside the pad, which takes all the height there is
        inner.addWidget(self.field)
        inner.addWidget(self.verdict)
        if self.narrow:
            inner.addWidget(Words(page.instruction, 18, wrap=True))
        if size is not Size.SMALL:
            inner.addWidget(Rule())
        inner.addWidget(self.meter)
        inner.addStretch(1)
        pair = Row(gap=24)
        pair.addLayout(inner, 1)
        side = Boxes()
        side.addWidget(self.pad)
        side.addStretch(1)
        pair.addLayout(side)
        right = Boxes(gap=8)
        if size is Size.MIDDLE:
            right.addWidget(Words(page.instruction, 18, wrap=True))
        if page.instrument and (self.narrow or size is not Size.SMALL):
            right.addWidget(self.air)
        right.addLayout(pair)
        self._balls = Row(gap=8)
        self._lay_balls(page, size, inner, right)
        right.addStretch(1)
        line.addLayout(right, 1)
        self.column.addLayout(line, 1)
        self.refresh(slate)
        self._typed("")

    def _lay_balls(self, page: StepPage, size: Size, inner: Boxes, right: Boxes) -> None:
        """Under field and pad; where the window is small beside the pad, without words of their own."""
        if size is Size.SMALL:
            inner.insertLayout(inner.count() - 1, self._balls)
            return
        if page.allows_ball and size is Size.WIDE:
            right.addWidget(Rule())
            right.addWidget(Words("No numbers on the meter? Say where the ball stands:", ink="ink2", wrap=True))
        right.addLayout(self._balls)

    def refresh(self, slate: Slate) -> None:
        if slate.check is None:
            return
        self._check = slate.check
        label, words = self._check.instrument_label, self._check.instrument_words
        if self._page.instrument and not label:
            self.meter.setText(f"Scan the {self._page.instrument} first: its label begins with M.")
            self.meter.show()
        else:
            parts = (f"Meter {label}" if label else "", words)
            self.meter.setText(", ".join(part for part in parts if part))
            self.meter.setVisible(not self._small)
        self.changed.emit()

    def show_balls(self, buttons: list[ActionButton]) -> None:
        """The three answers of a meter without numbers."""
        empty(self._balls)
        for button in buttons:
            self._balls.addWidget(button, 1)

    def take_focus(self) -> None:
        """The air comes first where nobody entered it today."""
        first = self._page.instrument and self.air.celsius() is None
        (self.air.temperature if first else self.field).setFocus()

    def _press(self, key: str) -> None:
        if self.air.takes_pad():
            self.air.press(key)
        else:
            self.field.press(key)

    def lacks(self) -> str:
        """Why nothing can be entered yet, or nothing."""
        if self._page.instrument and not self._check.instrument_label:
            return f"Scan the {self._page.instrument} first."
        if self._page.instrument and self.air.celsius() is None:
            return "Type the air temperature."
        return "" if self.field.value() is not None else "Type the reading."

    def measured(self) -> Measured | None:
        """The reading as an answer."""
        value = self.field.value()
        if value is None:
            return None
        return Measured(
            value,
            self._check.instrument_label,
            temperature_c=self.air.celsius() if self._page.instrument else None,
            pressure_hpa=self.air.hectopascals() if self._page.instrument else None,
        )

    def _counts(self, given: Measured) -> Measured:
        """The reading as it counts in this air. Raises ValueError where the air cannot be."""
        if not self._page.instrument or given.temperature_c is None:
            return given
        check = self._check
        guarded = check.purpose != METER_KIND
        scale = check.calibration_kg_m3
        return air.measured(self.doors.house, check.run.model, given, None, check.uncertainty_lpm, guarded, scale)

    def ball(self, where: str) -> Ball:
        """Where the ball stands, as an answer."""
        return Ball(where, self._check.instrument_label, temperature_c=self.air.celsius())

    def _typed(self, _: str) -> None:
        self._say_air()
        given = self.measured()
        value = given.value if given is not None else None
        if self.narrow and self._heading is not None:
            self._heading.setVisible(given is None)  # once one types, the verdict has its room
        if given is None:
            limit = self._page.limit
            self.verdict.set_verdict("", f"{capital(limit.words)}{self._sure()}" if limit else "", self._before())
        else:
            value = self._judge(given)
        if self.tube is not None and self._page.limit is not None:
            self.tube.set_tube(tube_of(self._page, self._page.limit, value))
        self.changed.emit()

    def _sure(self) -> str:
        """From where a reading passes for sure, before one is typed."""
        check, limit = self._check, self._page.limit
        if check.purpose == METER_KIND or limit is None or limit.low is None:
            return ""
        guard = air.guard_of(self.doors.house, limit.low, check.uncertainty_lpm)
        return f"; {figure(round_up(sure_from(limit.low, guard)))} to be sure" if guard else ""

    def _say_air(self) -> None:
        """Which way the meter errs in this air, or what is wrong with it."""
        celsius = self.air.celsius()
        if celsius is None or not self._page.instrument:
            self.air.say("")
            return
        house, pressure = self.doors.house, self.air.hectopascals()
        try:
            air.check(house, celsius, pressure)
            scale = self._check.calibration_kg_m3
            self.air.say(air.way_words(house, self._check.run.model, celsius, pressure, scale))
        except ValueError as fault:
            self.air.say_wrong(str(fault))

    def _judge(self, given: Measured) -> float:
        """Says what the reading would come to; the figure that counts."""
        run = self._check.run
        try:
            counts = self._counts(given)
            self.verdict.set_verdict(mark(run, counts), saying(run, counts), self._before())
        except ValueError as fault:
            self.verdict.set_verdict("", str(fault), "")
            return given.value
        return counts.counts

    def _before(self) -> str:
        limit, last = self._page.limit, next(reversed(self._page.earlier), None)
        if last is None or last.value is None or limit is None or limit.low is None:
            return f"{last.name} was {last.words}".capitalize() if last else ""
        short = limit.low - last.value
        said = f"{figure(short)} short" if short > 0 else last.words
        return f"{last.name[:1].upper()}{last.name[1:]} was {said}"


def tube_of(page: StepPage, limit: Limit, value: float | None) -> Tube:
    """The tube's scale round the limit, with every earlier reading left in place."""
    least = limit.low or 0.0
    shown = [one.value for one in page.earlier if one.value is not None] + ([value] if value is not None else [])
    low = max(0.0, floor(min([least - 45, *(one - 5 for one in shown if one > least - 120)]) / 20) * 20)
    top = limit.high if limit.high is not None else least + 60
    high = ceil(max([top + 10, *(one + 5 for one in shown if one < top + 80)]) / 20) * 20
    inside = ":\nlook inside" if isinstance(limit, Plausible) else ""
    over = f"over {figure(limit.high)}{inside}" if limit.high is not None else ""
    earlier = tuple((f"{one.name} {figure(one.value)}", one.value) for one in page.earlier if one.value is not None)
    now_words = f"now {figure(value)}" if value is not None else ""
    return Tube(low, high, least, f"min {figure(least)}", limit.high, over, value, now_words, earlier)
