"""A unit's airflow since its last filter change: where it is heading, in a sentence and for the plot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from math import floor

from cribdesk.compute.decline import FEW, Decline, Fleet, Series, band, decline, fleet_of
from cribdesk.crib.change import PartOutlook
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Fitted, Reading, Unit
from cribdesk.crib.words import count, hours, number, span
from cribdesk.desk.cards import AirflowTrend, FlowPoint
from cribdesk.desk.house import House
from cribdesk.desk.ports import FILLED, Reader

FLEET_READINGS = 300
"""Newest readings of the crib from which a model's usual decline is taken."""
KINDS = ("pre-use", "bench")


def loading_positions(house: House, model: UnitModel) -> frozenset[str]:
    """Positions whose change brings airflow back: those that the airflow step's ladder changes."""
    found = set()
    for kind in KINDS:
        procedure = house.procedure_of(model, kind)
        for step in procedure.steps if procedure else ():
            if step.kind == "reading":
                found |= {one.position for one in step.ladder if one.kind == "change" and one.position}
    return frozenset(found)


def with_airflow(
    parts: tuple[PartOutlook, ...], positions: frozenset[str], flow: Iterable[FlowPoint], model: UnitModel
) -> tuple[PartOutlook, ...]:
    """The part that loads and was changed last says what the airflow did since: its first reading and the last.

    Of one changed before it nothing is said: the later change brought the airflow back.
    """
    changed, points = _since_change(parts, positions, flow, model)
    said = _dropped(points)
    return tuple(
        replace(one, why=f"{one.why}{said}")
        if one.fitted is not None and one.position in positions and one.fitted.fitted_at == changed
        else one
        for one in parts
    )


def airflow_words(
    parts: Iterable[PartOutlook], positions: frozenset[str], flow: Iterable[FlowPoint], model: UnitModel,
    upcoming: PartOutlook | None = None,
) -> str:  # fmt: skip
    """'Airflow 181 L/min when last read, 11 above the minimum; it has dropped 9 since the filter change', or ''.

    By readings corrected for what was found of their meters since; of those before the last filter change nothing. What
    it dropped is left out where the part whose change is `upcoming` says it already.
    """
    changed, points = _since_change(parts, positions, flow, model)
    if not points or model.flow_minimum_lpm is None:
        return ""
    last = floor(points[-1][1])  # down: just below the minimum is never said as at it
    over = last - round(model.flow_minimum_lpm)
    against = f"{number(abs(over))} {'above' if over > 0 else 'below'} the minimum" if over else "at the minimum"
    said = f"Airflow {number(last)} L/min when last read, {against}"
    dropped = round(points[0][1] - points[-1][1])
    sits = upcoming.fitted if upcoming is not None and upcoming.position in positions else None
    if sits is not None and sits.fitted_at == changed:
        return said
    return f"{said}; it has dropped {number(dropped)} since the filter change" if dropped > 0 else said


def _since_change(
    parts: Iterable[PartOutlook], positions: frozenset[str], flow: Iterable[FlowPoint], model: UnitModel
) -> tuple[datetime | None, tuple[tuple[float, float], ...]]:
    """When what loads was changed last, and the readings since."""
    changed = max((one.fitted.fitted_at for one in parts if one.fitted and one.position in positions), default=None)
    return changed, _points([(one.at, one.at_hours, one.really_lpm) for one in flow], changed, model)


def _dropped(points: tuple[tuple[float, float], ...]) -> str:
    if len(points) < 2:
        return ""
    dropped = round(points[0][1] - points[-1][1])
    if dropped < 1:
        return "; its airflow has not dropped since the change"
    return f"; its airflow has dropped {number(dropped)} L/min since the change"


def trend_of(
    reader: Reader, house: House, unit: Unit, model: UnitModel, fitted: Iterable[Fitted], flow: tuple[FlowPoint, ...]
) -> AirflowTrend | None:
    """The trend of one unit, by readings corrected for what was found of their meters; None where nothing was read.

    No query where the unit's own readings are enough; three where they lean on other units of the model.
    """
    limit = model.flow_minimum_lpm
    if not flow or limit is None:
        return None
    positions = loading_positions(house, model)
    changed = max((one.fitted_at for one in fitted if one.position in positions), default=None)
    points = _points(((one.at, one.at_hours, one.really_lpm) for one in flow), changed, model)
    fleet = None
    if points and len(points) < FEW:
        fleet = fleet_of(_fleet_series(reader, unit, model, positions))
    found = _trend(points, unit.worn_hours, limit, fleet)
    wild = sum(not _honest(one.really_lpm, model) for one in flow if changed is None or one.at >= changed)
    return replace(found, words=f"{found.words} Left out: {count(wild, 'reading')} that cannot be.") if wild else found


