"""The import contract holds, and it notices what it is there to notice."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

RUN = "from importlinter.cli import lint_imports_command; lint_imports_command()"


def lint_imports(place: Path) -> subprocess.CompletedProcess[str]:
    """Check the imports of the package that lies in `place`, whatever is installed elsewhere."""
    command = [sys.executable, "-c", RUN, "--no-cache", "--no-logo"]
    environment = os.environ | {"PYTHONPATH": str(place), "COLUMNS": "200"}
    return subprocess.run(command, cwd=place, env=environment, capture_output=True, check=False, text=True, timeout=120)


@pytest.fixture
def copy(root: Path, tmp_path: Path) -> Path:
    """A copy of the package and its contract, to be spoilt."""
    shutil.copy(root / "pyproject.toml", tmp_path)
    shutil.copytree(root / "etsched", tmp_path / "etsched", ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path


def test_imports_keep_the_contract(root: Path) -> None:
    done = lint_imports(root)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("module", "text", "complaint"),
    [
        ("etsched/stray.py", '"""Nobody has said where this lives."""\n', "stray"),
        ("etsched/stray/__init__.py", '"""Nor where this package does."""\n', "stray"),
        ("etsched/core/upward.py", "import etsched.planning\n", "etsched.core.upward -> etsched.planning"),
        (
            "etsched/core/sideways.py",
            "import etsched.core.soil\n",
            "etsched.core.sideways -> etsched.core.soil",
        ),
        ("etsched/tables/units_too.py", "import pint\n", "etsched.tables.units_too -> pint"),
    ],
)
def test_the_contract_notices(copy: Path, module: str, text: str, complaint: str) -> None:
    (copy / module).parent.mkdir(exist_ok=True)
    (copy / module).write_text(text)
    done = lint_imports(copy)
    assert done.returncode != 0
    assert complaint in done.stdout + done.stderr
