"""Reference ET of every day of a weather file by each formula that its rows allow, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, radiation, reference_et
from etsched.frames.weather import stamps
from etsched.planning.daily_et_steps import asce_daily_short_from_weather, asce_daily_tall_from_weather
from etsched.planning.hourly_et import HourlyDrivers, fao56_hourly_from_weather
from etsched.planning.weather_filling import Climate, fill_days

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from etsched.frames.weather import Weather
    from etsched.model.site import Place, Site


@dataclass(frozen=True, slots=True)
class EtDays:
    """One entry a day, (D,): `fao56_mm` is what plans use; `hourly_sum_mm` is NaN where a day's hours are not known."""

    day: tuple[date, ...]
    tmin_c: NDArray[np.float64]
    tmax_c: NDArray[np.float64]
    rain_mm: NDArray[np.float64]
    fao56_mm: NDArray[np.float64]
    asce_short_mm: NDArray[np.float64]
    asce_tall_mm: NDArray[np.float64]
    hargreaves_mm: NDArray[np.float64]
    hourly_sum_mm: NDArray[np.float64]
    filled: tuple[tuple[str, ...], ...]


def et_days(weather: Weather, site: Site) -> EtDays:
    """Compute reference ET of every day; rain that nobody measured stays NaN."""
    filled = fill_days(weather.daily, site.place, Climate(site.climate))
    chosen = filled.drivers
    above = radiation.extraterrestrial_radiation(chosen.latitude_deg, chosen.day_of_year)
    return EtDays(
        day=tuple(stamp.date() for stamp in weather.daily.index),
        tmin_c=np.asarray(chosen.tmin_c),
        tmax_c=np.asarray(chosen.tmax_c),
        rain_mm=weather.daily["rain_mm"].to_numpy(dtype=np.float64),
        fao56_mm=filled.eto_mm,
        asce_short_mm=asce_daily_short_from_weather(chosen),
        asce_tall_mm=asce_daily_tall_from_weather(chosen),
        hargreaves_mm=reference_et.hargreaves(chosen.tmin_c, chosen.tmax_c, above),
        hourly_sum_mm=_hourly_sums(weather, site.place),
        filled=filled.marks,
    )


def _hourly_sums(weather: Weather, place: Place) -> NDArray[np.float64]:
    """FAO-56 hourly ET (Eq. 53) added up over the local days whose every hour has all four variables."""
    days = weather.daily.index
    if weather.hourly is None:
        return np.full(len(days), np.nan)
    hourly = fao56_hourly_from_weather(_hourly_drivers(weather.hourly, place))
    local = stamps(weather.hourly).tz_convert(place.zone)
    row = days.get_indexer(local.tz_localize(None).normalize())
    known = row >= 0
    sums = np.zeros(len(days))
    np.add.at(sums, row[known], hourly[known])
    return sums


def _hourly_drivers(hourly: pd.DataFrame, place: Place) -> HourlyDrivers:
    column = {name: hourly[name].to_numpy(dtype=np.float64) for name in hourly.columns}
    vapour = column["vapour_pressure_kpa"]
    for candidate in (
        atmosphere.vapour_pressure_from_dewpoint(column["dewpoint_c"]),
        atmosphere.vapour_pressure_from_rh(column["temperature_c"], column["rh_pct"]),
    ):
        vapour = np.where(np.isnan(vapour), candidate, vapour)
    return HourlyDrivers(
        temperature_c=column["temperature_c"],
        vapour_pressure_kpa=vapour,
        wind_m_s=column["wind_m_s"],
        solar_mj_m2_h=column["solar_mj_m2_h"],
        latitude_deg=np.asarray(place.latitude_deg),
        longitude_deg=np.asarray(place.longitude_deg),
        elevation_m=np.asarray(place.elevation_m),
        day_of_year=stamps(hourly).day_of_year.to_numpy(dtype=np.float64),
        utc_h=stamps(hourly).hour.to_numpy(dtype=np.float64) + stamps(hourly).minute.to_numpy() / 60.0 + 0.5,
    )
