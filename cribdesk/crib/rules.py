"""A rule set as data: paragraphs by reason code, protection factors, intervals, limits, floors; read from TOML text.

A row is 'verified' (its figure or words were seen in its source), 'memory' (they were not) or 'house' (our own rule).
What rests on memory is never told as fine: `RuleSet.weighed` sees to that for every reason.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from cribdesk.crib.limits import Limit, LimitKind, Substance
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.toml_text import Fault, Section, parse

VERIFIED, MEMORY, OWN = "verified", "memory", "house"
CHECKED = (VERIFIED, MEMORY, OWN)
HOUSE_RULE = "house rule"
NOTE = "note"
"""A rule of this level says something to whoever plans, and nothing at the counter."""

LEVELS = (*(level.value for level in Level), NOTE)
FROM_MEMORY = "from memory, to be checked"
KINDS = {
    "8 h": LimitKind.SHIFT,
    "short term": LimitKind.SHORT,
    "ceiling": LimitKind.CEILING,
    "action level": LimitKind.ACTION,
    "idlh": LimitKind.IDLH,
}
"""Kinds of a limit, as rule sets write them."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: the code of its reasons, its paragraph, what it says, the levels it can have, how it was checked."""

    code: str
    paragraph: str
    words: str
    levels: tuple[str, ...]
    checked: str
    source: str

    @property
    def sound(self) -> bool:
        """Whether something may be called fine by it."""
        return self.checked != MEMORY


@dataclass(frozen=True, slots=True)
class Factor:
    """The assigned protection factor of one class of respirator; `bare` while the site holds no test evidence.

    `performance` is the class a European standard gives the device ('TH2'), '' where the set does not ask for it.
    """

    respirator_class: str
    mode: str
    facepiece: str
    performance: str
    value: float
    bare: float
    source: str
    checked: str

    @property
    def sound(self) -> bool:
        """Whether its figure was seen in its source."""
        return self.checked == VERIFIED

    @property
    def by_evidence(self) -> bool:
        """Whether a maker's test evidence raises it (29 CFR 1910.134(d)(3)(i)(A), Table 1, note 4)."""
        return self.value > self.bare


@dataclass(frozen=True, slots=True)
class Interval:
    """How often something is done again, in months to the same date; `of` says for what."""

    what: str
    months: int
    of: str
    source: str
    checked: str


@dataclass(frozen=True, slots=True)
class LikeEffect:
    """Substances that act on the body alike: their parts of the limit are added, 29 CFR 1910.1000(d)(2)(i)."""

    name: str
    substances: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Floors:
    """Least airflow by law, L/min; None where only the maker's own minimum counts."""

    tight_fitting_lpm: float | None
    loose_fitting_lpm: float | None
    source: str


@dataclass(frozen=True)
class RuleSet:
    """One country's or state's rules. `body` is whose limits bind there, `advice` whose a hygienist may choose.

    `adjusted` names the substances whose limit falls by law on days longer than 8 h.
    """

    code: str
    name: str
    country: str
    cites: str
    body: str
    advice: tuple[str, ...]
    rules: Mapping[str, Rule]
    factors: tuple[Factor, ...]
    intervals: Mapping[str, Interval] = field(default_factory=dict)
    limits: Mapping[tuple[str, LimitKind], Limit] = field(default_factory=dict)
    like_effects: tuple[LikeEffect, ...] = ()
    adjusted: tuple[str, ...] = ()
    floors: Floors | None = None

    def paragraph(self, code: str) -> str:
        """The basis of a reason of that code; '' where the set has none."""
        rule = self.rules.get(code)
        if rule is None:
            return ""
        return rule.paragraph if rule.sound else f"{rule.paragraph} ({FROM_MEMORY})"

    def reason(
        self, level: Level, code: str, words: str, detail: str = "", subject: str = "", *, sound: bool = True
    ) -> Reason:
        """A reason with its paragraph. Fine becomes a caution where the rule or a figure (`sound`) is from memory.

        Raises KeyError for a code that the set lacks: a reason without a basis is none.
        """
        self.rules[code]
        made = Reason(level, code, words, detail, self.paragraph(code), subject)
        return made if sound else _doubtful(made)

    def weighed(self, reason: Reason) -> Reason:
        """A reason as this set weighs it: with its paragraph, and never fine by a rule from memory.

        What the set does not name, and a line that names its own limit, keeps its own basis.
        """
        rule = self.rules.get(reason.code)
        if rule is None:
            return reason
        said = replace(reason, basis=self.paragraph(reason.code)) if rule.paragraph else reason
        return said if rule.sound else _doubtful(said)

    def by_interval(self, reason: Reason, what: str) -> Reason:
        """A reason that rests on how often something is done again: never fine by an interval from memory."""
        interval = self.intervals.get(what)
        return _doubtful(reason) if interval is not None and interval.checked == MEMORY else reason

    def factor(self, respirator_class: str, mode: str, facepiece: str, performance: str = "") -> Factor | None:
        """The factor of a class of respirator, or None where the set has none: nothing is guessed."""
        wanted = (respirator_class, mode, facepiece)
        fitting = [one for one in self.factors if (one.respirator_class, one.mode, one.facepiece) == wanted]
        return next((one for one in fitting if one.performance in ("", performance)), None)

    def substance(self, substance: Substance) -> Substance:
        """A substance with the limits that hold under this set in place of those of the same body and kind."""
        own = {kind: limit for (id_, kind), limit in self.limits.items() if id_ == substance.id}
        if not own:
            return substance
        kept = tuple(one for one in substance.limits if one.body != self.body or one.kind not in own)
        return replace(substance, limits=(*kept, *own.values()))


