"""What the sample is made from: the CSV files in `inputs/`, read once."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent / "inputs"


@dataclass(frozen=True)
class Life:
    """Of a part: Weibull shape and scale, in worn hours, or in hours of the reference dust (use 'dust')."""

    shape: float
    scale_hours: float
    by_dust: bool


@dataclass(frozen=True)
class Somebody:
    """One person, as the crib would enter them. `need` is the chance to draw a unit on a working day."""

    name: str
    trade: str
    crew: str
    employer: str
    roles: tuple[str, ...]
    joined_on: date | None
    ends_on: date | None
    wears: str
    need: float
    home_area: str


def rows(name: str) -> list[dict[str, str]]:
    """The rows of one file."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def day_or_none(text: str) -> date | None:
    """A date, or None where the field is empty."""
    return date.fromisoformat(text) if text else None


def number_or_none(text: str) -> int | None:
    """A whole number, or None where the field is empty."""
    return int(text) if text else None


@cache
def people() -> tuple[Somebody, ...]:
    """Everybody, staff first."""
    return tuple(
        Somebody(
            name=row["name"],
            trade=row["trade"],
            crew=row["crew"],
            employer=row["employer"],
            roles=tuple(role for role in row["roles"].split(",") if role),
            joined_on=day_or_none(row["joined_on"]),
            ends_on=day_or_none(row["ends_on"]),
            wears=row["wears"],
            need=float(row["need"]),
            home_area=row["home_area"],
        )
        for row in rows("people")
    )


@cache
def lives() -> dict[tuple[str, str], Life]:
    """The true life of each part by model and position."""
    return {
        (row["model"], row["position"]): Life(
            float(row["shape"]), float(row["scale_hours"]), row["use"] == "dust"
        )
        for row in rows("lives")
    }


@cache
def figures() -> dict[str, float]:
    """The other true figures by name."""
    return {row["name"]: float(row["value"]) for row in rows("figures")}


@cache
def closed_days() -> tuple[tuple[date, date], ...]:
    """First and last day of each time the site is closed."""
    return tuple(
        (date.fromisoformat(row["first"]), date.fromisoformat(row["last"])) for row in rows("closed")
    )
