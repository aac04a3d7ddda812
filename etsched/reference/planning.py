"""Figures of the choice of nights and depths: trust in forecast rain, margin of forecast ET, least depth."""

from __future__ import annotations

from functools import cache

from etsched.reference.figure import Figure, figure, origin, table


@cache
def rain_trust() -> tuple[tuple[float, ...], str]:
    """Give the share of forecast rain to leave room for, by days ahead, and its source; beyond the last: none."""
    entry = table("planning.toml")["rain_trust"]
    return tuple(entry["share_fraction"]), origin(_sources()[entry["source"]], entry["mark"])[0]


@cache
def least_depth() -> Figure:
    """Give the least net depth of a watering as a share of what the roots may give up."""
    return figure(table("planning.toml")["least_depth"], _sources())


@cache
def et_margin() -> Figure:
    """Give by how much the ET of a forecast day may turn out higher, as a share of it."""
    return figure(table("planning.toml")["et_margin"], _sources())


def _sources() -> dict[str, str]:
    sources: dict[str, str] = table("planning.toml")["sources"]
    return sources
