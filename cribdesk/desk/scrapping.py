"""A unit is scrapped for good: each part of it is freed or scrapped, and its pack stays."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from cribdesk.crib.records import AWAY, Battery, BatteryPlace, Custody, Fitted, Part, PartPlace, Role, Unit, Where
from cribdesk.crib.refusal import SayOfParts, WrongFigure
from cribdesk.crib.words import count, joined
from cribdesk.desk.bench import take_out
from cribdesk.desk.inspection import end_away, fetch_unit, must_be_in_hand
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.ports import FILLED, Work
from cribdesk.desk.sealed import leave_cabinet

BENCH = (Role.TECHNICIAN, Role.PROGRAM, Role.SYSTEM)
KEEP, SCRAP = "keep", "scrap"
FATES = (KEEP, SCRAP)
WASTE = "Used filters are waste: bag them by the stream of their area; the generator and local rules decide."


@dataclass(frozen=True)
class Freed:
    """What became of the parts: labels kept and scrapped, how many without a label, and the pack that stays."""

    kept: tuple[str, ...]
    scrapped: tuple[str, ...]
    unlabelled: int
    pack: str


@dataclass(frozen=True, kw_only=True)
class ScrapUnit(Operation):
    """A unit is never used again. `parts` says of each labelled part in it: (part id, keep or scrap, its fault)."""

    unit_id: int
    why: str
    parts: tuple[tuple[int, str, str], ...] = ()

    code: ClassVar[str] = "scrap-unit"
    words: ClassVar[str] = "Scrapping a unit"
    may: ClassVar[tuple[Role, ...]] = BENCH

    def run(self, work: Work, context: Context) -> Outcome:
        """Kept parts lie on the shelf with their hours, lot and fault; all else of it is scrapped."""
        unit = fetch_unit(work, self.unit_id)
        sitting = {one.part_id for one in work.find(Fitted, unit_id=unit.id, removed_at=None) if one.part_id}
        told = {part for part, _, _ in self.parts}
        if any(fate not in FATES for _, fate, _ in self.parts) or len(told) != len(self.parts):
            raise SayOfParts(unit.label, "a part of it is kept or scrapped, and said once")
        if told - sitting:
            raise SayOfParts(unit.label, "one of the parts named does not sit in it")
        if sitting - told:
            raise SayOfParts(unit.label, f"nothing is said of {count(len(sitting - told), 'labelled part')}")
        kept = {part: fault for part, fate, fault in self.parts if fate == KEEP}
        freed = scrap(work, context, unit, self.why, kept)
        return Outcome(_sentence(unit, self.why.strip(), freed), (unit.label, *freed.kept, *freed.scrapped))


def scrap(work: Work, context: Context, unit: Unit, why: str, kept: dict[int, str]) -> Freed:
    """The one way a unit is scrapped. `kept` are the parts that stay, by id, with the fault each is known by.

    Raises NotAllowed without a reason, for a unit that somebody has, one whose return is not complete, and for a
    part to be kept of a unit that is not here.
    """
    must_be_in_hand(work, unit)
    if not why.strip():
        raise WrongFigure("Scrapping", "say why")
    if work.first(Custody, unit_id=unit.id, returned_at=FILLED, completed_at=None):
        raise WrongFigure("Scrapping", "its last return is not complete; say its hours first")
    if kept and unit.where in AWAY:
        raise SayOfParts(unit.label, f"it is {unit.where.value}, so nothing of it is here to be kept")
    there = work.find(Fitted, unit_id=unit.id, removed_at=None)
    labels: dict[bool, list[str]] = {True: [], False: []}
    for one in there:
        stays = one.part_id in kept
        take_out(work, context, unit, one.position, "unit scrapped", kept.get(one.part_id or 0, ""))
        if one.part_id is None:
            continue
        part = work.get(Part, one.part_id)
        labels[stays].append(part.label)
        if not stays:
            work.save(replace(part, place=PartPlace.SCRAPPED))
    leave_cabinet(work, context, unit)
    pack = _pack_stays(work, unit)
    end_away(work, context, unit, "scrapped")
    work.save(replace(unit, where=Where.SCRAPPED, place=""))
    return Freed(tuple(labels[True]), tuple(labels[False]), sum(one.part_id is None for one in there), pack)


def _pack_stays(work: Work, unit: Unit) -> str:
    """The pack in it lies on the shelf, its charge unknown; of a unit that is not here it is missing with it."""
    pack = work.first(Battery, unit_id=unit.id)
    if pack is None:
        return ""
    work.take(pack)
    place = BatteryPlace.MISSING if unit.where in AWAY else BatteryPlace.SHELF
    note = f"with {unit.label}, which is scrapped" if place is BatteryPlace.MISSING and not pack.note else pack.note
    work.save(replace(pack, place=place, unit_id=None, slot_id=None, charged_at=None, note=note))
    return pack.label


def _sentence(unit: Unit, why: str, freed: Freed) -> str:
    told = [f"{unit.label} scrapped: {why.rstrip('.')}."]
    if freed.kept:
        told.append(f"Kept on the shelf: {joined(freed.kept)}.")
    if freed.scrapped:
        told.append(f"Scrapped with it: {joined(freed.scrapped)}.")
    if freed.unlabelled:
        told.append(f"{count(freed.unlabelled, 'part')} without a label too. {WASTE}")
    if freed.pack:
        told.append(f"Battery {freed.pack} is {'missing' if unit.where in AWAY else 'on the shelf'}.")
    return " ".join(told)


__all__ = ["BENCH", "FATES", "KEEP", "SCRAP", "WASTE", "Freed", "ScrapUnit", "scrap"]
