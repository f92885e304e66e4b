"""The one decision: compute's own guarded rule and mean are its oracle, a published guard band its figure."""

from __future__ import annotations

from statistics import NormalDist, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.compute.airflow import judge, mean_uncertainty
from cribdesk.crib.flow import FAIL, PASS, TOO_CLOSE, decide, mean_guard, round_up, sure_from

GUARD = 4.9346
"""JCGM 106:2012, guarded acceptance at 95 %: 1.645 x 3 L/min."""


@pytest.mark.parametrize(
    ("flow", "verdict"), [(174.9346, PASS), (174.93, TOO_CLOSE), (170, TOO_CLOSE), (165.1, TOO_CLOSE), (165, FAIL)]
)
def test_the_zones_of_a_meter_of_three_litres(flow: float, verdict: str) -> None:
    """Worked figures (computed): limit 170, u 3: acceptance from 174.9346, rejection under 165.0654."""
    assert decide(flow, 170, GUARD) == verdict


def test_the_edges_belong_to_the_better_side() -> None:
    """JCGM 106: accepted from the minimum and the band on, rejected only under the minimum less the band."""
    assert [decide(flow, 170, 5) for flow in (175, 174.999, 165, 164.999)] == [PASS, TOO_CLOSE, TOO_CLOSE, FAIL]


def test_without_a_band_the_minimum_itself_decides() -> None:
    """42 CFR 84.179(a): 170 L/min is enough, 169.9 is not, nothing is too close."""
    assert (decide(170, 170, 0), decide(169.9, 170, 0)) == (PASS, FAIL)
    assert decide(170.3 - 0.3, 170, 0) == PASS


@given(st.floats(0, 400), st.floats(100, 250), st.floats(0.1, 20))
def test_it_agrees_with_compute(flow: float, minimum: float, uncertainty: float) -> None:
    """Oracle: compute's judge, itself held to JCGM 106, wherever a float's last digit does not decide."""
    told = judge(flow, minimum, uncertainty)
    guard = told.accept_at - minimum
    if min(abs(flow - minimum - guard), abs(flow - minimum + guard)) > 1e-5:
        assert decide(flow, minimum, guard) == told.verdict


@given(st.lists(st.floats(100, 250), min_size=2, max_size=3), st.floats(0.1, 20))
def test_a_scattered_mean_needs_more(flows: list[float], uncertainty: float) -> None:
    """Oracle: compute's mean_uncertainty (GUM): only the scatter shrinks with the number, and the band never does."""
    factor = NormalDist().inv_cdf(0.95)
    told = mean_guard(factor * uncertainty, uncertainty, flows)
    assert told == pytest.approx(factor * mean_uncertainty(uncertainty, stdev(flows), len(flows)))
    assert told >= factor * uncertainty - 1e-9


def test_what_is_needed_is_said_so_that_it_is_enough() -> None:
    """Rounded up to the tenth: 174.9346 is said as 175, 170.01 as 170.1, and 170.3 stays."""
    assert [round_up(one) for one in (sure_from(170, GUARD), 170.01, 170.3)] == [175.0, 170.1, 170.3]
    assert mean_guard(GUARD, 3, [172.0]) == GUARD
