"""What an area asks of a unit, worked out: findings against their limits, mixtures, shades, controls."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from cribdesk.compute.exposure import (
    DAY_HOURS,
    STANDARD_SHIFT_HOURS,
    effective_factor,
    hazard_ratio,
    long_shift_factor,
    mixture_index,
)
from cribdesk.crib.concentration import clean
from cribdesk.crib.enough import enough
from cribdesk.crib.limits import LimitKind, measured_as
from cribdesk.crib.model import UnitModel
from cribdesk.crib.protection import (
    AgentFinding,
    AreaProtection,
    Enough,
    Judged,
    Mixture,
    ProcessShade,
    Respirator,
    Weighing,
)
from cribdesk.crib.records import (
    Area,
    AreaCondition,
    AreaControl,
    AreaProcess,
    Assessment,
    Control,
    FactorEvidence,
    Sample,
    SiteLimit,
)
from cribdesk.crib.rules import RuleSet
from cribdesk.crib.words import date_words, in_sentence
from cribdesk.desk.air_figures import average_of_short, figures_of
from cribdesk.desk.area_facts import last_change, process_words, shade_of, standing_condition
from cribdesk.desk.assessments import has_finding, standing_assessments
from cribdesk.desk.factor_evidence import standing_evidence, why_no_evidence
from cribdesk.desk.house import House
from cribdesk.desk.ports import Records
from cribdesk.desk.site_limits import BODY_WORDS, HELD_AGAINST, Held, body_words, limits_among, substance_words

HOUR = 60
EXHAUST = ("exhaust", "extract", "downdra", "fume hood", "fume arm")
VENTILATED = (*EXHAUST, "ventilat", "air mover")
"""An engineering control counts as local exhaust, or as ventilation, where its words say so (a house rule): a curtain
is an engineering control too."""
DENIED = re.compile(r"\b(no|not|none|never|without|lacks?|missing|broken|off|planned|ordered|until|out of)\b")
"""Words that take it back: then it counts as neither."""

ACUTE = (LimitKind.SHORT, LimitKind.CEILING)

OfArea = TypeVar("OfArea", Assessment, AreaCondition, AreaProcess, AreaControl)


@dataclass(frozen=True)
class AreaRows:
    """Every row that tells of areas, by area; read at once for one area or for all."""

    assessments: Mapping[int, list[Assessment]]
    samples: Mapping[int, list[Sample]]
    limits: tuple[SiteLimit, ...]
    conditions: Mapping[int, list[AreaCondition]]
    processes: Mapping[int, list[AreaProcess]]
    controls: Mapping[int, list[AreaControl]]


def area_rows(records: Records, area_ids: Sequence[int]) -> AreaRows:
    """What is stored of these areas, in at most six queries."""
    found = records.find(Assessment, area_id=area_ids)
    standing = [one.id for rows in _by_area(found).values() for one in standing_assessments(rows)]
    samples: defaultdict[int, list[Sample]] = defaultdict(list)
    for one in records.find(Sample, assessment_id=standing) if standing else ():
        samples[one.assessment_id].append(one)
    return AreaRows(
        assessments=_by_area(found),
        samples=samples,
        limits=tuple(records.find(SiteLimit)) if found else (),
        conditions=_by_area(records.find(AreaCondition, area_id=area_ids)),
        processes=_by_area(records.find(AreaProcess, area_id=area_ids, active=True)),
        controls=_by_area(records.find(AreaControl, area_id=area_ids)),
    )


def _by_area(rows: Iterable[OfArea]) -> dict[int, list[OfArea]]:
    found: defaultdict[int, list[OfArea]] = defaultdict(list)
    for one in rows:
        found[one.area_id].append(one)
    return found


def area_protection(records: Records, house: House, area: Area, moment: datetime) -> AreaProtection:
    """What stands of an area, held against its limits under the rule set in force; at most six queries."""
    return protection_of(area_rows(records, [area.id]), house, area, house.today(moment))


def protection_of(rows: AreaRows, house: House, area: Area, today: date) -> AreaProtection:
    """The same where the rows are at hand."""
    conditions = rows.conditions.get(area.id, [])
    condition, changed = standing_condition(conditions), last_change(conditions)
    exposed = condition.exposed_minutes / HOUR if condition and condition.exposed_minutes else None
    findings = tuple(
        finding(one, rows.samples.get(one.id, []), rows.limits, house, today, exposed)
        for one in standing_assessments(rows.assessments.get(area.id, []))
    )
    controls = [one for one in rows.controls.get(area.id, []) if _in_place(one, today)]
    return AreaProtection(
        name=area.name,
        required=area.required,
        findings=findings,
        oxygen_deficient=condition is not None and condition.oxygen_deficient,
        idlh=condition is not None and condition.idlh,
        confined=condition is not None and condition.confined,
        explosive=condition is not None and condition.explosive,
        exposed_hours=exposed,
        changed=changed.changed if changed else "",
        changed_on=changed.said_on if changed else None,
        shades=tuple(_shade(one, house) for one in rows.processes.get(area.id, [])),
        controls=tuple(dict.fromkeys(one.control for one in controls)),
        exhaust=any(_moves_air(one, EXHAUST) for one in controls),
        ventilated=any(_moves_air(one, VENTILATED) for one in controls),
        mixtures=mixtures(findings, house.rules),
    )


def finding(
    one: Assessment,
    samples: Sequence[Sample],
    site_limits: Sequence[SiteLimit],
    house: House,
    today: date,
    exposed_hours: float | None,
) -> AgentFinding:
    """One assessment with its samples, held against whose limits the hygienist chose and those that bind.

    Both count where both stand, the stricter decides. A short-term level alone stands for the average too.
    """
    limits = limits_among(site_limits, house, one.substance, today, one.form)
    known_as = house.substance(one.substance)
    particle = known_as.particle if known_as else all(limit.amount.ppb is None for limit in limits)
    figures = figures_of(one, samples, exposed_hours)
    average, short = figures.average, figures.short.figure if figures.short else None
    whole = average_of_short(short, exposed_hours) if average is None and short is not None else average
    chosen = [limit for limit in limits if limit.body in (one.limit, house.rules.body)]
    trouble, judged = "", []
    for limit in chosen:
        figure = whole if limit.kind is LimitKind.SHIFT else short
        if limit.kind not in HELD_AGAINST or figure is None:
            continue
        try:
            judged.append(_judge(one, limit, figure, samples, house.rules, exposed_hours))
        except ValueError as failure:
            trouble = str(failure)
    idlh = _idlh(one, limits)
    return AgentFinding(
        substance=one.substance,
        name=substance_words(house, one.substance),
        particle=particle,
        unit=_unit(particle),
        known=has_finding(one) and (average is not None or short is not None),
        made_on=one.made_on,
        form=one.form,
        basis=one.basis.value,
        measured_as=one.measured_as,
        average=average,
        short=short,
        judged=tuple(judged),
        short_missing=short is None and any(limit.kind in ACUTE for limit in chosen),
        ceiling_only=short is None and _only_acute(chosen),
        idlh=idlh[0],
        idlh_verified=idlh[1],
        trouble=trouble,
        foreign=_foreign(one.limit, house.rules),
        review_on=one.review_on,
        long_day=_long_day(exposed_hours, judged),
        peak=figures.highest,
        sampled_on=figures.sampled_on,
    )


def _unit(particle: bool) -> str:
    return "mg/m3" if particle else "ppm"


def _judge(
    one: Assessment, limit: Held, figure: float, samples: Sequence[Sample], rules: RuleSet, exposed: float | None
) -> Judged:
    """One figure against one limit. Raises ValueError where it is measured as something that does not go over."""
    counted = measured_as(figure, one.measured_as or limit.measured_as, limit.measured_as)
    bound, lawful = limit.amount.figure, False
    long = exposed is not None and exposed > STANDARD_SHIFT_HOURS
    if long and exposed and limit.kind is LimitKind.SHIFT and one.substance in rules.adjusted:
        bound, lawful = bound * STANDARD_SHIFT_HOURS / exposed, True
        if one.concentration_ng_m3 is None and one.concentration_ppb is None:
            counted *= STANDARD_SHIFT_HOURS / exposed  # samples: the average of the long day, as the lowered limit is
    if (limit.amount.ppb is None) != (one.concentration_ppb is None and one.short_ppb is None and not _gas(samples)):
        raise ValueError("It was found in another unit than its limit has")
    return Judged(
        body=limit.body,
        kind=limit.kind,
        concentration=counted,
        limit=bound,
        ratio=clean(hazard_ratio(counted, bound)),
        measured_as=limit.measured_as,
        source=limit.source,
        verified=limit.verified,
        lawful=lawful,
    )


def _gas(samples: Sequence[Sample]) -> bool:
    return any(one.value_ppb is not None for one in samples)


def _only_acute(limits: Sequence[Held]) -> bool:
    """Whether one of the bodies sets a ceiling or short-term limit and no average: nothing shows it by an average."""
    bodies = {limit.body for limit in limits if limit.kind in HELD_AGAINST}
    kinds = {body: {one.kind for one in limits if one.body == body and one.kind in HELD_AGAINST} for body in bodies}
    return any(LimitKind.SHIFT not in found for found in kinds.values())


def _idlh(one: Assessment, limits: Sequence[Held]) -> tuple[float | None, bool]:
    """What is immediately dangerous, counted as the finding is, and whether it was seen in its source; the lowest."""
    found = []
    for limit in limits:
        if limit.kind is LimitKind.IDLH:
            try:
                figure = measured_as(limit.amount.figure, limit.measured_as, one.measured_as or limit.measured_as)
            except ValueError:
                figure = limit.amount.figure  # of the same metal under another name: errs little
            found.append((figure, limit.verified))
    return min(found, default=(None, True))


def _foreign(body: str, rules: RuleSet) -> str:
    """The words of a limit of another country's body; '' for one that binds, is advised, or is the site's own."""
    return body_words(body) if body in BODY_WORDS and body not in (rules.body, *rules.advice) else ""


def _long_day(exposed_hours: float | None, judged: Sequence[Judged]) -> float | None:
    """What an 8-hour limit is multiplied by on a longer day, as advice; None where the law lowered it, or no need."""
    if exposed_hours is None or not STANDARD_SHIFT_HOURS < exposed_hours < DAY_HOURS:
        return None
    return None if any(one.lawful for one in judged) else long_shift_factor(exposed_hours)


def mixtures(findings: Sequence[AgentFinding], rules: RuleSet) -> tuple[Mixture, ...]:
    """The index of each group of like effect of which two or more are there and judged.

    Of a substance that was found in several forms, those are added too, where no group does.
    """
    judged = [one for one in findings if one.worst and one.known]
    made, added = [], set()
    for group in rules.like_effects:
        there = [one for one in judged if one.substance in group.substances]
        if len(there) > 1:
            made.append(_mixture(group.name, there))
            added |= {one.substance for one in there}
    for substance in dict.fromkeys(one.substance for one in judged if one.substance not in added):
        forms = [one for one in judged if one.substance == substance]
        if len(forms) > 1:
            made.append(_mixture(f"forms of {in_sentence(forms[0].name)}", forms))
    return tuple(made)


def _mixture(name: str, there: Sequence[AgentFinding]) -> Mixture:
    index = clean(mixture_index([(one.worst.concentration, one.worst.limit) for one in there if one.worst]))
    return Mixture(name, index, tuple(one.substance for one in there), all(one.particle for one in there))


def _shade(process: AreaProcess, house: House) -> ProcessShade:
    words = process_words(process)
    try:
        return ProcessShade(words, shade_of(process, house.shades))
    except ValueError as failure:
        return ProcessShade(words, None, str(failure))


def _in_place(control: AreaControl, today: date) -> bool:
    return control.from_on <= today and (control.ended_on is None or control.ended_on > today)


def _moves_air(control: AreaControl, words: Sequence[str]) -> bool:
    said = control.what.casefold()
    if control.control is not Control.ENGINEERING or DENIED.search(said):
        return False
    return any(one in said for one in words)


def counts_as(control: AreaControl) -> str:
    """What an engineering control counts as for lead, cadmium and confined spaces, in words, or ''."""
    if _moves_air(control, EXHAUST):
        return ", counts as local exhaust"
    return ", counts as ventilation, not as local exhaust" if _moves_air(control, VENTILATED) else ""


def respirator_of(model: UnitModel, rules: RuleSet, evidence: FactorEvidence | None = None) -> Respirator:
    """A unit model as protection under a rule set; `evidence` is the maker's that stands for it."""
    kind, mode = _class(model)
    factor = rules.factor(kind, mode, model.facepiece, model.performance) if kind else None
    value, told = (factor.bare if factor else None), ""
    if factor and evidence and factor.by_evidence and not why_no_evidence(model.facepiece, model.powered):
        value = min(factor.value, float(evidence.factor))
        told = f"{evidence.document} of {date_words(evidence.dated_on)}"
    return Respirator(
        model=model.code,
        name=model.short_name,
        respirator_class=kind,
        mode=mode,
        facepiece=model.facepiece,
        factor=value,
        sound=factor is None or factor.sound,
        evidence=told,
        raised=factor.value if factor and factor.by_evidence and not told else None,
        gases=model.gases,
        electric=model.powered or model.shade_range is not None,
        explosive_approved=model.explosive_approved,
        shade_range=model.shade_range,
    )


