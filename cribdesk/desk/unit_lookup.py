"""The unit card and what may be fitted to the unit, in a constant number of queries whatever its history."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime

from cribdesk.crib.change import PartOutlook, next_change, outlook
from cribdesk.crib.hold import PROOF_WORDS, hold_words
from cribdesk.crib.lives import Doubt, clock_doubt
from cribdesk.crib.model import Position, UnitModel
from cribdesk.crib.records import (
    Area,
    Battery,
    CallIn,
    Custody,
    Fitted,
    Lot,
    Part,
    PartPlace,
    Person,
    Reading,
    StockItem,
    Unit,
)
from cribdesk.crib.serviceable import Standing, condition, is_current, position_name
from cribdesk.crib.words import date_words, hours
from cribdesk.desk.airflow_trend import airflow_words, loading_positions, trend_of, with_airflow
from cribdesk.desk.cards import FittedLine, FlowPoint, HoldLine, UnitCard
from cribdesk.desk.facts import standing_of
from cribdesk.desk.house import House
from cribdesk.desk.meters import errors_of
from cribdesk.desk.ports import FILLED, Reader
from cribdesk.desk.recheck import recheck_known
from cribdesk.desk.release import proof_there
from cribdesk.desk.run_time_cards import of_unit
from cribdesk.desk.saying import away_words, inspected_words
from cribdesk.desk.slate import Choice
from cribdesk.desk.timeline import timeline_page
from cribdesk.desk.waste import used_card

FLOW_POINTS = 60
"""So many of the last airflow readings stand in the plot."""

NO_DATE = date.max


def unit_card(
    reader: Reader, house: House, unit_id: int, moment: datetime, rows: int = 20, trend: bool = False
) -> UnitCard:
    """A unit as it stands, with the first page of its timeline, in at most thirty-three queries.

    `trend`: three more, for the airflow's; only the unit's own page asks, as its numbers take time to load.
    Raises LookupError where there is no such unit, or its model has no file.
    """
    unit = reader.get(Unit, unit_id)
    standing = standing_of(reader, house, unit, moment)
    custody = reader.first(Custody, unit_id=unit.id, returned_at=None)
    holder = reader.first(Person, id=custody.person_id) if custody else None
    page = timeline_page(reader, unit.label, count=rows)
    flow = _flow(reader, house, standing)
    loading = loading_positions(house, standing.model)
    parts = with_airflow(outlook(standing, house.hours_a_day), loading, flow, standing.model)
    parts = tuple(_doubted(part, unit, moment) for part in parts)
    upcoming = next_change(parts)
    current = is_current(standing, house.inspected_since(moment))
    battery = _battery(reader, unit, custody)
    return UnitCard(
        unit=unit,
        model=standing.model,
        standing=standing,
        condition=condition(standing),
        custody=custody,
        holder=holder,
        holder_overdue=custody is not None and custody.due_at is not None and custody.due_at < moment,
        where_words=away_words(unit, standing.away, holder, house, moment),
        parts=parts,
        next_change=upcoming,
        fitted=_fitted_lines(reader, standing),
        holds=hold_lines(reader, standing),
        flow=flow,
        air_trend=trend_of(reader, house, unit, standing.model, standing.fitted, flow) if trend else None,
        air_words=airflow_words(parts, loading, flow, standing.model, upcoming),
        battery=battery,
        check="hand-over" if current else "pre-use",
        inspected_words=inspected_words(standing.last_pass, house, moment),
        issues=reader.count(Custody, unit_id=unit.id),
        entries=reader.entry_count(unit.label),
        timeline=page.rows,
        before=page.before,
        last_holder=_last_holder(reader, standing),
        used=used_card(reader, house, standing),
        run_time=of_unit(reader, house, unit, standing.model, battery, standing.fitted, moment),
        area=reader.first(Area, id=custody.area_id) if custody and custody.area_id else None,
        against=recheck_known(reader, house, unit, holder, custody, standing, moment) if custody and holder else (),
        call_in=reader.first(CallIn, custody_id=custody.id, closed_at=None) if custody else None,
    )


def _doubted(part: PartOutlook, unit: Unit, moment: datetime) -> PartOutlook:
    """The part, its hours called doubtful where the clock does not allow them."""
    if part.fitted is None:
        return part
    elapsed = (moment - part.fitted.fitted_at).total_seconds() / 3600
    doubt = clock_doubt(unit.worn_hours - part.fitted.fitted_at_hours, elapsed)
    return part if doubt is None else replace(part, why=f"{part.why}; doubtful, {IN_DOUBT[doubt]}")


IN_DOUBT = {
    Doubt.TOO_MANY: "it has more hours than the clock allows since it was fitted, so it is left out of the forecasts",
    Doubt.SET_BACK: "the clock was set back since it was fitted, so its dust is taken as average",
}


def _last_holder(reader: Reader, standing: Standing) -> Person | None:
    """Who had it last, asked only while the rest of the return is still to be said."""
    last = standing.last_custody
    return reader.first(Person, id=last.person_id) if last and last.completed_at is None else None


def hold_lines(reader: Reader, standing: Standing) -> tuple[HoldLine, ...]:
    """The open holds in words; one query where a battery is to be gone."""
    return tuple(
        HoldLine(
            hold,
            hold_words(standing.model, hold),
            PROOF_WORDS.get(hold.proof, hold.proof),
            proof_there(reader, hold, standing),
        )
        for hold in standing.holds
    )


def offer(reader: Reader, house: House, unit_id: int, position: str, moment: datetime) -> tuple[Choice, ...]:
    """What may be fitted at a position of a unit, first to expire first, in four queries.

    Where parts carry labels of their own: those on the shelf without a fault. Elsewhere: lots on hand. Each of
    an item the model approves there, neither blocked nor past its date. Nothing where the model has no such
    position. Raises LookupError where there is no such unit, or its model has no file.
    """
    unit = reader.get(Unit, unit_id)
    place = house.model_of(unit).position(position)
    if place is None:
        return ()
    items = {one.id: one for one in reader.find(StockItem, code=list(place.items), active=True)}
    lots = reader.find(Lot, item_id=list(items))
    today = house.today(moment)
    if place.labelled:
        parts = reader.find(Part, item_id=list(items), place=PartPlace.SHELF, fault="")
        found = _part_choices(items, lots, parts, place, today)
    else:
        found = _lot_choices(items, lots, today)
    return tuple(choice for _, choice in sorted(found, key=lambda one: one[0]))


Ranked = tuple[tuple[date, int], Choice]
"""A choice with its rank: the day it expires, its id."""


def _lot_choices(items: dict[int, StockItem], lots: Sequence[Lot], today: date) -> list[Ranked]:
    return [
        (
            (lot.expires_on or NO_DATE, lot.id),
            Choice(lot.item_id, lot.id, None, _lot_words(items[lot.item_id], lot), lot.on_hand),
        )
        for lot in lots
        if lot.on_hand > 0 and _good(lot, today)
    ]


def _part_choices(
    items: dict[int, StockItem], lots: Sequence[Lot], parts: Sequence[Part], position: Position, today: date
) -> list[Ranked]:
    by_id = {lot.id: lot for lot in lots}
    found = []
    for part in parts:
        lot = by_id.get(part.lot_id) if part.lot_id else None
        worn_out = position.max_hours is not None and part.worn_hours >= position.max_hours
        if worn_out or (lot is not None and not _good(lot, today)):
            continue
        expires = lot.expires_on if lot and lot.expires_on else NO_DATE
        words = f"{items[part.item_id].name} {part.label}, {hours(part.worn_hours)} worn"
        found.append(((expires, part.id), Choice(part.item_id, part.lot_id, part.id, words, 1)))
    return found


def _good(lot: Lot, today: date) -> bool:
    return not lot.blocked and (lot.expires_on is None or lot.expires_on >= today)


def _lot_words(item: StockItem, lot: Lot) -> str:
    until = f", good until {date_words(lot.expires_on)}" if lot.expires_on else ""
    return f"{item.name}, lot {lot.code}{until}"


def _fitted_lines(reader: Reader, standing: Standing) -> tuple[FittedLine, ...]:
    there = {one.position: one for one in standing.fitted}
    items = {one.id: one.name for one in reader.find(StockItem, id=_ids(one.item_id for one in there.values()))}
    lots = {one.id: one.code for one in reader.find(Lot, id=_ids(one.lot_id for one in there.values()))}
    parts = {one.id: one.label for one in reader.find(Part, id=_ids(one.part_id for one in there.values()))}

    def line(code: str, fitted: Fitted | None) -> FittedLine:
        name = position_name(standing.model, code)
        if fitted is None:
            return FittedLine(code, name, "", "", "", None)
        lot = lots.get(fitted.lot_id, "") if fitted.lot_id else ""
        part = parts.get(fitted.part_id, "") if fitted.part_id else ""
        return FittedLine(code, name, items.get(fitted.item_id, ""), lot, part, fitted)

    known = _along_the_air(standing.model)
    elsewhere = [code for code in there if code not in known]  # the model lost the position, the part is still in
    return tuple(line(code, there.get(code)) for code in (*known, *elsewhere))


def _along_the_air(model: UnitModel) -> list[str]:
    return [position.code for position in sorted(model.positions, key=lambda position: position.order)]


def _flow(reader: Reader, house: House, standing: Standing) -> tuple[FlowPoint, ...]:
    """The readings as they were entered, each with what was found of its meter since; four queries or five."""
    limit = standing.model.flow_minimum_lpm
    readings = reader.newest(Reading, FLOW_POINTS, unit_id=standing.unit.id, flow_lpm=FILLED)
    error = errors_of(reader, house, (one.instrument_id for one in readings))
    return tuple(
        FlowPoint(one.at, one.at_hours, one.flow_lpm or 0.0, limit, error(one.instrument_id, one.at))
        for one in readings
    )


def _battery(reader: Reader, unit: Unit, custody: Custody | None) -> Battery | None:
    inside = reader.first(Battery, unit_id=unit.id)
    if inside is None and custody is not None and custody.battery_id:
        return reader.first(Battery, id=custody.battery_id)
    return inside


def _ids(ids: Iterable[int | None]) -> list[int]:
    return sorted({one for one in ids if one})
