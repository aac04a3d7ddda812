"""An hour's reference ET from its weather: FAO-56 Eq. 53 and the ASCE equation, for series of hours.

At night nobody sees how cloudy the sky is, yet Eq. 39 asks. Both standards carry an afternoon's Rs/Rso
through the night: FAO-56 that of two to three hours before sunset until the sun is up again, ASCE the last
one seen while the sun stood at least 0.3 rad high until it stands so high again. Hours before the first such
hour of a series take `FIRST_NIGHT_FRACTION`. Night hours may give a little dew: results are not cut at zero,
so that the sum over a day is right.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, net_radiation, radiation, reference_et, sun_position

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

FIRST_NIGHT_FRACTION = 0.6  # FAO-56 ch. 4: 0.4–0.6 in humid and subhumid, 0.7–0.8 in arid climates
_DUSK_FROM_RAD, _DUSK_TO_RAD = 0.79, 0.52  # FAO-56 ch. 4: ω between ωs − 0.79 and ωs − 0.52
LOW_SUN_RAD = 0.3  # ASCE-EWRI (2005), cloudiness of an hour


@dataclass(frozen=True, slots=True, eq=False)
class HourlyDrivers:
    """What an hour's reference ET needs: hours in order of time along the first axis, (H,) or (H, S).

    The other fields broadcast: (H, 1) for the clock, (S,) for the sites. Wind is at 2 m; radiation is the
    total of the hour; `utc_h` is the middle of the hour, and `day_of_year` that of the site's day.
    """

    temperature_c: Floats
    vapour_pressure_kpa: Floats
    wind_m_s: Floats
    solar_mj_m2_h: Floats
    latitude_deg: Floats
    longitude_deg: Floats
    elevation_m: Floats
    day_of_year: Floats
    utc_h: Floats

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the result."""
        return np.broadcast_shapes(*(np.shape(getattr(self, field.name)) for field in fields(self)))


def fao56_hourly_from_weather(weather: HourlyDrivers) -> Array:
    """Grass reference ET of each hour (Eq. 53); Rso by Eq. 37.

    Parameters
    ----------
    weather : HourlyDrivers

    Returns
    -------
    eto_mm_h : ndarray, the drivers' shape

    Source: FAO-56 (Allen et al. 1998) ch. 4, hourly time step.
    """
    net = _net_radiation(weather, fao56_relative_shortwave(weather), net_radiation.hourly_net_longwave)
    air = air_of_hour(weather, atmosphere.slope_of_saturation_vapour_pressure)
    return reference_et.fao56_hourly(net, net_radiation.soil_heat_hourly(net), air)


def asce_hourly_short_from_weather(weather: HourlyDrivers) -> Array:
    """Standardized short reference ET of each hour (ASCE Eq. 1); Rso by Eq. 45.

    Parameters
    ----------
    weather : HourlyDrivers

    Returns
    -------
    etos_mm_h : ndarray, the drivers' shape

    Source: ASCE-EWRI (2005).
    """
    net = _net_radiation(weather, asce_relative_shortwave(weather), net_radiation.hourly_net_longwave_asce)
    air = air_of_hour(weather, atmosphere.slope_of_saturation_vapour_pressure_asce)
    return reference_et.asce_hourly_short(net, net_radiation.soil_heat_hourly(net), air)


def asce_hourly_tall_from_weather(weather: HourlyDrivers) -> Array:
    """Standardized tall reference ET of each hour (ASCE Eq. 1); Rso by Eq. 45.

    Parameters
    ----------
    weather : HourlyDrivers

    Returns
    -------
    etrs_mm_h : ndarray, the drivers' shape

    Source: ASCE-EWRI (2005).
    """
    net = _net_radiation(weather, asce_relative_shortwave(weather), net_radiation.hourly_net_longwave_asce)
    air = air_of_hour(weather, atmosphere.slope_of_saturation_vapour_pressure_asce)
    return reference_et.asce_hourly_tall(net, net_radiation.soil_heat_hourly_tall(net), air)


