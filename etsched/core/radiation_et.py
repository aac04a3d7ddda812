"""Reference ET of a day from radiation and temperature alone: formulas for places where little is measured.

Each was fitted where its author worked, and holds there; FAO-56 Eq. 6 with its gaps filled is the rule, these are
for who asks for one by name. Where each is valid is from memory, to be verified. Radiation becomes water by FAO-56
Eq. 20 in all of them. Only `turc` and `oudin` have a zero of their own; the others are not cut there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

_EVAPORATION_MM_PER_MJ = 0.408  # FAO-56 Eq. 20: 1 / 2.45 MJ/kg, rounded
_ADVECTION_FACTOR = 1.26  # Priestley and Taylor (1972), over wet surfaces
_MAKKINK_FACTOR = 0.65  # De Bruin (1987)
_CALORIES_PER_MJ = 23.8856  # cal/cm² in 1 MJ/m², as ASCE Manual 70 (1990) prints it; from memory, to be verified
_TURC_DRY_PCT = 50.0  # Turc (1961): drier air than this evaporates more


def priestley_taylor(
    net_radiation_mj_m2_d: Floats,
    soil_heat_mj_m2_d: Floats,
    slope_kpa_per_c: Floats,
    psychrometric_kpa_per_c: Floats,
    advection_factor: Floats = _ADVECTION_FACTOR,
) -> Array:
    """Evaporation of a wet surface without advection: α Δ / (Δ + γ) × 0.408 (Rn − G).

    Valid for humid, wet surroundings; where dry air blows in from elsewhere it is too low.

    Parameters
    ----------
    net_radiation_mj_m2_d, soil_heat_mj_m2_d, slope_kpa_per_c, psychrometric_kpa_per_c : float or ndarray
    advection_factor : float or ndarray
        α: 1.26 where nothing is calibrated.

    Returns
    -------
    eto_mm : ndarray

    Source: Priestley and Taylor (1972), from memory; confirmed against an independent implementation (pyet 1.4.0).
    """
    available_mm = _EVAPORATION_MM_PER_MJ * (net_radiation_mj_m2_d - soil_heat_mj_m2_d)
    return np.asarray(advection_factor * _radiation_share(slope_kpa_per_c, psychrometric_kpa_per_c) * available_mm)


def makkink(solar_mj_m2_d: Floats, slope_kpa_per_c: Floats, psychrometric_kpa_per_c: Floats) -> Array:
    """Reference ET from solar radiation: 0.65 Δ / (Δ + γ) × 0.408 Rs.

    Valid for short grass in mild, humid summers such as the Netherlands have; too low in dry air and in winter.

    Parameters
    ----------
    solar_mj_m2_d, slope_kpa_per_c, psychrometric_kpa_per_c : float or ndarray

    Returns
    -------
    eto_mm : ndarray

    Source: Makkink (1957) as simplified by De Bruin (1987; Makkink himself: 0.61 and −0.12 mm), from memory; confirmed
    against an independent implementation (pyet 1.4.0).
    """
    share = _radiation_share(slope_kpa_per_c, psychrometric_kpa_per_c)
    return np.asarray(_MAKKINK_FACTOR * share * _EVAPORATION_MM_PER_MJ * solar_mj_m2_d)


def _radiation_share(slope_kpa_per_c: Floats, psychrometric_kpa_per_c: Floats) -> Array:
    """Share of the energy that evaporates water from a wet surface at equilibrium."""
    return np.asarray(slope_kpa_per_c / (slope_kpa_per_c + psychrometric_kpa_per_c))


def turc(temperature_c: Floats, solar_mj_m2_d: Floats, rh_mean_pct: Floats) -> Array:
    """Reference ET from temperature, solar radiation, and humidity below 50 %: 0.013 a T / (T + 15) (Rs + 50).

    Rs is in cal/cm²; a = 1, in drier air than 50 % 1 + (50 − RH) / 70. Valid for means of ten days or more in the
    climate of western Europe; 0 from 0 °C down, as Turc has it.

    Parameters
    ----------
    temperature_c, solar_mj_m2_d, rh_mean_pct : float or ndarray

    Returns
    -------
    eto_mm : ndarray

    Source: Turc (1961), from memory; confirmed against an independent implementation (pyet 1.4.0).
    """
    warm_c = np.maximum(temperature_c, 0.0)
    dryness = 1.0 + np.maximum(_TURC_DRY_PCT - rh_mean_pct, 0.0) / 70.0
    return np.asarray(0.013 * dryness * warm_c / (warm_c + 15.0) * (_CALORIES_PER_MJ * solar_mj_m2_d + 50.0))


def jensen_haise(temperature_c: Floats, solar_mj_m2_d: Floats) -> Array:
    """Reference ET from temperature and solar radiation: 0.025 (T + 3) × 0.408 Rs.

    Valid for means of five days or more in the growing season of the arid western United States. It was fitted to
    tall crops, so that it lies above grass reference ET.

    Parameters
    ----------
    temperature_c, solar_mj_m2_d : float or ndarray

    Returns
    -------
    et_mm : ndarray

    Source: Jensen and Haise (1963), from memory; confirmed against an independent implementation (pyet 1.4.0).
    """
    return np.asarray(0.025 * (temperature_c + 3.0) * _EVAPORATION_MM_PER_MJ * solar_mj_m2_d)


def oudin(temperature_c: Floats, extraterrestrial_mj_m2_d: Floats) -> Array:
    """Potential ET from mean temperature and the date: (T + 5) / 100 × 0.408 Ra, nothing below −5 °C.

    Valid for the water balance of whole catchments over a season, to which it was fitted; a single day's is crude.

    Parameters
    ----------
    temperature_c, extraterrestrial_mj_m2_d : float or ndarray

    Returns
    -------
    et_mm : ndarray

    Source: Oudin et al. (2005) Eq. 3, from memory; confirmed against an independent implementation (pyet 1.4.0).
    """
    return np.asarray(np.maximum(temperature_c + 5.0, 0.0) / 100.0 * _EVAPORATION_MM_PER_MJ * extraterrestrial_mj_m2_d)
