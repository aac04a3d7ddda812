"""What the surface keeps of the sun: net short-wave, net long-wave and soil heat, FAO-56 Eq. 20 and 38–46.

Every function takes floats or arrays that broadcast against each other and returns their broadcast shape. A
name ending in `_mj_m2` is a total of the period in hand, day or hour; the result holds for the same period.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

EVAPORATION_MM_PER_MJ = 0.408  # FAO-56 Eq. 20: 1 / 2.45 MJ/kg, rounded
ALBEDO_FRACTION = 0.23  # FAO-56 Eq. 38: the grass reference
KELVIN_OF_ZERO = 273.16  # FAO-56 Eq. 39, where Eq. 6 has 273
STEFAN_BOLTZMANN_DAY = 4.903e-9  # FAO-56 Eq. 39, MJ/K⁴/m²/day
DRY_AIR, MOIST_AIR = 0.34, 0.14  # FAO-56 Eq. 39: what air without vapour lets out, and less per √kPa
CLOUD_SLOPE, CLOUD_OFFSET = 1.35, 0.35  # FAO-56 Eq. 39
LEAST_RELATIVE_SHORTWAVE_FRACTION = 0.3  # ASCE-EWRI (2005) Eq. 18
NO_SUN_MJ_M2 = 1e-9  # in place of a clear sky of zero, which nothing can be divided by
_STEFAN_BOLTZMANN_DAY_ASCE = 4.901e-9  # ASCE-EWRI (2005) Eq. 17, MJ/K⁴/m²/day
_STEFAN_BOLTZMANN_HOUR = 2.043e-10  # FAO-56 ch. 4, hourly time step, MJ/K⁴/m²/hour
_STEFAN_BOLTZMANN_HOUR_ASCE = 2.042e-10  # ASCE-EWRI (2005) Eq. 44, MJ/K⁴/m²/hour


def water_equivalent(radiation_mj_m2: Floats) -> Array:
    """Depth of water that a radiation total could evaporate (Eq. 20).

    Parameters
    ----------
    radiation_mj_m2 : float or ndarray

    Returns
    -------
    evaporation_mm : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 20.
    """
    return np.asarray(EVAPORATION_MM_PER_MJ * radiation_mj_m2)


def net_shortwave(solar_mj_m2: Floats, albedo_fraction: Floats = ALBEDO_FRACTION) -> Array:
    """Net short-wave radiation Rns (Eq. 38).

    Parameters
    ----------
    solar_mj_m2, albedo_fraction : float or ndarray

    Returns
    -------
    net_shortwave_mj_m2 : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 38.
    """
    return np.asarray((1.0 - albedo_fraction) * solar_mj_m2)


def relative_shortwave(solar_mj_m2: Floats, clear_sky_mj_m2: Floats) -> Array:
    """Cloudiness as Rs / Rso, held to 0.3–1 (in Eq. 39); 0.3 where there is no sun.

    FAO-56 states the upper bound only. Without the lower one a dark day would gain long-wave radiation.

    Parameters
    ----------
    solar_mj_m2, clear_sky_mj_m2 : float or ndarray

    Returns
    -------
    relative_shortwave_fraction : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 39; the lower bound: ASCE-EWRI (2005) Eq. 18.
    """
    ratio = solar_mj_m2 / np.maximum(clear_sky_mj_m2, NO_SUN_MJ_M2)
    return np.asarray(np.clip(ratio, LEAST_RELATIVE_SHORTWAVE_FRACTION, 1.0))


def black_body_radiation(temperature_c: Floats) -> Array:
    """Radiation σT⁴ of a black body over a day (in Eq. 39; Annex 2, Table 2.8).

    Parameters
    ----------
    temperature_c : float or ndarray

    Returns
    -------
    emitted_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 39.
    """
    return np.asarray(STEFAN_BOLTZMANN_DAY * _fourth_power_of_kelvin(temperature_c))


def _fourth_power_of_kelvin(temperature_c: Floats) -> Array:
    return np.asarray(np.square(np.square(temperature_c + KELVIN_OF_ZERO)))


def _sky(vapour_pressure_kpa: Floats, relative_shortwave_fraction: Floats) -> Array:
    """Share of the surface's own radiation that humid and cloudy air does not send back (in Eq. 39)."""
    air = DRY_AIR - MOIST_AIR * np.sqrt(vapour_pressure_kpa)
    return np.asarray(air * (CLOUD_SLOPE * relative_shortwave_fraction - CLOUD_OFFSET))