def fao56_relative_shortwave(weather: HourlyDrivers) -> Array:
    """Cloudiness Rs / Rso of each hour; while the sun is down, that of two to three hours before sunset.

    Parameters
    ----------
    weather : HourlyDrivers

    Returns
    -------
    relative_shortwave_fraction : ndarray, the drivers' shape

    Source: FAO-56 (Allen et al. 1998) ch. 4, hourly time step.
    """
    hour_angle = _hour_angle(weather)
    sunset = radiation.sunset_hour_angle(weather.latitude_deg, weather.day_of_year)
    ratio = _ratio(weather, hour_angle)
    up = np.abs(hour_angle) < sunset
    late = up & (hour_angle >= sunset - _DUSK_FROM_RAD) & (hour_angle <= sunset - _DUSK_TO_RAD)
    return np.where(up, ratio, _last_known(ratio, late))


def asce_relative_shortwave(weather: HourlyDrivers) -> Array:
    """Cloudiness Rs / Rso of each hour; while the sun is low or down, that of the last hour of high sun.

    Parameters
    ----------
    weather : HourlyDrivers

    Returns
    -------
    relative_shortwave_fraction : ndarray, the drivers' shape

    Source: ASCE-EWRI (2005), hourly calculation.
    """
    hour_angle = _hour_angle(weather)
    declination = radiation.solar_declination(weather.day_of_year)
    high = sun_position.sun_elevation(weather.latitude_deg, declination, hour_angle) >= LOW_SUN_RAD
    return _last_known(_ratio(weather, hour_angle), high)


def _last_known(ratio: Array, known: NDArray[np.bool_]) -> Array:
    """Carry the last known ratio forward in time; before the first one stands `FIRST_NIGHT_FRACTION`."""
    known = np.broadcast_to(known, ratio.shape) & ~np.isnan(ratio)
    hours = np.arange(len(ratio)).reshape(-1, *[1] * (ratio.ndim - 1))
    last = np.maximum.accumulate(np.where(known, hours, -1), axis=0)
    carried = np.take_along_axis(ratio, np.maximum(last, 0), axis=0)
    return np.where(last >= 0, carried, FIRST_NIGHT_FRACTION)


def _hour_angle(weather: HourlyDrivers) -> Array:
    return sun_position.solar_hour_angle(weather.day_of_year, weather.utc_h, weather.longitude_deg)


def _ratio(weather: HourlyDrivers, hour_angle_rad: Array) -> Array:
    """Rs / Rso of each hour as it stands, in the drivers' shape."""
    above = radiation.hourly_extraterrestrial_radiation(weather.latitude_deg, weather.day_of_year, hour_angle_rad)
    clear = radiation.clear_sky_simple(above, weather.elevation_m)
    ratio = net_radiation.relative_shortwave(weather.solar_mj_m2_h, clear)
    return np.broadcast_to(ratio, weather.shape)


def _net_radiation(weather: HourlyDrivers, cloudiness: Array, longwave: Callable[..., Array]) -> Array:
    outward = longwave(weather.temperature_c, weather.vapour_pressure_kpa, cloudiness)
    return net_radiation.net_shortwave(weather.solar_mj_m2_h) - outward


def air_of_hour(weather: HourlyDrivers, slope: Callable[..., Array]) -> reference_et.Air:
    """Give what the reference equation asks of the air; FAO-56 and ASCE differ in a rounded constant of Δ.

    Parameters
    ----------
    weather : HourlyDrivers
    slope : Callable
        `slope_of_saturation_vapour_pressure` of `core.atmosphere`, or its ASCE twin.

    Returns
    -------
    Air
    """
    pressure_kpa = atmosphere.pressure_at_elevation(weather.elevation_m)
    return reference_et.Air(
        temperature_c=weather.temperature_c,
        wind_m_s=weather.wind_m_s,
        saturation_kpa=atmosphere.saturation_vapour_pressure(weather.temperature_c),
        vapour_pressure_kpa=weather.vapour_pressure_kpa,
        slope_kpa_per_c=slope(weather.temperature_c),
        psychrometric_kpa_per_c=atmosphere.psychrometric_constant(pressure_kpa),
    )
