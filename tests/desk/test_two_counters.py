"""Two counters at the same moment: whoever comes second is judged by what the first one wrote, on both engines."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from copy import copy
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import psycopg
import pytest

from cribdesk.crib.entry import Entry
from cribdesk.crib.reasons import cautions, reasons, stops
from cribdesk.crib.records import (
    Area,
    Assessment,
    AssessmentBasis,
    Battery,
    Clearance,
    ClearanceKind,
    Custody,
    FactorEvidence,
    Instrument,
    Lot,
    Person,
    SetAside,
    StockItem,
    Unit,
)
from cribdesk.crib.refusal import NotAllowed
from cribdesk.desk.area_facts import SayAreaCondition
from cribdesk.desk.assessments import AddSample, AssessArea, SampleTaken, WithdrawAssessment
from cribdesk.desk.class_day import ClearMany
from cribdesk.desk.counter import Counter
from cribdesk.desk.equipment import Calibrate
from cribdesk.desk.erasure import ErasePerson
from cribdesk.desk.factor_evidence import RecordFactorEvidence, WithdrawFactorEvidence
from cribdesk.desk.facts import IssueIds, facts_of, seal_seen
from cribdesk.desk.hold import PlaceHold
from cribdesk.desk.issue import IssueUnit
from cribdesk.desk.office import SetSetting
from cribdesk.desk.operation import Operation
from cribdesk.desk.people import ChangePerson
from cribdesk.desk.recall import OpenRecall
from cribdesk.desk.receipt import Receipt
from cribdesk.desk.seal_look import LookAtSeal
from cribdesk.desk.set_aside import SetPiecesAside
from cribdesk.desk.site_limits import AddSiteLimit
from cribdesk.desk.work_limits import SetWorkLimit
from cribdesk.store.check import check
from cribdesk.store.connect import SERVER, open_store
from cribdesk.store.transfer import restore, write_journal
from tests import postgres
from tests.desk import killed
from tests.desk.shop import FOUND, Shop, house, passed

LONG = 20.0
"""Seconds after which a test gives up."""


@pytest.fixture(scope="module")
def shop_on_server(built_shop: tuple[Path, Shop], postgres_server: postgres.Server) -> str:
    """The shop as a database that others are copied from."""
    name = f"two_counters_{os.getpid()}"
    with psycopg.connect(postgres_server.address("postgres"), autocommit=True) as connection:
        connection.execute(f'create database "{name}" template template0')
    restore(built_shop[0], postgres_server.address(name))
    return name


@pytest.fixture
def copy_on_server(shop_on_server: str, postgres_server: postgres.Server) -> Iterator[str]:
    """The address of a copy of that database, dropped afterwards."""
    name = f"{shop_on_server}_copy"
    with psycopg.connect(postgres_server.address("postgres"), autocommit=True) as connection:
        connection.execute(f'create database "{name}" template "{shop_on_server}" strategy file_copy')
        yield postgres_server.address(name)
        connection.execute(f'drop database "{name}" with (force)')


@pytest.fixture
def crib(engine: str, built_shop: tuple[Path, Shop], tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Crib]:
    """A shop of the test's own on the engine; the back office's store is open."""
    file, shop = built_shop
    if engine == "sqlite":
        address = str(tmp_path / "shop.sqlite")
        shutil.copy(file, address)
    else:
        address = request.getfixturevalue("copy_on_server")
    with open_store(address) as store:
        yield Crib(address, replace(shop, store=store, names=dict(shop.names), tokens=copy(shop.tokens)))
        assert check(store) == []


@dataclass
class Crib:
    """One store, and what comes of operations that two counters do on it at once."""

    address: str
    shop: Shop

    def at_once(self, first: Operation, second: Operation) -> tuple[object, object]:
        """Two operations at two counters: the second begins when the first has written all but its entry.

        What became of each: its receipt, or what it raised.
        """
        ready, go_on = threading.Event(), threading.Event()
        start = threading.Event()
        counters = (_Slow("Counter 1", ready, go_on), _Slow("Counter 2", start=start))
        threads = [
            threading.Thread(target=one.do_there, args=(self, operation), daemon=True)
            for one, operation in zip(counters, (first, second), strict=True)
        ]
        threads[1].start()
        assert counters[1].opened.wait(LONG)
        threads[0].start()
        assert ready.wait(LONG), counters[0].came
        start.set()
        self._until_it_waits(threads[1])
        go_on.set()
        for one in threads:
            one.join(LONG)
        return counters[0].came, counters[1].came

    def _until_it_waits(self, thread: threading.Thread) -> None:
        """Until the second counter waits for the first one's transaction, or is done."""
        if not self.address.startswith(SERVER):
            time.sleep(0.05)  # a file does not tell who waits for it
            return
        waiting = (
            "select count(*) from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock'"
        )
        until = time.monotonic() + LONG
        with psycopg.connect(self.address, autocommit=True) as connection:
            while time.monotonic() < until and thread.is_alive():
                if connection.execute(waiting).fetchone() != (0,):
                    return
                time.sleep(0.002)

    def id(self, kind: type[Any], name: str) -> int:
        """The id behind a name of the shop."""
        return int(self.shop.record(kind, name).id)

    def latest(self, kind: type[Any], **equal: Any) -> Any:
        """The newest record of a kind."""
        with self.shop.store.reading() as reader:
            return reader.latest(kind, **equal)

    def count(self, kind: type[Any]) -> int:
        """How many records of a kind there are."""
        with self.shop.store.reading() as reader:
            return reader.count(kind)

    def hood(self) -> None:
        """One more unit: a hood for which its maker's evidence may stand."""
        self.shop._stock(house().models["WH1"])
        self.shop.unit("hood", "WH1")

    def wrote(self, operation: Operation) -> Entry | None:
        """What an operation left in the journal."""
        with self.shop.store.reading() as reader:
            return reader.entry_of(operation.operation_id)

    def made(self, kind: type[Operation], /, **fields: Any) -> Operation:
        """An operation under an id of its own, not done yet."""
        return kind(operation_id=self.shop.tokens(), **fields)


