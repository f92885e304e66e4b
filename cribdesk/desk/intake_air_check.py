"""What must hold between the rows of a site's spreadsheets about the air: units, limits, dates, shades, durations."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date

from cribdesk.crib.concentration import amount_of
from cribdesk.crib.limits import measured_as as converted
from cribdesk.crib.records import AreaProcess, AssessmentBasis
from cribdesk.crib.words import date_words, joined
from cribdesk.desk.area_facts import shade_of
from cribdesk.desk.assessments import DAY_MINUTES
from cribdesk.desk.factor_evidence import LEAST_TESTED, why_no_evidence
from cribdesk.desk.house import House
from cribdesk.desk.intake_air import GAS, NOT_ASSESSED, plate_64ths, substance_id, substance_of
from cribdesk.desk.intake_columns import Fault, Row, Sheets
from cribdesk.desk.site_limits import BODY_WORDS, HELD_AGAINST, KINDS, in_form


def air_faults(sheets: Sheets, house: House, today: date) -> Iterator[Fault]:
    """Everything that is wrong in the files about the air."""
    areas = {row.text("name") for row in sheets["areas.csv"]}
    for file in ("assessments.csv", "area_conditions.csv", "processes.csv", "controls.csv"):
        for row in sheets[file]:
            if row.has("area") and row.text("area") not in areas:
                yield row.fault("area", f"{row.text('area')} is not in areas.csv")
    yield from _past(sheets, today)
    for row in sheets["site_limits.csv"]:
        yield from _limit(row, house)
    yield from _doubles(sheets, house)
    for row in sheets["assessments.csv"]:
        yield from _finding(row, sheets, house)
    yield from _samples(sheets, house)
    for row in sheets["processes.csv"]:
        yield from _process(row, house)
    for row in sheets["test_evidence.csv"]:
        yield from _evidence(row, house)


def _doubles(sheets: Sheets, house: House) -> Iterator[Fault]:
    """Of one agent in one area one finding stands; two forms of it are told apart."""
    seen: dict[tuple[str, str, str], int] = {}
    for row in sheets["assessments.csv"]:
        key = (row.text("area"), substance_id(house, row.text("substance")), row.text("form").casefold())
        if key in seen and all(key[:2]):
            words = f"{row.text('substance')} in {row.text('area')} stands in row {seen[key]} too. Give each a form"
            yield row.fault("substance", words)
        seen.setdefault(key, row.number)


def _past(sheets: Sheets, today: date) -> Iterator[Fault]:
    """Nothing of it was found, said or put in place tomorrow."""
    for file, field in (
        ("site_limits.csv", "from_on"), ("assessments.csv", "made_on"), ("samples.csv", "taken_on"),
        ("area_conditions.csv", "said_on"), ("controls.csv", "from_on"), ("test_evidence.csv", "dated_on"),
    ):  # fmt: skip
        for row in sheets[file]:
            on = row.day(field)
            if on and on > today:
                yield row.fault(field, f"{date_words(on)} is still to come")


def _figure(row: Row, field: str, unit: str, particle: bool, formula: str) -> Iterator[Fault]:
    if not row.has(field) or not unit:
        return
    try:
        amount_of(row.figure(field), unit, particle, formula)
    except ValueError as failure:
        yield row.fault(field, in_form(failure))


def _limit(row: Row, house: House) -> Iterator[Fault]:
    known = substance_of(house, row.text("substance"))
    measured = row.text("measured_as")
    if row.text("source").casefold() in BODY_WORDS:
        yield row.fault("source", f"the limits of {row.text('source')} are here already")
    if known is None:
        gas = row.text("air") == GAS
        if gas and row.text("unit") not in ("ppm", ""):
            yield row.fault("unit", "the molar mass of this gas is not known here; give its limit in ppm")
            return
        yield from _figure(row, "value", row.text("unit"), not gas, measured)
        return
    usual = known.limits[0].measured_as if known.limits else measured
    yield from _counted(row, measured or usual, [usual])
    yield from _figure(row, "value", row.text("unit"), known.particle, measured or usual)


def _counted(row: Row, given: str, wanted: list[str]) -> Iterator[Fault]:
    try:
        for one in wanted:
            converted(1.0, given, one)
    except ValueError as failure:
        yield row.fault("measured_as", in_form(failure))


def _own(sheets: Sheets, house: House, substance: str) -> list[Row]:
    """The site's limits of a substance that figures are held against."""
    wanted = substance_id(house, substance)
    rows = [row for row in sheets["site_limits.csv"] if KINDS.get(row.text("kind")) in HELD_AGAINST]
    return [row for row in rows if substance_id(house, row.text("substance")) == wanted]


