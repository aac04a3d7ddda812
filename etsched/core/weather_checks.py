"""Is a reading believable? One check a function, each giving a mask of what it speaks against.

Arrays are (D,) or (D, S): days in order along the first axis, stations along the second. A missing reading is
never spoken against. Nothing is changed here: whoever calls decides what a mask costs. Bounds without a published
source are common practice; they were drawn so that the real station-years of the tests pass, but for faults that
their files do hold.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

_LEAST_STEP_C, _STEP_FACTOR = 12.0, 7.0  # common practice, no source: a front moves a day's extreme by up to 12 °C
_STUCK_TEMPERATURE_D = 6  # common practice, no source: whole °F repeat for five days in the tropics
_STUCK_HUMIDITY_D = 10  # common practice, no source: whole percents repeat for eight days by the sea
_STUCK_VAPOUR_D = 5  # common practice, no source
_STUCK_WIND_D = 4  # common practice, no source
_STUCK_SOLAR_D = 3  # common practice, no source
_FOG_PCT = 95.0  # common practice, no source: above it a saturated sensor repeats itself rightly
_DEAD_WIND_M_S = 0.05  # common practice, no source: no day is still for 24 hours
_DEAD_HUMIDITY_PCT = 1.0  # common practice, no source: no air over ground is that dry
_DRY_PCT = 5.0  # common practice, no source: reached in deserts only
_MORNING_PCT = 90.0  # FAO-56 Annex 5: near 90–100 % at dawn over watered grass (from memory, to be verified)
_WET_MM, _WET_DAYS_COUNT, _WET_WINDOW_D = 5.0, 3, 60  # common practice, no source: what a humid morning follows
_ABOVE_TMIN_C = 8.0  # common practice, no source: 17 of the 12,442 days of the tests' real years lie above it
_SATURATION_FACTOR = 1.05  # common practice, no source: what rounded temperatures can pretend
_SKY_FRACTION, _SKY_MJ_M2 = 0.10, 1.0  # common practice, no source: above Eq. 37, in shares of Ra and at least
_SCALE_WINDOW_D, _SCALE_LEAST_D, _SCALE_RANK = 30, 14, 3
_SCALE_HIGH, _SCALE_LOW = 1.08, 0.60  # FAO-56 Annex 5 asks for 3–5 % of a full Rso (from memory); Eq. 37 is rougher
_DAYLIGHT_MARGIN_H = 1.0  # common practice, no source: sunshine is often counted in whole hours
_DULL_WINDOW_D, _BRIGHT_MJ_M2 = 60, 8.0  # common practice, no source: winter's sun shows no scale


def temperatures_crossed(tmin_c: Array, tmax_c: Array) -> Mask:
    """Days whose lowest temperature is above the highest.

    Parameters
    ----------
    tmin_c, tmax_c : ndarray (D,) or (D, S)

    Returns
    -------
    crossed : ndarray of bool

    Source: by definition.
    """
    return np.asarray(tmin_c > tmax_c)


def temperature_steps(temperature_c: Array) -> Mask:
    """Days that differ from the day before by more than the place shows: 7 times the median change and 12 °C.

    Parameters
    ----------
    temperature_c : ndarray (D,) or (D, S)
        Any temperature of a day: lowest, highest, dew point.

    Returns
    -------
    steps : ndarray of bool

    Source: common practice, no source.
    """
    change = _change(temperature_c)
    return np.asarray(np.abs(change) > _largest_step(change))


def temperature_spikes(temperature_c: Array) -> Mask:
    """Days that stand out to one side from the day before and the day after, each by more than a step.

    Parameters
    ----------
    temperature_c : ndarray (D,) or (D, S)

    Returns
    -------
    spikes : ndarray of bool

    Source: common practice, no source.
    """
    change = _change(temperature_c)
    back = np.full_like(change, np.nan)
    back[:-1] = -change[1:]
    least = _largest_step(change)
    same_side = np.sign(change) == np.sign(back)
    return np.asarray(same_side & (np.abs(change) > least) & (np.abs(back) > least))


def temperature_stuck(temperature_c: Array) -> Mask:
    """Days in a run of six or more with the same temperature.

    Parameters
    ----------
    temperature_c : ndarray (D,) or (D, S)

    Returns
    -------
    stuck : ndarray of bool

    Source: common practice, no source.
    """
    return _in_run(temperature_c, _STUCK_TEMPERATURE_D)


def humidity_stuck(rh_pct: Array) -> Mask:
    """Days in a run of ten or more with the same relative humidity below that of fog.

    Parameters
    ----------
    rh_pct : ndarray (D,) or (D, S)

    Returns
    -------
    stuck : ndarray of bool

    Source: common practice, no source.
    """
    return np.asarray(_in_run(rh_pct, _STUCK_HUMIDITY_D) & (rh_pct < _FOG_PCT))


def vapour_stuck(vapour_pressure_kpa: Array) -> Mask:
    """Days in a run of five or more with the same vapour pressure.

    Parameters
    ----------
    vapour_pressure_kpa : ndarray (D,) or (D, S)

    Returns
    -------
    stuck : ndarray of bool

    Source: common practice, no source.
    """
    return _in_run(vapour_pressure_kpa, _STUCK_VAPOUR_D)


def wind_stuck(wind_m_s: Array) -> Mask:
    """Days of no wind at all, and days in a run of four or more with the same wind.

    Parameters
    ----------
    wind_m_s : ndarray (D,) or (D, S)
        Mean of the day.

    Returns
    -------
    stuck : ndarray of bool

    Source: common practice, no source.
    """
    return np.asarray(_in_run(wind_m_s, _STUCK_WIND_D) | (wind_m_s < _DEAD_WIND_M_S))


def solar_stuck(solar_mj_m2_d: Array) -> Mask:
    """Days in a run of three or more with the same radiation, the polar night's zeros left alone.

    Parameters
    ----------
    solar_mj_m2_d : ndarray (D,) or (D, S)

    Returns
    -------
    stuck : ndarray of bool

    Source: common practice, no source.
    """
    return np.asarray(_in_run(solar_mj_m2_d, _STUCK_SOLAR_D) & (solar_mj_m2_d > 0.0))


def day_repeated(
    tmin_c: Array, tmax_c: Array, vapour_pressure_kpa: Array, wind_m_s: Array, solar_mj_m2_d: Array
) -> Mask:
    """Days that repeat the day before in every reading known, at least four: a day delivered twice.

    Parameters
    ----------
    tmin_c, tmax_c, vapour_pressure_kpa, wind_m_s, solar_mj_m2_d : ndarray (D,) or (D, S)

    Returns
    -------
    repeated : ndarray of bool

    Source: common practice, no source.
    """
    changes = np.stack([_change(each) for each in (tmin_c, tmax_c, vapour_pressure_kpa, wind_m_s, solar_mj_m2_d)])
    same, different = (changes == 0.0).sum(axis=0), (np.abs(changes) > 0.0).any(axis=0)
    return np.asarray((same >= 4) & ~different)


def humidity_crossed(rh_min_pct: Array, rh_max_pct: Array) -> Mask:
    """Days whose least relative humidity is above the greatest.

    Parameters
    ----------
    rh_min_pct, rh_max_pct : ndarray (D,) or (D, S)

    Returns
    -------
    crossed : ndarray of bool

    Source: by definition.
    """
    return np.asarray(rh_min_pct > rh_max_pct)


def humidity_dead(rh_pct: Array) -> Mask:
    """Days with less relative humidity than any air over ground has, 1 %.

    Parameters
    ----------
    rh_pct : ndarray (D,) or (D, S)

    Returns
    -------
    dead : ndarray of bool

    Source: common practice, no source.
    """
    return np.asarray(rh_pct < _DEAD_HUMIDITY_PCT)


def humidity_floor(rh_pct: Array) -> Mask:
    """Days with a relative humidity below 5 %, which deserts alone reach.

    Parameters
    ----------
    rh_pct : ndarray (D,) or (D, S)

    Returns
    -------
    floor : ndarray of bool

    Source: common practice, no source.
    """
    return np.asarray(rh_pct < _DRY_PCT)


def humidity_ceiling_low(rh_max_pct: Array, rain_mm: Array) -> Mask:
    """Days by which none of the last wet days came near 90 %: the sensor reads low.

    A day is wet after 5 mm of rain; three of them within 60 days are needed to say anything.

    Parameters
    ----------
    rh_max_pct, rain_mm : ndarray (D,) or (D, S)

    Returns
    -------
    low : ndarray of bool

    Source: FAO-56 (Allen et al. 1998) Annex 5; the bounds are common practice, no source.
    """
    wet = _last(np.where(rain_mm >= _WET_MM, rh_max_pct, np.nan), _WET_WINDOW_D)
    greatest = np.where(np.isnan(wet), -np.inf, wet).max(axis=-1)
    return np.asarray((_known_count(wet) >= _WET_DAYS_COUNT) & (greatest < _MORNING_PCT))


def dewpoint_above_lowest(dewpoint_c: Array, tmin_c: Array) -> Mask:
    """Days whose dew point is above the lowest temperature by more than 8 °C.

    Parameters
    ----------
    dewpoint_c, tmin_c : ndarray (D,) or (D, S)

    Returns
    -------
    above : ndarray of bool

    Source: FAO-56 (Allen et al. 1998) Eq. 48 and Annex 5; the bound is common practice, no source.
    """
    return np.asarray(dewpoint_c - tmin_c > _ABOVE_TMIN_C)


def vapour_above_saturation(vapour_pressure_kpa: Array, saturation_kpa: Array) -> Mask:
    """Days with more vapour than the air of the day can hold.

    Parameters
    ----------
    vapour_pressure_kpa : ndarray (D,) or (D, S)
        Mean of the day.
    saturation_kpa : ndarray (D,) or (D, S)
        Mean of the day (Eq. 12).

    Returns
    -------
    above : ndarray of bool

    Source: FAO-56 (Allen et al. 1998) Eq. 10 and 12; 5 % are left for rounding, common practice, no source.
    """
    return np.asarray(vapour_pressure_kpa > _SATURATION_FACTOR * saturation_kpa)


def solar_above_sky(solar_mj_m2_d: Array, extraterrestrial_mj_m2_d: Array, clear_sky_mj_m2_d: Array) -> Mask:
    """Days with more radiation than the clearest air lets through: Rso and 0.10 Ra, or 1 MJ/m².

    Parameters
    ----------
    solar_mj_m2_d, extraterrestrial_mj_m2_d, clear_sky_mj_m2_d : ndarray (D,) or (D, S)

    Returns
    -------
    above : ndarray of bool

    Source: FAO-56 (Allen et al. 1998) Eq. 37 and Annex 5; the margin is common practice, no source.
    """
    margin = np.maximum(_SKY_FRACTION * extraterrestrial_mj_m2_d, _SKY_MJ_M2)
    return np.asarray(solar_mj_m2_d > clear_sky_mj_m2_d + margin)


def solar_scale_high(solar_mj_m2_d: Array, clear_sky_mj_m2_d: Array) -> Mask:
    """Days by which three of the last 30 were sunnier than a clear sky by over 8 %: the sensor reads high.

    Parameters
    ----------
    solar_mj_m2_d, clear_sky_mj_m2_d : ndarray (D,) or (D, S)

    Returns
    -------
    high : ndarray of bool

    Source: FAO-56 (Allen et al. 1998) Annex 5; the bounds are common practice, no source.
    """
    clearest = _third_clearest(solar_mj_m2_d, clear_sky_mj_m2_d, _SCALE_WINDOW_D)
    return np.asarray(clearest > _SCALE_HIGH)


def solar_scale_low(solar_mj_m2_d: Array, clear_sky_mj_m2_d: Array) -> Mask:
    """Days by which no three of the last 60 reached 60 % of a clear sky: the sensor reads low or is dirty.

    Parameters
    ----------
    solar_mj_m2_d, clear_sky_mj_m2_d : ndarray (D,) or (D, S)

    Returns
    -------
    low : ndarray of bool

    Source: FAO-56 (Allen et al. 1998) Annex 5; the bounds are common practice, no source.
    """
    clearest = _third_clearest(solar_mj_m2_d, clear_sky_mj_m2_d, _DULL_WINDOW_D)
    return np.asarray(clearest < _SCALE_LOW)


def sunshine_above_daylight(sunshine_h: Array, daylight_h: Array) -> Mask:
    """Days with more sunshine than daylight, an hour left for the horizon and for counting.

    Parameters
    ----------
    sunshine_h, daylight_h : ndarray (D,) or (D, S)

    Returns
    -------
    above : ndarray of bool

    Source: FAO-56 (Allen et al. 1998) Eq. 34; the margin is common practice, no source.
    """
    return np.asarray(sunshine_h > daylight_h + _DAYLIGHT_MARGIN_H)


def hours_missing(present_count: Array, lasts_count: Array) -> Mask:
    """Days that have not all of their 23, 24 or 25 hours.

    Parameters
    ----------
    present_count, lasts_count : ndarray (D,) or (D, S)
        Different hours delivered, and hours the day lasts.

    Returns
    -------
    missing : ndarray of bool

    Source: by definition.
    """
    return np.asarray(present_count < lasts_count)


def hours_doubled(given_count: Array, present_count: Array) -> Mask:
    """Days with an hour delivered twice.

    Parameters
    ----------
    given_count, present_count : ndarray (D,) or (D, S)
        Hours delivered, and different hours delivered.

    Returns
    -------
    doubled : ndarray of bool

    Source: by definition.
    """
    return np.asarray(given_count > present_count)


def _change(reading: Array) -> Array:
    """Give the change from the day before; the first day has none."""
    change = np.full(np.shape(reading), np.nan)
    change[1:] = np.diff(reading, axis=0)
    return change


def _largest_step(change_c: Array) -> Array:
    """Give the largest change a place makes by itself, one a station."""
    size = np.abs(change_c)
    return np.maximum(_LEAST_STEP_C, _STEP_FACTOR * _median_of_known(size))


def _median_of_known(values: Array) -> Array:
    """Median along the first axis, NaN left out; 0 where nothing is known."""
    ordered = np.sort(values, axis=0)  # NaN comes last
    count = (~np.isnan(values)).sum(axis=0)
    ends = [np.maximum(count - 1, 0) // 2, np.minimum(count // 2, len(values) - 1)]
    low, high = (np.take_along_axis(ordered, np.asarray(end)[None], axis=0)[0] for end in ends)
    return np.where(count > 0, (low + high) / 2.0, 0.0)


def _in_run(reading: Array, least_count: int) -> Mask:
    """Say which days lie in a run of at least `least_count` equal readings."""
    same = _change(reading) == 0.0
    last = len(same) - 1
    day = np.arange(last + 1).reshape(-1, *[1] * (same.ndim - 1))
    begins = np.maximum.accumulate(np.where(same, 0, day), axis=0)
    goes_on = np.concatenate([same[1:], np.zeros_like(same[:1])])
    ends = np.minimum.accumulate(np.where(goes_on, last, day)[::-1], axis=0)[::-1]
    return np.asarray(ends - begins + 1 >= least_count)


def _last(values: Array, window_count: int) -> Array:
    """Lay the last days of each day, itself included, along a new last axis; before the first day is NaN."""
    before = np.full((window_count - 1, *np.shape(values)[1:]), np.nan)
    return np.asarray(sliding_window_view(np.concatenate([before, values]), window_count, axis=0))


def _known_count(window: Array) -> NDArray[np.int64]:
    return np.asarray((~np.isnan(window)).sum(axis=-1))


def _third_clearest(solar_mj_m2_d: Array, clear_sky_mj_m2_d: Array, window_count: int) -> Array:
    """Third highest Rs / Rso of the last days; NaN where too few of them had enough sun to tell."""
    bright = clear_sky_mj_m2_d >= _BRIGHT_MJ_M2
    ratio = solar_mj_m2_d / np.where(bright, clear_sky_mj_m2_d, np.nan)
    window = _last(ratio, window_count)
    ordered = np.partition(np.where(np.isnan(window), -np.inf, window), -_SCALE_RANK, axis=-1)
    least = _SCALE_LEAST_D * window_count // _SCALE_WINDOW_D
    return np.where(_known_count(window) >= least, ordered[..., -_SCALE_RANK], np.nan)
