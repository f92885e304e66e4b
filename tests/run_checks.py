"""Everything that must hold, in one run: the linter, the type checker, then the tests.

Exit codes: 0 all passed; 1 something failed; 3 all that ran passed, but some tests were NOT RUN.
Arguments go to pytest.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WORKERS = 2  # what the promise of six minutes is measured on


def check(name: str, arguments: list[str]) -> bool:
    """Run a checking tool over the checkout; say how it went."""
    begun = time.monotonic()
    done = subprocess.run([sys.executable, "-m", *arguments], cwd=ROOT, stdin=subprocess.DEVNULL, check=False)
    verdict = "passed" if done.returncode == 0 else "FAILED"
    print(f"{name}: {verdict}, {time.monotonic() - begun:.0f} s", flush=True)
    return done.returncode == 0


def pytest_arguments(given: list[str]) -> list[str]:
    """What pytest is called with: in parallel where there are two cores, unless the person chose."""
    chosen = any(word.startswith(("-n", "--numprocesses", "-p", "--pdb")) for word in given)
    parallel = [] if chosen or (os.cpu_count() or 1) < WORKERS else ["-n", str(WORKERS)]
    return ["-m", "pytest", *parallel, *given]


def main(given: list[str]) -> int:
    checks = {"ruff": ["ruff", "check", "."], "mypy": ["mypy"]}
    failed = [name for name, arguments in checks.items() if not check(name, arguments)]
    tests = subprocess.run([sys.executable, *pytest_arguments(given)], cwd=ROOT, check=False).returncode
    if failed:
        print(f"FAILED: {' and '.join(failed)}, see above", flush=True)
        return 1
    return tests


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
