"""What the hygienist found in an area: entering a finding with its samples, adding a sample, withdrawing a finding.

The tool repeats the finding and makes none: assessing exposure is the work of an industrial hygienist.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar, NamedTuple

from cribdesk.crib.concentration import Amount, amount_of
from cribdesk.crib.limits import measured_as as converted
from cribdesk.crib.records import Area, Assessment, AssessmentBasis, Role, Sample
from cribdesk.crib.refusal import AlreadyWithdrawn, Superseded, WrongFigure
from cribdesk.crib.words import count, date_words, in_sentence
from cribdesk.desk.house import House
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.people import OFFICE
from cribdesk.desk.ports import Records, Work
from cribdesk.desk.site_limits import Held, bodies_of, body_words, in_form, limits_of, substance_words

DAY_MINUTES = 24 * 60


class SampleTaken(NamedTuple):
    """One air sample, in the unit of its assessment. Not detected: `value` is the detection limit.

    Samples of one day and `series` (one wearer or one place: a letter, no name) follow each other.
    """

    value: float
    minutes: int
    taken_on: date
    detected: bool = True
    method: str = ""
    series: str = ""


@dataclass(frozen=True, kw_only=True)
class AssessArea(Operation):
    """The hygienist's finding of one agent in one area. Figures are in `unit`: 'mg/m3', 'ug/m3' or 'ppm'.

    `concentration` is the average over 8 h, `short` the highest level over 15 minutes or less. With basis 'samples'
    the samples may tell both. Without any figure the agent is there and nobody has a finding.
    """

    area_id: int
    substance: str
    basis: AssessmentBasis
    made_on: date
    unit: str = "mg/m3"
    concentration: float | None = None
    short: float | None = None
    form: str = ""
    measured_as: str = ""
    limit: str = "osha"
    made_by: str = ""
    document: str = ""
    review_on: date | None = None
    samples: tuple[SampleTaken, ...] = ()

    code: ClassVar[str] = "assess-area"
    words: ClassVar[str] = "Entering an assessment"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it beside the earlier ones; the last one of the agent stands."""
        area = fetch(work, Area, self.area_id, "This area")
        air = _air_of(work, context, self.substance.strip())
        self._check(context)
        last = _last_of(work, area.id, self.substance.strip(), self.form.strip())
        if last is not None and has_finding(last) and last.withdrawn_on is None and last.made_on > self.made_on:
            raise Superseded(in_sentence(air.words), date_words(last.made_on))
        measured = _measured(air, self.limit, self.measured_as.strip())
        figure, short = (_kept(air, name, value, self.unit, measured) for name, value in self._figures())
        saved = work.save(
            Assessment(
                area_id=area.id,
                substance=self.substance.strip(),
                form=self.form.strip(),
                basis=self.basis,
                concentration_ng_m3=figure.ng_m3 if figure else None,
                concentration_ppb=figure.ppb if figure else None,
                limit=self.limit,
                made_on=self.made_on,
                made_by=self.made_by.strip(),
                document=self.document.strip(),
                review_on=self.review_on,
                by_id=context.clerk.id,
                measured_as=measured,
                short_ng_m3=short.ng_m3 if short else None,
                short_ppb=short.ppb if short else None,
            )
        )
        _save_samples(work, air, saved, self.samples, self.unit)
        return Outcome(f"Area {area.label}: {self._told(air, figure, short)}.", (area.label,))

    def _figures(self) -> tuple[tuple[str, float | None], ...]:
        return (("8-hour average", self.concentration), ("Highest short-term level", self.short))

    @property
    def _finding(self) -> bool:
        """Whether somebody found something, or will by samples."""
        sampled = self.basis is AssessmentBasis.SAMPLES
        return sampled or self.concentration is not None or self.short is not None

    def _check(self, context: Context) -> None:
        today = context.house.today(context.moment)
        if self.made_on > today:
            raise WrongFigure("Made on", f"{date_words(self.made_on)} is still to come")
        if self.review_on and self.review_on <= self.made_on:
            raise WrongFigure("Review", f"{date_words(self.review_on)} is not after the day the finding was made")
        if self._finding and not self.made_by.strip():
            raise WrongFigure("Made by", "say whose finding it is: the industrial hygienist's name")
        if self._finding and not self.document.strip():
            raise WrongFigure("Document", "say which report or letter it stands in")
        if self.samples and self.basis is not AssessmentBasis.SAMPLES:
            raise WrongFigure("Basis", f"samples belong to a finding on samples, not to a {self.basis.value}")
        check_samples([], self.samples, self.made_on)

    def _told(self, air: _Air, figure: Amount | None, short: Amount | None) -> str:
        named = in_sentence(air.words)
        if not self._finding:
            return f"{named} is there and not assessed. Ask the industrial hygienist"
        parts = [f"{figure} over 8 h" if figure else "", f"{short} short-term" if short else ""]
        parts.append(count(len(self.samples), "sample") if self.samples else "")
        said = ", ".join(part for part in parts if part) or "its samples to come"
        return f"{named} assessed, {said}, against the {body_words(self.limit)}, {date_words(self.made_on)}"


