"""Figures of turf that an ordinary week does not fit: new seed, new sod, dormant turf."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from etsched.reference.figure import Figure, Table, figure, table


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of new turf: its days since sowing or laying, its light runs a day, the depth they keep moist."""

    first_d: int
    end_d: int  # the first day that is no longer in it
    runs_count: int
    moist_mm: float
    source: str


@cache
def stages(mode: str) -> tuple[Stage, ...]:
    """Give the stages of a kind of new turf in order of time; none where a mode has no light runs."""
    found: list[Stage] = []
    for entry in _data()["stage"].get(mode, ()):
        first = found[-1].end_d if found else 0
        runs = _figure(entry["runs"])
        last = first + round(_figure(entry["lasts"]).value)
        found.append(Stage(first, last, round(runs.value), _figure(entry["moist_depth"]).value, runs.source))
    return tuple(found)


@cache
def young_roots(mode: str) -> tuple[Figure, Figure]:
    """Give the root depth of a kind of new turf, mm, and how long it counts as young, days."""
    entry = _data()["young"][mode]
    return _figure(entry["root_depth"]), _figure(entry["until"])


@cache
def dormant(key: str) -> Figure:
    """Give a figure of dormant turf: the `depth` that keeps its crowns alive, mm, or the `interval`, days."""
    return _figure(_data()["dormant"][key])


def _data() -> Table:
    return table("modes.toml")


def _figure(entry: Table) -> Figure:
    return figure(entry, _data()["sources"])