def _points(
    read: Iterable[tuple[datetime, float, float]], changed: datetime | None, model: UnitModel
) -> tuple[tuple[float, float], ...]:
    """(worn hours, flow) since the change: the last reading of each hour, none that cannot be an honest one."""
    kept: dict[float, float] = {}
    for at, worn, flow in sorted(read):
        if (changed is None or at >= changed) and _honest(flow, model):
            kept[worn] = flow
    return tuple(sorted(kept.items()))


def _honest(flow_lpm: float, model: UnitModel) -> bool:
    """Whether the model can give so much at all."""
    return flow_lpm > 0 and (model.flow_plausible_lpm is None or flow_lpm <= model.flow_plausible_lpm)


def _fleet_series(reader: Reader, unit: Unit, model: UnitModel, positions: frozenset[str]) -> list[Series]:
    """The readings of the model's other units, each since its own last change."""
    read = reader.newest(Reading, FLEET_READINGS, flow_lpm=FILLED)
    units = {one.id for one in reader.find(Unit, id=sorted({one.unit_id for one in read}), model=model.code)}
    units.discard(unit.id)
    if not units:
        return []
    changed: dict[int, datetime] = {}
    for one in reader.find(Fitted, unit_id=sorted(units), position=sorted(positions), removed_at=None):
        changed[one.unit_id] = max(one.fitted_at, changed.get(one.unit_id, one.fitted_at))
    by_unit: dict[int, list[tuple[datetime, float, float]]] = defaultdict(list)
    for reading in read:
        if reading.unit_id in units:
            by_unit[reading.unit_id].append((reading.at, reading.at_hours, reading.flow_lpm or 0.0))
    found: list[Series] = []
    for id_, rows in by_unit.items():
        points = _points(rows, changed.get(id_), model)
        found.append(([x for x, _ in points], [y for _, y in points]))
    return found


def _trend(points: tuple[tuple[float, float], ...], now: float, limit: float, fleet: Fleet | None) -> AirflowTrend:
    across, up = [x for x, _ in points], [y for _, y in points]
    found = decline(across, up, now, limit, fleet)
    words = _words(found, len(points), limit)
    if found is None:
        return AirflowTrend(words, None, points)
    start, end = across[0], now
    if found.left is not None:
        reach = now + (found.late if found.late is not None else found.left)
        end = max(now, min(reach, across[-1] + 2 * max(across[-1] - start, 20.0)))
    line = ((start, found.at(start)), (end, found.at(end)))
    at = [start + (end - start) * n / 12 for n in range(13)]
    shaded = () if found.leans or end <= start else tuple(band(across, up, at))
    return AirflowTrend(words, found, points, line, shaded)


def _words(found: Decline | None, readings: int, limit: float) -> str:
    since = f"{count(readings, 'reading')} since the last filter change"
    if not readings:
        return "No airflow was read since the last filter change."
    if found is None:
        return f"Airflow: {since}, too few for a trend."
    leans = " Leans on other units of this model." if found.leans else ""
    if found.left is None:
        beyond = " beyond the readings' own scatter" if found.slope < 0 else ""
        return f"Airflow: no decline seen{beyond}, {since}.{leans}"
    slope = f"Airflow falls {number(-found.slope, 2)} L/min an hour, {since}"
    if found.left <= 0:
        return f"{slope}: at {number(limit)} by now. Look at the filter.{leans}"
    early = found.early or 0.0
    between = span(early, found.late) if found.late is not None else f"{hours(early)} or more"
    far = " Far beyond what was read: it may come sooner." if found.far else ""
    wild = f" {count(found.wild, 'reading')} far off the line: look at it." if found.wild else ""
    return f"{slope}: at {number(limit)} in about {hours(found.left)} ({between}, 4 times in 5).{far}{wild}{leans}"
