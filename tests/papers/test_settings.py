"""Page, tag and label sizes: what is taken and what is refused, with what words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cribdesk.papers import CannotPrint, PaperSettings, render
from cribdesk.papers.settings import LABELS
from tests.papers import samples, seen


@pytest.mark.parametrize(
    ("tag", "size"),
    [
        ("80x160", (80, 160)),
        ("A6", (105, 148)),
        ("90 × 170 mm", (90, 170)),
        ("120x150", (120, 150)),
        ("78x150", (78, 150)),
        ("100x140", (100, 140)),
    ],
)
def test_tags_come_in_the_size_that_is_set(tag: str, size: tuple[float, float]) -> None:
    """Two usual sizes and any other that bears the words; the bars decode on each."""
    pdf = render("tag", samples.tag, PaperSettings(tag=tag))
    assert set(seen.sizes(pdf)) == {size}
    assert {code.text for code in seen.codes(seen.pictures(pdf)[0])} == {samples.UNIT, samples.TAG}


@pytest.mark.parametrize("tag", ["40x60", "A5", "", "80", "80x1600", "80x140", "-80x160", "80x", "axb"])
def test_tag_sizes_that_bear_no_words_are_refused(tag: str) -> None:
    """Too small, too large or no size at all: a sentence with what can be set."""
    with pytest.raises(CannotPrint, match="Set "):
        render("tag", samples.tag, PaperSettings(tag=tag))


@pytest.mark.parametrize(
    ("settings", "size"),
    [
        (PaperSettings(), (279.4, 215.9)),
        (PaperSettings(slip="alone"), (139.7, 215.9)),
        (PaperSettings(page="A4"), (297.0, 210.0)),
        (PaperSettings(page="A4", slip="alone"), (148.5, 210.0)),
    ],
)
def test_slips_are_half_a_page(settings: PaperSettings, size: tuple[float, float]) -> None:
    """Two halves beside each other on a page turned on its side, or a page of the half's size."""
    assert seen.sizes(render("issue_slip", samples.slip, settings)) == [size]
    assert seen.sizes(render("call_in_slip", samples.call_in, settings)) == [size]


@pytest.mark.parametrize(("page", "size"), [("letter", (215.9, 279.4)), ("A4", (210.0, 297.0))])
@pytest.mark.parametrize("name", ["label_sheet", "answer_card", "inspection_record"])
def test_whole_pages_are_letter_or_a4(name: str, page: str, size: tuple[float, float]) -> None:
    """The other papers take the page as it is set."""
    record = next(iter(samples.SAMPLES[name].values()))
    pdf = render(name, record, PaperSettings(page=page))  # type: ignore[arg-type]
    assert set(seen.sizes(pdf)) == {size}


def test_an_unknown_page_is_refused() -> None:
    """Only letter and A4 are known."""
    with pytest.raises(CannotPrint, match="Set letter or A4"):
        render("issue_slip", samples.slip, PaperSettings(page="legal"))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"columns": 0}, "at least one label"),
        ({"columns": 4}, "Set fewer or smaller"),
        ({"rows": 12}, "Set fewer or smaller"),
        ({"across": 20.0}, "overlap"),
        ({"left": -1.0}, "Set fewer or smaller"),
        ({"width": 25.0, "across": 26.0}, "No room for the barcode"),
    ],
)
def test_label_sheets_that_do_not_fit_are_refused(change: dict[str, float], words: str) -> None:
    """A sheet that leaves the page, overlaps, or has no room for bars is told before anything prints."""
    geometry = replace(LABELS["letter"], **change)  # type: ignore[arg-type]
    with pytest.raises(CannotPrint, match=words):
        render("label_sheet", samples.labels, PaperSettings(labels=geometry))
