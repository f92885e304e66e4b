"""What each paper must say and must not look like."""

from __future__ import annotations

from dataclasses import replace

import pypdfium2
import pytest

from cribdesk.papers import CannotPrint, LabelGeometry, PaperSettings, render, render_in_steps
from cribdesk.papers.barcodes import runs
from tests.papers import samples, seen

PLAIN = PaperSettings()


def told(name: str, record: object, settings: PaperSettings = PLAIN) -> str:
    """All text of the paper."""
    return " ".join(seen.texts(render(name, record, settings)))


@pytest.mark.parametrize("size", ["80x160", "A6"])
def test_tag_says_what_1910_145_f_wants(size: str) -> None:
    """Signal word and major message (f)(4)(i), then unit, why, who, when, where, and that it stays on."""
    text = told("tag", samples.tag, PaperSettings(tag=size))
    for words in ("CAUTION", "DO NOT USE", samples.UNIT, samples.TAG, samples.tag.why, "Rhea Castel, counter 1"):
        assert words in text
    for words in ("Wed 25 Nov 2026, 06:03", "bench, shelf B-2", "Keep this tag on the unit.", "Only the bench"):
        assert words in text


@pytest.mark.parametrize("size", ["80x160", "A6"])
def test_tag_signal_word_is_the_largest_and_reads_at_five_feet(size: str) -> None:
    """1910.145(f)(4)(ii): readable at 5 ft; 11 mm of capitals are 25 arcmin there, twice what a sign needs.

    The rule of 1 inch of letter for 25 ft (5 mm at 5 ft) is common practice, no source.
    """
    texts, _ = seen.boxes(render("tag", samples.tag, PaperSettings(tag=size)))[0]
    heights = {box.text.strip(): box.top - box.foot for box in texts}
    assert heights["CAUTION"] >= 10.9
    assert heights["CAUTION"] >= max(heights.values()) - 0.2
    assert heights["DO NOT USE"] > 5.1 * 1.5


@pytest.mark.parametrize("size", ["80x160", "A6"])
def test_tag_cannot_pass_for_a_lockout_tag(size: str) -> None:
    """No red ink, no slanted stripes: each colour is black, white or amber, and amber fills one band only."""
    pdf = render("tag", samples.tag, PaperSettings(tag=size))
    picture = pypdfium2.PdfDocument(pdf)[0].render(scale=1).to_pil().convert("RGB")
    amber_rows = set()
    for y in range(picture.height):
        for x in range(picture.width):
            red, green, blue = picture.getpixel((x, y))
            assert not (red > 120 and green < 0.55 * red), f"red at {x}, {y}"
            if red > 240 and 150 < green < 210 and blue < 60:
                amber_rows.add(y)
    assert max(amber_rows) - min(amber_rows) < 25 * 72 / 25.4
    for word in ("LOCK", "DANGER", "ENERGI", "OPERATE"):
        assert word not in told("tag", samples.tag, PaperSettings(tag=size)).upper()


def test_tag_reason_shrinks_then_goes_to_a_second_tag() -> None:
    """Three lines at 3.2 mm; longer at 2.6 mm; longer still on a second tag, with the same labels."""
    two = seen.texts(render("tag", samples.tag_long, PLAIN))
    assert len(seen.texts(render("tag", samples.tag, PLAIN))) == 1
    assert len(two) == 2
    assert "Tag 1 of 2" in two[0]
    assert "Tag 2 of 2" in two[1]
    assert all("DO NOT USE" in page and samples.UNIT in page and samples.TAG in page for page in two)
    assert two[0].count("Airflow") == 1
    assert "the ball stands under the mark." in two[1]


def test_tag_without_end_stops_and_says_where_the_rest_is() -> None:
    """A reason of pages prints four tags, the last of which points to the card."""
    pages = seen.texts(render("tag", samples.tag_novel, PLAIN))
    assert len(pages) == 4
    assert "The rest stands on the unit's card." in pages[-1]


def test_tag_with_longer_labels_still_decodes() -> None:
    """Labels of ten digits fit beside each other on the narrow tag."""
    long = replace(samples.tag, unit="U12345678909", tag="T98765432104")
    picture = seen.pictures(render("tag", long, PLAIN))[0]
    assert {code.text for code in seen.codes(picture)} == {long.unit, long.tag}


