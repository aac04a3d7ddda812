"""Salts: the share of the water that must pass the roots so that what it carries does not stay."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def leaching_fraction(water_ds_m: NDArray[np.float64], soil_ds_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Leaching requirement of surface and sprinkler irrigation: LR = ECw / (5 ECe − ECw).

    Parameters
    ----------
    water_ds_m : ndarray (S,)
        Conductivity of the irrigation water, 0 or more.
    soil_ds_m : ndarray (S,)
        Conductivity of the saturation extract that the turf stands, above 0.

    Returns
    -------
    leaching_fraction : ndarray (S,)
        NaN where the water is too salty for any leaching to reach that soil: 5 ECe ≤ 2 ECw.

    Source: FAO-29 rev. 1 (Ayers & Westcot 1985) Eq. 9, after Rhoades (from memory, to be verified).
    """
    water, soil = np.broadcast_arrays(np.asarray(water_ds_m, dtype=np.float64), np.asarray(soil_ds_m, dtype=np.float64))
    fraction = np.full(water.shape, np.nan)
    # At 5 ECe = 2 ECw the fraction is 1: all that is applied would have to pass.
    np.divide(water, 5.0 * soil - water, out=fraction, where=5.0 * soil > 2.0 * water)
    return fraction


def with_leaching(net_depth_mm: NDArray[np.float64], leaching_fraction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Depth that fills the root zone and leaches it: net / (1 − LR).

    Parameters
    ----------
    net_depth_mm : ndarray (S,)
    leaching_fraction : ndarray (S,)
        Below 1.

    Returns
    -------
    leached_depth_mm : ndarray (S,)

    Source: FAO-29 rev. 1 (Ayers & Westcot 1985) Eq. 7 (from memory, to be verified).
    """
    return np.asarray(net_depth_mm / (1.0 - leaching_fraction))
