"""How a cup of the map looks: dark where much water fell, a thick ring where it is driest, a double one where wettest.

Shade falls steadily from dry to wet, so that the map reads in grey and for every eye; the rings and the figures say
the same once more.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from xml.etree.ElementTree import Element

import numpy as np
from numpy.typing import NDArray

from etsched.charts.drawing import element, moved

INK = "#1a1a1a"
_DRY_RING, _WET_RING = "#9a4f1c", "#0b2a45"


@dataclass(frozen=True, slots=True)
class Shade:
    """A class of catch against the mean: its words, its fill, and the ink of a figure on it."""

    words: str
    fill: str
    ink: str


EDGES = (0.5, 0.75, 1.0, 1.25, 1.5)  # shares of the mean
SHADES = (
    Shade("under 50% of the mean", "#fdf3e1", INK),
    Shade("50–75%", "#dfe3d3", INK),
    Shade("75–100%", "#b4cdd2", INK),
    Shade("100–125%", "#82aec4", INK),
    Shade("125–150%", "#3b7097", "#fff"),
    Shade("150% and more", "#143c5e", "#fff"),
)
RING_WORDS = {"dry": "driest quarter", "wet": "wettest quarter"}


def shade(share: float) -> Shade:
    """Give the class of a cup by its share of the mean; a hair under an edge counts as on it."""
    return SHADES[bisect_right(EDGES, share + 1e-9)]


def rings(depth_mm: NDArray[np.float64]) -> list[str]:
    """Name for each cup the ring it wears: "dry", "wet" or "".

    A quarter is rounded to whole cups; one that is not off the mean wears none.
    """
    quarter = int(len(depth_mm) / 4 + 0.5)
    order = np.argsort(depth_mm, kind="stable")
    mean = depth_mm.mean()
    worn = [""] * len(depth_mm)
    for at in order[:quarter]:
        worn[at] = "dry" if depth_mm[at] < mean * (1.0 - 1e-9) else ""
    for at in order[len(order) - quarter :]:
        worn[at] = "wet" if depth_mm[at] > mean * (1.0 + 1e-9) else ""
    return worn


def draw_cup(parent: Element, x: float, y: float, radius: float, look: tuple[str, str]) -> None:
    """Draw a cup in its fill and ring."""
    fill, ring = look
    place = moved(x, y)
    if ring == "wet":
        element(parent, "circle", transform=place, r=radius + 4, fill="#fff", stroke=_WET_RING, stroke_width=1.8)
    element(parent, "circle", transform=place, r=radius, fill=fill, stroke=INK, stroke_width=1.2)
    if ring == "dry":
        element(parent, "circle", transform=place, r=radius + 2, fill="none", stroke=_DRY_RING, stroke_width=5)
