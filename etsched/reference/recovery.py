"""Figures of recovery: rewetting, feeding, when to look again, and what to do by living cover."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache

from etsched.reference.figure import Figure, figure, origin, table


@dataclass(frozen=True, slots=True)
class Season:
    """A season of sowing in one year, and where its days come from."""

    first: date
    last: date
    source: str


@cache
def rewet(key: str) -> Figure:
    """Give a figure of rewetting: `treatment` or `patience`, days."""
    return _figure("rewet", key)


@cache
def feed(key: str) -> Figure:
    """Give a figure of feeding: `moist_depth` or `water_in`, mm; `slow_from`, a fraction; `heat`, °C; else g/m²."""
    return _figure("feed", key)


@cache
def look_again(key: str) -> Figure:
    """Give how long to wait: `after` before looking again, `back` until turf is back, `dormant` how long it lives."""
    return _figure("look_again", key)


@cache
def cover(key: str) -> Figure:
    """Give a bound of living cover, percent: `leave_from`, `overseed_below`, `resod_below`."""
    return _figure("cover", key)


@cache
def hot_months() -> tuple[frozenset[int], str]:
    """Give the months in which cool-season turf of the northern half is not fed, and their source."""
    entry = table("recovery.toml")["feed"]["hot_months"]
    return frozenset(entry["months"]), origin(_sources()[entry["source"]], entry["mark"])[0]


def sowing_seasons(turf: str, year: int) -> tuple[Season, ...]:
    """Give the seasons of sowing a turf group in a year of the northern half, the best first."""
    return tuple(
        Season(
            date(year, *entry["first"]),
            date(year, *entry["last"]),
            origin(_sources()[entry["source"]], entry["mark"])[0],
        )
        for entry in table("recovery.toml")["season"][turf]
    )


def _sources() -> dict[str, str]:
    return dict(table("recovery.toml")["sources"])


def _figure(group: str, key: str) -> Figure:
    return figure(table("recovery.toml")[group][key], _sources())
