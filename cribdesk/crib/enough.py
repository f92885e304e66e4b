"""Is this unit enough for the air, the arc and the place of an area? Pure: each reason with its paragraph.

Assessing exposure is the work of an industrial hygienist; what stands here repeats their finding and makes none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cribdesk.crib.concentration import concentration_words, plain
from cribdesk.crib.concentration import needed as needed_words
from cribdesk.crib.limits import LimitKind
from cribdesk.crib.protection import (
    HYGIENIST,
    AgentFinding,
    AreaProtection,
    Enough,
    Judged,
    Respirator,
    Weighing,
    needed_factor,
)
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.rules import RuleSet
from cribdesk.crib.words import date_words, hours, in_sentence, joined

LEAD, CADMIUM, BERYLLIUM = "lead", "cadmium", "beryllium"
SUPPLIED = "It takes supplied air or a self-contained apparatus, which this crib does not hand out."
OFF = 10


def enough(area: AreaProtection, respirators: Sequence[Respirator], with_: Weighing) -> tuple[Enough, ...]:
    """Each class of unit weighed for the area, what is enough first, by factor from the lowest."""
    found = []
    for one in respirators:
        reasons = tuple(protection_reasons(area, one, with_))
        stops = tuple(reason for reason in reasons if reason.level is Level.STOP)
        cautions = tuple(reason for reason in reasons if reason.level is Level.CAUTION)
        found.append(Enough(one, stops, cautions, needed_factor(area)))
    return tuple(sorted(found, key=lambda one: (not one.enough, one.respirator.factor or 0, one.respirator.model)))


def protection_reasons(area: AreaProtection, respirator: Respirator, with_: Weighing) -> Iterator[Reason]:
    """Every reason for and against this unit in this area, each with its paragraph.

    What the law forbids comes before the arithmetic. Nothing here depends on who the wearer is. 'Enough' is said only
    where nothing stops it: beside a stop the word would mislead.
    """
    found = list(_weighed(area, respirator, with_))
    stopped = any(one.level is Level.STOP for one in found)
    yield from (one for one in found if one.code != "enough" or not stopped)


def _weighed(area: AreaProtection, respirator: Respirator, with_: Weighing) -> Iterator[Reason]:
    yield from _place(area, respirator, with_)
    if not respirator.breathes:
        if area.required or area.over_limit or area.air_forbidden:
            detail = "The wearer needs a respirator with it."
            if area.air_forbidden:
                detail = f"No filtering one helps there. {SUPPLIED}"
            yield with_.rules.reason(Level.CAUTION, "no-air", "A respirator is required there", detail)
    else:
        yield from _atmosphere(area, with_)
        yield from _known(area, with_)
        yield from _metals(area, with_)
        yield from _gases(area, respirator, with_)
        yield from _particles(area, respirator, with_)
    yield from _shade(area, respirator, with_)


def _place(area: AreaProtection, respirator: Respirator, with_: Weighing) -> Iterator[Reason]:
    if area.explosive and respirator.electric and not respirator.explosive_approved:
        detail = "Its motor, pack or lens could be a source of ignition. Nothing of this kind goes there."
        words = "Explosive location, and this unit is not approved for it"
        yield with_.rules.reason(Level.STOP, "explosive", words, detail)


def _atmosphere(area: AreaProtection, with_: Weighing) -> Iterator[Reason]:
    supplied = SUPPLIED
    if area.oxygen_deficient:
        words = "Oxygen-deficient: no unit that filters the air helps there"
        yield with_.rules.reason(Level.STOP, "oxygen", words, supplied)
    if area.idlh:
        words = "Immediately dangerous to life or health: no unit that filters the air goes there"
        yield with_.rules.reason(Level.STOP, "idlh", words, supplied)
    if area.confined:
        if area.ventilated:
            detail = "Ventilation is recorded. See that it runs, and that somebody watches outside."
            yield with_.rules.reason(Level.CAUTION, "confined", "Confined space", detail)
        else:
            words = "Confined space without recorded ventilation"
            yield with_.rules.reason(Level.STOP, "confined", words, supplied)


def _known(area: AreaProtection, with_: Weighing) -> Iterator[Reason]:
    rules = with_.rules
    if area.required and not area.assessed:
        detail = f"Exposure there is neither known nor reasonably estimated. {HYGIENIST}"
        yield rules.reason(Level.STOP, "not-assessed", f"{area.name} is not assessed", detail)
    if area.outdated and area.changed_on:
        level = Level.STOP if area.required or area.over_limit else Level.CAUTION
        words = f"Process changed since the assessment, {date_words(area.changed_on)}"
        detail = f"{area.changed.rstrip('.')}. A new assessment is needed. {HYGIENIST}"
        yield rules.reason(level, "process-changed", words, detail)
    overdue = [one for one in area.findings if one.known and one.review_on and one.review_on < with_.today]
    for one in overdue:
        assert one.review_on is not None
        words = f"Assessment of {in_sentence(one.name)} was to be reviewed by {date_words(one.review_on)}"
        yield rules.reason(Level.CAUTION, "review", words, HYGIENIST, one.subject)
    for one in area.findings:
        yield from _judged(area, one, with_)


def _judged(area: AreaProtection, one: AgentFinding, with_: Weighing) -> Iterator[Reason]:
    """Whether a finding could be held against its limits at all."""
    rules, name, subject = with_.rules, one.name, one.subject
    if not one.known:
        if one.particle and (area.assessed or not area.required):
            detail = f"It is there, and no figure says how much. {HYGIENIST}"
            yield rules.reason(Level.STOP, "not-assessed", f"{name} is not assessed", detail, subject)
        return
    if one.trouble:
        words = f"{name} cannot be held against its limit"
        yield rules.reason(Level.STOP, "not-comparable", words, f"{one.trouble}. {HYGIENIST}", subject)
    elif one.ceiling_only:
        words = f"{name}: no short-term finding"
        detail = "Its limit is a ceiling: an average shows nothing. A short-term sample is needed."
        yield rules.reason(Level.STOP, "ceiling", words, detail, subject)
    elif not one.judged:
        words = f"{name}: no limit to hold it against"
        detail = f"The hygienist names one; the office adds it as a limit of the site. {HYGIENIST}"
        yield rules.reason(Level.STOP, "no-limit", words, detail, subject)
    elif one.short_missing:
        words = f"{name}: no short-term finding"
        detail = "A short-term limit stands beside the average one."
        yield rules.reason(Level.CAUTION, "short-term", words, detail, subject)
    if one.foreign and not one.trouble:
        words = f"{name} is held against the {one.foreign}"
        detail = f"That one does not bind under {rules.name}. {HYGIENIST}"
        yield rules.reason(Level.CAUTION, "limit-foreign", words, detail, subject)


def _metals(area: AreaProtection, with_: Weighing) -> Iterator[Reason]:
    """Welding's own rules for beryllium, cadmium and lead come before the arithmetic."""
    rules = with_.rules
    airline = "It takes airline respirators and local exhaust, by the rule for welding."
    for one in area.findings:
        told = one.known and one.ratio is not None and not one.trouble
        within = told and not one.over and not one.ceiling_only and not one.short_missing
        subject = one.subject
        if one.substance == BERYLLIUM and not within:
            words = f"{one.name} not shown to be within its limit"
            yield rules.reason(Level.STOP, "beryllium", words, airline, subject)
        elif one.substance == CADMIUM and not within and not area.exhaust:
            words = f"{one.name} not shown to be within its limit, and no local exhaust is recorded"
            yield rules.reason(Level.STOP, "cadmium", words, airline, subject)
        elif one.substance == LEAD and not area.exhaust:
            level = Level.CAUTION if within else Level.STOP
            detail = "Indoors it takes local exhaust or airline respirators, by the rule for welding."
            yield rules.reason(level, "lead", f"{one.name} there, and no local exhaust is recorded", detail, subject)


