"""Schema 4: assessments of areas, limits, evidence, program records. Never edited once a store was made with it."""

from __future__ import annotations

from importlib import import_module

import peewee

frozen = import_module("cribdesk.store.migrations.0002_whole_day")

NUMBER = 4

PERSONAL: dict[str, tuple[str, ...]] = {
    "person": ("name",),
    "clearance": ("detail",),
    "custody": ("damage",),
    "bound_label": ("text",),
    "own_check": ("note",),
    "away": ("detail", "decontaminated", "arrived_word"),
    "evidence": ("document",),
    "notice": ("detail", "answer"),
    "assessment": ("made_by",),
}
"""As in step 1: table and the columns of it that stand in entries as a digest."""

CHOICES: dict[str, tuple[str, ...]] = {
    "assessment.basis": ("samples", "stated result", "objective data"),
    "area_control.control": ("elimination or substitution", "engineering", "work practice", "personal protection"),
}
"""Column and the only texts it may hold."""

TABLES = {
    "assessment": (
        "revision:int area_id>area substance form basis concentration_ng_m3:amount? concentration_ppb:amount? "
        "limit made_on made_by document review_on? withdrawn_on? by_id>person"
    ),
    "sample": (
        "revision:int assessment_id>assessment value_ng_m3:amount? value_ppb:amount? detected:bool "
        "minutes:int taken_on method"
    ),
    "site_limit": "revision:int substance form kind limit_ng_m3:amount? limit_ppb:amount? measured_as source from_on",
    "area_condition": (
        "revision:int area_id>area oxygen_deficient:bool idlh:bool confined:bool explosive:bool "
        "exposed_minutes:amount? changed said_on by_id>person"
    ),
    "area_process": (
        "revision:int area_id>area operation current_a:amount? electrode_32nds:int? plate_64ths:int? "
        "active:bool"
    ),
    "area_control": "revision:int area_id>area control what from_on ended_on?",
    "factor_evidence": "revision:int model factor:int document dated_on by_id>person withdrawn_on?",
    "work_limit": "revision:int person_id>person code given_on ended_on? by_id>person",
    "caution_accepted": "revision:int custody_id>custody code subject why by_id>person",
    "program_evaluation": "revision:int made_on what finding fix fixed_on? by_id>person",
}
"""The new tables, written as in step 1."""

CHECKS: dict[str, tuple[str, ...]] = {
    "assessment": ("concentration_ng_m3 IS NULL OR concentration_ppb IS NULL",),
    "sample": ("(value_ng_m3 IS NULL) <> (value_ppb IS NULL)", "minutes > 0"),
    "site_limit": ("(limit_ng_m3 IS NULL) <> (limit_ppb IS NULL)", "limit_ng_m3 > 0", "limit_ppb > 0"),
}
"""Table and what must hold in each row."""

INDEXES = (
    ("assessment", "area_id", "area_id", False, ""),
    ("sample", "assessment_id", "assessment_id", False, ""),
    ("area_condition", "area_id", "area_id", False, ""),
    ("area_process", "area_id", "area_id", False, ""),
    ("area_control", "area_id", "area_id", False, ""),
    ("work_limit", "person_id", "person_id", False, ""),
    ("caution_accepted", "custody_id", "custody_id", False, ""),
)
"""Table, end of the index's name, its columns, whether unique, and where it holds."""


def up(database: peewee.Database) -> None:
    """Makes the new tables; the old ones stay as they are."""
    frozen.make(database, TABLES, CHOICES, CHECKS, INDEXES)

