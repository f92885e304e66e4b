"""Each agent of an area in words: what was found, held against which limit, and how every figure was reached."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from cribdesk.compute.exposure import maximum_use_concentration
from cribdesk.crib.concentration import amount, concentration_words, plain
from cribdesk.crib.concentration import needed as needed_words
from cribdesk.crib.limits import LimitKind
from cribdesk.crib.protection import AgentFinding, Judged, Respirator
from cribdesk.crib.records import Assessment, AssessmentBasis, Sample
from cribdesk.crib.words import capital, date_words, hours, joined
from cribdesk.desk.air_figures import Figures, figures_of, sample_amount
from cribdesk.desk.area_statistics import statistics
from cribdesk.desk.cards_area import AgentThere, Told
from cribdesk.desk.site_limits import body_words

MEMORY = "the figure is from memory, not seen in its source"
BASIS_WORDS = {
    AssessmentBasis.SAMPLES: "Air samples",
    AssessmentBasis.STATED: "Stated result",
    AssessmentBasis.OBJECTIVE: "Objective data",
}


def agent_there(
    made: Assessment,
    one: AgentFinding,
    samples: Sequence[Sample],
    shelf: Sequence[Respirator],
    exposed_hours: float | None,
    today: date,
) -> AgentThere:
    """One agent as it is shown."""
    figures = figures_of(made, samples, exposed_hours)
    lines, note = statistics(one, figures.averages, samples)
    late = one.review_on is not None and one.review_on < today
    review = f"{'was to be' if late else 'to be'} reviewed by {date_words(one.review_on)}" if one.review_on else ""
    return AgentThere(
        assessment=str(made.id),
        name=f"{one.name}, {one.form}" if one.form else one.name,
        level=_level(one, shelf),
        found=_found(made, one),
        against=_against(one),
        needed=_needed(one),
        basis=_basis(made, one),
        review=review,
        how=tuple(_how(made, one, figures, shelf, exposed_hours)),
        statistics=lines,
        note=note,
        samples=tuple(_sample(each) for each in samples),
        sampled=made.basis is AssessmentBasis.SAMPLES,
    )


def _level(one: AgentFinding, shelf: Sequence[Respirator]) -> str:
    """Stop: nothing of this crib lets anybody go there for it; caution: over its limit, or not told whole."""
    if not one.known or one.trouble or one.ceiling_only or not one.judged:
        return "stop"
    if not one.over:
        return "caution" if one.short_missing else "fine"
    helps = [each for each in shelf if one.particle or one.substance in each.gases]
    return "caution" if any((each.factor or 0) >= (one.ratio or 0) for each in helps) else "stop"


def _found(made: Assessment, one: AgentFinding) -> str:
    if not one.known:
        to_come = made.basis is AssessmentBasis.SAMPLES
        return "there; its samples are still to be entered" if to_come else "there, not assessed"
    parts = []
    if one.average is not None:
        parts.append(f"{concentration_words(one.average, one.unit)} over 8 h")
    if one.short is not None:
        parts.append(f"{concentration_words(one.short, one.unit)} short-term")
    counted = f", counted as {one.measured_as}" if one.measured_as else ""
    return f"{', '.join(parts)}{counted}"


def _against(one: AgentFinding) -> str:
    if not one.known:
        return ""
    if one.trouble:
        return one.trouble
    if one.ceiling_only:
        return "Its limit is a ceiling: a short-term sample is needed"
    worst = one.worst
    return f"Limit {_limit(worst, one.unit)}" if worst else "No limit to hold it against"


def _limit(held: Judged, unit: str) -> str:
    lowered = ", lowered by law for the long day" if held.lawful else ""
    counted = f" as {held.measured_as}" if held.measured_as else ""
    return f"{concentration_words(held.limit, unit)}{counted}, {body_words(held.body)}, {held.kind.value}{lowered}"


def _needed(one: AgentFinding) -> str:
    if one.ratio is None or one.trouble or one.ceiling_only:
        return "no figure"
    if not one.over:
        return f"below its limit, {needed_words(one.ratio)} of it"
    times = needed_words(one.ratio)
    return f"factor {times} needed" if one.particle else f"{times} times its limit; no particulate filter removes it"


def _basis(made: Assessment, one: AgentFinding) -> str:
    if not one.known and not made.document:
        return f"since {date_words(made.made_on)}; ask the industrial hygienist"
    return ", ".join(
        part for part in (BASIS_WORDS[made.basis], made.made_by, made.document, date_words(made.made_on)) if part
    )


def _sample(one: Sample) -> str:
    found = str(sample_amount(one)) if one.detected else f"below detection, {sample_amount(one)}"
    series = f"series {one.series}" if one.series else ""
    parts = (found, f"{one.minutes} min", date_words(one.taken_on), series, one.method)
    return ", ".join(part for part in parts if part)


# How each figure was reached.


def _how(
    made: Assessment, one: AgentFinding, figures: Figures, shelf: Sequence[Respirator], exposed: float | None
) -> Iterator[Told]:
    if figures.shift is not None:
        yield Told("Average over 8 h", str(figures.shift), capital(figures.shift_how))
    stated = amount(made.concentration_ng_m3, made.concentration_ppb)
    for each in figures.averages[1:] if stated is None or figures.shift != stated else figures.averages:
        yield Told("Another average", str(each.amount), capital(each.how))
    if figures.short is not None:
        yield Told("Short-term level", str(figures.short), capital(figures.short_how))
    for held in one.judged:
        yield _judged(one, held)
    if one.short_missing:
        yield Told("Short-term limit", "not judged", "A short-term limit stands and no short-term level was found.")
    worst = one.worst
    if worst is not None:
        yield Told("Protection needed", needed_words(worst.ratio), "The highest of concentration / limit.")
        if one.particle:
            yield from _most(one, worst, shelf)
    if one.idlh is not None:
        doubt = "" if one.idlh_verified else f" {capital(MEMORY)}."
        basis = f"At or above it nobody goes there in a unit of this crib.{doubt}"
        yield Told("Immediately dangerous", concentration_words(one.idlh, one.unit), basis)
    if one.long_day is not None and exposed is not None:
        yield from _long_day(one, exposed)


def _judged(one: AgentFinding, held: Judged) -> Told:
    figure = (
        f"{concentration_words(held.concentration, one.unit)} / {concentration_words(held.limit, one.unit)}"
        f" = {plain(held.ratio)}"
    )
    basis = [held.source if held.verified else f"{held.source}; {MEMORY}"]
    if one.measured_as and held.measured_as and held.measured_as != one.measured_as:
        was = one.average if held.kind is LimitKind.SHIFT and one.average is not None else one.short
        told = f"{concentration_words(was, one.unit)} of {one.measured_as} is " if was is not None else ""
        went = f"{concentration_words(held.concentration, one.unit)} as {held.measured_as}"
        basis.append(f"{told}{went}, converted by molar mass")
    if held.lawful:
        basis.append("the limit was lowered by law for the long day")
    return Told(f"{capital(body_words(held.body))}, {held.kind.value}", figure, f"{'. '.join(basis)}.")


def _most(one: AgentFinding, worst: Judged, shelf: Sequence[Respirator]) -> Iterator[Told]:
    """What each factor of the crib may be used in, capped by what is immediately dangerous."""
    by_factor: dict[float, list[str]] = {}
    for each in shelf:
        if each.factor is not None:
            by_factor.setdefault(each.factor, []).append(each.name)
    idlh = _counted_idlh(one, worst)
    for factor, names in sorted(by_factor.items()):
        most = maximum_use_concentration(factor, worst.limit, idlh)
        capped = f", capped at what is immediately dangerous, {concentration_words(most, one.unit)}"
        basis = f"{plain(factor)} x {concentration_words(worst.limit, one.unit)}"
        basis += capped if idlh is not None and factor * worst.limit > idlh else ""
        yield Told(f"Highest use with factor {plain(factor)}", concentration_words(most, one.unit),
                   f"{basis}: {joined(names)}. 29 CFR 1910.134(d)(3)(i)(B).")  # fmt: skip


def _counted_idlh(one: AgentFinding, worst: Judged) -> float | None:
    """What is immediately dangerous, counted as the limit is: by the same share as the finding was converted."""
    was = one.average if worst.kind is LimitKind.SHIFT and one.average is not None else one.short
    if one.idlh is None or not was or worst.measured_as == one.measured_as:
        return one.idlh
    return one.idlh * worst.concentration / was


def _long_day(one: AgentFinding, exposed: float) -> Iterator[Told]:
    limit = next((held for held in one.judged if held.kind is LimitKind.SHIFT), None)
    if limit is not None and one.long_day is not None:
        lowered = concentration_words(limit.limit * one.long_day, one.unit)
        basis = f"Limit x {plain(one.long_day, 3)} for {hours(exposed)}: Brief and Scala 1975"
        yield Told("On so long a day", lowered, f"{basis}. Advice beside the legal limit, not in its place.")


def earlier_words(rows: Sequence[Assessment], standing: Sequence[int], names: Mapping[str, str]) -> tuple[str, ...]:
    """Findings that stand no more, the newest first: they stay on file."""
    found = []
    for one in sorted(rows, key=lambda one: -one.id):
        if one.id in standing:
            continue
        figures = [amount(one.concentration_ng_m3, one.concentration_ppb), amount(one.short_ng_m3, one.short_ppb)]
        said = " and ".join(str(each) for each in figures if each) or "no figure of its own"
        ended = f", withdrawn {date_words(one.withdrawn_on)}" if one.withdrawn_on else ", a later one stands"
        found.append(f"{names.get(one.substance, one.substance)}: {said}, {date_words(one.made_on)}{ended}")
    return tuple(found)
