"""Our labels: a letter for the kind, a payload, and a check character that catches slips."""

from __future__ import annotations

from enum import StrEnum

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LEFT_OUT = frozenset("IO")  # taken for 1 and 0 by people in a hurry
SHORTEST, LONGEST = 8, 12
DIGITS = 6


class Kind(StrEnum):
    """What a label is stuck on; the value is the label's first letter."""

    UNIT = "U"
    PART = "W"
    PERSON = "P"
    BATTERY = "B"
    ITEM = "K"
    BIN = "N"
    INSTRUMENT = "M"
    AREA = "A"
    TAG = "T"
    SLIP = "S"
    SET = "L"
    CABINET = "C"
    BAG = "D"
    COMMAND = "X"


KIND_WORDS = {
    Kind.UNIT: "a unit",
    Kind.PART: "a part",
    Kind.PERSON: "a badge",
    Kind.BATTERY: "a battery",
    Kind.ITEM: "a stock item",
    Kind.BIN: "a bin",
    Kind.INSTRUMENT: "a flow meter",
    Kind.AREA: "an area",
    Kind.TAG: "a tag",
    Kind.SLIP: "a slip",
    Kind.SET: "a set of parts",
    Kind.CABINET: "a cabinet",
    Kind.BAG: "a waste bag",
    Kind.COMMAND: "a command",
}


def normal(text: str) -> str:
    """The text as labels are compared: upper case, without spaces and hyphens."""
    return text.upper().replace(" ", "").replace("-", "")


def check_character(payload: str) -> str:
    """The check character of `payload` by ISO/IEC 7064, MOD 37,36 (letters and digits).

    Raises ValueError when the payload is empty or holds anything but A-Z and 0-9.
    """
    total = _running(payload)
    return ALPHABET[(1 - total) % 36]


def is_valid(label: str) -> bool:
    """Whether the last character is the check character of what stands before it. Never raises."""
    text = normal(label)
    if len(text) < 2:
        return False
    try:
        return check_character(text[:-1]) == text[-1]
    except ValueError:
        return False


def with_check(stem: str) -> str:
    """The whole label of a stem (kind letter and payload). Raises ValueError where it may not be issued."""
    text = normal(stem)
    if LEFT_OUT & set(text[1:]):
        raise ValueError(f"{stem}: I and O are left out of labels")
    check = check_character(text)
    if check in LEFT_OUT:
        raise ValueError(f"{stem}: its check character would be {check}, which is left out")
    if not SHORTEST <= len(text) + 1 <= LONGEST:
        raise ValueError(f"{stem}: a label has {SHORTEST} to {LONGEST} characters")
    return text + check


def next_label(kind: Kind, number: int) -> tuple[str, int]:
    """The first label that may be issued at or after `number`, and the number it carries."""
    while True:
        try:
            return with_check(f"{kind.value}{number:0{DIGITS}d}"), number
        except ValueError:
            if len(str(number)) > LONGEST - 2:
                raise
            number += 1


def number_of(label: str) -> int:
    """The running number inside a label of ours."""
    return int(label[1:-1])


def _running(payload: str) -> int:
    text = normal(payload)
    if not text:
        raise ValueError("nothing to check: the payload is empty")
    total = 36
    for character in text:
        value = ALPHABET.find(character)
        if value < 0:
            raise ValueError(f"{character!r} cannot stand in a label")
        total = ((total + value) % 36 or 36) * 2 % 37
    return total
