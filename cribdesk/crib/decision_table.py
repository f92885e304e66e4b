"""Every rule of an issue as a table in Markdown: its code, levels, words, and its paragraph in each rule set."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib.rules import MEMORY, OWN, Rule, RuleSet

CHECKED_WORDS = {MEMORY: "from memory", OWN: "house"}


def decision_table(sets: Sequence[RuleSet]) -> str:
    """One row a rule, in the order of the first set; one column a set for its paragraph and how it was checked."""
    first = sets[0]
    head = ["rule", "level", "what it says", *(one.name for one in sets)]
    lines = [_row(head), _row(["---"] * len(head))]
    for code in first.rules:
        given = [one.rules[code] for one in sets]
        lines.append(_row([f"`{code}`", ", ".join(given[0].levels), given[0].words, *map(_paragraph, given)]))
    return "\n".join(lines)


def _paragraph(rule: Rule) -> str:
    words = rule.paragraph or "as the line says"
    checked = CHECKED_WORDS.get(rule.checked)
    return words if checked is None or words.startswith("house rule") else f"{words} ({checked})"


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"
