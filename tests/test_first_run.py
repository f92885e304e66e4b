"""The decisions of the set-up: what is missing, what to run for it, whether it is done, and plain words."""

import os
import socket
import sys
from pathlib import Path

import pytest

from cribdesk import first_run
from cribdesk.first_run import Need, Probes, Stop

ALL_THERE = Probes((3, 11), has_ensurepip=True, missing_libraries=frozenset(), has_font=True, has_initdb=True)
BARE = Probes(
    (3, 11),
    has_ensurepip=False,
    missing_libraries=frozenset(first_run.QT_LIBRARIES),
    has_font=False,
    has_initdb=False,
)


@pytest.mark.parametrize("version", [(3, 10), (3, 9), (2, 7), (3, 15), (4, 0)])
def test_a_python_that_will_not_do_is_told(version: tuple[int, int]) -> None:
    """Too old and too new alike: one sentence, which Python it is, and that nothing changed."""
    sentence = first_run.python_fault(version, "/usr/bin/python3")
    assert sentence is not None
    assert "3.11 to 3.14" in sentence
    assert f"{version[0]}.{version[1]} (/usr/bin/python3)" in sentence
    assert sentence.endswith("Nothing changed.")


def test_python_bounds_are_those_of_the_package() -> None:
    """The Python the set-up asks for is the one the package declares."""
    declared = (first_run.ROOT / "pyproject.toml").read_text("utf-8")
    oldest, new = (".".join(map(str, pair)) for pair in (first_run.OLDEST, first_run.TOO_NEW))
    assert f'requires-python = ">={oldest},<{new}"' in declared
    assert first_run.python_fault(first_run.OLDEST, "python3") is None
    assert first_run.python_fault(first_run.TOO_NEW, "python3") is not None


def test_nothing_is_missing_on_a_full_machine() -> None:
    """A machine that has all of it is asked to install nothing."""
    assert first_run.needs(ALL_THERE, tests=False) == []
    assert first_run.needs(ALL_THERE, tests=True) == []


def test_everything_is_missing_on_a_bare_debian_12() -> None:
    """A bare machine needs exactly the packages proven on one, and the tests PostgreSQL besides."""
    packages = [need.package for need in first_run.needs(BARE, tests=False)]
    assert packages == [
        "python3.11-venv", "libgl1", "libegl1", "libxkbcommon0", "libfontconfig1", "libfreetype6",
        "libdbus-1-3", "libglib2.0-0", "libx11-6", "fonts-dejavu-core",
    ]  # fmt: skip
    assert all(need.required for need in first_run.needs(BARE, tests=False))
    extra = [need for need in first_run.needs(BARE, tests=True) if need.package not in packages]
    assert [(need.package, need.required) for need in extra] == [("postgresql", False)]


@pytest.mark.parametrize(
    ("environment", "tests", "expected"),
    [
        ({}, False, set()),
        ({"DISPLAY": ":0"}, False, set(first_run.X_LIBRARIES)),
        ({"WAYLAND_DISPLAY": "wayland-0"}, False, set(first_run.WAYLAND_LIBRARIES)),
        ({"DISPLAY": ":0", "WAYLAND_DISPLAY": "w"}, True, set()),
    ],
)
def test_a_screen_asks_for_its_own_libraries(
    environment: dict[str, str], tests: bool, expected: set[str]
) -> None:
    """Only a real screen needs the libraries that talk to it; the tests draw offscreen."""
    wanted = set(first_run.wanted_libraries(environment, tests=tests))
    assert wanted == expected | set(first_run.QT_LIBRARIES)


POLICY = """libgl1:
  Installed: (none)
  Candidate: 1.6.0-1
  Version table:
     1.6.0-1 500
libglib2.0-0:
  Installed: (none)
  Candidate: (none)
libglib2.0-0t64:
  Installed: 2.84.4
  Candidate: 2.84.4
"""


def test_names_follow_what_the_release_offers() -> None:
    """A package renamed by the 64-bit time change is asked for by its new name, all others by theirs."""
    offered = first_run.packages_on_offer(POLICY)
    assert offered == {"libgl1", "libglib2.0-0t64"}
    names = first_run.package_names(["libgl1", "libglib2.0-0", "postgresql"], offered)
    assert names == ["libgl1", "libglib2.0-0t64", "postgresql"]


def test_the_line_to_run_is_one_line() -> None:
    """A person can copy one line; only who is not root needs sudo in it."""
    line = first_run.apt_line(["libgl1", "libegl1"], root=False)
    assert line == (
        "sudo apt-get update && sudo apt-get install -y --no-install-recommends libgl1 libegl1"
    )
    assert "sudo" not in first_run.apt_line(["libgl1"], root=True)


