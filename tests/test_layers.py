"""Imports run one way: outer rooms -> desk -> inner rooms; a library has one home; inner rooms are pure."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "cribdesk"

INNER = {"crib": set(), "compute": set(), "procedure": {"crib"}}
OUTER = {room: {"desk", "resources", *INNER} for room in ("window", "store", "papers")}
ROOMS = INNER | {"desk": set(INNER)} | OUTER
# The modules beside the rooms. Only app knows all rooms; a new module here needs a row and a reason.
BESIDE = {
    "__init__": set(),
    "first_run": set(),
    "resources": set(),
    "station": set(),
    "opening": {"store", "desk", "procedure", "crib", "resources"},
    "app": {*ROOMS, "resources", "opening", "station", "forecasting", "wiring", "papering", "entering"},
    # App in parts: what all of it shares, the papers, the office's forms. Each knows the rooms it wires and no more.
    "wiring": {"store", "window", "desk", "crib", "opening", "station", "forecasting"},
    "papering": {"papers", "window", "desk", "crib", "wiring", "forecasting"},
    "entering": {"window", "desk", "crib", "wiring", "papering", "station"},
    "forecasting": {"desk", "window"},  # a timer for the desk's work that has to show its progress
    "session": {"resources", "app", "entering", "opening", "station", "window", "desk", "crib"},
    "chores": {"store", "desk", "crib", "opening"},
    "walkthrough": {"app", "opening", "session", "station", "window", "desk", "crib", "procedure"},
    "__main__": {"session", "chores", "opening", "walkthrough", "window", "crib"},
}
LOOKS_AT = ROOMS | BESIDE

# Every library from outside, and the only places that may import it.
HOMES = {
    "PySide6": {"window"},
    "shiboken6": {"window"},
    "pypdfium2": {"window"},
    "peewee": {"store"},
    "playhouse": {"store"},
    "psycopg": {"store"},
    "reportlab": {"papers"},
    "barcode": {"papers"},
    "numpy": {"compute"},
    "scipy": {"compute"},
    "pymupdf_fonts": {"resources"},
    "biip": {"desk"},  # in gs1.py alone: what stands on a carton
    "platformdirs": {"opening", "station"},
}
STANDARD_ONLY = ("__init__", "first_run")

# What the inner rooms may not reach for: clock, file, chance, process, network.
IMPURE_MODULES = {
    "os", "pathlib", "random", "secrets", "shutil", "socket", "sqlite3", "subprocess", "tempfile",
    "threading", "time", "urllib", "uuid",
}  # fmt: skip
IMPURE_CALLS = {"now", "utcnow", "today", "open", "print", "input"}

MODULES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    """The room a module stands in, or its own name when it stands beside the rooms."""
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def name_of(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def imported(path: Path, text: str) -> Iterator[list[str]]:
    """Each import as its dotted parts: relative, lazy, type-only and by name alike."""
    here = path.relative_to(PACKAGE.parent).with_suffix("").parts
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = list(here[: len(here) - node.level]) if node.level else []
            stem = base + (node.module.split(".") if node.module else [])
            yield from ([*stem, alias.name] for alias in node.names)
        elif isinstance(node, ast.Call) and called(node) in ("import_module", "__import__") and node.args:
            first = node.args[0]
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                yield first.value.split(".")


def called(node: ast.Call) -> str:
    """The last name of what is called."""
    function = node.func
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def faults(path: Path, text: str) -> list[str]:
    """Everything the module's imports and calls do that its place forbids, in words."""
    room = room_of(path)
    if room not in LOOKS_AT:
        return [f"{room} stands beside the rooms without a row in BESIDE"]
    found = []
    for top, *rest in imported(path, text):
        if top == "cribdesk":
            seen = rest[0] if rest else "__init__"
            known = seen in LOOKS_AT and seen != "__init__"
            if known and seen != room and seen not in LOOKS_AT[room]:
                found.append(f"{room} must not see {seen}")
        elif top in HOMES:
            if room not in HOMES[top]:
                found.append(f"{top} lives in {' and '.join(sorted(HOMES[top]))}, not in {room}")
        elif top not in sys.stdlib_module_names:
            found.append(f"{top} has no home: give it a row in HOMES")
        elif room in INNER and top in IMPURE_MODULES:
            found.append(f"{room} is pure: it must not import {top}")
    if room in INNER:
        calls = {called(node) for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call)}
        found += [f"{room} is pure: it must not call {name}()" for name in sorted(calls & IMPURE_CALLS)]
    return found


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_looks_inward_only(path: Path) -> None:
    """A module imports only what its place allows."""
    assert faults(path, path.read_text("utf-8")) == []


