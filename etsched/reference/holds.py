"""Figures of the holds: the wind and the frost that keep valves shut."""

from __future__ import annotations

from functools import cache
from typing import Literal

from etsched.reference.figure import Figure, figure, table


@cache
def hold(key: Literal["most_wind", "freeze"]) -> Figure:
    """Give a limit of the holds: m/s or °C."""
    data = table("holds.toml")
    return figure(data[key], data["sources"])
