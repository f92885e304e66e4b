"""The program on one page: what breaks a rule today, findings of evaluations to set right, and the rules in force."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime

from cribdesk.crib.records import Person, ProgramEvaluation, Role
from cribdesk.crib.words import capital, count, date_words, day
from cribdesk.desk.house import House
from cribdesk.desk.lapses import HORIZONS, Lapse, lapses
from cribdesk.desk.ports import Reader
from cribdesk.desk.printing_parts import by_id
from cribdesk.desk.rule_breaks import Break, breaks_today
from cribdesk.desk.saying import name_of
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows

LAPSES = "lapses"
"""The list that has each of what lapses."""
MOST = 25
"""So many rows of a group are shown; its words say how many there are."""
SETTLED = 5
"""Evaluations that are set right, shown below the open ones; all of them stay in the journal."""

NOW, AHEAD = "Against a rule today", "What lapses"
FINDINGS, RULES = "Evaluations of the program", "Rules in force"
NAMED = 4
"""So many of what lapses are named in a row."""
CAUTION = (
    "Worked out anew each time. What the program is worth is judged at the workplace, with those who wear the units: "
    "29 CFR 1910.134(l)."
)


def _break_row(one: Break, group: str) -> ShiftRow:
    sign = "stop" if one.grave else "caution"
    detail = f"{one.why.rstrip('.')}. {one.basis}."
    return ShiftRow(one.key, sign, one.what, detail, one.label, one.actions, one.grave, group)


def _evaluation_row(one: ProgramEvaluation, who: str, house: House, moment: datetime, group: str) -> ShiftRow:
    on = day(one.made_on, house.today(moment))
    told = [f"{capital(on)}, {who}", one.finding.rstrip(".")]
    if one.fixed_on:
        told.append(f"set right {date_words(one.fixed_on)}: {one.fix.rstrip('.')}")
    else:
        told.append(f"planned: {one.fix.rstrip('.')}" if one.fix else "nothing is planned yet")
    act = () if one.fixed_on else (ShiftAction("Set right", "form", "fix-finding", str(one.id)),)
    sign = "fine" if one.fixed_on else "caution"
    return ShiftRow(f"evaluation {one.id}", sign, capital(one.what), f"{'; '.join(told)}.", "", act, False, group)


def _evaluations(reader: Reader, house: House, moment: datetime) -> tuple[list[ShiftRow], int]:
    """Open findings by age, then the last that were set right; how many are open. Three queries."""
    waiting = reader.find(ProgramEvaluation, fixed_on=None)
    settled = [one for one in reader.newest(ProgramEvaluation, SETTLED + len(waiting)) if one.fixed_on][-SETTLED:]
    shown = [*sorted(waiting, key=lambda one: (one.made_on, one.id)), *settled[::-1]]
    people = by_id(reader, Person, *(one.by_id for one in shown))
    group = f"{FINDINGS}: {count(len(waiting), 'finding')} to set right" if shown else FINDINGS
    rows = [_evaluation_row(one, name_of(people.get(one.by_id)), house, moment, group) for one in shown[:MOST]]
    if not rows:
        none = "None is kept. The workplace is evaluated as needed, and users are asked regularly: 29 CFR 1910.134(l)."
        rows = [ShiftRow("no evaluation", "caution", "No evaluation of the program yet", none, group=group)]
    return rows, len(waiting)


def _ahead(reader: Reader, house: House, moment: datetime) -> list[ShiftRow]:
    """What lapsed, and what will in each stretch of days, counted by what it is and the first named."""
    today = house.today(moment)
    found = lapses(reader, house, moment)
    see = (ShiftAction("The list", "place", "shift", LAPSES),)
    rows = []
    stretches = ((-10**6, -1), *zip((0, *(days + 1 for days in HORIZONS)), HORIZONS, strict=False))
    for first, last in stretches:
        some = [one for one in found if first <= one.left(today) <= last]
        words = "Lapsed already" if last < 0 else f"In {first} to {last} days" if first else f"In the next {last} days"
        sign = ("stop" if last < 0 else "caution" if not first else "due") if some else "fine"
        detail = _lapse_words(some) if some else "Nothing."
        rows.append(ShiftRow(f"lapses {last}", sign, f"{words}: {len(some)}", detail, "", see, False, AHEAD))
    return rows


def _lapse_words(some: Sequence[Lapse]) -> str:
    """'Training 12, calibration 2. First: Imre Dobrosi, training, 2 Dec 2026; ...'."""
    kinds = Counter(one.what.partition(" with ")[0].partition(" of ")[0] for one in some)
    told = capital(", ".join(f"{kind} {n}" for kind, n in kinds.most_common()))
    first = "; ".join(f"{one.who}, {one.what}, {date_words(one.until)}" for one in some[:NAMED])
    return f"{told}. First: {first}."


def _rules(house: House) -> ShiftRow:
    rules = house.rules
    doubtful = sum(not one.sound for one in rules.rules.values())
    told = f"Papers cite it. {count(len(rules.rules), 'rule')} in it"
    told += f", {doubtful} from memory: those never let a unit go as fine" if doubtful else ""
    see = (ShiftAction("Settings", "place", "settings"),)
    return ShiftRow("rules", "" if rules.rules else "stop", rules.name, f"{told}.", "", see, False, RULES)


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = breaks_today(reader, house, moment)
    group = f"{NOW}: {len(found)}" if found else NOW
    now = [_break_row(one, group) for one in found[:MOST]]
    if len(found) > MOST:
        more = ShiftAction("To call in", "place", "shift", "call-in")
        now.append(ShiftRow("more", "", f"and {len(found) - MOST} more", "", "", (more,), False, group))
    if not now:
        now = [ShiftRow("none", "fine", "Nobody and nothing breaks a rule", "By what the store knows.", group=group)]
    evaluations, waiting = _evaluations(reader, house, moment)
    breaches = count(len(found), "breach of a rule", "breaches of rules") if found else "No breach of a rule"
    lead = f"{breaches} today; {count(waiting, 'finding') if waiting else 'no finding'} to set right."
    actions = (
        ShiftAction("Register", "form", "register"),
        ShiftAction("Evaluate", "form", "evaluation"),
    )
    rows = (*now, *_ahead(reader, house, moment), *evaluations, _rules(house))
    return ShiftRows(lead, rows, "", actions, CAUTION)


def _count(reader: Reader, house: House, moment: datetime) -> int:
    return len(breaks_today(reader, house, moment)) + reader.count(ProgramEvaluation, fixed_on=None)


LIST = ShiftList("program", "The program", 81, _read, _count, (Role.PROGRAM,))
