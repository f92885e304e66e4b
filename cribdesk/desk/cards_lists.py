"""What the board, the lists and the pictures of the window show: plain values, one class a row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cribdesk.crib.entry import Entry
from cribdesk.crib.run_time import RunTime
from cribdesk.desk.cards import TimelineRow
from cribdesk.desk.cards_stock import StockOutlook


@dataclass(frozen=True)
class Tile:
    """One number of the empty counter. `opens` is the list it opens (a filter of the unit list)."""

    name: str
    number: int
    sign: str
    against: str
    opens: str


@dataclass(frozen=True)
class BoardCell:
    """One unit on the board: `state` is overdue, on hold, not checked, needs cleaning, out, ready, elsewhere."""

    unit_id: int
    label: str
    short: str
    state: str
    hover: str


@dataclass(frozen=True)
class FirstRow:
    """One thing to do first today: where it is done is `place`, what it opens is a label or ''."""

    sign: str
    what: str
    detail: str
    place: str
    label: str = ""


@dataclass(frozen=True)
class CounterBoard:
    """The empty counter: tiles, the board worst first, what is first today, this shift's entries newest first."""

    tiles: tuple[Tile, ...]
    cells: tuple[BoardCell, ...]
    first: tuple[FirstRow, ...]
    shift: tuple[TimelineRow, ...]
    shift_words: str
    waiting: dict[str, int]  # place -> how many wait there, for the rail


@dataclass(frozen=True)
class UnitRow:
    """One row of the unit list and of the bench."""

    unit_id: int
    label: str
    model: str
    state: str  # as BoardCell.state
    words: str  # 'On hold, out with Imre Dobrosi'
    why: str
    holder: str
    due: str
    worn_hours: float
    next_words: str
    serial: str = ""


@dataclass(frozen=True)
class PersonRow:
    """One row of the people list."""

    person_id: int
    label: str
    name: str
    trade: str
    crew: str
    employer: str
    holds: str
    trouble: str  # what is overdue or lapsed, in words, or ''
    roles: str


@dataclass(frozen=True)
class BenchList:
    """The bench: what waits, grouped. Each group is (title, words, rows)."""

    groups: tuple[tuple[str, str, tuple[UnitRow, ...]], ...]
    to_complete: tuple[tuple[int, str, str], ...]  # custody id, unit label, words: returns to complete
    calendar: tuple[FirstRow, ...]


@dataclass(frozen=True)
class JournalPage:
    """Entries newest first, with their rows ready to show; `about` names whose they are, where not everybody's."""

    rows: tuple[TimelineRow, ...]
    entries: tuple[Entry, ...]
    before: int | None
    count: int
    about: str = ""


@dataclass(frozen=True)
class BatteryRow:
    """One row of the battery list. `sign` is battery when charged, due on a charger, '' else."""

    battery_id: int
    label: str
    model: str
    sign: str
    where: str
    holder: str
    charged: str  # 'today 05:10', 'charging', 'not since its last use'
    cycles: int
    last_run: str
    note: str = ""
    run_time: RunTime | None = None


@dataclass(frozen=True)
class LotRow:
    """One lot of a stock item, as it opens under the item's row."""

    code: str
    on_hand: int
    expires: str
    trouble: str  # 'blocked: ...', 'past its date', or ''
    lot_id: int = 0
    blocked: bool = False


@dataclass(frozen=True)
class StockRow:
    """One row of the stock list. `on_hand` counts what may be fitted; `short` that it is under the minimum.

    `outlook` is what will be used and what to order.
    """

    item_id: int
    label: str
    code: str
    name: str
    bin: str
    on_hand: int
    minimum: int
    short: bool
    trouble: str
    lots: tuple[LotRow, ...]
    outlook: StockOutlook | None = None


@dataclass(frozen=True)
class AreaRow:
    """One row of the area list. `out_now` counts the units out for it; `required` that a respirator is required.

    `exposure` says what it needs, `level` how that stands: 'stop', 'caution', 'fine' or ''.
    """

    area_id: int
    label: str
    name: str
    agents: str
    processes: str
    out_now: int
    note: str = ""
    required: bool = True
    exposure: str = ""
    level: str = ""


@dataclass(frozen=True)
class InstrumentRow:
    """One row of the flow meters. `trouble` says that the calibration ended, or ends within the week.

    `scale` says which air its scale holds in, `odd_scale` that this is not the usual one.
    """

    instrument_id: int
    label: str
    name: str
    serial: str
    calibrated: str
    until: str
    trouble: str
    good: bool
    scale: str = ""
    odd_scale: bool = False


@dataclass(frozen=True)
class LifePicture:
    """How long such a part lasts, and where this one stands: the data of a drawing.

    `curve` is (use, share that lasts longer), `band` (low, high) of that share at 95 % for each of its points, `age`
    this part's use; all in `measure`: worn hours, or filter loading in hours at `dust_ug_m3`. It rests on `changed`
    lives that ended in a change and `running` that did not (still fitted, or removed for another reason). `typical` is
    what half of them last, `early` to `late` the use at which this one is due with one and nine chances in ten.
    `scale` and `shape` are (estimate, low, high) at 95 %.
    `thumb_hours` is the rule of thumb, to stand beside it; in loading it counts hours at that dust.
    """

    position: str
    name: str
    measure: str
    dust_ug_m3: int | None
    curve: tuple[tuple[float, float], ...]
    age: float
    early: float
    middle: float
    late: float
    typical: float
    changed: int
    running: int
    thumb_hours: float | None
    scale: tuple[float, float, float]
    shape: tuple[float, float, float]
    as_of: datetime
    band: tuple[tuple[float, float], ...] = ()
