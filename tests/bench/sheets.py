"""One tag and one slip after the first."""

from __future__ import annotations

from functools import partial

from cribdesk.papers import PaperSettings, render
from tests.bench.measure import Row, timed
from tests.papers import samples


def rows() -> list[Row]:
    """The first print loads the library; then each is one of many."""
    found = []
    for name, record in (("tag", samples.tag), ("issue_slip", samples.slip)):
        make = partial(render, name, record, PaperSettings())
        first, later = timed([make]), timed([make] * 30)
        found.append(
            Row(
                f"Paper: {name.replace('_', ' ')}",
                f"median {later.median:.1f} ms, slowest {max(later.seconds) * 1000:.1f} ms",
                f"the first, with its library: {first.median:.0f} ms",
                f"{later.median / first.median:.2f}",
                "under 100 ms after the first",
            )
        )
    return found
