"""Faults of heads and valves: what each does to the water, and what mends it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from etsched.reference.figure import origin, table

Effect = Literal["blocks", "discounts", "warns"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One kind of fault, in words that follow "is" or "are"."""

    key: str
    words: str
    effect: Effect
    repair: str
    repair_many: str  # where it is of several
    source: str


@cache
def head_faults() -> dict[str, Fault]:
    """Give the faults of heads by the word a record writes."""
    return _faults("fault")


@cache
def valve_faults() -> dict[str, Fault]:
    """Give the faults of valves by their key."""
    return _faults("valve")


def _faults(kind: str) -> dict[str, Fault]:
    data = table("faults.toml")
    return {
        key: Fault(
            key,
            entry["words"],
            cast("Effect", entry["effect"]),
            entry["repair"],
            entry.get("repair_many", entry["repair"]),
            origin(data["sources"][entry["source"]], entry["mark"])[0],
        )
        for key, entry in data[kind].items()
    }