def test_issue_slip_tells_what_holds_for_the_wearer() -> None:
    """Who, what, until when, readings with limits, cautions with who took them, the own part, who decides."""
    text = told("issue_slip", samples.slip)
    for words in (
        "Łucja Wronecka",
        "back by 14:30",
        "today, Wed 25 Nov 2026",
        samples.BATTERY,
        "factor 3.2 needed, this unit has 25",
        "184 L/min",
        "at least 170",
        "Accepted by Rhea Castel at 06:17.",
        "Leave the fume, then take the helmet off.",
        "The maker's instructions, local rules and the program administrator decide",
        "I have the unit, it fits me, and I know the above.",
    ):
        assert words in text, words


def test_issue_slip_of_a_usual_issue_is_one_half_page() -> None:
    """Four readings, two cautions and five lines of own part fit one half, letter and A4."""
    for page in ("letter", "A4"):
        text = told("issue_slip", samples.slip, PaperSettings(page=page))
        assert "1 of 1" in text


def test_issue_slip_signature_stands_under_what_is_signed() -> None:
    """However long the slip, the own part and the signature are on the same half."""
    alone = PaperSettings(slip="alone")
    pages = seen.texts(render("issue_slip", samples.slip_extreme, alone))
    signed = [page for page in pages if "I know the above" in page]
    assert len(pages) > 1
    assert len(signed) == 1
    assert "Before each use" in signed[0]


def test_issue_slip_names_the_day_when_it_is_not_today() -> None:
    """A due moment on another day shows the day large; none at all says that the unit is assigned."""
    assert "back by 7 Dec" in told("issue_slip", samples.slip_plain)
    assert "assigned" in told("issue_slip", replace(samples.slip, due_back=None))


@pytest.mark.parametrize("page", ["A4", "letter"])
def test_issue_slip_of_an_assigned_unit_has_the_grid_of_own_checks(page: str) -> None:
    """Until when it goes, a heading over each column twice, the whole grid on the second half; none on other slips."""
    pages = seen.texts(render("issue_slip", samples.slip_assigned, PaperSettings(page=page, slip="alone")))
    assert len(pages) == 2
    assert "to the bench by Fri 25 Dec 2026" in pages[0]
    assert pages[1].count("Initials") == 2
    assert "Air or alarm not good: do not use it, bring it back." in pages[1]
    assert samples.UNIT in pages[1]
    assert "Initials" not in told("issue_slip", samples.slip)


def test_issue_slip_names_the_carrier_and_the_wearer() -> None:
    """Both stand on it, and what is signed is to carry it to the wearer alone."""
    text = told("issue_slip", samples.slip_carried)
    assert "carries it to Łucja Wronecka" in text
    assert "carry it to its wearer, to nobody else" in text
    assert "it fits me" not in text


def test_call_in_slip_on_hold_stops_the_use() -> None:
    """A hold says stop using it, leave the fume first, and why since when; it names who has it."""
    text = told("call_in_slip", samples.call_in)
    for words in ("CAUTION", "Stop using it. Bring it back.", "Leave the fume first.", samples.call_in.why):
        assert words in text
    for words in ("On hold since", "Wed 25 Nov 2026, 06:03", "Łucja Wronecka", samples.UNIT):
        assert words in text


def test_call_in_slip_overdue_asks_for_it_back() -> None:
    """Overdue is no hazard: no signal word, but since when, and what if it is lost."""
    text = told("call_in_slip", samples.call_in_overdue)
    assert "CAUTION" not in text
    for words in ("Bring it back now.", "Overdue since", "Wed 25 Nov 2026, 14:30", "lost or with somebody else"):
        assert words in text


def test_call_in_slip_after_a_recheck_goes_to_the_supervisor() -> None:
    """To whom, who has it, which unit, why, what to do; unit, wearer and slip can be scanned off it."""
    text = told("call_in_slip", samples.call_in_recheck)
    for words in ("To the supervisor, day crew, Nordbau (invented)", "CAUTION", "Stop using it. Bring it back."):
        assert words in text
    for words in ("Łucja Wronecka", samples.call_in_recheck.why, "Called in", "Tell the wearer: leave the fume first"):
        assert words in text
    for page in ("letter", "A4"):
        pictures = seen.pictures(render("call_in_slip", samples.call_in_recheck, PaperSettings(page=page)))
        assert len(pictures) == 1
        assert {code.text for code in seen.codes(pictures[0])} == {samples.UNIT, samples.WEARER, samples.SLIP}


