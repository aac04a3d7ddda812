"""Soil cores read by feel: from classes to water missing by layer, cores weighed against each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

MM_PER_FOOT = 304.8
# A layer of the books of which less than this share was read is not known (common practice, no source).
READ_AT_LEAST_FRACTION = 0.5
# The class of NRCS's feel table that is called moist begins at half of the available water.
MOIST_FROM_FRACTION = 0.5


@dataclass(frozen=True, slots=True)
class Readings:
    """The layers of one core as read, (R,): where each begins and ends, and what share of its water is there."""

    top_mm: NDArray[np.float64]
    bottom_mm: NDArray[np.float64]
    low_fraction: NDArray[np.float64]
    high_fraction: NDArray[np.float64]


def class_deficit(
    low_fraction: NDArray[np.float64], high_fraction: NDArray[np.float64], available_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Water missing by feel: (1 − middle of the class) × available water, and half a class of doubt.

    Parameters
    ----------
    low_fraction, high_fraction : ndarray (L,)
        Ends of the class, as shares of the available water that are still there.
    available_mm : ndarray (L,)
        The soil's own available water.

    Returns
    -------
    deficit_mm : ndarray (L,)
    half_class_mm : ndarray (L,)

    Source: arithmetic on the feel classes of USDA-NRCS, Estimating Soil Moisture by Feel and Appearance.
    """
    middle = (low_fraction + high_fraction) / 2.0
    return (1.0 - middle) * available_mm, (high_fraction - low_fraction) / 2.0 * available_mm


def inches_check(
    deficit_mm: NDArray[np.float64],
    thickness_mm: NDArray[np.float64],
    low_per_foot_mm: NDArray[np.float64],
    high_per_foot_mm: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Whether a deficit lies within what the feel table prints for its class and soil, per foot of soil.

    Parameters
    ----------
    deficit_mm, thickness_mm : ndarray (L,)
    low_per_foot_mm, high_per_foot_mm : ndarray (L,)
        Printed range of the class, water short of field capacity in a foot of soil.

    Returns
    -------
    agrees : ndarray of bool (L,)

    Source: USDA-NRCS, Estimating Soil Moisture by Feel and Appearance.
    """
    per_foot = deficit_mm * MM_PER_FOOT / thickness_mm
    return np.asarray((per_foot >= low_per_foot_mm - 1e-9) & (per_foot <= high_per_foot_mm + 1e-9))


def shares_by_layer(
    core: Readings, thickness_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Lay a core's readings on the layers of the books: least, middle and most share of the water still there.

    A layer's shares are the means of what was read of it, by depth; what was not read may hold anything, so it
    moves the ends of the class apart, not its middle. A layer of which less than half was read is not known.

    Parameters
    ----------
    core : Readings
        (R,), no two overlapping.
    thickness_mm : ndarray (L,)

    Returns
    -------
    low_fraction, middle_fraction, high_fraction : ndarray (L,)
        NaN where the layer is not known.

    Source: this project's bookkeeping, no published figure.
    """
    bottom = np.cumsum(thickness_mm)
    top = bottom - thickness_mm
    overlap = np.clip(np.minimum(bottom[:, None], core.bottom_mm) - np.maximum(top[:, None], core.top_mm), 0.0, None)
    seen = overlap.sum(axis=1)
    share = np.divide(seen, thickness_mm, out=np.zeros_like(seen), where=thickness_mm > 0.0)
    known = share >= READ_AT_LEAST_FRACTION
    weight = np.divide(overlap, seen[:, None], out=np.full_like(overlap, np.nan), where=known[:, None])
    low, high = weight @ core.low_fraction, weight @ core.high_fraction
    middle = (low + high) / 2.0
    half = share * (high - low) / 2.0 + (1.0 - share) * 0.5
    return np.maximum(middle - half, 0.0), middle, np.minimum(middle + half, 1.0)


def weighted_median(value_mm: NDArray[np.float64], weight_factor: NDArray[np.float64]) -> float:
    """Median of unequally sure values: where half of the weight lies below; the mean of two that tie.

    Parameters
    ----------
    value_mm, weight_factor : ndarray (N,)
        N ≥ 1, weights above 0.

    Returns
    -------
    median_mm : float

    Source: definition of the weighted median.
    """
    order = np.argsort(value_mm, kind="stable")
    values, gone = value_mm[order], np.cumsum(weight_factor[order])
    half = gone[-1] / 2.0
    at = int(np.searchsorted(gone, half * (1.0 - 1e-12)))
    ties = at + 1 < len(values) and abs(gone[at] - half) <= 1e-12 * half
    return float((values[at] + values[at + 1]) / 2.0 if ties else values[at])


def moist_depth(
    deficit_mm: NDArray[np.float64], available_mm: NDArray[np.float64], thickness_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Depth to which a hand would call the soil moist, from the books' layers.

    A layer at half of its available water or more is moist through; in the first that is not, its water stands as
    a wet front above dry soil.

    Parameters
    ----------
    deficit_mm, available_mm, thickness_mm : ndarray (S, L)

    Returns
    -------
    moist_depth_mm : ndarray (S,)

    Source: class limits of USDA-NRCS's feel table; the front is this project's picture, no published figure.
    """
    held = np.divide(available_mm - deficit_mm, available_mm, out=np.ones_like(deficit_mm), where=available_mm > 0.0)
    moist = held >= MOIST_FROM_FRACTION - 1e-12
    reached = np.cumprod(np.column_stack([np.ones(len(held)), moist])[:, :-1], axis=1)
    return np.asarray((reached * np.where(moist, 1.0, np.clip(held, 0.0, 1.0)) * thickness_mm).sum(axis=1))


def nearest_cup(
    at_m: tuple[float, float], cup_place_m: NDArray[np.float64], cup_depth_mm: NDArray[np.float64]
) -> tuple[float, float]:
    """What the cup nearest to a place caught against the mean of all, and how far off it stood.

    Parameters
    ----------
    at_m : tuple
        East and north on the testers' grid.
    cup_place_m : ndarray (N, 2)
    cup_depth_mm : ndarray (N,)
        Mean above 0.

    Returns
    -------
    place_factor : float
        Cups equally near count together.
    distance_m : float

    Source: definition.
    """
    distance = np.hypot(cup_place_m[:, 0] - at_m[0], cup_place_m[:, 1] - at_m[1])
    nearest = float(distance.min())
    chosen = cup_depth_mm[distance <= nearest + 1e-9]
    return float(chosen.mean() / cup_depth_mm.mean()), nearest
