"""The yearly water budget of a landscape as an ordinance allows it, and what its planting should use.

A millimetre on a square metre is a litre; the ordinances' 0.62 turns inches on square feet into gallons.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array


def water_allowance(eto_mm: Floats, landscape_m2: Floats, special_m2: Floats, adjustment_fraction: Floats) -> Array:
    """Maximum applied water allowance of a year: ETo × (a × area + (1 − a) × special area).

    Parameters
    ----------
    eto_mm : float or ndarray
        Of the year.
    landscape_m2 : float or ndarray
        All of it, special areas included.
    special_m2 : float or ndarray
        Part of it that is edible, for play, or watered with reclaimed water (from memory, to be verified).
    adjustment_fraction : float or ndarray
        a: 0.7 in the ordinance copy read; 0.55 for homes and 0.45 otherwise in later text (from memory, to be
        verified).

    Returns
    -------
    allowance_l : ndarray

    Source: California landscape ordinance, municipal copy (read).
    """
    special = (1.0 - adjustment_fraction) * special_m2
    return np.asarray(eto_mm * (adjustment_fraction * landscape_m2 + special))


def estimated_use(
    eto_mm: Floats,
    plant_factor: Floats,
    hydrozone_m2: Floats,
    efficiency_fraction: Floats,
    special_m2: Floats,
) -> Array:
    """Estimated applied water use of a year: ETo × (plant factor × area / efficiency + special area).

    Parameters
    ----------
    eto_mm, plant_factor, hydrozone_m2, efficiency_fraction, special_m2 : float or ndarray

    Returns
    -------
    use_l : ndarray

    Source: California landscape ordinance, municipal copy (read).
    """
    return np.asarray(eto_mm * (plant_factor * hydrozone_m2 / efficiency_fraction + special_m2))
