"""A run as stored text: canonical, integers only, readable without its procedure."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
import rfc8785

from cribdesk.procedure.record import from_json, record_of, to_json
from cribdesk.procedure.run import Good, Measured, NotGood, RemedyDone, Run, back, break_off
from tests.procedure.house import BY, METER, SIX, at, begin, say


def sample() -> Run:
    """A run with a mean, a remedy with its lot, a replaced answer and a remark in many letters."""
    run = back(say(begin(), NotGood("Łata na żółto")), SIX)
    run = say(run, *[Good()] * 11, *[Measured(161.5, METER, 4.0)] * 3, *[RemedyDone()] * 3)
    return say(run, RemedyDone("lot K2608"), Measured(178, METER))


def numbers(value: object) -> list[int | float]:
    """All numbers in a JSON value."""
    if isinstance(value, dict):
        return [n for one in value.values() for n in numbers(one)]
    if isinstance(value, list):
        return [n for one in value for n in numbers(one)]
    return [value] if isinstance(value, int | float) and not isinstance(value, bool) else []


def test_a_record_comes_back_as_it_was() -> None:
    """Every answer, also the replaced one, with wording, limit, figures and moments."""
    run = sample()
    assert from_json(to_json(run)) == record_of(run)
    assert to_json(from_json(to_json(run))) == to_json(run)
    assert from_json(to_json(run)).not_good


def test_the_text_is_canonical_and_holds_no_fraction() -> None:
    """RFC 8785 by an independent implementation; every number an integer within 2^53."""
    text = to_json(sample())
    content = json.loads(text)
    assert rfc8785.dumps(content) == text.encode("utf-8")
    assert all(isinstance(number, int) and abs(number) < 2**53 for number in numbers(content))


def test_figures_are_thousandths_and_times_are_told_in_their_names() -> None:
    """161.5 L/min is 161500, two seconds 2000 ms."""
    entry = json.loads(to_json(sample()))["asked"][12]
    assert (entry["value_thousandths"], entry["uncertainty_thousandths"]) == (161_500, 4_000)
    assert (entry["elapsed_ms"], entry["limit"]) == (2_000, "at least 170 L/min")
    assert "value" not in entry


def test_an_old_record_reads_right_after_the_procedure_changed() -> None:
    """The record names the exact text it was asked with and needs none of it to be read."""
    run = say(at("airflow"), Measured(184, METER))
    text = to_json(run)
    changed = replace(run.procedure, revision=2, digest="0" * 64)
    assert from_json(text).digest == run.procedure.digest != changed.digest
    assert from_json(text).asked[-1].limit == "at least 170 L/min"
    assert from_json(text).by == BY


def test_a_broken_off_run_says_why() -> None:
    """Verdict and reason are kept."""
    record = from_json(to_json(break_off(begin(), SIX, "ten idle minutes")))
    assert (record.verdict, record.broken_off, record.ended) == ("broken off", "ten idle minutes", SIX)


@pytest.mark.parametrize(
    "text",
    ["", "[]", "null", "{}", '{"format":2}', "[" * 100_000, '{"format":1,"asked":[]}',
     to_json(sample()).replace('"retest":1', '"retest":1.5'),
     to_json(sample()).replace('"asked":[', '"asked":[3,'),
     to_json(sample()).replace(f'"by":"{BY}"', '"by":7')],
)
def test_what_is_no_record_is_refused(text: str) -> None:
    """A plain sentence instead of a traceback or a guess."""
    with pytest.raises(ValueError, match="not the record of an inspection"):
        from_json(text)
