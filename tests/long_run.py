"""When the long tests last ran in full: kept in LONG_RUN.json, told in the header of every ordinary run."""

from __future__ import annotations

import json
import platform
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

NOTE = Path(__file__).with_name("LONG_RUN.json")
COMMAND = "python3 -m cribdesk.first_run --tests --long"


def header(note: Path = NOTE) -> str:
    """One line for the header of a run that leaves the long tests out."""
    try:
        told = json.loads(note.read_text("utf-8"))
    except FileNotFoundError:
        return f"long tests: left out; they have never run in full here. To run them: {COMMAND}"
    when = f"last run in full {told['date']}, {told['passed']} passed ({told['machine']})"
    return f"long tests: left out; {when}"


def note(reporter: Any, path: Path = NOTE) -> None:
    """Write down a long run of everything that has just passed, from pytest's terminal reporter."""
    told = {
        "date": datetime.now(UTC).date().isoformat(),
        "passed": len(reporter.stats.get("passed", [])),
        "machine": f"{platform.system()} {platform.machine()}, Python {platform.python_version()}",
    }
    path.write_text(json.dumps(told, indent=2) + "\n", "utf-8")
