"""Text on paper: scripts of Europe, characters the typeface lacks, wrapping."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cribdesk.desk import (
    printouts,
    printouts_away,
    printouts_card,
    printouts_due,
    printouts_orders,
    printouts_people,
    printouts_register,
    printouts_shift,
    printouts_stock,
    printouts_waste,
)
from cribdesk.papers import PaperSettings, faces, render
from tests.papers import samples, seen


@pytest.mark.parametrize("name", [*samples.EUROPE, "Łódź", "Ελλη", "Кирил"])
def test_european_scripts_print_as_they_are(name: str) -> None:
    """Polish, Greek, Cyrillic, Turkish, Hungarian and Icelandic names are read back letter by letter."""
    assert faces.printable(name) == name
    assert faces.note_about(name) == ""
    pdf = render("tag", replace(samples.tag, found_by=name), PaperSettings())
    assert name in seen.texts(pdf)[0]


def test_letters_with_loose_marks_are_composed() -> None:
    """A name typed as letter and combining mark prints as the one letter."""
    assert faces.printable("Lo\u0301dz\u0301") == "L\u00f3d\u017a"


def test_a_character_the_typeface_lacks_is_written_as_its_number_and_noted() -> None:
    """Chinese characters and an emoji stand as numbers, and the paper names them."""
    pdf = render("tag", samples.tag_foreign, PaperSettings(tag="A6"))
    told = "".join(seen.texts(pdf)).replace(" ", "")
    assert "[U+738B][U+5C0F][U+660E]" in told
    assert "Notprintablehere:U+5C0F,U+660E,U+738B." in told
    assert faces.printable("\U0001f600") == "[U+1F600]"


@pytest.mark.parametrize("name", samples.SAMPLES)
def test_every_paper_notes_what_it_cannot_print(name: str) -> None:
    """Whatever text of the record holds the character, the first page carries the note."""
    record = next(iter(samples.SAMPLES[name].values()))
    pdf = render(name, _with_foreign_text(record), PaperSettings())
    assert "Not printable here: U+738B." in seen.texts(pdf)[0]


@pytest.mark.parametrize("hidden", ["\u202e", "\u200b", "\x00", "\x1b", "\u00ad", "\ud800", "\ue000"])
def test_nothing_invisible_gets_through(hidden: str) -> None:
    """Controls, direction overrides, zero widths and lone surrogates become visible numbers."""
    shown = faces.printable(f"a{hidden}b")
    assert shown == f"a[U+{ord(hidden):04X}]b"


def test_line_breaks_become_spaces() -> None:
    """Text over several lines is set as one."""
    assert faces.wrap("over\nto\tyou", 2.5, 100.0) == ["over to you"]


def test_right_to_left_letters_are_turned_and_noted() -> None:
    """A Hebrew word is set from its far end, so that it reads right; the paper says that care is due."""
    assert faces.visual("\u05d0\u05d1\u05d2 3, a") == "\u05d2\u05d1\u05d0 3, a"
    assert faces.visual("\u05d0\u05d1 \u05d2\u05d3") == "\u05d3\u05d2 \u05d1\u05d0"
    assert "Right-to-left" in faces.note_about("\u05d0\u05d1")


def test_wrapping_keeps_every_letter_and_the_room() -> None:
    """Lines are no wider than the room, and together they are the text, also where a word is too long."""
    text = f"A name {samples.LONG_NAME} and {samples.LONG_WORD}"
    lines = faces.wrap(text, 2.5, 30.0)
    assert all(faces.width(line, 2.5) <= 30.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_what_is_left_out_is_told_by_an_ellipsis() -> None:
    """A text for which there is no room ends in an ellipsis, never in the middle without a word."""
    lines = faces.fit(samples.NOVEL, 2.5, 40.0, 3)
    assert len(lines) == 3
    assert lines[-1].endswith("…")
    assert faces.fit("short", 2.5, 40.0, 3) == ["short"]


def test_capitals_have_the_height_asked_for() -> None:
    """A cap height of 11 mm is 11 mm of ink, measured on the page."""
    texts, _ = seen.boxes(render("tag", samples.tag, PaperSettings()))[0]
    message = next(box for box in texts if box.text.strip() == "DO NOT USE")
    assert message.top - message.foot == pytest.approx(8.6, abs=0.6)  # round letters stand out a little


def _with_foreign_text(record: object) -> object:
    """The record with one of its texts made foreign."""
    match record:
        case printouts.OutOfServiceTag():
            return replace(record, where="王")
        case printouts.IssueSlip():
            return replace(record, area="王")
        case printouts.CallInSlip():
            return replace(record, found_by="王")
        case printouts.LabelSheet():
            return replace(record, labels=(replace(record.labels[0], detail="王"),))
        case printouts.AnswerCard():
            return replace(record, answers=(replace(record.answers[0], hint="王"),))
        case printouts.InspectionRecord():
            return replace(record, answers=(replace(record.answers[0], remark="王"),))
        case printouts_people.InformationPaper():
            return replace(record, given_by="王")
        case printouts_waste.BagLabel():
            return replace(record, agents="王")
        case printouts_shift.ReadySeal():
            return replace(record, by="王")
        case printouts_shift.ShiftSheet() | printouts_orders.RequisitionSheet():
            return replace(record, note="王")
        case printouts_due.DueSheet():
            return replace(record, duties=(replace(record.duties[0], what="王"),))
        case printouts_stock.CountingSheet():
            return replace(record, by="王")
        case printouts_away.RepairNote():
            return replace(record, wrong="王")
        case printouts_away.CertificationTag():
            return replace(record, findings="王")
        case printouts_card.WearersCard():
            return replace(record, alarms=(replace(record.alarms[0], means="王"),))
        case printouts_register.UseRegister():
            return replace(record, rows=(replace(record.rows[0], area_name="王"),))
    raise AssertionError(record)