class _Slow(Counter):
    """A counter in a thread of its own; told so, it stops before its entry is written until it may go on."""

    def __init__(
        self,
        name: str,
        ready: threading.Event | None = None,
        go_on: threading.Event | None = None,
        start: threading.Event | None = None,
    ) -> None:
        self.of, self.ready, self.go_on, self.start = name, ready, go_on, start
        self.opened = threading.Event()
        self.came: object = None

    def do_there(self, crib: Crib, operation: Operation) -> None:
        """Opens the store, does it, and keeps what came of it."""
        try:
            with open_store(crib.address) as store:
                super().__init__(store, house(), lambda: crib.shop.moment + MEANWHILE, self.of)
                self.opened.set()
                assert self.start is None or self.start.wait(LONG)
                self.came = self.do(operation, crib.shop.clerk_id)
        except Exception as failure:
            self.came = failure

    def _commit(self, *given: Any) -> Entry:
        if self.ready is not None and self.go_on is not None:
            self.ready.set()
            assert self.go_on.wait(LONG)
        return super()._commit(*given)


MEANWHILE = timedelta(minutes=2)
TODAY = date(2026, 11, 25)


def an_issue(crib: Crib, unit: str = "wl-1", pack: str = "pack-1") -> Operation:
    """A unit for Wronecka in bay 3, its check passed, every caution shown: nothing keeps it from being confirmed."""
    shop = crib.shop
    ids = IssueIds(crib.id(Unit, unit), crib.id(Person, "Wronecka"), crib.id(Battery, pack), crib.id(Area, "bay-3"),
                   house().turn(shop.moment).end)  # fmt: skip
    with shop.store.reading() as reader:
        found = reasons(facts_of(reader, house(), ids, shop.moment), shop.moment)
    assert not stops(found), found
    return crib.made(
        IssueUnit, unit_id=ids.unit_id, person_id=ids.person_id, battery_id=ids.battery_id, area_id=ids.area_id,
        due_at=ids.due_at, shown=tuple(one.key for one in cautions(found)),
        run_made=passed(shop.record(Unit, unit), "hand-over", shop.moment, shop.clerk_label, shop.names["meter"]),
    )  # fmt: skip


