"""When the next consumable change falls due: by a forecast out of the crib's own history where there is one, else
by the model's rule of thumb; never later than the limits of maker, house and calendar allow."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from cribdesk.crib.forecast import EARLY, HOURS, LATE, MIDDLE, Forecast
from cribdesk.crib.model import Position
from cribdesk.crib.records import Fitted
from cribdesk.crib.serviceable import Standing, calendar_limit
from cribdesk.crib.words import date_words, hours, number

THUMB = "rule of thumb, common practice, no source"
FORECAST = "forecast, from how long such parts lasted here; where few did, the rule of thumb counts too"
LIMIT = "limit of the model"

CAUTION = 0.25
"""An issue is cautioned where a part falls due before the return with at least this chance, one in four (a house
rule): for a usual shift that is about when the rule of thumb would have done so."""


@dataclass(frozen=True)
class PartOutlook:
    """What sits at a position, its hours, and what is left of it.

    `early`, `middle`, `late` are hours left (nine in ten reach the early one, one in ten the late one); by a rule of
    thumb all are one figure. `early_on`, `middle_on`, `late_on` are the same as dates, at `a_day` worn hours a
    calendar day: the unit's own rate where `own_rate`, else the house's. `life_hours` is one whole life. `last_day`
    is the calendar's limit; `due_on` the day that leads, the earliest. None: no limit known.
    """

    position: str
    name: str
    fitted: Fitted | None
    worn_hours: float
    life_hours: float | None
    early: float | None
    middle: float | None
    late: float | None
    last_day: date | None
    due_on: date | None
    why: str
    basis: str
    early_on: date | None = None
    middle_on: date | None = None
    late_on: date | None = None
    a_day: float = 0.0
    own_rate: bool = False
    forecast: Forecast | None = None

    @property
    def binding(self) -> bool:
        """Whether the limit forbids further use. A rule of thumb or a forecast only asks for a look, or a change."""
        return self.basis not in (THUMB, FORECAST)

    def chance(self, worn_hours: float, until: date, dust_ug_m3: int | None = None) -> float | None:
        """The chance that it falls due inside so many worn hours, or by the calendar before `until`.

        None where nothing tells a chance: no forecast. `dust_ug_m3` is that of the area it goes to. What it wore since
        the forecast was made counts as still to come: never less than a forecast made now would say.
        """
        if self.last_day is not None and self.last_day < until:
            return 1.0
        if self.forecast is None or self.late is None:
            return None
        if self.late < min(worn_hours, self.forecast.hours_left(LATE, self.worn_hours)):  # a limit ends it before
            return 1.0
        since = max(0.0, self.worn_hours - self.forecast.worn_hours)
        return self.forecast.chance(worn_hours, self.forecast.per_hour_at(dust_ug_m3), since)


def outlook(standing: Standing, hours_a_day: float) -> tuple[PartOutlook, ...]:
    """Every position along the air path with what is left of it, by the standing's forecasts where it has any.

    `hours_a_day` is the house's: it stands in where the unit itself was used too little to tell a rate.
    """
    rate = _own_rate(standing, hours_a_day)
    there = {one.position: one for one in standing.fitted}
    ordered = sorted(standing.model.positions, key=lambda position: position.order)
    return tuple(_part(position, there.get(position.code), standing, rate) for position in ordered)


def next_change(parts: tuple[PartOutlook, ...]) -> PartOutlook | None:
    """The part that falls due first, or None where nothing has a limit."""
    limited = [part for part in parts if part.fitted is not None and part.due_on is not None]
    return min(limited, key=lambda part: (part.due_on, part.middle if part.middle is not None else 1e9), default=None)


def due_within(
    part: PartOutlook, worn_hours: float, until: date, chance: float = CAUTION, dust_ug_m3: int | None = None
) -> bool:
    """Whether the part falls due inside so many worn hours, or by the calendar before `until`.

    By a forecast: with at least that `chance`, at the dust of the area it goes to where that is given.
    """
    found = part.chance(worn_hours, until, dust_ug_m3)
    if found is not None:
        return found >= chance
    return part.early is not None and part.early < worn_hours


def _own_rate(standing: Standing, hours_a_day: float) -> tuple[float, bool]:
    """The unit's own worn hours a calendar day, and whether it has one; else the house's."""
    own = next((one.a_day for one in standing.forecasts.values() if one.a_day), None)
    return (own, True) if own else (hours_a_day, False)


def _part(position: Position, fitted: Fitted | None, standing: Standing, rate: tuple[float, bool]) -> PartOutlook:
    if fitted is None:
        why = "none fitted" if position.required else "none fitted, not required"
        return PartOutlook(position.code, position.name, None, 0, None, None, None, None, None, None, why, "")
    worn = fitted.worn(standing.unit.worn_hours)
    last_day = calendar_limit(position, fitted)
    forecast = standing.forecasts.get(position.code)
    if forecast is not None and forecast.fitted_id != fitted.id:
        forecast = None  # made for the one that was there before
    left, life = _left(position, worn, forecast)
    a_day, own = rate
    early_on, middle_on, late_on = (_day(one, a_day, last_day, standing.today) for one in left)
    by_calendar = last_day is not None and early_on == last_day != _day(left[0], a_day, None, standing.today)
    allowed = None if position.max_hours is None else position.max_hours - worn
    if by_calendar and last_day is not None:
        why = f"good until {date_words(last_day)}, {hours(worn)} worn"
        basis = "date of the part, or days since it was fitted"
    elif allowed is not None and left[0] == allowed:
        why, basis = f"{hours(worn)} worn of {hours(position.max_hours or 0.0)} allowed", LIMIT
    elif forecast is not None:
        why, basis = _lasts(position, worn, forecast), FORECAST
    elif life is not None:
        why, basis = f"{hours(worn)} worn; the rule of thumb is {hours(life)}", THUMB
    else:
        why, basis = f"{hours(worn)} worn; no limit is set, it is judged by looking", ""
    return PartOutlook(
        position=position.code,
        name=position.name,
        fitted=fitted,
        worn_hours=worn,
        life_hours=life,
        early=left[0],
        middle=left[1],
        late=left[2],
        last_day=last_day,
        due_on=early_on,
        why=why,
        basis=basis,
        early_on=early_on,
        middle_on=middle_on,
        late_on=late_on,
        a_day=a_day,
        own_rate=own,
        forecast=forecast,
    )


def _left(
    position: Position, worn: float, forecast: Forecast | None
) -> tuple[tuple[float | None, float | None, float | None], float | None]:
    """Hours left, early, middle and late, each no more than the limit leaves, and one whole life."""
    if forecast is None:
        life = _shorter(position.thumb_hours, position.max_hours)
        left = None if life is None else life - worn
        return (left, left, left), life
    allowed = None if position.max_hours is None else position.max_hours - worn
    early, middle, late = (_shorter(forecast.hours_left(one, worn), allowed) for one in (EARLY, MIDDLE, LATE))
    return (early, middle, late), _shorter(max(forecast.whole / forecast.per_hour, late or 0.0), position.max_hours)


def _lasts(position: Position, worn: float, forecast: Forecast) -> str:
    """'half of them last 62 h on this model (63 lives seen); this one has 48 h'."""
    if not forecast.changed:
        thumb = f"; the rule of thumb is {hours(position.thumb_hours)}" if position.thumb_hours else ""
        return f"{hours(worn)} worn{thumb}; none of this model has had to be changed here yet"
    if forecast.area:
        return _lasts_there(worn, forecast)
    seen = _lives(forecast.changed)
    if forecast.measure == HOURS:
        return f"on this model it lasts about {_about(forecast.typical)} ({seen} seen); this one has {hours(worn)}"
    dust = f"{number((forecast.dust_ug_m3 or 0) / 1000, 1)} mg/m³"
    return (
        f"on this model it lasts about {_about(forecast.typical)} in {dust} of dust ({seen} seen); "
        f"this one has {hours(worn)}, which load it like {_about(forecast.use)} there"
    )


def _lasts_there(worn: float, forecast: Forecast) -> str:
    """'in Plate shop it lasts about 62 h on this model (14 lives seen there); this one has 48 h'."""
    by_hours = forecast.measure == HOURS
    seen = f"{_lives(forecast.changed_there)} seen{' there' if by_hours else ', by dust'}"
    said = f"in {forecast.area} it lasts about {_about(forecast.typical_there)} on this model ({seen})"
    there = f"{said}; this one has {hours(worn)}"
    if by_hours:
        return there
    like = forecast.use * forecast.typical_there / forecast.typical
    return there if abs(like - worn) < 1 else f"{there}, which load it like {_about(like)} there"


def _lives(many: int) -> str:
    return "1 life" if many == 1 else f"{number(many)} lives"


def _about(given: float) -> str:
    return hours(round(given) if given >= 10 else round(given, 1))


def _day(left: float | None, a_day: float, last_day: date | None, today: date) -> date | None:
    """The day on which so many hours run out, or the calendar's limit where that is earlier."""
    by_hours = None if left is None else today + timedelta(days=_days(left, a_day))
    return min((one for one in (by_hours, last_day) if one is not None), default=None)


def _shorter(*limits: float | None) -> float | None:
    return min((one for one in limits if one is not None), default=None)


def _days(left: float, hours_a_day: float) -> int:
    if left <= 0:
        return 0
    return min(3650, ceil(left / hours_a_day) - 1 if hours_a_day > 0 else 3650)
