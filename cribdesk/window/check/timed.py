"""A timed step on its page: a clock started by hand, the outcome inside its window."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, Qt, QTimer, Signal

from cribdesk.crib.words import capital, joined, minutes_seconds
from cribdesk.desk.slate import Slate
from cribdesk.procedure.limits import figure
from cribdesk.procedure.run import Page as StepPage
from cribdesk.procedure.run import Timed
from cribdesk.window.check.bodies import StepBody
from cribdesk.window.components.base import Words
from cribdesk.window.components.timed import TimedField, TimedWords, Window
from cribdesk.window.layout import Size, Stack

TICK = 50  # ms


class TimedBody(StepBody):
    """Measures with the workstation's own steady clock; nothing but the seconds is kept.

    `outcome(Timed)` is emitted by a touch on the field inside the run, and when the window has closed.
    """

    outcome = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._elapsed = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(TICK)
        self._timer.timeout.connect(self._tick)
        self.running = False

    def show_page(self, page: StepPage, slate: Slate, size: Size) -> None:
        self._page = page
        limit = page.limit
        assert limit is not None
        self.low, self.high = limit.low or 0.0, limit.high
        signals = joined([capital(one) if n == 0 else one for n, one in enumerate(page.signals)]) or "Done"
        self.signal_words = signals
        self._fields = Stack()
        self._clock = Words("0:00", 72, True)
        self._said = Words("", 24, wrap=True)
        if self.high is not None:
            self._window_page(signals, size)
        else:
            self.column.addWidget(self._clock)
            self.column.addWidget(self._said)
            self._said.setText(f"{capital(limit.words)}. Start the clock, then wait.")
        if size is not Size.SMALL:
            self._explain(page, signals)
        self.column.addStretch(1)

    def _window_page(self, signals: str, size: Size) -> None:
        assert self.high is not None
        window = Window(self.low, self.high, self.high * 1.25)
        say = signals.lower()
        touch = "Press, or touch here, at the very moment."
        ready = ("Ready to start", self._page.instruction if size is Size.SMALL else touch)
        run = TimedWords(
            ("Wait", "The window opens in {left} s"),
            (
                f"Now: {'listen, feel' if len(self._page.signals) > 1 else 'watch for it'}",
                f"It must come within {{left}} s: {say}",
            ),
            ("Too late", "The window has closed."),
        )
        self.ready = TimedField(window, TimedWords(ready, ready, ready))
        self.ready.clicked.connect(self.start)
        self.field = TimedField(window, run)
        self.field.clicked.connect(self.all_came)
        self._fields.addWidget(self.ready)
        self._fields.addWidget(self.field)
        self.column.addWidget(self._fields)

    def _explain(self, page: StepPage, signals: str) -> None:
        if self.high is None:
            return
        self.column.addWidget(Words(signals, bold=True, wrap=True))
        self.column.addWidget(
            Words("Press F5, or touch the field anywhere, the moment it is so.", ink="ink2", wrap=True)
        )
        after = page.otherwise or "the unit goes on hold"
        closes = (
            f"At {figure(self.high)} s the step closes by itself as not good. Next: {after[:1].lower()}{after[1:]}."
        )
        self.column.addWidget(Words(closes, ink="ink2", wrap=True))

    def seconds(self) -> float:
        """Since the start, by the steady clock."""
        return self._elapsed.nsecsElapsed() / 1e9 if self.running else 0.0

    def start(self) -> None:
        """Start the clock."""
        if self.running:
            return
        self.running = True
        self._elapsed.start()
        self._timer.start()
        if self.high is not None:
            self._fields.setCurrentWidget(self.field)
        self.changed.emit()

    def leave(self) -> None:
        self._timer.stop()
        self.running = False

    def all_came(self) -> None:
        """Everything asked for is there, now."""
        if self.running:
            self._end("all")

    def only_one(self) -> None:
        """One signal came and the other did not; or none of the one there is."""
        if self.running:
            self._end("one" if len(self._page.signals) > 1 else "none")

    def before(self) -> None:
        """A signal is there before the start."""
        self.outcome.emit(Timed(0.0, "before"))

    def _end(self, outcome: str) -> None:
        seconds = self.seconds()
        self._timer.stop()
        self.running = False
        self.outcome.emit(Timed(seconds, outcome))

    def _tick(self) -> None:
        seconds = self.seconds()
        if self.high is None:
            self._tick_long(seconds)
            return
        self.field.set_time(seconds)
        if seconds > self.high:
            self._end("none")

    def _tick_long(self, seconds: float) -> None:
        self._clock.setText(minutes_seconds(seconds))
        left = self.low - seconds
        was, self._enough = getattr(self, "_enough", False), left <= 0
        self._said.setText(f"{minutes_seconds(left + 0.99)} to go." if left > 0 else "Long enough.")
        if was != self._enough:
            self.changed.emit()

    def too_soon(self) -> str:
        """Why a clock without an upper end cannot be ended yet, or nothing."""
        if self.high is not None or not self.running or self.seconds() >= self.low:
            return ""
        return f"At least {minutes_seconds(self.low)}."
