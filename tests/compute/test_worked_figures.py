"""Every worked figure of resources/tables/worked_figures.csv, each with its source and how that was checked."""

import csv
import json
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

TABLE = Path(__file__).parents[2] / "resources" / "tables" / "worked_figures.csv"
CHECKED = {
    "verified",  # figures seen in published text
    "memory",  # quoted from memory of the source, recomputed
    "constructed",  # a case made from a published formula
    "computed",  # computed with the named library or formula
}
FUNCTIONS = {
    "exposure.time_weighted_average", "exposure.mixture_index", "exposure.hazard_ratio",
    "exposure.maximum_use_concentration", "exposure.effective_factor", "exposure.long_shift_factor",
    "exposure.tolerance_factor", "exposure.describe", "exposure.upper_tolerance_limit",
    "exposure.exceedance_limits", "reorder.normal_loss", "reorder.safety_stock", "reorder.economic_quantity",
    "reorder.packs", "charging.ready_times", "charging.short", "fleet.mean_cumulative", "fleet.failure_rate",
    "fleet.spares", "demand.croston", "demand.sba", "demand.tsb",
}  # fmt: skip

with TABLE.open(encoding="utf-8", newline="") as text:
    FIGURES = list(csv.DictReader(text))


def reached(figure: dict[str, str]) -> Any:
    """What our function gives for the figure's arguments, narrowed to the part that was published."""
    room, name = figure["function"].split(".")
    given = getattr(import_module(f"cribdesk.compute.{room}"), name)(**json.loads(figure["arguments"]))
    part = figure["part"]
    if part == "first two":
        return [point[:2] for point in given]
    if part == "errors":
        asked = {age for age, _ in json.loads(figure["expected"])}
        return [(age, error) for age, _, error in given if age in asked]
    return getattr(given, part) if part else given


def flat(value: Any) -> list[float]:
    """All numbers of a nested list, in order."""
    if isinstance(value, list | tuple):
        return [number for part in value for number in flat(part)]
    return [float(value)]


@pytest.mark.parametrize("figure", FIGURES, ids=lambda figure: f"{figure['row_id']} {figure['checked']}")
def test_worked_figure(figure: dict[str, str]) -> None:
    """Our function meets the figure of the source named in its row, to the digits printed."""
    expected = flat(json.loads(figure["expected"]))
    assert flat(reached(figure)) == pytest.approx(expected, abs=float(figure["tolerance"]), rel=0), figure["source"]


def test_the_table_itself_is_sound() -> None:
    """Each row has its own name, a source and a known status, and no function is left without a figure."""
    names = [figure["row_id"] for figure in FIGURES]
    assert len(names) == len(set(names))
    assert all(figure["source"] and figure["checked"] in CHECKED for figure in FIGURES)
    assert {figure["function"] for figure in FIGURES} == FUNCTIONS
    assert all(0 <= float(figure["tolerance"]) <= 0.06 for figure in FIGURES)
