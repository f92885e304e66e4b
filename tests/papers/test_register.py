"""The register of papers, and what `render` refuses."""

from __future__ import annotations

from types import ModuleType

import pytest

from cribdesk.papers import CannotPrint, PaperSettings, render
from cribdesk.papers.register import Paper, RegisterFault, collect, papers
from tests.papers import samples


def module(name: str, paper: object = None) -> ModuleType:
    """A module by that name, holding the paper where there is one."""
    made = ModuleType(name)
    if paper is not None:
        made.PAPER = paper  # type: ignore[attr-defined]
    return made


def test_each_module_gives_its_paper() -> None:
    """Every paper, found by listing the package; each has a title and wants a record of its own."""
    found = papers()
    assert set(found) == {
        "answer_card",
        "bag_label",
        "call_in_slip",
        "count_sheet",
        "due_list",
        "information_sheet",
        "certification_tag",
        "inspection_record",
        "issue_slip",
        "label_sheet",
        "ready_seal",
        "repair_note",
        "requisition",
        "shift_page",
        "tag",
        "use_register",
        "wearer_card",
    }
    assert len({paper.wants for paper in found.values()}) == len(found)
    assert all(paper.title for paper in found.values())


def test_doubles_and_empty_modules_are_refused() -> None:
    """Two papers of one name, and a module without a paper, stop the register."""
    paper = Paper("slip", "Slip", str, lambda record, settings: b"")
    with pytest.raises(RegisterFault, match="second paper named 'slip'"):
        collect([module("one", paper), module("two", paper)])
    with pytest.raises(RegisterFault, match="holds no PAPER"):
        collect([module("empty")])


def test_an_unknown_paper_is_refused_in_words() -> None:
    """The sentence names the papers that there are."""
    with pytest.raises(CannotPrint, match=r"There is no paper named 'poster'. There are .*tag"):
        render("poster", samples.tag, PaperSettings())


def test_the_wrong_record_is_refused() -> None:
    """A slip's record cannot be printed as a tag."""
    with pytest.raises(TypeError, match="tag wants OutOfServiceTag, not IssueSlip"):
        render("tag", samples.slip, PaperSettings())


def test_reportlab_is_not_loaded_with_the_package() -> None:
    """Naming the package costs no PDF library; the first print loads it."""
    import subprocess
    import sys

    check = "import sys, cribdesk.papers; sys.exit('reportlab' in sys.modules or 'barcode' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", check], check=False).returncode == 0