def _gases(area: AreaProtection, respirator: Respirator, with_: Weighing) -> Iterator[Reason]:
    """A particulate filter does nothing for a gas: it is below its limit, or nobody goes."""
    rules = with_.rules
    together = {id_ for one in area.mixtures if one.index > 1 and not one.particle for id_ in one.substances}
    for one in area.findings:
        if one.particle or (one.known and one.substance in respirator.gases):
            continue
        if not one.known:
            words = f"{one.name} is there and not assessed"
            detail = f"Nobody knows whether anything here removes enough of it. {HYGIENIST}"
            if one.substance not in respirator.gases:
                detail = f"No particulate filter removes it. {HYGIENIST}"
            yield rules.reason(Level.STOP, "gas-not-assessed", words, detail, one.subject)
        elif one.over and one.worst:
            words = f"{one.name} over its limit: {_figures(one, one.worst)}"
            detail = f"No particulate filter removes it. Nobody goes there in this unit. {HYGIENIST}"
            yield rules.reason(Level.STOP, "gas-over", words, detail, one.subject)
        elif one.worst and one.substance not in together:
            words = f"{one.name} below its limit: {_figures(one, one.worst)}"
            detail = f"Found {date_words(one.made_on)}. No particulate filter removes it."
            yield rules.reason(Level.CAUTION, "gas", words, detail, one.subject)
    for mixture in area.mixtures:
        if not mixture.particle and mixture.index > 1:
            words = f"Gases of like effect together over their limit: {needed_words(mixture.index)} of 1"
            detail = f"They act alike: {mixture.name}. No particulate filter removes them. {HYGIENIST}"
            yield rules.reason(Level.STOP, "mixture", words, detail, mixture.name)


