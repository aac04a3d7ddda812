"""Figures and advice for hot days."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from etsched.reference.figure import Figure, figure, origin, table

When = Literal["always", "hot", "hot cool-season", "passes", "shallow", "missing"]


@dataclass(frozen=True, slots=True)
class Advice:
    """A piece of advice, when it is given, and where it comes from."""

    key: str
    when: When
    words: str
    source: str


@cache
def percent_adjust(key: str) -> Figure:
    """Give what percent adjust of an ordinary clock can do: `most` or `step`, percent."""
    data = table("heat.toml")
    return figure(data["percent_adjust"][key], data["sources"])


@cache
def advice() -> tuple[Advice, ...]:
    """Give all advice in the order of the table."""
    data = table("heat.toml")
    return tuple(
        Advice(
            key,
            cast("When", entry["when"]),
            entry["words"],
            origin(data["sources"][entry["source"]], entry["mark"])[0],
        )
        for key, entry in data["advice"].items()
    )
