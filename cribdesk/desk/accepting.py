"""The cautions that somebody accepted by name: weighed again where the issue is written, and kept with its custody."""

from __future__ import annotations

from cribdesk.crib.acceptance import WHO_ACCEPTS, Accepted, role_words, still_wanting, wants_accepting
from cribdesk.crib.records import CautionAccepted, Custody, Person, Unit
from cribdesk.crib.refusal import NotAccepted, Reason, WrongFigure
from cribdesk.desk.operation import Context, fetch
from cribdesk.desk.ports import Work


def save_accepted(
    work: Work,
    context: Context,
    unit: Unit,
    custody: Custody,
    found: tuple[Reason, ...],
    rows: tuple[tuple[str, str, str, str, int], ...],
) -> tuple[str, ...]:
    """Keeps each acceptance that one of the cautions `found` asks for; returns the labels of who accepted.

    Raises NotAccepted for a caution without one, or by somebody of no role for it or with an ended badge.
    """
    accepted = tuple(Accepted(*row) for row in rows)
    for missing in still_wanting(found, accepted):
        raise NotAccepted(unit.label, missing.words, role_words(WHO_ACCEPTS[missing.code]))
    takers: dict[str, None] = {}
    for reason in wants_accepting(found):
        taken = next(one for one in accepted if one.key == reason.key and one.words == reason.words)
        takers[_taker(work, context, unit, reason, taken).label] = None
        work.save(
            CautionAccepted(
                custody_id=custody.id, code=taken.code, subject=taken.subject, why=taken.why.strip(), by_id=taken.by_id
            )
        )
    return tuple(takers)


def _taker(work: Work, context: Context, unit: Unit, reason: Reason, taken: Accepted) -> Person:
    person = fetch(work, Person, taken.by_id, "Who accepted it")
    if not person.has(*WHO_ACCEPTS[reason.code]) or person.ended(context.house.today(context.moment)):
        raise NotAccepted(unit.label, reason.words, role_words(WHO_ACCEPTS[reason.code]))
    if not taken.why.strip():
        raise WrongFigure("Why", "a caution is accepted with a reason")
    return person
