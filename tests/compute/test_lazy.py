"""The window starts fast: loading the computations loads neither numpy nor scipy."""

import subprocess
import sys
from pathlib import Path

import cribdesk.compute

MODULES = sorted(path.stem for path in Path(cribdesk.compute.__file__).parent.glob("*.py") if path.stem != "__init__")


def test_modules_load_without_arrays() -> None:
    """Every module of the room at once, in a fresh process."""
    assert {"airflow", "life", "trend", "runtime"} <= set(MODULES)
    lines = [f"import cribdesk.compute.{name}" for name in MODULES]
    check = "import sys; sys.exit(' '.join(sorted({'numpy', 'scipy'} & set(sys.modules))) or 0)"
    done = subprocess.run(
        [sys.executable, "-c", "; ".join([*lines, check])], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
