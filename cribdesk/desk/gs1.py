"""What stands on a carton by the rules of GS1, read by the library biip: number, lot, last day, pieces, serial.

A field that cannot be is told by its name and number; nothing is guessed. A lot that was cut short or lost the mark
behind it cannot be told from a whole one: the form shows it beside the carton's own print.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from cribdesk.crib.scan import FNC1, gtin_fits, shown

if TYPE_CHECKING:
    from biip.gs1_element_strings import GS1ElementString

NAMES = {
    "00": "Logistic unit", "01": "GTIN", "02": "GTIN of what is in it", "10": "Lot", "11": "Made on",
    "13": "Packed on", "15": "Best before", "17": "May be used until", "21": "Serial", "30": "Count",
    "37": "Count of what is in it",
}  # fmt: skip
"""The fields as people read them; a carton carries them in any order."""

_DATES = ("11", "13", "15", "17")
_SWALLOWED = re.compile(r"(?:17\d{6}|01\d{14})")


class CartonFault(ValueError):
    """A code on a carton that cannot be used; its words name the field."""


@dataclass(frozen=True)
class Carton:
    """What the code says; empty or None where it does not. `gtin` has 14 digits. `doubt` is what to look at."""

    gtin: str
    lot: str = ""
    last_day: date | None = None
    pieces: int | None = None
    serial: str = ""
    doubt: str = ""


def read_carton(text: str, today: date) -> Carton:
    """The carton behind a code. Raises CartonFault with the field that cannot be, in words.

    Two numbers (01 and 02) are no pair (GS1 General Specifications, 4.13; from memory): neither is guessed.
    """
    found: dict[str, str] = {}
    for element in _elements(text):
        code = element.ai.ai
        if found.get(code, element.value) != element.value:
            raise CartonFault(f"{_name(code)} stands there twice: {found[code]} and {element.value}.")
        found[code] = element.value
    if "01" in found and "02" in found:
        raise CartonFault(f"{_name('01')} and {_name('02')} stand there both: only one of them can say what it is.")
    gtin = found.get("02") or found.get("01") or ""
    if not gtin:
        raise CartonFault("The code holds no GTIN (01): it does not say what is in the carton.")
    if not gtin_fits(gtin):
        raise CartonFault(f"GTIN (01): the check digit of {gtin} does not fit. It was misread, or misprinted.")
    day = found.get("17") or found.get("15")
    lot = found.get("10", "")
    doubt = ""
    if not day and _SWALLOWED.search(lot):
        doubt = f"Lot {lot} looks as if another field ran into it: compare it with the carton."
    return Carton(
        gtin=gtin,
        lot=lot,
        last_day=_day("17" if "17" in found else "15", day, today) if day else None,
        pieces=_pieces(found),
        serial=found.get("21", ""),
        doubt=doubt,
    )


def _elements(text: str) -> Iterator[GS1ElementString]:
    """Field by field. Raises CartonFault at the first that does not fit its rule."""
    from biip import ParseConfig, ParseError
    from biip.gs1_application_identifiers import GS1ApplicationIdentifier
    from biip.gs1_element_strings import GS1ElementString

    config = ParseConfig(gs1_element_strings_verify_date=False)  # dates are read here, by the house's own day
    rest = _without_brackets(text)
    while rest:
        try:
            code = GS1ApplicationIdentifier.extract(rest).ai
        except ParseError:
            raise CartonFault(f"'{shown(rest)}' is no field of GS1. The code was cut short, or misread.") from None
        try:
            element = GS1ElementString.extract(rest, config=config)
        except ParseError:
            value = rest[len(code) :].split(FNC1, 1)[0]
            if code in _DATES and value[:6].isdigit() and len(value) >= 6:
                raise CartonFault(f"{_name(code)}: {value[:6]} is a day that does not exist.") from None
            raise CartonFault(f"{_name(code)}: '{shown(value)}' is cut short, or misread.") from None
        if not element.value:
            raise CartonFault(f"{_name(code)}: '' is cut short, or misread.")
        yield element
        rest = rest[len(element) :]
        if element.ai.separator_required and rest and not rest.startswith(FNC1):
            raise CartonFault(f"{_name(code)}: '{shown(element.value + rest)}' is too long, or misread.")
        rest = rest.lstrip(FNC1)


def _without_brackets(text: str) -> str:
    """'(01)09501101530003(10)A1' as a scanner would type it: each field ends where the next bracket opens."""
    if not text.startswith("("):
        return text
    return FNC1.join("".join(pair) for pair in re.findall(r"\((\d{2,4})\)([^(]*)", text))


def _name(code: str) -> str:
    return f"{NAMES.get(code, 'Field')} ({code})"


def _day(code: str, text: str, today: date) -> date:
    """YYMMDD; day 00 is the last of the month (GS1 General Specifications, 3.4; from memory).

    The century is the one that puts the year at most 49 before and 50 after this one (the same, 7.12).
    """
    year, month, day = int(text[:2]) + today.year // 100 * 100, int(text[2:4]), int(text[4:6])
    apart = int(text[:2]) - today.year % 100
    year += -100 if apart >= 51 else 100 if apart <= -50 else 0
    try:
        return date(year, month, day or calendar.monthrange(year, month)[1])
    except ValueError:
        raise CartonFault(f"{_name(code)}: {text} is a day that does not exist.") from None


def _pieces(found: dict[str, str]) -> int | None:
    code = "37" if "37" in found else "30" if "30" in found else ""
    if not code:
        return None
    if not int(found[code]):
        raise CartonFault(f"{_name(code)}: it is none at all.")
    return int(found[code])
