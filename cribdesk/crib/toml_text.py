"""A TOML text read with every fault collected, each with its place and, where it can be found, its line."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

Path = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^\s*([A-Za-z0-9_-]+|"[^"]*"|'[^']*')\s*=\s*(.*)$""")
_QUOTED = re.compile(r"""\"(?:\\.|[^"\\])*\"|'[^']*'|\#.*""")
_CONTROL = re.compile(r"[\x00-\x1f]")
_AT_LINE = re.compile(r"\(at line (\d+), column \d+\)")


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a text: which file, where in it, on which line (None: not findable), and what."""

    file: str
    place: str
    line: int | None
    message: str

    def __str__(self) -> str:
        where = [self.file, f"line {self.line}" if self.line else "", self.place]
        return f"{', '.join(part for part in where if part)}: {self.message}"


def line_index(text: str) -> Mapping[Path, int]:
    """Line number of every table header and every key that stands at the start of a line."""
    lines: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    here: Path = ()
    depth, closing = 0, ""
    for number, line in enumerate(text.splitlines(), start=1):
        if closing:
            closing = "" if closing in line else closing
        elif depth:
            depth += _brackets(line)
        elif header := _HEADER.match(line):
            here = _header_path(header[1] == "[[", header[2], counts)
            lines.setdefault(here, number)
        elif key := _KEY.match(line):
            lines.setdefault((*here, key[1].strip("\"'")), number)
            closing = next((q for q in ('"""', "'''") if key[2].count(q) == 1), "")
            depth = 0 if closing else _brackets(key[2])
    return lines


def _brackets(line: str) -> int:
    """How many brackets of arrays and inline tables this line leaves open."""
    bare = _QUOTED.sub("", line)
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")


def _header_path(is_array: bool, dotted: str, counts: dict[Path, int]) -> Path:
    """The path a header opens; a table inside an array of tables belongs to the last one opened."""
    path: Path = ()
    parts = [part.strip().strip("\"'") for part in dotted.split(".")]
    for position, part in enumerate(parts):
        path = (*path, part)
        if is_array and position == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
            path = (*path, counts[path])
        elif path in counts:
            path = (*path, counts[path])
    return path


@dataclass
class FaultBook:
    """Collects faults while a text is read."""

    file: str
    text: str = ""
    faults: list[Fault] = field(default_factory=list)

    @cached_property
    def find(self) -> Mapping[Path, int]:
        """The line index of the text, made at the first fault: most texts have none."""
        return line_index(self.text)

    def add(self, path: Path, place: str, message: str) -> None:
        """Note a fault at the nearest enclosing place whose line is known."""
        line = next((self.find[path[:n]] for n in range(len(path), 0, -1) if path[:n] in self.find), None)
        self.faults.append(Fault(self.file, place, line, message))


def parse(text: str, file: str) -> tuple[Section, FaultBook]:
    """The top section of a TOML text and the book of its faults; broken TOML leaves an empty section."""
    book = FaultBook(file, text)
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        found = _AT_LINE.search(str(fault))
        words = _AT_LINE.sub("", str(fault)).strip()
        line = int(found[1]) if found else len(text.splitlines())  # 'at end of document'
        book.faults.append(Fault(file, "", line, f"this is not TOML: {words}."))
        values = {}
    except RecursionError:
        book.faults.append(Fault(file, "", None, "this is nested too deep to be read."))
        values = {}
    return Section(values, (), book), book


