"""Dates, times and figures as people say them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.words import (
    MINUS,
    NBSP,
    capital,
    clock,
    count,
    date_words,
    day,
    exactly,
    folded,
    hours,
    in_sentence,
    joined,
    minutes_seconds,
    number,
    when,
)

VIENNA = ZoneInfo("Europe/Vienna")
NOW = datetime(2026, 11, 25, 5, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("ago", "words"),
    [
        (timedelta(0), "06:12"),
        (timedelta(hours=6, minutes=12), "00:00"),
        (timedelta(hours=6, minutes=13), "yesterday 23:59"),
        (timedelta(days=2), "Mon 06:12"),
        (timedelta(days=6), "Thu 06:12"),
        (timedelta(days=7), "Wed 18 Nov"),
        (timedelta(days=400), "Tue 21 Oct 2025"),
        (-timedelta(days=1), "tomorrow 06:12"),
    ],
)
def test_when(ago: timedelta, words: str) -> None:
    """Nearer is shorter; the year only where it is another."""
    assert when(NOW - ago, VIENNA, NOW) == words


def test_days_and_dates() -> None:
    """Today, yesterday, tomorrow; else the weekday, and the year where it is not this one."""
    today = date(2026, 11, 25)
    assert day(today, today) == "today"
    assert day(date(2026, 11, 24), today) == "yesterday"
    assert day(date(2026, 11, 27), today) == "Fri 27 Nov"
    assert day(date(2027, 3, 12), today) == "Fri 12 Mar 2027"
    assert date_words(date(2027, 3, 12)) == "12 Mar 2027"


def test_the_exact_moment_names_its_zone() -> None:
    """Summer and winter are told apart."""
    assert exactly(NOW, VIENNA) == "Wed 25 Nov 2026, 06:12:00 CET"
    assert exactly(datetime(2026, 7, 1, 4, 0, tzinfo=UTC), VIENNA) == "Wed 1 Jul 2026, 06:00:00 CEST"
    assert clock(NOW, VIENNA) == "06:12"


@pytest.mark.parametrize(
    ("value", "places", "words"),
    [
        (1400, 0, f"1{NBSP}400"), (-7, 0, f"{MINUS}7"), (-0.2, 0, "0"), (0.25, 1, "0.2"),
        (1234567.5, 1, f"1{NBSP}234{NBSP}567.5"),
    ],
)
def test_numbers(value: float, places: int, words: str) -> None:
    """No-break spaces between thousands, a true minus, no minus before nothing."""
    assert number(value, places) == words


@given(st.floats(-1e9, 1e9))
def test_numbers_read_back(value: float) -> None:
    """What is printed is the number, rounded."""
    text = number(value, 2).replace(NBSP, "").replace(MINUS, "-")
    assert float(text) == pytest.approx(value, abs=0.0051)


def test_hours_counts_and_lists() -> None:
    """Units in the same breath, the plural where it belongs."""
    assert hours(19) == f"19{NBSP}h"
    assert hours(6.5) == f"6.5{NBSP}h"
    assert hours(12.4) == f"12{NBSP}h"
    assert count(1, "stop") == "1 stop"
    assert count(3, "battery", "batteries") == "3 batteries"
    assert joined(["a", "b", "c"]) == "a, b and c"
    assert joined([]) == ""
    assert minutes_seconds(440.9) == "7:20"


@pytest.mark.parametrize(
    ("text", "inside"),
    [("Training ended 3 days ago", "training ended 3 days ago"), ("U000417Q is out", "U000417Q is out"), ("", "")],
)
def test_in_a_sentence(text: str, inside: str) -> None:
    """A first word turns small, a label does not."""
    assert in_sentence(text) == inside
    assert capital(inside) == text


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("Ioana Bălănescu", "ioana balanescu"),
        ("Zofia Wójcik-Łęcka", "zofia wojcik-lecka"),
        ("Søren Kjærgård", "soren kjaergard"),
        ("Lena Großmann", "lena grossmann"),
        ("Драган Ђорђевић", "драган ђорђевић"),
        ("Barış Çağlayan", "baris caglayan"),
    ],
)
def test_names_are_found_on_any_keyboard(name: str, typed: str) -> None:
    """Marks over and through letters are no hindrance to a search; what is folded twice stays the same."""
    assert folded(name) == folded(typed)
    assert folded(folded(name)) == folded(name)
