"""Rule sets as data: read with every fault named, built upon each other, and never fine by a row from memory."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from cribdesk.crib.limits import LimitKind, read_limits
from cribdesk.crib.model import CERTIFICATION_FLOORS
from cribdesk.crib.refusal import Level, Reason
from cribdesk.crib.rules import (
    NO_RULES,
    VERIFIED,
    RuleFaults,
    base_of,
    read_factors,
    read_rules,
)
from tests.crib.given import rules
from tests.procedure.house import text_of

SETS = ("us_federal", "us_california", "uk")
FACTORS = text_of("tables", "assigned_protection_factors.csv")
ROOMS = Path(__file__).parents[2] / "cribdesk"

PLAIN = """
code = "try"
name = "Try"
country = "Nowhere"
cites = "nothing"
body = "none"

[[rules]]
code = "one"
paragraph = "first paragraph"
words = "Something"
levels = ["stop", "fine"]
checked = "memory"
"""

# 29 CFR 1910.134(d)(3)(i)(A), Table 1, as published: class, mode, and quarter mask, half mask, full facepiece,
# helmet or hood, loose-fitting facepiece. For a helmet or hood of a powered or continuous-flow respirator it prints
# 25/1,000 with note 4.
FACEPIECES = ("quarter_mask", "half_mask", "full_facepiece", "helmet_hood", "loose_fitting_facepiece")
TABLE_1 = {
    ("APR", "negative_pressure"): (5, 10, 50, None, None),
    ("PAPR", "powered"): (None, 50, 1000, (25, 1000), 25),
    ("SAR", "demand"): (None, 10, 50, None, None),
    ("SAR", "continuous_flow"): (None, 50, 1000, (25, 1000), 25),
    ("SAR", "pressure_demand"): (None, 50, 1000, None, None),
    ("SCBA", "demand"): (None, 10, 50, 50, None),
    ("SCBA", "pressure_demand"): (None, None, 10000, 10000, None),
}


@pytest.mark.parametrize("kind", list(TABLE_1))
def test_table_1_row_by_row(kind: tuple[str, str]) -> None:
    """Every cell of 29 CFR 1910.134(d)(3)(i)(A), Table 1; an empty cell has no factor."""
    for facepiece, cell in zip(FACEPIECES, TABLE_1[kind], strict=True):
        found = rules().factor(*kind, facepiece)
        if cell is None:
            assert found is None, facepiece
            continue
        bare, value = cell if isinstance(cell, tuple) else (cell, cell)
        assert found is not None, facepiece
        assert (found.bare, found.value, found.by_evidence) == (bare, value, bare != value)
        assert found.checked == VERIFIED


@pytest.mark.parametrize("code", SETS)
def test_every_set_names_every_rule(code: str) -> None:
    """No set lacks a rule that another has; each has words, levels and a paragraph, or its lines name their own."""
    known = rules(code).rules
    assert set(known) == set(rules("us_federal").rules)
    assert len(known) > 50
    for rule in known.values():
        assert rule.words, rule.code
        assert rule.levels, rule.code
        assert rule.paragraph or rule.checked == "house", rule.code


def test_every_code_of_a_reason_has_its_rule() -> None:
    """Whatever code the rules of the program can say stands in the data."""
    said = set()
    for name in ("reasons", "recheck", "enough", "wearer", "work_limit", "lasting"):
        text = (ROOMS / "crib" / f"{name}.py").read_text("utf-8")
        said |= set(re.findall(r'Reason\(\s*(?:Level\.[A-Z]+|level),\s*"([a-z-]+)"', text))
        said |= set(re.findall(r'\.reason\(\s*(?:Level\.[A-Z]+|level),\s*"([a-z-]+)"', text))
    assert len(said) > 40
    assert said - set(rules().rules) == set()


@pytest.mark.parametrize("code", SETS)
def test_a_row_from_memory_is_never_fine(code: str) -> None:
    """Whatever reason it is asked for, fine becomes a caution that says so; stops and cautions stay."""
    rule_set = rules(code)
    unsound = [one for one in rule_set.rules.values() if not one.sound]
    assert unsound
    for rule in rule_set.rules.values():
        for level in Level:
            made = rule_set.reason(level, rule.code, "Words")
            weighed = rule_set.weighed(Reason(level, rule.code, "Words", "", "elsewhere"))
            said = rule_set.weighed(made)
            wanted = Level.CAUTION if level is Level.FINE and not rule.sound else level
            assert said.level is weighed.level is wanted, rule.code
            if not rule.sound:
                assert "from memory" in said.basis
    doubtful = rule_set.reason(Level.FINE, "ready", "Words", sound=False)
    assert (doubtful.level, "from memory" in doubtful.detail) == (Level.CAUTION, True)


def test_a_code_without_a_rule_is_none() -> None:
    """A reason without a basis cannot be made."""
    with pytest.raises(KeyError):
        rules().reason(Level.STOP, "never-heard-of", "Words")


def test_california_lowers_the_lead_limit_alone() -> None:
    """8 CCR 5198(c): 10 ug/m3 in place of the federal 50; everything else of the federal set stays."""
    table = read_limits(text_of("tables", "exposure_limits.csv"))
    federal, state = rules(), rules("us_california")
    lead = state.substance(table["lead"]).limit("osha", LimitKind.SHIFT)
    assert lead is not None
    assert (lead.value, federal.substance(table["lead"]).limit("osha", LimitKind.SHIFT).value) == (0.01, 0.05)  # type: ignore[union-attr]
    assert "5198" in lead.source
    assert state.substance(table["manganese"]) == table["manganese"]
    action = state.substance(table["lead"]).limit("osha", LimitKind.ACTION)
    assert action is not None
    assert action.value == 0.002
    assert state.factors == federal.factors
    assert state.rules == federal.rules


def test_the_united_kingdom() -> None:
    """Powered hoods and masks of class 1, 2, 3 have 10, 20, 40 (HSG53); without a class there is none to guess."""
    kingdom = rules("uk")
    for number, factor in ((1, 10), (2, 20), (3, 40)):
        for facepiece in ("helmet_hood", "loose_fitting_facepiece"):
            found = kingdom.factor("PAPR", "powered", facepiece, f"TH{number}")
            assert found is not None
            assert (found.value, found.sound) == (factor, False)
        mask = kingdom.factor("PAPR", "powered", "full_facepiece", f"TM{number}")
        assert mask is not None
        assert mask.value == factor
    assert kingdom.factor("PAPR", "powered", "helmet_hood") is None
    assert kingdom.factor("PAPR", "powered", "helmet_hood", "TM2") is None
    assert kingdom.intervals["thorough examination"].months == 1
    assert kingdom.floors is not None
    assert kingdom.floors.loose_fitting_lpm is None


def test_the_floors_are_those_of_the_certification() -> None:
    """42 CFR 84.179(a): 115 and 170 L/min, the same as the table that unit models are held to."""
    floors = rules().floors
    assert floors is not None
    assert floors.tight_fitting_lpm == CERTIFICATION_FLOORS.tight_fitting_lpm == 115
    assert floors.loose_fitting_lpm == CERTIFICATION_FLOORS.loose_fitting_lpm == 170


def test_intervals() -> None:
    """29 CFR 1910.134(k)(5) and (f)(2): a year, the same date."""
    found = rules().intervals
    assert {name: one.months for name, one in found.items()} == {
        "training": 12, "fit test": 12, "emergency inspection": 1,
    }  # fmt: skip


def test_every_factor_of_the_table_is_read() -> None:
    """One for each row, none twice."""
    rows = list(csv.DictReader(FACTORS.splitlines()))
    found = read_factors(FACTORS)
    assert len(found) == len(rows) == len({(one.respirator_class, one.mode, one.facepiece) for one in found}) == 20


def test_a_set_builds_upon_another() -> None:
    """What the text names takes the place of the same; the rest stays."""
    base = read_rules(PLAIN)
    text = 'base = "try"\ncode = "more"\nname = "More"\n\n[[limits]]\nsubstance = "lead"\nkind = "8 h"\nvalue = 0.01\n'
    made = read_rules(text + 'source = "try"\nchecked = "memory"\n', base)
    assert made.rules == base.rules
    assert (made.country, made.body, base_of(text)) == ("Nowhere", "none", "try")
    assert not made.limits["lead", LimitKind.SHIFT].verified


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (PLAIN.replace('code = "try"', ""), "code: this key is missing"),
        (PLAIN.replace('"stop", "fine"', '"halt"'), "'halt' is not one of"),
        (PLAIN.replace('"memory"', '"perhaps"'), "'perhaps' is not one of"),
        (PLAIN + PLAIN[PLAIN.index("[[rules]]") :], "'one' stands twice"),
        (PLAIN + "\nstray = 1\n", "this key is not known here"),
        (PLAIN.replace('body = "none"', 'body = "none"\nbase = "other"'), "the set that it builds upon"),
        (PLAIN.replace('body = "none"', 'body = "none"\nfactors_table = "x"'), "the table was not handed in"),
        (
            PLAIN + '\n[[limits]]\nsubstance = "lead"\nkind = "8 h"\nvalue = 0\nsource = "x"\nchecked = "memory"\n',
            "a number above zero",
        ),
        (PLAIN + '\n[[factors]]\nclass = "PAPR"\nmode = "powered"\nfacepiece = "x"\nsource = "x"\nchecked = "memory"\n',
         "factor: this key is missing"),
        ("code = ", "this is not TOML"),
    ],
)  # fmt: skip
def test_faults_are_told(text: str, told: str) -> None:
    """Whatever is wrong in a text is named; nothing is read halfway."""
    with pytest.raises(RuleFaults) as raised:
        read_rules(text, None, "try.toml")
    assert told in str(raised.value)


def test_without_a_set_nothing_is_fine() -> None:
    """The empty set has no rule to weigh by."""
    assert not NO_RULES.rules
    assert NO_RULES.factor("PAPR", "powered", "helmet_hood") is None
