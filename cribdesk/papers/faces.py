"""Text on paper: what the typeface can print, how wide it is, where it wraps. Millimetres throughout.

Sizes are heights of a capital letter, because reading distance is judged by that. The one rule for what the
typeface cannot print: the character is written as its number, as in [U+4E2D], and the paper carries a note
that lists them. Nothing is dropped.
"""

from __future__ import annotations

import dataclasses
import unicodedata
from collections.abc import Iterator
from functools import lru_cache

from cribdesk.papers import pdf

MM = 72 / 25.4  # points in a millimetre


def points_of(cap: float) -> float:
    """The type size in points whose capitals are `cap` mm high."""
    return cap / pdf.CAPITAL_OVER_EM * MM


def printable(text: str) -> str:
    """The text as it will stand on the paper: composed, on one line, unprintable characters as numbers."""
    if text.isascii() and text.isprintable():
        return text
    composed = unicodedata.normalize("NFC", text)
    return "".join(_shown(character) for character in composed)


def width(text: str, cap: float, bold: bool = False) -> float:
    """How wide the text prints, mm."""
    return pdf.width(printable(text), points_of(cap), bold) / MM


def wrap(text: str, cap: float, room: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than `room` mm. Breaks at spaces, over-long words anywhere."""
    lines: list[str] = []
    line = ""
    for word in printable(text).split(" "):
        if not word:
            continue
        longer = f"{line} {word}" if line else word
        if width(longer, cap, bold) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        *full, line = _pieces(word, cap, room, bold)
        lines.extend(full)
    return [*lines, line] if line else lines


def elide(lines: list[str], most: int, cap: float, room: float, bold: bool = False) -> list[str]:
    """At most `most` lines; the last ends in an ellipsis where something is left out."""
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    while last and width(last + "…", cap, bold) > room:
        last = last[:-1]
    return [*lines[: most - 1], last.rstrip(" .,;:") + "…"]


def fit(text: str, cap: float, room: float, most: int, bold: bool = False) -> list[str]:
    """The text wrapped, in at most `most` lines; an ellipsis tells where something is left out."""
    return elide(wrap(text, cap, room, bold), most, cap, room, bold)


def visual(line: str) -> str:
    """The line as set from the left: runs of right-to-left letters are turned round, nothing is shaped."""
    if not any(map(_runs_left, line)):
        return line
    runs: list[str] = []
    for word in line.split(" "):
        if runs and _runs_left(word[:1]) and _runs_left(runs[-1][:1]):
            runs[-1] = f"{runs[-1]} {word}"
        else:
            runs.append(word)
    return " ".join(run[::-1] if all(_runs_left(c) or c == " " for c in run) else run for run in runs)


def note_about(record: object) -> str:
    """What the paper must say about characters of its record that print as numbers or out of order, or ''."""
    text = unicodedata.normalize("NFC", "".join(_texts(record)))
    numbered = sorted({c for c in text if not _prints(c) and c not in "\n\r\t"})
    backwards = any(_runs_left(c) and _prints(c) for c in text)
    parts = []
    if numbered:
        named = ", ".join(_number(c) for c in numbered[:4])
        more = f" and {len(numbered) - 4} more" if len(numbered) > 4 else ""
        parts.append(f"Not printable here: {named}{more}.")
    if backwards:
        parts.append("Right-to-left letters may stand out of order and unjoined.")
    return " ".join(parts)


def _pieces(word: str, cap: float, room: float, bold: bool) -> list[str]:
    """A word in pieces that fit; after a hyphen where there is one, else where the room ends."""
    pieces = [""]
    for character in word:
        if pieces[-1] and width(pieces[-1] + character, cap, bold) > room:
            kept, hyphen, rest = pieces[-1].rpartition("-")
            pieces[-1:] = [kept + hyphen, rest] if kept and rest else [pieces[-1], ""]
        pieces[-1] += character
    return pieces


def _shown(character: str) -> str:
    if character in "\n\r\t":
        return " "
    return character if _prints(character) else f"[{_number(character)}]"


def _number(character: str) -> str:
    return f"U+{ord(character):04X}"


@lru_cache(4096)
def _prints(character: str) -> bool:
    invisible = unicodedata.category(character) in {"Cc", "Cf", "Cs", "Co", "Cn"}
    return not invisible and pdf.has_glyph(character)


def _runs_left(character: str) -> bool:
    return bool(character) and unicodedata.bidirectional(character) in {"R", "AL"}


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from _texts(each)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _texts(getattr(value, field.name))
