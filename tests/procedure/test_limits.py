"""Limit kinds: what they hold, and how they print themselves."""

from __future__ import annotations

import pytest

from cribdesk.procedure.limits import LIMITS, AtLeast, AtMost, Between, Plausible, figure, register


@pytest.mark.parametrize(
    ("kind", "low", "high", "unit", "words"),
    [
        ("at least", 120.0, None, "s", "at least 120 s"),
        ("at most", None, 43.0, "°C", "at most 43 °C"),
        ("between", 15.0, 20.0, "s", "15 to 20 s"),
        ("plausible", 170.0, 206.0, "L/min", "at least 170 L/min"),
    ],
)
def test_each_kind_prints_itself(
    kind: str, low: float | None, high: float | None, unit: str, words: str
) -> None:
    """Every kind of the register says its limit in words."""
    assert LIMITS[kind].make(low, high, unit).words == words


def test_no_kind_of_the_register_goes_untested() -> None:
    """A new limit kind must be added to the test above."""
    assert set(LIMITS) == {"at least", "at most", "between", "plausible"}


def test_the_limit_itself_is_inside() -> None:
    """170 passes where 170 is asked; a hair less does not."""
    limit = Plausible(170, 206, "L/min")
    assert [limit.side(value) for value in (169.9, 170, 206, 206.1)] == ["low", "in", "in", "high"]
    assert Between(15, 20, "s").holds(15)
    assert Between(15, 20, "s").holds(20)
    assert not Between(15, 20, "s").holds(20.01)
    assert AtMost(None, 43, "").side(44) == "high"
    assert AtLeast(120, None, "s").side(1e9) == "in"


def test_a_mean_does_not_fail_by_a_floats_last_digit() -> None:
    """A mean that is 170 on paper passes at 170."""
    assert Plausible(170, 206, "L/min").holds((169.9 + 170.0 + 170.1) / 3 - 1e-12)


def test_figures_read_as_people_write_them() -> None:
    """One decimal at most, and none when it is whole."""
    assert [figure(value) for value in (170.0, 16.84, 0.0, 1000.0)] == ["170", "16.8", "0", "1000"]


def test_a_name_is_given_once() -> None:
    """The register refuses a second limit kind of the same name."""
    with pytest.raises(ValueError, match="there already"):
        register("between", ("low", "high"), Between)


def test_a_limit_without_its_figure_says_so() -> None:
    """A kind that lacks its figure cannot print a nonsense limit."""
    with pytest.raises(ValueError, match="lacks a figure"):
        str(AtLeast(None, None, "s"))
