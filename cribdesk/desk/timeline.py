"""Entries of the journal as lines of a history: people's names filled in, a sign, who, and the papers."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cribdesk.crib.entry import Entry, Row, stamp
from cribdesk.crib.label import is_valid
from cribdesk.crib.records import Person, Verdict, Where
from cribdesk.crib.serviceable import COUNTS_AS_INSPECTION
from cribdesk.crib.words import number
from cribdesk.desk.cards import TimelineRow
from cribdesk.desk.cards_lists import JournalPage
from cribdesk.desk.ports import Reader

HELD, OUT, BACK, RELEASED, PASSED, SCRAPPED = "held", "out", "back", "released", "passed", "scrapped"
SIGNS = (
    (HELD, "on hold"),
    (SCRAPPED, "scrapped"),
    (OUT, "out"),
    (BACK, "not checked"),
    (RELEASED, "fine"),
    (PASSED, "ready"),
)
"""What happened and the sign it gets; the first that fits is drawn."""

_PERSON = re.compile(r"\bP[0-9A-HJ-NP-Z]{6,10}[0-9A-HJ-NP-Z]\b")


@dataclass(frozen=True)
class TimelinePage:
    """Rows newest first; `before` asks for the next page, None at the end."""

    rows: tuple[TimelineRow, ...]
    before: int | None


def timeline_page(reader: Reader, subject: str, before: int | None = None, count: int = 20) -> TimelinePage:
    """One page of the history of whatever carries the label, in two queries."""
    page = reader.entries(before=before, count=count, subject=subject)
    return TimelinePage(timeline_rows(reader, page.entries), page.before)


def journal_page(
    reader: Reader, before: int | None = None, count: int = 50, subject: str | None = None
) -> JournalPage:
    """One page of the journal, of one label or of all, in three queries."""
    page = reader.entries(before=before, count=count, subject=subject)
    rows = timeline_rows(reader, page.entries)
    return JournalPage(rows, page.entries, page.before, reader.entry_count(subject))


def timeline_rows(reader: Reader, entries: Sequence[Entry]) -> tuple[TimelineRow, ...]:
    """The entries as rows, in one query for all the people on them."""
    names = names_of(reader, (text for entry in entries for text in (entry.sentence, entry.clerk)))
    return tuple(row_of(entry, names) for entry in entries)


def names_of(reader: Reader, texts: Iterable[str]) -> dict[str, str]:
    """Label and name of every person whose label stands in the texts; erased names are left out."""
    found = {label for text in texts for label in _PERSON.findall(text) if is_valid(label)}
    people = reader.find(Person, label=sorted(found))
    return {person.label: person.name for person in people if person.name}


def with_names(text: str, names: Mapping[str, str]) -> str:
    """The text with names in place of people's labels."""
    return _PERSON.sub(lambda found: names.get(found[0], found[0]), text)


def row_of(entry: Entry, names: Mapping[str, str]) -> TimelineRow:
    """One entry as a row."""
    events = happened(entry)
    sign = next((sign for event, sign in SIGNS if event in events), "")
    return TimelineRow(
        seq=entry.seq,
        at=entry.moment,
        sign=sign,
        what=with_names(entry.sentence, names).rstrip("."),
        who=names.get(entry.clerk, entry.clerk),
        bold=HELD in events,
        papers=entry.papers,
        figures=", ".join(_figures(entry)),
    )


def happened(entry: Entry) -> frozenset[str]:
    """What an entry did, told by the rows it wrote: held, out, back, released, passed, scrapped."""
    moment = stamp(entry.moment)
    return frozenset(event for table, row in entry.rows if (event := _event(table, row, moment)))


def _event(table: str, row: Row, moment: str) -> str:
    if table == "hold":
        if row["released_at"] is not None:
            return RELEASED
        return HELD if row["revision"] == 1 else ""
    if table == "custody":
        if row["returned_at"] is None:
            return OUT if row["revision"] == 1 else ""
        return BACK if row["returned_at"] == moment or row["completed_at"] is None else ""
    if table == "inspection":
        counts = row["kind"] in COUNTS_AS_INSPECTION  # a look-over or a cleaning makes nothing ready
        return PASSED if counts and row["verdict"] == Verdict.PASS.value else ""
    if table == "unit":
        return SCRAPPED if row["where"] == Where.SCRAPPED.value else ""
    return ""


def _figures(entry: Entry) -> list[str]:
    found = []
    for table, row in entry.rows:
        if table != "reading":
            continue
        flow, clocked = row.get("flow_ml_min"), row.get("milliseconds")
        if isinstance(flow, int):
            found.append(f"{number(flow / 1000)} L/min")
        if isinstance(clocked, int):
            found.append(f"{str(row['quantity']).replace('-', ' ')} {number(clocked / 1000, 1)} s")
    return found