@pytest.mark.parametrize("name", STANDARD_ONLY)
def test_first_run_needs_nothing_installed(name: str) -> None:
    """What runs before anything is installed imports the standard library and nothing of our own."""
    path = PACKAGE / f"{name}.py"
    tops = {parts[0] for parts in imported(path, path.read_text("utf-8"))}
    assert tops <= set(sys.stdlib_module_names)


@pytest.mark.parametrize(
    ("place", "line", "fault"),
    [
        ("crib/unit.py", "import cribdesk.compute.life", "crib must not see compute"),
        ("crib/unit.py", "from ..procedure import run", "crib must not see procedure"),
        ("compute/life.py", "from cribdesk.crib import label", "compute must not see crib"),
        ("procedure/run.py", "from cribdesk import desk", "procedure must not see desk"),
        ("desk/issue.py", "def f():\n    from cribdesk.store import work", "desk must not see store"),
        ("store/work.py", "import cribdesk.papers.tag", "store must not see papers"),
        ("window/main.py", "importlib.import_module('cribdesk.store.work')", "must not see store"),
        ("papers/tag.py", "from cribdesk import app", "papers must not see app"),
        ("desk/issue.py", "import peewee", "peewee lives in store"),
        ("desk/issue.py", "if TYPE_CHECKING:\n    from PySide6 import QtCore", "PySide6 lives in window"),
        ("window/main.py", "import pymupdf_fonts", "pymupdf_fonts lives in resources"),
        ("papers/tag.py", "import requests", "requests has no home"),
        ("crib/due.py", "from pathlib import Path", "must not import pathlib"),
        ("crib/due.py", "import datetime\ndatetime.datetime.now()", "must not call now()"),
        ("compute/life.py", "open('table')", "must not call open()"),
        ("helpers.py", "", "without a row"),
    ],
)
def test_the_rule_catches(place: str, line: str, fault: str) -> None:
    """Each way of breaking the rule is found, so that a clean result means something."""
    assert any(fault in found for found in faults(PACKAGE / place, line))


def test_procedure_may_see_crib_and_app_all_rooms() -> None:
    """The two allowances that are easily forgotten hold."""
    assert faults(PACKAGE / "procedure/run.py", "from cribdesk.crib import records") == []
    everything = "\n".join(f"import cribdesk.{room}.anything" for room in ROOMS)
    assert faults(PACKAGE / "app.py", everything) == []


def loaded_at_once(path: Path) -> Iterator[str]:
    """Modules of ours that a module loads as it is loaded itself: not lazily, not for types only."""
    known = {module_name(module) for module in MODULES}
    outer = ast.parse(path.read_text("utf-8"))
    for node in outer.body:
        if isinstance(node, ast.Import | ast.ImportFrom):
            for parts in imported(path, ast.unparse(node)):
                candidates = (".".join(parts), ".".join(parts[:-1]))
                yield from (name for name in candidates[:1] if name in known)
                if candidates[0] not in known and candidates[1] in known:
                    yield candidates[1]


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def test_no_circle_of_imports() -> None:
    """No module loads itself by way of others."""
    graph = {module_name(path): set(loaded_at_once(path)) for path in MODULES}
    done: set[str] = set()

    def walk(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail[trail.index(name) :], name))
        if name in done:
            return
        for further in sorted(graph[name] - {name}):
            walk(further, (*trail, name))
        done.add(name)

    for name in sorted(graph):
        walk(name, ())
