"""Catch cups: from what they hold to a rate and a uniformity, and how sure these are.

Cups run along the last axis, so that one test is (N,) and many tests of as many cups are (..., N). Where N is no
multiple of 4 the cup at the boundary of a quarter counts with the share of it that the quarter needs: of 10 cups the
two lowest and half of the third.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

# A few cups may agree by chance, so a relative error never counts as less than these over √N. Both were chosen on the
# made fields behind the tabulated pivots: the rate's and the shortfall's intervals are narrowest there.
LEAST_RATE_SPREAD = 0.2
LEAST_SHORTFALL_SPREAD = 0.6
# Cups are read to about a hundredth: a smaller shortfall is reading error.
LEAST_SHORTFALL = 0.01


def depth_from_volume(volume_ml: NDArray[np.float64], throat_cm2: float) -> NDArray[np.float64]:
    """Depth of water that fell into cups: V / A × 10.

    Parameters
    ----------
    volume_ml : ndarray (..., N)
    throat_cm2 : float
        Above 0.

    Returns
    -------
    depth_mm : ndarray (..., N)

    Source: arithmetic.
    """
    return volume_ml / throat_cm2 * 10.0


def rate_from_depths(depth_mm: NDArray[np.float64], minutes_min: float) -> NDArray[np.float64]:
    """Precipitation rate: mean depth × 60 / minutes.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
    minutes_min : float
        Above 0.

    Returns
    -------
    rate_mm_h : ndarray (...)

    Source: arithmetic.
    """
    return np.asarray(depth_mm.mean(axis=-1) * 60.0 / minutes_min)


def lower_quarter_uniformity(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """DU(lq): mean of the lowest quarter of the cups over the mean of all.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0.

    Returns
    -------
    lower_quarter_fraction : ndarray (...)

    Source: University of California, Davis, cup audits: of 36 cups the 9 lowest.
    """
    return _share_of_mean(depth_mm, 0.25)


def lower_half_uniformity(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """DU(lh): mean of the lower half of the cups over the mean of all.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0.

    Returns
    -------
    lower_half_fraction : ndarray (...)

    Source: Irrigation Association practice, from memory, to be verified.
    """
    return _share_of_mean(depth_mm, 0.5)


def christiansen_uniformity(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Christiansen's CU = 1 − Σ|d − mean| / (N × mean); 0 where that falls below it, as of one wet cup among dry ones.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0.

    Returns
    -------
    christiansen_fraction : ndarray (...)

    Source: Christiansen (1942), from memory, to be verified.
    """
    mean = depth_mm.mean(axis=-1, keepdims=True)
    return np.asarray(np.clip(1.0 - np.abs(depth_mm - mean).mean(axis=-1) / mean[..., 0], 0.0, 1.0))


