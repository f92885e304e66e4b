"""The lists and figures at the day's end, each against the day's own tally."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from datetime import date, datetime, timedelta

from cribdesk.crib.records import BatterySwap, Custody, HandOut, RackAudit, ShiftClose
from cribdesk.desk.board import counter_board
from cribdesk.desk.close_shift import page_of
from cribdesk.desk.ports import Reader
from cribdesk.desk.shift_list import ShiftRows
from cribdesk.desk.shift_lists import shift_lists
from tests.desk.legal import lacking, state_told
from tests.sample.day import Day

Told = tuple[object, object]
"""What a list says, and what the tally says."""


def differences(day: Day) -> list[str]:
    """Every figure that is not as the tally has it, in words."""
    with day.store.reading() as reader:
        lists = {id: one.read(reader, day.house, day.moment) for id, one in shift_lists().items()}
        board = counter_board(reader, day.house, day.moment)
        closes = reader.find(ShiftClose)
        before = _before(reader, closes[-2].ended_at, day.begins)
    unknown = set(lists) ^ set(LISTS) ^ {"counts"}  # what is due to be counted has tests of its own
    told = {f"list {id}": LISTS[id](day, lists[id]) for id in lists if id in LISTS}
    told |= {f"tile {one.name}": (one.number, TILES[one.name](day)) for one in board.tiles if one.name in TILES}
    told["pages"] = (len(closes), day.tally.closed)
    told |= _page(day, {one.name: one.number for one in page_of(closes[-1]).figures}, before)
    told |= _book(day)
    found = [f"no expectation for {sorted(unknown)}"] if unknown else []
    wrong = {name: pair for name, pair in told.items() if pair[0] != pair[1]}
    return found + [f"{name}: {said!r}, by the tally {wanted!r}" for name, (said, wanted) in wrong.items()]


def _labels(rows: ShiftRows, sign: str = "") -> set[str]:
    return {row.label for row in rows.rows if row.label and (not sign or row.sign == sign)}


def _overdue(day: Day) -> set[str]:
    tally = day.tally
    late = {unit for unit, due in tally.due.items() if due is not None and due < day.moment}
    return {unit for unit in late if tally.where[unit] != "missing"}


def _away(day: Day) -> set[str]:
    return {unit for unit, where in day.tally.where.items() if where in ("missing", "sent out")}


def may_not_keep(day: Day) -> set[str]:
    """Units whose holder may not have them any more: the badge, the employer's proof, clearances, the unit itself.

    A missing one is on the list of what is away: nobody can bring it.
    """
    found = set()
    today = day.house.today(day.moment)
    for unit, person in day.tally.holder.items():
        if day.tally.where[unit] == "missing":
            continue
        unit_id, code = day.run("SELECT id, model FROM unit WHERE label = ?", (unit,)).fetchone()
        row = day.run("SELECT id, active, ends_on, employer FROM person WHERE label = ?", (person,)).fetchone()
        model = day.house.models[code]
        ended = row[2] is not None and date.fromisoformat(row[2]) < today
        needs = model.facepiece != "none"
        proofs = "SELECT COUNT(*) FROM evidence WHERE person_id = ? AND employer = ?"
        unproven = bool(row[3]) and needs and not day.run(proofs, (row[0], row[3])).fetchone()[0]
        cleared = not needs or not lacking(day.run, row[0], day.house, day.moment)
        held = state_told(day.run, unit_id, day.house, day.moment) == "on hold"
        if not row[1] or ended or unproven or not cleared or held:
            found.add(unit)
    return found


def _still_called_in(day: Day) -> set[str]:
    """Called in, and not missing: a missing one nobody can bring."""
    return {unit for unit in day.tally.called_in if day.tally.where[unit] != "missing"}


def _requisitions(day: Day) -> int:
    """Those that are open, and the last ten that ended."""
    ended = "state IN ('closed', 'cancelled')"
    (open_ones,) = day.run(f"SELECT COUNT(*) FROM requisition WHERE NOT {ended}").fetchone()
    (over,) = day.run(f"SELECT COUNT(*) FROM requisition WHERE {ended}").fetchone()
    return int(open_ones) + min(10, int(over))


def _badges(day: Day) -> set[str]:
    """Units whose holder's badge ends within a week, or has ended."""
    last = day.house.today(day.moment) + timedelta(days=7)
    ends = dict(day.run("SELECT label, ends_on FROM person WHERE ends_on IS NOT NULL").fetchall())
    holders = day.tally.holder.items()
    return {unit for unit, person in holders if person in ends and date.fromisoformat(ends[person]) <= last}


