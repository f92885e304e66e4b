"""Every site setting once: name, default, words. Site settings are journalled; the workstation's are not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from cribdesk.crib.records import SiteSetting
from cribdesk.crib.shift import read_plan

LOWEST_M, HIGHEST_M = -430.0, 5000.0
"""From the lowest shore to the highest towns (common practice, no source)."""


@dataclass(frozen=True)
class Setting:
    """One setting of the site: its default and what it means; `check` raises ValueError with what is wrong.

    Where only a few values are possible they stand in `choices`.
    """

    name: str
    default: str
    words: str
    check: Callable[[str], object] = str
    choices: tuple[str, ...] = ()


def _zone(text: str) -> ZoneInfo:
    try:
        return ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError):
        raise ValueError(f"{text!r} is no time zone; write it like Europe/Vienna or America/Chicago") from None


def _one_of(*allowed: str) -> Callable[[str], object]:
    def check(text: str) -> str:
        if text not in allowed:
            raise ValueError(f"{text!r} is none of {', '.join(allowed)}")
        return text

    return check


def _choice(name: str, default: str, words: str, *allowed: str) -> Setting:
    return Setting(name, default, words, _one_of(*allowed), allowed)


def _whole(low: int, high: int) -> Callable[[str], object]:
    def check(text: str) -> int:
        if not text.isascii() or not text.isdigit() or not low <= int(text) <= high:
            raise ValueError(f"{text!r} is no whole number from {low} to {high}")
        return int(text)

    return check


def _flow(low: float, high: float, empty: bool = False) -> Callable[[str], object]:
    def check(text: str) -> str:
        try:
            good = (empty and not text) or low <= float(text) <= high
        except ValueError:
            good = False
        if not good:
            raise ValueError(f"{text!r} is no flow from {low:g} to {high:g} L/min; write it like 190 or 187.5")
        return text

    return check


def _altitude(text: str) -> float:
    try:
        metres = float(text)
    except ValueError:
        metres = LOWEST_M - 1
    if not LOWEST_M <= metres <= HIGHEST_M:
        raise ValueError(f"{text!r} is no altitude from {LOWEST_M:g} to {HIGHEST_M:g} m; write it like 350")
    return metres


def _millimetres(text: str) -> tuple[float, float]:
    parts = text.lower().replace(" ", "").split("x")
    if len(parts) != 2 or not all(part.isdigit() and 50 <= int(part) <= 300 for part in parts):
        raise ValueError(f"{text!r} is no size; write it like 80x160, in millimetres")
    return float(parts[0]), float(parts[1])


def read_needed(text: str) -> dict[str, int]:
    """'Day 60, Night 20' as units by the shift's name in small letters. Raises ValueError with what is wrong."""
    found: dict[str, int] = {}
    for row in text.split(","):
        name, _, figure = row.strip().rpartition(" ")
        if not row.strip():
            continue
        if not name or not figure.isascii() or not figure.isdigit() or int(figure) > 9999:
            raise ValueError(f"{row.strip()!r} is no number for a shift; write it like 'Day 60, Night 20'")
        found[name.strip().lower()] = int(figure)
    return found


def read_service(text: str) -> dict[str, float]:
    """'A 99, B 97, C 90' as shares by criticality. Raises ValueError with what is wrong."""
    found: dict[str, float] = {}
    for row in text.split(","):
        name, _, figure = row.strip().partition(" ")
        try:
            percent = float(figure)
        except ValueError:
            percent = 0.0
        if name not in ("A", "B", "C") or not 50 <= percent < 100:
            raise ValueError(f"{row.strip()!r} is no service level; write them like 'A 99, B 97, C 90', 50 to 99.9")
        found[name] = percent / 100
    if set(found) != {"A", "B", "C"}:
        raise ValueError("a level for each of A, B and C is needed; write them like 'A 99, B 97, C 90'")
    return found


SETTINGS: tuple[Setting, ...] = (
    Setting("site_name", "", "Name of the site, on papers"),
    Setting("own_employer", "", "Employer of your own people; proof of clearances is asked of every other"),
    _choice(
        "rule_set", "us_federal", "Rules in force (none is for all of the EU)", "us_federal", "us_california", "uk"
    ),
    Setting("zone", "Europe/Vienna", "Time zone of the site (IANA name)", _zone),
    Setting("shift_plan", "Day 06:00-14:30, Night 14:30-22:30", "Shifts, in local time", read_plan),
    Setting("early_minutes", "60", "Minutes before a shift starts from when it is issued for", _whole(0, 240)),
    Setting("hours_a_day", "7", "Hours a unit is worn on a usual day, for dates of the next change", _whole(1, 24)),
    Setting(
        "assigned_inspection_days", "30", "Days an assigned unit is used from one bench inspection to the next",
        _whole(1, 366),
    ),
    Setting(
        "needed", "", "Units ready at the start of a shift, like Day 60, Night 20; empty: as the last weeks tell",
        read_needed,
    ),
    _choice("meter_check", "off", "Flow meters checked against the reference blower", "off", "daily"),
    Setting("reference_lpm", "", "Flow of the reference blower, L/min; empty: none", _flow(50, 900, empty=True)),
    Setting("reference_tolerance_lpm", "5", "A meter is good within so many L/min of it (a house rule)", _flow(1, 40)),
    Setting("due_bound", "95", "Percent that last longer than when the bench's lists first name them", _whole(50, 99)),
    Setting(
        "altitude_m", "0", "Altitude of the shop, m; for the air's pressure where no barometer is read", _altitude
    ),
    _choice(
        "guard_band", "on",
        "Airflow passes only where the meter's uncertainty leaves no doubt. Off: of units right at the minimum every "
        "second one that passes has too little air",
        "on", "off",
    ),
    Setting(
        "service", "A 99, B 97, C 90", "Percent of orders that arrive before the last piece is used, by criticality",
        read_service,
    ),
    Setting("review_days", "7", "Days from one look at what to order to the next", _whole(1, 92)),
    Setting("order_cost_cents", "2500", "What one order costs in work, in cents (a house rule)", _whole(0, 1_000_000)),
    Setting("holding_percent", "20", "What holding stock costs a year, in percent of its price", _whole(1, 100)),
    Setting("lead_days", "14", "Days a delivery takes from a new supplier (a house rule)", _whole(1, 365)),
    Setting("count_days_a", "30", "Days from count to count, A: missed at once (a house rule)", _whole(1, 3660)),
    Setting("count_days_b", "91", "Days from count to count, B: missed soon (a house rule)", _whole(1, 3660)),
    Setting("count_days_c", "365", "Days from count to count, C: can wait (a house rule)", _whole(1, 3660)),
    _choice("page", "A4", "Paper in the printer", "A4", "letter"),
    Setting("tag_size", "80x160", "Out-of-service tag, width x height in mm (105x148 is A6)", _millimetres),
    Setting("sample_until", "", "Set in a sample store only: the moment its own clock starts at"),
)  # fmt: skip
BY_NAME = {setting.name: setting for setting in SETTINGS}


def values(records: Sequence[SiteSetting]) -> dict[str, str]:
    """Every setting with its value, the default where the store has none."""
    found = {setting.name: setting.default for setting in SETTINGS}
    found.update({record.name: record.value for record in records if record.name in BY_NAME})
    return found
