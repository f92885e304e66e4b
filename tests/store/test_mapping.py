"""Records and their columns, both ways."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import UTC, date, datetime, timedelta, timezone
from enum import StrEnum
from types import NoneType
from typing import Any, get_args, get_type_hints

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from cribdesk.crib.entry import canonical
from cribdesk.crib.records import RECORDS, Record
from cribdesk.store.connect import SqlStore
from cribdesk.store.mapping import SHAPES, shape_of
from cribdesk.store.tables import MODELS, POINTS_AT
from tests.store.conftest import save_all, unit

ZONES = st.sampled_from([UTC, timezone(timedelta(hours=-5)), timezone(timedelta(hours=5, minutes=45))])
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)


def values(name: str, hint: Any) -> st.SearchStrategy[Any]:
    """Values of a field; quantities in whole small units, so that they come back equal."""
    options = get_args(hint) or (hint,)
    if NoneType in options:
        (plain,) = [one for one in options if one is not NoneType]
        return st.none() | values(name, plain)
    if hint is float:
        scale = 60 if name.endswith("hours") else 1000
        return st.integers(0, 10**9).map(lambda small: small / scale)
    if issubclass(hint, StrEnum):
        return st.sampled_from(hint)
    return {
        int: st.integers(0, 2**53 - 1),
        bool: st.booleans(),
        str: TEXTS,
        date: st.dates(),
        datetime: st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=ZONES),
    }[hint]


def records(kind: type[Record]) -> st.SearchStrategy[Record]:
    """Any record of the class."""
    hints = get_type_hints(kind)
    return st.builds(kind, **{one.name: values(one.name, hints[one.name]) for one in fields(kind)})


ANY_RECORD = st.sampled_from(RECORDS).flatmap(records)


@given(ANY_RECORD)
def test_records_come_back(record: Record) -> None:
    """A record's columns give the same record, and hold nothing but text, whole numbers, booleans and null."""
    shape = shape_of(type(record))
    row = shape.row(record)
    assert tuple(row) == shape.names
    assert {type(value) for value in row.values()} <= {str, int, bool, NoneType}
    assert shape.record(tuple(row.values())) == record


@given(ANY_RECORD)
def test_rows_are_canonical(record: Record) -> None:
    """A row's canonical JSON is that of an independent implementation of RFC 8785."""
    row = dict(shape_of(type(record)).row(record))
    assert canonical(row) == rfc8785.dumps(row)


def test_canonical_refuses_what_json_would_change() -> None:
    """Floats, integers beyond 2^53, keys beyond ASCII and lone surrogates stand in no entry."""
    for value in (1.5, 2**53, {"ł": 1}, b"x", {1: 2}, "\ud800"):
        with pytest.raises(ValueError, match=r".+"):
            canonical(value)
    assert json.loads(canonical({"b": [True, None], "a": "é\u2028"})) == {"a": "é\u2028", "b": [True, None]}


def test_no_column_holds_a_float() -> None:
    """Every table of a store, one column after the other."""
    kinds = {field.field_type for model in MODELS.values() for field in model._meta.sorted_fields}
    targets = {field.rel_field.field_type for model in MODELS.values() for field in model._meta.refs}
    assert kinds | targets <= {"TEXT", "BIGINT", "INT", "BOOL", "AUTO"}


def test_every_id_column_points_somewhere() -> None:
    """A field that names another record has a foreign key."""
    for shape in SHAPES:
        for name in shape.fields:
            if name.endswith("_id") and name != "record_id":
                assert name in POINTS_AT, f"{shape.table}.{name}"


@pytest.mark.parametrize("hours", [float("nan"), float("inf")])
def test_no_quantity_is_refused(store: SqlStore, hours: float) -> None:
    """What is no number of hours is refused before it reaches a table."""
    with pytest.raises(ValueError, match="no quantity"):
        save_all(store, unit(1, worn_hours=hours))
    with pytest.raises(ValueError, match="NUL"):
        save_all(store, unit(1, place="row\0"))
