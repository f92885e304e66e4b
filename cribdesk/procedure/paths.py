"""Where every answer leads: the graph of a procedure for one unit model, and what is proved on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from cribdesk.crib.model import UnitModel
from cribdesk.procedure.model import FAIL, NEXT, PASS, REMEDY, Procedure, Remedy, Step, asked_of

MAIN, ABOVE = "main", "above"


@dataclass(frozen=True)
class Place:
    """A place in a run. `rung` and `above` count the remedies already behind; `shown` says what stands
    on the page: the question ('ask') or the next remedy of the main or the above ladder."""

    step: str
    rung: int = 0
    above: int = 0
    tried: int = 0
    shown: str = "ask"


@dataclass(frozen=True)
class End:
    """The end of a run: 'pass', or 'fail' with the step, its hold reason and the side that led there.

    `words` is the sentence for the tag where something found ended it; else the step's own stands.
    """

    verdict: str
    step: str = ""
    fault: str = ""
    side: str = MAIN
    words: str = ""


Node = Place | End


def first_place(procedure: Procedure, model: UnitModel) -> Node:
    """Where a run begins."""
    return _at_or_after(procedure, model, 0)


def _at_or_after(procedure: Procedure, model: UnitModel, index: int) -> Node:
    for step in procedure.steps[index:]:
        if asked_of(step, model):
            return Place(step.code)
    return End(PASS)


def led_to(procedure: Procedure, model: UnitModel, step: Step, target: str) -> Node:
    """The place that 'next', 'pass' or a step's code means, steps left out by `only_if` passed over."""
    if target == PASS:
        return End(PASS)
    codes = [other.code for other in procedure.steps]
    index = codes.index(step.code) + 1 if target == NEXT else codes.index(target)
    return _at_or_after(procedure, model, index)


def after_good(procedure: Procedure, model: UnitModel, place: Place) -> Node:
    """After a good answer."""
    step = procedure.step(place.step)
    return led_to(procedure, model, step, step.then)


def after_not_good(step: Step, place: Place, side: str = MAIN) -> Node:
    """After a not-good answer that stands: the next rung of the ladder, or the end of it."""
    if side == ABOVE and step.above_ladder:
        if place.above < len(step.above_ladder):
            return replace(place, shown=ABOVE, tried=0)
        return End(FAIL, step.code, step.fail_above, ABOVE)
    if place.rung < len(step.ladder):
        return replace(place, shown=MAIN, tried=0)
    return End(FAIL, step.code, step.fail)


def remedy_at(step: Step, place: Place) -> Remedy:
    """The remedy shown at a place that shows one."""
    return step.above_ladder[place.above] if place.shown == ABOVE else step.ladder[place.rung]


def _past(place: Place) -> Place:
    if place.shown == ABOVE:
        return replace(place, above=place.above + 1)
    return replace(place, rung=place.rung + 1)


def after_remedy(step: Step, place: Place, retest: bool) -> Node:
    """After a remedy: the question again, or straight to the next rung."""
    past = _past(place)
    if retest:
        return replace(past, shown="ask", tried=0)
    return after_not_good(step, past, place.shown)


def after_finding(step: Step, place: Place) -> Node:
    """After what was found at the remedy shown."""
    remedy = remedy_at(step, place)
    return End(FAIL, step.code, remedy.finding_fail, place.shown, remedy.finding_words)


def asked_once_more(place: Place) -> Place:
    """The same question again, before the ladder."""
    return replace(place, tried=place.tried + 1)


def chosen(procedure: Procedure, model: UnitModel, place: Place, target: str) -> Node:
    """After an option of a choice."""
    step = procedure.step(place.step)
    if target in (REMEDY, FAIL):
        return after_not_good(step, place) if target == REMEDY else End(FAIL, step.code, step.fail)
    return led_to(procedure, model, step, target)


def ways_on(procedure: Procedure, model: UnitModel, node: Node) -> Iterator[Node]:
    """Every place that one answer can lead to."""
    if isinstance(node, End):
        return
    step = procedure.step(node.step)
    if node.shown != "ask":
        # a remedy that could not be done leads on without a retest when nothing else was done before it
        yield after_remedy(step, node, retest=False)
        if remedy_at(step, node).then_retest:
            yield after_remedy(step, node, retest=True)
        if remedy_at(step, node).finding:
            yield after_finding(step, node)
        return
    if step.kind == "choice":
        yield from (chosen(procedure, model, node, option.leads_to) for option in step.options)
    else:
        yield after_good(procedure, model, node)
    yield after_not_good(step, node)
    if step.above_ladder:
        yield after_not_good(step, node, ABOVE)
    if node.tried + 1 < step.tries:
        yield asked_once_more(node)


def graph(procedure: Procedure, model: UnitModel) -> Mapping[Node, tuple[Node, ...]]:
    """All places reachable from the first, each with the places it leads to."""
    reached: dict[Node, tuple[Node, ...]] = {}
    waiting = [first_place(procedure, model)]
    while waiting:
        node = waiting.pop()
        if node not in reached:
            reached[node] = tuple(dict.fromkeys(ways_on(procedure, model, node)))
            waiting.extend(reached[node])
    return reached


def steps_reached(found: Mapping[Node, tuple[Node, ...]]) -> frozenset[str]:
    """Codes of the steps that some path asks."""
    return frozenset(node.step for node in found if isinstance(node, Place))


def circle(found: Mapping[Node, tuple[Node, ...]]) -> tuple[str, ...]:
    """Codes of steps on or behind a circle: places from which a run need never end. Empty is the proof
    that every path ends, since every place that leads nowhere is a pass or a fail."""
    open_ways = {node: len(ways) for node, ways in found.items()}
    into: dict[Node, list[Node]] = {node: [] for node in found}
    for node, ways in found.items():
        for way in ways:
            into[way].append(node)
    settled = [node for node, ways in open_ways.items() if ways == 0]
    for node in settled:
        for before in into[node]:
            open_ways[before] -= 1
            if open_ways[before] == 0:
                settled.append(before)
    ended = set(settled)
    return tuple(dict.fromkeys(n.step for n in found if isinstance(n, Place) and n not in ended))
