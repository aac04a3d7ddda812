"""Does a sensor move away from its neighbour, or a clock from the sun? Means of the last days, held against others.

Arrays are (D,) or (D, S): days in order along the first axis, stations along the second. A missing reading counts
for nothing, and where too few are known nothing is said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

_RECENT_D, _BEFORE_D = 30, 60  # common practice, no source: long enough for the weather to even out
_LEAST_KNOWN_FRACTION = 0.5  # common practice, no source
_DRIFT_C, _DRIFT_SOLAR_FRACTION, _DRIFT_WIND_FRACTION = 2.0, 0.12, 0.35  # common practice, no source
_CLOCK_D, _CLOCK_H = 15, 0.7  # common practice, no source: a zone is wrong by an hour, clouds even out to less


def sun_at_wrong_hour(solar_mj_m2_h: Array, extraterrestrial_mj_m2_h: Array) -> Mask:
    """Days by which the sun has stood off its hour for two weeks: a clock or zone is wrong.

    Compared are the centres of the day's radiation on the ground and above the air, by the mean of 15 days.

    Parameters
    ----------
    solar_mj_m2_h, extraterrestrial_mj_m2_h : ndarray (D, H)
        Hours of each day side by side.

    Returns
    -------
    wrong : ndarray of bool (D,)

    Source: FAO-56 (Allen et al. 1998) Eq. 28–31 for the sun's hour; the bounds are common practice, no source.
    """
    off = _centre(solar_mj_m2_h) - _centre(extraterrestrial_mj_m2_h)
    return np.asarray(np.abs(_mean_of_last(off, _CLOCK_D)) > _CLOCK_H)


def temperature_drifts(station_c: Array, neighbour_c: Array) -> Mask:
    """Days by which a station's mean difference from its neighbour has moved by over 2 °C.

    The last 30 days are held against the 60 before them.

    Parameters
    ----------
    station_c, neighbour_c : ndarray (D,) or (D, S)
        Any temperature of a day: lowest, highest, dew point.

    Returns
    -------
    drifts : ndarray of bool

    Source: common practice, no source.
    """
    recent, before = _recent_and_before(station_c - neighbour_c)
    return np.asarray(np.abs(recent - before) > _DRIFT_C)


def solar_drifts(station_mj_m2_d: Array, neighbour_mj_m2_d: Array) -> Mask:
    """Days by which a station's radiation has moved by over 12 % against its neighbour's.

    Parameters
    ----------
    station_mj_m2_d, neighbour_mj_m2_d : ndarray (D,) or (D, S)

    Returns
    -------
    drifts : ndarray of bool

    Source: common practice, no source.
    """
    return _ratio_moved(station_mj_m2_d, neighbour_mj_m2_d, _DRIFT_SOLAR_FRACTION)


def wind_drifts(station_m_s: Array, neighbour_m_s: Array) -> Mask:
    """Days by which a station's wind has moved by over 35 % against its neighbour's.

    Parameters
    ----------
    station_m_s, neighbour_m_s : ndarray (D,) or (D, S)

    Returns
    -------
    drifts : ndarray of bool

    Source: common practice, no source.
    """
    return _ratio_moved(station_m_s, neighbour_m_s, _DRIFT_WIND_FRACTION)


def _centre(radiation_mj_m2_h: Array) -> Array:
    """Mean hour of a day's radiation, NaN where an hour is missing or the day is dark."""
    total = radiation_mj_m2_h.sum(axis=1)
    weighed = (radiation_mj_m2_h * np.arange(radiation_mj_m2_h.shape[1])).sum(axis=1)
    return np.asarray(weighed / np.where(total > 0.0, total, np.nan))


def _recent_and_before(difference: Array) -> tuple[Array, Array]:
    """Mean of the last 30 days, and of the 60 days before them."""
    recent = _mean_of_last(difference, _RECENT_D)
    before = np.full_like(recent, np.nan)
    before[_RECENT_D:] = _mean_of_last(difference, _BEFORE_D)[:-_RECENT_D]
    return recent, before


def _mean_of_last(values: Array, days_count: int) -> Array:
    """Mean of the days up to each day, itself included; NaN where less than half of them is known."""
    known = ~np.isnan(values)
    sums, counts = (_sum_of_last(each, days_count) for each in (np.where(known, values, 0.0), known.astype(float)))
    return np.where(counts >= _LEAST_KNOWN_FRACTION * days_count, sums / np.maximum(counts, 1.0), np.nan)


def _sum_of_last(values: Array, days_count: int) -> Array:
    total = np.cumsum(values, axis=0)
    total[days_count:] -= total[:-days_count].copy()
    return total


def _ratio_moved(station: Array, neighbour: Array, bound_fraction: float) -> Mask:
    """Say where the ratio of two means has moved by more than a share of itself."""
    both = ~(np.isnan(station) | np.isnan(neighbour))
    ours, theirs = (_recent_and_before(np.where(both, each, np.nan)) for each in (station, neighbour))
    recent, before = (a / np.where(b > 0.0, b, np.nan) for a, b in zip(ours, theirs, strict=True))
    return np.asarray(np.abs(recent - before) > bound_fraction * before)
