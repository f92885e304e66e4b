"""Dates, times and figures as people say them; the site's zone is an argument."""

from __future__ import annotations

import unicodedata
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NBSP = "\u00a0"
MINUS = "\u2212"
_BARE = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ŧ": "t", "þ": "th", "æ": "ae", "œ": "oe"}
)
"""Letters that Unicode does not take apart into a plain one and a mark."""


def clock(moment: datetime, zone: ZoneInfo) -> str:
    """'06:12'."""
    return moment.astimezone(zone).strftime("%H:%M")


def day(on: date, today: date | None = None) -> str:
    """'Fri 27 Nov', with the year where it is not today's; 'today' and 'yesterday' where they are."""
    if today is not None:
        if on == today:
            return "today"
        if on == today - timedelta(days=1):
            return "yesterday"
        if on == today + timedelta(days=1):
            return "tomorrow"
    plain = f"{DAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"
    return plain if today is not None and on.year == today.year else f"{plain} {on.year}"


def date_words(on: date) -> str:
    """'12 Mar 2027'."""
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def when(moment: datetime, zone: ZoneInfo, now: datetime) -> str:
    """'14:30' today, 'yesterday 22:30', 'Tue 22:05' within six days, 'Tue 3 Nov' before."""
    local, today = moment.astimezone(zone), now.astimezone(zone).date()
    apart = (today - local.date()).days
    if apart == 0:
        return clock(moment, zone)
    if apart == 1:
        return f"yesterday {clock(moment, zone)}"
    if apart == -1:
        return f"tomorrow {clock(moment, zone)}"
    if -6 <= apart <= 6:
        return f"{DAYS[local.weekday()]} {clock(moment, zone)}"
    return day(local.date(), today)


def exactly(moment: datetime, zone: ZoneInfo) -> str:
    """'Wed 25 Nov 2026, 06:03:11 CET': the exact moment, as shown on hover and paper."""
    local = moment.astimezone(zone)
    on = local.date()
    return f"{DAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]} {on.year}, {local:%H:%M:%S %Z}"


def number(value: float, places: int = 0) -> str:
    """'1 400' with a no-break space between thousands, a true minus, `places` decimals."""
    text = f"{abs(value):,.{places}f}".replace(",", NBSP)
    return f"{MINUS}{text}" if value < 0 and float(f"{value:.{places}f}") else text


def degrees(celsius: float) -> str:
    """'4 °C', '−10.5 °C'."""
    return f"{number(celsius, 1).removesuffix('.0')} °C"


def hours(value: float) -> str:
    """'19 h'; under ten hours with one decimal where it is not whole."""
    if abs(value) < 10 and round(value, 1) != round(value):
        return f"{number(value, 1)}{NBSP}h"
    return f"{number(value)}{NBSP}h"


def span(low: float, high: float) -> str:
    """'12 to 40 h'; one figure where both read the same."""
    first, last = hours(low), hours(high)
    return last if first == last else f"{first.removesuffix(f'{NBSP}h')} to {last}"


def percent(chance: float) -> str:
    """'8 %', never nought or a hundred where it is not."""
    if chance <= 0 or chance >= 1:
        return f"{number(100 * min(1.0, max(0.0, chance)))}{NBSP}%"
    if chance < 0.01:
        return f"under 1{NBSP}%"
    return f"over 99{NBSP}%" if chance > 0.99 else f"{number(100 * chance)}{NBSP}%"


def count(n: int, one: str, many: str = "") -> str:
    """'1 stop', '3 cautions'."""
    return f"{number(n)} {one if n == 1 else many or one + 's'}"


def minutes_seconds(seconds: float) -> str:
    """'7:20'."""
    whole = int(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def joined(parts: tuple[str, ...] | list[str]) -> str:
    """'a, b and c'."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def capital(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


def in_sentence(text: str) -> str:
    """The text as it goes on in a sentence: its first letter small, a label's kept."""
    first = text.split(" ", 1)[0]
    return text if any(letter.isdigit() for letter in first) else text[:1].lower() + text[1:]


def folded(words: str) -> str:
    """As one searches it on any keyboard: 'Bălănescu' is 'balanescu', 'Łęcka' is 'lecka', 'Großmann' 'grossmann'."""
    plain = words.casefold()
    if plain.isascii():
        return plain
    apart = unicodedata.normalize("NFKD", plain).translate(_BARE)
    return "".join(character for character in apart if not unicodedata.combining(character))
