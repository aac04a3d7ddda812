"""A day's reference ET from its weather, FAO-56 Eq. 6, for many days and sites at once.

What is computed, one core function a step, stands in `daily_et_steps.py`; this module gives the same to 1e-9
mm and quickly: it works through blocks that stay in the cache, writes into buffers it keeps, and computes but
once what only the day or only the site decides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from etsched.core import atmosphere, net_radiation, radiation, reference_et

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Floats = float | Array

_BLOCK_COUNT = 16384  # numbers in a block: measured; a block's buffers stay in the second-level cache


@dataclass(frozen=True, slots=True, eq=False)
class DailyDrivers:
    """What a day's reference ET needs; wind is at 2 m, radiation the total of the day.

    The fields broadcast: typically (D, S), with (D, 1) for the days and (S,) for the sites.
    """

    tmin_c: Floats
    tmax_c: Floats
    vapour_pressure_kpa: Floats
    wind_m_s: Floats
    solar_mj_m2_d: Floats
    latitude_deg: Floats
    elevation_m: Floats
    day_of_year: Floats

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the result."""
        return np.broadcast_shapes(*(np.shape(getattr(self, field.name)) for field in fields(self)))


@dataclass(frozen=True, slots=True, eq=False)
class _Fixed:
    """What only the day or only the site decides, so that it is computed once for each.

    With x = −tan φ tan δ held to ±1, Eq. 21 and 37 read: Rso = sines × arccos(x) + cosines × √(1 − x²).
    """

    site_tangent: Array
    day_tangent: Array
    site_sines: Array
    day_sines: Array
    site_cosines: Array
    day_cosines: Array
    psychrometric_kpa_per_c: Array


_Record = TypeVar("_Record", DailyDrivers, _Fixed)


def fao56_daily_from_weather(weather: DailyDrivers) -> Array:
    """Grass reference ET of each day (Eq. 6); Rso by Eq. 37, G = 0, never below 0.

    Parameters
    ----------
    weather : DailyDrivers

    Returns
    -------
    eto_mm : ndarray, the drivers' shape

    Source: FAO-56 (Allen et al. 1998) ch. 4.
    """
    table = _as_table(weather)
    fixed = _fixed(table)
    eto_mm = np.empty(table.shape)
    scratch = np.empty((4, min(eto_mm.size, _BLOCK_COUNT)))
    for rows, columns in _blocks(*eto_mm.shape):
        out = eto_mm[rows, columns]
        buffers = [buffer[: out.size].reshape(out.shape) for buffer in scratch]
        _eto_into(out, _cut(table, rows, columns), _cut(fixed, rows, columns), buffers)
    return eto_mm.reshape(weather.shape)


def _as_table(weather: DailyDrivers) -> DailyDrivers:
    """Give every field two axes, each of full length or of 1; earlier axes are laid end to end."""
    shape = weather.shape
    values = [np.asarray(getattr(weather, field.name), dtype=np.float64) for field in fields(weather)]
    if len(shape) > 2:
        values = [np.broadcast_to(value, shape).reshape(-1, shape[-1]) for value in values]
    return DailyDrivers(*(np.atleast_2d(value) for value in values))


def _blocks(rows_count: int, columns_count: int) -> Iterator[tuple[slice, slice]]:
    """Walk over a table in blocks of no more than `_BLOCK_COUNT` numbers, as wide as they can be."""
    wide = max(1, min(columns_count, _BLOCK_COUNT))
    high = _BLOCK_COUNT // wide
    for top in range(0, rows_count, high):
        for left in range(0, columns_count, wide):
            yield slice(top, top + high), slice(left, left + wide)


def _cut(record: _Record, rows: slice, columns: slice) -> _Record:
    """Cut a block out of every field; an axis of length 1 holds for all blocks."""
    values: Iterator[Array] = (getattr(record, field.name) for field in fields(record))
    return type(record)(*(_cut_field(value, rows, columns) for value in values))


def _cut_field(value: Array, rows: slice, columns: slice) -> Array:
    high, wide = value.shape
    return value[rows if high > 1 else slice(None), columns if wide > 1 else slice(None)]


def _fixed(weather: DailyDrivers) -> _Fixed:
    latitude, declination = np.deg2rad(weather.latitude_deg), radiation.solar_declination(weather.day_of_year)
    site = radiation.clear_sky_simple(1.0, weather.elevation_m)
    strength = 24.0 / np.pi * radiation.SOLAR_CONSTANT_MJ_M2_H
    day = strength * radiation.inverse_relative_distance(weather.day_of_year)
    return _Fixed(
        site_tangent=np.tan(latitude),
        day_tangent=-np.tan(declination),
        site_sines=site * np.sin(latitude),
        day_sines=day * np.sin(declination),
        site_cosines=site * np.cos(latitude),
        day_cosines=day * np.cos(declination),
        psychrometric_kpa_per_c=atmosphere.psychrometric_constant(
            atmosphere.pressure_at_elevation(weather.elevation_m)
        ),
    )


