"""The loader: what it refuses, with file, step and line, and what it proves."""

from __future__ import annotations

import hashlib
from dataclasses import replace

import pytest

from cribdesk.crib.model import UnitModel
from cribdesk.crib.toml_text import Fault
from cribdesk.procedure.load import ProcedureFaults, load
from cribdesk.procedure.model import CONDITIONS, LIMIT_NAMES, WINDOW_NAMES
from tests.procedure.house import RESOURCES, models, procedures, text_of

PRE_USE = text_of("procedures", "welding-papr-pre-use.toml")
HEAD = 'code = "{code}"\nname = "Test"\nkind = "pre-use"\nrevision = 1\norigin = "Invented."\n'
LOOK = """
[[step]]
code = "{code}"
kind = "look"
title = "T"
question = "Q?"
instruction = "I."
good = "g"
bad = ["b"]
fail = "damage"
fail_words = "F."
"""


def faults_of(text: str, using: tuple[UnitModel, ...] | None = None) -> tuple[Fault, ...]:
    """The faults of a procedure's text; it must have some, all naming the file."""
    with pytest.raises(ProcedureFaults) as caught:
        load(text, "p.toml", using or tuple(models().values()))
    assert all(fault.file == "p.toml" for fault in caught.value.faults)
    return caught.value.faults


def line_of(text: str, part: str, nth: int = 1) -> int:
    """The line of the nth occurrence of a part."""
    return [n for n, line in enumerate(text.splitlines(), 1) if part in line][nth - 1]


def small(*steps: str) -> tuple[str, tuple[UnitModel, ...]]:
    """A procedure of these steps, and one model that uses it."""
    user = replace(models()["WL1"], procedures={"pre-use": "test"})
    return HEAD.format(code="test") + "".join(steps), (user,)


def test_every_shipped_procedure_loads() -> None:
    """All are sound for every model that names them, and the digest is that of the whole text."""
    assert len(procedures()) == len(list((RESOURCES / "procedures").glob("*.toml"))) >= 19
    for code, procedure in procedures().items():
        assert procedure.file == f"{code}.toml"
        assert procedure.digest == hashlib.sha256(procedure.text.encode()).hexdigest()


def test_names_a_step_may_use_are_real_attributes() -> None:
    """Conditions, limits and windows name figures that every unit model has."""
    for name in (*CONDITIONS, *LIMIT_NAMES, *WINDOW_NAMES):
        assert all(hasattr(model, name) for model in models().values())


def test_a_remedy_at_no_position_is_told_with_file_step_and_line() -> None:
    """A remedy that names a position one of the models lacks is a fault of that step."""
    text = PRE_USE.replace('position = "breathing-tube"\ntitle = "Change', 'position = "hose"\ntitle = "Change')
    found = faults_of(text)
    assert [fault.place for fault in found] == ["step 8 (breathing-tube), remedy 2, position"] * 2
    assert {fault.line for fault in found} == {line_of(text, '"hose"')}
    assert "model WL1 has no position 'hose'" in " ".join(fault.message for fault in found)


def test_all_faults_come_at_once() -> None:
    """Three slips in three steps are three faults, each with its step and line."""
    text = PRE_USE.replace('title = "Pre-filter"', "")
    text = text.replace('fail_words = "Filter door does', 'fail_words = "{sky} door does')
    text = text.replace('kind = "timed"', 'kind = "timing"')
    found = faults_of(text)
    assert {fault.place.split(",")[0] for fault in found} >= {
        "step 5 (pre-filter)", "step 7 (filter-door)", "step 13 (alarm)",
    }
    assert line_of(text, "{sky}") in {fault.line for fault in found}
    assert line_of(text, '"timing"') in {fault.line for fault in found}


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('fail = "tube"', 'fail = "gloom"', "has no hold reason 'gloom'"),
        ('low = "flow_minimum_lpm"', 'low = "code"', "is not one of: flow_minimum_lpm"),
        ('low = "flow_minimum_lpm"\n', "", "needs a figure"),
        ('limit = "plausible"', 'limit = "nice"', "is not one of: at least"),
        ("tries = 3", "tries = 4", "asked at most 3 times"),
        ('only_if = "battery_models"\n', 'only_if = "luck"\n', "is not one of: powered"),
        ('code = "belt"', 'code = "battery"', "is there twice"),
        ('code = "belt"', 'code = "pass"', "a word with a meaning of its own"),
        ('kind = "set-up"\ntitle = "Connect', 'kind = "pray"\ntitle = "Connect', "is not one of: set-up"),
        ("bad = [", "bda = [", "is not known here"),
        ("{ladder}", "{ladder", "do not pair up"),
        ("{ladder}", "{value}", "is not one of: ladder"),
        ('kind = "pre-use"', 'kind = "bench"', "this is bench; model WL1 uses it as pre-use"),
        ("revision = 2", "revision = 0", "a whole number above zero"),
        ('code = "head-assembly"\nkind', 'code = "head-assembly"\ncontinues = true\nkind', "no step before it"),
        ("continues = true", "continues = 1", "true or false"),
        ('short = "tube changed"\nthen_retest = true\n', 'short = "tube changed"\n', "proves nothing"),
        ('code = "welding-papr-pre-use"', 'code = "unused"', "no unit model names 'unused'"),
        ('then_retest = true\n\n[[step]]\ncode = "belt"', 'then_retest = true\n\n[[step]]\nthen = "moon"\n'
         'code = "belt"', "there is no step 'moon'"),
    ],
)
def test_each_slip_is_told(old: str, new: str, words: str) -> None:
    """Each rule of a procedure has its own sentence, and a line."""
    assert old in PRE_USE
    found = faults_of(PRE_USE.replace(old, new, 1))
    assert any(words in fault.message and fault.line for fault in found), [str(fault) for fault in found]


