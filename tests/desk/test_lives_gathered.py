"""Lives and rates out of rows: a labelled part that goes on, an end known to the hour, a unit's own rate."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any, cast

import pytest

from cribdesk.crib.lives import BY_ITS_WEARER, End, Use
from cribdesk.crib.records import Custody, Unit
from cribdesk.desk.lives import Dust, Gathered, gather, rate_of
from cribdesk.desk.ports import Reader

NOW = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
BEGUN = NOW - timedelta(days=100)
KEY = ("WL1", "blower")


class Rows:
    """A reader of the columns of these uses and fitted parts."""

    def __init__(self, uses: list[tuple[Any, ...]], fitted: list[tuple[Any, ...]]) -> None:
        self.uses, self.fitted = uses, fitted

    def columns(self, kind: type, names: tuple[str, ...], **_: object) -> list[tuple[Any, ...]]:
        return self.uses if kind is Custody else self.fitted


def unit(id_: int, worn: float = 50.0) -> Unit:
    """A unit of WL1 the crib has had for a hundred days."""
    return Unit(id=id_, label=f"U{id_}", model="WL1", worn_hours=worn, added_at=BEGUN)


def row(
    id_: int, unit_id: int, before: float, removed: tuple[float, str] | None, part: int | None = 3
) -> tuple[Any, ...]:
    """A blower fitted at no hours of its unit, with those it brought; where it came out, at what hours and why."""
    at = NOW - timedelta(days=50) if removed else None
    return (id_, unit_id, "blower", part, BEGUN, 0.0, before, at, *(removed or (None, "")))


def lives(fitted: list[tuple[Any, ...]], last: dict[int, int], uses: list[tuple[Any, ...]] | None = None) -> Gathered:
    """What they tell."""
    found = Gathered()
    reader = cast("Reader", Rows(uses or [], fitted))
    gather(reader, [unit(1), unit(2)], Dust(None, {}), last, NOW, found)
    return found


def test_a_labelled_part_that_goes_on_is_one_life() -> None:
    """Its unit was scrapped at 30 h, it runs on for 50 in another: one life of 80. Worn out first, it is two."""
    there = [row(1, 1, 0.0, (30.0, "unit scrapped")), row(2, 2, 30.0, None)]
    assert [(one.end, one.hours) for one in lives(there, {3: 2}).lives[KEY]] == [(End.RUNNING, 80.0)]
    ended = [row(1, 1, 0.0, (30.0, "unit scrapped"))]
    assert [one.hours for one in lives(ended, {3: 1}).lives[KEY]] == [30.0]
    worn_out = [row(1, 1, 0.0, (30.0, "repair")), row(2, 2, 0.0, None)]
    assert [(one.end, one.hours) for one in lives(worn_out, {3: 2}).lives[KEY]] == [
        (End.CHANGED, 30.0), (End.RUNNING, 50.0),
    ]  # fmt: skip


@pytest.mark.parametrize(("why", "last"), [("repair", 8.0), (f"{BY_ITS_WEARER}, on the way", 0.0)])
def test_what_its_wearer_changed_ended_at_its_hour(why: str, last: float) -> None:
    """Found at the look after a use of 8 h it ended within them; the wearer saw the very hour."""
    uses = [(1, None, NOW - timedelta(days=51), 8.0)]
    (life,) = lives([row(1, 1, 0.0, (30.0, why), None)], {}, uses).lives[KEY]
    assert (life.end, life.last, life.last_loading) == (End.CHANGED, last, last)


def test_a_unit_s_own_rate_is_never_that_of_less_than_a_week() -> None:
    """Three uses of 7 h in the two days it is here: 21 h over seven days; with two uses nothing is told."""
    new = Unit(id=1, label="U1", model="WL1", worn_hours=21.0, added_at=NOW - timedelta(days=2))
    uses = [Use(NOW - timedelta(hours=hours), 7.0, 2.0) for hours in (40, 24, 10)]
    assert rate_of(uses, new, NOW) == (pytest.approx(3.0), 2.0)
    assert rate_of(uses[1:], new, NOW)[0] is None
    old = Unit(id=1, label="U1", model="WL1", worn_hours=21.0, added_at=BEGUN)
    assert rate_of(uses, old, NOW)[0] == pytest.approx(21 / 28)
