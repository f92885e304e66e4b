"""The figures of a finding out of its samples, held against published examples."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.concentration import Amount
from cribdesk.crib.records import Assessment, AssessmentBasis, Sample
from cribdesk.desk.air_figures import STATED, figures_of, sample_amount
from cribdesk.desk.protection import finding as weighed_finding
from tests.desk.shop import house

DAY = date(2026, 3, 4)


def finding(basis: AssessmentBasis = AssessmentBasis.SAMPLES, **fields: object) -> Assessment:
    """A finding of carbon monoxide."""
    made = {"area_id": 1, "substance": "carbon_monoxide", "made_on": DAY, "made_by": "x", "by_id": 1}
    return Assessment(basis=basis, **made | fields)  # type: ignore[arg-type]


def ppm(value: float, minutes: int, series: str = "", on: date = DAY, detected: bool = True) -> Sample:
    """One sample of a gas."""
    return Sample(
        assessment_id=1, value_ppb=round(value * 1000), minutes=minutes, taken_on=on, series=series, detected=detected
    )


def test_the_published_average() -> None:
    """29 CFR 1910.1000(d)(1)(ii): 2 h at 150, 2 h at 75, 4 h at 50 ppm make 81.25 ppm over 8 h."""
    found = figures_of(finding(), [ppm(150, 120), ppm(75, 120), ppm(50, 240)])
    assert found.shift == Amount(ppb=81_250)
    assert "2\u00a0h at 150 + 2\u00a0h at 75 + 4\u00a0h at 50" in found.shift_how
    assert found.short is None


def test_a_long_day_is_divided_by_eight_hours() -> None:
    """worked_examples.md twa2, after 1910.1000(d)(1)(i): 10 h at 90 ppm make 112.5 ppm."""
    assert figures_of(finding(), [ppm(90, 600)], 10).shift == Amount(ppb=112_500)


def test_time_nobody_sampled_is_not_clean() -> None:
    """4 h sampled of 8: the rest counts like the sampled; of 10 h exposed it counts for 10."""
    assert figures_of(finding(), [ppm(40, 240)]).shift == Amount(ppb=40_000)
    found = figures_of(finding(), [ppm(40, 240)], 10)
    assert found.shift == Amount(ppb=50_000)
    assert "the other 6\u00a0h of the exposed time count like the sampled" in found.shift_how
    assert figures_of(finding(), [ppm(40, 240)], 4).shift == Amount(ppb=20_000)  # exposed for 4 h of the shift


def test_series_are_not_added_up() -> None:
    """Three wearers sampled for 8 h each: the highest average counts, not their sum."""
    found = figures_of(finding(), [ppm(20, 480, "A"), ppm(30, 480, "B"), ppm(10, 480, "C")])
    assert found.shift == Amount(ppb=30_000)
    assert [one.series for one in found.averages] == ["B", "A", "C"]


def test_short_samples_tell_the_short_term_level_alone() -> None:
    """15 minutes or less: the highest; they do not count towards the average. 16 minutes count towards it."""
    found = figures_of(finding(), [ppm(20, 480), ppm(60, 15), ppm(90, 10, detected=False)])
    assert found.shift == Amount(ppb=20_000)
    assert found.short == Amount(ppb=90_000)
    assert "below detection: the detection limit counts" in found.short_how
    longer = figures_of(finding(), [ppm(60, 16)])
    assert longer.short is None
    assert longer.shift == Amount(ppb=60_000)


def test_the_higher_of_both_counts() -> None:
    """What the hygienist states, or what the samples tell; then what nobody sampled is as clean as they say it is."""
    made = finding(concentration_ppb=25_000, short_ppb=70_000)
    found = figures_of(made, [ppm(30, 480), ppm(60, 10)])
    assert (found.shift, found.short, found.short_how) == (Amount(ppb=30_000), Amount(ppb=70_000), STATED)
    found = figures_of(made, [ppm(40, 240), ppm(90, 10)])
    assert (found.shift, found.shift_how, found.short) == (Amount(ppb=25_000), STATED, Amount(ppb=90_000))
    assert found.averages[0].amount == Amount(ppb=20_000)


def test_without_a_figure_there_is_none() -> None:
    """Nothing is made up."""
    found = figures_of(finding(AssessmentBasis.STATED), [])
    assert (found.shift, found.short, found.averages) == (None, None, ())
    with pytest.raises(AssertionError):
        sample_amount(Sample(assessment_id=1, minutes=5, taken_on=DAY))


taken = st.builds(
    ppm,
    st.floats(0.5, 200),
    st.integers(1, 120),
    st.sampled_from(["", "A", "B"]),
    st.sampled_from([DAY, date(2026, 3, 5)]),
    st.booleans(),
)
stated = st.none() | st.integers(1, 200_000)


@given(st.lists(taken, max_size=8), stated, stated, st.none() | st.floats(0.5, 16))
def test_what_is_shown_is_what_decides(
    samples: list[Sample], average: int | None, short: int | None, exposed: float | None
) -> None:
    """The figures of the page are those that an issue is weighed by, whatever is stated and sampled."""
    made = finding(concentration_ppb=average, short_ppb=short)
    shown = figures_of(made, samples, exposed)
    weighed = weighed_finding(made, samples, (), house(), DAY, exposed)
    for here, there in ((shown.shift, weighed.average), (shown.short, weighed.short)):
        assert (here is None) == (there is None)
        assert here is None or here.figure == pytest.approx(there, abs=0.0006)
