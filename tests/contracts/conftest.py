"""The project's own files and sources, read once for all contracts."""

from __future__ import annotations

import ast
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Source:
    """One module of the package: its path below the root, its text and its syntax tree."""

    path: str
    text: str
    tree: ast.Module

    @property
    def lines_count(self) -> int:
        return len(self.text.splitlines())

    @property
    def functions(self) -> list[Function]:
        """Every function and method, those inside others too."""
        return [node for node in ast.walk(self.tree) if isinstance(node, Function)]


@pytest.fixture(scope="session")
def sources(root: Path) -> list[Source]:
    """Every module of the package."""
    found = []
    for path in sorted((root / "etsched").rglob("*.py")):
        text = path.read_text("utf-8")
        found.append(Source(path.relative_to(root).as_posix(), text, ast.parse(text)))
    assert len(found) > 30, "the package was not found where it should lie"
    return found


@pytest.fixture(scope="session")
def kept_files(root: Path) -> list[str]:
    """Every file that belongs to the project: what git tracks, or would if it were added now."""
    # The checkout may belong to somebody else, as in a container; git would refuse to look at it.
    git = ["git", "-c", "safe.directory=*"]
    command = [*git, "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    try:
        listed = subprocess.run(command, cwd=root, capture_output=True, check=True, text=True).stdout
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("needs git and a clone: apt-get install git, then clone instead of unpacking")
    names = sorted({name for name in listed.split("\0") if name and (root / name).is_file()})
    assert "pyproject.toml" in names
    return names
