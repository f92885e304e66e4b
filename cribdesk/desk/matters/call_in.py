"""Calling in from the counter: one unit, all at once, and the end of a call-in whose reason is gone."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cribdesk.crib.words import count, in_sentence
from cribdesk.desk.call_in import CallUnitsIn, EndCallIn
from cribdesk.desk.house import House
from cribdesk.desk.matter import Matter
from cribdesk.desk.operation import Operation
from cribdesk.desk.ports import Reader
from cribdesk.desk.recheck import to_call_in
from cribdesk.desk.saying import name_of
from cribdesk.desk.slate import AskForm, AskLine, Slate
from cribdesk.desk.standings import fleet


def _offered(house: House, slate: Slate) -> str | None:
    unit = slate.unit
    if unit is None or not unit.is_out or not unit.against:
        return None
    return f"{unit.label} was called in already." if unit.call_in else ""


def _acts(house: House, slate: Slate, token: str) -> Operation:
    assert slate.unit is not None
    assert slate.unit.custody is not None
    return CallUnitsIn(operation_id=token, custody_ids=(slate.unit.custody.id,))


def _end_offered(house: House, slate: Slate) -> str | None:
    unit = slate.unit
    if unit is None or unit.call_in is None:
        return None
    return f"Its reason stands: {in_sentence(unit.against[0].words)}." if unit.against else ""


def _end(house: House, slate: Slate, token: str) -> Operation:
    assert slate.unit is not None
    assert slate.unit.call_in is not None
    return EndCallIn(operation_id=token, call_in_id=slate.unit.call_in.id)


def _all_offered(house: House, slate: Slate) -> str | None:
    return "" if slate.empty else None


def _all(house: House, slate: Slate, moment: datetime) -> AskForm:
    return AskForm(
        matter="call-in-all",
        title="Call in",
        lead="Each gets a slip, to the supervisor of whoever has it.",
        lines_none="Looking it up.",
        go="Print the slips",
    )


def _asks(reader: Reader, house: House, form: AskForm, moment: datetime) -> AskForm:
    """Everybody who has to be called in and was not yet, worst first."""
    waiting = [one for one in to_call_in(reader, house, fleet(reader, house, moment), moment) if one.call_in is None]
    lines = tuple(
        AskLine(str(one.custody.id), one.unit.label, name_of(one.person), note=one.words, level="stop")
        for one in waiting
    )
    none = "Nobody is to be called in who was not called in already."
    return replace(form, lines=lines, lines_none=none, cost=count(len(lines), "slip") if lines else "")


def _lacks(form: AskForm) -> str:
    return "" if form.lines else form.lines_none


def _builds(house: House, slate: Slate, form: AskForm, token: str) -> Operation:
    return CallUnitsIn(operation_id=token, custody_ids=tuple(int(line.key) for line in form.lines))


MATTERS = (
    Matter(id="call-in", offered=_offered, acts=_acts),
    Matter(id="end-call-in", offered=_end_offered, acts=_end),
    Matter(id="call-in-all", offered=_all_offered, opens=_all, asks=_asks, lacks=_lacks, builds=_builds),
)
