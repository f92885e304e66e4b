"""Random operations, refusals, clock steps and replays against the rules told a second time."""

from __future__ import annotations

import random
import shutil
from collections import Counter as Counter_
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from cribdesk.crib.reasons import cautions, reasons
from cribdesk.crib.records import Area, AssessmentBasis, Battery, Custody, Hold, Person, RunEnd, StockItem, Unit, Where
from cribdesk.crib.refusal import DoneOtherwise, NotAllowed
from cribdesk.crib.serviceable import Serviceable, condition
from cribdesk.desk.assessments import AssessArea
from cribdesk.desk.away import Found, MarkMissing
from cribdesk.desk.bench import ChangePart
from cribdesk.desk.cleaning import FinishCleaning
from cribdesk.desk.counter import Counter
from cribdesk.desk.facts import IssueIds, facts_of, standing_of
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.inspection import FinishInspection, HoldUnfinished
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.operation import Operation
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.release import ReleaseHold
from cribdesk.desk.return_ import CompleteReturn, TakeBack
from cribdesk.desk.unit import MoveUnit
from cribdesk.procedure.answers import NotGood, RemedyNotPossible
from cribdesk.procedure.run import answer, break_off, start
from cribdesk.store.check import check
from cribdesk.store.connect import SqlStore, open_store
from tests import postgres
from tests.desk.shop import BUILT, Shop, Tokens, house, passed
from tests.desk.shop_rules import RuledUnit

UNITS = ("wl-1", "wl-2", "wl-3")
PEOPLE = ("Wronecka", "Nkemba", "Dobrosi")
CLEARED = ("Wronecka", "Nkemba")
PACKS = ("pack-1", "pack-2", "pack-3")
REASONS = ("airflow", "dirty", "program", "head")

units, people, packs = st.sampled_from(UNITS), st.sampled_from(PEOPLE), st.sampled_from(PACKS)


@dataclass
class Place:
    """Where fresh copies of the shop come from."""

    shop: Shop
    fresh: Callable[[], Any]  # a context manager of an open store


