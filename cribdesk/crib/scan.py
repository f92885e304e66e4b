"""Text from the scanner or the keyboard, told apart by kind before anything is looked up."""

from __future__ import annotations

import re
from dataclasses import dataclass

from cribdesk.crib.label import ALPHABET, LONGEST, SHORTEST, Kind, is_valid, normal

LONGEST_FOREIGN = 64
LONGEST_CARTON = 160
FNC1 = "\x1d"
"""What a scanner types for the mark that ends a field of variable length on a carton (GS, ASCII 29)."""
_MARKS = re.compile(r"\](?:C1|d2|Q3|e0|J1)")  # symbology identifiers of GS1 carriers, ISO/IEC 15424; from memory
_BRACKETED = re.compile(r"\(\d{2,4}\)")
_BARE = re.compile(r"(0[12]\d{14})(?:$|(?:1[0-7]|2[0-2]|30|37)\S)")


@dataclass(frozen=True)
class LabelScan:
    """One of our labels, its check character right."""

    kind: Kind
    label: str


@dataclass(frozen=True)
class ForeignScan:
    """Not one of ours by its form; it may have been bound to a record.

    `sentence` is what to say when it is not bound. What looks like one of ours with a wrong check character
    is most likely a misread one: `bindable` is then False, so that a misreading is never bound to a record.
    """

    text: str
    sentence: str
    bindable: bool = True


@dataclass(frozen=True)
class Unread:
    """Nothing that can be looked up, with the sentence that says so."""

    text: str
    sentence: str


@dataclass(frozen=True)
class CartonScan:
    """What stands on a carton by the rules of GS1: fields, each behind its number; the scanner's own mark is off."""

    text: str


Scan = LabelScan | ForeignScan | CartonScan | Unread


def read_scan(text: str, by_position: str = "") -> Scan:
    """What was scanned or typed.

    `by_position` is the same burst read by key positions, for a scanner whose keyboard layout differs from
    the workstation's: whichever of the two carries a fitting check character is taken.
    """
    stripped = text.strip()
    if not stripped:
        return Unread("", "Nothing was read. Scan again, or type the label. Nothing changed.")
    for candidate in (stripped, by_position.strip()):
        carton = _carton(candidate)
        if carton:
            return CartonScan(carton)
    if len(stripped) > LONGEST_FOREIGN:
        sentence = f"{len(stripped)} characters came at once, too many for a label. Nothing changed."
        return Unread(shown(stripped), sentence)
    if any(not character.isprintable() for character in stripped):
        return Unread(shown(stripped), "Unreadable characters came from the scanner. Scan again. Nothing changed.")
    for candidate in (stripped, by_position.strip()):
        found = _ours(candidate)
        if found is not None:
            return found
    return ForeignScan(stripped, _not_known(stripped), not _looks_like_ours(stripped))


def shown(text: str, most: int = 24) -> str:
    """The text as it may be shown: unprintable characters replaced, cut to `most`."""
    plain = "".join(character if character.isprintable() else "\ufffd" for character in text)
    return plain if len(plain) <= most else plain[: most - 1] + "…"


def _carton(text: str) -> str:
    """The fields of a carton's code, or '' where it is none: by the scanner's mark, FNC1, brackets, or a whole GTIN."""
    if len(text) > LONGEST_CARTON or any(not one.isprintable() and one != FNC1 for one in text):
        return ""
    mark = _MARKS.match(text)
    bare = text[mark.end() :].lstrip(FNC1) if mark else text.lstrip(FNC1)
    if mark or FNC1 in text or _BRACKETED.match(text):
        return bare or text
    found = _BARE.match(text)
    return text if found and gtin_fits(found[1][2:]) else ""


def gtin_fits(digits: str) -> bool:
    """Whether the last digit is the check digit of those before it: weights 3 and 1 from the right, modulo 10."""
    if not digits.isascii() or not digits.isdigit():
        return False
    weighed = sum(int(one) * (3 if place % 2 == 0 else 1) for place, one in enumerate(reversed(digits[:-1])))
    return (10 - weighed % 10) % 10 == int(digits[-1])


def _ours(text: str) -> LabelScan | None:
    label = normal(text)
    if SHORTEST <= len(label) <= LONGEST and label[0] in set(Kind) and is_valid(label):
        return LabelScan(Kind(label[0]), label)
    return None


def _not_known(text: str) -> str:
    if _looks_like_ours(text):
        return (
            f"{normal(text)} is not one of our labels: the last character does not fit. "
            "Scan again, or type it. Nothing changed."
        )
    return f"{shown(text)} is unknown here. F6 binds it to a record. Nothing changed."


def _looks_like_ours(text: str) -> bool:
    label = normal(text)
    return (
        SHORTEST <= len(label) <= LONGEST
        and label[0] in set(Kind)
        and all(character in ALPHABET for character in label)
        and label[1:-1].isdigit()
    )
