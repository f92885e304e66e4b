"""Which cautions somebody accepts by name and with a reason before a unit goes out; the others are only shown.

A stop is accepted by nobody at the counter.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cribdesk.crib.records import Role
from cribdesk.crib.refusal import Level, Reason

ANY_CLERK = tuple(Role)

WHO_ACCEPTS: dict[str, tuple[Role, ...]] = {
    "process-changed": (Role.PROGRAM,),
    "worn-part": (Role.PROGRAM,),
    "short-term": (Role.PROGRAM,),
    "limit-foreign": (Role.PROGRAM,),
    "shade-unknown": (Role.PROGRAM,),
    "lead": (Role.PROGRAM,),
    "review": ANY_CLERK,
    "confined": ANY_CLERK,
    "work-limit": ANY_CLERK,
    "seal-look": ANY_CLERK,
    "no-air": ANY_CLERK,
}
"""Code of a caution, and the roles that may accept it (a house rule). Where the hygienist's finding is in doubt it
takes the program administrator; what somebody has to ask or see to at the place, any clerk.

'Enough' by a figure from memory is not among them: it is the same for every issue of an area, so that a name asked for
each time would soon be given unread. It is shown, kept with the custody, and goes once the site enters the limit of its
own copy."""

WHYS = (
    ("hygienist asked", "The hygienist was asked and agrees"),
    ("seen to at the place", "Somebody sees to it at the place"),
    ("short task", "A short task, watched"),
    ("", "Another reason, in words"),
)
"""What stands to be chosen as a reason; the last is written."""


@dataclass(frozen=True)
class Accepted:
    """One caution as it was accepted: which, as it read then, why, and by whom (an id)."""

    code: str
    subject: str
    words: str
    why: str
    by_id: int

    @property
    def key(self) -> tuple[str, str]:
        """What makes it the acceptance of a reason."""
        return self.code, self.subject


def wants_accepting(reasons: Iterable[Reason]) -> tuple[Reason, ...]:
    """The cautions among them that somebody has to accept by name."""
    return tuple(one for one in reasons if one.level is Level.CAUTION and one.code in WHO_ACCEPTS)


def still_wanting(reasons: Iterable[Reason], accepted: Iterable[Accepted]) -> tuple[Reason, ...]:
    """Those not accepted yet; one that reads otherwise than it did when it was accepted is another one."""
    done = {(one.key, one.words) for one in accepted}
    return tuple(one for one in wants_accepting(reasons) if (one.key, one.words) not in done)


def role_words(roles: Iterable[Role]) -> str:
    """'program administrator'; 'clerk of this crib' where any may."""
    named = tuple(roles)
    return "clerk of this crib" if len(named) == len(ANY_CLERK) else " or ".join(role.value for role in named)


def who_accepts(reasons: Iterable[Reason]) -> tuple[Role, ...]:
    """The roles that may accept all of these."""
    asked = [WHO_ACCEPTS[one.code] for one in reasons]
    return tuple(role for role in Role if all(role in one for one in asked))
