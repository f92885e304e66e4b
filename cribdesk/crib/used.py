"""Used filters and dirty units: what was in the air decides the bench's first step and the suggested waste stream.

The rule only suggests: the generator of the waste decides how it is disposed of (40 CFR 262.11), and local rules count.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

from cribdesk.crib.words import capital, joined

UNKNOWN = "unknown"
GENERATOR = "The generator of the waste decides how it is disposed of (40 CFR 262.11); local rules count."
COLUMNS = ("agent", "words", "strictness", "first_step", "stream", "basis", "status")
FROM_MEMORY = "from memory"
_FILLERS = frozenset({
    "a", "and", "compound", "compounds", "dust", "dusts", "fume", "fumes", "from", "in", "metal", "metals", "of",
    "oxide", "oxides", "particles", "the", "with",
})  # fmt: skip
"""Words beside an agent that say nothing of another one."""


@dataclass(frozen=True)
class Handling:
    """One row of the table: an agent, the words it goes by, how strict, the first step, the waste stream, its basis."""

    agent: str
    words: tuple[str, ...]
    strictness: int
    first_step: str
    stream: str
    basis: str
    status: str

    @property
    def told_basis(self) -> str:
        """The basis as it is shown: it says where the row, or its paragraph, was not seen in its source."""
        doubt = next((one for one in self.status.split("; ") if FROM_MEMORY in one), "")
        return f"{self.basis} ({doubt})" if doubt else self.basis


@dataclass(frozen=True)
class FirstStep:
    """What is done first with a unit worn among these agents, worst first; `said` is false where none stood."""

    agents: tuple[str, ...]
    step: str
    stream: str
    basis: str
    said: bool = True


def read_handling(csv_text: str) -> tuple[Handling, ...]:
    """The table, worst first. Raises ValueError for rows that cannot be, or without the one for what is unknown."""
    found = []
    for number, row in enumerate(csv.DictReader(io.StringIO(csv_text)), 2):
        if any(row.get(column) is None for column in COLUMNS) or not row["strictness"].isdigit():
            raise ValueError(f"line {number}: a row has {', '.join(COLUMNS)}, and its strictness is a whole number")
        if not row["first_step"] or not row["basis"]:
            raise ValueError(f"line {number}: the first step and its basis are needed")
        words = tuple(word for word in row["words"].lower().split("|") if word)
        if not words and row["agent"] != UNKNOWN:
            raise ValueError(f"line {number}: the words that {row['agent']} goes by are needed")
        texts = (row["first_step"], row["stream"], row["basis"], row["status"])
        found.append(Handling(row["agent"], words, int(row["strictness"]), *texts))
    found.sort(key=lambda one: -one.strictness)
    if [one.agent for one in found][:1] != [UNKNOWN]:
        raise ValueError("the strictest row must be the one for what is unknown")
    return tuple(found)


def first_step(agents: str, table: Sequence[Handling]) -> FirstStep:
    """The first step for an area's agents as they were typed: the worst decides, and what is not in the table is worst.

    Raises LookupError where the table lacks the row for what is unknown.
    """
    unknown = next((one for one in table if one.agent == UNKNOWN), None)
    if unknown is None:
        raise LookupError("the table of used filters has no row for what is unknown")
    met: dict[str, Handling] = {}
    strange: list[str] = []
    for piece in re.split(r"[,;/+\n]|\band\b", agents.lower()):
        left = piece
        for row in table:
            for word in sorted(row.words, key=len, reverse=True):
                left, times = re.subn(rf"(?<!\w){re.escape(word)}(?!\w)", " ", left)
                if times:
                    met[row.agent] = row
        if [word for word in re.findall(r"\w+", left) if word not in _FILLERS]:
            strange.append(" ".join(piece.split()))
    known = sorted(met.values(), key=lambda one: -one.strictness)
    worst = known[0] if known and not strange else unknown
    names = (*strange, *(one.agent for one in known))
    said = names or ("what is in the air is not entered",)
    return FirstStep(said, worst.first_step, _stream(worst, known), worst.told_basis, bool(names))


def _stream(worst: Handling, known: Sequence[Handling]) -> str:
    """The suggested words for the bag: 'Used filters, lead and cadmium'."""
    rest = [one.stream for one in known if one is not worst]
    return f"Used filters, {joined([worst.stream, *rest])}"


def caution_words(found: FirstStep) -> str:
    """What stands before the work: whose fault it is first, then what is done."""
    return f"{capital(joined(list(found.agents)))}: {found.step}"