class CounterMachine(RuleBasedStateMachine):
    """Two clerks, three units, three wearers, three packs."""

    place: Place
    went_through: ClassVar[Counter_[str]] = Counter_()

    @initialize()
    def open_shop(self) -> None:
        """A fresh copy of the shop at 06:12."""
        self.opened = self.place.fresh()
        self.store: SqlStore = self.opened.__enter__()
        built = self.place.shop
        self.shop = Shop(self.store, built.moment, dict(built.names), built.clerk_id)
        self.now = BUILT + timedelta(hours=1, minutes=12)
        self.counter = Counter(self.store, house(), lambda: self.now, "Counter 1")
        self.tokens = Tokens(9)
        self.ruled = {name: self._ruled(name) for name in UNITS}
        self.in_custody: dict[str, str] = {}  # pack -> unit
        self.lost: set[str] = set()
        self.went_back = False
        self.last: tuple[Operation, int, Receipt] | None = None
        self.written = self._entries()

    def teardown(self) -> None:
        """The journal is whole, its chain sound, and it replays to the same tables."""
        if hasattr(self, "store"):
            found = check(self.store)
            self.opened.__exit__(None, None, None)
            assert found == []

    # What is done.

    @rule(unit=units, person=people, pack=packs, full=st.sampled_from([True, True, False]), shown=st.integers(0, 5))
    def issue(self, unit: str, person: str, pack: str, full: bool, shown: int) -> None:
        """A unit is handed over, with the cautions that a screen would have shown, now and then without."""
        self._issue(unit, person, pack, full, seen=bool(shown))

    def _issue(self, unit: str, person: str, pack: str, full: bool, seen: bool) -> None:
        ruled = self.ruled[unit]
        self.now += timedelta(seconds=1)  # the check begins after what was done before it
        record, who, battery = self._unit(unit), self.shop.record(Person, person), self.shop.record(Battery, pack)
        area = self._area_id()
        due = self.now + timedelta(hours=8)
        with self.store.reading() as reader:
            facts = facts_of(reader, house(), IssueIds(record.id, who.id, battery.id, area, due), self.now)
        kind = "pre-use" if full else "hand-over"
        run = passed(record, kind, self.now, self.shop.clerk_label, self.shop.names["meter"])
        shown = tuple(one.key for one in cautions(reasons(facts, self.now))) if seen else ()
        operation = IssueUnit(
            operation_id=self.tokens(), unit_id=record.id, person_id=who.id, battery_id=battery.id, area_id=area,
            due_at=due, run_made=run, shown=shown,
        )  # fmt: skip
        own = ruled.last_wearer == person
        allowed = (
            ruled.at_hand
            and not ruled.holds
            and (ruled.ready or (own and not ruled.away))
            and person in CLEARED
            and self._pack_free(pack, unit)
            and (full or not ruled.needs_full(self.now))
            and seen
        )
        if self._do(operation, allowed):
            if full:
                ruled.passes("pre-use", self.now)
            ruled.goes_out(person)
            self.in_custody = {one: at for one, at in self.in_custody.items() if at != unit} | {pack: unit}

    @precondition(lambda self: any(ruled.ready and ruled.at_hand for ruled in self.ruled.values()))
    @rule(data=st.data(), person=people, full=st.booleans())
    def issue_ready(self, data: st.DataObject, person: str, full: bool) -> None:
        """What happens most of the day: a ready unit goes out with a free pack."""
        ready = [name for name, ruled in self.ruled.items() if ruled.ready and ruled.at_hand]
        unit = data.draw(st.sampled_from(ready))
        free = [pack for pack in PACKS if self._pack_free(pack, unit)] or list(PACKS)
        full = full or self.ruled[unit].needs_full(self.now + timedelta(seconds=1))
        self._issue(unit, person, data.draw(st.sampled_from(free)), full, seen=True)

    @precondition(lambda self: any(ruled.at_hand and not ruled.ready for ruled in self.ruled.values()))
    @rule(data=st.data())
    def set_right(self, data: st.DataObject) -> None:
        """The bench does all that a unit needs: cleaning, inspection, the release of what is proven."""
        waiting = [name for name, ruled in self.ruled.items() if ruled.at_hand and not ruled.ready]
        unit = data.draw(st.sampled_from(waiting))
        self.now += timedelta(minutes=2)
        self._clean([unit])
        self._bench(unit, "pass")
        for reason in list(self.ruled[unit].holds):
            self._release(unit, reason, attendant=False)

    @precondition(lambda self: any(ruled.ready and ruled.at_hand for ruled in self.ruled.values()))
    @rule(data=st.data(), person=st.sampled_from(CLEARED), hours=st.sampled_from([2, 7]), fault=st.booleans())
    def a_day(self, data: st.DataObject, person: str, hours: int, fault: bool) -> None:
        """Out, worn, back and told, now and then with a fault; and out again with its own wearer, or not."""
        ready = [name for name, ruled in self.ruled.items() if ruled.ready and ruled.at_hand]
        unit = data.draw(st.sampled_from(ready))
        pack = next((pack for pack in PACKS if self._pack_free(pack, unit)), PACKS[0])
        self._issue(unit, person, pack, full=True, seen=True)
        if self.ruled[unit].holder is None:
            return
        self.now += timedelta(hours=hours)
        self._take_back(unit)
        self._complete(unit, 1.0, back=True, fault=fault)
        self._issue(unit, data.draw(people), pack, full=True, seen=True)

    @rule(data=st.data())
    def take_back(self, data: st.DataObject) -> None:
        """A unit comes back by a scan; where none is out, one that is in is refused."""
        out = [name for name, ruled in self.ruled.items() if ruled.holder] or list(UNITS)
        self._take_back(data.draw(st.sampled_from(out)))

    def _take_back(self, unit: str) -> None:
        ruled = self.ruled[unit]
        operation = TakeBack(operation_id=self.tokens(), unit_id=self._unit(unit).id)
        if self._do(operation, ruled.holder is not None):
            ruled.comes_back()
            self.in_custody = {pack: at for pack, at in self.in_custody.items() if at != unit}

    @precondition(lambda self: any(ruled.last_wearer for ruled in self.ruled.values()))
    @rule(
        data=st.data(), share=st.sampled_from([0.5, 0.0, 1.0, 2.0]), back=st.sampled_from([True, True, False]),
        fault=st.sampled_from([False, False, True]),
    )  # fmt: skip
    def complete(self, data: st.DataObject, share: float, back: bool, fault: bool) -> None:
        """The rest of the last return: hours as a share of the time out, with a fault or without."""
        worn = [name for name, ruled in self.ruled.items() if ruled.last_wearer]
        open_ones = [name for name in worn if not self.ruled[name].completed and self.ruled[name].holder is None]
        self._complete(data.draw(st.sampled_from(open_ones or worn)), share, back, fault)

    def _complete(self, unit: str, share: float, back: bool, fault: bool) -> None:
        ruled, record = self.ruled[unit], self._unit(unit)
        with self.store.reading() as reader:
            custody = reader.latest(Custody, unit_id=record.id)
        assert custody is not None
        out = (custody.returned_at - custody.issued_at).total_seconds() / 3600 if custody.returned_at else 1.0
        operation = CompleteReturn(
            operation_id=self.tokens(), custody_id=custody.id, worn_hours=round(out * share, 2), battery_back=back,
            battery_end=RunEnd.STOPPED, fault="head" if fault else "",
        )  # fmt: skip
        wrong = out > 0 and out * share > out + 0.25
        if self._do(operation, custody.returned_at is not None and not ruled.completed and not wrong):
            ruled.completed = True
            if fault and "head" not in ruled.holds:
                ruled.held("head")
            if not back and custody.battery_id:
                self._note_lost(custody.battery_id)

    @rule(unit=units, reason=st.sampled_from(REASONS))
    def hold(self, unit: str, reason: str) -> None:
        """A hold is placed by hand; again where the proof of the one that stands is there, and is from before then."""
        ruled = self.ruled[unit]
        stands = ruled.holds.get(reason)
        operation = PlaceHold(operation_id=self.tokens(), unit_id=self._unit(unit).id, reason=reason, detail="seen")
        if self._do(operation, stands is None or stands.proven):
            ruled.held(reason)

    @precondition(lambda self: any(ruled.holds for ruled in self.ruled.values()))
    @rule(data=st.data(), attendant=st.sampled_from([False, False, True]))
    def release(self, data: st.DataObject, attendant: bool) -> None:
        """A hold is released, with its proof or without, by somebody qualified or not."""
        held = [(name, reason) for name, ruled in self.ruled.items() for reason in ruled.holds]
        self._release(*data.draw(st.sampled_from(held)), attendant=attendant)

    def _release(self, unit: str, reason: str, attendant: bool) -> None:
        ruled, record = self.ruled[unit], self._unit(unit)
        with self.store.reading() as reader:
            found = reader.first(Hold, unit_id=record.id, reason=reason, released_at=None)
        assert found is not None
        word = "looked at" if reason == "program" else ""
        operation = ReleaseHold(operation_id=self.tokens(), hold_id=found.id, word=word)
        qualified = not attendant or reason in ("dirty", "inspection-not-finished")
        proven = ruled.holds[reason].proven or reason == "program"
        if self._do(operation, qualified and proven, clerk="Brandl" if attendant else "Office"):
            del ruled.holds[reason]
            ruled.settle()

    @rule(tray=st.lists(units, min_size=1, max_size=3, unique=True))
    def clean(self, tray: list[str]) -> None:
        """One unit or a tray is cleaned."""
        self._clean(tray)

    def _clean(self, tray: list[str]) -> None:
        records = [self._unit(name) for name in tray]
        run = passed(records[0], "cleaning", self.now, self.shop.clerk_label, self.shop.names["meter"])
        operation = FinishCleaning(
            operation_id=self.tokens(), unit_ids=tuple(one.id for one in records), run_made=run
        )
        here = all(self.ruled[name].holder is None and self.ruled[name].where != "out" for name in tray)
        if self._do(operation, here):
            for name in tray:
                self.ruled[name].is_cleaned()

    @rule(unit=units, end=st.sampled_from(["pass", "pass", "fail", "broken off"]))
    def bench(self, unit: str, end: str) -> None:
        """The bench inspects: a pass, a fail at the first look, or broken off."""
        self._bench(unit, end)

    def _bench(self, unit: str, end: str) -> None:
        ruled, record = self.ruled[unit], self._unit(unit)
        run = passed(record, "bench", self.now, self.shop.clerk_label, self.shop.names["meter"])
        if end != "pass":
            procedure = house().procedure_of(house().models["WL1"], "pre-use" if end == "fail" else "bench")
            assert procedure is not None
            run = start(procedure, house().models["WL1"], self.now, self.shop.clerk_label)
            if end == "fail":
                run = answer(run, NotGood("seen"), self.now, 2.0)
                run = answer(run, RemedyNotPossible("cracked"), self.now, 2.0)
            else:
                run = break_off(run, self.now, "called away")
        assert run.verdict == end
        operation = FinishInspection(operation_id=self.tokens(), unit_id=record.id, run_made=run)
        if self._do(operation, ruled.holder is None):
            found = ruled.where == "missing" and end != "broken off"  # it was judged, so it lies there
            ruled.where = "bench" if found else ruled.where
            if end == "pass":
                ruled.passes("bench", self.now)
                ruled.settle()
            elif end == "fail":
                ruled.held("head")
                ruled.holds.pop("inspection-not-finished", None)

    @rule(unit=units)
    def trouble(self, unit: str) -> None:
        """The first not-good answer of a check."""
        ruled = self.ruled[unit]
        operation = HoldUnfinished(
            operation_id=self.tokens(), unit_id=self._unit(unit).id, procedure="welding-papr-pre-use", step="Lens"
        )
        if self._do(operation, ruled.holder is None) and "inspection-not-finished" not in ruled.holds:
            ruled.held("inspection-not-finished")

    @rule(unit=units)
    def change(self, unit: str) -> None:
        """A pre-filter is changed at the bench."""
        item = self.shop.record(StockItem, "WL1-PREFILTER")
        operation = ChangePart(
            operation_id=self.tokens(), unit_id=self._unit(unit).id, position="pre-filter", item_id=item.id,
            lot_id=self.shop.lot(item).id, why="due",
        )  # fmt: skip
        if self._do(operation, self.ruled[unit].holder is None):
            self.ruled[unit].inspected = False

    @rule(unit=units, where=st.sampled_from([Where.RACK, Where.BENCH, Where.MISSING, Where.EMERGENCY, Where.OUT]))
    def move(self, unit: str, where: Where) -> None:
        """A unit in hand is put somewhere; no cabinet is here to take it, missing has an operation of its own."""
        ruled = self.ruled[unit]
        operation = MoveUnit(operation_id=self.tokens(), unit_id=self._unit(unit).id, where=where)
        in_hand = ruled.holder is None and ruled.where != "missing"
        if self._do(operation, where in (Where.RACK, Where.BENCH) and in_hand):
            ruled.where = where.value

    @rule(unit=units)
    def goes_missing(self, unit: str) -> None:
        """A unit is nowhere to be found, also one that somebody has; it is missing once."""
        ruled = self.ruled[unit]
        operation = MarkMissing(operation_id=self.tokens(), unit_id=self._unit(unit).id)
        if self._do(operation, ruled.where != "missing"):
            ruled.where, ruled.away = "missing", True

    @rule(unit=units)
    def turns_up(self, unit: str) -> None:
        """A missing unit lies here again; one that somebody has on their name is taken back instead."""
        ruled = self.ruled[unit]
        operation = Found(operation_id=self.tokens(), unit_id=self._unit(unit).id)
        if self._do(operation, ruled.where == "missing" and ruled.holder is None):
            ruled.where = "bench"

    @rule(minutes=st.sampled_from([1, 20, 90, 300, 600, 1500]))
    def wait(self, minutes: int) -> None:
        """Time goes by."""
        self.now += timedelta(minutes=minutes)

    @rule(minutes=st.sampled_from([5, 180]))
    def set_back(self, minutes: int) -> None:
        """Somebody sets the workstation's clock back."""
        self.now -= timedelta(minutes=minutes)
        self.went_back = True

    @rule()
    def again(self) -> None:
        """The last operation once more under its id: the same receipt, nothing written."""
        if self.last is None:
            return
        operation, clerk, receipt = self.last
        assert self.counter.do(operation, clerk) == receipt
        assert self.counter.done_already(operation.operation_id) == receipt

    @rule(unit=units)
    def another_under_its_id(self, unit: str) -> None:
        """Another operation under an id that was used is told, and writes nothing."""
        if self.last is None:
            return
        used = self.last[0].operation_id
        other = PlaceHold(operation_id=used, unit_id=self._unit(unit).id, reason="other", detail="a second one")
        with pytest.raises(DoneOtherwise):
            self.counter.do(other, self.last[1])

    # What must be so.

    @invariant()
    def one_entry_each(self) -> None:
        """The journal has one entry for each thing done, none for a refusal."""
        if hasattr(self, "store"):
            assert self._entries() == self.written

    @invariant()
    def nobody_holds_what_another_holds(self) -> None:
        """One open custody a unit, with the wearer the rules say; out exactly while somebody has it."""
        if not hasattr(self, "store"):
            return
        with self.store.reading() as reader:
            for name in UNITS:
                unit, ruled = self.shop.record_in(reader, Unit, name), self.ruled[name]
                open_ones = reader.find(Custody, unit_id=unit.id, returned_at=None)
                wearers = [reader.get(Person, one.person_id).label for one in open_ones]
                assert wearers == ([self.shop.names[ruled.holder]] if ruled.holder else [])
                assert (unit.where is Where.OUT) == (ruled.holder is not None and ruled.where == "out")
                assert unit.where.value == ruled.where or self.went_back
                holds = {one.reason for one in reader.find(Hold, unit_id=unit.id, released_at=None)}
                assert holds == set(ruled.holds) or (self.went_back and holds > set(ruled.holds))
                assert unit.worn_hours == pytest.approx(
                    sum(one.worn_hours or 0.0 for one in reader.find(Custody, unit_id=unit.id)), abs=0.1
                )
                packs = [one.label for one in reader.find(Battery, unit_id=unit.id)]
                assert len(packs) <= 1
                assert all(self.shop.names[pack] in packs for pack, at in self.in_custody.items() if at == name)

    @invariant()
    def ready_is_ready(self) -> None:
        """A unit is ready where the rules say so; after the clock was set back, never where they say it is not."""
        if not hasattr(self, "store"):
            return
        with self.store.reading() as reader:
            for name in UNITS:
                unit, ruled = self.shop.record_in(reader, Unit, name), self.ruled[name]
                if ruled.holder is not None:
                    continue  # while it is out it has the state it left with
                ready = condition(standing_of(reader, house(), unit, self.now)).state is Serviceable.READY
                assert ready == ruled.ready or (self.went_back and not ready), name

    # Help.

    def _do(self, operation: Operation, allowed: bool, clerk: str = "Office") -> bool:
        """Does it; it goes through exactly when the rules allow it (after a clock set back: at most then)."""
        self.now += timedelta(seconds=1)
        clerk_id = self.shop.record(Person, clerk).id
        failure: NotAllowed | None
        try:
            receipt = self.counter.do(operation, clerk_id)
        except NotAllowed as refused:
            failure = refused
        else:
            failure = None
        if failure is not None:
            assert not allowed or self.went_back, failure.words()
            assert failure.sentence
            return False
        assert allowed, f"went through: {receipt.sentence}"
        self.written += 1
        assert receipt.seq == self.written
        self.last = (operation, clerk_id, receipt)
        self.went_through[operation.code] += 1
        return True

    def _ruled(self, name: str) -> RuledUnit:
        with self.store.reading() as reader:
            unit = self.shop.record_in(reader, Unit, name)
            standing = standing_of(reader, house(), unit, self.now)
        assert standing.last_pass is not None
        return RuledUnit(where="rack", inspected_at=standing.last_pass.ended_at)

    def _pack_free(self, pack: str, unit: str) -> bool:
        """Not out, not in another unit, not lost."""
        if pack in self.lost or pack in self.in_custody:
            return False
        with self.store.reading() as reader:
            battery = self.shop.record_in(reader, Battery, pack)
        return battery.unit_id in (None, self._unit(unit).id)

    def _note_lost(self, battery_id: int) -> None:
        """A pack that did not come back with its unit is missing, unless it went out again meanwhile."""
        with self.store.reading() as reader:
            label = reader.get(Battery, battery_id).label
        pack = next(name for name in PACKS if self.shop.names[name] == label)
        if pack not in self.in_custody:
            self.lost.add(pack)

    def _unit(self, name: str) -> Unit:
        return self.shop.record(Unit, name)

    def _area_id(self) -> int:
        return self.shop.record(Area, "bay-3").id

    def _entries(self) -> int:
        with self.store.reading() as reader:
            head = reader.head()
            assert head.seq == reader.entry_count()
            return head.seq


