"""The wearer's card in a model's file: what is read, and what is refused with its place and line."""

from __future__ import annotations

import pytest

from cribdesk.crib.card import LONGEST, MOST, CardAlarm
from cribdesk.crib.model import ModelFaults, UnitModel, read_model
from cribdesk.opening import load_house
from cribdesk.resources import data

CARD = """
[card]
put_on = ["One.", "Two."]
before = ["Look."]
during = ["Stay."]
clean = ["Wipe."]
store = ["Bag."]

[[card.alarms]]
sign = "Air stops"
means = "No protection"
do = "Leave."
"""


def bare() -> str:
    """A shipped model's text without its card."""
    return (data("resources") / "units" / "ad1.toml").read_text("utf-8").partition("[card]")[0]


def faults(card: str) -> list[str]:
    """What is said against a model with this card."""
    with pytest.raises(ModelFaults) as told:
        read_model(bare() + card, "ad1.toml")
    return [str(fault) for fault in told.value.faults]


def test_a_card_is_read_line_by_line() -> None:
    """Each list in its order, each alarm with what it means and what to do; a model without one has none."""
    card = read_model(bare() + CARD, "ad1.toml").card
    assert card is not None
    assert (card.put_on, card.before, card.store) == (("One.", "Two."), ("Look.",), ("Bag.",))
    assert card.alarms == (CardAlarm("Air stops", "No protection", "Leave."),)
    assert read_model(bare(), "ad1.toml").card is None


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (CARD.replace('put_on = ["One.", "Two."]\n', ""), "put_on: this key is missing"),
        (CARD.replace('["Wipe."]', "[]"), f"clean: 1 to {MOST} lines are needed here"),
        (CARD.replace('["Wipe."]', f'["{"x" * (LONGEST + 1)}"]'), f"one line of at most {LONGEST} characters"),
        (CARD.partition("[[card")[0], "write at least one [[card.alarms]]"),
        (CARD.replace('do = "Leave."', ""), "do: this key is missing"),
        (CARD.replace("during", "meanwhile"), "meanwhile: this key is not known here"),
        (CARD.replace('means = "No', 'colour = "red"\nmeans = "No'), "colour: this key is not known here"),
    ],
)
def test_a_fault_in_a_card_is_told(broken: str, said: str) -> None:
    """The sentence names the key; nothing else in the file is blamed."""
    assert any(said in fault for fault in faults(broken)), faults(broken)


def shipped() -> dict[str, UnitModel]:
    """The models that come with the program."""
    house, found = load_house()
    assert found == ()
    return dict(house.models)


@pytest.mark.parametrize("code", ["AD1", "FF1", "HM1", "WH1", "WL1"])
def test_every_shipped_model_has_its_card(code: str) -> None:
    """What gives air says what to do when it stops, and to leave before it is taken off; none washes a filter."""
    model = shipped()[code]
    assert model.card is not None
    told = " ".join((*model.card.put_on, *model.card.before, *model.card.during, *model.card.clean)).lower()
    if model.powered:
        (stops,) = [alarm for alarm in model.card.alarms if alarm.sign.startswith("Air stops")]
        assert stops.do.index("Leave") < stops.do.index("take it off")
        assert "blower on" in told
    if model.facepiece != "none":
        assert "never wash, knock or blow out a filter" in told
        assert any("Smell" in alarm.sign for alarm in model.card.alarms)
    if model.tight_fitting:
        assert "seal check" in told
        assert "shaven" in told
    sounds = any("Alarm sounds" in alarm.sign for alarm in model.card.alarms)
    assert sounds is (model.alarm_window_s is not None)


def test_the_table_of_models_is_the_one_tried_above() -> None:
    """A model added without a card would escape the test above."""
    assert set(shipped()) == {"AD1", "FF1", "HM1", "WH1", "WL1"}
