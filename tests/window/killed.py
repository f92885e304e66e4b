"""The program as it is started, driven to a moment of an issue, and killed there: no clean-up of any kind runs.

`python -m tests.window.killed STORE MOMENT WEARER UNIT PACK AREA CLERK`
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from typing import Any

from cribdesk import __main__, opening, session
from cribdesk.app import App
from cribdesk.desk.counter import Counter
from cribdesk.desk.issue import IssueUnit
from cribdesk.opening import sample_clock
from cribdesk.store.work import SqlWork
from cribdesk.window.hands import press, scan
from cribdesk.window.start import wait_until
from tests.window.moment import OPENED

MOMENTS = ("asked", "written", "committed", "answered")


def killed(*_: Any, **__: Any) -> Any:
    """The end."""
    os.kill(os.getpid(), signal.SIGKILL)


def arm(moment: str) -> None:
    """Puts the end at the moment: before the transaction, inside it, after its commit, after its answer."""
    do, commit = Counter.do, SqlWork.commit

    def asked(self: Counter, operation: Any, clerk_id: int | None) -> Any:
        return killed() if isinstance(operation, IssueUnit) else do(self, operation, clerk_id)

    def written(self: SqlWork, entry: Any) -> Any:
        made = commit(self, entry)
        return killed() if made.operation == IssueUnit.code else made

    def committed(self: Counter, operation: Any, clerk_id: int | None) -> Any:
        made = do(self, operation, clerk_id)
        return killed() if isinstance(operation, IssueUnit) else made

    if moment == "asked":
        Counter.do = asked  # type: ignore[method-assign]
    elif moment == "written":
        SqlWork.commit = written  # type: ignore[method-assign]
    elif moment == "committed":
        Counter.do = committed  # type: ignore[method-assign]
    else:
        App.print_paper = killed  # type: ignore[method-assign]


def driven(opened: list[Any], labels: list[str]) -> Callable[[], int]:
    """Stands for the event loop: one hand-over, up to the wearer's badge."""
    wearer, unit, pack, area, clerk = labels

    def drive() -> int:
        here = opened[0]
        assert wait_until(lambda: here.app is not None and not here.background.busy(), 30)

        def rest() -> None:
            assert wait_until(lambda: not here.background.busy(), 30)

        for label in (clerk, wearer, unit, pack, area):
            scan(here.window, label)
            rest()
        press(here.window, "F5")
        for _ in range(30):
            rest()
            if here.app.slate.check is None:
                break
            press(here.window, "F5")
        scan(here.window, wearer)
        rest()
        return 1  # it should have been killed

    return drive


def main() -> int:
    """Arms, starts, drives."""
    store, moment, *labels = sys.argv[1:]
    arm(moment)
    opened: list[Any] = []
    start = session.start

    def kept(*given: Any) -> Any:
        opened.append(start(*given))
        return opened[-1]

    session.start = kept
    session.run = driven(opened, labels)
    opening.now = sample_clock(OPENED)
    return __main__.main(["--store", store])


if __name__ == "__main__":
    raise SystemExit(main())
