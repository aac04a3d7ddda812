"""Every figure of the reference tables says where it comes from and how its source was read."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

MARKS = {"read", "read2", "practice", "memory", "measured"}


def is_number(value: Any) -> bool:
    """Say whether a value is a number or a list that holds some."""
    if isinstance(value, list):
        return any(map(is_number, value))
    return isinstance(value, int | float) and not isinstance(value, bool)


def unmarked(table: Mapping[str, Any], path: str = "", above: Mapping[str, Any] = {}) -> Iterator[str]:
    """Name the tables that hold numbers and have no source and mark, neither of their own nor from above."""
    origin = {**above, **{key: table[key] for key in ("source", "mark") if key in table}}
    sourced = isinstance(origin.get("source"), str) and origin["source"].strip() and origin.get("mark") in MARKS
    if any(map(is_number, table.values())) and not sourced:
        yield path
    for key, value in table.items():
        for number, entry in enumerate(value if isinstance(value, list) else [value]):
            if isinstance(entry, Mapping):
                yield from unmarked(entry, f"{path}/{key}" + f"[{number}]" * isinstance(value, list), origin)


def test_every_reference_figure_has_a_source_and_a_mark(root: Path) -> None:
    tables = sorted((root / "etsched" / "reference").glob("*.toml"))
    assert tables
    found = [f"{path.name}{place}" for path in tables for place in unmarked(tomllib.loads(path.read_text("utf-8")))]
    assert found == []


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("[a]\nx = 1\nsource = 's'\nmark = 'read'", []),
        ("[a]\nsource = 's'\nmark = 'read'\n[a.b]\nx = [1, 2]", []),
        ("[a]\nx = { low = 1, source = 's', mark = 'read2' }", []),
        ("[a]\nx = 1\nmark = 'read'", ["/a"]),
        ("[a]\nx = 1\nsource = 's'", ["/a"]),
        ("[a]\nx = 1\nsource = 's'\nmark = 'guess'", ["/a"]),
        ("[a]\nx = [{ low = 1 }, { low = 2, source = 's', mark = 'memory' }]", ["/a/x[0]"]),
        ("[a]\nb = true\nwords = ['x']", []),
    ],
)
def test_the_check_finds_what_has_no_source(text: str, found: list[str]) -> None:
    assert list(unmarked(tomllib.loads(text))) == found
