"""The empty counter: eight numbers, every unit worst first, what is first today, what this shift did."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from cribdesk.crib.label import number_of
from cribdesk.crib.records import Battery, BatteryPlace, Unit, Where
from cribdesk.crib.shift import turn_before
from cribdesk.crib.words import DAYS, capital, clock, count
from cribdesk.desk.bench_list import bench_list
from cribdesk.desk.cards import TimelineRow
from cribdesk.desk.cards_lists import BoardCell, CounterBoard, Tile
from cribdesk.desk.first import BENCH, PEOPLE, SHIFT, STOCK, due_at, first_rows, oldest_words
from cribdesk.desk.house import House
from cribdesk.desk.lists import (
    area_rows,
    battery_rows,
    instrument_rows,
    person_rows,
    stock_levels,
    stock_rows,
    unit_rows,
)
from cribdesk.desk.ports import Reader
from cribdesk.desk.recheck import to_call_in
from cribdesk.desk.saying import where_words
from cribdesk.desk.standings import (
    STATES,
    WITH_SOMEBODY,
    Member,
    due_now,
    fleet,
    standings,
    waiting_at_bench,
    why_words,
    worst_first,
)
from cribdesk.desk.timeline import BACK, HELD, OUT, happened, journal_page, timeline_rows

__all__ = [
    "area_rows", "battery_rows", "bench_list", "counter_board", "instrument_rows", "journal_page", "person_rows",
    "short_label", "standings", "stock_rows", "unit_rows",
]  # fmt: skip

SHIFT_ENTRIES = 300
"""The shift's strip shows no more of the last entries than these."""


def counter_board(reader: Reader, house: House, moment: datetime) -> CounterBoard:
    """The empty counter, in twenty-two queries."""
    units = fleet(reader, house, moment)
    shift, words = _shift(reader, house, moment)
    against = to_call_in(reader, house, units, moment)
    short = [item for item, _, good in stock_levels(reader, house, moment) if good < item.minimum]
    waiting = {
        BENCH: len(waiting_at_bench(units)),
        STOCK: len(short),
        SHIFT: len(against),
        PEOPLE: len({unit.custody.person_id for unit in units if unit.overdue and unit.custody}),
    }
    return CounterBoard(
        tiles=_tiles(house, units, reader.find(Battery), moment),
        cells=tuple(_cell(unit) for unit in worst_first(units) if unit.unit.where is not Where.SCRAPPED),
        first=first_rows(reader, house, units, short, against, moment),
        shift=shift,
        shift_words=words,
        waiting=waiting,
    )


def short_label(unit: Unit) -> str:
    """The running number of the unit's label, at least three digits, for the board."""
    try:
        return f"{number_of(unit.label):03d}"
    except ValueError:
        return unit.label


def _tiles(
    house: House, units: Sequence[Member], batteries: Iterable[Battery], moment: datetime
) -> tuple[Tile, ...]:
    by_state: dict[str, list[Member]] = {state: [] for state in STATES}
    for unit in units:
        by_state[unit.state].append(unit)
    kept = sum(1 for unit in units if unit.unit.where is not Where.SCRAPPED)
    charged, packs = _charged(batteries)
    ends = clock(house.turn(moment).end, house.zone)
    return (
        Tile("Ready", len(by_state["ready"]), "ready", f"of {count(kept, 'unit')}", "ready"),
        _out(house, units, moment),
        _overdue(house, by_state["overdue"], moment),
        *(_waiting(state, by_state[state], moment) for state in ("not checked", "needs cleaning")),
        _on_hold(by_state["on hold"]),
        Tile("Due", len(due_now(units, house, moment)), "due", f"before {ends}", "due"),
        Tile("Charged", charged, "battery", f"of {count(packs, 'pack')}", "batteries"),
    )


def _out(house: House, units: Sequence[Member], moment: datetime) -> Tile:
    out = [unit for unit in units if unit.unit.where in WITH_SOMEBODY]
    end = house.turn(moment).end
    back = [unit for unit in out if unit.custody and unit.custody.due_at and moment <= unit.custody.due_at <= end]
    return Tile("Out", len(out), "out", f"{len(back)} back by {clock(end, house.zone)}" if out else "", "out")


def _overdue(house: House, late: Sequence[Member], moment: datetime) -> Tile:
    since = min((due_at(unit, moment) for unit in late), default=None)
    words = f"since {_short_moment(since, house, moment)}" if since else ""
    return Tile("Overdue", len(late), "overdue", words, "overdue")


def _short_moment(moment: datetime, house: House, now: datetime) -> str:
    """'Tue 22:30', or '14:30' today: as short as a tile needs it."""
    local = moment.astimezone(house.zone)
    today = local.date() == house.today(now)
    return clock(moment, house.zone) if today else f"{DAYS[local.weekday()]} {clock(moment, house.zone)}"


def _waiting(state: str, units: Sequence[Member], moment: datetime) -> Tile:
    return Tile(capital(state), len(units), state, oldest_words(units, moment), state)


def _on_hold(units: Sequence[Member]) -> Tile:
    for_parts = sum(1 for unit in units if unit.condition and unit.condition.parts)
    return Tile("On hold", len(units), "on hold", f"{for_parts} for a part" if for_parts else "", "on hold")


def _charged(batteries: Iterable[Battery]) -> tuple[int, int]:
    """How many packs are charged and here, of how many that are in use at all."""
    kept = [one for one in batteries if one.place is not BatteryPlace.SCRAPPED]
    here = (BatteryPlace.SHELF, BatteryPlace.CHARGER)
    return sum(1 for one in kept if one.place in here and one.charged_at is not None), len(kept)


def _cell(unit: Member) -> BoardCell:
    one = unit.unit
    why = why_words(unit)
    hover = f"{one.label}. {capital(unit.state)}, {where_words(one, unit.holder)}{f': {why}' if why else ''}"
    return BoardCell(one.id, one.label, short_label(one), unit.state, hover)


def _shift(reader: Reader, house: House, moment: datetime) -> tuple[tuple[TimelineRow, ...], str]:
    """What happened to units this shift, newest first, and '9 handed out, 4 taken back, 1 held'; two queries.

    Prints, charges and signing on have no sign of their own and stay in the journal.
    """
    since = _shift_began(house, moment)
    entries = [one for one in reader.entries(count=SHIFT_ENTRIES).entries if one.moment >= since]
    events = [happened(entry) for entry in entries]
    told = ((OUT, "handed out"), (BACK, "taken back"), (HELD, "held"))
    numbers = [(sum(1 for one in events if event in one), words) for event, words in told]
    words = ", ".join(f"{number} {name}" for number, name in numbers if number) or "nothing yet"
    return tuple(row for row in timeline_rows(reader, entries) if row.sign), words


def _shift_began(house: House, moment: datetime) -> datetime:
    """From when on this shift's entries count: as early as units are issued for it."""
    early = timedelta(minutes=int(house.settings["early_minutes"]))
    turn = house.turn(moment)
    if turn.start - early > moment:  # between two shifts the last one still stands there
        turn = turn_before(house.plan, house.zone, turn)
    return turn.start - early
