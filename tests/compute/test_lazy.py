"""No computation loads numpy or scipy before it is asked for a number."""

import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest

import cribdesk.compute

ROOT = Path(__file__).parents[2]
MODULES = sorted(f"cribdesk.compute.{module.name}" for module in pkgutil.iter_modules(cribdesk.compute.__path__))


@pytest.mark.parametrize("statement", ["", "cribdesk.compute.exposure.tolerance_factor(6, 0.95, 0.95)"])
def test_importing_loads_no_numbers(statement: str) -> None:
    """All modules together are imported without numpy and scipy; the measure sees them once a number is asked for."""
    program = f"import sys, {', '.join([*MODULES, 'cribdesk.crib.shade'])}\n{statement}\n"
    program += "print(sorted({'numpy', 'scipy'} & set(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == ("['numpy', 'scipy']" if statement else "[]")


def test_all_modules_are_seen() -> None:
    """The walk above finds the modules of this room."""
    names = {name.rpartition(".")[2] for name in MODULES}
    assert {"airflow", "demand", "exposure", "life", "renewal", "runtime", "trend"} <= names
