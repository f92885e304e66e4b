"""A site's spreadsheets of what is in the air of its areas: files, columns, and the operation that each row becomes."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import Any

from cribdesk.crib.concentration import MG_M3, UNITS
from cribdesk.crib.limits import NIOSH, OSHA, Substance
from cribdesk.crib.records import Area, Assessment, AssessmentBasis, Control, Record
from cribdesk.crib.words import joined
from cribdesk.desk.area_facts import IN_ONE_INCH, SayAreaCondition, SayAreaControl, SayAreaProcess
from cribdesk.desk.assessments import AddSample, AssessArea
from cribdesk.desk.factor_evidence import LEAST_TESTED, RecordFactorEvidence
from cribdesk.desk.house import House
from cribdesk.desk.intake_columns import Files, Row, column, one_of
from cribdesk.desk.operation import Operation
from cribdesk.desk.site_limits import KINDS, AddSiteLimit

UNIT_CODES = tuple(code for code, _ in UNITS)
NOT_ASSESSED = "not assessed"
BASES = (*(basis.value for basis in AssessmentBasis), NOT_ASSESSED)
PARTICLES, GAS = "particles", "gas"
SUBSTANCE = "id or name from the table of limits, or a substance of site_limits.csv"
_UNIT = f"of the figures: {', '.join(UNIT_CODES)}"

AIR_FILES: Files = {
    "site_limits.csv": (
        "limits of your own copy of a list; those of OSHA and NIOSH are here already",
        (
            column("substance*", "id or name from the table of limits, or a name of your own"),
            one_of("air", (PARTICLES, GAS), "of a name of your own: particles or gas", PARTICLES),
            one_of("kind*", tuple(KINDS), ", ".join(KINDS)),
            column("value*", "", "figure"),
            one_of("unit*", UNIT_CODES, ", ".join(UNIT_CODES)),
            column("measured_as", "what is counted: Fe, Fe2O3; empty: as the table counts"),
            column("source*", "which list, of which year"),
            column("from_on*", "", "date"),
        ),
    ),
    "assessments.csv": (
        "what the industrial hygienist found of each agent in each area; this tool repeats it and makes no finding",
        (
            column("finding*", "a number or name of your own, for samples.csv"),
            column("area*", "name from areas.csv"),
            column("substance*", SUBSTANCE),
            column("form", "only to tell two findings of it apart"),
            one_of("basis*", BASES, ", ".join(BASES)),
            column("average", "over 8 h; empty where samples tell it", "figure"),
            column("short_term", "highest level over 15 minutes or less", "figure"),
            one_of("unit", UNIT_CODES, _UNIT),
            column("measured_as", "what the figures count; empty: as the limit counts"),
            column("limit", f"held against: {OSHA}, {NIOSH}, or a source of site_limits.csv", default=OSHA),
            column("made_on*", "", "date"),
            column("made_by", "the hygienist"),
            column("document", "which report it stands in"),
            column("review_on", "", "date"),
        ),
    ),
    "samples.csv": (
        "air samples of findings that rest on samples",
        (
            column("finding*", "as in assessments.csv"),
            column("value*", "below detection: the detection limit", "figure"),
            one_of("unit*", UNIT_CODES, ", ".join(UNIT_CODES)),
            column("minutes*", "15 or less: it tells a short-term level", "whole", high=1440),
            column("taken_on*", "", "date"),
            column("detected", "", "yes-no", default="yes"),
            column("series", "a letter for each wearer or place sampled that day, no name"),
            column("method", ""),
        ),
    ),
    "area_conditions.csv": (
        "what holds of an area besides its agents",
        (
            column("area*", "name from areas.csv"),
            column("said_on*", "", "date"),
            column("oxygen_deficient", "below 19.5 %", "yes-no", default="no"),
            column("idlh", "immediately dangerous to life or health", "yes-no", default="no"),
            column("confined", "a confined space", "yes-no", default="no"),
            column("explosive", "a hazardous location", "yes-no", default="no"),
            column("exposed_minutes", "how long the air is met in a shift; empty: 480", "whole", low=1, high=1440),
            column("changed", "a change of process since the findings"),
        ),
    ),
    "processes.csv": (
        "what is done in an area, for the shade of the lens",
        (
            column("area*", "name from areas.csv"),
            column("process*", "as the table of shades names it: SMAW, GMAW_FCAW, GTAW, GAS_WELDING ..."),
            column("current_a", "highest current, A", "whole"),
            column("electrode_32nds", "thickest electrode, 32nds of an inch", "whole", high=64),
            column("plate_in", "thickest plate, inches", "figure", high=100),
        ),
    ),
    "controls.csv": (
        "controls in place in an area",
        (
            column("area*", "name from areas.csv"),
            one_of("control*", tuple(one.value for one in Control), joined([one.value for one in Control])),
            column("what*", "what is in place; where it is that, say 'exhaust', 'extraction' or 'ventilation'"),
            column("from_on*", "", "date"),
        ),
    ),
    "test_evidence.csv": (
        "the makers' test evidence for the higher factor of a powered helmet or hood",
        (
            column("model*", "the unit model's code"),
            column("factor", "what the testing showed", "whole", default=str(LEAST_TESTED)),
            column("document*", "the maker's paper"),
            column("dated_on*", "", "date"),
        ),
    ),
}
"""In the order they are entered."""


def substance_of(house: House, given: str) -> Substance | None:
    """A substance of the table by its id or its name, case aside; None for one of the site's own."""
    wanted = given.casefold()
    found = (one for one in house.substances.values() if wanted in (one.id.casefold(), one.name.casefold()))
    return next(found, None)


