"""Limits of the site's own, and the protection factors of its unit models with the evidence they rest on."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from cribdesk.crib.concentration import amount, plain
from cribdesk.crib.model import UnitModel
from cribdesk.crib.records import Assessment, FactorEvidence, SiteLimit
from cribdesk.crib.words import capital, date_words
from cribdesk.desk.cards_area import EvidenceRow, LimitRow, LimitsPage
from cribdesk.desk.entry_assessments import KIND_WORDS
from cribdesk.desk.factor_evidence import standing_evidence, why_no_evidence
from cribdesk.desk.house import House
from cribdesk.desk.ports import Reader
from cribdesk.desk.protection import respirator_of
from cribdesk.desk.site_limits import standing_limits, substance_words


def limits_page(reader: Reader, house: House, moment: datetime) -> LimitsPage:
    """All of it; three queries."""
    areas: defaultdict[tuple[str, str], set[int]] = defaultdict(set)
    for one in reader.find(Assessment, withdrawn_on=None):
        areas[one.limit, one.substance].add(one.area_id)
    limits = standing_limits(reader.find(SiteLimit), house.today(moment))
    evidence = reader.find(FactorEvidence)
    standing = standing_evidence(evidence)
    models = sorted(house.models.values(), key=lambda one: one.code)
    ended = [one for one in evidence if one.withdrawn_on]
    return LimitsPage(
        limits=tuple(_limit(house, one, len(areas[one.source, one.substance])) for one in limits),
        models=tuple(_model(house, one, standing.get(one.code)) for one in models),
        withdrawn=tuple(
            f"{one.model}: {one.document} of {date_words(one.dated_on)}, withdrawn {date_words(one.withdrawn_on)}"
            for one in ended
            if one.withdrawn_on
        ),
        rules=house.rules.name,
        checked=_checked(house),
    )


def _limit(house: House, one: SiteLimit, held: int) -> LimitRow:
    figure = amount(one.limit_ng_m3, one.limit_ppb)
    counted = f" as {one.measured_as}" if one.measured_as else ""
    return LimitRow(
        substance_words(house, one.substance), KIND_WORDS[one.kind], f"{figure}{counted}", one.source,
        date_words(one.from_on), held,
    )  # fmt: skip


def _model(house: House, model: UnitModel, evidence: FactorEvidence | None) -> EvidenceRow:
    respirator = respirator_of(model, house.rules, evidence)
    factor = plain(respirator.factor) if respirator.factor is not None else "none"
    why = why_no_evidence(model.facepiece, model.powered)
    if not respirator.breathes:
        why = "it gives no air"
    elif respirator.raised is not None:
        why = f"{plain(respirator.raised)} once the maker's test evidence is on file"
    held = f"{evidence.document} of {date_words(evidence.dated_on)}, factor {evidence.factor}" if evidence else ""
    return EvidenceRow(
        model=model.code,
        name=capital(model.name),
        factor=factor,
        evidence=held,
        why="" if evidence else capital(why),
        open=respirator.raised is not None,
    )


def _checked(house: House) -> str:
    """How many of the shipped limits were not seen in their source."""
    limits = [one for substance in house.substances.values() for one in substance.limits]
    memory = sum(not one.verified for one in limits)
    return (
        f"{len(house.substances)} substances have {len(limits)} limits here; {memory} of these are from memory, "
        "and nothing is called enough by one of those."
    )