def test_information_sheet_names_its_source_and_who_decides() -> None:
    """Our own words, the appendix named as the text that governs, medical as (c)(2)(ii) asks; the badge scans."""
    text = told("information_sheet", samples.information)
    for words in (
        "The main points of 29 CFR 1910.134, Appendix D, in our words and from memory",
        "It governs; this sheet does not replace it.",
        "No respirator is required where you work.",
        "29 CFR 1910.134(c)(2)(ii)",
        "maker's instructions and local rules",
        "Given 25 Nov 2026 by Rhea Castel",
        "Imre Dobrosi",
        "I have the text and this sheet.",
    ):
        assert words in text, words
    pictures = seen.pictures(render("information_sheet", samples.information, PLAIN))
    assert len(pictures) == 1
    assert {code.text for code in seen.codes(pictures[0])} == {samples.WEARER}


def test_label_sheet_starts_where_the_sheet_is_still_free() -> None:
    """The first sticker lands on the place that is told; the next sheet begins at its first place."""
    many = LabelGeometry(2, 2, 90.0, 60.0, 10.0, 20.0, 95.0, 65.0, outlines=True)
    record = replace(samples.labels, labels=samples.labels.labels[:3], first=3)
    first, second = seen.pictures(render("label_sheet", record, PaperSettings(labels=many)))
    mm = seen.DPI / 25.4
    assert [code.top > 85 * mm for code in seen.codes(first)] == [True, True]
    assert [code.top < 85 * mm for code in seen.codes(second)] == [True]


@pytest.mark.parametrize("first", [0, 31, -1])
def test_label_sheet_refuses_a_place_it_has_not(first: int) -> None:
    """The sheet has places 1 to 30."""
    with pytest.raises(CannotPrint, match="places 1 to 30"):
        render("label_sheet", replace(samples.labels_one, first=first), PLAIN)


def test_label_sheet_without_labels_says_so() -> None:
    """Nothing to print is told, not shown as a blank page."""
    assert "No labels to print." in told("label_sheet", samples.labels_none)


def test_a_label_that_cannot_be_bars_is_refused_in_words() -> None:
    """A record with a broken label prints nothing and says what to do."""
    with pytest.raises(CannotPrint, match="Give it a label of ours"):
        render("tag", replace(samples.tag, unit="99-17"), PLAIN)


def test_answer_card_is_one_page_with_wide_bars() -> None:
    """Five answers and eight commands on one page, modules of 0.33 mm and more."""
    (picture,) = seen.pictures(render("answer_card", samples.card, PLAIN))
    for code in seen.codes(picture):
        assert (code.right - code.left + 1) / runs(code.text)[0] >= 0.33 * seen.DPI / 25.4
    text = told("answer_card", samples.card)
    for word in ("Good", "Not good", "Next", "Back", "Break off"):
        assert word in text


def test_inspection_record_keeps_replaced_answers() -> None:
    """All 70 answers are there, the replaced ones said to be, the table's head on each page, the verdict once."""
    pages = seen.texts(render("inspection_record", samples.record_long, PLAIN))
    text = " ".join(pages)
    assert text.count("Rhea Castel") == 71
    assert text.count("replaced by a later answer") == 14
    assert text.count("158 L/min") == 14 + 1
    assert all("Question" in page and f"{n} of {len(pages)}" in page for n, page in enumerate(pages, 1))
    assert "Failed Airflow 158 L/min after the whole ladder." in text


def test_inspection_record_of_nothing() -> None:
    """A run broken off before its first answer says so."""
    text = told("inspection_record", samples.record_none)
    assert "Broken off, no verdict" in text
    assert "Nothing was answered." in text
    assert "not ended" in text


def test_seal_says_until_when_and_what_it_is_not() -> None:
    """Whose, inspected when and by whom, good until when, what ends it; it is no certification and no tag."""
    text = told("ready_seal", samples.seal)
    for words in ("Wed 25 Nov 2026, 13:40", "Rhea Castel", "Good until", "Wed 25 Nov 2026, 22:30", samples.UNIT):
        assert words in text
    assert "Seal broken, or past this time: inspect again." in " ".join(text.split())
    assert "No certification." in text
    for word in ("CERTIF", "DANGER", "CAUTION", "LOCK"):
        assert word not in text.upper().replace("NO CERTIFICATION.", "")


def test_shift_page_is_one_page_with_two_lines_to_sign() -> None:
    """The figures, the note, who hands over and who takes over, on one page of A4 and of letter."""
    for page in ("letter", "A4"):
        text = told("shift_page", samples.shift_sheet, PaperSettings(page=page))
        assert "1 of 1" in text
        assert text.count("signature, time") == 2
        for words in ("Handed over by", "Taken over by", "Otto Brandl", "The compressor is loud", "41"):
            assert words in text