@dataclass(frozen=True, kw_only=True)
class AddSample(Operation):
    """One more air sample of a finding that rests on samples."""

    assessment_id: int
    value: float
    unit: str
    minutes: int
    taken_on: date
    detected: bool = True
    method: str = ""
    series: str = ""

    code: ClassVar[str] = "add-sample"
    words: ClassVar[str] = "Entering a sample"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it with the finding; figures that rest on samples follow."""
        made = fetch(work, Assessment, self.assessment_id, "This assessment")
        if made.withdrawn_on:
            raise AlreadyWithdrawn("This assessment", date_words(made.withdrawn_on))
        if made.basis is not AssessmentBasis.SAMPLES:
            raise WrongFigure("Sample", f"this finding rests on a {made.basis.value}, not on samples")
        today = context.house.today(context.moment)
        taken = SampleTaken(
            self.value, self.minutes, self.taken_on, self.detected, self.method.strip(), self.series.strip()
        )
        check_samples(work.find(Sample, assessment_id=made.id), (taken,), today)
        air = _air_of(work, context, made.substance)
        work.take(made)
        _save_samples(work, air, made, (taken,), self.unit)
        area = work.get(Area, made.area_id)
        said = f"{in_sentence(air.words)}, sample of {date_words(self.taken_on)} added"
        return Outcome(f"Area {area.label}: {said}.", (area.label,))


@dataclass(frozen=True, kw_only=True)
class WithdrawAssessment(Operation):
    """A finding stands no more: it was wrong, or its agent is gone. The reason goes into the journal.

    An agent that is still there stands from then on as not assessed; the findings before are not taken up again.
    """

    assessment_id: int
    why: str
    still_there: bool = True

    code: ClassVar[str] = "withdraw-assessment"
    words: ClassVar[str] = "Withdrawing an assessment"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Notes the day; what is still there and not assessed keeps units from being issued for the area."""
        made = fetch(work, Assessment, self.assessment_id, "This assessment")
        if made.withdrawn_on:
            raise AlreadyWithdrawn("This assessment", date_words(made.withdrawn_on))
        _newest(work, context, made)
        if not self.why.strip():
            raise WrongFigure("Why", "say why it is withdrawn")
        work.take(made)
        today = context.house.today(context.moment)
        work.save(replace(made, withdrawn_on=today))
        if self.still_there:
            work.save(_not_assessed(made, today, context.clerk.id))
        area = work.get(Area, made.area_id)
        named = in_sentence(substance_words(context.house, made.substance))
        said = f"assessment of {named} of {date_words(made.made_on)} withdrawn: {self.why.strip().rstrip('.')}"
        now = "It is still there, not assessed" if self.still_there else "It is no longer there"
        return Outcome(f"Area {area.label}: {said}. {now}.", (area.label,))


def _not_assessed(made: Assessment, today: date, by_id: int) -> Assessment:
    return Assessment(
        area_id=made.area_id,
        substance=made.substance,
        form=made.form,
        basis=AssessmentBasis.STATED,
        limit=made.limit,
        made_on=today,
        made_by="",
        by_id=by_id,
        measured_as=made.measured_as,
    )


def _newest(work: Work, context: Context, made: Assessment) -> None:
    """Raises Superseded where a later finding of the same agent stands."""
    last = _last_of(work, made.area_id, made.substance, made.form)
    if last is not None and last.id > made.id:
        raise Superseded(in_sentence(substance_words(context.house, made.substance)), date_words(last.made_on))


def _last_of(records: Records, area_id: int, substance: str, form: str) -> Assessment | None:
    rows = records.find(Assessment, area_id=area_id, substance=substance)
    return next((one for one in reversed(rows) if one.form.casefold() == form.casefold()), None)


@dataclass(frozen=True)
class _Air:
    """A substance as it is held against limits."""

    words: str
    particle: bool
    formula: str
    limits: tuple[Held, ...]

    def of(self, body: str) -> list[Held]:
        return [one for one in self.limits if one.body == body]


