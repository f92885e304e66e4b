"""The walkthrough as a command: pictures that show something, papers that scan, a store that is sound."""

from __future__ import annotations

import json
import os
import struct
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from cribdesk import chores
from cribdesk.crib.label import is_valid
from cribdesk.store.connect import open_store
from tests.papers.seen import codes, pictures

ROOT = Path(__file__).parents[1]
SHOWN = ("counter_empty", "issue_reasons", "issue_check", "issued", "ladder_reading", "ladder_remedy", "failed",
         "on_hold", "return_form", "returned", "unit_page", "journal")  # fmt: skip


@dataclass(frozen=True)
class Walked:
    """What the command left behind."""

    folder: Path
    steps: list[dict[str, Any]]

    def papers(self) -> list[dict[str, Any]]:
        """The steps that are papers."""
        return [one for one in self.steps if "paper" in one]

    def pictures(self) -> list[dict[str, Any]]:
        """The steps that are pictures."""
        return [one for one in self.steps if "picture" in one]


def walk(folder: Path) -> Walked:
    """One run of the command, without any screen set."""
    bare = {name: value for name, value in os.environ.items() if name not in ("QT_QPA_PLATFORM", "DISPLAY")}
    done = subprocess.run(
        [sys.executable, "-m", "cribdesk", "walkthrough", str(folder)],
        cwd=ROOT, env=bare, capture_output=True, text=True, check=False, timeout=240,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    return Walked(folder, json.loads((folder / "steps.json").read_text("utf-8")))


def test_walkthrough(tmp_path: Path) -> None:
    """One run leaves its steps, pictures that show something, papers that scan, and a store with the whole stretch."""
    walked = walk(tmp_path / "out")
    steps_are_as_promised(walked)
    pictures_show_something(walked)
    papers_scan_to_what_they_are_about(walked)
    the_stretch_is_in_the_store_it_leaves(walked)


@pytest.mark.long
def test_the_store_of_a_walkthrough_is_sound(tmp_path: Path) -> None:
    """Digests, replay and constraints of the whole store hold."""
    walked = walk(tmp_path / "out")
    assert chores.check(str(walked.folder / "store.sqlite")) == []


def steps_are_as_promised(walked: Walked) -> None:
    """Each step is a picture or paper that is there, a seq, whole labels; nothing else lies in the folder."""
    seqs = []
    for step in walked.steps:
        assert set(step) in ({"picture", "seq", "labels"}, {"paper", "seq", "labels"}), step
        assert (walked.folder / (step.get("picture") or step["paper"])).is_file()
        assert all(is_valid(label) for label in step["labels"])
        seqs.append(step["seq"])
    assert seqs == sorted(seqs)
    there = {one.name for one in walked.folder.iterdir()} - {"steps.json", "store.sqlite"}
    assert there == {step.get("picture") or step["paper"] for step in walked.steps}
    names = " ".join(step["picture"] for step in walked.pictures())
    assert not [one for one in SHOWN if one not in names]


def pictures_show_something(walked: Walked) -> None:
    """Every picture is of the window's size and has many colours; no two that follow each other are the same."""
    from PySide6.QtGui import QImage

    before = b""
    for step in walked.pictures():
        file = walked.folder / step["picture"]
        size = struct.unpack(">II", file.read_bytes()[16:24])
        assert size == (1440, 900), file.name
        image = QImage(str(file)).convertToFormat(QImage.Format.Format_RGB888)
        pixels = bytes(image.constBits())
        assert len({pixels[at : at + 3] for at in range(0, len(pixels), 3 * 997)}) > 12, file.name
        assert pixels != before, file.name
        before = pixels


def papers_scan_to_what_they_are_about(walked: Walked) -> None:
    """An independent decoder reads from each PDF its own label, and nothing that is not its step's."""
    names = [step["paper"].split("_", 2)[2] for step in walked.papers()]
    assert names[:2] == ["issue_slip.pdf", "tag.pdf"]
    for step in walked.papers():
        pages = pictures((walked.folder / step["paper"]).read_bytes())
        found = {code.text for one in pages for code in codes(one)}
        assert step["labels"][0] in found, (step, found)
        assert found <= set(step["labels"]), (step, found)
    tag = walked.papers()[1]
    assert [label[0] for label in tag["labels"]] == ["T", "U"]
    assert set(tag["labels"]) == found


def the_stretch_is_in_the_store_it_leaves(walked: Walked) -> None:
    """The whole stretch is in the journal: an issue, a fail down the ladder, a return, the prints."""
    address = str(walked.folder / "store.sqlite")
    first = walked.steps[0]["seq"]
    with open_store(address) as store, store.reading() as reader:
        entries = reader.entries(count=60).entries
    made = [entry.operation for entry in entries if entry.seq > first]
    assert {"issue", "hold-unfinished", "change-part", "put-battery", "inspect", "return", "print"} <= set(made)
    assert entries[0].seq == walked.steps[-1]["seq"]


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    """It says so in one line and touches nothing."""
    (tmp_path / "mine.txt").write_text("mine", "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "cribdesk", "walkthrough", str(tmp_path)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "is not empty" in done.stderr
    assert [one.name for one in tmp_path.iterdir()] == ["mine.txt"]