def test_repair_note_says_what_is_in_it_and_who_signs() -> None:
    """What is wrong, decontaminated how, by whom and when, due back, and three lines to sign."""
    text = told("repair_note", samples.repair)
    for words in (samples.UNIT, samples.repair.serial, samples.repair.wrong, "Feldner Repair", "Wed 9 Dec 2026"):
        assert words in text
    for words in ("Wiped with a disinfectant", "by Rhea Castel, 25 Nov 2026", samples.repair.loaner):
        assert words in text
    for words in ("Decontaminated, signed", "Taken over by", "Given back by", "inspected at the bench"):
        assert words in text
    assert "no day agreed" in told("repair_note", samples.repair_bare)


@pytest.mark.parametrize("size", ["80x160", "A6"])
def test_certification_tag_has_the_five_items(size: str) -> None:
    """29 CFR 1910.134(h)(3)(iv)(A): date, who, findings, remedial action, serial number; and what it is not for."""
    text = told("certification_tag", samples.certification, PaperSettings(tag=size))
    for words in ("Wed 25 Nov 2026", "Rhea Castel", "Findings", "To be done", "FF-1180-22", "S-004711"):
        assert words in text
    for words in ("Next due", "Sat 26 Dec 2026", "immediately dangerous to life", "Signed", samples.UNIT):
        assert words in text


def test_bag_label_says_who_decides_and_is_no_hazard_label() -> None:
    """Stream, agents, area, since when, by whom; the generator decides; the bars are the bag's own label."""
    text = told("bag_label", samples.bag)
    for words in ("Used filters, cadmium and lead", "lead fume, cadmium", "Plate shop, bay 3", samples.bag.bag):
        assert words in text
    for words in ("Wed 25 Nov 2026, 06:03, Rhea Castel", "The generator of the waste decides how it is disposed of."):
        assert words in text
    assert "HAZARDOUS" not in text.upper()
    (picture,) = seen.pictures(render("bag_label", samples.bag, PLAIN))
    assert {code.text for code in seen.codes(picture)} == {samples.bag.bag}
    assert "not entered" in told("bag_label", samples.bag_bare)


def test_counting_sheet_names_each_lot_and_no_figure_of_the_book() -> None:
    """Bin, item, lot and its date, room to write; each row's bars are its item's label; long ones go on overleaf."""
    pages = seen.texts(render("count_sheet", samples.count_sheet, PLAIN))
    assert len(pages) == 1
    for words in ("Counting sheet 7", "A1-02", "Lot L2611, until 31 Dec 2026", "Counted by, on", "Outer lens plate"):
        assert words in pages[0]
    (picture,) = seen.pictures(render("count_sheet", samples.count_sheet, PLAIN))
    assert {code.text for code in seen.codes(picture)} == {row.label for row in samples.count_sheet.rows}
    for page in ("letter", "A4"):
        pages = seen.texts(render("count_sheet", samples.count_long, PaperSettings(page=page)))
        assert len(pages) > 1
        assert sum(text.count("Lot L2611") for text in pages) == 14
        assert all("Counted by, on" in text and "If it differs: why" in text for text in pages)


@pytest.mark.parametrize("page", ["A4", "letter"])
def test_due_list_has_a_code_for_each_unit_and_a_box_for_each_thing(page: str) -> None:
    """Every unit's code decodes, every part, item and duty has an empty box, and what is short is said."""
    pdf = render("due_list", samples.due, PaperSettings(page=page))
    units = {unit.unit for group in samples.due.groups for unit in group.units}
    assert {code.text for picture in seen.pictures(pdf) for code in seen.codes(picture)} == units
    text = " ".join(seen.texts(pdf))
    for words in ("Now: 1 unit, 1 part", "Before next shift: 1 unit, 2 parts", "STOP Outer cover lens: 2 h past",
                  "! Pre-filter: 9 to 40 h, 41 % before 14:30", "only 4 there", "lot K2608 first",
                  "Calibration ends Fri 27 Nov", "95 in 100", "a tick on paper is no record"):  # fmt: skip
        assert words in text, words
    _, paths = seen.boxes(pdf)[0]
    squares = [one for one in paths if abs(one.right - one.left - 4.2) < 0.3 and abs(one.top - one.foot - 4.2) < 0.3]
    assert len(squares) == 3 + 2 + 1


def test_due_list_of_nothing_says_so() -> None:
    """One page that says that nothing is due, to fetch or by the calendar."""
    (text,) = seen.texts(render("due_list", samples.due_bare, PLAIN))
    assert "Nothing falls due this week." in text
    assert "Nothing to fetch." in text


