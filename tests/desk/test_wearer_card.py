"""The wearer's card out of a model: its rule follows from how the unit works, never from what its file says."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from cribdesk.crib.model import UnitModel
from cribdesk.desk.printing_card import alarm_test, facts_of_model, rule_of, wearers_card
from cribdesk.desk.printouts_card import WearersCard
from cribdesk.papers import PaperSettings, render
from tests.desk.shop import house
from tests.papers import seen

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
CODES = ("AD1", "FF1", "HM1", "WH1", "WL1")


def card(code: str) -> WearersCard:
    """The card of a shipped model; no store is asked."""
    return wearers_card(None, house(), code, NOW)  # type: ignore[arg-type]


def model(code: str) -> UnitModel:
    """A shipped model."""
    return house().models[code]


def test_a_loose_fitting_unit_protects_nothing_with_its_blower_off() -> None:
    """Loose facepiece and helmet alike: no protection, leave the fume first, then take it off; in this order."""
    for code in ("WL1", "WH1"):
        rule, detail = rule_of(model(code))
        assert rule == "Blower off: no protection."
        assert detail.index("Leave the fume first") < detail.index("then take it off")


def test_the_rule_follows_from_the_facepiece_and_the_blower() -> None:
    """Tight with air, tight without, no air at all: each its own sentence; none but the loose says 'no protection'."""
    assert rule_of(model("FF1"))[0] == "Blower off: leave."
    assert rule_of(model("HM1"))[0] == "It protects only while it seals."
    assert "gives no air" in rule_of(model("AD1"))[0]
    loose = replace(model("FF1"), tight_fitting=False, facepiece="helmet_hood")
    assert rule_of(loose)[0] == "Blower off: no protection."


def test_the_alarm_is_tried_by_the_models_own_window() -> None:
    """17 to 23 s in the figures are 17 to 23 s on the card; one that shakes says so; without alarm there is no line."""
    told = alarm_test(replace(model("WL1"), alarm_window_s=(17.0, 23.0)))
    assert "sounds and shakes after 17 to 23 s" in told
    assert "shakes" not in alarm_test(replace(model("WL1"), alarm_vibrates=False))
    assert alarm_test(model("WH1")) == ""
    assert dict(facts_of_model(model("WH1")))["Alarm"].startswith("none for low flow")
    assert "Alarm" not in dict(facts_of_model(model("WL1")))


def test_what_the_wearer_may_change_is_what_the_file_lets_them() -> None:
    """The positions with `wearer_changes`, no other; none at all says so."""
    parts = dict(facts_of_model(model("WL1")))["Parts"]
    for position in model("WL1").positions:
        assert (position.name.lower() in parts) is position.wearer_changes, position.code
    none = replace(model("WL1"), positions=tuple(replace(one, wearer_changes=False) for one in model("WL1").positions))
    assert dict(facts_of_model(none))["Parts"].startswith("nothing on it is changed by you")


@pytest.mark.parametrize("page", ["A4", "letter"])
@pytest.mark.parametrize("code", CODES)
def test_every_card_is_one_page_and_loses_no_word(code: str, page: str) -> None:
    """Read back from the paper: the rule, every line, every alarm, every caution, who decides, under which rules."""
    made = card(code)
    pages = seen.texts(render("wearer_card", made, PaperSettings(page=page)))  # type: ignore[arg-type]
    assert len(pages) == 1
    told = "".join(pages[0].split())
    lines = [line for part in made.parts for line in part.lines]
    lines += [words for row in made.alarms for words in (row.sign, row.means, row.do)]
    lines += [words for pair in (*made.facts, *made.cautions) for words in pair]
    for words in (made.rule, made.rule_detail, *lines, made.decides, made.rule_set, made.origin):
        assert "".join(words.split()) in told, words


def test_a_model_without_file_or_card_says_so() -> None:
    """In words, as every paper does that cannot be made."""
    with pytest.raises(LookupError, match="There is no unit model XX9"):
        card("XX9")
    bare = replace(house(), models={"WL1": replace(model("WL1"), card=None)})
    with pytest.raises(LookupError, match=r"The file of WL1 has no \[card\]"):
        wearers_card(None, bare, "WL1", NOW)  # type: ignore[arg-type]
