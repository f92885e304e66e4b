"""The wearer's card of a unit model out of its TOML text: what to do in plain lines, and what each alarm means."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.toml_text import Section

LISTS = ("put_on", "before", "during", "clean", "store")
LONGEST, MOST = 150, 9
"""Signs a line has at most, and lines a list has: all of it stands on one page."""


@dataclass(frozen=True)
class CardAlarm:
    """One alarm, or another thing the wearer notices: what it is like, what it means, what to do at once."""

    sign: str
    means: str
    do: str


@dataclass(frozen=True)
class WearerCard:
    """Lines for the wearer: putting it on, the checks before each use and during work, cleaning, storing; alarms."""

    put_on: tuple[str, ...]
    before: tuple[str, ...]
    during: tuple[str, ...]
    clean: tuple[str, ...]
    store: tuple[str, ...]
    alarms: tuple[CardAlarm, ...]


def read_card(top: Section) -> WearerCard | None:
    """The table `card` of a model's text, None where it has none; notes every fault."""
    if not top.has("card"):
        return None
    section = top.section("card")
    lists = {name: _lines(section, name) for name in LISTS}
    alarms = []
    for one in section.sections("alarms"):
        alarms.append(CardAlarm(one.text("sign", limit=60), one.text("means", limit=90), one.text("do", limit=90)))
        one.finish()
    if not alarms:
        section.fault("alarms", "write at least one [[card.alarms]]: how the wearer notices that it does not work.")
    section.finish()
    return WearerCard(**lists, alarms=tuple(alarms))


def _lines(section: Section, name: str) -> tuple[str, ...]:
    lines = section.texts(name, required=True)
    if section.has(name) and not 0 < len(lines) <= MOST:
        section.fault(name, f"1 to {MOST} lines are needed here.")
    if any(len(line) > LONGEST or any(ord(sign) < 32 for sign in line) for line in lines):
        section.fault(name, f"each is one line of at most {LONGEST} characters.")
    return lines