def _doubtful(reason: Reason) -> Reason:
    if reason.level is not Level.FINE:
        return reason
    told = f"Rests on a figure {FROM_MEMORY}."
    before = f"{reason.detail.rstrip('.')}. " if reason.detail else ""
    return replace(reason, level=Level.CAUTION, detail=f"{before}{told}")


NO_RULES = RuleSet("", "no rule set", "", "", "", (), MappingProxyType({}), ())
"""In force where the file of the chosen set is missing: nothing can be judged by it."""


class RuleFaults(Exception):
    """A rule set's text cannot be used; `faults` lists everything that is wrong in it."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


def base_of(text: str) -> str:
    """The code of the set that a text builds upon; '' for none."""
    top, _ = parse(text, "")
    return top.text("base", "")


def read_rules(text: str, base: RuleSet | None = None, file: str = "", factors_csv: str = "") -> RuleSet:
    """The rule set in a TOML text, over the set it builds upon; raises RuleFaults with every fault at once.

    What the text names takes the place of the same in `base`; `factors_csv` is the table it may point at with
    `factors_table`.
    """
    top, book = parse(text, file)
    if book.faults:
        raise RuleFaults(tuple(book.faults))
    under = base or NO_RULES
    if top.text("base", "") != under.code:
        top.fault("base", "the set that it builds upon was not handed in.")
    body = top.text("body", under.body)
    made = RuleSet(
        code=top.text("code", pattern=r"[a-z][a-z0-9_]*"),
        name=top.text("name", limit=80),
        country=top.text("country", under.country),
        cites=top.text("cites", under.cites),
        body=body,
        advice=top.texts("advice") if top.has("advice") else under.advice,
        rules=MappingProxyType({**under.rules, **_read_all(top)}),
        factors=_read_factors(top, factors_csv) or under.factors,
        intervals=MappingProxyType({**under.intervals, **_read_intervals(top)}),
        limits=MappingProxyType({**under.limits, **_read_limits(top, body)}),
        like_effects=_read_like(top) or under.like_effects,
        adjusted=top.texts("adjusted") if top.has("adjusted") else under.adjusted,
        floors=_read_floors(top) or under.floors,
    )
    top.finish()
    if book.faults:
        raise RuleFaults(tuple(book.faults))
    return made


def _read_all(top: Section) -> dict[str, Rule]:
    found: dict[str, Rule] = {}
    for section in top.sections("rules"):
        rule = Rule(
            section.text("code", pattern=r"[a-z][a-z0-9]*(-[a-z0-9]+)*"),
            section.text("paragraph", ""),
            section.text("words"),
            section.texts("levels", required=True),
            section.one_of("checked", CHECKED),
            section.text("source", ""),
        )
        if rule.code in found:
            section.fault("code", f"'{rule.code}' stands twice.")
        for level in rule.levels:
            if level not in LEVELS:
                section.fault("levels", f"'{level}' is not one of: {', '.join(LEVELS)}.")
        found[rule.code] = rule
        section.finish()
    return found


def _read_factors(top: Section, csv_text: str) -> tuple[Factor, ...]:
    found: list[Factor] = []
    if top.text("factors_table", ""):
        found += read_factors(csv_text)
        if not found:
            top.fault("factors_table", "the table was not handed in.")
    for section in top.sections("factors"):
        value = section.number("factor") or 1.0
        if not section.has("factor"):
            section.fault("factor", "this key is missing.")
        found.append(
            Factor(
                section.text("class"), section.text("mode"), section.text("facepiece"), section.text("performance", ""),
                value, section.number("without_evidence") or value, section.text("source"),
                section.one_of("checked", CHECKED),
            )
        )  # fmt: skip
        section.finish()
    return tuple(found)


def read_factors(csv_text: str) -> tuple[Factor, ...]:
    """The factors out of the table of assigned protection factors (29 CFR 1910.134(d)(3)(i)(A), Table 1)."""
    return tuple(
        Factor(
            row["respirator_class"], row["mode"], row["facepiece"], "", float(row["apf"]),
            float(row["apf_without_evidence"]), row["source"], row["checked"],
        )
        for row in csv.DictReader(io.StringIO(csv_text))
    )  # fmt: skip


def _read_intervals(top: Section) -> dict[str, Interval]:
    found = {}
    for section in top.sections("intervals"):
        what = section.text("what")
        months = section.whole("months", required=True) or 1
        found[what] = Interval(
            what, months, section.text("of", ""), section.text("source"), section.one_of("checked", CHECKED)
        )
        section.finish()
    return found


def _read_limits(top: Section, body: str) -> dict[tuple[str, LimitKind], Limit]:
    found = {}
    for section in top.sections("limits"):
        kind = KINDS.get(section.one_of("kind", tuple(KINDS)), LimitKind.SHIFT)
        value = section.number("value")
        if value is None:
            section.fault("value", "a limit lies above zero.")
            value = 1.0
        verified = section.one_of("checked", CHECKED) == VERIFIED
        limit = Limit(body, kind, value, section.text("measured_as", ""), section.text("source"), verified)
        found[section.text("substance"), kind] = limit
        section.finish()
    return found


def _read_like(top: Section) -> tuple[LikeEffect, ...]:
    found = []
    for section in top.sections("like_effects"):
        substances = section.texts("substances", required=True)
        found.append(LikeEffect(section.text("name"), substances, section.text("source")))
        section.finish()
    return tuple(found)


def _read_floors(top: Section) -> Floors | None:
    if not top.has("floors"):
        return None
    section = top.section("floors")
    made = Floors(section.number("tight_fitting_lpm"), section.number("loose_fitting_lpm"), section.text("source"))
    section.finish()
    return made
