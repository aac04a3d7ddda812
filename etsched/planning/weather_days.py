"""From a weather frame to what each day asks: reference ET with its gaps filled by rule, and rain at its hour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, radiation, rainfall
from etsched.errors import PlanRefused
from etsched.frames.weather import stamps
from etsched.model.plan import DayWeather
from etsched.model.site import Place, RainRule
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from etsched.frames.weather import Weather

COAST_OR_INLAND_KRS = 0.16  # FAO-56 Eq. 50: 0.16 inland; a coastal site would take 0.19
CALM_WIND_M_S = 2.0  # FAO-56 ch. 3: the world's mean, where nobody measured wind
MEAN_OF_LAST_D = 7

_HUMIDITY_FILL = "dew point taken as the lowest temperature (FAO-56 Eq. 48)"
_SUN_FILL = "sunshine estimated from the temperature range (FAO-56 Eq. 50)"
_WIND_FILL = "wind taken as 2 m/s (FAO-56 ch. 3)"
_RAIN_FILL = "rain not measured, taken as none"


@dataclass(frozen=True, slots=True)
class Days:
    """Weather as planning uses it: one entry a day (D,), rain in pulses (D, P) with the share of ET before each."""

    first: date
    eto_mm: NDArray[np.float64]
    rain_mm: NDArray[np.float64]
    wind_m_s: NDArray[np.float64]
    rh_min_pct: NDArray[np.float64]
    pulse_mm: NDArray[np.float64]
    et_before_fraction: NDArray[np.float64]
    records: tuple[DayWeather, ...]

    def between(self, first: date, count: int) -> Days:
        """Cut out `count` days from `first` on."""
        start = (first - self.first).days
        cut = slice(start, start + count)
        return Days(
            first,
            self.eto_mm[cut],
            self.rain_mm[cut],
            self.wind_m_s[cut],
            self.rh_min_pct[cut],
            self.pulse_mm[cut],
            self.et_before_fraction[cut],
            self.records[cut],
        )


def drivers(daily: pd.DataFrame, place: Place) -> tuple[DailyDrivers, list[tuple[str, ...]]]:
    """Choose for every day the best that its row holds, and name what had to be filled.

    Humidity: vapour pressure, dew point, both RH extremes, RH maximum, RH mean, else the lowest temperature as dew
    point. Radiation: measured, from sunshine hours, else from the temperature range. Wind: measured, else 2 m/s.
    """
    column = {name: daily[name].to_numpy(dtype=np.float64) for name in daily.columns if name != "is_forecast"}
    day_of_year = stamps(daily).day_of_year.to_numpy(dtype=np.float64)
    vapour, no_humidity = _vapour_pressure(column)
    solar, no_sun = _solar(column, place, day_of_year)
    no_wind = np.isnan(column["wind_m_s"])
    chosen = DailyDrivers(
        tmin_c=column["tmin_c"],
        tmax_c=column["tmax_c"],
        vapour_pressure_kpa=vapour,
        wind_m_s=np.where(no_wind, CALM_WIND_M_S, column["wind_m_s"]),
        solar_mj_m2_d=solar,
        latitude_deg=np.asarray(place.latitude_deg),
        elevation_m=np.asarray(place.elevation_m),
        day_of_year=day_of_year,
    )
    marks = (
        (no_humidity, _HUMIDITY_FILL),
        (no_sun, _SUN_FILL),
        (no_wind, _WIND_FILL),
        (np.isnan(column["rain_mm"]), _RAIN_FILL),
    )
    return chosen, [tuple(text for mask, text in marks if mask[i]) for i in range(len(daily))]


def _vapour_pressure(column: dict[str, NDArray[np.float64]]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    tmin, tmax = column["tmin_c"], column["tmax_c"]
    candidates = (
        column["vapour_pressure_kpa"],
        atmosphere.vapour_pressure_from_dewpoint(column["dewpoint_c"]),
        atmosphere.vapour_pressure_from_rh_extremes(tmin, tmax, column["rh_min_pct"], column["rh_max_pct"]),
        atmosphere.vapour_pressure_from_rh_max(tmin, column["rh_max_pct"]),
        atmosphere.vapour_pressure_from_rh_mean(tmin, tmax, column["rh_mean_pct"]),
    )
    chosen = _first_known(candidates)
    missing = np.isnan(chosen)
    return np.where(missing, atmosphere.vapour_pressure_from_dewpoint(tmin), chosen), missing


def _solar(
    column: dict[str, NDArray[np.float64]], place: Place, day_of_year: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    latitude = np.asarray(place.latitude_deg)
    above = radiation.extraterrestrial_radiation(latitude, day_of_year)
    daylight = radiation.daylight_hours(latitude, day_of_year)
    sunny = radiation.solar_from_sunshine(np.minimum(column["sunshine_h"], daylight), daylight, above)
    chosen = _first_known((column["solar_mj_m2_d"], sunny))
    missing = np.isnan(chosen)
    swing = radiation.solar_from_temperature_range(
        column["tmin_c"], column["tmax_c"], above, np.asarray(COAST_OR_INLAND_KRS)
    )
    return np.where(missing, swing, chosen), missing


def _first_known(candidates: tuple[NDArray[np.float64], ...]) -> NDArray[np.float64]:
    chosen = candidates[0]
    for candidate in candidates[1:]:
        chosen = np.where(np.isnan(chosen), candidate, chosen)
    return chosen


def days_from_weather(weather: Weather, place: Place, rain_rule: RainRule) -> Days:
    """Turn checked weather into daily reference ET and effective rain."""
    chosen, filled = drivers(weather.daily, place)
    eto = fao56_daily_from_weather(chosen)
    gross = np.nan_to_num(weather.daily["rain_mm"].to_numpy(dtype=np.float64))
    effective = _EFFECTIVE[rain_rule](gross)
    pulses, before = _pulses(weather, place, effective)
    dates = [stamp.date() for stamp in weather.daily.index]
    records = tuple(
        DayWeather(day, bool(ahead), float(low), float(high), float(et), float(rain), marks)
        for day, ahead, low, high, et, rain, marks in zip(
            dates,
            weather.daily["is_forecast"],
            weather.daily["tmin_c"],
            weather.daily["tmax_c"],
            eto,
            gross,
            filled,
            strict=True,
        )
    )
    # The least humidity of a day is that of its highest temperature.
    driest = np.minimum(atmosphere.relative_humidity(chosen.vapour_pressure_kpa, chosen.tmax_c), 100.0)
    return Days(dates[0], eto, gross, np.asarray(chosen.wind_m_s), driest, pulses, before, records)


_EFFECTIVE = {
    RainRule.EVENT: rainfall.effective_rain_event,
    RainRule.SHARE: rainfall.effective_rain_share,
    RainRule.ALL: rainfall.effective_rain_all,
}


def _pulses(
    weather: Weather, place: Place, effective_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Spread a day's effective rain over the hours it fell in; where no hour is known it comes after the day's ET."""
    if weather.hourly is None or weather.hourly["rain_mm"].isna().all():
        return effective_mm[:, None], np.ones((len(effective_mm), 1))
    local = stamps(weather.hourly).tz_convert(place.zone)
    row = weather.daily.index.get_indexer(local.tz_localize(None).normalize())
    # The hour's number is counted in real hours after local midnight, so that a day of 25 hours keeps them apart.
    hour = ((local - local.normalize()) // np.timedelta64(1, "h")).to_numpy()
    at = (row[row >= 0], hour[row >= 0])
    # The last column is the end of the day, for rain whose hour nobody knows.
    rain, sun = np.zeros((len(effective_mm), 26)), np.zeros((len(effective_mm), 26))
    rain[at] = np.nan_to_num(weather.hourly["rain_mm"].to_numpy())[row >= 0]
    sun[at] = np.nan_to_num(weather.hourly["solar_mj_m2_h"].to_numpy())[row >= 0]
    rain[:, -1] = rain.sum(axis=1) <= 0.0
    share = rain / rain.sum(axis=1, keepdims=True)
    return share * effective_mm[:, None], _share_before(sun)


def _share_before(sun_mj_m2_h: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of a day's ET gone before each hour, by the sun's share; from noon-centred daylight where it is unknown."""
    daylight = np.zeros(sun_mj_m2_h.shape[1])
    daylight[6:18] = np.sin(np.pi * (np.arange(12) + 0.5) / 12.0)
    known = sun_mj_m2_h.sum(axis=1, keepdims=True) > 0.0
    weight = np.where(known, sun_mj_m2_h, daylight)
    before = np.cumsum(weight, axis=1) - weight
    return np.asarray(before / weight.sum(axis=1, keepdims=True))


def extend(days: Days, last: date) -> Days:
    """Give the days after the weather's last row the mean ETo of the last seven and no rain, marked so."""
    known = days.first + timedelta(days=len(days.eto_mm) - 1)
    missing = (last - known).days
    if missing <= 0:
        return days
    if len(days.eto_mm) < MEAN_OF_LAST_D:
        raise PlanRefused(
            f"the weather ends on {known} and holds only {len(days.eto_mm)} days: the days up to {last} would take "
            f"the mean ETo of the last {MEAN_OF_LAST_D}, so give at least {MEAN_OF_LAST_D} days or a forecast"
        )
    low, high = (
        float(np.mean([getattr(record, name) for record in days.records[-MEAN_OF_LAST_D:]]))
        for name in ("tmin_c", "tmax_c")
    )
    mean = float(days.eto_mm[-MEAN_OF_LAST_D:].mean())
    standing_in = tuple(
        DayWeather(known + timedelta(days=n + 1), True, low, high, mean, 0.0, (), standing_in=True)
        for n in range(missing)
    )
    return Days(
        days.first,
        _with_mean(days.eto_mm, missing),
        np.append(days.rain_mm, np.zeros(missing)),
        _with_mean(days.wind_m_s, missing),
        _with_mean(days.rh_min_pct, missing),
        np.vstack([days.pulse_mm, np.zeros((missing, days.pulse_mm.shape[1]))]),
        np.vstack([days.et_before_fraction, np.ones((missing, days.pulse_mm.shape[1]))]),
        days.records + standing_in,
    )


def _with_mean(series: NDArray[np.float64], missing: int) -> NDArray[np.float64]:
    return np.append(series, np.full(missing, series[-MEAN_OF_LAST_D:].mean()))
