"""Exposure limits by substance and form, read from the table handed in as text; conversions by molar mass.

A limit is keyed by substance and form, never by the CAS number alone: rouge and iron oxide fume share one. What a
limit is measured as stands with it (Fe or Fe2O3, V or V2O5); a figure measured as something else is converted by
molar mass, or refused.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

PARTICLE_UNIT, GAS_UNIT = "mg/m3", "ppm"
OSHA, NIOSH = "osha", "niosh"


class LimitKind(StrEnum):
    """What a limit is held against."""

    SHIFT = "8-hour average"
    SHORT = "short-term"
    CEILING = "ceiling"
    ACTION = "action level"
    IDLH = "immediately dangerous"


COLUMNS = {
    "osha_pel_twa": (OSHA, LimitKind.SHIFT, "osha_measured_as"),
    "osha_stel": (OSHA, LimitKind.SHORT, "osha_measured_as"),
    "osha_ceiling": (OSHA, LimitKind.CEILING, "osha_measured_as"),
    "osha_action_level": (OSHA, LimitKind.ACTION, "osha_measured_as"),
    "niosh_rel_twa": (NIOSH, LimitKind.SHIFT, "niosh_measured_as"),
    "niosh_rel_stel": (NIOSH, LimitKind.SHORT, "niosh_measured_as"),
    "niosh_rel_ceiling": (NIOSH, LimitKind.CEILING, "niosh_measured_as"),
    "idlh": (NIOSH, LimitKind.IDLH, "idlh_measured_as"),
}
"""Column of the table, whose limit it is, its kind, and the column that says what it is measured as."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit. `value` is in the substance's unit; `verified` says that its figure was seen in its source."""

    body: str
    kind: LimitKind
    value: float
    measured_as: str
    source: str
    verified: bool


@dataclass(frozen=True, slots=True)
class Substance:
    """One substance in one form. Figures are in `unit`: mg/m3 for particles, ppm for gases and vapours."""

    id: str
    name: str
    cas: str
    unit: str
    limits: tuple[Limit, ...]
    carcinogen: bool
    note: str

    @property
    def particle(self) -> bool:
        """Whether a particulate filter does anything for it."""
        return self.unit == PARTICLE_UNIT

    def limit(self, body: str, kind: LimitKind) -> Limit | None:
        """The limit of that body and kind, or None."""
        return next((one for one in self.limits if (one.body, one.kind) == (body, kind)), None)

    def ceiling_only(self, body: str) -> bool:
        """Whether the body sets a ceiling and no 8-hour limit: an average can then show nothing."""
        return self.limit(body, LimitKind.CEILING) is not None and self.limit(body, LimitKind.SHIFT) is None


def read_limits(csv_text: str) -> dict[str, Substance]:
    """The table of limits by substance id. Raises ValueError naming the row of what cannot be."""
    found: dict[str, Substance] = {}
    for number, row in enumerate(csv.DictReader(io.StringIO(csv_text)), 2):
        one = _substance(row, f"line {number}, {row.get('substance_id')}")
        if one.id in found:
            raise ValueError(f"line {number}: {one.id} stands twice")
        found[one.id] = one
    return found


def _substance(row: Mapping[str, str], where: str) -> Substance:
    unit = row["unit"]
    if unit not in (PARTICLE_UNIT, GAS_UNIT):
        raise ValueError(f"{where}, unit: {unit!r} is neither {PARTICLE_UNIT} nor {GAS_UNIT}")
    verified = set(row["verified_fields"].split("|"))
    limits = []
    for column, (body, kind, as_column) in COLUMNS.items():
        if row[column]:
            source = row["osha_source"] if body == OSHA else row["niosh_source"]
            value = _positive(row[column], f"{where}, {column}")
            limits.append(Limit(body, kind, value, row[as_column], source, column in verified))
    return Substance(
        row["substance_id"], row["substance"], row["cas"], unit, tuple(limits), bool(row["niosh_ca"]), row["check_note"]
    )


def _positive(text: str, where: str) -> float:
    value = float(text)
    if not math.isfinite(value) or value <= 0:
        raise ValueError(f"{where}: {text} is no limit; a limit lies above zero")
    return value


# Molar masses from standard atomic weights (IUPAC 2021, abridged): g/mol.
ATOMS = {"Fe": 55.845, "V": 50.942, "O": 15.999, "C": 12.011, "N": 14.007, "Cl": 35.45, "Zn": 65.38, "Mg": 24.305}
METAL_IN = {("Fe", "Fe2O3"): 2, ("V", "V2O5"): 2, ("Zn", "ZnO"): 1, ("Mg", "MgO"): 1}
"""A metal, its oxide, and how many atoms of it one molecule of the oxide holds."""
GAS_MASS = {
    "CO": ATOMS["C"] + ATOMS["O"],
    "NO": ATOMS["N"] + ATOMS["O"],
    "NO2": ATOMS["N"] + 2 * ATOMS["O"],
    "O3": 3 * ATOMS["O"],
    "COCl2": ATOMS["C"] + ATOMS["O"] + 2 * ATOMS["Cl"],
}
MOLAR_VOLUME_L = 24.45
"""Litres a mole of gas takes at 25 C and 1 atm: the convention of the NIOSH Pocket Guide."""


def measured_as(value: float, given: str, wanted: str) -> float:
    """A mass concentration measured as `given` (Fe) as it would be measured as `wanted` (Fe2O3), by molar mass.

    Raises ValueError where the two are not known to go over into each other: nothing is guessed.
    """
    if given == wanted:
        return value
    for (metal, oxide), atoms in METAL_IN.items():
        factor = _oxide_mass(oxide) / (atoms * ATOMS[metal])
        if (given, wanted) == (metal, oxide):
            return value * factor
        if (given, wanted) == (oxide, metal):
            return value / factor
    raise ValueError(f"A figure measured as {given or 'nothing named'} cannot be held against one measured as {wanted}")


def _oxide_mass(oxide: str) -> float:
    masses = {
        "Fe2O3": 2 * ATOMS["Fe"] + 3 * ATOMS["O"],
        "V2O5": 2 * ATOMS["V"] + 5 * ATOMS["O"],
        "ZnO": ATOMS["Zn"] + ATOMS["O"],
        "MgO": ATOMS["Mg"] + ATOMS["O"],
    }
    return masses[oxide]


def ppm_of(mg_m3: float, formula: str) -> float:
    """A gas's mass concentration in ppm at 25 C and 1 atm. Raises ValueError for a gas whose mass is not known."""
    return mg_m3 * MOLAR_VOLUME_L / _gas_mass(formula)


def mg_m3_of(ppm: float, formula: str) -> float:
    """A gas's ppm as mg/m3 at 25 C and 1 atm. Raises ValueError for a gas whose mass is not known."""
    return ppm * _gas_mass(formula) / MOLAR_VOLUME_L


def _gas_mass(formula: str) -> float:
    mass = GAS_MASS.get(formula)
    if mass is None:
        raise ValueError(f"The molar mass of {formula or 'this substance'} is not known here; enter the figure in ppm")
    return mass