def _finding(crib: Crib, **more: Any) -> dict[str, Any]:
    return {
        "area_id": crib.id(Area, "bay-3"), "substance": "manganese", "made_on": FOUND, "made_by": "T. Ambrus",
        "document": "Report 26-015",
    } | more  # fmt: skip


def _withdrawn(crib: Crib) -> Operation:
    found = crib.latest(Assessment, area_id=crib.id(Area, "bay-3"), substance="manganese")
    return crib.made(WithdrawAssessment, assessment_id=found.id, why="the wrong bay")


def _worse(crib: Crib) -> Operation:
    return crib.made(AssessArea, **_finding(crib, basis=AssessmentBasis.STATED, short=400.0))


def _sampled(crib: Crib) -> Operation:
    crib.shop.do(AssessArea, **_finding(crib, basis=AssessmentBasis.SAMPLES, substance="iron_oxide_fume",
                                        samples=(SampleTaken(2.0, 480, FOUND),)))  # fmt: skip
    found = crib.latest(Assessment)
    return crib.made(AddSample, assessment_id=found.id, value=900.0, unit="mg/m3", minutes=480, taken_on=TODAY)


def _limited(crib: Crib) -> Operation:
    own = {"substance": "nickel", "kind": "8 h", "unit": "mg/m3", "source": "Shop list", "from_on": FOUND}
    crib.shop.do(AddSiteLimit, value=1.0, **own)
    crib.shop.do(AssessArea, **_finding(crib, substance="nickel", basis=AssessmentBasis.STATED, limit="Shop list",
                                        concentration=0.5))  # fmt: skip
    return crib.made(AddSiteLimit, value=0.001, **own)


def _evidence(crib: Crib) -> Operation:
    crib.hood()
    crib.shop.do(RecordFactorEvidence, model="WH1", factor=1000, document="T1", dated_on=FOUND)
    crib.shop.do(AssessArea, **_finding(crib, basis=AssessmentBasis.STATED, short=200.0))
    return crib.made(WithdrawFactorEvidence, evidence_id=crib.latest(FactorEvidence).id, why="taken back")


def _condition(crib: Crib) -> Operation:
    return crib.made(SayAreaCondition, area_id=crib.id(Area, "bay-3"), said_on=TODAY, oxygen_deficient=True)


def _work_limit(crib: Crib) -> Operation:
    return crib.made(SetWorkLimit, person_id=crib.id(Person, "Wronecka"), code_of_limit="hours at most 1",
                     given_on=TODAY)  # fmt: skip


def _ended(crib: Crib) -> Operation:
    return crib.made(ChangePerson, person_id=crib.id(Person, "Wronecka"), full_name="L", ends_on=date(2026, 11, 1))


def _held(crib: Crib) -> Operation:
    return crib.made(PlaceHold, unit_id=crib.id(Unit, "wl-1"), reason="head", detail="cracked")


def _rules(crib: Crib) -> Operation:
    return crib.made(SetSetting, setting="rule_set", value="uk")


def _recalled(crib: Crib) -> Operation:
    return crib.made(OpenRecall, notice="N1", why="swells", model="WL1-PACK")


def _meter_found_wrong(crib: Crib) -> Operation:
    return crib.made(Calibrate, instrument_id=crib.id(Instrument, "meter"), made_on=TODAY,
                     good_until=date(2027, 11, 25), found_error_lpm=90.0)  # fmt: skip


def _seal(crib: Crib) -> Operation:
    look = {"person_id": crib.id(Person, "Wronecka"), "unit_id": crib.id(Unit, "ff-1")}
    crib.shop.do(LookAtSeal, **look)
    return crib.made(LookAtSeal, hair=True, **look)


