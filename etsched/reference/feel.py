"""The feel-and-appearance table: classes of soil moisture by hand, and the inches they mean in each group of soils."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from etsched.reference.figure import Figure, figure, origin, table


@dataclass(frozen=True, slots=True)
class FeelClass:
    """One class: its name, the shares of the available water between which it lies, how it feels."""

    key: str
    low_fraction: float
    high_fraction: float
    words: str
    source: str


@cache
def feel_classes() -> tuple[FeelClass, ...]:
    """Give the classes, the driest first."""
    data = table("feel.toml")
    return tuple(
        FeelClass(
            key,
            entry["low_fraction"],
            entry["high_fraction"],
            entry["words"],
            origin(data["sources"][entry["source"]], entry["mark"])[0],
        )
        for key, entry in data["class"].items()
    )


def feel_shares() -> dict[str, tuple[float, float]]:
    """Give the least and the most share of available water of each class."""
    return {each.key: (each.low_fraction, each.high_fraction) for each in feel_classes()}


def texture_group(soil: str) -> str:
    """Name the group of the feel table a soil texture belongs to."""
    groups = table("feel.toml")["group"].items()
    return next(str(name) for name, group in groups if soil in (*group["soils"], *group.get("also", ())))


def feel_deficit_in(group: str, key: str) -> tuple[float, float]:
    """Give the least and the most inches a foot of soil is short of field capacity, as printed for a group."""
    entry = table("feel.toml")["class"][key]["short"][group]
    return entry["low_in"], entry["high_in"]


def feel_deficit(soil: str, key: str) -> Figure:
    """Give the same for a soil texture in mm a foot, with its source."""
    data = table("feel.toml")
    return figure(data["class"][key]["short"][texture_group(soil)], data["sources"])
