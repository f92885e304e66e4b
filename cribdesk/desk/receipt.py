"""What an operation changed, says and prints; always built from its entry, so doing it again tells the same."""

from __future__ import annotations

from dataclasses import dataclass

from cribdesk.crib.entry import Entry


@dataclass(frozen=True)
class Receipt:
    """`topics` are tables and labels touched; views that show one reload. `papers` are (paper, label).

    `names` are (label, name) of the people among the subjects: the sentence itself names them by label.
    """

    seq: int
    operation: str
    operation_id: str
    sentence: str
    subjects: tuple[str, ...]
    papers: tuple[tuple[str, str], ...]
    topics: frozenset[str]
    names: tuple[tuple[str, str], ...] = ()


def receipt_of(entry: Entry, names: tuple[tuple[str, str], ...] = ()) -> Receipt:
    """The receipt of an entry, with the names of the people it is about."""
    tables = frozenset(table for table, _ in entry.rows)
    return Receipt(
        entry.seq,
        entry.operation,
        entry.operation_id,
        entry.sentence,
        entry.subjects,
        entry.papers,
        tables | frozenset(entry.subjects),
        names,
    )
