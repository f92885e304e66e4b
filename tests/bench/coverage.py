"""How often intervals hold the truth over repeated simulations: `python -m tests.bench.coverage` prints the table.

The simulations are those of the tests, at their full counts. It takes some minutes on one processor.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path


@dataclass(frozen=True)
class Found:
    """One line: what was tried, how often the interval says it holds, how often it did, in how many draws."""

    what: str
    says: float
    held: float
    draws: int

    @property
    def band(self) -> tuple[float, float]:
        """Where the share lies when the interval keeps its word: three binomial deviations to each side."""
        far = 3 * math.sqrt(self.says * (1 - self.says) / self.draws)
        return self.says - far, min(1.0, self.says + far)

    @property
    def verdict(self) -> str:
        """In words, over and under told apart."""
        low, high = self.band
        return "under" if self.held < low else "over: wider than it need be" if self.held > high else "inside"


def lives() -> Iterator[Found]:
    """Life: the two figures of the law, and what is left of fitted parts."""
    from tests.compute.test_life import coverage
    from tests.desk.test_forecast_coverage import covered

    stores = 400
    scale, shape, left = coverage(stores, 40)
    yield Found("Life: scale, stores of 40 lives", 0.95, scale, stores)
    yield Found("Life: shape, stores of 40 lives", 0.95, shape, stores)
    yield Found("Life: what is left of a new unit's part, early to late", 0.80, left, stores)
    _, inside, _, total = covered(20261125)
    yield Found("Forecast: what is left, early to late, 400 fitted parts of 8 cribs", 0.80, inside, total)
    many = [covered(seed) for seed in range(20)]
    total = sum(one[3] for one in many)
    yield Found("Forecast: the same over 160 cribs", 0.80, sum(one[1] * one[3] for one in many) / total, total)
    yield Found("Forecast: due before the early bound", 0.10, sum(one[0] * one[3] for one in many) / total, total)


def airflow() -> Iterator[Found]:
    """Airflow: when the line is at the minimum."""
    from tests.compute.test_decline import FLEET, coverage
    from tests.compute.test_trend import crossing_coverage

    yield Found("Airflow: crossing, Fieller, 8 readings", 0.80, crossing_coverage(5_000), 5_000)
    for readings in (6, 10):
        yield Found(f"Airflow: hours to 170 L/min, {readings} readings", 0.80, coverage(2_000, readings, None), 2_000)
    for readings in (1, 2, 3):
        name = f"Airflow: the same, {readings} and the fleet's slope"
        yield Found(name, 0.80, coverage(2_000, readings, FLEET), 2_000)


RUN_NAMES = {
    "cycles": "fade by cycles", "filter_hours": "load by filter hours", "speed": "speed", "altitude_km": "altitude",
    "battery": "a pack's own share", "unit": "a unit's own drag",
}  # fmt: skip


def run_times() -> Iterator[Found]:
    """Run times: slopes, packs, units."""
    from tests.compute.test_runtime import coverage

    seeds = 400
    for name, share in coverage(seeds).items():
        draws = seeds * {"battery": 12, "unit": 8}.get(name, 1)
        yield Found(f"Run time: {RUN_NAMES[name]}", 0.95, share, draws)


def sample() -> Iterator[Found]:
    """The sample store, whose truth is known."""
    from tests.desk.test_forecast_coverage import recovered

    with tempfile.TemporaryDirectory() as folder:
        found = recovered(Path(folder))
    yield Found("Sample store: shapes and scales", 0.95, sum(held for _, held in found) / len(found), len(found))


def main() -> int:
    """Every row."""
    print(f"Measured {datetime.now(UTC):%d %B %Y} by `python -m tests.bench.coverage`.\n")
    print("| what | says | held | of | three deviations | |\n|---|---|---|---|---|---|")
    for made in (lives, airflow, run_times, sample):
        for one in made():
            low, high = one.band
            shares = f"{one.says:.0%} | {one.held:.1%} | {one.draws} | {low:.1%} to {high:.1%}"
            print(f"| {one.what} | {shares} | {one.verdict} |", flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
