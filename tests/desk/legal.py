"""What a legal store is, told a second time in plain SQL: no reader, no rule of the program is asked.

`faults` names every row that breaks a rule. `before_and_after` holds one step against what a step may do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from cribdesk.crib.entry import stamp
from cribdesk.crib.model import UnitModel

OPEN = "SELECT 1 FROM custody c WHERE c.unit_id = u.id AND c.returned_at IS NULL"

RULES: tuple[tuple[str, str], ...] = (
    ("a unit is out or assigned, and nobody has it",
     f"""SELECT label FROM unit u WHERE "where" IN ('out', 'assigned') AND NOT EXISTS ({OPEN})"""),
    ("somebody has a unit that is neither out, assigned nor missing",
     f"""SELECT label FROM unit u WHERE "where" NOT IN ('out', 'assigned', 'missing') AND EXISTS ({OPEN})"""),
    ("assigned and issued are told apart by the custody",
     """SELECT u.label FROM unit u JOIN custody c ON c.unit_id = u.id AND c.returned_at IS NULL
        WHERE (u."where" = 'assigned' AND NOT c.assigned) OR (u."where" = 'out' AND c.assigned)"""),
    ("assigned means no time of return, and the other way round",
     "SELECT id FROM custody WHERE assigned <> (due_at IS NULL)"),
    ("two open custodies of a unit",
     "SELECT unit_id FROM custody WHERE returned_at IS NULL GROUP BY unit_id HAVING COUNT(*) > 1"),
    ("a scrapped unit keeps a part",
     """SELECT u.label FROM unit u JOIN fitted f ON f.unit_id = u.id AND f.removed_at IS NULL
        WHERE u."where" = 'scrapped'"""),
    ("a scrapped unit keeps a labelled part",
     """SELECT u.label FROM unit u JOIN part p ON p.unit_id = u.id WHERE u."where" = 'scrapped'"""),
    ("a scrapped unit keeps a battery",
     """SELECT u.label FROM unit u JOIN battery b ON b.unit_id = u.id WHERE u."where" = 'scrapped'"""),
    ("a battery is not in one place",
     "SELECT label FROM battery WHERE (place = 'unit') <> (unit_id IS NOT NULL) OR (place = 'charger') <> "
     "(slot_id IS NOT NULL)"),
    ("two batteries in one unit",
     "SELECT unit_id FROM battery WHERE unit_id IS NOT NULL GROUP BY unit_id HAVING COUNT(*) > 1"),
    ("two batteries in one slot",
     "SELECT slot_id FROM battery WHERE slot_id IS NOT NULL GROUP BY slot_id HAVING COUNT(*) > 1"),
    ("a battery in somebody's hands is elsewhere than in their unit",
     """SELECT b.label FROM custody c JOIN battery b ON b.id = c.battery_id
        WHERE c.returned_at IS NULL AND b.place <> 'missing' AND b.unit_id IS NOT c.unit_id"""),
    ("a battery went out with a unit and its custody does not say so",
     """SELECT b.label FROM battery b JOIN custody c ON c.unit_id = b.unit_id AND c.returned_at IS NULL
        WHERE c.battery_id IS NOT b.id"""),
    ("a labelled part is not in one place",
     """SELECT p.label FROM part p WHERE (p.place = 'unit') <> (p.unit_id IS NOT NULL) OR
        (SELECT COUNT(*) FROM fitted f WHERE f.part_id = p.id AND f.removed_at IS NULL) <> (p.place = 'unit') OR
        EXISTS (SELECT 1 FROM fitted f WHERE f.part_id = p.id AND f.removed_at IS NULL AND f.unit_id <> p.unit_id)"""),
    ("two parts at one position",
     "SELECT unit_id || ' ' || position FROM fitted WHERE removed_at IS NULL GROUP BY unit_id, position "
     "HAVING COUNT(*) > 1"),
    ("stock below zero", "SELECT code FROM lot WHERE on_hand < 0"),
    ("stock that no movement explains",
     """SELECT l.code FROM lot l LEFT JOIN (SELECT lot_id, SUM(quantity) AS moved FROM movement GROUP BY lot_id) m
        ON m.lot_id = l.id WHERE l.on_hand <> COALESCE(m.moved, 0)"""),
    ("one reason holds a unit twice",
     "SELECT unit_id || ' ' || reason FROM hold WHERE released_at IS NULL GROUP BY unit_id, reason "
     "HAVING COUNT(*) > 1"),
    ("a hold ended without a proof or a name",
     "SELECT tag FROM hold WHERE released_at IS NOT NULL AND (released_on = '' OR released_by IS NULL)"),
    ("a meter shows other hours than were worn",
     """SELECT u.label FROM unit u LEFT JOIN (SELECT unit_id, SUM(worn_minutes) AS worn, COUNT(*) AS many
        FROM custody GROUP BY unit_id) c ON c.unit_id = u.id
        WHERE ABS(u.worn_minutes - COALESCE(c.worn, 0)) > COALESCE(c.many, 0) OR u.worn_minutes < 0"""),
    ("a part was worn less than not at all",
     """SELECT u.label || ' ' || f.position FROM fitted f JOIN unit u ON u.id = f.unit_id
        WHERE f.worn_before_minutes < 0 OR f.removed_at < f.fitted_at OR
        (COALESCE(f.removed_at_minutes, u.worn_minutes) < f.fitted_at_minutes AND NOT EXISTS (""" + OPEN + "))"),
    ("a custody ends before it began, or is complete before it ended",
     """SELECT id FROM custody WHERE returned_at < issued_at OR worn_minutes < 0 OR
        (completed_at IS NOT NULL AND returned_at IS NULL)"""),
    ("a unit is called in that nobody has",
     """SELECT i.id FROM call_in i JOIN custody c ON c.id = i.custody_id
        WHERE i.closed_at IS NULL AND c.returned_at IS NOT NULL"""),
    ("a closed bag was filled",
     "SELECT w.id FROM waste w JOIN waste_bag b ON b.id = w.waste_bag_id WHERE w.at > b.closed_at OR w.quantity < 1"),
    ("more fitted than handed out",
     """SELECT id FROM hand_out WHERE quantity < 1 OR fitted_pieces < 0 OR fitted_pieces > quantity OR
        (fitted_pieces > 0) <> (fitted_at IS NOT NULL)"""),
    ("a battery was swapped for itself, or in another unit",
     """SELECT s.id FROM battery_swap s JOIN custody c ON c.id = s.custody_id
        WHERE s.flat_id = s.battery_id OR c.unit_id <> s.unit_id"""),
    ("a wearer's own check, or a carrier, of a unit that is not assigned",
     """SELECT o.custody_id FROM own_check o JOIN custody c ON c.id = o.custody_id
        WHERE NOT c.assigned OR c.person_id <> o.person_id
        UNION ALL SELECT o.custody_id FROM carried o JOIN custody c ON c.id = o.custody_id WHERE NOT c.assigned"""),
    ("a notice was seen by nobody", "SELECT id FROM notice WHERE (seen_at IS NULL) <> (seen_by IS NULL)"),
    ("a meter's calibration ends before it was made",
     "SELECT label FROM instrument WHERE calibrated_until < calibrated_on"),
)  # fmt: skip
"""(what is wrong, the rows that are). SQLite alone: the rules are the same whatever engine a store has."""

AWAY_RULES: tuple[tuple[str, str], ...] = (
    ("a unit is missing or sent out and no record says since when",
     """SELECT label FROM unit u WHERE "where" IN ('missing', 'sent out') AND
        NOT EXISTS (SELECT 1 FROM away a WHERE a.unit_id = u.id AND a.ended_at IS NULL)"""),
    ("a unit is away in two ways",
     "SELECT unit_id FROM away WHERE ended_at IS NULL GROUP BY unit_id HAVING COUNT(*) > 1"),
    ("a scrapped unit, or one in somebody's hands at their work, counts as away",
     """SELECT u.label FROM unit u JOIN away a ON a.unit_id = u.id AND a.ended_at IS NULL
        WHERE u."where" IN ('out', 'assigned', 'emergency cabinet', 'scrapped')"""),
)  # fmt: skip


def _statement(rules: tuple[tuple[str, str], ...]) -> str:
    return " UNION ALL ".join(f"SELECT {number} AS rule, * FROM ({sql})" for number, (_, sql) in enumerate(rules))


ALL_RULES = RULES + AWAY_RULES
STATEMENT = _statement(ALL_RULES)


def faults(run: Any) -> list[str]:
    """Everything that is not legal in the store behind `run` (an engine's own)."""
    return [f"{ALL_RULES[number][0]}: {place}" for number, place in run(STATEMENT).fetchall()]


@dataclass(frozen=True)
class Snapshot:
    """What one step is held against: by id, units as (where, minutes), open holds, open custodies, packs."""

    head: int
    units: Mapping[int, tuple[str, int]]
    holds: frozenset[int]
    custodies: Mapping[int, int]
    waste: int

    @classmethod
    def of(cls, run: Any) -> Snapshot:
        """The store as it stands."""
        return cls(
            run("SELECT seq FROM journal_head").fetchone()[0],
            {id: (where, worn) for id, where, worn in run('SELECT id, "where", worn_minutes FROM unit')},
            frozenset(id for (id,) in run("SELECT id FROM hold WHERE released_at IS NULL")),
            {unit: id for id, unit in run("SELECT id, unit_id FROM custody WHERE returned_at IS NULL")},
            run("SELECT COUNT(*) FROM waste").fetchone()[0],
        )


CORRECTS_HOURS = {"complete-return"}
"""Where the hours that the clock proposed are told by the person: the meter goes back to those."""

ENDS_HOLDS = {"release", "inspect", "issue", "pre-stage"}
"""What may end a hold: its release, and what rests on a passed check."""


def before_and_after(run: Any, code: str, before: Snapshot, house: Any, moment: datetime) -> list[str]:
    """What one step did that no step may do."""
    after = Snapshot.of(run)
    found = [] if after.head == before.head + 1 else [f"{after.head - before.head} entries, not one"]
    for id, (where, worn) in after.units.items():
        was, had = before.units.get(id, ("bench", 0))
        if worn < had and code not in CORRECTS_HOURS:
            found.append(f"unit {id}: its meter went back from {had} to {worn} minutes")
        if was == "scrapped" and where != "scrapped":
            found.append(f"unit {id} was scrapped and is {where}")
        if where == was:
            continue
        if id not in before.units and where != "bench":
            found.append(f"unit {id} is new and not at the bench")
        if where in ("out", "assigned") and was != "missing":
            found += may_have_gone(run, id, house, moment)
        if where == "emergency cabinet" and state_told(run, id, house, moment) != "ready":
            found.append(f"unit {id} went into the emergency cabinet and is not ready")
        if was in ("missing", "sent out") and where not in ("bench", "missing", "sent out", "scrapped"):
            passed = run(
                "SELECT MAX(ended_at) FROM inspection WHERE unit_id = ? AND verdict = 'pass' AND kind = 'bench'", (id,)
            ).fetchone()[0]
            if passed is None or passed < stamp(moment - timedelta(minutes=10)):
                found.append(f"unit {id} was {was} and is {where} without a bench inspection")
    if before.holds - after.holds and code not in ENDS_HOLDS:
        found.append(f"holds ended by {code}")
    return found


def may_have_gone(run: Any, unit_id: int, house: Any, moment: datetime) -> list[str]:
    """What speaks against a unit that has just gone out: it, its wearer, its check, its pack."""
    found = []
    person_id, inspection_id, battery_id, cautions = run(
        "SELECT person_id, inspection_id, battery_id, cautions FROM custody "
        "WHERE unit_id = ? AND returned_at IS NULL", (unit_id,)
    ).fetchone()  # fmt: skip
    told = state_told(run, unit_id, house, moment)
    last = run(
        "SELECT person_id FROM custody WHERE unit_id = ? AND returned_at IS NOT NULL ORDER BY id DESC LIMIT 1",
        (unit_id,),
    ).fetchone()
    own = last is not None and last[0] == person_id and told in ("not checked", "needs cleaning")
    if told != "ready" and not (own and "own" in cautions):
        found.append(f"unit {unit_id} went out and is {told}")
    active, ends_on = run("SELECT active, ends_on FROM person WHERE id = ?", (person_id,)).fetchone()
    today = house.today(moment).isoformat()
    if not active or (ends_on and ends_on < today):
        found.append(f"unit {unit_id} went to a badge that ended")
    found += [f"unit {unit_id} went to somebody without: {kind}" for kind in lacking(run, person_id, house, moment)]
    check = run("SELECT verdict, kind, instrument_good FROM inspection WHERE id = ?", (inspection_id,)).fetchone()
    if check is None or check[0] != "pass" or check[1] not in ("hand-over", "pre-use") or not check[2]:
        found.append(f"unit {unit_id} went out on {check}")
    if battery_id is not None:
        place, sits, note = run("SELECT place, unit_id, note FROM battery WHERE id = ?", (battery_id,)).fetchone()
        if place != "unit" or sits != unit_id or note.startswith("fault"):
            found.append(f"unit {unit_id} went out with a pack that is {place}, {note}")
    return found


def lacking(run: Any, person_id: int, house: Any, moment: datetime) -> list[str]:
    """Medical and training, as a loose-fitting powered respirator asks for them (29 CFR 1910.134(e), (k))."""
    today = house.today(moment)
    found = []
    for kind in ("medical", "training"):
        row = run(
            "SELECT cleared, given_on, until FROM clearance WHERE person_id = ? AND kind = ? "
            "ORDER BY given_on DESC, id DESC LIMIT 1", (person_id, kind),
        ).fetchone()  # fmt: skip
        ends = date.fromisoformat(row[2]) if row and row[2] else None
        if row and kind == "training":
            year = date.fromisoformat(row[1]) + timedelta(days=366)
            ends = min(ends, year) if ends else year
        if not row or not row[0] or (ends and ends < today):
            found.append(kind)
    return found


def state_told(run: Any, unit_id: int, house: Any, moment: datetime) -> str:
    """Whether the unit may be used: ready, not checked, needs cleaning, on hold."""
    (code,) = run("SELECT model FROM unit WHERE id = ?", (unit_id,)).fetchone()
    if run("SELECT 1 FROM hold WHERE unit_id = ? AND released_at IS NULL", (unit_id,)).fetchone():
        return "on hold"
    if _bad_parts(run, unit_id, house.models[code], house.today(moment)):
        return "on hold"
    (worn,) = _one(run, "SELECT returned_at FROM custody WHERE unit_id = ? AND returned_at IS NOT NULL", unit_id)
    (cleaned,) = _one(run, "SELECT at FROM cleaning WHERE unit_id = ?", unit_id)
    if worn and (not cleaned or cleaned < worn):
        (looked,) = _one(run, "SELECT ended_at FROM inspection WHERE kind = 'return-look' AND unit_id = ?", unit_id)
        return "needs cleaning" if looked and looked >= worn else "not checked"
    began, ended, good = _one(
        run, "SELECT started_at, ended_at, instrument_good FROM inspection WHERE verdict = 'pass' AND "
        "kind IN ('bench', 'pre-use') AND unit_id = ?", unit_id, 3,
    )  # fmt: skip
    stands = ended and good and not (worn and began < worn) and not (cleaned and ended < cleaned)
    away = run("SELECT 1 FROM away WHERE unit_id = ? AND ended_at IS NULL", (unit_id,)).fetchone()
    return "ready" if stands and not away and not _fitted_since(run, unit_id, house, ended) else "not checked"


def _fitted_since(run: Any, unit_id: int, house: Any, ended: str) -> list[str]:
    """Positions changed since the last pass; a wearer's own change counts once the unit is back."""
    code, where = run('SELECT model, "where" FROM unit WHERE id = ?', (unit_id,)).fetchone()
    theirs = {one.code for one in house.models[code].positions if one.wearer_changes}
    rows = run(
        "SELECT position FROM fitted WHERE unit_id = ? AND removed_at IS NULL AND fitted_at > ?", (unit_id, ended)
    ).fetchall()
    return [position for (position,) in rows if where not in ("out", "assigned") or position not in theirs]


def _one(run: Any, sql: str, unit_id: int, columns: int = 1) -> tuple[Any, ...]:
    return tuple(run(f"{sql} ORDER BY id DESC LIMIT 1", (unit_id,)).fetchone() or (None,) * columns)


def _bad_parts(run: Any, unit_id: int, model: UnitModel, today: date) -> list[str]:
    """Positions without what they need, or with what they may not have."""
    rows = run(
        "SELECT f.position, i.code, COALESCE(l.blocked, ''), f.expires_on, f.fitted_at, f.worn_before_minutes + "
        "u.worn_minutes - f.fitted_at_minutes FROM fitted f JOIN unit u ON u.id = f.unit_id "
        "JOIN stock_item i ON i.id = f.item_id LEFT JOIN lot l ON l.id = f.lot_id "
        "WHERE f.unit_id = ? AND f.removed_at IS NULL", (unit_id,),
    ).fetchall()  # fmt: skip
    there = {row[0]: row for row in rows}
    found = []
    for position in model.positions:
        if position.code not in there:
            found += [position.code] if position.required else []
            continue
        _, item, blocked, expires, fitted_at, minutes = there[position.code]
        days = (today - date.fromisoformat(fitted_at[:10])).days
        if (
            item not in position.items
            or blocked
            or (expires and expires < today.isoformat())
            or (position.max_days is not None and days > position.max_days)
            or (position.max_hours is not None and minutes >= position.max_hours * 60)
        ):
            found.append(position.code)
    return found
