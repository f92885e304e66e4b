"""What is opened at a start: unit models and procedures from their files, a store from its address, its clock."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

import platformdirs

from cribdesk import resources
from cribdesk.crib.entry import moment_of
from cribdesk.crib.limits import read_limits
from cribdesk.crib.model import ModelFaults, UnitModel, read_floors, read_model
from cribdesk.crib.records import SiteSetting
from cribdesk.crib.rules import RuleFaults, RuleSet, base_of, read_rules
from cribdesk.crib.shade import ShadeTable, read_table
from cribdesk.crib.used import read_handling
from cribdesk.desk.counter import Counter
from cribdesk.desk.house import House
from cribdesk.desk.ports import Clock
from cribdesk.procedure.load import ProcedureFaults, load
from cribdesk.procedure.model import Procedure
from cribdesk.store.connect import SqlStore, open_store
from cribdesk.store.transfer import DIGEST, backup, load_journal

T = TypeVar("T")
NAME = "CribDesk"
JOURNAL = "journal.jsonl.xz"


@dataclass
class OpenDesk:
    """An open store with its counter and clock, owned by the thread that opened it."""

    store: SqlStore
    counter: Counter
    clock: Clock
    sample_until: datetime | None

    @property
    def house(self) -> House:
        """Models, procedures and the site's settings."""
        return self.counter.house

    def reload_settings(self) -> House:
        """Takes the site's settings as the store has them now."""
        self.counter.house = _with_settings(self.store, self.counter.house)
        return self.counter.house


def load_house() -> tuple[House, tuple[str, ...]]:
    """Models and procedures from `resources/`, and every fault in them, by file, place and line.

    A file with a fault is left out; what names it says so when it is met.
    """
    faults: list[str] = []
    folder = resources.data("resources")
    floors = read_floors((folder / "tables" / "airflow_minimums.csv").read_text("utf-8"))
    models: dict[str, UnitModel] = {}
    for name, text in _texts("units", faults):
        try:
            model = read_model(text, name, floors)
        except ModelFaults as broken:
            faults += map(str, broken.faults)
            continue
        if model.code in models:
            faults.append(f"{name}: model {model.code} is in another file too")
        models[model.code] = model
    procedures: dict[str, Procedure] = {}
    for name, text in _texts("procedures", faults):
        try:
            procedure = load(text, name, tuple(models.values()))
        except ProcedureFaults as broken:
            faults += map(str, broken.faults)
            continue
        procedures[procedure.code] = procedure
    house = replace(
        House.of(models, procedures),
        handling=_table("used_filter_handling.csv", read_handling, (), faults),
        substances=_table("exposure_limits.csv", read_limits, {}, faults),
        shades=_table("shade_minimums.csv", read_table, ShadeTable(()), faults),
        rule_sets=_rule_sets(faults),
    )
    return house, tuple(faults)


def _table(name: str, read: Callable[[str], T], without: T, faults: list[str]) -> T:
    """A table of figures out of its file; one that cannot be read is `without`, and said."""
    try:
        return read((resources.data("resources") / "tables" / name).read_text("utf-8"))
    except (OSError, ValueError) as failure:
        faults.append(f"{name}: {failure}")
        return without


def _rule_sets(faults: list[str]) -> dict[str, RuleSet]:
    """Every rule set by its code, each after the one that it builds upon; one with a fault is left out, and said."""
    factors = (resources.data("resources") / "tables" / "assigned_protection_factors.csv").read_text("utf-8")
    waiting = dict(_texts("rules", faults))
    bases = {name: base_of(text) for name, text in waiting.items()}
    found: dict[str, RuleSet] = {}
    while waiting:
        ready = [name for name in waiting if bases[name] in ("", *found)]
        for name in ready:
            text = waiting.pop(name)
            try:
                made = read_rules(text, found.get(bases[name]), name, factors)
            except RuleFaults as broken:
                faults += map(str, broken.faults)
                continue
            found[made.code] = made
        if not ready:
            faults += [f"{name}: the set that it builds upon is not there" for name in waiting]
            break
    return found


def _texts(kind: str, faults: list[str]) -> list[tuple[str, str]]:
    found = []
    folder = resources.data("resources") / kind
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if file.name.endswith(".toml"):
            try:
                found.append((file.name, file.read_text("utf-8")))
            except (OSError, UnicodeDecodeError) as failure:
                faults.append(f"{file.name}: cannot be read ({failure})")
    return found


def user_store() -> Path:
    """The user's own store, in the platform's data folder."""
    return Path(platformdirs.user_data_dir(NAME, appauthor=False)) / "store.sqlite"


def now() -> datetime:
    """The moment by the machine's clock."""
    return datetime.now(UTC)


def open_desk(address: str, house: House, name: str, *, create: bool = False) -> OpenDesk:
    """Opens a store and stands a counter in it. Raises CannotOpen in plain words."""
    store = open_store(address, create=create)
    house = _with_settings(store, house)
    until = house.settings["sample_until"]
    clock = sample_clock(moment_of(until)) if until else now
    return OpenDesk(store, Counter(store, house, clock, name), clock, moment_of(until) if until else None)


def sample_clock(start: datetime, real: Clock = now) -> Clock:
    """A clock of a store's own that runs from `start` on, beginning at this call."""
    began = real()
    return lambda: start + (real() - began)


def _with_settings(store: SqlStore, house: House) -> House:
    with store.reading() as reader:
        return house.as_stored(reader.find(SiteSetting))


def private_sample(progress: Callable[[float], None] | None = None) -> Path:
    """A fresh private copy of the sample store, so that playing breaks nothing.

    The finished store is made once and kept in the cache folder by the digest of its journal.
    """
    finished = finished_sample(progress)
    folder = Path(tempfile.mkdtemp(prefix="cribdesk-sample-"))
    target = folder / "sample.sqlite"
    shutil.copyfile(finished, target)
    return target


def finished_sample(progress: Callable[[float], None] | None = None) -> Path:
    """The sample store, replayed from its journal where the cache has none of this digest yet."""
    packed = (resources.data("sample_store") / JOURNAL).read_bytes()
    cache = Path(platformdirs.user_cache_dir(NAME, appauthor=False))
    finished = cache / f"sample-{hashlib.sha256(packed).hexdigest()[:20]}.sqlite"
    if finished.exists():
        return finished
    cache.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=cache) as work:
        journal = Path(work) / JOURNAL
        journal.write_bytes(packed)
        made = Path(work) / "made.sqlite"
        digest = (resources.data("sample_store") / DIGEST).read_text("ascii").strip()
        with open_store(str(made), create=True) as store:
            load_journal(journal, store, progress, digest)
        _whole(made)
        os.replace(made, finished)
    return finished


def _whole(file: Path) -> None:
    """Folds the write-ahead log into the file, so that one file is the whole store."""
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.execute("PRAGMA journal_mode = delete")


def keep_copy(desk: OpenDesk, file: Path) -> None:
    """The whole store in a file of its own, while it is at work."""
    backup(desk.store, file)


def remove_sample(file: Path) -> None:
    """Throws the private copy away; the cache keeps the finished one."""
    if file.parent.name.startswith("cribdesk-sample-"):
        shutil.rmtree(file.parent, ignore_errors=True)