def _air(sheets: Sheets, house: House, finding: Row) -> tuple[bool, str, dict[str, list[str]]] | None:
    """(particles, what is counted, by body what its limits count), or None for a substance nobody knows."""
    known = substance_of(house, finding.text("substance"))
    own = _own(sheets, house, finding.text("substance"))
    if known is None and not own:
        return None
    bodies: dict[str, list[str]] = {}
    for limit in known.limits if known else ():
        if limit.kind in HELD_AGAINST:
            bodies.setdefault(limit.body, []).append(limit.measured_as)
    for row in own:
        usual = known.limits[0].measured_as if known and known.limits else ""
        bodies.setdefault(row.text("source"), []).append(row.text("measured_as") or usual)
    particle = known.particle if known else own[0].text("air") != GAS
    first = known.limits[0].measured_as if known and known.limits else ""
    return particle, finding.text("measured_as") or first, bodies


def _finding(row: Row, sheets: Sheets, house: House) -> Iterator[Fault]:
    made, review, basis = row.day("made_on"), row.day("review_on"), row.text("basis")
    if made and review and review <= made:
        yield row.fault("review_on", f"{date_words(review)} is not after {date_words(made)}")
    figures = [name for name in ("average", "short_term") if row.has(name)]
    if figures and not row.has("unit"):
        yield row.fault("unit", "say the unit of the figures")
    if basis == NOT_ASSESSED and figures:
        yield row.fault(figures[0], "it is called not assessed and has a figure")
    if basis and basis not in (NOT_ASSESSED, AssessmentBasis.SAMPLES.value) and not figures:
        yield row.fault("average", f"a {basis} has one figure at least; or call it {NOT_ASSESSED}")
    if basis and basis != NOT_ASSESSED:
        for name, words in (("made_by", "say whose finding it is"), ("document", "say which report it stands in")):
            if not row.has(name):
                yield row.fault(name, words)
    if row.has("substance"):
        yield from _held(row, sheets, house, figures)


def _held(row: Row, sheets: Sheets, house: House, figures: list[str]) -> Iterator[Fault]:
    air = _air(sheets, house, row)
    if air is None:
        yield row.fault("substance", f"{row.text('substance')} is neither in the table nor in site_limits.csv")
        return
    particle, counted, bodies = air
    body = row.text("limit")
    if bodies and body not in bodies:
        yield row.fault("limit", f"there is none of {body}. Take one of: {joined(list(bodies))}")
    elif bodies:
        yield from _counted(row, row.text("measured_as") or bodies[body][0], bodies[body])
    for name in figures:
        yield from _figure(row, name, row.text("unit"), particle, counted)


def _samples(sheets: Sheets, house: House) -> Iterator[Fault]:
    findings = {row.text("finding"): row for row in sheets["assessments.csv"]}
    minutes: Counter[tuple[str, date | None, str]] = Counter()
    for row in sheets["samples.csv"]:
        finding = findings.get(row.text("finding"))
        if finding is None:
            if row.has("finding"):
                yield row.fault("finding", f"{row.text('finding')} is not in assessments.csv")
            continue
        if finding.text("basis") != AssessmentBasis.SAMPLES.value:
            yield row.fault("finding", f"{row.text('finding')} rests on a {finding.text('basis')}, not on samples")
        if row.whole("minutes") == 0:
            yield row.fault("minutes", "it lies above zero")
        air = _air(sheets, house, finding)
        if air is not None:
            yield from _figure(row, "value", row.text("unit"), air[0], air[1])
        key = (row.text("finding"), row.day("taken_on"), row.text("series"))
        minutes[key] += row.whole("minutes") or 0
        if minutes[key] > DAY_MINUTES:
            yield row.fault("minutes", f"with those before it makes {minutes[key]}, over 24 h. Give each a series")


def _process(row: Row, house: House) -> Iterator[Fault]:
    if not row.has("process"):
        return
    if row.text("process") not in house.shades.operations:
        yield row.fault("process", f"not in the table of shades. Take one of: {', '.join(house.shades.operations)}")
        return
    process = AreaProcess(
        area_id=0, operation=row.text("process"), current_a=row.whole("current_a"),
        electrode_32nds=row.whole("electrode_32nds"), plate_64ths=plate_64ths(row),
    )  # fmt: skip
    try:
        shade_of(process, house.shades)
    except ValueError as failure:
        yield row.fault("process", str(failure))


def _evidence(row: Row, house: House) -> Iterator[Fault]:
    model = house.models.get(row.text("model"))
    if model is None:
        if row.has("model"):
            yield row.fault("model", f"{row.text('model')} is no unit model here")
    elif why := why_no_evidence(model.facepiece, model.powered):
        yield row.fault("model", f"{model.code}: {why}")
    factor = row.whole("factor")
    if factor is not None and factor < LEAST_TESTED:
        yield row.fault("factor", f"the maker's testing has to show {LEAST_TESTED} or more")
