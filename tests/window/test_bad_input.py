"""Broken files, stores that cannot be opened, a clock set back, the program killed: told plainly, nothing half kept."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from cribdesk import chores, resources
from cribdesk.crib.records import Custody, Unit
from cribdesk.window.start import wait_until
from tests.store.test_open import without_rights
from tests.window.conftest import Stand
from tests.window.desk_window import DeskWindow
from tests.window.killed import MOMENTS

ROOT = Path(__file__).parents[2]


@pytest.fixture
def own_resources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the resource files that the program reads instead of its own."""
    copy = tmp_path / "resources"
    shutil.copytree(ROOT / "resources", copy)
    real = resources.data
    monkeypatch.setattr(resources, "data", lambda name: copy if name == "resources" else real(name))
    return copy


def test_broken_toml_is_named_and_the_rest_works(
    own_resources: Path, standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]
) -> None:
    """A procedure and a model with broken TOML are named by file; units of other models go out as ever."""
    (own_resources / "procedures" / "half.toml").write_text("[procedure\ncode = ", "utf-8")
    (own_resources / "units" / "half.toml").write_text("code = 3", "utf-8")
    desk = standing(shop_file, shop_built[1])
    desk.shows("half.toml")
    assert desk.session.notes[0] != desk.session.notes[1]
    assert len(desk.session.notes) >= 2
    desk.sign_on()
    desk.issue()
    desk.says("Issued")


def test_a_unit_whose_model_is_missing(
    own_resources: Path, standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]
) -> None:
    """Scanning it says which model has no file; lists, board and every other unit go on working."""
    for file in (own_resources / "units").glob("*.toml"):
        if '"FF1"' in file.read_text("utf-8"):
            file.unlink()
    desk = standing(shop_file, shop_built[1])
    desk.sign_on()
    desk.scan("ff-1")
    desk.says("FF1")
    assert "Traceback" not in desk.shown()
    for place in ("units", "bench", "counter"):
        desk.window.open_place(place)
        desk.rest()
    desk.issue()
    desk.says("Issued")


def not_a_store(file: Path) -> None:
    """Words, not a database."""
    file.write_text("This is a letter.", "utf-8")


def another_programs(file: Path) -> None:
    """A database of something else."""
    with sqlite3.connect(file) as connection:
        connection.execute("create table song (title text)")
    connection.close()


def newer(file: Path) -> None:
    """A store that a later version wrote."""
    connection = sqlite3.connect(file)
    with connection:
        connection.execute("update schema set number = 99")
    connection.close()


@pytest.mark.parametrize(
    ("spoil", "words"),
    [(not_a_store, "not"), (another_programs, "CribDesk"), (newer, "newer")],
)
def test_a_file_that_cannot_be_opened(
    standing: Stand, tmp_path: Path, shop_file: Path, spoil: object, words: str
) -> None:
    """The window says in place what the file is and stays; the file is as it was, byte for byte."""
    file = shop_file if spoil is newer else tmp_path / "other.sqlite"
    spoil(file)  # type: ignore[operator]
    before = file.read_bytes()
    desk = standing(file)
    assert desk.session.app is None
    desk.shows(words)
    assert str(file) in desk.session.trouble or file.name in desk.session.trouble
    assert "Error" not in desk.session.trouble
    desk.scan("U000001X")
    desk.says("No store is open")
    desk.press("F5", "F6")
    assert file.read_bytes() == before