def substance_id(house: House, given: str) -> str:
    """The id of the table, or the name as given."""
    known = substance_of(house, given)
    return known.id if known else given


def plate_64ths(row: Row) -> int | None:
    """The plate in 64ths of an inch, the thicker where it lies between two."""
    return ceil(row.figure("plate_in") * IN_ONE_INCH) if row.has("plate_in") else None


Known = Callable[[type[Record], str], int]
"""The id of a record that was entered under a name."""


def air_operation(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    """What a row of these files becomes."""
    return _BECOMES[row.file](house, row, known)


def _limit(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    return AddSiteLimit, {
        "substance": substance_id(house, row.text("substance")), "kind": row.text("kind"),
        "value": row.figure("value"), "unit": row.text("unit"), "measured_as": row.text("measured_as"),
        "source": row.text("source"), "from_on": row.day("from_on"), "particles": row.text("air") != GAS,
    }  # fmt: skip


def _finding(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    basis = row.text("basis")
    return AssessArea, {
        "area_id": known(Area, row.text("area")), "substance": substance_id(house, row.text("substance")),
        "form": row.text("form"), "limit": row.text("limit"), "unit": row.text("unit") or MG_M3,
        "basis": AssessmentBasis.STATED if basis == NOT_ASSESSED else AssessmentBasis(basis),
        "concentration": row.figure("average") if row.has("average") else None,
        "short": row.figure("short_term") if row.has("short_term") else None,
        "measured_as": row.text("measured_as"), "made_on": row.day("made_on"), "made_by": row.text("made_by"),
        "document": row.text("document"), "review_on": row.day("review_on"),
    }  # fmt: skip


def _sample(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    return AddSample, {
        "assessment_id": known(Assessment, row.text("finding")), "value": row.figure("value"),
        "unit": row.text("unit"), "minutes": row.whole("minutes"), "taken_on": row.day("taken_on"),
        "detected": row.yes("detected"), "series": row.text("series"), "method": row.text("method"),
    }  # fmt: skip


def _condition(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    marks = {name: row.yes(name) for name in ("oxygen_deficient", "idlh", "confined", "explosive")}
    return SayAreaCondition, marks | {
        "area_id": known(Area, row.text("area")), "said_on": row.day("said_on"),
        "exposed_minutes": row.whole("exposed_minutes"), "changed": row.text("changed"),
    }  # fmt: skip


def _process(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    return SayAreaProcess, {
        "area_id": known(Area, row.text("area")), "operation": row.text("process"),
        "current_a": row.whole("current_a"), "electrode_32nds": row.whole("electrode_32nds"),
        "plate_64ths": plate_64ths(row),
    }  # fmt: skip


def _control(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    return SayAreaControl, {
        "area_id": known(Area, row.text("area")), "control": Control(row.text("control")), "what": row.text("what"),
        "from_on": row.day("from_on"),
    }  # fmt: skip


def _evidence(house: House, row: Row, known: Known) -> tuple[type[Operation], dict[str, Any]]:
    return RecordFactorEvidence, {
        "model": row.text("model"), "factor": row.whole("factor"), "document": row.text("document"),
        "dated_on": row.day("dated_on"),
    }  # fmt: skip


_BECOMES = {
    "site_limits.csv": _limit,
    "assessments.csv": _finding,
    "samples.csv": _sample,
    "area_conditions.csv": _condition,
    "processes.csv": _process,
    "controls.csv": _control,
    "test_evidence.csv": _evidence,
}
