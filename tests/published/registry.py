"""Published entries as data, and the check that belongs to each."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

PUBLISHED = Path(__file__).parents[2] / "shared" / "published"
MARKS = {"read", "read2", "memory"}

Given = dict[str, Any]
Check = Callable[[Given], dict[str, Any]]

CHECKS: dict[str, Check] = {}


def entry(name: str) -> Callable[[Check], Check]:
    """Say which entry a check computes: it takes what is `given` and returns a value for each `printed` name."""

    def register(check: Check) -> Check:
        assert name not in CHECKS, f"{name} has two checks"
        CHECKS[name] = check
        return check

    return register


def arrays(given: Given) -> Given:
    """Turn the lists of an entry into arrays."""
    return {name: np.array(value) if isinstance(value, list) else value for name, value in given.items()}


@cache
def entries() -> dict[str, dict[str, Any]]:
    """Read every entry of every file, by dotted name."""
    found: dict[str, dict[str, Any]] = {}
    for path in sorted(PUBLISHED.glob("*.toml")):
        found.update(_flatten(tomllib.loads(path.read_text("utf-8"))))
    return found


def _flatten(table: dict[str, Any], above: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    for key, value in table.items():
        if "mark" in value:
            yield above + key, value
        else:
            yield from _flatten(value, f"{above}{key}.")


@dataclass(frozen=True)
class Case:
    """One printed number."""

    entry: str
    name: str
    index: tuple[int, ...]
    printed: str

    def __str__(self) -> str:
        place = "".join(f"[{i}]" for i in self.index)
        return f"{self.entry} ({entries()[self.entry]['mark']}) {self.name}{place}"

    @property
    def tolerance(self) -> float:
        """Half a unit of the last printed digit, or what the entry says."""
        record = entries()[self.entry]
        if self.name in record.get("within", {}):
            return float(record["within"][self.name])
        if "within_relative" in record:
            return float(record["within_relative"] * abs(float(self.printed)))
        return half_of_last_digit(self.printed)


def half_of_last_digit(printed: str) -> float:
    """Give half a unit of the last digit of a number as printed; a hair more, since it is decimal and we binary."""
    decimals = len(printed.partition(".")[2])
    return float(0.5 * 10.0**-decimals * (1.0 + 1e-9))


def cases() -> list[Case]:
    """List every printed number of every entry."""
    found = []
    for name, record in entries().items():
        values = dict(record["printed"])
        for key, number in record.get("full_precision", {}).items():
            values[f"{key} (full)"] = repr(number)
        for key, printed in values.items():
            table = np.array(printed)
            found += [Case(name, key, index, str(table[index])) for index in np.ndindex(table.shape)]
    return found


@cache
def computed(name: str) -> dict[str, Any]:
    """Compute an entry's results once."""
    record = entries()[name]
    results = CHECKS[name](arrays(record.get("given", {})))
    return results | {f"{key} (full)": results[key] for key in record.get("full_precision", {})}
