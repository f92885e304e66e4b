"""The proof of a procedure: for every unit model that names it, its paths end and its names are real."""

from __future__ import annotations

from collections.abc import Sequence

from cribdesk.crib.model import UnitModel
from cribdesk.crib.toml_text import Section
from cribdesk.procedure.limits import Limit
from cribdesk.procedure.model import LIMIT_NAMES, Procedure, Remedy, Step, asked_of, limit_of
from cribdesk.procedure.paths import circle, graph, steps_reached


def prove(
    top: Section, sections: Sequence[Section], procedure: Procedure, models: Sequence[UnitModel]
) -> None:
    """Note a fault at every step that does not hold for a model that uses the procedure."""
    users = [model for model in models if procedure.code in model.procedures.values()]
    if not users:
        top.fault("code", f"no unit model names '{procedure.code}', so nothing can be proved of it.")
    for model in users:
        kinds = [kind for kind, code in model.procedures.items() if code == procedure.code]
        if kinds != [procedure.kind]:
            top.fault("kind", f"this is {procedure.kind}; model {model.code} uses it as {', '.join(kinds)}.")
        for section, step in zip(sections, procedure.steps, strict=True):
            if asked_of(step, model):
                _prove_names(section, step, model)
    _prove_paths(sections, procedure, users)


def _prove_paths(sections: Sequence[Section], procedure: Procedure, users: Sequence[UnitModel]) -> None:
    graphs = [graph(procedure, model) for model in users]
    reached = frozenset[str]().union(*(steps_reached(found) for found in graphs))
    endless = {code for found in graphs for code in circle(found)}
    for model, found in zip(users, graphs, strict=True):
        if not steps_reached(found):
            sections[0].fault("only_if", f"model {model.code} is asked no step at all: it would pass unseen.")
    for section, step in zip(sections, procedure.steps, strict=True):
        if users and step.code not in reached:
            section.fault("", "no path leads to this step.")
        if step.code in endless:
            section.fault("", "a path through this step can go round for ever.")


def _prove_names(section: Section, step: Step, model: UnitModel) -> None:
    if step.position and model.position(step.position) is None:
        section.fault("position", f"model {model.code} has no position '{step.position}'.")
    for key, ladder in (("remedy", step.ladder), ("above_remedy", step.above_ladder)):
        parts = section.sections(key)
        for part, remedy in zip(parts, ladder, strict=True):
            _prove_remedy(part, remedy, model)
    for key, code in (("fail", step.fail), ("fail_above", step.fail_above)):
        if code and model.hold_reason(code) is None:
            section.fault(key, f"model {model.code} has no hold reason '{code}'.")
    _prove_limit(section, step, model)


def _prove_remedy(section: Section, remedy: Remedy, model: UnitModel) -> None:
    if remedy.position and model.position(remedy.position) is None:
        section.fault("position", f"model {model.code} has no position '{remedy.position}'.")
    if remedy.finding and model.hold_reason(remedy.finding_fail) is None:
        section.fault("finding_fail", f"model {model.code} has no hold reason '{remedy.finding_fail}'.")
    if remedy.kind == "swap-battery" and not model.battery_models:
        section.fault("kind", f"model {model.code} takes no battery that could be swapped.")


def _prove_limit(section: Section, step: Step, model: UnitModel) -> None:
    for key, figure in (("low", step.low), ("high", step.high)):
        if isinstance(figure, str) and figure not in LIMIT_NAMES:
            section.fault(key, f"'{figure}' is not one of: {', '.join(LIMIT_NAMES)}.")
            return
    try:
        limit: Limit | None = limit_of(step, model)
    except ValueError as fault:
        section.fault("window" if step.window else "limit", f"{fault} Leave the step out with only_if.")
        return
    if limit and limit.low is not None and limit.high is not None and limit.low >= limit.high:
        section.fault("high", f"for model {model.code} this is not above low.")