def net_longwave(
    tmin_c: Floats, tmax_c: Floats, vapour_pressure_kpa: Floats, relative_shortwave_fraction: Floats
) -> Array:
    """Net long-wave radiation Rnl of a day, counted outward (Eq. 39).

    Parameters
    ----------
    tmin_c, tmax_c, vapour_pressure_kpa, relative_shortwave_fraction : float or ndarray

    Returns
    -------
    net_longwave_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 39.
    """
    emitted = 0.5 * (black_body_radiation(tmin_c) + black_body_radiation(tmax_c))
    return np.asarray(emitted * _sky(vapour_pressure_kpa, relative_shortwave_fraction))


def net_longwave_asce(
    tmin_c: Floats, tmax_c: Floats, vapour_pressure_kpa: Floats, relative_shortwave_fraction: Floats
) -> Array:
    """Net long-wave radiation of a day with the constant of the ASCE standard (ASCE Eq. 17).

    Parameters
    ----------
    tmin_c, tmax_c, vapour_pressure_kpa, relative_shortwave_fraction : float or ndarray

    Returns
    -------
    net_longwave_mj_m2_d : ndarray

    Source: ASCE-EWRI (2005) Eq. 17.
    """
    fourth_power = 0.5 * (_fourth_power_of_kelvin(tmin_c) + _fourth_power_of_kelvin(tmax_c))
    sky = _sky(vapour_pressure_kpa, relative_shortwave_fraction)
    return np.asarray(_STEFAN_BOLTZMANN_DAY_ASCE * fourth_power * sky)


def hourly_net_longwave(
    temperature_c: Floats, vapour_pressure_kpa: Floats, relative_shortwave_fraction: Floats
) -> Array:
    """Net long-wave radiation of an hour, counted outward (Eq. 39 with σ of an hour).

    Parameters
    ----------
    temperature_c, vapour_pressure_kpa, relative_shortwave_fraction : float or ndarray

    Returns
    -------
    net_longwave_mj_m2_h : ndarray

    Source: FAO-56 (Allen et al. 1998) ch. 4, hourly time step.
    """
    emitted = _STEFAN_BOLTZMANN_HOUR * _fourth_power_of_kelvin(temperature_c)
    return np.asarray(emitted * _sky(vapour_pressure_kpa, relative_shortwave_fraction))


def hourly_net_longwave_asce(
    temperature_c: Floats, vapour_pressure_kpa: Floats, relative_shortwave_fraction: Floats
) -> Array:
    """Net long-wave radiation of an hour with the constant of the ASCE standard (ASCE Eq. 44).

    Parameters
    ----------
    temperature_c, vapour_pressure_kpa, relative_shortwave_fraction : float or ndarray

    Returns
    -------
    net_longwave_mj_m2_h : ndarray

    Source: ASCE-EWRI (2005) Eq. 44.
    """
    emitted = _STEFAN_BOLTZMANN_HOUR_ASCE * _fourth_power_of_kelvin(temperature_c)
    return np.asarray(emitted * _sky(vapour_pressure_kpa, relative_shortwave_fraction))


def soil_heat_monthly(previous_month_c: Floats, next_month_c: Floats) -> Array:
    """Soil heat flux G of a month from the mean temperatures of its neighbours (Eq. 43).

    Parameters
    ----------
    previous_month_c, next_month_c : float or ndarray

    Returns
    -------
    soil_heat_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 43.
    """
    return np.asarray(0.07 * (next_month_c - previous_month_c))


def soil_heat_monthly_from_previous(previous_month_c: Floats, this_month_c: Floats) -> Array:
    """Soil heat flux G of a month whose successor is not known yet (Eq. 44).

    Parameters
    ----------
    previous_month_c, this_month_c : float or ndarray

    Returns
    -------
    soil_heat_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 44.
    """
    return np.asarray(0.14 * (this_month_c - previous_month_c))


def soil_heat_hourly(net_radiation_mj_m2_h: Floats) -> Array:
    """Soil heat flux G of an hour under grass (Eq. 45–46); the night is where Rn is negative.

    Parameters
    ----------
    net_radiation_mj_m2_h : float or ndarray

    Returns
    -------
    soil_heat_mj_m2_h : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 45–46; the bound of the night: ASCE-EWRI (2005) p.44.
    """
    share = np.where(np.less(net_radiation_mj_m2_h, 0.0), 0.5, 0.1)
    return np.asarray(share * net_radiation_mj_m2_h)


def soil_heat_hourly_tall(net_radiation_mj_m2_h: Floats) -> Array:
    """Soil heat flux G of an hour under the tall reference (ASCE Eq. 66); the night is where Rn is negative.

    Parameters
    ----------
    net_radiation_mj_m2_h : float or ndarray

    Returns
    -------
    soil_heat_mj_m2_h : ndarray

    Source: ASCE-EWRI (2005) Eq. 66.
    """
    share = np.where(np.less(net_radiation_mj_m2_h, 0.0), 0.2, 0.04)
    return np.asarray(share * net_radiation_mj_m2_h)
