"""The two methods of FAO-24 for places without a full weather station: radiation, and Blaney–Criddle.

FAO-24 prints them as charts to be read by class of humidity, sunshine and wind; here are the regressions that were
fitted to the charts. FAO-56 has since replaced both: they tend to lie above its Eq. 6. Where each is valid is from
memory, to be verified. Results are not cut at zero.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

_EVAPORATION_MM_PER_MJ = 0.408  # FAO-56 Eq. 20: 1 / 2.45 MJ/kg, rounded
_ANGSTROM_A, _ANGSTROM_B = 0.25, 0.50  # FAO-56 Eq. 35, as in FAO-24
_DAY_OVER_NIGHT = 2.0  # FAO-24: the ordinary ratio of wind by day and by night; from memory, to be verified


def daytime_wind(wind_m_s: Floats, day_over_night_factor: Floats = _DAY_OVER_NIGHT) -> Array:
    """Mean wind of the twelve hours of day from that of all 24: 2 r / (1 + r) of it.

    Parameters
    ----------
    wind_m_s : float or ndarray
        At 2 m.
    day_over_night_factor : float or ndarray
        r: wind by day over wind by night.

    Returns
    -------
    daytime_wind_m_s : ndarray

    Source: FAO-24 (Doorenbos and Pruitt 1977), from memory, to be verified.
    """
    return np.asarray(wind_m_s * 2.0 * day_over_night_factor / (1.0 + day_over_night_factor))


def relative_sunshine(solar_mj_m2_d: Floats, extraterrestrial_mj_m2_d: Floats) -> Array:
    """Share of the daylight with bright sun, n / N, from solar radiation: the Ångström formula (Eq. 35) turned round.

    Parameters
    ----------
    solar_mj_m2_d, extraterrestrial_mj_m2_d : float or ndarray

    Returns
    -------
    relative_sunshine_fraction : ndarray
        From 0 to 1; 0 where the sun does not rise.

    Source: FAO-56 (Allen et al. 1998) Eq. 35.
    """
    lit = np.greater(extraterrestrial_mj_m2_d, 0.0)
    passed = solar_mj_m2_d / np.where(lit, extraterrestrial_mj_m2_d, 1.0)
    return np.asarray(np.where(lit, np.clip((passed - _ANGSTROM_A) / _ANGSTROM_B, 0.0, 1.0), 0.0))


def daylight_share(daylight_h: Floats, daylight_of_year_h: Floats) -> Array:
    """Share p of the year's daylight that falls on a day, in percent: 0.27 where days are 12 hours long.

    Parameters
    ----------
    daylight_h : float or ndarray
    daylight_of_year_h : float or ndarray
        Of all days of the year at the same latitude together.

    Returns
    -------
    daylight_share_pct : ndarray

    Source: FAO-24 (Doorenbos and Pruitt 1977), from memory, to be verified.
    """
    return np.asarray(100.0 * daylight_h / daylight_of_year_h)


def fao24_radiation(
    solar_mj_m2_d: Floats,
    rh_mean_pct: Floats,
    daytime_wind_m_s: Floats,
    slope_kpa_per_c: Floats,
    psychrometric_kpa_per_c: Floats,
) -> Array:
    """Grass reference ET by FAO-24's radiation method: b Δ / (Δ + γ) × 0.408 Rs − 0.3.

    Valid for means of ten days or more, and for the charts' winds, which end at 10 m/s. Rs is all the sun's
    radiation: what grass reflects is in b.

    Parameters
    ----------
    solar_mj_m2_d, rh_mean_pct : float or ndarray
    daytime_wind_m_s : float or ndarray
        At 2 m: see `daytime_wind`.
    slope_kpa_per_c, psychrometric_kpa_per_c : float or ndarray

    Returns
    -------
    eto_mm : ndarray

    Source: FAO-24 (Doorenbos and Pruitt 1977); b: Frevert et al. (1983) as in ASCE Manual 70 (1990), from memory.
    Coefficients confirmed against an independent implementation (pyet 1.4.0), but for its last term and the albedo.
    """
    humidity, wind = rh_mean_pct, daytime_wind_m_s
    factor = 1.066 - 0.0013 * humidity + 0.045 * wind - 0.0002 * humidity * wind
    factor = factor - 0.0000315 * np.square(humidity) - 0.0011 * np.square(wind)
    share = slope_kpa_per_c / (slope_kpa_per_c + psychrometric_kpa_per_c)
    return np.asarray(factor * share * _EVAPORATION_MM_PER_MJ * solar_mj_m2_d - 0.3)


def fao24_blaney_criddle(
    temperature_c: Floats,
    daylight_share_pct: Floats,
    relative_sunshine_fraction: Floats,
    rh_min_pct: Floats,
    daytime_wind_m_s: Floats,
) -> Array:
    """Grass reference ET by FAO-24's Blaney–Criddle method: a + b p (0.46 T + 8.13).

    Valid for means of a month. Not for the equator, where temperature hardly moves; for islands and coasts, where it
    follows the sea; for heights with cold nights; or for the middle latitudes in spring and autumn.

    Parameters
    ----------
    temperature_c : float or ndarray
        Mean of the extremes.
    daylight_share_pct, relative_sunshine_fraction : float or ndarray
        p, see `daylight_share`; n / N, measured or by `relative_sunshine`.
    rh_min_pct : float or ndarray
    daytime_wind_m_s : float or ndarray
        At 2 m: see `daytime_wind`.

    Returns
    -------
    eto_mm : ndarray

    Source: FAO-24 (Doorenbos and Pruitt 1977); a, b: Frevert et al. (1983) as in ASCE Manual 70 (1990), from memory.
    Coefficients confirmed against an independent implementation (pyet 1.4.0), which takes n for N in p.
    """
    sunshine, humidity, wind = relative_sunshine_fraction, rh_min_pct, daytime_wind_m_s
    offset = 0.0043 * humidity - sunshine - 1.41
    slope = 0.81917 - 0.0040922 * humidity + 1.0705 * sunshine + 0.065649 * wind
    slope = slope - 0.0059684 * humidity * sunshine - 0.0005967 * humidity * wind
    return np.asarray(offset + slope * daylight_share_pct * (0.46 * temperature_c + 8.13))
