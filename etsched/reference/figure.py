"""One figure of a reference table: the number, its plausible bounds and where it comes from."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal, cast

Mark = Literal["read", "read2", "practice", "memory", "measured"]

# The data files keep the unit their source prints. An inch is 25.4 mm, a pound 453.59237 g and a foot 0.3048 m exactly,
# so no unit library is needed.
_CANONICAL = dict.fromkeys(("mm", "fraction", "factor", "pct", "min", "d", "c", "m_s", "count"), 1.0) | {
    "in": 25.4,
    "in_h": 25.4,
    "lb_1000ft2": 453.59237 / (1000.0 * 0.3048**2),
}

_MARK_WORDS = {
    "read": "",
    "read2": "second-hand copy",
    "practice": "common practice, no source",
    "memory": "from memory, to be verified",
    "measured": "measured by this project",
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A number in its canonical unit, the bounds within which a measurement would plausibly fall, its origin.

    `mark` tells how the source was read: `read` from a copy of it, `read2` from a second-hand copy,
    `practice` where common practice has no source, `memory` where it is still to be verified, `measured` where this
    project measured it; `source` says so in words.
    """

    value: float
    low: float
    high: float
    source: str
    mark: Mark


Table = Mapping[str, Any]


@cache
def table(name: str) -> Table:
    """Read one of this package's data files."""
    return tomllib.loads(resources.files("etsched.reference").joinpath(name).read_text("utf-8"))


def figure(entry: Table, sources: Mapping[str, str], spread: Mapping[str, float] | None = None) -> Figure:
    """Read an entry such as `{ value_in_h = 0.2, source = "trade", mark = "read2" }` of a data file.

    Bounds come from the entry, or else from `spread` as factors; a missing value is the middle of the bounds.
    """
    numbers = {}
    for key, number in entry.items():
        part, _, unit = key.partition("_")
        if part in {"value", "low", "high"}:
            numbers[part] = number * _CANONICAL[unit]
    if spread is not None:
        for part in ("low", "high"):
            numbers.setdefault(part, numbers["value"] * spread[f"{part}_factor"])
    low, high = numbers["low"], numbers["high"]
    source = sources.get(entry["source"], entry["source"])
    return Figure(numbers.get("value", (low + high) / 2), low, high, *origin(source, entry["mark"]))


def origin(source: str, mark: str) -> tuple[str, Mark]:
    """Give the source with how it was read in words, and the mark itself."""
    words = _MARK_WORDS[mark]
    return (f"{source} ({words})" if words else source), cast(Mark, mark)
