"""A day's reference ET from its weather in the order of the steps, one core function each: FAO-56 and ASCE.

The FAO-56 composition is what `daily_et.py` must equal; the ASCE ones serve comparison with other tools.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, net_radiation, radiation, reference_et

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.planning.daily_et import DailyDrivers

    Array = NDArray[np.float64]


def fao56_daily_step_by_step(weather: DailyDrivers) -> Array:
    """Grass reference ET of each day (Eq. 6), a core function a step; Rso by Eq. 37, G = 0, never below 0.

    Parameters
    ----------
    weather : DailyDrivers

    Returns
    -------
    eto_mm : ndarray, the drivers' shape

    Source: FAO-56 (Allen et al. 1998) ch. 4.
    """
    net = net_radiation_of_day(weather, net_radiation.net_longwave)
    air = air_of_day(weather, atmosphere.slope_of_saturation_vapour_pressure)
    return np.maximum(reference_et.fao56_daily(net, 0.0, air), 0.0)


def asce_daily_short_from_weather(weather: DailyDrivers) -> Array:
    """Standardized short reference ET of each day (ASCE Eq. 1); Rso by Eq. 19, G = 0, never below 0.

    Parameters
    ----------
    weather : DailyDrivers

    Returns
    -------
    etos_mm : ndarray, the drivers' shape

    Source: ASCE-EWRI (2005).
    """
    net = net_radiation_of_day(weather, net_radiation.net_longwave_asce)
    air = air_of_day(weather, atmosphere.slope_of_saturation_vapour_pressure_asce)
    return np.maximum(reference_et.asce_daily_short(net, 0.0, air), 0.0)


def asce_daily_tall_from_weather(weather: DailyDrivers) -> Array:
    """Standardized tall reference ET of each day (ASCE Eq. 1); Rso by Eq. 19, G = 0, never below 0.

    Parameters
    ----------
    weather : DailyDrivers

    Returns
    -------
    etrs_mm : ndarray, the drivers' shape

    Source: ASCE-EWRI (2005).
    """
    net = net_radiation_of_day(weather, net_radiation.net_longwave_asce)
    air = air_of_day(weather, atmosphere.slope_of_saturation_vapour_pressure_asce)
    return np.maximum(reference_et.asce_daily_tall(net, 0.0, air), 0.0)


def net_radiation_of_day(weather: DailyDrivers, longwave: Callable[..., Array]) -> Array:
    """Net radiation of each day (Eq. 40), Rso by Eq. 37; FAO-56 and ASCE differ in the σ of `longwave` alone.

    Parameters
    ----------
    weather : DailyDrivers
    longwave : Callable
        `net_longwave` or `net_longwave_asce` of `core.net_radiation`.

    Returns
    -------
    net_radiation_mj_m2_d : ndarray, the drivers' shape
    """
    above = radiation.extraterrestrial_radiation(weather.latitude_deg, weather.day_of_year)
    clear = radiation.clear_sky_simple(above, weather.elevation_m)
    cloudiness = net_radiation.relative_shortwave(weather.solar_mj_m2_d, clear)
    outward = longwave(weather.tmin_c, weather.tmax_c, weather.vapour_pressure_kpa, cloudiness)
    return net_radiation.net_shortwave(weather.solar_mj_m2_d) - outward


def air_of_day(weather: DailyDrivers, slope: Callable[..., Array]) -> reference_et.Air:
    """Give what the reference equation asks of the air; FAO-56 and ASCE differ in a rounded constant of Δ.

    Parameters
    ----------
    weather : DailyDrivers
    slope : Callable
        `slope_of_saturation_vapour_pressure` of `core.atmosphere`, or its ASCE twin.

    Returns
    -------
    Air
    """
    mean_c = atmosphere.mean_temperature(weather.tmin_c, weather.tmax_c)
    pressure_kpa = atmosphere.pressure_at_elevation(weather.elevation_m)
    return reference_et.Air(
        temperature_c=mean_c,
        wind_m_s=weather.wind_m_s,
        saturation_kpa=atmosphere.mean_saturation_vapour_pressure(weather.tmin_c, weather.tmax_c),
        vapour_pressure_kpa=weather.vapour_pressure_kpa,
        slope_kpa_per_c=slope(mean_c),
        psychrometric_kpa_per_c=atmosphere.psychrometric_constant(pressure_kpa),
    )
