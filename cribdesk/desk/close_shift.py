"""A shift is handed over: its figures are frozen, its page prints, and prints the same again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import ClassVar

from cribdesk.crib.records import Person, ShiftClose
from cribdesk.crib.refusal import NoClerkOfCrib, ShiftClosedAlready, WrongFigure
from cribdesk.crib.shift import Turn
from cribdesk.crib.words import when
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.printouts_shift import ShiftFigure
from cribdesk.desk.shift_figures import DAY, began_at, closable, figures

PAPER = "shift_page"
LONGEST_NOTE = 2000


@dataclass(frozen=True)
class ClosedPage:
    """What the page of a shift said when it was closed."""

    shift: str
    start: datetime
    counter: str
    closed_at: datetime
    figures: tuple[ShiftFigure, ...]

    def to_json(self) -> str:
        """As compact JSON."""
        plain = {
            "shift": self.shift,
            "start": self.start.isoformat(),
            "counter": self.counter,
            "closed": self.closed_at.isoformat(),
            "figures": [[one.name, one.number, one.detail] for one in self.figures],
        }
        return json.dumps(plain, ensure_ascii=False, separators=(",", ":"))


def page_of(closed: ShiftClose) -> ClosedPage:
    """The page of a shift that was handed over. Raises ValueError where it cannot be read."""
    try:
        plain = json.loads(closed.page)
        rows = tuple(ShiftFigure(str(name), str(number), str(detail)) for name, number, detail in plain["figures"])
        start, at = datetime.fromisoformat(plain["start"]), datetime.fromisoformat(plain["closed"])
        return ClosedPage(str(plain["shift"]), start, str(plain["counter"]), at, rows)
    except (KeyError, TypeError, ValueError) as failure:
        raise ValueError(f"The page of shift {closed.id} cannot be read.") from failure


def closed_already(records: Records, turn: Turn, moment: datetime) -> ShiftClose | None:
    """The hand-over of that very shift, where there was one."""
    found = records.within(ShiftClose, "ended_at", turn.start, moment + DAY)
    return next((one for one in found if page_of(one).start == turn.start), None)


@dataclass(frozen=True, kw_only=True)
class CloseShift(Operation):
    """The shift that began at `start` is handed over, to `taken_by` where a badge was scanned."""

    start: datetime
    taken_by: int | None = None
    note: str = ""

    code: ClassVar[str] = "close-shift"
    words: ClassVar[str] = "Closing a shift"

    def run(self, work: Work, context: Context) -> Outcome:
        """Freezes the figures as they are now. A shift is closed once, by who is signed on, to somebody else."""
        house, moment = context.house, context.moment
        turn = next((one for one in closable(house, moment) if one.start == self.start), None)
        if turn is None:
            raise WrongFigure("Shift", "it did not begin within the last 24 hours")
        last = work.latest(ShiftClose)
        if last is not None:
            work.take(last)  # two counters that close it at once go one after the other
        before = closed_already(work, turn, moment)
        if before is not None:
            raise ShiftClosedAlready(turn.name, when(before.ended_at, house.zone, moment))
        if len(self.note) > LONGEST_NOTE:
            raise WrongFigure("Note", f"it is longer than {LONGEST_NOTE} characters")
        taker = self._taker(work, context)
        began = began_at(work, moment)
        ended = max(moment, began + timedelta(microseconds=1))
        page = ClosedPage(turn.name, turn.start, context.counter, moment, figures(work, house, began, moment))
        closed = work.save(
            ShiftClose(
                began_at=began, ended_at=ended, by_id=context.clerk.id, taken_by=taker.id if taker else None,
                page=page.to_json(), note=self.note.strip(),
            )
        )  # fmt: skip
        to = f" to {taker.label}" if taker else ""
        subjects = (context.clerk.label, taker.label) if taker else (context.clerk.label,)
        return Outcome(f"{turn.name} handed over{to}. Sign its page.", subjects, ((PAPER, str(closed.id)),))

    def _taker(self, work: Work, context: Context) -> Person | None:
        if self.taken_by is None:
            return None
        taker = fetch(work, Person, self.taken_by, "Who takes over")
        if taker.id == context.clerk.id:
            raise NoClerkOfCrib(taker.label, "it is who hands it over")
        if not taker.roles:
            raise NoClerkOfCrib(taker.label, "no clerk of this crib")
        if taker.ended(context.house.today(context.moment)):
            raise NoClerkOfCrib(taker.label, "the badge has ended")
        return taker