def test_stamp_fits_its_own_installation_only(tmp_path: Path) -> None:
    """Other dependencies, another folder, a missing extra install anew; the tests' stamp serves both."""
    stamp = first_run.stamp_text(b"one", tmp_path, "")
    with_tests = first_run.stamp_text(b"one", tmp_path, "test")
    assert first_run.stamp_fits(stamp, b"one", tmp_path, "")
    assert first_run.stamp_fits(with_tests, b"one", tmp_path, "")
    assert first_run.stamp_fits(with_tests, b"one", tmp_path, "test")
    assert not first_run.stamp_fits(stamp, b"one", tmp_path, "test")
    assert not first_run.stamp_fits(stamp, b"two", tmp_path, "")
    assert not first_run.stamp_fits(stamp, b"one", tmp_path / "elsewhere", "")
    assert not first_run.stamp_fits("", b"one", tmp_path, "")


NO_NETWORK = "The network cannot be reached."


@pytest.mark.parametrize(
    ("output", "reason"),
    [
        ("W: Temporary failure resolving 'host'\nE: Unable to locate package", NO_NETWORK),
        ("WARNING: Retrying after NewConnectionError('...')\nERROR: No matching", NO_NETWORK),
        ("OSError: [Errno 28] No space left on device", "The disk is full."),
        ("E: Could not get lock /var/lib/dpkg/lock", "Another program is installing packages."),
        ("ERROR: Ignored some\nERROR: No matching distribution for a", "No matching distribution for a."),
        ("  a traceback\nerror: metadata-generation-failed\n", "metadata-generation-failed."),
        ("", "The installer gave no reason."),
    ],
)
def test_an_installer_that_gives_up_is_told_plainly(output: str, reason: str) -> None:
    """What apt-get and pip print becomes one sentence."""
    assert first_run.reason_of(output) == reason


@pytest.mark.parametrize(
    ("environment", "platform", "answers", "words"),
    [
        ({}, "linux", set(), "neither DISPLAY nor WAYLAND_DISPLAY is set"),
        ({"DISPLAY": ":7"}, "linux", set(), "nothing answers at DISPLAY=:7"),
        ({"DISPLAY": ":7"}, "linux", {"DISPLAY"}, None),
        ({"QT_QPA_PLATFORM": "vnc"}, "linux", set(), None),
        ({}, "darwin", set(), None),
        ({}, "win32", set(), None),
    ],
)
def test_a_missing_screen_is_told(
    environment: dict[str, str], platform: str, answers: set[str], words: str | None
) -> None:
    """A window is only tried where one can open, unless the person chose how Qt draws."""
    fault = first_run.screen_fault(environment, platform, frozenset(answers))
    assert words in fault if words and fault else fault is words


def test_a_screen_is_found_by_calling_it(tmp_path: Path) -> None:
    """A socket that listens is a screen; one that is gone, or an unreadable name, is none."""
    environment = {"WAYLAND_DISPLAY": "wayland-7", "XDG_RUNTIME_DIR": str(tmp_path)}
    assert first_run.answering_screens(environment) == frozenset()
    with socket.socket(socket.AF_UNIX) as screen:
        screen.bind(str(tmp_path / "wayland-7"))
        screen.listen()
        assert first_run.answering_screens(environment) == {"WAYLAND_DISPLAY"}
    with socket.create_server(("127.0.0.1", 0)) as screen:
        number = screen.getsockname()[1] - 6000
        assert first_run.answering_screens({"DISPLAY": f"127.0.0.1:{number}.0"}) == {"DISPLAY"}
    for display in ("nonsense", ":", ":x", f"127.0.0.1:{number}", "127.0.0.1:99999999"):
        assert first_run.answering_screens({"DISPLAY": display}) == frozenset()


