"""What lies in the tree, how it is named, and what must not stand in it."""

from __future__ import annotations

import re
from pathlib import Path, PurePosixPath

import pytest

TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "etsched", "config", "tests", "demo", "shared"}
SAYS_NOTHING = {"utils", "util", "helpers", "helper", "common", "base", "misc", "tools"}
# Paths of one machine, and where packages are fetched from: both are the reader's own.
FOREIGN = re.compile(
    r"(?<![\w.~-])/(?:home|root|Users|work|opt)/[\w.]|\b[A-Z]:\\Users\\|pypi[.]org|pythonhos[t]ed|index[-]url"
)


def test_the_top_level_is_fixed(kept_files: list[str]) -> None:
    tops = {PurePosixPath(name).parts[0] for name in kept_files}
    assert {top for top in tops if not top.startswith(".")} == TOP


def test_modules_are_named_for_what_they_do(kept_files: list[str]) -> None:
    modules = [PurePosixPath(name) for name in kept_files if name.startswith("etsched/")]
    assert [str(path) for path in modules if SAYS_NOTHING & {path.stem, *path.parent.parts}] == []


def test_nothing_of_one_machine_stands_in_the_files(root: Path, kept_files: list[str]) -> None:
    found = []
    for name in kept_files:
        try:
            text = (root / name).read_text("utf-8")
        except UnicodeDecodeError:
            continue  # no text: nobody reads a path in it
        found += [f"{name}: {line.strip()}" for line in text.splitlines() if FOREIGN.search(line)]
    assert found == []


@pytest.mark.parametrize(
    ("line", "is_foreign"),
    [
        ("see /" + "home/ann/etsched", True),
        ("(/" + "work/main)", True),
        ("open('/" + "opt/x')", True),
        ("https://site.example/home/page", False),
        ("etsched/" + "work/x and ../home/y", False),
        ("100 /home", False),
    ],
)
def test_the_check_knows_a_machine_path(line: str, is_foreign: bool) -> None:
    assert bool(FOREIGN.search(line)) is is_foreign