def _particles(area: AreaProtection, respirator: Respirator, with_: Weighing) -> Iterator[Reason]:
    """The arithmetic: what is needed against what the class gives; one line where it is enough."""
    rules = with_.rules
    filtered = [one for one in area.findings if one.particle or one.substance in respirator.gases]
    told = [one for one in filtered if one.known and one.worst and not one.trouble]
    if not filtered and area.required and area.assessed:
        words = f"{area.name}: nothing is assessed that this unit filters"
        detail = f"A respirator is required there, and no finding says against what. {HYGIENIST}"
        yield rules.reason(Level.STOP, "not-assessed", words, detail)
    if not told:
        return
    if respirator.factor is None:
        detail = f"{rules.name} has none for {_class_words(respirator)}. {HYGIENIST}"
        yield rules.reason(Level.STOP, "no-factor", "No assigned protection factor is known for this unit", detail)
        return
    found = [*_over(told, area, respirator, with_), *_most(told, rules)]
    yield from found
    needed = max((one.worst for one in told if one.worst), key=lambda one: one.ratio)
    worst = next(one for one in told if one.worst is needed)
    index = max((one.index for one in area.mixtures if one.particle), default=0.0)
    required = max(needed.ratio, index)
    if not found and (area.required or area.over_limit):
        sound = respirator.sound and all(_verified(one, respirator.factor) for one in told)
        yield _enough(worst, required, respirator, area, with_, sound)
    if not found and with_.effective is not None and with_.effective < required:
        assert with_.exposed_hours is not None
        assert with_.worn_hours is not None
        times = f"Worn {hours(with_.worn_hours)} of {hours(with_.exposed_hours)}"
        words = f"{times} it protects like {plain(with_.effective, 3)}, {needed_words(required)} needed"
        detail = "Protection counts only while it is worn. Plan the work so that it is worn all the time there."
        yield rules.reason(Level.CAUTION, "worn-part", words, detail)


def _over(
    told: Sequence[AgentFinding], area: AreaProtection, respirator: Respirator, with_: Weighing
) -> Iterator[Reason]:
    rules, factor = with_.rules, respirator.factor
    assert factor is not None
    for one in told:
        worst = one.worst
        assert worst is not None
        if worst.ratio > factor:
            words = f"Not enough: factor {plain(factor)} against {needed_words(worst.ratio)} needed"
            detail = f"{one.name}, {_figures(one, worst)}, {date_words(one.made_on)}. {_other(worst.ratio, with_)}"
            yield rules.reason(Level.STOP, "factor", f"{words} ({in_sentence(one.name)})", detail, one.subject)
    for mixture in area.mixtures:
        alone = any(one.ratio is not None and one.ratio > factor for one in told if one.substance in mixture.substances)
        if mixture.particle and mixture.index > factor and not alone:
            words = f"Not enough together: factor {plain(factor)} against {needed_words(mixture.index)} needed"
            detail = f"Substances of like effect, {mixture.name}, are added. {_other(mixture.index, with_)}"
            yield rules.reason(Level.STOP, "mixture", words, detail, mixture.name)


def _most(told: Sequence[AgentFinding], rules: RuleSet) -> Iterator[Reason]:
    """What is immediately dangerous caps the use of any factor."""
    for one in told:
        if one.idlh is not None and one.highest is not None and one.highest >= one.idlh:
            cap = concentration_words(one.idlh, one.unit)
            words = f"{one.name} over what any filtering unit may be used in, {cap}"
            detail = "It is immediately dangerous to life or health there."
            yield rules.reason(Level.STOP, "maximum-use", words, detail, one.subject)