def test_a_library_is_found_by_loading_it() -> None:
    """What can be loaded is there; what cannot is missing."""
    assert first_run.loads("libc.so.6" if sys.platform == "linux" else "libSystem.dylib")
    assert not first_run.loads("libnone-of-this-name.so.1")


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """A machine that records what would be run, runs nothing, and lacks everything."""
    commands: list[list[str]] = []

    class Done:
        returncode, stdout = 0, ""

    def run(command: list[str]) -> Done:
        commands.append(command)
        return Done()

    monkeypatch.setattr(first_run, "run", run)
    monkeypatch.setattr(first_run, "probe", lambda *, tests: BARE)
    monkeypatch.setattr(first_run.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(first_run.os, "geteuid", lambda: 0)
    return commands


def test_who_may_not_install_gets_the_line_and_nothing_runs(
    machine: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without root and without sudo the set-up stops with the whole line and exit code 2."""
    monkeypatch.setattr(first_run, "may_install", lambda: None)
    with pytest.raises(Stop) as stop:
        first_run.fill_gaps(tests=True)
    assert stop.value.code == 2
    lines = str(stop.value).splitlines()
    assert lines[-1].startswith("    apt-get update && apt-get install")
    assert "python3.11-venv" in lines[-1]
    assert lines[-1].endswith("postgresql")
    assert all(command[0] == "apt-cache" for command in machine)


def test_a_system_without_apt_hears_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Elsewhere the libraries are named, since package names differ."""
    monkeypatch.setattr(first_run.shutil, "which", lambda name: None)
    told = first_run.install_packages([Need("libGL.so.1", "libgl1")])
    assert told == (
        "Missing here: libGL.so.1. Install them with this system's package manager, then run this again."
    )


def test_packages_that_did_not_help_are_told(machine: list[list[str]]) -> None:
    """Installed and still missing is said, not tried for ever."""
    with pytest.raises(Stop, match="still missing here: Python's own installer"):
        first_run.fill_gaps(tests=False)
    installs = [command for command in machine if command[:2] == ["apt-get", "install"]]
    assert len(installs) == 1


def test_a_missing_postgresql_never_stops_the_tests(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where it cannot be had the other tests still run, and it is said beforehand."""
    only_postgres = Probes((3, 11), True, frozenset(), True, has_initdb=False)
    monkeypatch.setattr(first_run, "probe", lambda *, tests: only_postgres)
    monkeypatch.setattr(first_run, "may_install", lambda: None)
    monkeypatch.setattr(first_run.shutil, "which", lambda name: f"/usr/bin/{name}")
    first_run.fill_gaps(tests=True)
    assert "reported as NOT RUN" in capsys.readouterr().out


def test_a_folder_that_is_no_environment_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody's own folder of that name is never cleared."""
    (tmp_path / "precious").write_text("kept", "utf-8")
    monkeypatch.setattr(first_run, "VENV", tmp_path)
    monkeypatch.setattr(first_run, "PYTHON", tmp_path / "bin" / "python")
    with pytest.raises(Stop, match="is not a Python environment"):
        first_run.make_venv()
    assert (tmp_path / "precious").read_text("utf-8") == "kept"


def test_a_broken_network_stops_the_installation_plainly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """pip without a network: one plain sentence, exit code 2, and no stamp that says it is done."""

    class Failed:
        returncode, stdout = 1, "NewConnectionError: Failed to establish a new connection"

    monkeypatch.setattr(first_run, "VENV", tmp_path)
    monkeypatch.setattr(first_run, "LOG", tmp_path / "first_run.log")
    monkeypatch.setattr(first_run, "STAMP", tmp_path / "stamp")
    monkeypatch.setattr(first_run, "make_venv", lambda: None)
    monkeypatch.setattr(first_run, "fill_gaps", lambda *, tests: None)
    monkeypatch.setattr(first_run, "run", lambda command: Failed())
    assert first_run.main([]) == 2
    told = capsys.readouterr()
    assert "The network cannot be reached." in told.err
    assert "Traceback" not in told.err
    assert not (tmp_path / "stamp").exists()


def test_without_a_screen_the_walkthrough_is_offered(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Set up but nowhere to open a window: said so, the walkthrough's command, exit code 2."""
    monkeypatch.setattr(first_run, "set_up", lambda *, tests: None)
    monkeypatch.setattr(first_run, "screen_fault", lambda *_: "There is no screen here.")
    assert first_run.main([]) == 2
    assert "-m cribdesk walkthrough" in capsys.readouterr().err


def test_hand_over_is_to_the_sample_and_to_the_checks(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first command becomes the counter on the sample store, the second the checks with all arguments."""
    handed: list[list[str]] = []
    monkeypatch.setattr(first_run, "set_up", lambda *, tests: None)
    monkeypatch.setattr(first_run, "screen_fault", lambda *_: None)
    monkeypatch.setattr(first_run, "hand_over", lambda arguments: handed.append(arguments) or 0)
    monkeypatch.chdir(Path.cwd())
    assert first_run.main([]) == 0
    assert first_run.main(["--tests", "--long", "tests/crib", "-k", "label or scan"]) == 0
    checks = str(first_run.ROOT / "tests" / "run_checks.py")
    assert handed == [["-m", "cribdesk", "--sample"], [checks, "--long", "tests/crib", "-k", "label or scan"]]
    assert os.environ["QT_QPA_PLATFORM"] == "offscreen"


def test_an_unknown_argument_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in the command is told with how it is called, exit code 2."""
    with pytest.raises(SystemExit) as stop:
        first_run.main(["--smaple"])
    assert stop.value.code == 2
    assert "not known here: --smaple" in capsys.readouterr().err
