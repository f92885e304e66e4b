"""The commands: each printed code stands for one of them alone, and each can be printed."""

from __future__ import annotations

from collections import Counter

from cribdesk.crib.label import is_valid
from cribdesk.desk.commands import BY_ID, BY_LABEL, COMMANDS, command_of


def test_no_two_commands_share_a_printed_code_or_an_id() -> None:
    """A code that two had would be the last one's: the first would scan as something else."""
    codes = Counter(one.code for one in COMMANDS if one.code)
    assert [code for code, times in codes.items() if times > 1] == []
    assert [id_ for id_, times in Counter(one.id for one in COMMANDS).items() if times > 1] == []
    assert (len(BY_LABEL), len(BY_ID)) == (len(codes), len(COMMANDS))


def test_each_printed_code_scans_as_its_own_command() -> None:
    """Every label is a valid one of kind X and leads back to its command."""
    printed = [one for one in COMMANDS if one.code]
    assert len(printed) > 50
    for one in printed:
        assert is_valid(one.label), one.id
        assert one.label[0] == "X"
        assert command_of(one.label) is one
