"""Where the sun stands: solar time, hour angle and height above the horizon.

Every function takes floats or arrays that broadcast against each other and returns their broadcast shape.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

_HOUR_RAD = np.pi / 12.0
_YEAR_RAD_PER_DAY = 2.0 * np.pi / 365.0  # FAO-56 Eq. 23–24


def seasonal_correction(day_of_year: Floats) -> Array:
    """Seasonal correction Sc of solar time (Eq. 32–33).

    Parameters
    ----------
    day_of_year : float or ndarray

    Returns
    -------
    correction_h : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 32–33.
    """
    season = 2.0 * np.pi * (day_of_year - 81.0) / 364.0
    return np.asarray(0.1645 * np.sin(2.0 * season) - 0.1255 * np.cos(season) - 0.025 * np.sin(season))


def solar_hour_angle(day_of_year: Floats, utc_h: Floats, longitude_deg: Floats) -> Array:
    """Hour angle ω of the sun, 0 at solar noon, within ±π (Eq. 31).

    Parameters
    ----------
    day_of_year : float or ndarray
    utc_h : float or ndarray
        Universal time; for an hour's mean, of the middle of the hour.
    longitude_deg : float or ndarray
        East positive, where Eq. 31 counts west positive and starts from the clock of a time zone.

    Returns
    -------
    hour_angle_rad : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 31.
    """
    solar_time_h = utc_h + longitude_deg / 15.0 + seasonal_correction(day_of_year)
    return np.asarray(np.mod(_HOUR_RAD * solar_time_h, 2.0 * np.pi) - np.pi)


def sun_elevation(latitude_deg: Floats, declination_rad: Floats, hour_angle_rad: Floats) -> Array:
    """Angle of the sun above the horizon, negative at night (ASCE Eq. 62).

    Parameters
    ----------
    latitude_deg, declination_rad, hour_angle_rad : float or ndarray

    Returns
    -------
    elevation_rad : ndarray

    Source: ASCE-EWRI (2005) Eq. 62.
    """
    latitude = np.deg2rad(latitude_deg)
    steady = np.sin(latitude) * np.sin(declination_rad)
    swinging = np.cos(latitude) * np.cos(declination_rad) * np.cos(hour_angle_rad)
    return np.asarray(np.arcsin(np.clip(steady + swinging, -1.0, 1.0)))


def mean_sun_elevation(latitude_deg: Floats, day_of_year: Floats) -> Array:
    """Angle of the sun above the horizon, weighted over a day by its radiation (ASCE Eq. D.5).

    Parameters
    ----------
    latitude_deg, day_of_year : float or ndarray

    Returns
    -------
    elevation_rad : ndarray

    Source: ASCE-EWRI (2005) Appendix D, Eq. D.5.
    """
    latitude = np.deg2rad(latitude_deg)
    season = np.sin(_YEAR_RAD_PER_DAY * day_of_year - 1.39)
    return np.asarray(0.85 + 0.3 * latitude * season - 0.42 * np.square(latitude))
