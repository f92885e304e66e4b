"""Which batteries and units have worked together, and so what their swaps can tell apart."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from cribdesk.compute import checks

Node = tuple[Literal["battery", "unit"], str]
Pair = tuple[str, str]


def components(pairs: Iterable[Pair]) -> list[set[Node]]:
    """Groups of batteries and units joined by having worked together, in order of first appearance.

    `pairs` are (battery, unit). Effects can be compared within a group only; between groups the comparison
    rests on beliefs held beforehand (connectedness of a two-way layout; Searle 1971, from memory).
    ValueError: no pair.
    """
    given = [tuple(pair) for pair in pairs]
    checks.not_empty("Pairs of battery and unit", given)
    if any(len(pair) != 2 for pair in given):
        raise ValueError("Each pair is a battery and a unit")
    above: dict[Node, Node] = {}

    def top(node: Node) -> Node:
        above.setdefault(node, node)
        while above[node] != node:
            above[node] = above[above[node]]
            node = above[node]
        return node

    for battery, unit in given:
        above[top(("unit", unit))] = top(("battery", battery))
    groups: dict[Node, set[Node]] = {}
    for node in above:
        groups.setdefault(top(node), set()).add(node)
    return list(groups.values())


def tells_apart(pairs: Iterable[Pair], battery: str, unit: str) -> bool:
    """Whether the swaps so far can tell this battery's share from this unit's.

    They can when both stand in one group that holds another battery and another unit to compare with.
    To see whether a swap would, add its pair.
    """
    for group in components(pairs):
        if ("battery", battery) in group:
            kinds = [kind for kind, _ in group]
            return ("unit", unit) in group and min(kinds.count("battery"), kinds.count("unit")) > 1
    return False
