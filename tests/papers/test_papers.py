"""What holds for every paper: bars decode, quiet zones are free, nothing is off the page or overprinted."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator

import pytest
from PIL import Image

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
from cribdesk.papers import PaperSettings, render
from cribdesk.papers.barcodes import QUIET_MODULES, runs
from cribdesk.papers.register import papers
from cribdesk.papers.sheet import Sheet
from tests.papers import seen
from tests.papers.samples import SAMPLES, labels

CASES = [(name, which) for name, records in SAMPLES.items() for which in records]
WAYS = {
    "letter": PaperSettings(site="Harrow Creek Fabrication (invented)"),
    "A4": PaperSettings(page="A4", tag="A6", slip="alone", copy=3, site="Żółw (invented)"),
}
both_ways = pytest.mark.parametrize("settings", WAYS.values(), ids=WAYS)
each_record = pytest.mark.parametrize(("name", "which"), CASES, ids=["-".join(case) for case in CASES])


def carried(name: str, record: object) -> Counter[str]:
    """The labels whose bars a paper must carry, with how often at least."""
    match record:
        case printouts.OutOfServiceTag():
            return Counter([record.unit, record.tag])
        case printouts.IssueSlip():
            return Counter([record.slip])
        case printouts.CallInSlip():
            told = record.holder if record.cause is printouts.CallInCause.RECHECK else record.tag
            return Counter(code for code in (record.unit, told, record.slip) if code)
        case printouts.LabelSheet():
            return Counter(label.label for label in record.labels)
        case printouts.AnswerCard():
            return Counter(code.code for code in (*record.answers, *record.commands))
        case printouts.InspectionRecord():
            return Counter([record.unit])
        case printouts_people.InformationPaper():
            return Counter([record.wearer])
        case printouts_waste.BagLabel():
            return Counter([record.bag])
        case printouts_shift.ReadySeal():
            return Counter([record.unit])
        case printouts_shift.ShiftSheet() | printouts_orders.RequisitionSheet():
            return Counter()
        case printouts_card.WearersCard() | printouts_register.UseRegister():
            return Counter()
        case printouts_stock.CountingSheet():
            return Counter({row.label for row in record.rows})  # lots of one item stand one over the other: read as one
        case printouts_due.DueSheet():
            return Counter(unit.unit for group in record.groups for unit in group.units)
        case printouts_away.RepairNote() | printouts_away.CertificationTag():
            return Counter([record.unit])
    raise AssertionError(f"no bars are named for {name}")


def quiet_strips(code: seen.Code) -> Iterator[tuple[int, int, int, int]]:
    """The pixel boxes beside a decoded code that must stay free, in its middle half."""
    module = (code.right - code.left) / runs(code.text)[0]
    reach = int(QUIET_MODULES * module) - 2
    top, foot = code.top + (code.foot - code.top) // 4, code.foot - (code.foot - code.top) // 4
    yield code.left - reach, top, code.left - 2, foot
    yield code.right + 3, top, code.right + reach, foot


def free(picture: Image.Image, strip: tuple[int, int, int, int]) -> bool:
    """Whether the strip lies on the page and is white."""
    inside = strip[0] >= 0 and strip[2] <= picture.width
    return inside and min(picture.crop(strip).tobytes()) > 200


@pytest.mark.parametrize(("away", "white"), [(3.2, True), (1.5, False)])
def test_the_quiet_zone_check_sees_an_intruder(away: float, white: bool) -> None:
    """Ink 1.5 mm from bars of 0.254 mm modules is found; beyond 10 modules it is none of the zone's business."""
    sheet = Sheet((80.0, 30.0), "trial", "")
    sheet.box(20.32 - away - 1.0, 4.0, 1.0, 12.0)
    sheet.bars(20.32, 5.0, "U000418M", 0.254, 10.0)
    picture = seen.pictures(sheet.finish())[0]
    (code,) = seen.codes(picture)
    assert all(free(picture, strip) for strip in quiet_strips(code)) is white


def test_every_paper_has_samples() -> None:
    """A paper without samples would escape all tests below."""
    assert set(SAMPLES) == set(papers())


@both_ways
@each_record
def test_bars_decode_and_keep_their_distance(name: str, which: str, settings: PaperSettings) -> None:
    """Every barcode is read back from the page at 200 dpi by zxing-cpp; beside it 10 modules are white."""
    record = SAMPLES[name][which]
    read: Counter[str] = Counter()
    for picture in seen.pictures(render(name, record, settings)):
        for code in seen.codes(picture):
            read[code.text] += 1
            for strip in quiet_strips(code):
                assert free(picture, strip), f"something stands beside {code.text}"
    expected = carried(name, record)
    assert set(read) == set(expected)
    assert read >= expected


def whole(pdf: bytes, *, struck: bool = False) -> None:
    """Asserts that nothing leaves the page, no text stands on another, nor on a rule unless `struck`."""
    for (wide, high), (texts, shapes) in zip(seen.sizes(pdf), seen.boxes(pdf), strict=True):
        for box in (*texts, *shapes):
            assert box.left >= -0.2, box
            assert box.foot >= -0.2, box
            assert box.right <= wide + 0.2, box
            assert box.top <= high + 0.2, box
        for index, text in enumerate(texts):
            assert not [other for other in texts[index + 1 :] if text.overlaps(other, 0.12)], text
            if not struck:
                rules = [shape for shape in shapes if shape.top - shape.foot < 1.0]
                assert not [rule for rule in rules if text.overlaps(rule)], text


@both_ways
@each_record
def test_nothing_leaves_the_page_or_is_overprinted(name: str, which: str, settings: PaperSettings) -> None:
    """Texts and shapes stay on the page; no text stands on another, nor on a rule but a struck answer."""
    whole(render(name, SAMPLES[name][which], settings), struck=name == "inspection_record")


@pytest.mark.parametrize("size", ["78x150", "100x140", "200x290"])
@pytest.mark.parametrize("which", SAMPLES["tag"])
def test_tags_of_any_size_are_whole(which: str, size: str) -> None:
    """The smallest tags and a large one hold to the same."""
    whole(render("tag", SAMPLES["tag"][which], PaperSettings(tag=size)))


@each_record
def test_the_same_record_gives_the_same_bytes(name: str, which: str) -> None:
    """No clock and no chance gets into a paper."""
    settings = WAYS["letter"]
    assert render(name, SAMPLES[name][which], settings) == render(name, SAMPLES[name][which], settings)


@pytest.mark.parametrize("name", SAMPLES)
def test_a_copy_says_so(name: str) -> None:
    """From the second print on the paper carries its number; the first carries none."""
    record = next(iter(SAMPLES[name].values()))
    assert "Copy" not in seen.texts(render(name, record, PaperSettings()))[0]
    assert "Copy 2" in seen.texts(render(name, record, PaperSettings(copy=2)))[0]


@pytest.mark.parametrize("name", SAMPLES)
def test_no_word_of_a_plain_record_is_lost(name: str) -> None:
    """Each text of the plain record is read back from the paper by pypdf."""
    record = next(iter(SAMPLES[name].values()))
    told = "".join("".join(seen.texts(render(name, record, PaperSettings()))).split())
    for text in _words(record):
        if text != LONG_ON_A_STICKER:
            assert "".join(text.split()) in told, text


LONG_ON_A_STICKER = next(label.name for label in labels.labels if len(label.name) > 60)


def _words(value: object) -> Iterator[str]:
    if isinstance(value, str) and not isinstance(value, (printouts.CallInCause, printouts.RecordVerdict)):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from _words(each)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _words(getattr(value, field.name))
