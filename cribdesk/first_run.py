"""Set up all that CribDesk needs, then open the counter or run the tests; standard library only.

It asks the machine what is there, installs what is missing where it may, and says plainly what to do where
it may not. Exit codes: 1 an installation stopped half way; 2 something is missing here and the lines printed
say what to do; else the code of the program handed over to (for the tests 0, 1, or 3: some were NOT RUN).
"""

from __future__ import annotations

import argparse
import ctypes
import hashlib
import importlib.util
import os
import shlex
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
STAMP = VENV / "cribdesk-installed"
LOG = VENV / "first_run.log"

OLDEST, TOO_NEW = (3, 11), (3, 15)  # PySide6 below 6.12 has no build for 3.15

# Shared library -> the Debian package that holds it; found by loading Qt on a bare Debian 12.
QT_LIBRARIES = {
    "libGL.so.1": "libgl1", "libEGL.so.1": "libegl1", "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1", "libfreetype.so.6": "libfreetype6",
    "libdbus-1.so.3": "libdbus-1-3", "libglib-2.0.so.0": "libglib2.0-0", "libX11.so.6": "libx11-6",
}  # fmt: skip
X_LIBRARIES = {
    "libxcb-cursor.so.0": "libxcb-cursor0", "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1", "libxcb-image.so.0": "libxcb-image0",
    "libxcb-render-util.so.0": "libxcb-render-util0", "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-shape.so.0": "libxcb-shape0", "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0", "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb-shm.so.0": "libxcb-shm0", "libxcb-render.so.0": "libxcb-render0",
    "libxcb-util.so.1": "libxcb-util1", "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libX11-xcb.so.1": "libx11-xcb1",
}  # fmt: skip
WAYLAND_LIBRARIES = {
    "libwayland-client.so.0": "libwayland-client0", "libwayland-cursor.so.0": "libwayland-cursor0",
}  # fmt: skip
FONT_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts")


class Stop(Exception):
    """Set-up cannot go on: the plain sentence for the person, and the exit code."""

    def __init__(self, sentence: str, code: int = 2) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True)
class Need:
    """One thing that is missing: in plain words, the Debian package that brings it."""

    words: str
    package: str
    required: bool = True


@dataclass(frozen=True)
class Probes:
    """What asking this machine gave."""

    python: tuple[int, int]
    has_ensurepip: bool
    missing_libraries: frozenset[str]
    has_font: bool
    has_initdb: bool


# --- decisions: pure, each with a test in tests/test_first_run.py ---


def python_fault(version: tuple[int, int], executable: str) -> str | None:
    """The sentence about a Python that will not do, or None."""
    if OLDEST <= version < TOO_NEW:
        return None
    newest = f"{TOO_NEW[0]}.{TOO_NEW[1] - 1}"
    return (
        f"CribDesk needs Python {OLDEST[0]}.{OLDEST[1]} to {newest}. This is {version[0]}.{version[1]} "
        f"({executable}). Nothing changed."
    )


def wanted_libraries(environment: Mapping[str, str], *, tests: bool) -> dict[str, str]:
    """Shared libraries Qt needs here, each with its Debian package; the tests draw offscreen."""
    wanted = dict(QT_LIBRARIES)
    if not tests and environment.get("DISPLAY"):
        wanted |= X_LIBRARIES
    if not tests and environment.get("WAYLAND_DISPLAY"):
        wanted |= WAYLAND_LIBRARIES
    return wanted


def needs(probes: Probes, *, tests: bool) -> list[Need]:
    """What is missing, the required things first."""
    found: list[Need] = []
    if not probes.has_ensurepip:
        package = f"python{probes.python[0]}.{probes.python[1]}-venv"
        found.append(Need("Python's own installer (ensurepip)", package))
    everything = QT_LIBRARIES | X_LIBRARIES | WAYLAND_LIBRARIES
    found += [Need(name, everything[name]) for name in everything if name in probes.missing_libraries]
    if not probes.has_font:
        found.append(Need("a font", "fonts-dejavu-core"))
    if tests and not probes.has_initdb:
        found.append(Need("PostgreSQL's server (initdb)", "postgresql", required=False))
    return found


