"""Limits by substance and form: the shipped table, and conversions held against published figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from cribdesk.crib.limits import NIOSH, OSHA, LimitKind, Substance, measured_as, mg_m3_of, ppm_of, read_limits

TEXT = (Path(__file__).parents[2] / "resources" / "tables" / "exposure_limits.csv").read_text("utf-8")


@pytest.fixture(scope="module")
def table() -> dict[str, Substance]:
    """The shipped table."""
    return read_limits(TEXT)


def test_two_forms_of_one_number_have_their_own_limits(table: dict[str, Substance]) -> None:
    """Iron oxide fume and rouge share a CAS number and not a limit (29 CFR 1910.1000 Table Z-1)."""
    fume, rouge = table["iron_oxide_fume"], table["iron_oxide_dust_rouge"]
    assert fume.cas == rouge.cas
    assert [one.limit(OSHA, LimitKind.SHIFT).value for one in (fume, rouge)] == [10, 15]  # type: ignore[union-attr]


@pytest.mark.parametrize("substance", ["manganese", "vanadium_fume", "vanadium_dust_respirable", "nitrogen_dioxide"])
def test_ceilings_without_an_average_are_told_apart(table: dict[str, Substance], substance: str) -> None:
    """29 CFR 1910.1000 Table Z-1 gives these a ceiling and no 8-hour limit; NIOSH gives manganese both."""
    assert table[substance].ceiling_only(OSHA)
    assert not table["lead"].ceiling_only(OSHA)
    assert not table["manganese"].ceiling_only(NIOSH)


def test_particles_and_gases_are_told_apart(table: dict[str, Substance]) -> None:
    """A particulate filter does nothing for a gas."""
    gases = {one.id for one in table.values() if not one.particle}
    assert gases == {"carbon_monoxide", "nitrogen_dioxide", "nitric_oxide", "ozone", "phosgene"}


def test_a_figure_from_memory_is_marked(table: dict[str, Substance]) -> None:
    """The table says which figures were seen in their source."""
    iron = table["iron_oxide_fume"]
    assert iron.limit(OSHA, LimitKind.SHIFT).verified  # type: ignore[union-attr]
    assert not iron.limit(NIOSH, LimitKind.SHIFT).verified  # type: ignore[union-attr]


def test_metal_goes_over_into_oxide_by_molar_mass() -> None:
    """Fe to Fe2O3 is 1.430 (OSHA chemical data, iron oxide fume); 0.05 mg V is 0.0893 mg V2O5 (atomic weights)."""
    assert measured_as(1.0, "Fe", "Fe2O3") == pytest.approx(1.430, abs=5e-4)
    assert measured_as(0.05, "V", "V2O5") == pytest.approx(0.0893, abs=5e-5)
    assert measured_as(measured_as(2.5, "Fe", "Fe2O3"), "Fe2O3", "Fe") == pytest.approx(2.5)
    assert measured_as(3.0, "Mn", "Mn") == 3.0
    with pytest.raises(ValueError, match="cannot be held against"):
        measured_as(1.0, "total dust", "Cr(VI)")


def test_gases_go_over_between_ppm_and_mass() -> None:
    """1 ppm phosgene is 4.05 mg/m3 (NIOSH Pocket Guide); 0.1 ppm ozone is 0.196 mg/m3 (NIOSH convention, memory)."""
    assert mg_m3_of(1.0, "COCl2") == pytest.approx(4.05, abs=0.005)
    assert mg_m3_of(0.1, "O3") == pytest.approx(0.196, abs=5e-4)
    assert ppm_of(mg_m3_of(35.0, "CO"), "CO") == pytest.approx(35.0)
    with pytest.raises(ValueError, match="not known"):
        ppm_of(1.0, "paint mist")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (",mg/m3,10,", ",mg,10,", "neither"),
        (",mg/m3,10,", ",mg/m3,0,", "above zero"),
        (",mg/m3,10,", ",mg/m3,-1,", "above zero"),
    ],
)
def test_a_table_that_cannot_be_is_refused(old: str, new: str, words: str) -> None:
    """A unit nobody knows and a limit of zero name their row."""
    with pytest.raises(ValueError, match=words) as caught:
        read_limits(TEXT.replace(old, new, 1))
    assert "line 2" in str(caught.value)


def test_a_substance_twice_is_refused() -> None:
    """Two rows of one id would leave it open which holds."""
    first = TEXT.splitlines()[1]
    with pytest.raises(ValueError, match="stands twice"):
        read_limits(f"{TEXT.rstrip()}\n{first}\n")
