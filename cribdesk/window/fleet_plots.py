"""What the fleet picture draws and keeps in files: repairs by age, lives by position, and every figure as a table."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from cribdesk.crib.words import count, hours, number
from cribdesk.desk.fleet_cards import FleetModel, FleetPicture
from cribdesk.window.components.plot import Band, Line, PlotData, ticks
from cribdesk.window.survival import LIFE_HEADS, life_rows, survival_plot

TWO_SIDED = 1.96  # standard errors to each side for 95 times in 100, by the normal curve
Rows = list[Sequence[object]]


def repairs_plot(model: FleetModel) -> PlotData | None:
    """Mean cumulative repairs of one unit by its worn hours, with where the mean lies 95 times in 100."""
    points = model.repairs.points
    if not points:
        return None
    right, last = max(model.repairs.end, 1.0), points[-1]
    steps = ((0.0, 0.0), *((age, value) for age, value, _ in points), (right, last[1]))
    band: list[tuple[float, float, float]] = []
    low = high = 0.0
    for age, value, error in points:  # a step keeps its bounds until the next
        band += [(age, low, high)]
        low, high = max(0.0, value - TWO_SIDED * error), value + TWO_SIDED * error
        band += [(age, low, high)]
    band.append((right, low, high))
    top = max(1.0, ceil(2 * max(one[2] for one in band)) / 2)
    told = (
        f"Repairs of one {model.name}, on average, by hours worn since the crib has it: "
        f"{number(last[1], 1)} by {hours(last[0])} ({number(low, 1)} to {number(high, 1)}, 95 times in 100)."
    )
    return PlotData(
        x=(0.0, right), y=(0.0, top), x_ticks=ticks(0.0, right, 6), y_ticks=ticks(0.0, top, 4),
        x_name="hours worn since the crib has it", y_name="repairs of one unit", told=told,
        lines=(Line(steps, "step", "mean"),), bands=(Band(tuple(band)),),
    )  # fmt: skip


def rate_words(model: FleetModel) -> str:
    """The failure rate with its interval, out of what, and when it means nothing."""
    rate = model.rate
    if rate is None:
        return "No hour was worn in the last year: there is no failure rate."
    seen = f"{count(rate.repairs, 'repair')} in {hours(rate.hours)} worn in the last year"
    if not rate.repairs:
        return f"{seen}: at most {number(rate.high, 1)} in 1 000 h, 95 times in 100."
    return (
        f"{number(rate.rate, 1)} repairs in 1 000 h worn ({number(rate.low, 1)} to {number(rate.high, 1)}, 95 times "
        f"in 100, chi-square): {seen}. It takes the rate as constant; of parts that wear out their lives tell more."
    )


def money(cents: float | None) -> str:
    """'48.50', in the site's own money; 'no price' where the item has none."""
    return "no price" if cents is None else number(cents / 100, 2)


def plots(picture: FleetPicture) -> list[tuple[str, PlotData]]:
    """Every plot with the name its file gets."""
    made = []
    for model in picture.models:
        repairs = repairs_plot(model)
        if repairs is not None:
            made.append((f"{model.code} repairs", repairs))
        made += [(f"{model.code} {one.position} life", survival_plot(one)) for one in model.lives]
    return made


def tables(picture: FleetPicture) -> list[tuple[str, Rows]]:
    """Every table with the name its file gets, heads first. Rates are for 1000 worn hours, costs in whole money."""
    units: Rows = [("label", "model", "repairs", "worn_hours", "expected", "chance", "worse", "faults")]
    units += [
        (one.label, one.model, one.repairs, one.hours, one.expected, one.chance, one.worse, one.faults)
        for one in picture.worst
    ]
    faults: Rows = [("fault", "count", "units", "share_so_far")]
    faults += [(one.name, one.count, one.units, one.share) for one in picture.faults]
    rates: Rows = [("model", "units", "repairs", "worn_hours", "rate", "low_95", "high_95")]
    repairs: Rows = [("model", "worn_hours", "mean_repairs", "robust_standard_error")]
    lives: Rows = [LIFE_HEADS]
    fits: Rows = [
        ("model", "position", "measure", "changed", "running", "scale", "scale_low", "scale_high", "shape",
         "shape_low", "shape_high", "rule_of_thumb_hours")
    ]  # fmt: skip
    changes: Rows = [("model", "position", "changes", "still_good", "worn_hours_at_each", "cost_of_one")]
    for model in picture.models:
        if model.rate is not None:
            rate = model.rate
            rates.append((model.code, model.units, rate.repairs, rate.hours, rate.rate, rate.low, rate.high))
        repairs += [(model.code, *point) for point in model.repairs.points]
        for life in model.lives:
            named = (model.code, life.position, life.measure)
            lives += life_rows(model.code, life)
            fits.append((*named, life.changed, life.running, *life.scale, *life.shape, life.thumb_hours or ""))
        changes += [
            (model.code, one.position, one.count, one.still_good, one.hours,
             "" if one.cost_cents is None else one.cost_cents / 100)
            for one in model.changes
        ]  # fmt: skip
    return [("worst units", units), ("faults", faults), ("rates", rates), ("repairs", repairs),
            ("lives", lives), ("life fits", fits), ("changes", changes)]  # fmt: skip
