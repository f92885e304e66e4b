"""How long what is kept of a person has to be kept before it may be erased."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

YEARS = 30
LEAD_YEARS, YEARS_AFTER_LEAD_WORK = 40, 20

MEDICAL = "29 CFR 1910.134(m)(1), 1910.1020(d)(1)(i)"
FIT_TEST = "29 CFR 1910.134(m)(2)(ii)"
EXPOSURE = "29 CFR 1910.1020(d)(1)(ii) and (iii)"
LEAD = "29 CFR 1910.1025(n), 1910.1020(d)(1)"


@dataclass(frozen=True)
class Kept:
    """What is kept of a person who left on that day. `worn_on` is the last day on which something went out to them,
    `lead_on` the last on which it did for an area with lead.
    """

    left_on: date
    medical: bool = False
    fit_test: bool = False
    worn_on: date | None = None
    lead_on: date | None = None


@dataclass(frozen=True)
class Period:
    """One period: the last day on which it runs, of what, by which paragraph."""

    until: date
    what: str
    basis: str


def years_after(day: date, years: int) -> date:
    """The same day so many years on; of 29 February, 1 March where there is none."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)


def periods(kept: Kept) -> tuple[Period, ...]:
    """Every period that was begun, the one that ends last first.

    Medical records: employment and 30 years. Exposure records, and who wore what where belongs to them: 30 years.
    Lead: 40 years, or employment and 20, whichever is longer. A fit test is kept until the next one; for somebody who
    left there is none, so it goes with the medical records (a house rule). A shorter period that 1910.1020(d) allows,
    for those who were employed under one year, is not offered (a house rule).
    """
    found = []
    after = years_after(kept.left_on, YEARS)
    if kept.medical:
        found.append(Period(after, "medical clearances: the employment and 30 years", MEDICAL))
    if kept.fit_test:
        found.append(Period(after, "fit tests: no next one comes, so they go with the medical records", FIT_TEST))
    if kept.worn_on is not None:
        found.append(Period(years_after(kept.worn_on, YEARS), "what was worn and where: 30 years", EXPOSURE))
    if kept.lead_on is not None:
        lead = max(years_after(kept.lead_on, LEAD_YEARS), years_after(kept.left_on, YEARS_AFTER_LEAD_WORK))
        found.append(Period(lead, "work with lead: 40 years, or the employment and 20", LEAD))
    return tuple(sorted(found, key=lambda one: one.until, reverse=True))
