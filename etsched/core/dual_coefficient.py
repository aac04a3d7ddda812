"""Crop coefficients day by day: growth stages and soil evaporation, FAO-56 chapters 6 and 7.

Turf that covers the ground needs none of this; thin, young or renovated turf does: its bare soil evaporates.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

_LEAST_SHARE = 0.01  # FAO-56 Eq. 75: 1 − fc and fw are held to 0.01–1


@dataclass(frozen=True, slots=True, eq=False)
class Climate:
    """What moves a tabled coefficient: wind at 2 m, least humidity of the day, height of the plants."""

    wind_m_s: Floats
    rh_min_pct: Floats
    height_m: Floats


def stage_factor(
    day_count: Floats, first_day_count: float, length_d: float, previous_factor: float, next_factor: float
) -> Array:
    """Coefficient within a stage of growth, on the straight line between its neighbours' (Eq. 66).

    Parameters
    ----------
    day_count : float or ndarray
        Day of the season.
    first_day_count : float
        Days of all stages before this one.
    length_d, previous_factor, next_factor : float

    Returns
    -------
    crop_factor : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 66.
    """
    gone = np.clip((day_count - first_day_count) / length_d, 0.0, 1.0)
    return np.asarray(previous_factor + gone * (next_factor - previous_factor))


def greatest_factor(basal_factor: Floats, climate: Climate) -> Array:
    """Upper limit Kc,max of evaporation and transpiration together (Eq. 72).

    Parameters
    ----------
    basal_factor : float or ndarray
    climate : Climate

    Returns
    -------
    greatest_factor : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 72.
    """
    dryness = 0.04 * (climate.wind_m_s - 2.0) - 0.004 * (climate.rh_min_pct - 45.0)
    return np.maximum(1.2 + dryness * np.power(climate.height_m / 3.0, 0.3), basal_factor + 0.05)


def total_evaporable_water(
    field_capacity_fraction: Floats, wilting_point_fraction: Floats, surface_depth_mm: Floats = 100.0
) -> Array:
    """Water that can evaporate from the surface layer, TEW (Eq. 73).

    Parameters
    ----------
    field_capacity_fraction, wilting_point_fraction : float or ndarray
    surface_depth_mm : float or ndarray
        Ze: 100 to 150 mm.

    Returns
    -------
    evaporable_mm : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 73.
    """
    return np.asarray((field_capacity_fraction - 0.5 * wilting_point_fraction) * surface_depth_mm)


def evaporation_reduction(depletion_mm: Floats, evaporable_mm: Floats, readily_evaporable_mm: Floats) -> Array:
    """Reduction Kr of evaporation as the surface dries: 1 down to REW, then straight to 0 at TEW (Eq. 74).

    Parameters
    ----------
    depletion_mm : float or ndarray
        De of the surface layer at the end of the day before.
    evaporable_mm, readily_evaporable_mm : float or ndarray

    Returns
    -------
    reduction_fraction : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 74.
    """
    left = (evaporable_mm - depletion_mm) / (evaporable_mm - readily_evaporable_mm)
    return np.asarray(np.clip(left, 0.0, 1.0))


def cover_fraction(basal_factor: Floats, least_factor: Floats, greatest_factor: Floats, height_m: Floats) -> Array:
    """Share of the ground under leaves, fc, estimated from the coefficient (Eq. 76).

    Parameters
    ----------
    basal_factor : float or ndarray
    least_factor : float or ndarray
        Kc,min of dry bare soil, 0.15–0.20.
    greatest_factor, height_m : float or ndarray

    Returns
    -------
    cover_fraction : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 76.
    """
    grown = (basal_factor - least_factor) / (greatest_factor - least_factor)
    return np.asarray(np.power(np.clip(grown, 0.0, 1.0), 1.0 + 0.5 * height_m))


def exposed_wetted_fraction(cover_fraction: Floats, wetted_fraction: Floats) -> Array:
    """Share of the ground that is both wetted and open to the sun, few (Eq. 75).

    Parameters
    ----------
    cover_fraction : float or ndarray
    wetted_fraction : float or ndarray
        fw: 1 for rain and sprinklers.

    Returns
    -------
    exposed_fraction : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 75.
    """
    exposed = np.minimum(1.0 - np.asarray(cover_fraction), wetted_fraction)
    return np.asarray(np.clip(exposed, _LEAST_SHARE, 1.0))


def wetted_fraction_under_drip(cover_fraction: Floats, wetted_fraction: Floats) -> Array:
    """Wetted share that counts under drip, where most of the wet soil lies under the leaves (with Eq. 75).

    Parameters
    ----------
    cover_fraction, wetted_fraction : float or ndarray

    Returns
    -------
    wetted_fraction : ndarray

    Source: FAO-56 (Allen et al. 1998) ch. 7, with Eq. 75.
    """
    return np.asarray((1.0 - 2.0 / 3.0 * cover_fraction) * wetted_fraction)


def evaporation_factor(
    reduction_fraction: Floats, exposed_fraction: Floats, basal_factor: Floats, greatest_factor: Floats
) -> Array:
    """Soil evaporation coefficient Ke (Eq. 71).

    Parameters
    ----------
    reduction_fraction, exposed_fraction, basal_factor, greatest_factor : float or ndarray

    Returns
    -------
    evaporation_factor : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 71.
    """
    energy = reduction_fraction * (np.asarray(greatest_factor) - basal_factor)
    return np.minimum(energy, exposed_fraction * np.asarray(greatest_factor))


def surface_depletion(
    depletion_mm: Floats, water_mm: Floats, evaporation_mm: Floats, exposed_fraction: Floats
) -> Array:
    """Depletion De of the surface layer at the end of a day whose water came at its start (Eq. 77, 79).

    Parameters
    ----------
    depletion_mm : float or ndarray
        At the end of the day before.
    water_mm : float or ndarray
        Rain less runoff, and irrigation over its wetted share; what the layer cannot hold percolates.
    evaporation_mm, exposed_fraction : float or ndarray

    Returns
    -------
    depletion_mm : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 77 and 79, without transpiration from the layer.
    """
    return np.asarray(np.maximum(depletion_mm - np.asarray(water_mm), 0.0) + evaporation_mm / exposed_fraction)
