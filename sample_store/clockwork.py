"""A simulated clock: people are generators that yield the seconds they take, or the moment they wait for."""

from __future__ import annotations

import heapq
from collections.abc import Generator
from datetime import datetime, timedelta

Pause = float | datetime
Doing = Generator[Pause, None, None]


class Clockwork:
    """Runs people one step after the other, in order of time and then of their start."""

    def __init__(self, begin: datetime) -> None:
        self.now = begin
        self._waiting: list[tuple[datetime, int, Doing]] = []
        self._count = 0

    def clock(self) -> datetime:
        """The moment now, for the desk."""
        return self.now

    def start(self, doing: Doing, at: datetime) -> None:
        """Somebody begins at that moment."""
        self._put(doing, at)

    def run(self, until: datetime) -> None:
        """Lets time pass until that moment; what is due at it or later stays undone."""
        while self._waiting and self._waiting[0][0] < until:
            self.now, _, doing = heapq.heappop(self._waiting)
            try:
                pause = next(doing)
            except StopIteration:
                continue
            after = pause if isinstance(pause, datetime) else self.now + timedelta(seconds=max(0.0, pause))
            self._put(doing, max(after, self.now))
        self.now = until

    def _put(self, doing: Doing, at: datetime) -> None:
        self._count += 1
        if at.microsecond:  # whole seconds keep the journal lean
            at = at.replace(microsecond=0) + timedelta(seconds=1)
        heapq.heappush(self._waiting, (at, self._count, doing))
