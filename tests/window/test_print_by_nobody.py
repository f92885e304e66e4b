"""A print is kept with who made it: while nobody is signed on nothing is printed."""

from __future__ import annotations

from cribdesk.crib.records import Print, Slip
from tests.window.desk_window import DeskWindow


def test_nobody_prints_a_copy_that_no_journal_knows(desk: DeskWindow) -> None:
    """Printing again while nobody is signed on is told and prints nothing; signed on it is a marked copy."""
    desk.sign_on()
    desk.issue()
    slip = desk.read(lambda reader: reader.latest(Slip))
    assert slip is not None
    clerk, desk.app.slate = desk.app.slate.clerk, desk.app.slate.cleared()
    assert clerk is not None
    desk.app.begin(None)
    before = desk.printer.names()
    desk.app.print_paper("issue_slip", slip.label)
    desk.rest()
    desk.says("Nobody is signed on at this counter. Scan a staff badge first. Nothing changed.")
    assert desk.printer.names() == before
    desk.app.begin(clerk)
    desk.app.print_paper("issue_slip", slip.label)
    desk.rest()
    assert desk.printer.names() == [*before, "issue_slip"]
    prints = desk.read(lambda reader: reader.find(Print, paper="issue_slip", of=slip.label))
    assert [one.copy for one in prints] == [1, 2]
