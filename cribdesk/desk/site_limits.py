"""Limits that the site adds from its own copy of a list, and which limit a substance's figures are held against."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from cribdesk.crib.concentration import Amount, amount, amount_of
from cribdesk.crib.limits import NIOSH, OSHA, LimitKind, Substance
from cribdesk.crib.limits import measured_as as converted
from cribdesk.crib.records import Role, SiteLimit
from cribdesk.crib.refusal import WrongFigure
from cribdesk.crib.words import date_words
from cribdesk.desk.house import House
from cribdesk.desk.operation import Context, Operation, Outcome
from cribdesk.desk.people import OFFICE
from cribdesk.desk.ports import Records, Work

BODY_WORDS = {OSHA: "OSHA limit", NIOSH: "NIOSH recommendation"}
KINDS = {
    "8 h": LimitKind.SHIFT,
    "short term": LimitKind.SHORT,
    "ceiling": LimitKind.CEILING,
    "idlh": LimitKind.IDLH,
}
"""The kinds of a site limit, as they stand in its record."""
HELD_AGAINST = (LimitKind.SHIFT, LimitKind.SHORT, LimitKind.CEILING)
"""What a figure is held against; the other kinds say something else."""


@dataclass(frozen=True)
class Held:
    """A limit that figures of a substance are held against, by body and kind. `amount` in the unit figures have."""

    body: str
    kind: LimitKind
    amount: Amount
    measured_as: str
    source: str
    verified: bool
    """Whether its figure was seen in its source. The site answers for its own."""

    @property
    def own(self) -> bool:
        """Whether the site added it."""
        return self.body not in BODY_WORDS


@dataclass(frozen=True, kw_only=True)
class AddSiteLimit(Operation):
    """A limit from the site's own copy of a list. A later one of the same substance and form, kind and
    source takes its place.

    `particles` counts for a substance that the table does not have.
    """

    substance: str
    kind: str
    value: float
    unit: str
    source: str
    from_on: date
    form: str = ""
    measured_as: str = ""
    particles: bool = True

    code: ClassVar[str] = "add-site-limit"
    words: ClassVar[str] = "Adding a limit"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it beside the earlier ones; nothing is overwritten."""
        name, source = self.substance.strip(), self.source.strip()
        if not name:
            raise WrongFigure("Substance", "it is empty")
        if self.kind not in KINDS:
            raise WrongFigure("Kind", f"a limit is one of {', '.join(KINDS)}")
        if not source:
            raise WrongFigure("Source", "say which list it stands in, and of which year")
        if source.casefold() in BODY_WORDS:
            raise WrongFigure("Source", f"the limits of {source} are here already. Name your own copy")
        if self.from_on > context.house.today(context.moment):
            raise WrongFigure("Holds from", f"{date_words(self.from_on)} is still to come")
        known = context.house.substances.get(name)
        measured = self._measured(known)
        figure = self._figure(known, known.particle if known else self._as_before(work, name), measured)
        work.save(
            SiteLimit(
                substance=name,
                form=self.form.strip(),
                kind=self.kind,
                limit_ng_m3=figure.ng_m3,
                limit_ppb=figure.ppb,
                measured_as=measured,
                source=source,
                from_on=self.from_on,
            )
        )
        called = known.name if known else name
        return Outcome(f"Limit added: {called}, {self.kind}, {figure}, from {source}.", ())

    def _figure(self, known: Substance | None, particle: bool, measured: str) -> Amount:
        if not self.value:
            raise WrongFigure("Limit", "a limit lies above zero")
        if not known and not particle and self.unit != "ppm":
            raise WrongFigure("Unit", "the molar mass of this gas is not known here; give its limit in ppm")
        try:
            return amount_of(self.value, self.unit, particle, measured)
        except ValueError as failure:
            raise WrongFigure("Limit", str(failure)) from None

    def _measured(self, known: Substance | None) -> str:
        """What it is measured as; where that is not said, as the table measures it."""
        wanted = self.measured_as.strip()
        if known is None or not known.limits:
            return wanted
        usual = known.limits[0].measured_as
        if not wanted:
            return usual
        try:
            converted(1.0, wanted, usual)
        except ValueError as failure:
            raise WrongFigure("Measured as", in_form(failure)) from None
        return wanted

    def _as_before(self, work: Work, name: str) -> bool:
        """Particles or gas: what is kept of the substance already, else what is said now."""
        before = work.first(SiteLimit, substance=name)
        if before is not None and (before.limit_ppb is None) != self.particles:
            raise WrongFigure("Kind of air", f"{name} is on file as {'particles' if not self.particles else 'a gas'}")
        return self.particles


def in_form(failure: ValueError) -> str:
    """What a conversion says, as it goes on in a sentence."""
    words = str(failure)
    return words[:1].lower() + words[1:]


def standing_limits(limits: Iterable[SiteLimit], today: date) -> list[SiteLimit]:
    """The site's own limits that hold today: of each substance and form, kind and source the last one."""
    found: dict[tuple[str, str, str, str], SiteLimit] = {}
    for one in sorted(limits, key=lambda one: (one.from_on, one.id)):
        if one.from_on <= today:
            found[one.substance, one.form.casefold(), one.kind, one.source] = one
    return sorted(found.values(), key=lambda one: (one.substance.casefold(), one.source, one.kind))


def limits_of(records: Records, house: House, substance: str, today: date) -> list[Held]:
    """Every limit of a substance: of the table, and the site's own; one query."""
    return limits_among(records.find(SiteLimit, substance=substance), house, substance, today)


def limits_among(
    rows: Iterable[SiteLimit], house: House, substance: str, today: date, form: str = ""
) -> list[Held]:
    """The same where the site's limits are at hand. The table's are those of the rule set in force.

    A limit of one form holds for findings of that form; where the finding names none, or the source has none of it,
    each of them holds and the strictest decides.
    """
    known = house.substance(substance)
    found = [] if known is None else [_of_table(known, number) for number in range(len(known.limits))]
    for one in _of_form(standing_limits([row for row in rows if row.substance == substance], today), form):
        figure = amount(one.limit_ng_m3, one.limit_ppb)
        assert figure is not None
        found.append(Held(one.source, KINDS[one.kind], figure, one.measured_as, one.source, True))
    return found


def _of_form(limits: Sequence[SiteLimit], form: str) -> list[SiteLimit]:
    wanted = form.casefold()
    named = {(one.source, one.kind) for one in limits if one.form.casefold() == wanted}
    return [
        one
        for one in limits
        if not one.form or one.form.casefold() == wanted or not wanted or (one.source, one.kind) not in named
    ]


def _of_table(known: Substance, number: int) -> Held:
    one = known.limits[number]
    unit = "mg/m3" if known.particle else "ppm"
    figure = amount_of(one.value, unit, known.particle)
    return Held(one.body, one.kind, figure, one.measured_as, one.source, one.verified)


def bodies_of(limits: Iterable[Held]) -> list[str]:
    """Whose limits a figure may be held against: OSHA, NIOSH, then the site's own by source."""
    found = {one.body for one in limits if one.kind in HELD_AGAINST}
    return sorted(found, key=lambda body: (list(BODY_WORDS).index(body) if body in BODY_WORDS else 9, body))


def body_words(body: str) -> str:
    """'OSHA limit', 'NIOSH recommendation', or the source of the site's own limit."""
    return BODY_WORDS.get(body, body) or "no limit"


def substance_words(house: House, substance: str) -> str:
    """Its name as it is said."""
    known = house.substances.get(substance)
    return known.name if known else substance
