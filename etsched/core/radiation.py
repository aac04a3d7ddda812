"""The sun's radiation above the air, under a clear sky and at the ground: FAO-56 Eq. 21–37 and 49–51.

Every function takes floats or arrays that broadcast against each other and returns their broadcast shape. A
name ending in `_mj_m2` is a total of the period in hand, day or hour; the result holds for the same period.
Days without sunrise and days without sunset are ordinary inputs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

SOLAR_CONSTANT_MJ_M2_H = 4.92  # FAO-56 Eq. 21: 0.0820 MJ/m²/min
CLEAR_SKY_AT_SEA_LEVEL_FRACTION, CLEAR_SKY_RISE_PER_M = 0.75, 2.0e-5  # FAO-56 Eq. 37
_ANGSTROM_A, _ANGSTROM_B = 0.25, 0.50  # FAO-56 Eq. 35, where nothing is calibrated
_INLAND_FACTOR = 0.16  # FAO-56 Eq. 50, per √°C
_YEAR_RAD_PER_DAY = 2.0 * np.pi / 365.0  # FAO-56 Eq. 23–24
_HOUR_RAD = np.pi / 12.0


def inverse_relative_distance(day_of_year: Floats) -> Array:
    """Inverse relative distance between earth and sun, dr (Eq. 23).

    Parameters
    ----------
    day_of_year : float or ndarray

    Returns
    -------
    distance_factor : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 23.
    """
    return np.asarray(1.0 + 0.033 * np.cos(_YEAR_RAD_PER_DAY * day_of_year))


def solar_declination(day_of_year: Floats) -> Array:
    """Solar declination δ (Eq. 24).

    Parameters
    ----------
    day_of_year : float or ndarray

    Returns
    -------
    declination_rad : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 24.
    """
    return np.asarray(0.409 * np.sin(_YEAR_RAD_PER_DAY * day_of_year - 1.39))


def sunset_hour_angle(latitude_deg: Floats, day_of_year: Floats) -> Array:
    """Sunset hour angle ωs (Eq. 25): 0 where the sun does not rise, π where it does not set.

    Parameters
    ----------
    latitude_deg, day_of_year : float or ndarray

    Returns
    -------
    sunset_rad : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 25.
    """
    cosine = -np.tan(np.deg2rad(latitude_deg)) * np.tan(solar_declination(day_of_year))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def daylight_hours(latitude_deg: Floats, day_of_year: Floats) -> Array:
    """Daylight hours N (Eq. 34).

    Parameters
    ----------
    latitude_deg, day_of_year : float or ndarray

    Returns
    -------
    daylight_h : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 34.
    """
    return np.asarray(24.0 / np.pi * sunset_hour_angle(latitude_deg, day_of_year))


def extraterrestrial_radiation(latitude_deg: Floats, day_of_year: Floats) -> Array:
    """Extraterrestrial radiation Ra of a day (Eq. 21).

    Parameters
    ----------
    latitude_deg, day_of_year : float or ndarray

    Returns
    -------
    extraterrestrial_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 21; ASCE-EWRI (2005) Eq. 21.
    """
    sunset = sunset_hour_angle(latitude_deg, day_of_year)
    return _sun_between(latitude_deg, day_of_year, -sunset, sunset)


def _sun_between(latitude_deg: Floats, day_of_year: Floats, start_rad: Array, end_rad: Array) -> Array:
    """Energy on a level surface above the air between two hour angles of one daylight, MJ/m²."""
    latitude, declination = np.deg2rad(latitude_deg), solar_declination(day_of_year)
    steady = np.sin(latitude) * np.sin(declination) * (end_rad - start_rad)
    swinging = np.cos(latitude) * np.cos(declination) * (np.sin(end_rad) - np.sin(start_rad))
    strength = SOLAR_CONSTANT_MJ_M2_H / _HOUR_RAD * inverse_relative_distance(day_of_year)
    return np.asarray(strength * (steady + swinging))


def hourly_extraterrestrial_radiation(latitude_deg: Floats, day_of_year: Floats, hour_angle_rad: Floats) -> Array:
    """Extraterrestrial radiation of the hour around an hour angle (Eq. 28–30), cut at sunrise and sunset.

    Parameters
    ----------
    latitude_deg, day_of_year : float or ndarray
    hour_angle_rad : float or ndarray
        Of the middle of the hour.

    Returns
    -------
    extraterrestrial_mj_m2_h : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 28–30; the cut: ASCE-EWRI (2005) Eq. 56.
    """
    sunset = sunset_hour_angle(latitude_deg, day_of_year)
    total = np.zeros(np.broadcast(sunset, hour_angle_rad).shape)
    # An hour around midnight touches the daylight of two days, which matters where the sun hardly sets.
    for noon in (-2.0 * np.pi, 0.0, 2.0 * np.pi):
        start, end = (
            np.clip(hour_angle_rad + edge - noon, -sunset, sunset) for edge in (-_HOUR_RAD / 2.0, _HOUR_RAD / 2.0)
        )
        total += _sun_between(latitude_deg, day_of_year, start, end)
    # The two terms cancel to a rounding error, of either sign, where only a sliver of the hour is lit.
    return np.maximum(total, 0.0)


def solar_from_sunshine(
    sunshine_h: Floats,
    daylight_h: Floats,
    extraterrestrial_mj_m2_d: Floats,
    overcast_fraction: Floats = _ANGSTROM_A,
    sunshine_fraction: Floats = _ANGSTROM_B,
) -> Array:
    """Solar radiation from hours of bright sunshine, the Ångström formula (Eq. 35).

    Parameters
    ----------
    sunshine_h, daylight_h, extraterrestrial_mj_m2_d : float or ndarray
    overcast_fraction, sunshine_fraction : float or ndarray
        The regression constants as and bs; the defaults serve where no local ones are known.

    Returns
    -------
    solar_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 35.
    """
    # In the polar night N is 0, and so is Ra: any finite relative sunshine will do.
    relative_sunshine = sunshine_h / np.where(daylight_h > 0.0, daylight_h, 1.0)
    return np.asarray((overcast_fraction + sunshine_fraction * relative_sunshine) * extraterrestrial_mj_m2_d)


def solar_from_temperature_range(
    tmin_c: Floats,
    tmax_c: Floats,
    extraterrestrial_mj_m2_d: Floats,
    adjustment_factor: Floats = _INLAND_FACTOR,
) -> Array:
    """Solar radiation from the day's range of temperature (Eq. 50).

    Parameters
    ----------
    tmin_c, tmax_c, extraterrestrial_mj_m2_d : float or ndarray
    adjustment_factor : float or ndarray
        kRs, per √°C: 0.16 inland, 0.19 on a coast.

    Returns
    -------
    solar_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 50.
    """
    return np.asarray(adjustment_factor * np.sqrt(tmax_c - tmin_c) * extraterrestrial_mj_m2_d)


def solar_from_other_station(
    other_solar_mj_m2_d: Floats, other_extraterrestrial_mj_m2_d: Floats, extraterrestrial_mj_m2_d: Floats
) -> Array:
    """Solar radiation from a station under the same sky (Eq. 49).

    Parameters
    ----------
    other_solar_mj_m2_d, other_extraterrestrial_mj_m2_d, extraterrestrial_mj_m2_d : float or ndarray

    Returns
    -------
    solar_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 49.
    """
    return np.asarray(other_solar_mj_m2_d / other_extraterrestrial_mj_m2_d * extraterrestrial_mj_m2_d)


def solar_on_island(extraterrestrial_mj_m2_d: Floats) -> Array:
    """Solar radiation on an island below 100 m, for monthly means (Eq. 51).

    Parameters
    ----------
    extraterrestrial_mj_m2_d : float or ndarray

    Returns
    -------
    solar_mj_m2_d : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 51.
    """
    return np.asarray(0.7 * extraterrestrial_mj_m2_d - 4.0)


def clear_sky_from_angstrom(
    extraterrestrial_mj_m2: Floats,
    overcast_fraction: Floats = _ANGSTROM_A,
    sunshine_fraction: Floats = _ANGSTROM_B,
) -> Array:
    """Clear-sky radiation Rso from the Ångström constants of the place (Eq. 36).

    Parameters
    ----------
    extraterrestrial_mj_m2, overcast_fraction, sunshine_fraction : float or ndarray

    Returns
    -------
    clear_sky_mj_m2 : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 36.
    """
    return np.asarray((overcast_fraction + sunshine_fraction) * extraterrestrial_mj_m2)


def clear_sky_simple(extraterrestrial_mj_m2: Floats, elevation_m: Floats) -> Array:
    """Clear-sky radiation Rso from elevation alone (Eq. 37).

    Parameters
    ----------
    extraterrestrial_mj_m2, elevation_m : float or ndarray

    Returns
    -------
    clear_sky_mj_m2 : ndarray

    Source: FAO-56 (Allen et al. 1998) Eq. 37; ASCE-EWRI (2005) Eq. 19 and 45.
    """
    return np.asarray((CLEAR_SKY_AT_SEA_LEVEL_FRACTION + CLEAR_SKY_RISE_PER_M * elevation_m) * extraterrestrial_mj_m2)


def clear_sky_full(
    extraterrestrial_mj_m2: Floats,
    elevation_rad: Floats,
    vapour_pressure_kpa: Floats,
    pressure_kpa: Floats,
    turbidity_factor: Floats = 1.0,
) -> Array:
    """Clear-sky radiation Rso from the beam and the diffuse part, for humid or thin air (ASCE Eq. D.1–D.4).

    Parameters
    ----------
    extraterrestrial_mj_m2 : float or ndarray
    elevation_rad : float or ndarray
        Of the sun above the horizon: a day's weighted mean (Eq. D.5) or the middle of an hour's (Eq. D.6).
    vapour_pressure_kpa, pressure_kpa : float or ndarray
    turbidity_factor : float or ndarray
        1 for clean air, 0.5 for very dusty air.

    Returns
    -------
    clear_sky_mj_m2 : ndarray

    Source: ASCE-EWRI (2005) Appendix D, Eq. D.1–D.4.
    """
    # The beam's path has no end at the horizon; the floor keeps it finite where Ra is almost nothing.
    sine = np.maximum(np.sin(elevation_rad), 0.01)
    water_mm = 0.14 * vapour_pressure_kpa * pressure_kpa + 2.1
    beam = 0.98 * np.exp(-0.00146 * pressure_kpa / (turbidity_factor * sine) - 0.075 * np.power(water_mm / sine, 0.4))
    diffuse = np.where(beam >= 0.15, 0.35 - 0.36 * beam, 0.18 + 0.82 * beam)
    return np.asarray((beam + diffuse) * extraterrestrial_mj_m2)
