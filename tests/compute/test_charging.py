"""The charging order against a queue simulation, against every other order, and against hand counts."""

import itertools
import math
import random
from collections.abc import Callable, Generator, Sequence
from typing import Any

import pytest
import simpy
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.compute.charging import ready_times, short

quarters = st.integers(0, 60).map(lambda count: count / 4)


def queued(returned: Sequence[float], chargers: int, charge: float, busy: Sequence[float]) -> list[float]:
    """The ready times by a simulated queue: batteries wait in order of return for the charger free first."""
    world = simpy.Environment()
    places = simpy.Resource(world, capacity=chargers)
    ready: list[float] = []

    def occupied(hours: float) -> Generator[Any, Any, None]:
        with places.request() as place:
            yield place
            yield world.timeout(hours)

    def battery(hour: float) -> Generator[Any, Any, None]:
        yield world.timeout(hour)
        with places.request() as place:
            yield place
            yield world.timeout(charge)
            ready.append(world.now)

    for hours in busy:
        world.process(occupied(hours))
    for hour in sorted(returned):
        world.process(battery(hour))
    world.run()
    return ready


@pytest.mark.parametrize("cases", [80, pytest.param(1500, marks=pytest.mark.long)])
@pytest.mark.parametrize("busy", [False, True])
def test_a_simulated_queue_agrees(cases: int, busy: bool) -> None:
    """Oracle simpy: random returns, chargers and times, all free or still charging something."""
    draw = random.Random(4)
    for _ in range(cases):
        chargers = draw.randint(1, 5)
        returned = [draw.randint(0, 40) / 4 for _ in range(draw.randint(1, 20))]
        charge = draw.randint(1, 16) / 4
        free_at = [draw.randint(0, 24) / 4 for _ in range(chargers)] if busy else None
        expected = queued(returned, chargers, charge, free_at or [])
        assert ready_times(returned, chargers, charge, free_at) == expected


def test_no_other_order_has_more_ready() -> None:
    """With equal charge times no order of the batteries has more ready at any moment."""
    draw = random.Random(9)
    for _ in range(40):
        chargers = draw.randint(1, 3)
        returned = [draw.randint(0, 12) / 2 for _ in range(5)]
        charge = draw.choice([1.0, 2.5, 3.0])
        ours = ready_times(returned, chargers, charge)
        for order in itertools.permutations(returned):
            free, other = [0.0] * chargers, []
            for hour in order:
                first = free.index(min(free))
                free[first] = max(free[first], hour) + charge
                other.append(free[first])
            assert all(mine <= theirs for mine, theirs in zip(ours, sorted(other), strict=True))


@given(st.integers(1, 30), st.integers(1, 6), st.integers(1, 16), st.integers(0, 200))
def test_count_ready_when_all_wait(batteries: int, chargers: int, charge: int, deadline: int) -> None:
    """All waiting at 0: min(n, c floor(d / p)) are ready by d (whole quarters of an hour)."""
    ready = ready_times([0] * batteries, chargers, charge / 4)
    assert sum(hour <= deadline / 4 for hour in ready) == min(batteries, chargers * (deadline // charge))


@given(st.lists(quarters, min_size=1, max_size=15), st.integers(1, 4), st.integers(1, 12))
def test_ready_times_keep_their_promises(returned: list[float], chargers: int, charge: int) -> None:
    """Never before return plus charge, in order, whatever the order given, and an extra charger never hurts."""
    ready = ready_times(returned, chargers, charge / 4)
    assert ready == sorted(ready) == ready_times(returned[::-1], chargers, charge / 4)
    assert all(done >= hour + charge / 4 for done, hour in zip(ready, sorted(returned), strict=True))
    more = ready_times(returned, chargers + 1, charge / 4)
    assert all(quicker <= slower for quicker, slower in zip(more, ready, strict=True))


def test_a_charger_at_work_has_its_remaining_time() -> None:
    """Trap: a battery already charging ends at its own time, not a whole charge later."""
    assert ready_times([0, 0], 2, 3, free_at=[0.5, 2]) == [3.5, 5]
    assert ready_times([4, 4], 2, 3, free_at=[0.5, 2]) == [7, 7]


def test_without_chargers_nothing_is_ever_ready() -> None:
    """No charger: every ready time is infinite, and every start is short of all it needs."""
    ready = ready_times([0, 1], 0, 3)
    assert ready == [math.inf, math.inf]
    assert short(ready, [8], [2]) == [2]


def test_ready_at_the_start_counts() -> None:
    """Ready exactly at the start counts, also where tenths of hours add up to a little more."""
    assert 0.1 + 0.2 > 0.3
    assert short([0.1 + 0.2], [0.3], [1]) == [0]
    assert short([0.31], [0.3], [1]) == [1]
    assert short([3, 6, 9], [6], [2]) == [0]


def test_needs_are_cumulative_over_starts() -> None:
    """The second shift's need holds the first's batteries too, in whatever order the starts are given."""
    assert short([3, 6, 9, 12], [6, 14], [3, 5]) == [1, 1]
    assert short([3, 6, 9, 12], [14, 6], [5, 3]) == [1, 1]


@given(st.lists(quarters, min_size=1, max_size=12), quarters, st.integers(0, 15))
def test_short_is_never_negative(ready: list[float], start: float, needed: int) -> None:
    """Short and ready together make up the need, or there are enough."""
    missing = short(ready, [start], [needed])[0]
    assert missing == max(0, needed - len([hour for hour in ready if hour <= start]))


REFUSED: list[tuple[Callable[..., Any], tuple[Any, ...], str]] = [
    (ready_times, ([], 2, 3), "none"),
    (ready_times, ([-1], 2, 3), "negative"),
    (ready_times, ([math.nan], 2, 3), "finite"),
    (ready_times, ([1], -1, 3), "0 or more"),
    (ready_times, ([1], 1.5, 3), "whole"),
    (ready_times, ([1], 2, 0), "above zero"),
    (ready_times, ([1], 2, 3, [0]), "2 chargers and 1"),
    (ready_times, ([1], 2, 3, [0, -1]), "negative"),
    (short, ([], [1], [1]), "none"),
    (short, ([1], [], []), "none"),
    (short, ([1], [1, 2], [1]), "as many"),
    (short, ([math.nan], [1], [1]), "finite"),
    (short, ([1], [1], [-1]), "0 or more"),
    (short, ([1], [6, 14], [5, 3]), "cumulative"),
]


@pytest.mark.parametrize(("function", "arguments", "reason"), REFUSED)
def test_bad_input_is_refused(function: Callable[..., Any], arguments: tuple[Any, ...], reason: str) -> None:
    """What cannot be right raises ValueError, and the sentence says what is wrong."""
    with pytest.raises(ValueError, match=reason):
        function(*arguments)
