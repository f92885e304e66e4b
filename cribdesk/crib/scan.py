"""Text from the scanner or the keyboard, told apart by kind before anything is looked up."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.label import ALPHABET, LONGEST, SHORTEST, Kind, is_valid, normal

LONGEST_FOREIGN = 64


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


Scan = LabelScan | ForeignScan | Unread


def read_scan(text: str, by_position: str = "") -> Scan:
    """What was scanned or typed.

    `by_position` is the same burst read by key positions, for a scanner whose keyboard layout differs from
    the workstation's: whichever of the two carries a fitting check character is taken.
    """
    stripped = text.strip()
    if not stripped:
        return Unread("", "Nothing was read. Scan again, or type the label. Nothing changed.")
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
