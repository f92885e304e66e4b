"""The picture behind a forecast: survival of such parts with this one's age on it."""

from __future__ import annotations

from cribdesk.crib.forecast import EARLY, LATE, MIDDLE, PROBABILITIES, Fit
from cribdesk.crib.records import Unit
from cribdesk.crib.serviceable import position_name
from cribdesk.desk.cards_lists import LifePicture
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader


def life_picture(reader: Reader, house: House, unit_id: int, position: str) -> LifePicture | None:
    """The picture of one part of a unit, in three queries; None where no forecast of it is kept."""
    unit = reader.get(Unit, unit_id)
    forecast = reader.forecasts([unit_id]).get(unit_id, {}).get(position)
    fit = reader.fits([(unit.model, position)]).get((unit.model, position))
    if forecast is None or fit is None:
        return None
    left = {chance: forecast.hours_left(chance, forecast.worn_hours) * forecast.per_hour for chance in CHANCES}
    name = position_name(house.model_of(unit), position)
    return _picture(fit, name, forecast.use, *(forecast.use + left[chance] for chance in CHANCES))


CHANCES = (EARLY, MIDDLE, LATE)


def fleet_pictures(reader: Reader, house: House) -> dict[tuple[str, str], LifePicture]:
    """The survival curve of every model and position that has a fit, in one query; `age` is nought."""
    found = {}
    for (model, position), fit in sorted(reader.fits().items()):
        if model in house.models:
            left = fit.left_at(0.0)
            name = position_name(house.models[model], position)
            figures = (left[PROBABILITIES.index(chance)] for chance in CHANCES)
            found[model, position] = _picture(fit, name, 0.0, *figures)
    return found


def _picture(fit: Fit, name: str, age: float, early: float, middle: float, late: float) -> LifePicture:
    return LifePicture(
        position=fit.position,
        name=name,
        measure=fit.measure,
        dust_ug_m3=fit.dust_ug_m3,
        curve=fit.curve,
        band=fit.band,
        age=age,
        early=early,
        middle=middle,
        late=late,
        typical=fit.typical,
        changed=fit.changed,
        running=fit.running,
        thumb_hours=fit.thumb_hours,
        scale=fit.scale,
        shape=fit.shape,
        as_of=fit.at,
    )
