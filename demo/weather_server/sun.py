"""Where the sun stands and what it gives above the air: FAO-56 Eq. 21–34, in plain floats.

Written apart from the package on purpose: the feeds must not be checked against the formulas they are used to test.
"""

from __future__ import annotations

import math

SOLAR_CONSTANT = 0.0820  # MJ m-2 min-1, FAO-56 Eq. 21
CLEAR_SHARE = 0.75  # of the sun above the air that reaches sea level under a clear sky, FAO-56 Eq. 37


def declination_rad(day_of_year: int) -> float:
    """Tilt of the sun towards the north (FAO-56 Eq. 24)."""
    return 0.409 * math.sin(2 * math.pi * day_of_year / 365 - 1.39)


def sunset_rad(latitude_deg: float, day_of_year: int) -> float:
    """Hour angle of sunset, 0 in the polar night, π under the midnight sun (FAO-56 Eq. 25)."""
    cosine = -math.tan(math.radians(latitude_deg)) * math.tan(declination_rad(day_of_year))
    return math.acos(min(1.0, max(-1.0, cosine)))


def daylight_h(latitude_deg: float, day_of_year: int) -> float:
    """Hours from sunrise to sunset (FAO-56 Eq. 34)."""
    return 24 / math.pi * sunset_rad(latitude_deg, day_of_year)


def solar_noon_utc_h(longitude_deg: float, day_of_year: int) -> float:
    """Universal time at which the sun stands highest (FAO-56 Eq. 31–33)."""
    season = 2 * math.pi * (day_of_year - 81) / 364
    correction_h = 0.1645 * math.sin(2 * season) - 0.1255 * math.cos(season) - 0.025 * math.sin(season)
    return 12.0 - longitude_deg / 15 - correction_h


def above_the_air_mj_m2_h(latitude_deg: float, longitude_deg: float, day_of_year: int, utc_h: float) -> float:
    """Radiation above the air in the hour that begins at `utc_h` (FAO-56 Eq. 28), cut at sunrise and sunset."""
    sunset = sunset_rad(latitude_deg, day_of_year)
    middle = (utc_h + 0.5 - solar_noon_utc_h(longitude_deg, day_of_year)) * math.pi / 12
    middle = (middle + math.pi) % (2 * math.pi) - math.pi
    begin, end = max(middle - math.pi / 24, -sunset), min(middle + math.pi / 24, sunset)
    if end <= begin:
        return 0.0
    latitude, tilt = math.radians(latitude_deg), declination_rad(day_of_year)
    distance = 1 + 0.033 * math.cos(2 * math.pi * day_of_year / 365)
    steady = (end - begin) * math.sin(latitude) * math.sin(tilt)
    swinging = math.cos(latitude) * math.cos(tilt) * (math.sin(end) - math.sin(begin))
    return max(0.0, 12 * 60 / math.pi * SOLAR_CONSTANT * distance * (steady + swinging))
