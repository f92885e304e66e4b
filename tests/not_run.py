"""A pytest plugin that leaves no test out in silence: the last line says NOT RUN, the exit code is 3.

Whatever skips (no PostgreSQL server to be had, or any other reason) counts. Tests marked `long` are not
skipped but deselected, and the header says when they ran last.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Generator

import pytest

EXIT_CODE = 3


def closing_line(reasons: Counter[str]) -> str:
    """The one line about all tests that were left out, the most frequent reason first."""
    told = "; ".join(f"{count} because {reason}" for reason, count in reasons.most_common())
    total = sum(reasons.values())
    return f"NOT RUN: {total} {'test' if total == 1 else 'tests'}: {told}"


class NotRun:
    """Counts the skipped tests by reason, turns a pass into exit code 3, and speaks last."""

    def __init__(self) -> None:
        self.reasons: Counter[str] = Counter()

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.skipped and not hasattr(report, "wasxfail"):
            self.count(report.longrepr)

    def count(self, longrepr: object) -> None:
        text = str(longrepr[2] if isinstance(longrepr, tuple) else longrepr)
        self.reasons[text.removeprefix("Skipped: ").rstrip(".")] += 1

    @pytest.hookimpl(trylast=True)
    def pytest_sessionfinish(self, session: pytest.Session, exitstatus: int) -> None:
        if self.reasons and exitstatus == pytest.ExitCode.OK:
            session.exitstatus = EXIT_CODE

    @pytest.hookimpl(trylast=True)
    def pytest_unconfigure(self) -> None:
        if self.reasons:
            print(closing_line(self.reasons), flush=True)


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """A whole file may not leave itself out: parallel workers would not even report it."""
    report = yield
    if report.skipped:
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid} leaves itself out. Leave out single tests, with a reason."
    return report


def pytest_configure(config: pytest.Config) -> None:
    """Stand in the process that reports; workers of a parallel run only send."""
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(NotRun(), "cribdesk-not-run")
