"""Measures everything and writes tests/bench/RESULTS.md: `python -m tests.bench`."""

from __future__ import annotations

import os
import platform
import tempfile
from datetime import UTC, datetime
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

RESULTS = Path(__file__).with_name("RESULTS.md")


def main() -> int:
    """Every row, in one run."""
    from cribdesk.opening import finished_sample, load_house
    from cribdesk.window.start import application
    from tests.bench import cards, forecasts, issues, sheets, shift, starts, stock

    house, _ = load_house()
    begun = datetime.now(UTC)
    sample = finished_sample()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        rows = [starts.row(sample, folder)]
        application([], 1.0, "light")
        rows += cards.rows(sample, house, folder)
        rows.append(issues.row(house, folder))
        rows += sheets.rows()
        rows.append(shift.row(house, folder))
        rows += forecasts.rows(house, folder)
        rows += stock.rows(house, folder)
    lines = [
        "# Speed",
        "",
        f"Measured {begun:%d %B %Y} by `python -m tests.bench` on {machine()}.",
        "Times depend on the machine; the ratios are of one run.",
        "",
        "| what | ours | held against | ratio | asked |",
        "|---|---|---|---|---|",
        *(f"| {row.what} | {row.ours} | {row.against} | {row.ratio} | {row.asked} |" for row in rows),
        "",
    ]
    RESULTS.write_text("\n".join(lines), encoding="utf-8")
    print("\n".join(lines))
    return 0


def machine() -> str:
    """The machine in a few words."""
    load = f", load {os.getloadavg()[0]:.1f} at the end" if hasattr(os, "getloadavg") else ""
    return f"{os.cpu_count()} cores, {platform.system()} {platform.machine()}, Python {platform.python_version()}{load}"


if __name__ == "__main__":
    raise SystemExit(main())
