"""What stands in the strip over every place and at the foot of the rail."""

from __future__ import annotations

from collections.abc import Callable

from cribdesk.crib.words import day
from cribdesk.desk.slate import Clerk, Line
from cribdesk.window.components.rail import Rail
from cribdesk.window.components.scan_line import Bars, Said, ScanLine
from cribdesk.window.doors import Doors
from cribdesk.window.layout import Size

MARKS = {"caution": "caution", "refused": "stop"}
BEGIN = "Scan a badge or a unit to begin"


class Strip:
    """Says what became of a scan while that is fresh, else what the open place answers.

    `beside` are words that stand with the moment, as of a sample store's own clock.
    """

    def __init__(
        self, scan_line: ScanLine, rail: Rail, doors: Doors, bars: Callable[[str], Bars], counter: str
    ) -> None:
        self._scan_line, self._rail, self._doors = scan_line, rail, doors
        self._bars, self._counter = bars, counter
        self.line: Line | None = None
        self.fresh = True
        self.beside = ""

    def say(self, size: Size, answer: str | None, *, at_counter: bool, flash: bool = False) -> None:
        """`answer` is what the open place or form says; None at the empty counter."""
        line = self.line
        if line is not None and self.fresh:
            bars = self._bars(line.label) if line.label and size is not Size.SMALL else ()
            at = self._doors.clock(line.at) if line.at else ""
            right = f"scanned {at}" if at and size is Size.WIDE else at
            if not at and at_counter:
                right = "F6 returns" if size is Size.SMALL else "F3 find"
            self._scan_line.say(Said(line.words, line.label, bars, MARKS.get(line.level, ""), right), flash)
        elif answer is not None:
            self._scan_line.say(Said(answer))
        else:
            self._scan_line.say(Said(BEGIN, right="F3 find" if size is not Size.SMALL else ""))

    def foot(self, size: Size, clerk: Clerk | None) -> None:
        """The moment, the day, the counter and who is signed on."""
        moment, house = self._doors.moment, self._doors.house
        date = day(house.today(moment)).rpartition(" ")[0]
        lines: tuple[str, ...] = (date, self._counter, clerk.name if clerk else "nobody signed on")
        if self.beside:
            lines = (*lines, self.beside)
        self._rail.set_foot(self._doors.clock(moment), () if size is Size.SMALL else lines)