CHANGES: dict[str, Callable[[Crib], Operation]] = {
    "a finding is withdrawn": _withdrawn,
    "a worse finding is entered": _worse,
    "a sample is added": _sampled,
    "the site's limit goes down": _limited,
    "test evidence is withdrawn": _evidence,
    "the air lacks oxygen": _condition,
    "a work limit is given": _work_limit,
    "the badge ends": _ended,
    "the unit is held": _held,
    "other rules come into force": _rules,
    "packs are recalled": _recalled,
    "the meter was wrong": _meter_found_wrong,
    "hair is seen at the seal": _seal,
}
OTHERWISE = {"test evidence is withdrawn": ("hood", "pack-1"), "hair is seen at the seal": ("ff-1", "pack-ff")}
"""The unit and the pack, where they matter."""


ON_SERVER = ("a finding is withdrawn", "test evidence is withdrawn", "a work limit is given",
             "other rules come into force")  # fmt: skip
"""What is tried on a server in ordinary runs too: where a transaction begins is the same for all of them."""


def every_change() -> Iterator[Any]:
    """Each change on each engine."""
    for change in CHANGES:
        yield pytest.param("sqlite", change)
        marks = [pytest.mark.postgres] if change in ON_SERVER else [pytest.mark.postgres, pytest.mark.long]
        yield pytest.param("postgresql", change, marks=marks)


@pytest.mark.parametrize(("engine", "change"), tuple(every_change()))
def test_what_another_counter_changes_reaches_the_issue(crib: Crib, change: str) -> None:
    """Between the look and the confirm, even in the very moment of it: the unit does not go out."""
    operation = CHANGES[change](crib)
    issue = an_issue(crib, *OTHERWISE.get(change, ("wl-1", "pack-1")))
    changed, issued = crib.at_once(operation, issue)
    assert isinstance(changed, Receipt), changed
    assert isinstance(issued, NotAllowed), (change, issued)
    assert crib.latest(Custody) is None
    assert crib.wrote(issue) is None


def test_what_has_nothing_to_do_with_an_issue_lets_it_through(crib: Crib) -> None:
    """Pieces set aside at another counter keep no unit back; and an issue that came first stands before a change."""
    item = crib.id(StockItem, "WL1-PREFILTER")
    aside = crib.made(SetPiecesAside, lines=((item, 3),))
    first = crib.at_once(aside, an_issue(crib))
    second = crib.at_once(an_issue(crib, "wl-2", "pack-2"), _withdrawn(crib))
    seqs = [one.seq for one in (*first, *second) if isinstance(one, Receipt)]
    assert len(seqs) == 4
    assert seqs == sorted(seqs)


def test_two_counters_set_the_same_pieces_aside(crib: Crib) -> None:
    """What one set aside for its purpose, the other cannot set aside for another."""
    item = crib.id(StockItem, "WL1-PREFILTER")
    with crib.shop.store.reading() as reader:
        there = sum(one.on_hand for one in reader.find(Lot, item_id=item))
    one = crib.made(SetPiecesAside, lines=((item, there),))
    other = crib.made(SetPiecesAside, lines=((item, 1),), purpose="the dock job")
    came = crib.at_once(one, other)
    assert isinstance(came[0], Receipt)
    assert isinstance(came[1], NotAllowed), came
    with crib.shop.store.reading() as reader:
        assert [row.quantity for row in reader.find(SetAside)] == [there]


def test_two_counters_enter_the_same_class(crib: Crib) -> None:
    """The second is told who is on file already, and enters nobody."""
    rows = tuple((crib.id(Person, name), "", None) for name in ("Nkemba", "Wronecka"))
    more = (*rows, (crib.id(Person, "Verrani"), "", None))
    before = crib.count(Clearance)
    day = {"kind": ClearanceKind.TRAINING, "given_on": TODAY}
    came = crib.at_once(crib.made(ClearMany, rows=rows, **day), crib.made(ClearMany, rows=more, **day))
    assert isinstance(came[0], Receipt)
    assert isinstance(came[1], NotAllowed), came
    assert "on file already" in came[1].words()
    assert crib.count(Clearance) == before + 2


