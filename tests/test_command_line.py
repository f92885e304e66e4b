"""The command line: help for every command, one plain line and exit 2 where something is wrong, the chores."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from cribdesk.__main__ import CHORES, main
from cribdesk.store.connect import open_store
from tests.desk.shop import Shop

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shop's store."""
    file = tmp_path_factory.mktemp("cli") / "shop.sqlite"
    with open_store(str(file), create=True) as store:
        Shop(store).build()
    return file


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """The program as it is started."""
    return subprocess.run(
        [sys.executable, "-m", "cribdesk", *arguments],
        cwd=ROOT, env={**os.environ, **environment}, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Exit 2 and one line on the error stream, nothing on the other. Returns the line."""
    try:
        code = main(arguments)
    except SystemExit as ended:
        code = int(ended.code or 0)
    out, line = capsys.readouterr()
    assert code == 2, (arguments, code, out, line)
    assert out == ""
    assert line.startswith("cribdesk: ")
    assert line.endswith("\n")
    assert line.count("\n") == 1, line
    assert "Traceback" not in line
    assert "Error" not in line
    return line


@pytest.mark.parametrize("command", ["", *CHORES])
def test_every_command_has_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """`--help` names the arguments and ends well."""
    with pytest.raises(SystemExit) as ended:
        main([*([command] if command else []), "--help"])
    assert ended.value.code == 0
    told = capsys.readouterr().out
    assert told.startswith("usage: cribdesk")
    for name, _ in CHORES[command][0] if command else ():
        assert name.upper() in told
    if not command:
        assert all(one in told for one in (*CHORES, "--sample", "--store"))


@pytest.mark.parametrize(
    "arguments",
    [
        ("fly",),
        ("check",),
        ("check", "a", "b"),
        ("backup", "only-one"),
        ("--store",),
        ("--sample", "--store", "x"),
        ("--colour", "red"),
        ("walkthrough",),
    ],
)
def test_bad_arguments(arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """What is not an argument is told in one line that names the way to the help."""
    assert "--help" in refused(capsys, *arguments)


def test_chores_on_what_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str], built: Path) -> None:
    """A missing store, folder, backup; a file that is no store; a target in use: one line each, nothing made."""
    none, letter, full = str(tmp_path / "none.sqlite"), tmp_path / "letter.txt", tmp_path / "full"
    letter.write_text("This is a letter.", "utf-8")
    full.mkdir()
    (full / "mine.txt").write_text("mine", "utf-8")
    own = str(shutil.copyfile(built, tmp_path / "own.sqlite"))
    for arguments in (
        ("check", none),
        ("check", str(letter)),
        ("check", str(tmp_path)),
        ("backup", none, str(tmp_path / "b")),
        ("backup", own, str(letter)),
        ("restore", str(letter), str(tmp_path / "new.sqlite")),
        ("restore", none, str(tmp_path / "new.sqlite")),
        ("load", str(tmp_path / "nowhere"), str(tmp_path / "new.sqlite")),
        ("load", str(full), str(tmp_path / "new.sqlite")),
        ("dump", own, str(full)),
        ("dump", none, str(tmp_path / "out")),
        ("check", "postgresql://nobody@127.0.0.1:1/none"),
    ):
        refused(capsys, *arguments)
    assert letter.read_text("utf-8") == "This is a letter."
    assert [one.name for one in full.iterdir()] == ["mine.txt"]
    assert not Path(none).exists()
    assert main(["check", own]) == 0


def test_check_tells_a_store_that_was_changed(tmp_path: Path, built: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sound store ends with 0; one whose row was changed behind the journal's back ends with 1 and says where."""
    import sqlite3

    file = Path(shutil.copyfile(built, tmp_path / "store.sqlite"))
    assert main(["check", str(file)]) == 0
    assert "sound" in capsys.readouterr().out
    connection = sqlite3.connect(file)
    with connection:
        connection.execute("update unit set serial = 'forged' where id = 1")
    connection.close()
    assert main(["check", str(file)]) == 1
    told = capsys.readouterr().out
    assert "unit" in told
    assert "not sound" in told


def test_round_trip(engine: str, address: str, built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Dumped, loaded on this engine, checked, backed up, restored, dumped again: the same files, byte for byte."""
    first, second = tmp_path / "first", tmp_path / "second"
    assert main(["dump", str(built), str(first)]) == 0
    assert main(["load", str(first), address]) == 0
    assert main(["check", address]) == 0
    copy = str(tmp_path / ("copy.jsonl.xz" if engine == "postgresql" else "copy.sqlite"))
    assert main(["backup", address, copy]) == 0
    assert main(["restore", copy, str(tmp_path / "back.sqlite")]) == 0
    assert main(["check", str(tmp_path / "back.sqlite")]) == 0
    assert main(["dump", str(tmp_path / "back.sqlite"), str(second)]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert "sound" in told.out
    password = urlsplit(address).password
    assert password is None or password not in told.out
    names = sorted(str(one.relative_to(first)) for one in first.rglob("*") if one.is_file())
    assert len(names) > 20
    assert names == sorted(str(one.relative_to(second)) for one in second.rglob("*") if one.is_file())
    for name in names:
        assert (first / name).read_bytes() == (second / name).read_bytes(), name
    refused(capsys, "load", str(first), address)


def test_as_it_is_started(tmp_path: Path) -> None:
    """The module itself: the version, a chore's exit code, and no screen to open a window on."""
    assert run("--version").stdout.startswith("cribdesk ")
    missing = run("check", str(tmp_path / "none.sqlite"))
    assert (missing.returncode, missing.stdout, missing.stderr.count("\n")) == (2, "", 1)
    blind = run("--sample", QT_QPA_PLATFORM="", DISPLAY="", WAYLAND_DISPLAY="")
    assert blind.returncode == 2
    assert "no screen" in blind.stderr
    assert "walkthrough" in blind.stderr
