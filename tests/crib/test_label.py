"""Labels held against python-stdnum's ISO/IEC 7064 MOD 37,36, a published example, and published detection rates."""

from __future__ import annotations

import itertools
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from cribdesk.crib.label import (
    ALPHABET,
    KIND_WORDS,
    LEFT_OUT,
    LONGEST,
    SHORTEST,
    Kind,
    check_character,
    is_valid,
    next_label,
    normal,
    number_of,
    with_check,
)

payloads = st.text(ALPHABET, min_size=1, max_size=20)


@pytest.mark.parametrize(
    ("payload", "check"),
    [("A12425GABC1234002", "M"), ("BAT0001", "O"), ("0", "2"), ("Z", "4"), ("ZZZZZZ", "5")],
)
def test_published_examples(payload: str, check: str) -> None:
    """The documentation of python-stdnum gives A12425GABC1234002 -> M; the others were computed with it."""
    assert check_character(payload) == check
    assert is_valid(payload + check)


@given(payloads)
def test_agrees_with_stdnum(payload: str) -> None:
    """Every payload gets the character that python-stdnum computes."""
    assert check_character(payload) == mod_37_36.calc_check_digit(payload)


@given(st.text(max_size=30))
def test_is_valid_never_raises_and_agrees(text: str) -> None:
    """Any text is judged as python-stdnum judges it, once its spaces and hyphens are gone."""
    plain = normal(text)
    known = len(plain) > 1 and all(one in ALPHABET for one in plain)
    assert is_valid(text) == (known and mod_37_36.is_valid(plain))


@pytest.mark.parametrize("payload", ["", " - ", "U00Ä", "U_1", "U0001\n", "😀"])
def test_foreign_payloads_are_refused(payload: str) -> None:
    """An empty payload, or one with a foreign character, has no check character."""
    with pytest.raises(ValueError, match=r"empty|cannot stand"):
        check_character(payload)


def test_case_spaces_and_hyphens_do_not_matter() -> None:
    """What people type is compared without them."""
    assert check_character("a12425 gabc-1234002") == "M"
    assert is_valid("u00-0417 " + check_character("U000417"))


def _labels(count: int) -> list[str]:
    chance = random.Random(37)
    stems = ("".join(chance.choices(ALPHABET, k=8)) for _ in range(count))
    return [stem + check_character(stem) for stem in stems]


def test_every_single_slip_is_found() -> None:
    """One wrong character anywhere, the check character included, is always found (rate 100 %)."""
    for label in _labels(60):
        for place, wrong in itertools.product(range(len(label)), ALPHABET):
            if wrong != label[place]:
                assert not is_valid(label[:place] + wrong + label[place + 1 :]), label


def test_swapped_neighbours_are_found_as_often_as_published() -> None:
    """Over all 36 states of the sum, 45288 of 45360 swaps are found: in each state one pair is blind.

    Figures: exhaustive count over the internal states of ISO/IEC 7064 MOD 37,36, made with python-stdnum.
    """
    states = {mod_37_36_state(stem): stem for stem in map("".join, itertools.product(ALPHABET, repeat=2))}
    assert len(states) == 36
    found = total = 0
    for stem in states.values():
        for one, other in itertools.permutations(ALPHABET, 2):
            label = stem + one + other
            total += 1
            found += check_character(label) != check_character(stem + other + one)
    assert (found, total) == (45288, 45360)


def mod_37_36_state(stem: str) -> int:
    """The running sum after a stem, by python-stdnum."""
    return int(mod_37_36.checksum(stem))


def test_the_known_blind_pair() -> None:
    """0A01 and 0A10 are both valid: the one kind of slip the method cannot see."""
    assert is_valid("0A01")
    assert is_valid("0A10")


@pytest.mark.parametrize("kind", list(Kind))
def test_issued_labels(kind: Kind) -> None:
    """A thousand labels of every kind: valid by python-stdnum, no I, no O, eight to twelve long, numbers ascending."""
    assert kind in KIND_WORDS
    number, seen = 1, []
    for _ in range(1000):
        label, number = next_label(kind, number)
        assert mod_37_36.is_valid(label)
        assert not LEFT_OUT & set(label)
        assert SHORTEST <= len(label) <= LONGEST
        assert label[0] == kind.value
        assert number_of(label) == number
        seen.append(label)
        number += 1
    assert len(set(seen)) == 1000


def test_numbers_whose_check_character_is_left_out_are_skipped() -> None:
    """with_check refuses them, next_label passes over them."""
    skipped = [n for n in range(1, 400) if check_character(f"U{n:06d}") in LEFT_OUT]
    assert skipped
    for n in skipped:
        with pytest.raises(ValueError, match="left out"):
            with_check(f"U{n:06d}")
        assert next_label(Kind.UNIT, n)[1] > n


@pytest.mark.parametrize("stem", ["UO00001", "U00I001", "U1", "U" + "1" * 14])
def test_what_may_not_be_issued(stem: str) -> None:
    """I and O, too short, too long."""
    with pytest.raises(ValueError, match=r"left out|has 8 to 12"):
        with_check(stem)
