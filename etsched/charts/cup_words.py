"""What the map of a cup test says in words: over it, about one cup, and to those who do not see it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from etsched.charts.cup_looks import RING_WORDS
from etsched.planning.cup_results import CupResult
from etsched.tables.figure import figure, span
from etsched.units import UnitSystem


def summary(result: CupResult, shares: NDArray[np.float64], tonight_mm: float | None, system: UnitSystem) -> list[str]:
    """Give the lines over the map: the rate, the uniformity, and tonight's depths."""
    return [*_rate(result, system), *_uniformity(result, system), *_tonight(result, shares, tonight_mm, system)]


def key(tonight_mm: float | None, system: UnitSystem) -> str:
    """Say what the figure in a cup is."""
    if tonight_mm is None:
        return "In each cup: its catch in percent of the mean."
    return f"In each cup: the depth its place gets in tonight's run, {figure(tonight_mm, 'mm', system).unit}."


def in_cup(share: float, tonight_mm: float | None, system: UnitSystem) -> str:
    """Write the figure of a cup."""
    if tonight_mm is None:
        return f"{share * 100.0:.0f}"
    return figure(share * tonight_mm, "mm", system).number


def of_cup(number: int, share: float, ring: str, tonight_mm: float | None, system: UnitSystem) -> str:
    """Tell all about one cup."""
    parts = [f"{share:.0%} of the mean", RING_WORDS.get(ring, "")]
    if tonight_mm is not None:
        parts.insert(0, f"{figure(share * tonight_mm, 'mm', system).text} tonight")
    return f"Cup {number}: " + ", ".join(part for part in parts if part)


def described(lines: Sequence[str], rings: Sequence[str]) -> str:
    """Tell the map to those who do not see it."""
    named = [
        f"{words[0].upper()}{words[1:]}: {_numbers(rings, ring)}."
        for ring, words in RING_WORDS.items()
        if ring in rings
    ]
    return " ".join([*lines, *named])


def _numbers(rings: Sequence[str], ring: str) -> str:
    worn = [str(number) for number, each in enumerate(rings, 1) if each == ring]
    return f"cup{'s' if len(worn) > 1 else ''} {', '.join(worn)}"


def _rate(result: CupResult, system: UnitSystem) -> Iterator[str]:
    name, suffix = ("Depth of the test", "mm") if result.of_area else ("Precipitation rate", "mm_h")
    middle, low, high = (
        (result.depth_mm, result.depth_low_mm, result.depth_high_mm)
        if result.of_area
        else (result.rate_mm_h, result.rate_low_mm_h, result.rate_high_mm_h)
    )
    ends = span(figure(low, suffix, system), figure(high, suffix, system))
    yield f"{name} {figure(middle, suffix, system).text}, likely {ends}, from {result.count} cups."


def _uniformity(result: CupResult, system: UnitSystem) -> Iterator[str]:
    found = result.uniformity
    if found is None:
        yield "Too few cups for a uniformity."
        return
    ends = span(*(figure(end, "fraction", system) for end in (found.du_lq_low_fraction, found.du_lq_high_fraction)))
    middle = figure(found.du_lq_fraction, "fraction", system).text
    yield f"The driest quarter gets {middle} of the mean (DU lq), likely {ends}."


def _tonight(
    result: CupResult, shares: NDArray[np.float64], tonight_mm: float | None, system: UnitSystem
) -> Iterator[str]:
    if tonight_mm is None:
        return
    found = result.uniformity
    ends = (
        (found.du_lq_caught_fraction, found.wettest_quarter_factor)
        if found is not None
        else (float(shares.min()), float(shares.max()))
    )
    mean, low, high = (figure(share * tonight_mm, "mm", system).text for share in (1.0, *ends))
    driest = "the driest quarter of the cups" if found is not None else "the driest cup"
    yield f"Tonight's run lays down {mean} on average: {low} in {driest}, {high} in the wettest."