class Section:
    """One table of the text: typed look-ups that note a fault and go on with a harmless value."""

    def __init__(self, values: Mapping[str, object], path: Path, book: FaultBook, inside: str = "") -> None:
        self.values = values
        self.path = path
        self._book = book
        self._inside = inside
        self._asked: set[str] = set()

    @property
    def place(self) -> str:
        """Where this section stands, in words: 'step 4 (arrestor), remedy 2'."""
        if not self.path:
            return ""
        last = self.path[-1]
        name = f"{self.path[-2]} {last + 1}" if isinstance(last, int) else last
        words = f"{self._inside}, {name}" if self._inside else name
        code = self.values.get("code")
        return f"{words} ({code})" if isinstance(code, str) else words

    def fault(self, key: str, message: str) -> None:
        """Note a fault at a key of this section, or at the section itself when key is empty."""
        place = f"{self.place}, {key}" if self.place and key else self.place or key
        self._book.add((*self.path, key) if key else self.path, place, message)

    def has(self, key: str) -> bool:
        """Whether the key is there at all."""
        return key in self.values

    def _take(self, key: str, required: bool) -> object | None:
        self._asked.add(key)
        value = self.values.get(key)
        if value is None and required:
            self.fault(key, "this key is missing.")
        return value

    def text(self, key: str, default: str | None = None, pattern: str = "", limit: int = 400) -> str:
        """A line of text; required unless a default is given; checked against a whole-match pattern."""
        value = self._take(key, default is None)
        if value is None:
            return default or ""
        if not isinstance(value, str) or (default is None and not value.strip()):
            self.fault(key, "a text in quotes is needed here.")
            return default or ""
        if len(value) > limit or _CONTROL.search(value):
            self.fault(key, f"one line of at most {limit} characters is needed here.")
            return default or ""
        if pattern and not re.fullmatch(pattern, value):
            self.fault(key, f"'{value}' does not have the right form.")
        return value

    def one_of(self, key: str, known: tuple[str, ...], default: str | None = None) -> str:
        """A text out of a list of known words; the list's first one stands in after a fault."""
        value = self.text(key, default)
        if value and value not in known:
            self.fault(key, f"'{value}' is not one of: {', '.join(known)}.")
            return known[0]
        return value or default or known[0]

    def flag(self, key: str, default: bool | None = None) -> bool:
        """True or false; required unless a default is given."""
        value = self._take(key, default is None)
        if value is None:
            return bool(default)
        if not isinstance(value, bool):
            self.fault(key, "true or false is needed here.")
            return bool(default)
        return value

    def number(self, key: str) -> float | None:
        """A finite number above zero, or None where the key is absent."""
        value = self._take(key, False)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not _sound(value):
            self.fault(key, "a number above zero is needed here.")
            return None
        return float(value)

    def signed(self, key: str) -> float | None:
        """A finite number of either sign, or None where the key is absent."""
        value = self._take(key, False)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            self.fault(key, "a number is needed here.")
            return None
        return float(value)

    def whole(self, key: str, default: int | None = None, required: bool = False) -> int | None:
        """A whole number above zero, the default (or None) where the key is absent."""
        value = self._take(key, required)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not _sound(value):
            self.fault(key, "a whole number above zero is needed here.")
            return default
        return value

    def texts(self, key: str, required: bool = False) -> tuple[str, ...]:
        """A list of different texts; empty where the key is absent."""
        value = self._take(key, required)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(v, str) and v.strip() for v in value):
            self.fault(key, "a list of texts is needed here.")
            return ()
        if len(set(value)) != len(value):
            self.fault(key, "the list names something twice.")
        return tuple(value)

    def pair(self, key: str) -> tuple[float, float] | None:
        """Two numbers, the lower first; None where the key is absent."""
        value = self._take(key, False)
        if value is None:
            return None
        numbers = value if isinstance(value, list) else []
        sound = [float(v) for v in numbers if type(v) in (int, float) and _sound(v)]
        if len(numbers) != 2 or len(sound) != 2 or sound[0] >= sound[1]:
            self.fault(key, "two numbers above zero are needed here, the lower first.")
            return None
        return sound[0], sound[1]

    def section(self, key: str) -> Section:
        """A table inside this one; an empty one where the key is absent."""
        value = self._take(key, False)
        if value is not None and not isinstance(value, dict):
            self.fault(key, "a table is needed here.")
        return Section(value if isinstance(value, dict) else {}, (*self.path, key), self._book, self.place)

    def sections(self, key: str) -> tuple[Section, ...]:
        """The tables of an array of tables; empty where the key is absent."""
        value = self._take(key, False)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            self.fault(key, f"write [[{key}]] tables here.")
            return ()
        return tuple(Section(v, (*self.path, key, n), self._book, self.place) for n, v in enumerate(value))

    def finish(self) -> None:
        """Note every key that nobody asked for: a slip of the pen must not pass in silence."""
        for key in self.values:
            if key not in self._asked:
                self.fault(key, "this key is not known here.")


def _sound(value: int | float) -> bool:
    return 0 < value <= 1e9 and math.isfinite(value)
