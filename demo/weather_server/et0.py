"""Reference ET as the hourly feed computes it: FAO-56 Eq. 53 with its own choices, which are not those of ASCE."""

from __future__ import annotations

import math

from .weather import Hour, saturation_kpa

WIND_10M_TO_2M = 0.748  # FAO-56 Eq. 47 for 10 m
_STEFAN_BOLTZMANN_H = 2.043e-10  # MJ K-4 m-2 h-1, FAO-56 p. 75
# The feed's own ratio of sun to clear sky at night is not published; FAO-56 p. 75 allows 0.4 to 0.8 for dry to humid.
_NIGHT_RATIO = 0.7


def pressure_kpa(elevation_m: float) -> float:
    """Air pressure at an elevation (FAO-56 Eq. 7)."""
    return 101.3 * math.pow((293 - 0.0065 * elevation_m) / 293, 5.26)


def et0_mm_h(now: Hour, past: Hour, elevation_m: float) -> float:
    """ET0 of the hour just past: constant 37, 0.34 by day and night, G 0.1 Rn or 0.5 Rn, never below 0.

    `now` is the air at the end of the hour, as the feed stamps it; `past` holds the hour's sun.
    """
    air = saturation_kpa(now.temperature_c)
    vapour = saturation_kpa(now.dewpoint_c)
    slope = 4098 * air / (now.temperature_c + 237.3) ** 2
    gamma = 0.665e-3 * pressure_kpa(elevation_m)
    is_day = past.clear_sky_mj_m2 > 0
    ratio = min(1.0, past.solar_mj_m2 / past.clear_sky_mj_m2) if past.clear_sky_mj_m2 > 0.1 else _NIGHT_RATIO
    heat = _STEFAN_BOLTZMANN_H * (now.temperature_c + 273.16) ** 4
    net = 0.77 * past.solar_mj_m2 - heat * (0.34 - 0.14 * math.sqrt(vapour)) * (1.35 * ratio - 0.35)
    ground = (0.1 if is_day else 0.5) * net
    wind = now.wind_10m_m_s * WIND_10M_TO_2M
    drying = gamma * 37 / (now.temperature_c + 273) * wind * (air - vapour)
    return max(0.0, (0.408 * slope * (net - ground) + drying) / (slope + gamma * (1 + 0.34 * wind)))
