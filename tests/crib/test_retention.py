"""How long what is kept of a person has to be kept, held against the list of duties."""

from __future__ import annotations

import csv
from datetime import date

import pytest

from cribdesk.crib.retention import EXPOSURE, FIT_TEST, LEAD, MEDICAL, Kept, periods, years_after
from tests.procedure.house import text_of

LEFT = date(2026, 5, 31)


def duty(number: str) -> dict[str, str]:
    """A row of resources/tables/program_duties.csv."""
    rows = csv.DictReader(text_of("tables", "program_duties.csv").splitlines())
    return next(row for row in rows if row["duty_id"] == number)


def test_medical_records_are_kept_for_the_employment_and_thirty_years() -> None:
    """d63: 29 CFR 1910.134(m)(1) and 1910.1020(d)(1)(i); the last day of it still counts."""
    row = duty("d63")
    assert row["retention"] == "employment + 30 years"
    (found,) = periods(Kept(LEFT, medical=True))
    assert (found.until, found.basis) == (date(2056, 5, 31), MEDICAL)
    assert "1910.134(m)(1)" in row["source"]
    assert "1910.1020(d)(1)(i)" in row["source"]


def test_exposure_records_are_kept_for_thirty_years() -> None:
    """d66 and d68: from the record, not from the end of the employment."""
    assert duty("d66")["retention"] == duty("d68")["retention"] == "30 years"
    (found,) = periods(Kept(LEFT, worn_on=date(2020, 1, 2)))
    assert (found.until, found.basis) == (date(2050, 1, 2), EXPOSURE)


def test_lead_is_kept_longest() -> None:
    """d72: lead: 40 years, or employment + 20, whichever ends later; it leads before the rest."""
    assert "lead: 40 years, or employment + 20" in duty("d72")["duty"]
    found = periods(Kept(LEFT, medical=True, worn_on=LEFT, lead_on=date(2026, 3, 1)))
    assert (found[0].until, found[0].basis) == (date(2066, 3, 1), LEAD)
    found = periods(Kept(LEFT, lead_on=date(1990, 3, 1)))
    assert found[0].until == date(2046, 5, 31)


def test_a_fit_test_goes_with_the_medical_records_and_nothing_asks_for_nothing() -> None:
    """(m)(2)(ii) keeps it until the next one, and for who left there is none (a house rule)."""
    (found,) = periods(Kept(LEFT, fit_test=True))
    assert (found.until, found.basis) == (date(2056, 5, 31), FIT_TEST)
    assert periods(Kept(LEFT)) == ()


@pytest.mark.parametrize(
    ("day", "until"), [(date(2024, 2, 29), date(2054, 3, 1)), (date(2022, 2, 28), date(2052, 2, 28))]
)
def test_years_after_never_end_early(day: date, until: date) -> None:
    """29 February of a year without one is 1 March."""
    assert years_after(day, 30) == until
