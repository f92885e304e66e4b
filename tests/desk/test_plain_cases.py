"""Every operation of the counter takes at most four scans or keys in its plain case, counted in the scan scripts.

A remark '# plain: ID' in a script begins the plain case of a matter or command; its actions are counted up to what it
leaves in the journal. The pages of a check are its procedure's and are not counted, nor is time that goes by.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from cribdesk.desk.commands import BY_ID
from cribdesk.desk.entry_form import Asked
from cribdesk.desk.entry_forms import FORMS
from cribdesk.desk.matters import matters
from tests.desk.script import SPAN
from tests.desk.shop import Shop, house

SCRIPTS = sorted((Path(__file__).parents[1] / "scans").glob("*.txt"))
MARK = re.compile(r"# plain: ([a-z-]+)\s*")
MOST = 4

COUNTER = (
    "issue", "take-back", "returns", "complete-return", "hold", "release", "change", "clean", "bench", "look-over",
    "start-charge", "end-charge", "print-slip", "carrier", "sign-on", "sign-off",
)  # fmt: skip
"""What the counter does besides the matters, each by its command; an issue is what 'go' and a badge make."""

LONGER = {
    "issue": 5,  # badge, unit, pack, go: four to the check; the badge after it is the wearer's signature
    "assign": 6,  # the issue, and the one code that makes it an assignment
    "carrier": 7,  # the assignment, and the carrier's code in place of nothing: theirs is the badge
}
"""What takes more, and how many it takes exactly: all three are a hand-over with both its ends."""

LONGER_FORMS = {"scrap": 6}
"""A scrapped unit: why, and of each of its two labelled parts whether it is kept."""

PAGES = ("pass", "good", "not", "reads", "ball", "alarm", "wait", "choose", "tick")
"""Answers to a check's pages, and the clock."""
ENDS = ("journal", "opens", "slate")


@dataclass(frozen=True)
class Plain:
    """One plain case: where it stands, what is done, and what it led to."""

    script: str
    actions: tuple[str, ...]
    led_to: str


def plain_cases() -> dict[str, Plain]:
    """Every plain case of the scripts by its id. Raises AssertionError for one that leads to nothing."""
    found: dict[str, Plain] = {}
    for script in SCRIPTS:
        lines = script.read_text("utf-8").splitlines()
        for number, line in enumerate(lines):
            mark = MARK.fullmatch(line)
            if mark:
                assert mark[1] not in found, f"{mark[1]} stands twice"
                found[mark[1]] = _case(script.name, lines[number + 1 :])
    return found


def _case(script: str, lines: list[str]) -> Plain:
    actions: list[str] = []
    for line in lines:
        what, bar, value = line.partition("|")
        if line[:1].isspace() and bar and what.strip() in ENDS and value.strip() != "none":
            return Plain(script, tuple(actions), f"{what.strip()} | {value.strip()}")
        assert not MARK.fullmatch(line), f"{script}: {line} begins before the one above led to anything"
        counts = line.strip() and not line.startswith("#") and not line[:1].isspace()
        if counts and not SPAN.fullmatch(line.strip()) and line.split()[0] not in PAGES:
            actions.append(line.strip())
    raise AssertionError(f"{script}: a plain case leads to nothing")


def test_every_matter_has_its_plain_case() -> None:
    """Each matter and each command of the counter stands in a script as a plain case, and nothing else does."""
    cases = plain_cases()
    assert set(cases) == set(matters()) | set(COUNTER)
    assert all(one == "issue" or one in BY_ID for one in cases)


def test_a_plain_case_takes_four_scans_or_keys() -> None:
    """Counted line by line, no plain case takes more than four; a hand-over takes what its two ends take."""
    counted = {id: len(case.actions) for id, case in plain_cases().items()}
    print("\n".join(f"{id:20} {many}" for id, many in sorted(counted.items(), key=lambda pair: pair[1])))
    assert {id: many for id, many in counted.items() if many > MOST} == LONGER
    assert all(many >= 1 for many in counted.values())


def test_a_form_opened_by_a_matter_asks_for_little(own_shop: Shop) -> None:
    """Where a matter opens an entry form, its empty fields that are needed and the key that enters it count as well."""
    cases = plain_cases()
    opening = {id: one.entry for id, one in matters().items() if one.entry}
    assert opening
    with own_shop.store.reading() as reader:
        asked = Asked(reader, house(), own_shop.moment, own_shop.label("wl-1"))
        counted = {}
        for id, form in opening.items():
            needed = [one.name for one in FORMS[form].fields(asked) if one.needed and not one.value and not one.only]
            counted[id] = len(cases[id].actions) + len(needed) + 1
    assert {id: many for id, many in counted.items() if many > MOST} == LONGER_FORMS