def packages_on_offer(policy: str) -> set[str]:
    """Names with a candidate version in what `apt-cache policy` printed."""
    offered, name = set(), ""
    for line in policy.splitlines():
        if line and not line[0].isspace():
            name = line.rstrip().rstrip(":")
        elif line.strip().startswith("Candidate:") and "(none)" not in line:
            offered.add(name)
    return offered


def package_names(packages: Iterable[str], offered: set[str]) -> list[str]:
    """Each package under the name this release has: newer ones append t64 (the 64-bit time change)."""
    return [f"{name}t64" if name not in offered and f"{name}t64" in offered else name for name in packages]


def apt_line(packages: Iterable[str], *, root: bool) -> str:
    """The one line a person runs to install the packages."""
    sudo = "" if root else "sudo "
    return f"{sudo}apt-get update && {sudo}apt-get install -y --no-install-recommends {' '.join(packages)}"


def stamp_text(pyproject: bytes, root: Path, extra: str) -> str:
    """What marks an installation: a digest of its dependencies and its folder, and the extra installed."""
    return f"{hashlib.sha256(pyproject + os.fsencode(root)).hexdigest()} {extra}\n"


def stamp_fits(stamp: str, pyproject: bytes, root: Path, extra: str) -> bool:
    """True when the stamp tells of this very installation; the tests' one holds all the counter needs."""
    return stamp in {stamp_text(pyproject, root, extra), stamp_text(pyproject, root, "test")}


def reason_of(output: str) -> str:
    """Why an installer gave up, in plain words, from what it printed."""
    unreachable = (
        "Temporary failure", "Could not resolve", "Failed to establish a new connection", "Could not connect",
        "Network is unreachable", "NewConnectionError", "NameResolutionError", "ConnectTimeout", "timed out",
        "Max retries exceeded", "Name or service not known",
    )  # fmt: skip
    if "No space left on device" in output:
        return "The disk is full."
    if any(sign in output for sign in unreachable):
        return "The network cannot be reached."
    if "Could not get lock" in output:
        return "Another program is installing packages."
    lines = [line.strip() for line in output.splitlines() if line.startswith(("E: ", "ERROR: ", "error: "))]
    return lines[-1].split(": ", 1)[1].rstrip(".") + "." if lines else "The installer gave no reason."


def screen_fault(environment: Mapping[str, str], platform: str, answers: frozenset[str]) -> str | None:
    """Why no window can open here, or None; `answers` names the variables whose screen answered a call."""
    if not platform.startswith("linux") or environment.get("QT_QPA_PLATFORM"):
        return None
    named = [name for name in ("WAYLAND_DISPLAY", "DISPLAY") if environment.get(name)]
    if not named:
        return "There is no screen here: neither DISPLAY nor WAYLAND_DISPLAY is set."
    if not answers:
        shown = " and ".join(f"{name}={environment[name]}" for name in named)
        return f"There is no screen here: nothing answers at {shown}."
    return None


# --- asking the machine ---


def find_initdb() -> Path | None:
    """PostgreSQL's initdb: on the path, else the newest where Debian keeps it."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path)
    found = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    return max(found, key=lambda path: [int(n) for n in path.parts[-3].split(".")], default=None)


def loads(library: str) -> bool:
    """True when the shared library and all it needs can be loaded."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def has_font() -> bool:
    """True when any scalable font lies in the usual folders."""
    for folder in FONT_FOLDERS:
        for _, _, files in os.walk(os.path.expanduser(folder)):
            if any(name.lower().endswith((".ttf", ".otf", ".ttc", ".pfb")) for name in files):
                return True
    return False


def probe(*, tests: bool) -> Probes:
    """Ask this machine."""
    linux = sys.platform.startswith("linux")  # elsewhere the wheels bring all, and fonts are always there
    wanted = wanted_libraries(os.environ, tests=tests) if linux else {}
    return Probes(
        python=(sys.version_info[0], sys.version_info[1]),
        has_ensurepip=PYTHON.exists() or importlib.util.find_spec("ensurepip") is not None,
        missing_libraries=frozenset(name for name in wanted if not loads(name)),
        has_font=not linux or has_font(),
        has_initdb=not tests or find_initdb() is not None,
    )


