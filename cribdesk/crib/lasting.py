"""Will it last the shift? The worn hours planned, against what the pack and each part have left; the earliest leads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from cribdesk.crib.change import FORECAST, THUMB, PartOutlook, due_within
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.run_time import chance_of, lasts_words, run_time_caution
from cribdesk.crib.words import clock, day, hours, in_sentence, percent

if TYPE_CHECKING:
    from cribdesk.crib.reasons import Facts

RUNS = "forecast, from the runs of packs and units here"
Short = tuple[float, str, Reason]
"""Hours left, what it is, and the caution about it."""


def lasting_reasons(facts: Facts) -> Iterator[Reason]:
    """A caution for the pack and for each part that may not last, the earliest first and naming the next.

    Where all last, one line says so with what is known of each; where nothing is known, none.
    """
    short = sorted([*_pack(facts), *_parts(facts)], key=lambda one: one[0])
    if not short:
        yield from _lasts(facts)
        return
    first, *others = short
    reason = first[2]
    if others:
        left, name, _ = others[0]
        then = f"After it: {in_sentence(name)}, about {hours(left)}." if left > 0 else f"Due too: {in_sentence(name)}."
        reason = replace(reason, detail=f"{reason.detail} {then}")
    yield reason
    yield from (one[2] for one in others)


def _pack(facts: Facts) -> Iterator[Short]:
    """Whether the pack lasts until the return: a caution, never a stop by itself."""
    outlook = facts.run_time
    if outlook is None or not run_time_caution(outlook):
        return
    words = f"This pack may not last until {clock(facts.due_at, facts.zone)}: {lasts_words(outlook)}"
    detail = f"{chance_of(outlook, facts.planned_hours)}. Take another pack, or plan a swap."
    yield outlook.lasts, "the pack", Reason(Level.CAUTION, "run-time", words, detail, RUNS)


def _parts(facts: Facts) -> Iterator[Short]:
    until = _until(facts)
    for part in facts.outlook:
        dust = facts.area.dust_ug_m3 if facts.area else None
        if part.fitted is None or not due_within(part, facts.planned_hours, until, dust_ug_m3=dust):
            continue
        words = f"{part.name} may fall due before {'its bench inspection' if facts.assigned else 'it is back'}"
        left = part.middle if part.middle is not None else 0.0
        if part.last_day is not None and part.last_day < until:
            left = 0.0
            detail = f"Its last day is {day(part.last_day, facts.today)}. Change it now."
        elif part.middle is not None and part.middle <= 0:
            words = f"{part.name} is due"
            detail = f"{part.why[:1].upper()}{part.why[1:]}. Look at it in the check, or change it now."
        else:
            detail = _detail(facts, part, until, dust)
        yield left, part.name, Reason(Level.CAUTION, "part-due", words, detail, part.basis, part.position)


def _detail(facts: Facts, part: PartOutlook, until: date, dust: int | None) -> str:
    left = max(0.0, part.middle or 0.0)
    planned = hours(facts.planned_hours)
    chance = part.chance(facts.planned_hours, until, dust)
    if chance is not None and chance < 1:
        told = f"{percent(chance)} that it falls due in the {planned} planned: {part.why}"
        return f"{told}. Change it now, or send a spare along."
    return f"About {hours(left)} left, {planned} planned. Change it now, or send a spare along."


def _lasts(facts: Facts) -> Iterator[Reason]:
    """One line where nothing is short; it names what has least left, and the pack. Without air there is none."""
    if facts.model.facepiece == "none":
        return
    left = [(part.middle, part) for part in facts.outlook if part.fitted is not None and part.middle is not None]
    told, bases = [], []
    if facts.run_time is not None:
        told.append(f"pack about {hours(facts.run_time.lasts)}")
        bases.append(RUNS)
    if left:
        middle, part = min(left, key=lambda pair: pair[0])
        told.append(f"{in_sentence(part.name)} about {hours(middle)}")
        bases.append(part.basis if part.basis in (THUMB, FORECAST) else f"limit: {part.basis}")
    if not told:
        return
    until = "its bench inspection" if facts.assigned else clock(facts.due_at, facts.zone)
    detail = f"{hours(facts.planned_hours)} planned; left: {', '.join(told)}"
    yield Reason(Level.FINE, "lasts", f"Should last until {until}", detail, "; ".join(dict.fromkeys(bases)))


def _until(facts: Facts) -> date:
    return facts.due_at.astimezone(facts.zone).date()
