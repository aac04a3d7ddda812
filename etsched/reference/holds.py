"""Figures of the holds: the wind and the frost that keep valves shut for a night."""

from __future__ import annotations

from functools import cache
from typing import Literal

from etsched.reference.figure import Figure, figure, table


@cache
def hold(key: Literal["most_wind", "windy_nights", "freeze"]) -> Figure:
    """Give a limit of the holds: m/s, nights in a row, or °C."""
    data = table("holds.toml")
    return figure(data[key], data["sources"])
