"""What may stand in the project at all: its visible top level, and words that speak of it alone."""

import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "cribdesk", "resources", "tests", "sample_store"}
HIDDEN = {".ci", ".gitignore"}

# One letter of each stands in brackets, so that this file does not hold the words itself.
FORBIDDEN = re.compile(
    r"python[h]osted|py[p]i\.org|/wor[k]/|/far[m]/|/tmp/brie[f]|sub[a]gent|seed documen[t]|transcrip[t]",
    re.IGNORECASE,
)
BINARY = {".xz", ".png", ".pdf", ".ttf", ".sqlite", ".pyc", ".ico"}


def ignored() -> set[str]:
    """Names that git is told to leave out."""
    lines = (ROOT / ".gitignore").read_text("utf-8").splitlines()
    return {line.strip("/ ") for line in lines if line.strip()}


def files() -> Iterator[Path]:
    """Every text file of the project; found without git, which a bare machine does not have."""
    left_out = ignored()
    for name in sorted(TOP_LEVEL | HIDDEN):
        top = ROOT / name
        for path in sorted(top.rglob("*")) if top.is_dir() else [top]:
            if path.is_file() and path.suffix not in BINARY and left_out.isdisjoint(path.parts):
                yield path


def test_top_level_is_as_agreed() -> None:
    """A newcomer sees these names and no others."""
    seen = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    extra = {name for name in seen - TOP_LEVEL if not any(Path(name).match(pattern) for pattern in ignored())}
    assert extra == set()
    assert seen >= TOP_LEVEL


def test_no_forbidden_word() -> None:
    """No file names a registry's host, a path of somebody's machine, or how the text came to be."""
    hits = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()[:80]}"
        for path in files()
        for number, line in enumerate(path.read_text("utf-8", "replace").splitlines(), 1)
        if FORBIDDEN.search(line)
    ]
    assert hits == []


def test_the_pattern_catches() -> None:
    """Each forbidden word would be found, in any case, and the walk really reads the project."""
    for word in ("Transcrip" + "t", "/work" + "/main", "files.python" + "hosted", "sub" + "agent"):
        assert FORBIDDEN.search(f"see {word} here")
    names = {path.relative_to(ROOT).as_posix() for path in files()}
    assert {"README.md", ".ci/run", "cribdesk/first_run.py", "tests/test_words.py"} <= names


def test_nothing_is_left_open() -> None:
    """No marker of unfinished work stands in the program."""
    marker = re.compile(r"\b(TOD[O]|FIXM[E]|XX[X])\b")
    program = sorted((ROOT / "cribdesk").rglob("*.py"))
    assert [path.name for path in program if marker.search(path.read_text("utf-8"))] == []