# The constants of several steps multiplied out. e°(T) is written exp(a − b / (T + 237.3)): one product less.
_MAGNUS = atmosphere.MAGNUS_SLOPE * atmosphere.MAGNUS_C
_LOG_HALF_E0 = atmosphere.MAGNUS_SLOPE + np.log(0.5 * atmosphere.MAGNUS_KPA)
_LOG_SLOPE = atmosphere.MAGNUS_SLOPE + np.log(atmosphere.SLOPE_C * atmosphere.MAGNUS_KPA)
_SHORTWAVE = reference_et.EVAPORATION_MM_PER_MJ * (1.0 - net_radiation.ALBEDO_FRACTION)
_LONGWAVE = reference_et.EVAPORATION_MM_PER_MJ * net_radiation.STEFAN_BOLTZMANN_DAY / 2.0 * net_radiation.CLOUD_SLOPE
_DRY_AIR, _MOIST_AIR = _LONGWAVE * net_radiation.DRY_AIR, -_LONGWAVE * net_radiation.MOIST_AIR
_CLOUD_OFFSET = net_radiation.CLOUD_OFFSET / net_radiation.CLOUD_SLOPE
_NUMERATOR, _DENOMINATOR = reference_et.FAO56_DAILY


def _eto_into(eto_mm: Array, weather: DailyDrivers, fixed: _Fixed, buffers: list[Array]) -> None:
    """Write Eq. 6 into `eto_mm`; the buffers have its shape and are overwritten."""
    mean, slope, drying, spare = buffers
    _longwave_into(eto_mm, weather, _clear_sky(fixed), spare)
    np.multiply(weather.solar_mj_m2_d, _SHORTWAVE, out=spare)
    np.subtract(spare, eto_mm, out=eto_mm)  # 0.408 Rn

    np.add(weather.tmin_c, weather.tmax_c, out=mean)
    mean *= 0.5
    np.add(mean, atmosphere.MAGNUS_C, out=spare)
    np.reciprocal(spare, out=spare)
    np.multiply(spare, -_MAGNUS, out=slope)
    slope += _LOG_SLOPE
    np.exp(slope, out=slope)
    slope *= spare
    slope *= spare  # Δ, Eq. 13
    eto_mm *= slope

    _half_saturation_into(drying, weather.tmin_c)
    _half_saturation_into(spare, weather.tmax_c)
    drying += spare
    drying -= weather.vapour_pressure_kpa  # es − ea
    mean += reference_et.KELVIN_OF_ZERO
    drying /= mean
    np.multiply(fixed.psychrometric_kpa_per_c, weather.wind_m_s, out=spare)  # γ u2
    drying *= spare
    drying *= _NUMERATOR
    eto_mm += drying

    spare *= _DENOMINATOR
    spare += fixed.psychrometric_kpa_per_c
    spare += slope  # Δ + γ (1 + 0.34 u2)
    eto_mm /= spare
    np.maximum(eto_mm, 0.0, out=eto_mm)


def _clear_sky(fixed: _Fixed) -> Array:
    """Rso by Eq. 21 and 37, in the shape that days and sites alone have."""
    cosine = np.clip(fixed.site_tangent * fixed.day_tangent, -1.0, 1.0)
    rising = np.arccos(cosine) * fixed.site_sines * fixed.day_sines
    swinging = np.sqrt(1.0 - cosine * cosine) * fixed.site_cosines * fixed.day_cosines
    return np.maximum(rising + swinging, net_radiation.NO_SUN_MJ_M2)


def _longwave_into(longwave_mm: Array, weather: DailyDrivers, clear_sky: Array, spare: Array) -> None:
    """Write 0.408 Rnl (Eq. 39)."""
    np.add(weather.tmin_c, net_radiation.KELVIN_OF_ZERO, out=longwave_mm)
    np.add(weather.tmax_c, net_radiation.KELVIN_OF_ZERO, out=spare)
    for kelvin in (longwave_mm, spare):
        np.square(kelvin, out=kelvin)
        np.square(kelvin, out=kelvin)
    longwave_mm += spare
    np.divide(weather.solar_mj_m2_d, clear_sky, out=spare)
    np.clip(spare, net_radiation.LEAST_RELATIVE_SHORTWAVE_FRACTION, 1.0, out=spare)
    spare -= _CLOUD_OFFSET
    longwave_mm *= spare
    np.sqrt(weather.vapour_pressure_kpa, out=spare)
    spare *= _MOIST_AIR
    spare += _DRY_AIR
    longwave_mm *= spare


def _half_saturation_into(saturation_kpa: Array, temperature_c: Floats) -> None:
    """Write e°(T) / 2 (Eq. 11), the share of one extreme in Eq. 12."""
    np.add(temperature_c, atmosphere.MAGNUS_C, out=saturation_kpa)
    np.divide(-_MAGNUS, saturation_kpa, out=saturation_kpa)
    saturation_kpa += _LOG_HALF_E0
    np.exp(saturation_kpa, out=saturation_kpa)
