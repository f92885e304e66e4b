"""The frozen record of the wearer's card of a unit model; see printouts.py for what every such record is."""

from __future__ import annotations

from dataclasses import dataclass

DECIDES = "The maker's instructions, local rules and the program administrator decide; this card replaces none of them."


@dataclass(frozen=True)
class CardPart:
    """One part of the card: its title and its lines, in order. `numbered`: they are done one after the other."""

    title: str
    lines: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class CardRow:
    """One thing the wearer notices: what it is like, what it means, what to do at once."""

    sign: str
    means: str
    do: str


@dataclass(frozen=True)
class WearersCard:
    """One page for whoever wears a unit of the model.

    `rule` is the one sentence to keep in mind, `rule_detail` goes with it. `cautions` are (when, do) pairs of the
    model. `rule_set` names the rules in force. `origin` says where its figures come from.
    """

    code: str
    name: str
    rule: str
    rule_detail: str
    parts: tuple[CardPart, ...]
    alarms: tuple[CardRow, ...]
    facts: tuple[tuple[str, str], ...]
    cautions: tuple[tuple[str, str], ...]
    rule_set: str
    origin: str
    decides: str = DECIDES
