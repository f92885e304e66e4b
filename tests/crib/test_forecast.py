"""A forecast read from what is kept, and what it makes of a part's outlook: it only ever shortens."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.change import FORECAST, LIMIT, THUMB, PartOutlook, due_within, outlook
from cribdesk.crib.forecast import HOURS, LOADING, PROBABILITIES, Fit, Forecast
from cribdesk.crib.model import Position
from cribdesk.crib.words import NBSP
from tests.crib.given import TODAY, standing, with_part

AT = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
LEFT = (2.0, 4.0, 6.0, 8.0, 14.0, 24.0, 38.0, 55.0, 80.0)


def forecast(**changes: object) -> Forecast:
    """One made up: early 8 h, middle 24, late 55 for a part with 48 worn."""
    made = Forecast(
        position="pre-filter", fitted_id=0, worn_hours=48.0, use=48.0, per_hour=1.0, left=LEFT, a_day=2.0,
        measure=HOURS, dust_ug_m3=None, changed=63, running=12, typical=62.0, whole=110.0, seq=9, at=AT,
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def part(made: Forecast, position: dict[str, object] | None = None, **changes: object) -> PartOutlook:
    """The pre-filter's outlook with this forecast, 48 h worn; `position` changes the model's limits."""
    there = with_part(standing(), "pre-filter", worn_before_hours=48.0, **changes)
    sits = next(one for one in there.fitted if one.position == "pre-filter")
    places: list[Position] = [
        replace(one, **(position or {})) if one.code == "pre-filter" else one  # type: ignore[arg-type]
        for one in there.model.positions
    ]
    there = replace(
        there,
        model=replace(there.model, positions=tuple(places)),
        forecasts={"pre-filter": replace(made, fitted_id=sits.id)},
    )
    return next(one for one in outlook(there, 7.0) if one.position == "pre-filter")


def test_early_middle_and_late_in_hours_and_days() -> None:
    """8, 24 and 55 h left, at the unit's own 2 h a day; the early day leads."""
    one = part(forecast())
    assert (one.early, one.middle, one.late) == (8, 24, 55)
    assert (one.early_on, one.middle_on, one.late_on) == tuple(TODAY + timedelta(days=days) for days in (3, 11, 27))
    assert one.due_on == one.early_on
    assert (one.a_day, one.own_rate, one.basis, one.binding) == (2.0, True, FORECAST, False)
    assert one.why == f"on this model it lasts about 62{NBSP}h (63 lives seen); this one has 48{NBSP}h"


def test_an_area_with_lives_of_its_own_is_named() -> None:
    """By hours those that ended there; by dust all of them, in the hours that area's dust makes of them."""
    told = forecast(area="Plate shop", typical_there=62.4, changed_there=14, typical=80.0)
    assert part(told).why == (
        f"in Plate shop it lasts about 62{NBSP}h on this model (14 lives seen there); this one has 48{NBSP}h"
    )
    dusty = {"measure": LOADING, "dust_ug_m3": 2000, "changed_there": 63, "area": "Plate shop"}
    told = forecast(typical=93.0, typical_there=62.0, use=81.0, **dusty)
    assert part(told).why == (
        f"in Plate shop it lasts about 62{NBSP}h on this model (63 lives seen, by dust); this one has 48{NBSP}h, "
        f"which load it like 54{NBSP}h there"
    )


def test_without_a_rate_of_its_own_the_house_stands_in() -> None:
    """A unit used too little: 8 h left at the house's 7 h a day is tomorrow."""
    one = part(forecast(a_day=None))
    assert (one.own_rate, one.early_on) == (False, TODAY + timedelta(days=1))


def test_one_made_for_another_part_is_not_used() -> None:
    """After a change the old forecast stands no more: the rule of thumb does, until the new one is made."""
    there = with_part(standing(), "pre-filter", worn_before_hours=48.0)
    stale = replace(there, forecasts={"pre-filter": forecast(fitted_id=10**6)})
    one = next(one for one in outlook(stale, 7.0) if one.position == "pre-filter")
    assert (one.basis, one.middle, one.forecast) == (THUMB, 12, None)


def test_hours_worn_since_are_taken_off() -> None:
    """Made at 45 h, 48 worn now: 3 h less than it said."""
    one = part(forecast(worn_hours=45.0))
    assert (one.early, one.middle) == (5, 21)


def test_what_it_wore_since_counts_into_the_chance() -> None:
    """8 h are left one time in ten: made at 48 h they are so many; made at 45, the 3 h since came off them.

    A forecast made now knows the part came through those 3 h, so it says no less than this.
    """
    now, behind = part(forecast()), part(forecast(worn_hours=45.0))
    assert now.chance(8.0, TODAY) == pytest.approx(0.1)
    assert behind.chance(5.0, TODAY) == pytest.approx(0.1)
    assert behind.chance(8.0, TODAY) == now.chance(11.0, TODAY)
    dusty = part(forecast(worn_hours=45.0, measure=LOADING, dust_ug_m3=2000, per_hour=2.0))
    assert dusty.chance(1.0, TODAY, 4000) == pytest.approx(0.1)  # 3 h x 2, at its own dust, and 1 h x 2
    assert dusty.chance(2.0, TODAY, 2000) == pytest.approx(0.1)  # 3 h x 2, and 2 h x 1 where there is less


def test_the_last_day_itself_is_still_good() -> None:
    """Good until the day it comes back: nothing certain; until the day before: due for certain."""
    assert part(forecast(), expires_on=TODAY).chance(8.0, TODAY) == pytest.approx(0.1)
    assert part(forecast(), expires_on=TODAY - timedelta(days=1)).chance(8.0, TODAY) == 1.0


