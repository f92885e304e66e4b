"""Dates, figures and yes or no as people and spreadsheets write them; what cannot be is said in plain words."""

from __future__ import annotations

import re
from datetime import date

from cribdesk.crib.words import MONTHS

LONGEST = 200
_FIRST, _LAST = date(1980, 1, 1), date(2099, 12, 31)
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})", re.ASCII)
_DOTS = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})", re.ASCII)
_NAMED = re.compile(r"(\d{1,2})\.? ([A-Za-z]{3,9})\.? (\d{4})", re.ASCII)
_YES = {"yes", "y", "true", "1", "x"}
_NO = {"no", "n", "false", "0"}


def day_of(text: str) -> date:
    """2027-05-31, 31.5.2027 or 31 May 2027. Raises ValueError in plain words; slashes are not guessed at."""
    plain = " ".join(text.split())
    if iso := _ISO.fullmatch(plain):
        year, month, number = map(int, iso.groups())
    elif dots := _DOTS.fullmatch(plain):
        number, month, year = map(int, dots.groups())
    elif named := _NAMED.fullmatch(plain):
        number, year = int(named[1]), int(named[3])
        month = _month(named[2])
    else:
        raise ValueError(f"'{short(text)}' is no date that can be read safely. Write it like 2027-05-31")
    try:
        found = date(year, month, number)
    except ValueError:
        raise ValueError(f"'{short(text)}' is a day that does not exist") from None
    if not _FIRST <= found <= _LAST:
        raise ValueError(f"'{short(text)}' lies outside 1980 to 2099")
    return found


def _month(word: str) -> int:
    found = [number for number, name in enumerate(MONTHS, 1) if word[:3].lower() == name.lower()]
    return found[0] if found else 0


def whole_of(text: str, low: int = 0, high: int = 1_000_000) -> int:
    """A whole number. Raises ValueError in plain words."""
    plain = text.strip()
    if not re.fullmatch(r"-?[0-9]{1,9}", plain):
        raise ValueError(f"'{short(text)}' is no whole number")
    return int(_within(int(plain), low, high))


def figure_of(text: str, low: float = 0.0, high: float = 1_000_000.0) -> float:
    """A number with a decimal point. Raises ValueError in plain words; a decimal comma is not guessed at."""
    plain = text.strip()
    if re.fullmatch(r"-?[0-9]+,[0-9]+", plain):
        raise ValueError(f"'{short(text)}' has a comma in it. Write it with a point, like {plain.replace(',', '.')}")
    if not re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{1,6})?", plain):
        raise ValueError(f"'{short(text)}' is no number")
    return _within(float(plain), low, high)


def cents_of(text: str) -> int:
    """A price with at most two places, in cents. Raises ValueError in plain words."""
    figure_of(text)
    units, _, places = text.strip().partition(".")
    if len(places) > 2:
        raise ValueError(f"'{short(text)}' has more than two places")
    return int(units) * 100 + int(places.ljust(2, "0") or 0)


def _within(value: float, low: float, high: float) -> float:
    if not low <= value <= high:
        raise ValueError(f"{value:g} lies outside {low:g} to {high:g}")
    return value


def yes_of(text: str) -> bool:
    """Yes or no. Raises ValueError in plain words."""
    plain = text.strip().lower()
    if plain in _YES:
        return True
    if plain in _NO:
        return False
    raise ValueError(f"'{short(text)}' is neither yes nor no")


def words_of(text: str, longest: int = LONGEST) -> str:
    """Words on one line, blanks at the ends taken off. Raises ValueError where they cannot be shown."""
    plain = text.strip()
    if any(not character.isprintable() for character in plain):
        raise ValueError("a line break or a character that cannot be shown stands in it")
    if len(plain) > longest:
        raise ValueError(f"that is {len(plain)} characters; {longest} fit")
    return plain


def short(text: str, most: int = 24) -> str:
    """The text as it may be quoted: unprintable characters replaced, cut to `most`."""
    plain = "".join(character if character.isprintable() else "\ufffd" for character in text.strip())
    return plain if len(plain) <= most else plain[: most - 1] + "…"