def test_a_store_locked_by_another_program(
    standing: Stand, shop_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another program holds the file the opening ends soon, in plain words."""
    from cribdesk.store import connect

    monkeypatch.setattr(connect, "OPENING_WAIT_SECONDS", 0.2)
    other = sqlite3.connect(shop_file, isolation_level=None)
    other.execute("pragma locking_mode = exclusive")
    other.execute("begin exclusive")
    try:
        desk = standing(shop_file)
        assert desk.session.app is None
        desk.shows("Another program keeps", "locked. Close it, then open the store again.")
    finally:
        other.close()


def test_a_store_that_is_read_only(standing: Stand, shop_file: Path) -> None:
    """The file may not be written: said at once."""
    folder = Path(tempfile.mkdtemp(prefix="cribdesk-read-only-"))
    try:
        file = Path(shutil.copyfile(shop_file, folder / "crib.sqlite"))
        file.chmod(0o444)
        folder.chmod(0o555)
        with without_rights():
            desk = standing(file)
        assert desk.session.app is None
        desk.shows("may not be written to")
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def test_a_damaged_file_is_told_in_place(
    standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]]
) -> None:
    """Pages overwritten by something else: the look through the file, beside the work, says so."""
    with shop_file.open("r+b") as file:
        size = file.seek(0, os.SEEK_END)
        file.seek(size - 3 * 4096)
        file.write(b"\x5a" * (2 * 4096))
    desk = standing(shop_file, shop_built[1])
    wait_until(lambda: bool(desk.session.trouble or desk.session.notes), 10)
    desk.shows("damaged")
    assert "Traceback" not in desk.shown()


def test_the_clock_set_back_midway(signed_on: DeskWindow) -> None:
    """Set back two hours inside an issue: it goes through; the return asks for hours instead of computing them."""
    desk = signed_on
    desk.put_down()
    desk.press("F5")
    desk.clock.later(hours=-2)
    desk.answer_well()
    desk.scan("Wronecka")
    desk.says("Issued")
    desk.clock.later(hours=-1)
    desk.scan("wl-1")
    desk.press("F5")
    desk.shows("The clock cannot tell", "Enter the hours worn.")
    desk.press("F5")
    desk.shows("Enter the hours worn.")


def test_a_fault_of_the_store_is_told_and_kept_on_the_counter(
    signed_on: DeskWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full at the commit: said, nothing kept, and the same badge does it once there is room."""
    from cribdesk.store import work as store_work
    from cribdesk.store.faults import StoreFault

    desk = signed_on
    desk.put_down()
    desk.press("F5")
    desk.answer_well()
    before = desk.seq()

    def full(*_: object) -> None:
        raise StoreFault("The disk is full. Nothing was kept; make room and do it again.")

    with monkeypatch.context() as patch:
        patch.setattr(store_work.SqlWork, "commit", full)
        desk.scan("Wronecka")
    desk.says("The disk is full")
    assert desk.seq() == before
    desk.scan("Wronecka")
    desk.says("Issued")


@pytest.mark.parametrize("moment", MOMENTS)
def test_killed_in_the_middle_of_an_issue(
    standing: Stand, shop_file: Path, shop_built: tuple[Path, dict[str, str]], tmp_path: Path, moment: str
) -> None:
    """Killed before, inside or after the transaction: the next start says whether it stands; the journal is whole."""
    names = shop_built[1]
    labels = [names[one] for one in ("Wronecka", "wl-1", "pack-1", "bay-3", "Castel")]
    done = subprocess.run(
        [sys.executable, "-m", "tests.window.killed", str(shop_file), moment, *labels],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=60,
        env={**os.environ, "XDG_CONFIG_HOME": str(tmp_path / "config"), "QT_QPA_PLATFORM": "offscreen"},
    )  # fmt: skip
    assert done.returncode == -9, done.stderr
    stands = moment in ("committed", "answered")
    folder = tmp_path / "config" / "CribDesk"
    pending = json.loads((folder / "workstation.json").read_text("utf-8"))["pending"]
    assert bool(pending) is (moment != "answered")

    assert chores.check(str(shop_file)) == []
    desk = standing(shop_file, names, folder=folder)
    if moment == "answered":
        desk.says("Scan a staff badge to sign on")
    elif stands:
        desk.says("Before the program ended this was done: Issued", "Łucja Wronecka")
    else:
        desk.says("The program ended before its last operation was done. Nothing was changed.")
    custody = desk.read(lambda reader: reader.first(Custody, returned_at=None))
    unit = desk.read(lambda reader: reader.first(Unit, label=names["wl-1"]))
    assert unit is not None
    assert (custody is not None, unit.where.value == "out") == (stands, stands)
    assert json.loads((folder / "workstation.json").read_text("utf-8"))["pending"] == ""
    desk.sign_on()
    if not stands:
        desk.issue()
        desk.says("Issued")
