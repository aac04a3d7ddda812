"""Importing the package and asking for help load nothing heavy."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {"pandas", "pint", "pydantic", "jinja2", "fastapi"}

REPORT = "print(*sorted({name.partition('.')[0] for name in sys.modules}), file=sys.stderr)"
HELP = f"""
import sys
sys.argv = ["etsched", "--help"]
from etsched.__main__ import main
try:
    main()
except SystemExit as ending:
    assert not ending.code
{REPORT}
"""


def loaded_by(code: str, place: Path) -> tuple[str, set[str]]:
    """Run code in a fresh process; give what it printed and the top-level modules it loaded."""
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=place, capture_output=True, check=True, text=True, timeout=60
    )
    return done.stdout, set(done.stderr.split())


def test_importing_the_package_loads_nothing_heavy(root: Path) -> None:
    _, modules = loaded_by(f"import sys, etsched\n{REPORT}", root)
    assert "etsched" in modules
    assert modules & HEAVY == set()


def test_help_loads_nothing_heavy(root: Path) -> None:
    printed, modules = loaded_by(HELP, root)
    assert "Usage: etsched" in printed
    assert modules & HEAVY == set()


@pytest.mark.parametrize("name", sorted(HEAVY - {"fastapi"}))
def test_the_report_would_name_it(root: Path, name: str) -> None:
    assert name in loaded_by(f"import sys, {name}\n{REPORT}", root)[1]
