"""What is ready and sealed for the crew that comes, by model, what is short, and what could be made ready soonest."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from cribdesk.crib.words import capital, clock, count
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.readiness import SEAL, Needed, Readiness, readiness
from cribdesk.desk.saying import WHERE_WORDS, moment_words
from cribdesk.desk.shift_list import ShiftAction, ShiftList, ShiftRow, ShiftRows
from cribdesk.desk.standings import Member, why_words

MOST = 30
"""So many units that could be made ready are named; the lead says how many there are."""


def needed_words(found: Readiness, house: House) -> str:
    """'For Night at 14:30: 12 needed, 9 sealed, 1 out for it already, 2 short.'"""
    starts = clock(found.turn.start, house.zone)
    told = [f"{found.needed.units} needed"] * found.needed.known + [f"{len(found.sealed)} sealed"]
    if found.issued:
        told.append(f"{len(found.issued)} out for it already")
    if found.needed.known:
        told.append(f"{found.short} short" if found.short else "none short")
    return f"For {found.turn.name} at {starts}: {', '.join(told)}."


def how_words(needed: Needed) -> str:
    """How the number needed was reached, and that the site may set its own."""
    return f"{capital(needed.how)}." + (" The site can set its own number." if needed.by_model else "")


def _read(reader: Reader, house: House, moment: datetime) -> ShiftRows:
    found = readiness(reader, house, moment)
    rows = (*_models(found, house), *_packs(found), *_soonest(found, house, moment))
    left = len(found.unsealed) + len(found.to_inspect) + len(found.to_clean) - MOST
    more = f" {left} more could be made ready." if left > 0 else ""
    return ShiftRows(
        f"{needed_words(found, house)}{more}",
        rows,
        "There is no unit that could be made ready.",
        (ShiftAction("Inspect for it", "command", "pre-stage"),),
        how_words(found.needed),
    )


def _models(found: Readiness, house: House) -> tuple[ShiftRow, ...]:
    """One row a model that is needed or there."""
    sealed, issued = _by_model(found.sealed), _by_model(found.issued)
    wanted = dict(found.needed.by_model)
    rows = []
    for code in sorted({*sealed, *wanted, *_by_model(found.unsealed)} - {""}):
        model = house.models.get(code)
        name = capital(model.short_name) if model else code
        short = max(0, wanted.get(code, 0) - sealed[code] - issued[code])
        need = f" of {wanted[code]} needed" if code in wanted else ""
        out = f", {issued[code]} out for it already" if issued[code] else ""
        unsealed = _by_model(found.unsealed)[code]
        rest = f"; {unsealed} inspected in time without a seal" if unsealed else ""
        told = f"{sealed[code]} ready and sealed{need}{out}{rest}"
        rows.append(ShiftRow(f"model {code}", "caution" if short else "ready", f"{name}: {told}",
                             f"{short} short" if short else "", bold=bool(short)))  # fmt: skip
    return tuple(rows)


def _packs(found: Readiness) -> tuple[ShiftRow, ...]:
    if not found.packs_needed:
        return ()
    words = f"Charged packs: {found.packs} of {found.packs_needed} needed"
    charging = f", {found.charging} on a charger now" if found.charging else ""
    if not found.packs_short:
        return (ShiftRow("packs", "battery", words, capital(charging.removeprefix(", "))),)
    return (ShiftRow("packs", "caution", words, f"{count(found.packs_short, 'pack')} short{charging}", bold=True),)


def _soonest(found: Readiness, house: House, moment: datetime) -> tuple[ShiftRow, ...]:
    """The units nearest to it: their seal alone, their inspection alone, then what is to be cleaned."""
    ordered = [(one, "Needs its seal alone", "ready") for one in found.unsealed]
    ordered += [(one, _first_words(one), "not checked") for one in found.to_inspect]
    ordered += [(one, "Needs cleaning, then its inspection", "needs cleaning") for one in found.to_clean]
    return tuple(_row(one, words, sign, house, moment) for one, words, sign in ordered[:MOST])


def _first_words(one: Member) -> str:
    passed = one.standing.last_pass if one.standing else None
    return "New, waits for its first inspection" if passed is None else "Needs its inspection alone"


def _row(one: Member, words: str, sign: str, house: House, moment: datetime) -> ShiftRow:
    passed = one.standing.last_pass if one.standing else None
    seal = sign == "ready" and passed is not None and passed.kind == "bench"
    actions = (ShiftAction("Print its seal", "paper", SEAL, str(passed.id)),) if seal and passed else ()
    at = f"inspected {moment_words(passed.ended_at, house, moment)}" if passed else ""
    detail = "; ".join(part for part in (WHERE_WORDS[one.unit.where], at or why_words(one)) if part)
    if sign == "ready" and not seal:
        words = "Inspected for an issue, not at the bench: inspect it for a seal"
    return ShiftRow(one.unit.label, sign, words, capital(detail), one.unit.label, actions)


def _by_model(units: tuple[Member, ...]) -> Counter[str]:
    return Counter(one.unit.model for one in units)


LIST = ShiftList(
    "ready", "Ready for the next shift", 60, _read, lambda reader, house, moment: readiness(reader, house, moment).short
)