def answering_screens(environment: Mapping[str, str]) -> frozenset[str]:
    """The variables among WAYLAND_DISPLAY and DISPLAY whose screen takes a connection."""
    wayland, display = environment.get("WAYLAND_DISPLAY", ""), environment.get("DISPLAY", "")
    host, _, number = display.rpartition(":")
    number = number.split(".")[0]
    calls: dict[str, list[str | tuple[str, int]]] = {"WAYLAND_DISPLAY": [], "DISPLAY": []}
    if wayland:
        calls["WAYLAND_DISPLAY"] = [os.path.join(environment.get("XDG_RUNTIME_DIR", ""), wayland)]
    if number.isdigit() and host in ("", "unix"):
        calls["DISPLAY"] = [f"/tmp/.X11-unix/X{number}", f"\0/tmp/.X11-unix/X{number}"]
    elif number.isdigit():
        calls["DISPLAY"] = [(host, 6000 + int(number))]
    elif display.startswith("/"):
        calls["DISPLAY"] = [display]
    return frozenset(name for name, addresses in calls.items() if any(map(takes_a_call, addresses)))


def takes_a_call(address: str | tuple[str, int]) -> bool:
    """True when something listens at the socket file or (host, port)."""
    try:
        if isinstance(address, tuple):
            socket.create_connection(address, timeout=3).close()
        else:
            with socket.socket(socket.AF_UNIX) as call:
                call.settimeout(3)
                call.connect(address)
    except (OSError, OverflowError, ValueError):
        return False
    return True


# --- doing ---


def say(sentence: str) -> None:
    print(sentence, flush=True)


def run(command: list[str]) -> subprocess.CompletedProcess[str]:
    """Run quietly with nothing to read; what it prints, in English, both streams in one."""
    environment = os.environ | {"LC_ALL": "C.UTF-8", "DEBIAN_FRONTEND": "noninteractive"}
    return subprocess.run(
        command, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        text=True, errors="replace", check=False,
    )  # fmt: skip


def may_install() -> list[str] | None:
    """What to put before apt-get, or None where it is absent or not allowed."""
    if not shutil.which("apt-get"):
        return None
    if os.geteuid() == 0:
        return []
    if shutil.which("sudo") and run(["sudo", "-n", "true"]).returncode == 0:
        return ["sudo", "-n", "env", "DEBIAN_FRONTEND=noninteractive"]
    return None


def names_here(packages: list[str]) -> list[str]:
    """The packages under the names of this Debian or Ubuntu."""
    policy = run(["apt-cache", "policy", *packages, *(f"{name}t64" for name in packages)]).stdout
    return package_names(packages, packages_on_offer(policy))


def install_packages(missing: list[Need]) -> str | None:
    """Install by apt-get; None when done, else the lines for the person."""
    packages = [need.package for need in missing]
    words = ", ".join(need.words for need in missing)
    if not shutil.which("apt-get"):
        return f"Missing here: {words}. Install them with this system's package manager, then run this again."
    before = may_install()
    if before is None:
        line = apt_line(names_here(packages), root=os.geteuid() == 0)
        return f"Missing here: {words}. Run this line, then this command again:\n    {line}"
    say(f"Missing here: {words}.")
    update = run([*before, "apt-get", "update"])
    names = names_here(packages)
    say(f"Installing with apt-get: {' '.join(names)}. This takes a minute or two.")
    options = ["-y", "-q", "--no-install-recommends", "-o", "DPkg::Lock::Timeout=120"]
    install = run([*before, "apt-get", "install", *options, *names])
    if install.returncode == 0:
        return None
    line = apt_line(names, root=os.geteuid() == 0)
    reason = reason_of(update.stdout + install.stdout)
    return f"apt-get could not install them. {reason} Run this line to see more:\n    {line}"


def fill_gaps(*, tests: bool) -> None:
    """Install what is missing on this machine; only PostgreSQL may stay missing."""
    missing = needs(probe(tests=tests), tests=tests)
    required = [need for need in missing if need.required]
    optional = [need for need in missing if not need.required]
    if required and may_install() is None:
        raise Stop(install_packages(missing) or "")
    if required:
        told = install_packages(required)
        still = [need for need in needs(probe(tests=tests), tests=tests) if need.required]
        if told or still:
            words = ", ".join(need.words for need in still)
            raise Stop(told or f"The packages are installed, and still missing here: {words}.")
    if optional:
        told = install_packages(optional)
        if told:
            say(f"{told}\nThe tests that need PostgreSQL will be reported as NOT RUN.")