def test_a_limit_leads_and_binds() -> None:
    """The maker allows 50 h: 2 are left, whatever the forecast says; and that forbids."""
    one = part(forecast(), {"max_hours": 50.0})
    assert (one.early, one.middle, one.late, one.basis, one.binding) == (2, 2, 2, LIMIT, True)
    assert one.chance(3.0, TODAY) == 1.0


def test_the_calendar_leads() -> None:
    """Its date is tomorrow: every day is tomorrow at the latest, and before the day after it is due for sure."""
    one = part(forecast(), expires_on=TODAY + timedelta(days=1))
    assert one.early_on == one.middle_on == one.late_on == one.due_on == TODAY + timedelta(days=1)
    assert one.chance(1.0, TODAY + timedelta(days=2)) == 1.0


limits = st.one_of(st.none(), st.floats(1, 400))
lefts = st.lists(st.floats(0.01, 500), min_size=9, max_size=9).map(lambda found: tuple(sorted(found)))


@given(lefts, limits, st.one_of(st.none(), st.integers(0, 400)), st.floats(0.05, 12), st.floats(0.02, 5))
def test_never_later_than_the_limits(
    left: tuple[float, ...], max_hours: float | None, days: int | None, a_day: float, per_hour: float
) -> None:
    """Whatever a forecast says: no figure beyond the hours allowed, no day beyond the calendar, early before late."""
    expires = None if days is None else TODAY + timedelta(days=days)
    bare = {"max_hours": max_hours, "max_days": None}
    one = part(forecast(left=left, a_day=a_day, per_hour=per_hour), bare, expires_on=expires)
    figures = [one.early, one.middle, one.late]
    assert figures == sorted(figures)  # type: ignore[type-var]
    if max_hours is not None:
        assert all(figure is not None and figure <= max_hours - 48.0 for figure in figures)
    days_told = [one.early_on, one.middle_on, one.late_on]
    assert days_told == sorted(days_told)  # type: ignore[type-var]
    if expires is not None:
        assert all(day is not None and day <= expires for day in days_told)
    assert one.due_on == min(days_told)  # type: ignore[type-var]


@given(lefts, st.floats(0.05, 200), st.floats(0.05, 200), st.floats(0.02, 5))
def test_the_chance_grows_with_the_hours(
    left: tuple[float, ...], first: float, more: float, per_hour: float
) -> None:
    """Never below nought or above one, never less for more hours."""
    made = forecast(left=left, per_hour=per_hour)
    low, high = made.chance(first), made.chance(first + more)
    assert 0 <= low <= high <= 1


@pytest.mark.parametrize("chance", PROBABILITIES)
def test_the_chance_is_that_of_the_hours_left(chance: float) -> None:
    """Within the hours left at a probability the chance is that probability; and so in between."""
    made = forecast()
    assert made.chance(made.hours_left(chance, 48.0)) == pytest.approx(chance)
    assert made.hours_left(0.33, 48.0) == pytest.approx(24.0 - 10.0 * 0.67, abs=1.5)


def test_dust_of_the_area_shortens_it() -> None:
    """By loading: at twice the reference dust twice as much is used, where the area's dust is assessed."""
    made = forecast(measure=LOADING, dust_ug_m3=2000)
    assert made.per_hour_at(4000) == 2.0
    assert made.per_hour_at(None) is None
    assert made.per_hour_at(0) is None
    one = part(made)
    assert one.chance(12.0, TODAY, 4000) == pytest.approx(one.chance(24.0, TODAY))
    assert one.chance(12.0, TODAY, 4000) == pytest.approx(0.5)
    assert "in 2.0 mg/m³ of dust (63 lives seen)" in one.why


def test_cautions_from_one_in_four_the_bench_from_one_in_twenty() -> None:
    """14 h is where one in four is due; the 95 % early bound is 6 h."""
    one = part(forecast())
    assert due_within(one, 14.01, TODAY)
    assert not due_within(one, 13.9, TODAY)
    assert due_within(one, 6.01, TODAY, 0.05)
    assert not due_within(one, 5.9, TODAY, 0.05)


def fit() -> Fit:
    """A fit of two ages."""
    rows = (LEFT, tuple(one / 4 for one in LEFT))
    return Fit(
        "WL1", "pre-filter", HOURS, None, 3, 4, 60.0, 62.0, 110.0, (60, 50, 70), (2, 1, 3), (0.0, 10.0), rows, (), 0.0,
        9, AT,
    )  # fmt: skip


def test_between_two_ages_the_left_lies_between() -> None:
    """At 0 and 10 what is kept; at 5 its geometric mean, as the logs run straight; beyond the last the last."""
    made = fit()
    assert made.left_at(0.0) == pytest.approx(LEFT)
    assert made.left_at(5.0) == pytest.approx([one / 2 for one in LEFT])
    assert made.left_at(10.0) == made.left_at(99.0) == tuple(one / 4 for one in LEFT)


def test_none_had_to_be_changed_yet() -> None:
    """With no life seen the rule of thumb is named beside the forecast that starts from it."""
    one = part(forecast(changed=0))
    assert one.why == (
        f"48{NBSP}h worn; the rule of thumb is 60{NBSP}h; none of this model has had to be changed here yet"
    )


def test_words_are_right_for_one_life() -> None:
    """One life is not '1 lives'."""
    assert "(1 life seen)" in part(forecast(changed=1)).why