def _with_gas(shop: Shop) -> Shop:
    """Carbon monoxide below its limit in the area: each issue has a caution to be shown."""
    shop.do(
        AssessArea, area_id=shop.record(Area, "bay-3").id, substance="carbon_monoxide", unit="ppm", concentration=12.0,
        basis=AssessmentBasis.STATED, made_on=date(2026, 3, 4), made_by="T. Ambrus", document="Report 26-015",
    )  # fmt: skip
    return shop


@contextmanager
def _copied(file: Path, folder: Path) -> Iterator[SqlStore]:
    copy = folder / "copy.sqlite"
    for old in folder.glob("copy.sqlite*"):
        old.unlink()
    shutil.copy(file, copy)
    with open_store(str(copy), entropy=random.Random(5).randbytes) as store:
        yield store


def _machine(place: Place) -> Callable[[], RuleBasedStateMachine]:
    return lambda: type("Machine", (CounterMachine,), {"place": place})()


PARTS = 6
"""Into so many tests the long run's shifts are cut, so that none takes longer than a test may."""


def _settings(examples: int, steps: int, long: bool, parts: int = 1) -> settings:
    return settings(
        max_examples=examples * (20 // parts if long else 1), stateful_step_count=steps * (2 if long else 1),
        deadline=None, report_multiple_bugs=False,
    )


@pytest.fixture
def long(request: pytest.FixtureRequest) -> bool:
    """Whether the full counts were asked for."""
    return bool(request.config.getoption("--long"))


@pytest.mark.parametrize("part", [0, *(pytest.param(one, marks=pytest.mark.long) for one in range(1, PARTS))])
def test_random_shifts_on_sqlite(tmp_path: Path, part: int, long: bool) -> None:
    """No run of random operations reaches two holders, a held unit issued, or a journal that does not replay."""
    file = tmp_path / "shop.sqlite"
    with open_store(str(file), create=True, entropy=random.Random(3).randbytes) as store:
        shop = _with_gas(Shop(store).build())
        store.engine.run("PRAGMA wal_checkpoint(TRUNCATE)")
    place = Place(shop, lambda: _copied(file, tmp_path))
    CounterMachine.went_through.clear()
    run_state_machine_as_test(_machine(place), settings=_settings(60, 50, long, PARTS))
    every = {"issue", "return", "complete-return", "hold", "release", "clean", "inspect", "hold-unfinished"}
    assert every | {"change-part", "move-unit"} <= set(CounterMachine.went_through)


@pytest.mark.postgres
def test_random_shifts_on_postgresql(postgres_server: postgres.Server, postgres_address: str, long: bool) -> None:
    """The same on a server, from copies of one database."""
    import psycopg

    with open_store(postgres_address, create=True, entropy=random.Random(3).randbytes) as store:
        shop = _with_gas(Shop(store).build())
    template = postgres_address.rpartition("/")[2].partition("?")[0]
    name = f"{template}_copy"

    @contextmanager
    def fresh() -> Iterator[SqlStore]:
        with psycopg.connect(postgres_server.address("postgres"), autocommit=True) as connection:
            connection.execute(f'drop database if exists "{name}" with (force)')
            connection.execute(f'create database "{name}" template "{template}"')
        with open_store(postgres_server.address(name), entropy=random.Random(5).randbytes) as copy:
            yield copy
        with psycopg.connect(postgres_server.address("postgres"), autocommit=True) as connection:
            connection.execute(f'drop database if exists "{name}" with (force)')

    run_state_machine_as_test(_machine(Place(shop, fresh)), settings=_settings(6, 25, long))
