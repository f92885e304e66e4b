"""The table of a life model against the model itself."""

from __future__ import annotations

import numpy as np
import pytest

from cribdesk.compute.life import fit_life
from cribdesk.compute.life_table import life_table

CHANCES = (0.005, 0.05, 0.1, 0.5, 0.9, 0.98)
CASES: dict[str, tuple[list[float], list[float], list[tuple[float, float]]]] = {
    "none": ([], [], []),
    "one change": ([25.0], [], []),
    "all running": ([], [60.0, 70.0, 80.0], []),
    "mixed": ([22.0, 31.0, 35.0, 44.0], [10.0, 28.0, 50.0], []),
    "between": ([], [20.0], [(24.0, 32.0), (40.0, 48.0)]),
}
"""The rows of methods.md 1d."""


@pytest.mark.parametrize("case", CASES)
def test_agrees_with_the_model(case: str) -> None:
    """At every age kept, the use left is that of the model within 1 %; the curve is its survival."""
    model = fit_life(*CASES[case], typical_hours=40)
    table = life_table(model, CHANCES)
    for age, row in zip(table.ages, table.left, strict=True):
        if age > 120:  # further than parts of a life of 40 h ever come
            continue
        exact = [model.remaining(age, chance, counted=True) for chance in CHANCES]
        assert row == pytest.approx(exact, rel=0.01)
    hours = np.array([one for one, _ in table.curve])
    assert [share for _, share in table.curve] == pytest.approx(model.survival(hours).tolist(), abs=1e-9)


def test_reaches_beyond_the_oldest() -> None:
    """A part older than five typical lives still lies inside the table."""
    model = fit_life((), (900.0,), typical_hours=40)
    assert life_table(model, CHANCES, 900.0).ages[-1] >= 1800


def test_refuses_what_is_no_chance() -> None:
    """A chance of 0 or 1, or a negative age, has no answer."""
    model = fit_life((), typical_hours=40)
    with pytest.raises(ValueError, match="between 0 and 1"):
        life_table(model, (0.0, 0.5))
    with pytest.raises(ValueError, match="negative"):
        life_table(model, (0.5,), -1.0)


@pytest.mark.parametrize("case", CASES)
def test_the_band_holds_the_curve_drawn_from_the_laws(case: str) -> None:
    """Oracle: 20 000 laws drawn by weight with numpy: 95 in 100 of their shares lie inside, and so does the curve.

    The laws stand on a grid, so a share beyond a bound is the one meant within 0.8 points (draws alone: 0.3).
    """
    model = fit_life(*CASES[case], typical_hours=40)
    table = life_table(model, CHANCES)
    drawn = np.random.default_rng(5).choice(model.weight.size, 20_000, p=model.weight)
    assert table.band[0] == (1.0, 1.0)
    for (use, share), (low, high) in list(zip(table.curve, table.band, strict=True))[1:40:4]:
        shares = np.exp(-((use / model.scale[drawn]) ** model.shape[drawn]))
        assert low <= share <= high
        assert np.mean(shares < low) == pytest.approx(0.025, abs=0.008)
        assert np.mean(shares > high) == pytest.approx(0.025, abs=0.008)


def test_more_lives_draw_the_band_together() -> None:
    """The band of a hundred lives is under half as wide as the rule of thumb's alone."""
    lives = (45 * np.random.default_rng(3).weibull(2.0, 100)).tolist()
    none, many = (life_table(fit_life(ones, typical_hours=40), CHANCES) for ones in ([], lives))
    wide = [max(high - low for low, high in table.band) for table in (none, many)]
    assert wide[1] < wide[0] / 2