def test_a_window_the_model_lacks_must_be_left_out() -> None:
    """The alarm step without only_if is a fault, since the helmet model has no alarm."""
    text = PRE_USE.replace('only_if = "alarm_window_s"\n', "")
    found = faults_of(text)
    told = {fault.place: fault.message for fault in found}
    assert told["step 13 (alarm), window"] == "Model WH1 has no alarm_window_s. Leave the step out with only_if."
    assert told["step 13 (alarm), fail"] == "model WH1 has no hold reason 'alarm'."


def test_a_model_without_battery_cannot_swap_one() -> None:
    """A remedy 'swap-battery' is a fault where the model takes none."""
    bare = replace(models()["WL1"], battery_models=())
    text = PRE_USE.replace('only_if = "battery_models"\n', "")
    assert any("takes no battery" in fault.message for fault in faults_of(text, (bare,)))


def test_a_step_nobody_reaches_is_told() -> None:
    """A step that every path jumps over is a fault, at its own line."""
    jump = LOOK.format(code="one") + 'then = "three"\n'
    text, users = small(jump, LOOK.format(code="two"), LOOK.format(code="three"))
    found = faults_of(text, users)
    assert [(fault.place, fault.message) for fault in found] == [("step 2 (two)", "no path leads to this step.")]
    assert found[0].line == line_of(text, "[[step]]", 2)


def test_a_circle_is_told() -> None:
    """Two steps that lead to each other never end: a fault at each of them."""
    there, back = LOOK.format(code="one"), LOOK.format(code="two") + 'then = "one"\n'
    text, users = small(there, back)
    assert [(fault.place, fault.message) for fault in faults_of(text, users)] == [
        ("step 1 (one)", "a path through this step can go round for ever."),
        ("step 2 (two)", "a path through this step can go round for ever."),
    ]


def test_a_choice_that_leads_back_is_told() -> None:
    """Also an option can close a circle."""
    choice = (
        '\n[[step]]\ncode = "two"\nkind = "choice"\ntitle = "T"\nquestion = "Q?"\ninstruction = "I."\n'
        '[[step.option]]\ntext = "again"\nleads_to = "one"\n[[step.option]]\ntext = "on"\nleads_to = "next"\n'
    )
    text, users = small(LOOK.format(code="one"), choice)
    assert any("go round for ever" in fault.message for fault in faults_of(text, users))
    sound = load(text.replace('leads_to = "one"', 'leads_to = "pass"'), "p.toml", users)
    assert sound.steps[1].options[0].leads_to == "pass"


def test_a_procedure_that_asks_nothing_is_told() -> None:
    """A model for which every step is left out would pass unseen: a fault."""
    text, users = small(LOOK.format(code="one") + 'only_if = "alarm_window_s"\n')
    silent = replace(users[0], code="QUIET", alarm_window_s=None, alarm_vibrates=False)
    found = faults_of(text, (*users, silent))
    assert any("QUIET is asked no step at all" in fault.message for fault in found)


def test_no_step_at_all_is_told() -> None:
    """A head without steps is no procedure."""
    text, users = small()
    assert any("1 to 60 steps" in fault.message for fault in faults_of(text, users))


@pytest.mark.parametrize(("text", "line"), [("[[step]\n", 1), ('code = "a"\n\nstep = [\n', 3)])
def test_broken_toml_is_told_with_its_line(text: str, line: int) -> None:
    """Text that is not TOML gives one fault with its line."""
    (fault,) = faults_of(text)
    assert "this is not TOML" in fault.message
    assert fault.line == line