def _sealed(day: Day, rows: ShiftRows) -> Told:
    """Sealed for tomorrow: passed at the bench this shift or the one that has just begun, and still ready here."""
    said = sum(int(number) for row in rows.rows for number in re.findall(r"(\d+) ready and sealed", row.what))
    since = day.house.turn(day.moment).start - timedelta(hours=1)
    tally = day.tally
    return said, sum(at >= since and unit in tally.of("ready") for unit, at in tally.sealed.items())


def _used(day: Day, rows: ShiftRows) -> Told:
    bags = [row for row in rows.rows if row.key.startswith("bag")]
    logged = [row for row in rows.rows if row.key.startswith("waste")]
    pieces = sum(int(row.what.split(" ")[0]) for row in logged)
    return (len(bags), len(logged), pieces), (
        day.tally.bags, day.tally.bagged + day.tally.done["bag-waste"], day.tally.waste,
    )  # fmt: skip


def _program(day: Day, rows: ShiftRows) -> Told:
    """Units in hands that may not keep them, and areas that nobody assessed, by the tables; none is evaluated."""
    sql = "SELECT label FROM area WHERE required AND id NOT IN (SELECT area_id FROM assessment WHERE document != '')"
    areas = {row[0] for row in day.run(sql, ()).fetchall()}
    told = {row.label for row in rows.rows if row.key.startswith(("held", "assess"))}
    return (told, "no evaluation" in {row.key for row in rows.rows}), (may_not_keep(day) | areas, True)


def _lapses(day: Day, rows: ShiftRows) -> Told:
    """Trainings of the crib's own people that ran out, or run out within 90 days, by the tables alone."""
    today = day.house.today(day.moment)
    sql = (
        "SELECT p.label, MAX(c.given_on) FROM clearance c JOIN person p ON p.id = c.person_id "
        "WHERE c.kind = 'training' AND p.active AND p.employer = '' AND (p.ends_on IS NULL OR p.ends_on >= ?) "
        "GROUP BY p.id HAVING date(MAX(c.given_on), '+1 year') <= ?"
    )
    found = day.run(sql, (today.isoformat(), (today + timedelta(days=90)).isoformat())).fetchall()
    own = {label for (label,) in day.run("SELECT label FROM person WHERE employer = ''", ()).fetchall()}
    told = {row.label for row in rows.rows if row.detail.startswith("Training") and row.label in own}
    return told, {label for label, _ in found}


LISTS: dict[str, Callable[[Day, ShiftRows], Told]] = {
    "out": lambda day, rows: (
        (_labels(rows), _labels(rows, "overdue")), (set(day.tally.holder), _overdue(day))
    ),
    "call-in": lambda day, rows: (_labels(rows), may_not_keep(day) | _still_called_in(day)),
    "badges": lambda day, rows: (_labels(rows), _badges(day)),
    "away": lambda day, rows: (_labels(rows), _away(day)),
    "assigned": lambda day, rows: (_labels(rows), day.tally.assigned),
    "cabinets": lambda day, rows: (
        _labels(rows), {unit for unit, where in day.tally.where.items() if where == "emergency cabinet"}
    ),
    "to-complete": lambda day, rows: (_labels(rows), set(day.tally.to_complete)),
    "ready": _sealed,
    "rack-audits": lambda day, rows: (
        (sum(row.key.startswith("audit") for row in rows.rows), _labels(rows)), (
            min(10, day.tally.audits_before + day.tally.audits), set()  # the newest ten
        )
    ),
    "administrator": lambda day, rows: (len(rows.rows), day.tally.notices),
    "program": _program,
    "lapses": _lapses,
    "no-filter": lambda day, rows: (len(rows.rows), 0),
    "used-filters": _used,
    "recalls": lambda day, rows: (len(rows.rows), 0),
    "requisitions": lambda day, rows: (len(rows.rows), _requisitions(day)),
    "standing-still": lambda day, rows: (len(rows.rows), 0),
    "closed": lambda day, rows: (len(rows.rows), min(42, day.tally.closed)),  # the newest six weeks
}  # fmt: skip
"""Every list of the shift: what it says, what must be so."""