def test_the_last_badge_end_and_an_erasure(crib: Crib) -> None:
    """Somebody who is called back while their name is being erased stays erased; erased twice is once."""
    gone = crib.shop.person("Twice", "Entered Twice", ends_on=date(2026, 11, 24))
    erase = crib.made(ErasePerson, person_id=gone, left_on=date(2026, 11, 24))
    again = crib.made(ErasePerson, person_id=gone, left_on=date(2026, 11, 24))
    came = crib.at_once(erase, again)
    assert isinstance(came[0], Receipt), came
    assert isinstance(came[1], NotAllowed), came
    with crib.shop.store.reading() as reader:
        assert reader.get(Person, gone).name == ""


def test_a_badge_that_is_taken_up_again_is_not_erased(crib: Crib) -> None:
    """Of a change of the person and an erasure at once, the erasure is judged by the change."""
    gone = crib.shop.person("Twice", "Entered Twice", ends_on=date(2026, 11, 24))
    back = crib.made(ChangePerson, person_id=gone, full_name="Entered Twice", ends_on=None)
    came = crib.at_once(back, crib.made(ErasePerson, person_id=gone, left_on=date(2026, 11, 24)))
    assert isinstance(came[0], Receipt), came
    assert isinstance(came[1], NotAllowed), came
    with crib.shop.store.reading() as reader:
        assert reader.get(Person, gone).name == "Entered Twice"


def test_a_look_at_the_seal_by_a_clock_ahead_of_ours(own_shop: Shop) -> None:
    """Another counter's clock is two minutes ahead: what lies under the seal stops at once, a clear seal waits."""
    look = {"person_id": own_shop.record(Person, "Wronecka").id, "unit_id": own_shop.record(Unit, "ff-1").id}
    person, unit = own_shop.record(Person, "Wronecka"), own_shop.record(Unit, "ff-1")
    for under, counts in ((False, False), (True, True)):
        ours = own_shop.moment
        own_shop.moment += timedelta(minutes=2)
        own_shop.do(LookAtSeal, under_seal=under, **look)
        with own_shop.store.reading() as reader:
            assert (seal_seen(reader, person, unit, ours) is not None) is counts
            assert seal_seen(reader, person, unit, own_shop.moment) is not None


@pytest.mark.parametrize("job", ["erase", "class"])
def test_a_counter_killed_before_its_entry_leaves_nothing(crib: Crib, job: str, tmp_path: Path) -> None:
    """Rows, seals and what was thrown away are as before; done again under its id it is done once."""
    people = [crib.shop.person(name, name, ends_on=date(2026, 11, 24) if job == "erase" else None)
              for name in ("Twice", "Thrice")]  # fmt: skip
    before = written(crib, tmp_path)
    made = killed.operation(crib.shop.tokens(), job, people)
    command = [sys.executable, "-m", "tests.desk.killed", crib.address, str(crib.shop.clerk_id), made.operation_id]
    with subprocess.Popen([*command, job, *map(str, people)], stdout=subprocess.PIPE, text=True) as counter:
        assert counter.stdout is not None
        assert counter.stdout.readline() == "written\n"
        counter.kill()
    assert check(crib.shop.store) == []
    assert written(crib, tmp_path) == before
    receipt = crib.shop.counter.do(made, crib.shop.clerk_id)
    assert crib.shop.counter.do(made, crib.shop.clerk_id) == receipt
    assert written(crib, tmp_path) != before


def written(crib: Crib, folder: Path) -> bytes:
    """The whole journal as it goes out of the store, personal values and their seals with it."""
    write_journal(crib.shop.store, folder / "journal.jsonl")
    return (folder / "journal.jsonl").read_bytes()