def wettest_quarter_ratio(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean of the wettest quarter of the cups over the mean of all: where runoff begins first.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0.

    Returns
    -------
    wettest_quarter_factor : ndarray (...)
        1 to 4.

    Source: definition, after that of DU(lq).
    """
    return np.asarray(np.maximum(_part_mean(-np.sort(-depth_mm), 0.25) / depth_mm.mean(axis=-1), 1.0))


def rate_spread(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Relative error of the mean of cups: √(s² / mean² + 0.2²) / √N.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0, N ≥ 2.

    Returns
    -------
    spread_factor : ndarray (...)

    Source: standard error of a mean, kept from vanishing by chance; this project's choice, measured.
    """
    own = depth_mm.std(axis=-1, ddof=1) / depth_mm.mean(axis=-1)
    return np.asarray(np.hypot(own, LEAST_RATE_SPREAD) / np.sqrt(depth_mm.shape[-1]))


def shortfall_spread(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Relative error of the driest quarter's shortfall 1 − DU(lq), by the influence of each cup on it.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0, N ≥ 4.

    Returns
    -------
    spread_factor : ndarray (...)

    Source: influence function of a trimmed mean over a mean (textbook statistics), kept from vanishing by chance;
    this project's choice, measured.
    """
    count = depth_mm.shape[-1]
    ordered = np.sort(depth_mm)
    mean, quarter = depth_mm.mean(axis=-1, keepdims=True), _part_mean(ordered, 0.25)[..., None]
    last = int(np.ceil(count / 4.0)) - 1
    bound = ordered[..., last : last + 2].mean(axis=-1, keepdims=True)
    of_quarter = np.minimum(depth_mm - bound, 0.0) * 4.0 + bound - quarter
    influence = (of_quarter - quarter / mean * (depth_mm - mean)) / mean
    own = influence.std(axis=-1, ddof=1) / shortfall(depth_mm)
    return np.asarray(np.hypot(own, LEAST_SHORTFALL_SPREAD) / np.sqrt(count))


def shortfall(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """What the driest quarter lacks of the mean, 1 − DU(lq), as far as cups can be read.

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0.

    Returns
    -------
    shortfall_fraction : ndarray (...)

    Source: definition.
    """
    return np.maximum(1.0 - lower_quarter_uniformity(depth_mm), LEAST_SHORTFALL)


def rate_range(
    rate_mm_h: NDArray[np.float64], spread_factor: NDArray[np.float64], less_factor: float, more_factor: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Range in which the rate of the ground lies: rate × (1 − less × spread) to rate × (1 + more × spread).

    Parameters
    ----------
    rate_mm_h, spread_factor : ndarray (...)
    less_factor, more_factor : float
        Tabulated for the number of cups.

    Returns
    -------
    low_mm_h, high_mm_h : ndarray (...)

    Source: t-interval with measured pivots in place of Student's.
    """
    low = rate_mm_h * (1.0 - less_factor * spread_factor)
    return np.maximum(low, 0.0), rate_mm_h * (1.0 + more_factor * spread_factor)


def uniformity_range(
    depth_mm: NDArray[np.float64], less_factor: float, more_factor: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Range in which DU(lq) of the ground lies: the shortfall times exp(more × spread) to exp(−less × spread).

    Parameters
    ----------
    depth_mm : ndarray (..., N)
        Mean above 0, N ≥ 4.
    less_factor, more_factor : float
        Tabulated for the number of cups: how far the true shortfall may lie below and above what was found.

    Returns
    -------
    low_fraction, high_fraction : ndarray (...)

    Source: interval of a logarithm with measured pivots; this project's choice.
    """
    found, spread = shortfall(depth_mm), shortfall_spread(depth_mm)
    low, high = 1.0 - found * np.exp(more_factor * spread), 1.0 - found * np.exp(-less_factor * spread)
    return np.clip(low, 0.0, 1.0), np.clip(high, 0.0, 1.0)


def without_bias(lower_quarter_fraction: NDArray[np.float64], correction_factor: float) -> NDArray[np.float64]:
    """DU(lq) of the ground from that of the cups: the shortfall, which few cups understate, times a correction.

    Parameters
    ----------
    lower_quarter_fraction : ndarray (...)
    correction_factor : float
        1 or more, tabulated for the number of cups.

    Returns
    -------
    corrected_fraction : ndarray (...)

    Source: this project's choice; for normal fields the correction follows from means of normal order statistics.
    """
    return np.clip(1.0 - (1.0 - lower_quarter_fraction) * correction_factor, 0.0, 1.0)


def mean_without_each(depth_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean of all other cups over the mean of all, for each cup: how far one cup moves the rate.

    Parameters
    ----------
    depth_mm : ndarray (N,)
        Mean above 0, N ≥ 2.

    Returns
    -------
    others_factor : ndarray (N,)

    Source: definition.
    """
    return np.asarray((depth_mm.sum() - depth_mm) / (len(depth_mm) - 1) / depth_mm.mean())


def _share_of_mean(depth_mm: NDArray[np.float64], share: float) -> NDArray[np.float64]:
    part = _part_mean(np.sort(depth_mm), share)
    return np.asarray(np.minimum(part / depth_mm.mean(axis=-1), 1.0))


def _part_mean(ordered: NDArray[np.float64], share: float) -> NDArray[np.float64]:
    """Mean of the first `share` of ordered cups, the boundary cup counting in part."""
    part = ordered.shape[-1] * share
    weights = np.clip(part - np.arange(ordered.shape[-1]), 0.0, 1.0)
    return np.asarray(ordered @ weights / part)