def _air_of(records: Records, context: Context, substance: str) -> _Air:
    """What is known of it. A substance that the table does not have needs a limit of the site first."""
    house = context.house
    limits = tuple(limits_of(records, house, substance, house.today(context.moment)))
    known = house.substances.get(substance)
    if known is None and not limits:
        raise WrongFigure("Substance", f"'{substance}' is not in the table of limits; add the site's limit of it first")
    particle = known.particle if known else limits[0].amount.ppb is None
    return _Air(substance_words(house, substance), particle, limits[0].measured_as if limits else "", limits)


def _measured(air: _Air, body: str, said: str) -> str:
    """What the figures count, where it goes over into what the limit counts."""
    bodies = bodies_of(air.limits)
    if body not in bodies and (bodies or body):
        known = " or ".join(f"the {body_words(one)}" for one in bodies) or "nothing: no limit of it is known here"
        raise WrongFigure("Limit", f"{in_sentence(air.words)} can be held against {known}")
    if not bodies:
        return said or air.formula
    wanted = [one.measured_as for one in air.of(body)]
    try:
        for one in wanted:
            converted(1.0, said or wanted[0], one)
    except ValueError as failure:
        raise WrongFigure("Measured as", in_form(failure)) from None
    return said or wanted[0]


def _kept(air: _Air, name: str, value: float | None, unit: str, measured: str) -> Amount | None:
    if value is None:
        return None
    try:
        return amount_of(value, unit, air.particle, "" if air.particle else measured)
    except ValueError as failure:
        raise WrongFigure(name, in_form(failure)) from None


def _save_samples(work: Work, air: _Air, made: Assessment, samples: Iterable[SampleTaken], unit: str) -> None:
    for one in samples:
        figure = _kept(air, "Sample", one.value, unit, made.measured_as)
        work.save(
            Sample(
                assessment_id=made.id,
                value_ng_m3=figure.ng_m3 if figure else None,
                value_ppb=figure.ppb if figure else None,
                detected=one.detected,
                minutes=one.minutes,
                taken_on=one.taken_on,
                method=one.method.strip(),
                series=one.series.strip(),
            )
        )


def check_samples(before: Sequence[Sample], samples: Sequence[SampleTaken], latest: date) -> None:
    """Raises WrongFigure naming the sample whose duration or day cannot be, or whose day gets over 24 h."""
    for number, one in enumerate(samples, 1):
        which = f"Sample {number}" if len(samples) > 1 else "Sample"
        if one.minutes <= 0:
            raise WrongFigure(which, "it needs its duration in minutes, above zero")
        if one.minutes > DAY_MINUTES:
            raise WrongFigure(which, f"{one.minutes} minutes are more than 24 h")
        if one.taken_on > latest:
            raise WrongFigure(which, f"{date_words(one.taken_on)} lies after {date_words(latest)}")
    minutes: Counter[tuple[date, str]] = Counter()
    known = [(one.taken_on, one.series, one.minutes) for one in before]
    for on, series, length in (*known, *((one.taken_on, one.series.strip(), one.minutes) for one in samples)):
        minutes[on, series] += length
    for (on, series), total in minutes.items():
        if total > DAY_MINUTES:
            named = f" of series {series}" if series else ""
            why = f"those of {date_words(on)}{named} make {total} minutes, over 24 h. Give each wearer a series"
            raise WrongFigure("Samples", why)


def has_finding(one: Assessment) -> bool:
    """Whether somebody found something of the agent, or will by samples; without, it is there and not assessed."""
    return one.basis is AssessmentBasis.SAMPLES or bool(one.document)


def standing_assessments(assessments: Iterable[Assessment]) -> list[Assessment]:
    """What stands of each agent and form: the last one that was entered. Withdrawn, the agent is gone."""
    found: dict[tuple[str, str], Assessment] = {}
    for one in sorted(assessments, key=lambda one: one.id):
        found[one.substance, one.form.casefold()] = one
    return sorted((one for one in found.values() if one.withdrawn_on is None), key=lambda one: one.id)


def assessments_of(records: Records, area_id: int) -> list[Assessment]:
    """What stands of the agents of an area; one query."""
    return standing_assessments(records.find(Assessment, area_id=area_id))


def assessed_words(house: House, one: Assessment) -> str:
    """'Manganese fume, 4 Mar 2026', for a choice."""
    return f"{substance_words(house, one.substance)}, {date_words(one.made_on)}"