def _enough(
    one: AgentFinding, required: float, respirator: Respirator, area: AreaProtection, with_: Weighing, sound: bool
) -> Reason:
    worst, factor = one.worst, respirator.factor
    assert worst is not None
    assert factor is not None
    words = f"Enough: factor {plain(factor)} against {needed_words(required)} needed"
    found = f"{one.name}, {_figures(one, worst)}, {date_words(one.made_on)}"
    beside = _beside(one, respirator, area, with_)
    detail = f"{found}; {beside}" if beside else found
    return with_.rules.reason(Level.FINE, "enough", words, detail, sound=sound)


def _verified(one: AgentFinding, factor: float) -> bool:
    """Whether the figures that decide were seen in their source.

    What is immediately dangerous decides nothing where it caps no use by this factor, or lies ten times off and more
    (a house rule: so far off no memory errs).
    """
    worst = one.worst
    assert worst is not None
    if one.idlh is None or one.idlh_verified or one.highest is None:
        return worst.verified
    near = one.idlh < factor * worst.limit and one.highest * OFF > one.idlh
    return worst.verified and not near


def _beside(one: AgentFinding, respirator: Respirator, area: AreaProtection, with_: Weighing) -> str:
    parts = []
    if with_.effective is not None and with_.worn_hours is not None and with_.exposed_hours is not None:
        times = f"worn {hours(with_.worn_hours)} of {hours(with_.exposed_hours)}"
        parts.append(f"{times} it protects like {plain(with_.effective, 3)}")
    if respirator.evidence:
        parts.append(f"factor by the maker's evidence, {respirator.evidence}")
    if one.long_day is not None:
        parts.append(f"on so long a day the limit times {plain(one.long_day, 3)} is advised")
    return "; ".join(parts)


def _other(ratio: float, with_: Weighing) -> str:
    """What of this crib would be enough by its factor."""
    good = [one for one in with_.shelf if one.factor is not None and one.factor >= ratio]
    if not good:
        return f"Nothing in this crib is enough. {HYGIENIST}"
    names = [f"{one.name} ({plain(one.factor or 0)})" for one in sorted(good, key=lambda one: one.factor or 0)]
    return f"Enough by its factor: {joined(names)}."


def _shade(area: AreaProtection, respirator: Respirator, with_: Weighing) -> Iterator[Reason]:
    rules, lens = with_.rules, respirator.shade_range
    told = [one for one in area.shades if one.minimum is not None]
    if not area.shades:
        return
    if lens is None:
        detail = "The eyes need a filter lens of the right shade besides."
        yield rules.reason(Level.CAUTION, "no-lens", f"No lens in this unit: {area.shades[0].words}", detail)
        return
    for one in area.shades:
        if one.minimum is None:
            detail = f"{one.why.rstrip('.')}. The maker's instructions or a qualified person decide."
            yield rules.reason(Level.CAUTION, "shade-unknown", f"Shade not known for {one.words}", detail, one.words)
    if not told:
        return
    darkest = max(told, key=lambda one: one.minimum or 0)
    minimum = darkest.minimum or 0
    if lens[1] < minimum:
        words = f"Lens too light: shade {plain(minimum)} needed, it reaches {lens[1]}"
        yield rules.reason(Level.STOP, "shade", words, f"{darkest.words}. Take a unit with a darker lens.")
    else:
        words = f"Lens dark enough: shade {plain(minimum)} needed"
        detail = f"{darkest.words}; the lens has {lens[0]} to {lens[1]}. Set it there or darker"
        yield rules.reason(Level.FINE, "shade", words, detail)


def _figures(one: AgentFinding, worst: Judged) -> str:
    """'0.9 of 5 mg/m³ (ceiling)'."""
    kind = "" if worst.kind is LimitKind.SHIFT else f" ({worst.kind.value})"
    lowered = ", lowered for the long day" if worst.lawful else ""
    return f"{plain(worst.concentration)} of {concentration_words(worst.limit, one.unit)}{kind}{lowered}"


def _class_words(respirator: Respirator) -> str:
    powered = "a powered " if respirator.mode == "powered" else "a "
    return powered + respirator.facepiece.replace("_", " ")