def _class(model: UnitModel) -> tuple[str, str]:
    if model.facepiece == "none":
        return "", ""
    return ("PAPR", "powered") if model.powered else ("APR", "negative_pressure")


def shelf(records: Records, house: House) -> tuple[Respirator, ...]:
    """Every model of the crib as protection, by code; one query."""
    evidence = standing_evidence(records.find(FactorEvidence, withdrawn_on=None))
    return tuple(respirator_of(house.models[code], house.rules, evidence.get(code)) for code in sorted(house.models))


def weighing(
    house: House,
    respirator: Respirator | None,
    area: AreaProtection | None,
    today: date,
    planned: tuple[float, float] | None = None,
    on_shelf: Sequence[Respirator] = (),
) -> Weighing:
    """Under what a unit is weighed: with the factor that is left where it is worn for a part of the exposed hours.

    `planned` are the hours to be worn until it is due, and those by the clock until then: whoever comes late is
    exposed for the rest of the shift only. Of several days each is taken by itself.
    """
    exposed = area.exposed_hours if area else None
    good = tuple(one for one in on_shelf if one.breathes)
    if planned is None or not exposed or respirator is None or respirator.factor is None:
        return Weighing(house.rules, today, shelf=good)
    worn, exposed = min(planned[0], house.hours_a_day), min(exposed, planned[1])
    effective = effective_factor(respirator.factor, worn, exposed) if worn < exposed else None
    return Weighing(house.rules, today, worn, exposed, effective, good)


def enough_there(records: Records, house: House, area: Area, moment: datetime) -> tuple[Enough, ...]:
    """Which of the crib's models are enough for an area, which are not and why; at most seven queries."""
    on_shelf = shelf(records, house)
    today = house.today(moment)
    return enough(
        area_protection(records, house, area, moment), on_shelf, weighing(house, None, None, today, on_shelf=on_shelf)
    )