def test_due_list_repeats_the_code_of_a_unit_with_very_many_parts() -> None:
    """45 parts stand under three codes of their unit, none is lost, and every page has its number."""
    pages = seen.texts(render("due_list", samples.due_extreme, PLAIN))
    whole = " ".join(pages)
    for unit in samples.due_extreme.groups[0].units:
        assert whole.count(unit.unit) >= 3
    assert all(f"{n} of {len(pages)}" in text for n, text in enumerate(pages, 1))


@pytest.mark.parametrize("page", ["A4", "letter"])
def test_a_wearers_card_is_one_page_with_its_rule_on_top(page: str) -> None:
    """The rule is the largest but the title, before everything else; alarms say what they mean and what to do."""
    pdf = render("wearer_card", samples.wearer_card, PaperSettings(page=page))
    assert len(seen.texts(pdf)) == 1
    texts, _ = seen.boxes(pdf)[0]
    tops = {box.text.strip(): box.top for box in texts}
    rule = tops[samples.wearer_card.rule]
    assert all(tops[title] < rule for title in ("Put on and adjust", "During work", "Clean", "You notice"))
    text = told("wearer_card", samples.wearer_card, PaperSettings(page=page))
    for words in ("You notice", "It means", "Do at once", "Leave the fume, then take it off.", "this card replaces"):
        assert words in text


def test_a_wearers_card_that_fits_no_page_is_refused() -> None:
    """It is never cut: which file is too long is said."""
    parts = tuple(replace(part, lines=(samples.NOVEL_LINE,) * 9) for part in samples.wearer_card.parts)
    with pytest.raises(CannotPrint, match=r"The card of TH9 does not fit one page\. Shorten the lines of its \[card\]"):
        render("wearer_card", replace(samples.wearer_card, parts=parts), PLAIN)


def test_the_register_says_who_wore_what_where_when_with_which_checks() -> None:
    """One hand-over with both checks, the reading and its meter, cautions, the return; what it rests on comes last."""
    text = told("use_register", samples.use_register)
    row = samples.register_row
    for words in (
        "1 hand-over, 1 wearer, 1 unit", "2026-11-25 06:03", "due 14:30", "back 14:02", row.wearer, row.badge, row.unit,
        row.battery, "Plate shop, bay 3", "respirator required", "Full: bench, pass, 2026-11-24 18:03, Otto Brandl",
        "184 L/min by M000002", "Then: hand-over, pass", "ball above the mark by M000003", "Given by Rhea Castel",
        "Accepted: Outer cover lens is due; Pre-filter is due", "By name: Hana Lindqvist: looked",
        "worn 6.2", "alarms: low battery",
        "29 CFR 1910.134(m)(4)", "1910.134(m)(2)", "1910.1020(d)", "It holds no medical detail.",
        "worn_hours: hours worn",
    ):  # fmt: skip
        assert words in text, words


def test_a_long_register_numbers_its_pages_and_heads_each() -> None:
    """Every page names the columns, the period and its number; no hand-over is cut in two."""
    pages = seen.texts(render("use_register", samples.register_many, PLAIN))
    assert len(pages) > 5
    for number, page in enumerate(pages, 1):
        assert f"{number} of {len(pages)}" in page
        assert "Checks it went out on" in page
        assert samples.use_register.period in page
    assert sum(page.count(samples.WEARER) for page in pages) == 120


def test_a_register_in_steps_is_the_register_at_once() -> None:
    """Drawn step by step, with another paper made between every two, each is byte for byte what it is alone."""
    alone = render("use_register", samples.register_many, PLAIN)
    card = render("wearer_card", samples.wearer_card_foreign, PLAIN)
    shares: list[float] = []
    made: list[bytes] = []
    for step in render_in_steps("use_register", samples.register_many, PLAIN):
        (made if isinstance(step, bytes) else shares).append(step)  # type: ignore[arg-type]
        assert render("wearer_card", samples.wearer_card_foreign, PLAIN) == card
    assert made == [alone]
    assert len(shares) > 5
    assert shares == sorted(shares)
    assert 0 < shares[0] < shares[-1] < 1


def test_a_paper_that_is_never_long_is_one_step() -> None:
    """Asked for in steps it comes at once, and what cannot be made is refused as ever."""
    assert list(render_in_steps("tag", samples.tag, PLAIN)) == [render("tag", samples.tag, PLAIN)]
    with pytest.raises(TypeError, match="use_register wants UseRegister"):
        list(render_in_steps("use_register", samples.tag, PLAIN))
