"""The seal of a cabinet: which cabinet a unit lies in, and what its leaving does to the seal."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from cribdesk.crib.records import Cabinet, Certification, Unit, Where
from cribdesk.desk.operation import Context
from cribdesk.desk.ports import Records, Work


def cabinet_of(records: Records, unit: Unit) -> Cabinet | None:
    """The cabinet a unit lies in; None where it lies elsewhere, or at a place that is no cabinet of this store."""
    return records.first(Cabinet, name=unit.place) if unit.where is Where.EMERGENCY and unit.place else None


def open_seal(work: Work, context: Context, cabinet: Cabinet) -> str:
    """The seal is gone from now on, and what was certified before counts no more; returns the number it had."""
    work.take(cabinet)
    last = work.latest(Certification, cabinet_id=cabinet.id)
    opened = max(context.moment, last.at + timedelta(microseconds=1)) if last else context.moment
    work.save(replace(cabinet, seal="", opened_at=opened))
    return cabinet.seal


def leave_cabinet(work: Work, context: Context, unit: Unit) -> Cabinet | None:
    """Before a unit goes anywhere else: nobody takes it out without breaking the seal. Returns its cabinet."""
    cabinet = cabinet_of(work, unit)
    if cabinet is not None:
        open_seal(work, context, cabinet)
    return cabinet
