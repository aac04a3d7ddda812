"""Pressure, humidity and wind of the air over the reference surface: FAO-56 chapter 3, Eq. 7–19, 47 and 48.

Every function takes floats or arrays that broadcast against each other and returns their broadcast shape.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

_SEA_LEVEL_KPA = 101.3  # FAO-56 Eq. 7
_SEA_LEVEL_K = 293.0  # FAO-56 Eq. 7: the standard atmosphere at 20 °C
_LAPSE_K_PER_M = 0.0065  # FAO-56 Eq. 7
_PRESSURE_EXPONENT = 5.26  # FAO-56 Eq. 7
_PSYCHROMETRIC_PER_C = 0.665e-3  # FAO-56 Eq. 8: cp / (ε λ), per °C
MAGNUS_KPA, MAGNUS_SLOPE, MAGNUS_C = 0.6108, 17.27, 237.3  # FAO-56 Eq. 11
SLOPE_C = 4098.0  # FAO-56 Eq. 13: 17.27 × 237.3, °C
_SLOPE_ASCE = 2503.0  # ASCE-EWRI (2005) Eq. 5: 4098 × 0.6108, rounded


def pressure_at_elevation(elevation_m: Floats) -> Array:
    """Mean air pressure at an elevation (Eq. 7).

    Parameters
    ----------
    elevation_m : float or ndarray

    Returns
    -------
    pressure_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 7; ASCE-EWRI (2005) Eq. 3.
    """
    warmth = (_SEA_LEVEL_K - _LAPSE_K_PER_M * elevation_m) / _SEA_LEVEL_K
    return np.asarray(_SEA_LEVEL_KPA * np.power(warmth, _PRESSURE_EXPONENT))


def psychrometric_constant(pressure_kpa: Floats) -> Array:
    """Psychrometric constant of the reference equation (Eq. 8).

    Parameters
    ----------
    pressure_kpa : float or ndarray

    Returns
    -------
    psychrometric_kpa_per_c : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 8.
    """
    return np.asarray(_PSYCHROMETRIC_PER_C * pressure_kpa)


def psychrometer_constant(pressure_kpa: Floats, psychrometer_per_c: Floats = 0.000662) -> Array:
    """Psychrometric constant of an instrument with a wet and a dry bulb (Eq. 16).

    Parameters
    ----------
    pressure_kpa : float or ndarray
    psychrometer_per_c : float or ndarray
        0.000662 ventilated at about 5 m/s, 0.000800 ventilated naturally at about 1 m/s, 0.001200 indoors.

    Returns
    -------
    psychrometric_kpa_per_c : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 16.
    """
    return np.asarray(psychrometer_per_c * pressure_kpa)


def mean_temperature(tmin_c: Floats, tmax_c: Floats) -> Array:
    """Mean temperature of a day, halfway between its extremes (Eq. 9).

    Parameters
    ----------
    tmin_c, tmax_c : float or ndarray

    Returns
    -------
    temperature_c : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 9.
    """
    return np.asarray(0.5 * (tmin_c + tmax_c))


def saturation_vapour_pressure(temperature_c: Floats) -> Array:
    """Saturation vapour pressure e°(T) (Eq. 11).

    Parameters
    ----------
    temperature_c : float or ndarray

    Returns
    -------
    saturation_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 11.
    """
    return np.asarray(MAGNUS_KPA * np.exp(MAGNUS_SLOPE * temperature_c / (temperature_c + MAGNUS_C)))


def mean_saturation_vapour_pressure(tmin_c: Floats, tmax_c: Floats) -> Array:
    """Mean saturation vapour pressure es of a day, from both extremes, not from their mean (Eq. 12).

    Parameters
    ----------
    tmin_c, tmax_c : float or ndarray

    Returns
    -------
    saturation_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 12.
    """
    return np.asarray(0.5 * (saturation_vapour_pressure(tmin_c) + saturation_vapour_pressure(tmax_c)))


def slope_of_saturation_vapour_pressure(temperature_c: Floats) -> Array:
    """Slope Δ of the saturation vapour pressure curve (Eq. 13).

    Parameters
    ----------
    temperature_c : float or ndarray

    Returns
    -------
    slope_kpa_per_c : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 13.
    """
    return np.asarray(SLOPE_C * saturation_vapour_pressure(temperature_c) / np.square(temperature_c + MAGNUS_C))


def slope_of_saturation_vapour_pressure_asce(temperature_c: Floats) -> Array:
    """Slope Δ with the rounded constant of the ASCE standard (ASCE Eq. 5).

    Parameters
    ----------
    temperature_c : float or ndarray

    Returns
    -------
    slope_kpa_per_c : ndarray

    Source: ASCE-EWRI (2005) Eq. 5; constant confirmed against an independent implementation (refet 0.5.0).
    """
    growth = np.exp(MAGNUS_SLOPE * temperature_c / (temperature_c + MAGNUS_C))
    return np.asarray(_SLOPE_ASCE * growth / np.square(temperature_c + MAGNUS_C))


def relative_humidity(vapour_pressure_kpa: Floats, temperature_c: Floats) -> Array:
    """Relative humidity of air at a temperature (Eq. 10).

    Parameters
    ----------
    vapour_pressure_kpa, temperature_c : float or ndarray

    Returns
    -------
    rh_pct : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 10.
    """
    return np.asarray(100.0 * vapour_pressure_kpa / saturation_vapour_pressure(temperature_c))


def vapour_pressure_from_dewpoint(dewpoint_c: Floats) -> Array:
    """Actual vapour pressure from the dew point (Eq. 14; with the day's minimum for a dew point, Eq. 48).

    Parameters
    ----------
    dewpoint_c : float or ndarray

    Returns
    -------
    vapour_pressure_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 14, Eq. 48.
    """
    return saturation_vapour_pressure(dewpoint_c)


def vapour_pressure_from_wet_bulb(dry_bulb_c: Floats, wet_bulb_c: Floats, psychrometric_kpa_per_c: Floats) -> Array:
    """Actual vapour pressure from a psychrometer's two bulbs (Eq. 15).

    Parameters
    ----------
    dry_bulb_c, wet_bulb_c : float or ndarray
    psychrometric_kpa_per_c : float or ndarray
        The instrument's own constant, Eq. 16: see `psychrometer_constant`.

    Returns
    -------
    vapour_pressure_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 15.
    """
    depression = dry_bulb_c - wet_bulb_c
    return np.asarray(saturation_vapour_pressure(wet_bulb_c) - psychrometric_kpa_per_c * depression)


def vapour_pressure_from_rh_extremes(tmin_c: Floats, tmax_c: Floats, rh_min_pct: Floats, rh_max_pct: Floats) -> Array:
    """Actual vapour pressure from both extremes of relative humidity (Eq. 17).

    Parameters
    ----------
    tmin_c, tmax_c, rh_min_pct, rh_max_pct : float or ndarray

    Returns
    -------
    vapour_pressure_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 17.
    """
    morning = saturation_vapour_pressure(tmin_c) * rh_max_pct
    afternoon = saturation_vapour_pressure(tmax_c) * rh_min_pct
    return np.asarray((morning + afternoon) / 200.0)


def vapour_pressure_from_rh_max(tmin_c: Floats, rh_max_pct: Floats) -> Array:
    """Actual vapour pressure from the highest relative humidity alone (Eq. 18).

    Parameters
    ----------
    tmin_c, rh_max_pct : float or ndarray

    Returns
    -------
    vapour_pressure_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 18.
    """
    return np.asarray(saturation_vapour_pressure(tmin_c) * rh_max_pct / 100.0)


def vapour_pressure_from_rh_mean(tmin_c: Floats, tmax_c: Floats, rh_mean_pct: Floats) -> Array:
    """Actual vapour pressure from the mean relative humidity of a day (Eq. 19).

    Parameters
    ----------
    tmin_c, tmax_c, rh_mean_pct : float or ndarray

    Returns
    -------
    vapour_pressure_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 19.
    """
    return np.asarray(mean_saturation_vapour_pressure(tmin_c, tmax_c) * rh_mean_pct / 100.0)


def vapour_pressure_from_rh(temperature_c: Floats, rh_pct: Floats) -> Array:
    """Actual vapour pressure of an hour from its temperature and relative humidity (Eq. 54).

    Parameters
    ----------
    temperature_c, rh_pct : float or ndarray

    Returns
    -------
    vapour_pressure_kpa : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 54.
    """
    return np.asarray(saturation_vapour_pressure(temperature_c) * rh_pct / 100.0)


def wind_at_2m(wind_m_s: Floats, height_m: Floats) -> Array:
    """Wind at 2 m over grass from wind measured at another height (Eq. 47).

    Parameters
    ----------
    wind_m_s, height_m : float or ndarray

    Returns
    -------
    wind_m_s : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 47.
    """
    return np.asarray(wind_m_s * 4.87 / np.log(67.8 * height_m - 5.42))
