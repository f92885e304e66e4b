"""What goes on beside the counter's work, in steps: forecasts are kept up to date, and what takes long is read."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from cribdesk.desk.house import House
from cribdesk.desk.ports import Clock, Store
from cribdesk.window.background import Background, Fault, Progress
from cribdesk.window.main import MainWindow

if TYPE_CHECKING:
    from cribdesk.desk.forecasts import Step

TOUCHES = frozenset({"area", "battery_run", "custody", "fitted", "order_rule", "site_setting", "stock_item", "unit"})
"""Tables whose change may change a forecast."""

TOPIC = "forecast"
QUIET_SECONDS = 1.0
"""Work shorter than this shows no progress."""


class Forecasting:
    """One run of catching up at a time, in steps that give way to whatever the counter asks.

    `changed` is called when forecasts were made anew. Called off, it leaves what is done, and begins again with
    the next operation that touches use or parts.
    """

    def __init__(
        self,
        window: MainWindow,
        background: Background,
        store: Store,
        clock: Clock,
        house: Callable[[], House],
        changed: Callable[[], None],
    ) -> None:
        self._window, self._background, self._store = window, background, store
        self._clock, self._house, self._changed = clock, house, changed
        self._under_way: Progress | None = None
        self._again = self._stepped = False
        self._begun = 0.0
        self.trouble = ""
        window.note.called_off.connect(self.call_off)

    @property
    def under_way(self) -> bool:
        """Whether forecasts are being made."""
        return self._under_way is not None

    def look(self) -> None:
        """Catch up with the journal; asked while it is doing so, it looks once more afterwards."""
        if self._under_way is not None:
            self._again = True
            return
        self._begun, self._stepped = time.monotonic(), False
        self._under_way = self._background.run_steps(self._steps, self._done, self._told)

    def touched(self, topics: frozenset[str]) -> None:
        """An operation changed these: catch up where that may change a forecast."""
        if topics & TOUCHES:
            self.look()

    def call_off(self) -> None:
        """Leave it; what is done so far stays."""
        self._again = False
        if self._under_way is not None:
            self._under_way.cancel()

    def _steps(self) -> Iterator[Step]:
        from cribdesk.desk import demands, run_times
        from cribdesk.desk.forecasts import catch_up

        yield from catch_up(self._store, self._house(), self._clock())
        yield from run_times.catch_up(self._store, self._house(), self._clock())
        yield from demands.catch_up(self._store, self._house(), self._clock())

    def _told(self, share: float, words: str) -> None:
        self._stepped = True
        if self._under_way is not None and time.monotonic() - self._begun > QUIET_SECONDS:
            self._window.show_busy(f"{words}: {share:.0%}. The counter works meanwhile.", may_stop=True)

    def _done(self, result: Any) -> None:
        self._under_way = None
        self._window.show_busy(None)
        before, self.trouble = self.trouble, result.report if isinstance(result, Fault) else ""
        self._window.doors.forecast_trouble = trouble_words(result) if isinstance(result, Fault) else ""
        if self._stepped or bool(before) != bool(self.trouble):
            self._changed()
        if self._again:
            self._again = False
            self.look()


def trouble_words(fault: Fault) -> str:
    """What a fault means for who reads a forecast."""
    why = f"{fault.error}".strip().splitlines()[:1] or [type(fault.error).__name__]
    return (
        f"Forecasts could not be brought up to date ({why[0].rstrip('.')}). Those shown are the last that were made; "
        "where there is none, the rule of thumb stands. The next return or change tries again."
    )


class LongReading:
    """Reads what takes long for a place, in steps that give way to whatever the counter asks; one at a time.

    `read_out` gets the place and its data, or the Fault that ended it, or None where it was called off.
    """

    def __init__(self, window: MainWindow, background: Background, read_out: Callable[[str, object], None]) -> None:
        self._window, self._background, self._read_out = window, background, read_out
        self._under_way: Progress | None = None
        self._begun = 0.0
        window.note.called_off.connect(self.call_off)

    @property
    def under_way(self) -> bool:
        """Whether something is being read."""
        return self._under_way is not None

    def read(self, place: str, steps: Callable[[], Iterator[Step]]) -> None:
        """Begin, unless one is under way."""
        if self._under_way is not None:
            return
        self._begun = time.monotonic()
        found: list[object] = []

        def each() -> Iterator[Step]:
            from cribdesk.desk.fleet_picture import Told

            for step in steps():
                if isinstance(step, Told):
                    found.append(step.data)
                yield step

        def done(result: Any) -> None:
            called_off = self._under_way is not None and self._under_way.cancelled()  # though its last step was done
            self._under_way = None
            self._window.show_busy(None)
            data = None if called_off or not found else found[-1]
            self._read_out(place, result if isinstance(result, Fault) else data)

        self._under_way = self._background.run_steps(each, done, self._told)

    def call_off(self) -> None:
        """Leave it."""
        if self._under_way is not None:
            self._under_way.cancel()

    def _told(self, share: float, words: str) -> None:
        if self._under_way is not None and time.monotonic() - self._begun > QUIET_SECONDS:
            self._window.show_busy(f"{words}: {share:.0%}. The counter works meanwhile.", may_stop=True)


class LongPaper:
    """Makes a paper that takes long: its record is read on the store's thread, it is drawn on the printer's, both in
    steps; the counter works meanwhile, and it can be called off at any time.

    `read(paper, of)` ends in a `Told` with what `draw(paper, that)` wants, which ends in a `Told` with the paper.
    `made` gets (paper, of, whether to print it, the paper), a Fault in its place, or None where it was called off.
    """

    def __init__(
        self,
        window: MainWindow,
        store: Background,
        printer: Background,
        read: Callable[[str, str], Iterator[Step]],
        draw: Callable[[str, Any], Iterator[Step]],
        made: Callable[[str, str, bool, Any], None],
    ) -> None:
        self._read, self._draw, self._made = read, draw, made
        self._asked = ("", "", False)
        self._reading = LongReading(window, store, self._was_read)
        self._drawing = LongReading(window, printer, self._was_drawn)

    def make(self, paper: str, of: str, *, to_print: bool) -> bool:
        """Begin; False while another is being made."""
        if self._reading.under_way or self._drawing.under_way:
            return False
        self._asked = (paper, of, to_print)
        self._reading.read(paper, lambda: self._read(paper, of))
        return True

    def _was_read(self, paper: str, data: object) -> None:
        if data is None or isinstance(data, Fault):
            self._made(*self._asked, data)
        else:
            self._drawing.read(paper, lambda: self._draw(paper, data))

    def _was_drawn(self, paper: str, data: object) -> None:
        self._made(*self._asked, data)


__all__ = ["TOPIC", "Forecasting", "LongPaper", "LongReading"]