def _out(day: Day) -> int:
    return sum(where in ("out", "assigned") for where in day.tally.where.values())


def _lying(day: Day, state: str) -> int:
    """Units in that state that are here, and those on hold that are out and not overdue."""
    return len(day.tally.of(state)) + sum(
        day.tally.state[unit] == state == "on hold" and unit not in _overdue(day) and day.tally.where[unit] != "missing"
        for unit in day.tally.holder
    )


TILES: dict[str, Callable[[Day], int]] = {
    "Ready": lambda day: sum(day.tally.where[unit] != "emergency cabinet" for unit in day.tally.of("ready")),
    "Out": _out,
    "Overdue": lambda day: len(_overdue(day)),
    "Not checked": lambda day: _lying(day, "not checked"),
    "Needs cleaning": lambda day: _lying(day, "needs cleaning"),
    "On hold": lambda day: _lying(day, "on hold"),
    "Charged": lambda day: len(day.tally.charged),
}
"""The board's figures. 'Due' rests on the forecast of each part's life, which has tests of its own."""


def _before(reader: Reader, closed: datetime, begins: datetime) -> Counter[str]:
    """What was done between the last shift that was handed over and the day, by the sample's own people."""
    return Counter({
        "issued": len(reader.within(Custody, "issued_at", closed, begins)),
        "returned": len(reader.within(Custody, "returned_at", closed, begins)),
        "swapped": len(reader.within(BatterySwap, "at", closed, begins)),
        "pieces": sum(one.quantity for one in reader.within(HandOut, "at", closed, begins)),
        "audits": len(reader.within(RackAudit, "at", closed, begins)),
    })  # fmt: skip


def _page(day: Day, figures: dict[str, str], before: Counter[str]) -> dict[str, Told]:
    """The page the shift was handed over with. It counts from where the last one ended."""
    tally, done = day.tally, day.tally.done
    wanted = {
        "Issued": before["issued"] + len(tally.issued),
        "Returned": before["returned"] + done["return"] + done["exchange"],
        "Batteries swapped": before["swapped"] + done["swap-battery"],
        "Handed out, pieces": before["pieces"] + tally.pieces,
        "Still out": len(tally.holder) - len(tally.assigned),
        "Assigned": len(tally.assigned),
        "Overdue": len(_overdue(day)),
        "Called in and not back": len(tally.called_in),
        "Missing": sum(where == "missing" for where in tally.where.values()),
        "Returned, to complete": len(tally.to_complete),
        "Waiting for the program administrator": tally.notices,
        "Rack audits": before["audits"] + tally.audits,
    }
    return {f"page, {name}": (figures.get(name), str(number)) for name, number in wanted.items()}


def _book(day: Day) -> dict[str, Told]:
    """The rows themselves: custodies, places, states, stock, packs, and the journal operation by operation."""
    run, tally = day.run, day.tally
    held = run(
        "SELECT u.label, p.label FROM custody c JOIN unit u ON u.id = c.unit_id JOIN person p ON p.id = c.person_id "
        "WHERE c.returned_at IS NULL"
    ).fetchall()
    states = {
        label: state_told(run, id, day.house, day.moment)
        for id, label, where in run('SELECT id, label, "where" FROM unit').fetchall()
        if where in ("rack", "bench", "emergency cabinet")
    }
    stock = run("SELECT i.label, SUM(l.on_hand) FROM stock_item i JOIN lot l ON l.item_id = i.id GROUP BY i.label")
    chargers = {label for (label,) in run("SELECT label FROM battery WHERE place = 'charger'")}
    entries = run("SELECT operation, COUNT(*) FROM entry WHERE seq > ? GROUP BY operation", (day.first_seq,)).fetchall()
    return {
        "holders": (dict(held), tally.holder),
        "places": (dict(run('SELECT label, "where" FROM unit').fetchall()), tally.where),
        "states": (states, {unit: tally.state[unit] for unit in states}),
        "stock": (dict(stock.fetchall()), dict(tally.stock)),
        "chargers": (chargers, tally.on_charger),
        "journal": (dict(entries), {code: many for code, many in Counter(tally.done).items() if many}),
    }


def begun(day: Day) -> datetime:
    """When the first entry of the day was made."""
    row = day.run("SELECT moment FROM entry WHERE seq = ?", (day.first_seq + 1,)).fetchone()
    return datetime.fromisoformat(row[0])
