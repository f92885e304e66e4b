"""A maker's test evidence that lets a unit model count with the higher factor: recorded, withdrawn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from cribdesk.crib.records import FactorEvidence, Role
from cribdesk.crib.refusal import AlreadyWithdrawn, WrongFigure
from cribdesk.crib.words import date_words, number
from cribdesk.desk.operation import Context, Operation, Outcome, fetch
from cribdesk.desk.people import OFFICE
from cribdesk.desk.ports import Work

LEAST_TESTED = 1000
"""The level that the maker's testing has to show: 29 CFR 1910.134(d)(3)(i)(A), Table 1 note 4."""
HIGHEST_TESTED = 100_000
WITH_EVIDENCE = ("helmet_hood",)
"""Facepieces of powered units whose factor rests on such evidence; the loose-fitting facepiece has no such route."""


@dataclass(frozen=True, kw_only=True)
class RecordFactorEvidence(Operation):
    """The site holds the maker's test evidence for a model: which document, of which day, for which factor."""

    model: str
    factor: int
    document: str
    dated_on: date

    code: ClassVar[str] = "record-factor-evidence"
    words: ClassVar[str] = "Recording test evidence"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Saves it; the model counts with the higher factor from then on."""
        model = context.house.models.get(self.model)
        if model is None:
            raise WrongFigure("Model", f"there is no unit model {self.model or 'without a code'}")
        why = why_no_evidence(model.facepiece, model.powered)
        if why:
            raise WrongFigure("Model", f"{model.code}: {why}")
        if not LEAST_TESTED <= self.factor <= HIGHEST_TESTED:
            least = f"the maker's testing has to show {number(LEAST_TESTED)} or more"
            raise WrongFigure("Factor", f"{least} (29 CFR 1910.134(d)(3)(i)(A), Table 1 note 4)")
        if not self.document.strip():
            raise WrongFigure("Document", "say which paper of the maker it is")
        if self.dated_on > context.house.today(context.moment):
            raise WrongFigure("Dated", f"{date_words(self.dated_on)} is still to come")
        work.save(
            FactorEvidence(
                model=model.code,
                factor=self.factor,
                document=self.document.strip(),
                dated_on=self.dated_on,
                by_id=context.clerk.id,
            )
        )
        said = f"test evidence of {date_words(self.dated_on)} for a factor of {number(self.factor)} recorded"
        return Outcome(f"{model.code}: {said}.", ())


@dataclass(frozen=True, kw_only=True)
class WithdrawFactorEvidence(Operation):
    """The evidence stands no more: the maker took it back, or it is not of this model."""

    evidence_id: int
    why: str

    code: ClassVar[str] = "withdraw-factor-evidence"
    words: ClassVar[str] = "Withdrawing test evidence"
    may: ClassVar[tuple[Role, ...]] = OFFICE

    def run(self, work: Work, context: Context) -> Outcome:
        """Notes the day; without other evidence the model counts with the lower factor again."""
        one = fetch(work, FactorEvidence, self.evidence_id, "This evidence")
        if one.withdrawn_on:
            raise AlreadyWithdrawn("This evidence", date_words(one.withdrawn_on))
        if not self.why.strip():
            raise WrongFigure("Why", "say why it is withdrawn")
        work.take(one)
        work.save(replace(one, withdrawn_on=context.house.today(context.moment)))
        said = f"test evidence of {date_words(one.dated_on)} withdrawn: {self.why.strip().rstrip('.')}"
        left = standing_evidence(work.find(FactorEvidence, model=one.model, withdrawn_on=None)).get(one.model)
        now = f" That of {date_words(left.dated_on)} still stands." if left else ""
        return Outcome(f"{one.model}: {said}.{now}", ())


def why_no_evidence(facepiece: str, powered: bool) -> str:
    """Why no test evidence changes the factor of such a model, in words, or ''."""
    if not powered:
        return "it is not a powered respirator; no test evidence changes its factor"
    if facepiece == "loose_fitting_facepiece":
        return "a loose-fitting facepiece has the factor 25 whatever its maker tested (Table 1 of 29 CFR 1910.134)"
    return "" if facepiece in WITH_EVIDENCE else "its factor needs no test evidence (Table 1 of 29 CFR 1910.134)"


def standing_evidence(evidence: Iterable[FactorEvidence]) -> dict[str, FactorEvidence]:
    """The evidence that stands, by model code: the last one dated that was not withdrawn."""
    found: dict[str, FactorEvidence] = {}
    for one in sorted(evidence, key=lambda one: (one.dated_on, one.id)):
        if one.withdrawn_on is None:
            found[one.model] = one
    return found
