"""Reference evapotranspiration: FAO-56 Eq. 6, 52 and 53, and the ASCE standardized equation, short and tall.

The functions take what the surface receives (net radiation, soil heat) and the air above it; how those come
from weather is the business of the caller. Results are not cut at zero: a night may give dew.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

EVAPORATION_MM_PER_MJ = 0.408  # FAO-56 Eq. 6: 1 / 2.45 MJ/kg, rounded
KELVIN_OF_ZERO = 273.0  # FAO-56 Eq. 6, where Eq. 39 has 273.16
FAO56_DAILY = (900.0, 0.34)  # FAO-56 Eq. 6; ASCE-EWRI (2005) Table 1 for the short reference
_FAO56_HOURLY = (37.0, 0.34)  # FAO-56 Eq. 53
# ASCE-EWRI (2005) Table 1, second-hand, confirmed by recomputation: Cn, and Cd by day and by night.
_ASCE_DAILY_TALL = (1600.0, 0.38)
_ASCE_HOURLY_SHORT = (37.0, 0.24, 0.96)
_ASCE_HOURLY_TALL = (66.0, 0.25, 1.7)


@dataclass(frozen=True, slots=True, eq=False)
class Air:
    """The air 2 m above the reference surface; the fields broadcast against each other."""

    temperature_c: Floats
    wind_m_s: Floats
    saturation_kpa: Floats
    vapour_pressure_kpa: Floats
    slope_kpa_per_c: Floats
    psychrometric_kpa_per_c: Floats


def _penman_monteith(available_mj_m2: Floats, air: Air, numerator: float, denominator: Floats) -> Array:
    """Weigh the energy available against the dryness of the air, the form common to all standards."""
    slope, psychrometric = air.slope_kpa_per_c, air.psychrometric_kpa_per_c
    radiation = EVAPORATION_MM_PER_MJ * slope * available_mj_m2
    deficit = air.saturation_kpa - air.vapour_pressure_kpa
    drying = psychrometric * numerator / (air.temperature_c + KELVIN_OF_ZERO) * air.wind_m_s * deficit
    return np.asarray((radiation + drying) / (slope + psychrometric * (1.0 + denominator * air.wind_m_s)))


def fao56_daily(net_radiation_mj_m2_d: Floats, soil_heat_mj_m2_d: Floats, air: Air) -> Array:
    """Grass reference ET of a day, of ten days or of a month's mean day (Eq. 6).

    Parameters
    ----------
    net_radiation_mj_m2_d, soil_heat_mj_m2_d : float or ndarray
    air : Air
        Daily means; saturation from both extremes of temperature.

    Returns
    -------
    eto_mm : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 6.
    """
    return _penman_monteith(net_radiation_mj_m2_d - soil_heat_mj_m2_d, air, *FAO56_DAILY)


def fao56_hourly(net_radiation_mj_m2_h: Floats, soil_heat_mj_m2_h: Floats, air: Air) -> Array:
    """Grass reference ET of an hour (Eq. 53).

    Parameters
    ----------
    net_radiation_mj_m2_h, soil_heat_mj_m2_h : float or ndarray
    air : Air
        Means of the hour.

    Returns
    -------
    eto_mm_h : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 53.
    """
    return _penman_monteith(net_radiation_mj_m2_h - soil_heat_mj_m2_h, air, *_FAO56_HOURLY)


def asce_daily_short(net_radiation_mj_m2_d: Floats, soil_heat_mj_m2_d: Floats, air: Air) -> Array:
    """Standardized reference ET of a day for the short reference, clipped grass (ASCE Eq. 1).

    Parameters
    ----------
    net_radiation_mj_m2_d, soil_heat_mj_m2_d : float or ndarray
    air : Air

    Returns
    -------
    etos_mm : ndarray

    Source: ASCE-EWRI (2005) Eq. 1, Table 1.
    """
    return _penman_monteith(net_radiation_mj_m2_d - soil_heat_mj_m2_d, air, *FAO56_DAILY)


def asce_daily_tall(net_radiation_mj_m2_d: Floats, soil_heat_mj_m2_d: Floats, air: Air) -> Array:
    """Standardized reference ET of a day for the tall reference, full-cover alfalfa (ASCE Eq. 1).

    Parameters
    ----------
    net_radiation_mj_m2_d, soil_heat_mj_m2_d : float or ndarray
    air : Air

    Returns
    -------
    etrs_mm : ndarray

    Source: ASCE-EWRI (2005) Eq. 1, Table 1.
    """
    return _penman_monteith(net_radiation_mj_m2_d - soil_heat_mj_m2_d, air, *_ASCE_DAILY_TALL)


def asce_hourly_short(net_radiation_mj_m2_h: Floats, soil_heat_mj_m2_h: Floats, air: Air) -> Array:
    """Standardized reference ET of an hour for the short reference (ASCE Eq. 1); the night is where Rn < 0.

    Parameters
    ----------
    net_radiation_mj_m2_h, soil_heat_mj_m2_h : float or ndarray
    air : Air

    Returns
    -------
    etos_mm_h : ndarray

    Source: ASCE-EWRI (2005) Eq. 1, Table 1.
    """
    return _asce_hourly(net_radiation_mj_m2_h, soil_heat_mj_m2_h, air, _ASCE_HOURLY_SHORT)


def asce_hourly_tall(net_radiation_mj_m2_h: Floats, soil_heat_mj_m2_h: Floats, air: Air) -> Array:
    """Standardized reference ET of an hour for the tall reference (ASCE Eq. 1); the night is where Rn < 0.

    Parameters
    ----------
    net_radiation_mj_m2_h, soil_heat_mj_m2_h : float or ndarray
    air : Air

    Returns
    -------
    etrs_mm_h : ndarray

    Source: ASCE-EWRI (2005) Eq. 1, Table 1.
    """
    return _asce_hourly(net_radiation_mj_m2_h, soil_heat_mj_m2_h, air, _ASCE_HOURLY_TALL)


def _asce_hourly(
    net_radiation_mj_m2_h: Floats, soil_heat_mj_m2_h: Floats, air: Air, constants: tuple[float, float, float]
) -> Array:
    numerator, by_day, by_night = constants
    denominator = np.where(np.less(net_radiation_mj_m2_h, 0.0), by_night, by_day)
    return _penman_monteith(net_radiation_mj_m2_h - soil_heat_mj_m2_h, air, numerator, denominator)


def hargreaves(tmin_c: Floats, tmax_c: Floats, extraterrestrial_mj_m2_d: Floats) -> Array:
    """Grass reference ET of a day from temperature alone (Eq. 52).

    Parameters
    ----------
    tmin_c, tmax_c, extraterrestrial_mj_m2_d : float or ndarray

    Returns
    -------
    eto_mm : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 52.
    """
    mean = 0.5 * (tmin_c + tmax_c)
    evaporable = EVAPORATION_MM_PER_MJ * extraterrestrial_mj_m2_d
    return np.asarray(0.0023 * (mean + 17.8) * np.sqrt(tmax_c - tmin_c) * evaporable)
