"""A whole day at the sample crib by scan scripts, with a tally of its own of all that it does.

`Day` writes script lines as it goes (`text` holds them), runs each block at once on a counter of a private copy of
the sample store, and keeps beside it, in plain sets and numbers, what must be so: it never asks the program's lists.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from cribdesk.crib.reasons import stops
from cribdesk.desk.actions import actions
from cribdesk.desk.house import House
from cribdesk.desk.office import NotePrint
from cribdesk.store.connect import SqlStore
from tests.desk.harness import Desk
from tests.desk.legal import state_told
from tests.desk.script import Script
from tests.desk.shop import Shop

PERSONAL = {
    "training", "medical", "fit-test", "badge-ended", "badge-dead", "facial-hair", "information-sheet", "work-limit",
}  # fmt: skip
"""Stops that lie with the person."""
SEAL = "seal-look"
"""The stop that a look at the face ends."""


class Names(dict[str, str]):
    """Each label is its own name."""

    def __missing__(self, label: str) -> str:
        return label


@dataclass
class Tally:
    """What must be so, by label: kept by who did it."""

    state: dict[str, str] = field(default_factory=dict)  # unit: ready, not checked, needs cleaning, on hold
    where: dict[str, str] = field(default_factory=dict)
    holder: dict[str, str] = field(default_factory=dict)  # unit: person, while a custody is open
    due: dict[str, datetime | None] = field(default_factory=dict)
    pack_in: dict[str, str] = field(default_factory=dict)  # unit: the pack that went out with it
    charged: set[str] = field(default_factory=set)
    on_charger: set[str] = field(default_factory=set)
    to_complete: list[str] = field(default_factory=list)
    assigned: set[str] = field(default_factory=set)
    called_in: set[str] = field(default_factory=set)
    cabinets: dict[str, str] = field(default_factory=dict)  # unit: cabinet's label
    stock: Counter[str] = field(default_factory=Counter)  # item label
    free: Counter[str] = field(default_factory=Counter)  # of it, neither blocked nor past its date
    done: Counter[str] = field(default_factory=Counter)  # operation
    refused: Counter[str] = field(default_factory=Counter)
    sealed: dict[str, datetime] = field(default_factory=dict)
    issued: list[datetime] = field(default_factory=list)
    pieces: int = 0
    notices: int = 0
    waste: int = 0
    audits: int = 0
    closed: int = 0
    audits_before: int = 0
    bags: int = 1  # the day opens one
    bagged: int = 0

    def of(self, state: str) -> set[str]:
        """Units of that state that are here."""
        here = {unit for unit, where in self.where.items() if where in ("rack", "bench", "emergency cabinet")}
        return {unit for unit in here if self.state[unit] == state and unit not in self.holder}


class Day:
    """The day's driver. Every block of lines is one thing somebody does at the counter."""

    def __init__(self, store: SqlStore, house: House, begins: datetime) -> None:
        self.store, self.house = store, house
        self.begins = begins
        self.desk = Desk(store, house, begins)
        self.shop = Shop(store, begins, Names())
        self.script = Script(self.desk, self.shop)
        self.text: list[str] = []
        self.tally = Tally()
        self.today: set[str] = set()
        self.missing: list[str] = []
        self.run = store.engine.run
        self._begin()

    # The book as it stands in the morning, read from the tables themselves.

    def _begin(self) -> None:
        tally, run = self.tally, self.run
        (self.first_seq,) = run("SELECT seq FROM journal_head").fetchone()
        self.model = dict(run("SELECT label, model FROM unit").fetchall())
        for id, label, where in run('SELECT id, label, "where" FROM unit').fetchall():
            tally.where[label] = where
            tally.state[label] = state_told(run, id, self.house, self.desk.moment)
        open_ones = run(
            "SELECT u.label, p.label, c.due_at, b.label FROM custody c JOIN unit u ON u.id = c.unit_id "
            "JOIN person p ON p.id = c.person_id LEFT JOIN battery b ON b.id = c.battery_id WHERE c.returned_at IS NULL"
        ).fetchall()
        for unit, person, due, pack in open_ones:
            tally.holder[unit] = person
            tally.due[unit] = datetime.fromisoformat(due) if due else None
            if pack:
                tally.pack_in[unit] = pack
        kept = "SELECT u.label FROM custody c JOIN unit u ON u.id = c.unit_id WHERE assigned AND returned_at IS NULL"
        tally.assigned = {label for (label,) in run(kept).fetchall()}
        (tally.audits_before,) = run("SELECT COUNT(*) FROM rack_audit").fetchone()
        (tally.notices,) = run("SELECT COUNT(*) FROM notice WHERE seen_at IS NULL").fetchone()
        (tally.closed,) = run("SELECT COUNT(*) FROM shift_close").fetchone()
        tally.bags += run("SELECT COUNT(*) FROM waste_bag").fetchone()[0]
        tally.bagged, tally.waste = run("SELECT COUNT(*), COALESCE(SUM(quantity), 0) FROM waste").fetchone()
        rows = run("SELECT label, model, place, charged_at FROM battery").fetchall()
        self.pack_model = {label: model for label, model, _, _ in rows}
        tally.charged = {label for label, _, place, at in rows if place in ("shelf", "charger") and at}
        tally.on_charger = {label for label, _, place, _ in rows if place == "charger"}
        stock = "SELECT i.label, SUM(l.on_hand) FROM stock_item i JOIN lot l ON l.item_id = i.id GROUP BY i.label"
        tally.stock.update(dict(run(stock).fetchall()))
        good = f"{stock.partition(' GROUP')[0]} WHERE l.blocked = '' AND (l.expires_on IS NULL OR l.expires_on >= ?)"
        today = self.house.today(self.desk.moment).isoformat()
        tally.free.update(dict(run(f"{good} GROUP BY i.label", (today,)).fetchall()))
        self.items = dict(run("SELECT code, label FROM stock_item").fetchall())
        meters = "SELECT label FROM instrument WHERE active AND calibrated_until > ? ORDER BY calibrated_until DESC"
        (self.meter,) = run(meters, (self.desk.moment.date().isoformat(),)).fetchone()
        self.shop.names["meter"] = self.meter

    # Lines.

    def do(self, *lines: str) -> None:
        """Runs the lines as a script and keeps them."""
        self.text += lines
        try:
            self.script.run("\n".join(lines))
        except AssertionError as failure:
            tail = "\n".join(self.text[-14:])
            raise AssertionError(f"{failure}\nThe line said: {self.desk.slate.line}\nAfter:\n{tail}") from failure

    def at(self, hour: int, minute: int) -> None:
        """The clock goes on to that local time, where it is not past it."""
        local = self.desk.moment.astimezone(self.house.zone)
        wanted = local.replace(hour=hour, minute=minute, second=0, microsecond=0)
        if wanted > local:
            self.do(f"+{int((wanted - local).total_seconds())}s")

    def clear(self) -> None:
        """An empty counter, as after each customer."""
        for _ in range(4):
            if self.desk.slate.empty and self.desk.slate.mode == "counter":
                return
            self.do("press put-aside")

    def refused(self, what: str, *lines: str) -> None:
        """The last of the lines is refused in words, and leaves no entry."""
        self.clear()
        self.do(*lines)
        line = self.desk.slate.line
        assert line.level == "refused", f"{what}: {line}"
        assert line.words.endswith((".", "it.")), line.words
        self.tally.refused[what] += 1
        self.clear()

    def sign_on(self, *badges: str) -> None:
        """A clerk takes the counter."""
        for badge in badges:
            self.do(f"scan {badge}", "  journal | sign-on")
            self.tally.done["sign-on"] += 1

    # What is done all day.

    def issue(self, unit: str, person: str, *, kept: bool = False) -> bool:
        """One hand-over; False where something stands against the person, which must lie with the person."""
        tally = self.tally
        self.clear()
        self.do(f"scan {person}", f"scan {unit}")
        pack = self._pack_for(unit)
        if pack:
            self.do(f"scan {pack}")
        if kept:
            self.do("card assign")
        against = {one.code for one in stops(self.desk.slate.reasons)}
        if against == {SEAL}:
            self.do("press seal-look", "press done", "  journal | seal-look")
            tally.done["seal-look"] += 1
            against = {one.code for one in stops(self.desk.slate.reasons)}
        if against:
            assert against <= PERSONAL | {SEAL}, f"{unit} to {person}: {against}"
            tally.refused["issue"] += 1
            self.clear()
            return False
        if not any(one.kind == "go" and not one.why for one in actions(self.house, self.desk.slate)):
            (area,) = self.run("SELECT label FROM area ORDER BY id LIMIT 1").fetchone()
            self.do(f"scan {area}")
        due = self.desk.slate.due_at
        self.do("press go", "pass", f"scan {person}", "  journal | issue", "  papers | issue_slip")
        tally.done["issue"] += 1
        self.today.add(unit)
        tally.issued.append(self.desk.moment)
        tally.sealed.pop(unit, None)
        tally.holder[unit], tally.where[unit] = person, "assigned" if kept else "out"
        tally.due[unit] = None if kept else due or self.house.turn(self.desk.moment).end
        tally.state[unit] = "ready"
        if kept:
            tally.assigned.add(unit)
        if pack:
            tally.pack_in[unit] = pack
            tally.charged.discard(pack)
        return True

    def _pack_for(self, unit: str) -> str:
        wanted = self.house.models[self.model[unit]].battery_models
        free = sorted(self.tally.charged - self.tally.on_charger)
        return next((one for one in free if self.pack_model[one] in wanted), "")

    def take_back(self, units: Iterable[str]) -> None:
        """The queue at the window: scan, scan, scan."""
        self.clear()
        self.do("card returns")
        for unit in units:
            self.do("+9s", f"scan {unit}", "  journal | return")
            self.came_back(unit)
            self.tally.done["return"] += 1
        self.do("press done")

    def came_back(self, unit: str) -> None:
        """A custody ended; what is left of the return waits to be said."""
        tally = self.tally
        del tally.holder[unit], tally.due[unit]
        tally.assigned.discard(unit)
        tally.called_in.discard(unit)
        tally.where[unit] = "bench"
        if tally.state[unit] != "on hold":
            tally.state[unit] = "not checked"
        tally.to_complete.append(unit)

    def complete(self, unit: str, *, fault: str = "", back: bool = True) -> None:
        """The rest of a return: its pack scanned, or said to be missing."""
        tally = self.tally
        self.clear()
        pack = tally.pack_in.pop(unit, "")
        self.do(f"scan {unit}", "press complete-return")
        if pack and back:
            self.do(f"scan {pack}")
        elif pack:
            self.do("fill battery_back no")
        papers = "none"
        if fault:
            self.do(f"fill fault {fault}", "fill damage seen at the window")
            papers = "tag"
            tally.state[unit] = "on hold"
        self.do("card done", "  journal | complete-return", f"  papers | {papers}")
        tally.done["complete-return"] += 1
        tally.to_complete.remove(unit)

    def clean(self, units: list[str]) -> None:
        """One tray through the wash."""
        self.clear()
        self.do(f"gather {' '.join(units)}", "press clean", "pass", "  journal | clean")
        self.tally.done["clean"] += 1

    def pre_stage(self, units: Iterable[str]) -> None:
        """The bench inspects unit after unit for the next shift; each that passes is sealed and hangs on the rack."""
        self.clear()
        self.do("card pre-stage", f"scan {self.meter}")
        for unit in units:
            self.do(f"scan {unit}", "pass", "  journal | pre-stage", "  papers | ready_seal")
            self._came_out("ready_seal")
            self.tally.done["pre-stage"] += 1
            self.tally.state[unit], self.tally.where[unit] = "ready", "rack"
            self.tally.sealed[unit] = self.desk.moment
        self.do("press done")

    def _came_out(self, paper: str) -> None:
        """The printer gave the paper of the last inspection, and the workstation noted it, as the window does."""
        (of,) = self.run("SELECT MAX(id) FROM inspection").fetchone()
        clerk = self.desk.slate.clerk
        assert clerk is not None
        self.desk.counter.do(NotePrint(operation_id=self.desk.token(), paper=paper, of=str(of)), clerk.person_id)
        self.tally.done["print"] += 1

    def charge(self, packs: Iterable[str]) -> None:
        """Packs go on the chargers."""
        for pack in packs:
            self.clear()
            self.do(f"scan {pack}", "card start-charge", "  journal | start-charge")
            self.tally.done["start-charge"] += 1
            self.tally.on_charger.add(pack)
            self.tally.charged.discard(pack)

    def charged(self, packs: Iterable[str]) -> None:
        """They come off, charged."""
        for pack in packs:
            self.clear()
            self.do(f"scan {pack}", "card end-charge", "  journal | end-charge")
            self.tally.done["end-charge"] += 1
            self.tally.on_charger.discard(pack)
            self.tally.charged.add(pack)

    def hand_out(self, person: str, code: str, pieces: int = 1, *, fitted: bool = False) -> None:
        """Consumables over the counter."""
        self.clear()
        item = self.items[code]
        if self.tally.free[item] < pieces:
            self.refused("short", f"scan {person}", *[f"scan {item}"] * pieces, "card done")
            return
        now = ("card confirm-fitting",) if fitted else ()
        self.do(f"scan {person}", *[f"scan {item}"] * pieces, *now, "card done", "  journal | hand-out")
        self.tally.done["hand-out"] += 1
        self.gave(item, pieces)

    def gave(self, item: str, pieces: int) -> None:
        """So many pieces of an item went over the counter."""
        self.tally.stock[item] -= pieces
        self.tally.free[item] -= pieces
        self.tally.pieces += pieces

    def swap(self, unit: str) -> str:
        """The flat pack in, a charged one out; returns the flat one."""
        self.clear()
        flat, fresh = self.tally.pack_in[unit], self._pack_for(unit)
        self.do(f"scan {flat}", f"scan {fresh}", "card done", "  journal | swap-battery")
        self.tally.done["swap-battery"] += 1
        self.tally.pack_in[unit] = fresh
        self.tally.charged.discard(fresh)
        return flat

    def matter(self, code: str, *lines: str, papers: str = "none") -> None:
        """Any other thing: its lines, and the entry that the last of them leaves."""
        self.clear()
        self.do(*lines, f"  journal | {code}", f"  papers | {papers}")
        self.tally.done[code] += 1

    @property
    def moment(self) -> datetime:
        """The day's clock."""
        return self.desk.moment

    def later(self, **spans: Any) -> datetime:
        """The clock and so much."""
        return self.desk.moment + timedelta(**spans)
