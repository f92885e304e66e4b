"""Concentrations keep their unit: nothing is mixed up, nothing goes into another unit without a known molar mass."""

from __future__ import annotations

import pytest

from cribdesk.crib.concentration import Amount, amount, amount_of, concentration_words, needed, plain


def test_particles_by_mass() -> None:
    """mg/m3 and ug/m3 are told apart by a thousand; the store keeps ng/m3."""
    assert amount_of(0.18, "mg/m3", True) == Amount(ng_m3=180_000)
    assert amount_of(180, "ug/m3", True) == Amount(ng_m3=180_000)
    assert str(Amount(ng_m3=180_000)) == "0.18\u00a0mg/m³"
    assert amount_of(0.2, "ug/m3", True).figure == 0.0002


@pytest.mark.parametrize(
    ("mg_m3", "formula", "ppm"),
    [
        (0.405, "COCl2", 0.1),  # worked_examples.md cv4: NIOSH Pocket Guide, 1 ppm = 4.05 mg/m3
        (0.196, "O3", 0.1),  # worked_examples.md cv3: NIOSH convention, from memory
    ],
)
def test_a_gas_goes_over_by_its_molar_mass(mg_m3: float, formula: str, ppm: float) -> None:
    """At 25 C and 1 atm, where its molar mass is known."""
    assert amount_of(mg_m3, "mg/m3", False, formula).figure == pytest.approx(ppm, abs=0.0011)
    assert amount_of(mg_m3 * 1000, "ug/m3", False, formula) == amount_of(mg_m3, "mg/m3", False, formula)


@pytest.mark.parametrize(
    ("value", "unit", "particle", "formula", "why"),
    [
        (1, "ppm", True, "", "ppm is for gases"),
        (1, "mg/m3", False, "C6H6", "molar mass of C6H6 is not known"),
        (1, "mg/m3", False, "", "molar mass of this substance is not known"),
        (1, "mg", True, "", "no unit of a concentration"),
        (1, "", True, "", "no unit of a concentration"),
        (-0.1, "mg/m3", True, "", "above zero"),
        (float("nan"), "mg/m3", True, "", "above zero"),
        (float("inf"), "ppm", False, "", "above zero"),
        (0, "ppm", False, "", "zero is no finding"),
        (2_000_000, "mg/m3", True, "", "more than air can hold"),
        (1_000_001, "ppm", False, "", "more than all of the air"),
        (0.0000001, "mg/m3", True, "", "cannot be kept"),
        (0.0004, "ppm", False, "", "cannot be kept"),
    ],
)
def test_what_is_refused(value: float, unit: str, particle: bool, formula: str, why: str) -> None:
    """Each in words that say what to do."""
    with pytest.raises(ValueError, match=why):
        amount_of(value, unit, particle, formula)


def test_two_columns_hold_one_amount() -> None:
    """Or none."""
    assert amount(None, None) is None
    assert amount(5, None) == Amount(ng_m3=5)
    assert amount(None, 25_000) == Amount(ppb=25_000)
    assert str(amount(None, 25_000)) == "25\u00a0ppm"


@pytest.mark.parametrize(
    ("figure", "said"),
    [(0.0002, "0.0002"), (6.66666, "6.667"), (12.5, "12.5"), (100, "100"), (1250.4, "1\u00a0250"), (0, "0")],
)
def test_figures_are_written_out(figure: float, said: str) -> None:
    """By their first four digits, never as a power of ten."""
    assert plain(figure) == said
    assert concentration_words(figure, "ppm") == f"{said}\u00a0ppm"


@pytest.mark.parametrize(
    ("ratio", "said"),
    [(25.04, "25.1"), (24.96, "25"), (36.0, "36"), (1.1 / 0.1, "11"), (0.06 / 0.005, "12"), (2.401, "2.41"),
     (999.2, "1\u00a0000"), (1000.5, "1\u00a0001"), (0.1801, "0.181"), (0, "0")],
)  # fmt: skip
def test_what_is_needed_is_never_told_as_less(ratio: float, said: str) -> None:
    """Rounded up in three digits, so that a factor of 25 against 25.04 does not read as enough."""
    assert needed(ratio) == said