def installed(extra: str) -> bool:
    """True when .venv holds this very checkout with its dependencies, and its Python still runs."""
    try:
        stamp, pyproject = STAMP.read_text("utf-8"), (ROOT / "pyproject.toml").read_bytes()
    except OSError:
        return False
    if not stamp_fits(stamp, pyproject, ROOT, extra):
        return False
    return run([str(PYTHON), "-c", "import cribdesk"]).returncode == 0


def make_venv() -> None:
    """A working .venv with pip; one that no longer works is made anew, no other folder is touched."""
    if PYTHON.exists() and run([str(PYTHON), "-m", "pip", "--version"]).returncode == 0:
        return
    if VENV.exists() and any(VENV.iterdir()) and not (VENV / "pyvenv.cfg").exists():
        raise Stop(f"{VENV} is not a Python environment. Move it away, then run this again. Nothing changed.")
    say(f"Making {VENV}.")
    made = run([sys.executable, "-m", "venv", "--clear", str(VENV)])
    if made.returncode != 0:
        raise Stop(f"{VENV} could not be made. {reason_of(made.stdout)}", 1)


def install(extra: str) -> None:
    """Install the checkout into .venv, and mark it done."""
    pyproject = (ROOT / "pyproject.toml").read_bytes()
    make_venv()
    STAMP.unlink(missing_ok=True)
    say("Installing the libraries CribDesk is built on (about 250 MB). This takes a minute or two.")
    what = f"{ROOT}[{extra}]" if extra else str(ROOT)
    done = run([str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--editable", what])
    LOG.write_text(done.stdout, "utf-8")
    if done.returncode != 0:
        code = 2 if reason_of(done.stdout) == "The network cannot be reached." else 1
        raise Stop(f"The libraries could not be installed. {reason_of(done.stdout)} The log: {LOG}", code)
    STAMP.write_text(stamp_text(pyproject, ROOT, extra), "utf-8")


def hand_over(arguments: list[str]) -> int:
    """Become the program; on Windows, which has no such thing, run it and pass its exit code on."""
    sys.stdout.flush()
    if sys.platform != "win32":
        os.execv(PYTHON, [str(PYTHON), *arguments])
    return subprocess.call([str(PYTHON), *arguments])


def set_up(*, tests: bool) -> None:
    """All that is needed is there afterwards, or Stop says what is not."""
    fault = python_fault((sys.version_info[0], sys.version_info[1]), sys.executable)
    if fault:
        raise Stop(fault)
    if not (ROOT / "pyproject.toml").is_file():
        raise Stop("This CribDesk is installed already. Open it with: cribdesk --sample")
    extra = "test" if tests else ""
    fill_gaps(tests=tests)
    if not installed(extra):
        install(extra)


def open_counter() -> int:
    """Hand over to the counter on the sample store, or say why no window can open."""
    fault = screen_fault(os.environ, sys.platform, answering_screens(os.environ))
    if fault:
        python, folder = shlex.quote(os.path.relpath(PYTHON)), "~/cribdesk-walkthrough"
        raise Stop(
            f"CribDesk is set up. {fault}\n"
            f"To see it at work without a screen (pictures and papers go to {folder}), run:\n"
            f"    {python} -m cribdesk walkthrough {folder}"
        )
    return hand_over(["-m", "cribdesk", "--sample"])


def run_tests(arguments: list[str]) -> int:
    """Hand over to the linter, the type checker and the tests."""
    os.chdir(ROOT)
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    return hand_over([str(ROOT / "tests" / "run_checks.py"), *arguments])


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        prog="python3 -m cribdesk.first_run",
        description="Set up all that CribDesk needs and open the counter on the sample store.",
        epilog="Exit codes: 1 something failed, 2 something is missing here, 3 some tests were NOT RUN.",
        allow_abbrev=False,
    )
    parser.add_argument(
        "--tests", action="store_true", help="set up and run the tests instead; what follows goes to pytest"
    )
    chosen, rest = parser.parse_known_args(arguments)
    if rest and not chosen.tests:
        parser.error(f"not known here: {' '.join(rest)}")
    try:
        set_up(tests=chosen.tests)
        return run_tests(rest) if chosen.tests else open_counter()
    except Stop as stop:
        print(stop, file=sys.stderr)
        return stop.code
    except OSError as fault:
        sentence = f"The set-up could not go on: {fault.strerror or fault} ({fault.filename or ROOT})."
        print(sentence, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. Run it again to go on.", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main())
