"""From a weather frame to what each day asks: reference ET with its gaps filled by rule, and rain at its hour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, rainfall
from etsched.errors import PlanRefused
from etsched.frames.weather import DayRemark, stamps
from etsched.model.plan import DayWeather
from etsched.model.site import Place, RainRule, Site
from etsched.planning.et_choice import et_by_choice
from etsched.planning.et_formulas import FAO56, HARGREAVES
from etsched.planning.weather_filling import Climate, fill_days

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.frames.weather import Weather
    from etsched.planning.weather_filling import Filled

MEAN_OF_LAST_D = 7


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


def days_from_weather(weather: Weather, site: Site) -> Days:
    """Turn checked weather into daily reference ET and effective rain.

    A day without usable temperatures takes the mean ETo of the seven usable days before it and keeps what rain is
    known. Raises PlanRefused where there are not so many.
    """
    filled = fill_days(weather.daily, site.place, Climate(site.climate))
    eto, marks = _chosen_et(weather, site, filled)
    rain = np.nan_to_num(weather.daily["rain_mm"].to_numpy(dtype=np.float64))
    pulses, before = _pulses(weather, site.place, _EFFECTIVE[site.rain_rule](rain))
    # The least humidity of a day is that of its highest temperature.
    driest = atmosphere.relative_humidity(filled.drivers.vapour_pressure_kpa, filled.drivers.tmax_c)
    unfit = np.isnan(eto)
    eto, wind, driest = (
        _stood_in(np.asarray(series, dtype=np.float64), unfit)
        for series in (eto, filled.drivers.wind_m_s, np.minimum(driest, 100.0))
    )
    spread = _spread(weather)
    low = np.fmin(np.fmin(np.where(unfit, eto, filled.eto_low_mm), eto), spread["eto_low_mm"])
    high = np.fmax(np.fmax(np.where(unfit, eto, filled.eto_high_mm), eto), spread["eto_high_mm"])
    of_rain = (spread["rain_low_mm"], spread["rain_high_mm"], _rain_chance(weather))
    records = _records(weather, marks, unfit, (eto, low, high, rain), of_rain)
    return Days(records[0].day, eto, rain, wind, driest, pulses, before, records)


def _spread(weather: Weather) -> dict[str, NDArray[np.float64]]:
    """Likely ranges laid on the days of the weather, NaN where none is known; days gone by have none."""
    names = ("eto_low_mm", "eto_high_mm", "rain_low_mm", "rain_high_mm")
    if weather.spread is None:
        return {name: np.full(len(weather.daily), np.nan) for name in names}
    laid = weather.spread.reindex(weather.daily.index)[list(names)].where(weather.daily["is_forecast"])
    return {name: laid[name].to_numpy(dtype=np.float64) for name in names}


def _rain_chance(weather: Weather) -> NDArray[np.float64]:
    """Chance of rain of the days ahead, percent, NaN where no forecast gives one."""
    if weather.extra is None or "rain_probability_pct" not in weather.extra:
        return np.full(len(weather.daily), np.nan)
    laid = weather.extra["rain_probability_pct"].reindex(weather.daily.index).where(weather.daily["is_forecast"])
    return laid.to_numpy(dtype=np.float64)


def _chosen_et(weather: Weather, site: Site, filled: Filled) -> tuple[NDArray[np.float64], list[tuple[str, ...]]]:
    """ETo by the formula that the site asks for, where the day has its data, and what each day owes its reader."""
    if site.et_formula == FAO56.name:
        return filled.eto_mm, list(filled.marks)
    chosen = et_by_choice(weather.daily, site.place, filled.drivers, site.et_formula)
    # Hargreaves as the last resort is what filling does anyway, with its mark and its range.
    last_resort = HARGREAVES if site.et_formula != HARGREAVES.name else FAO56
    others = [formula not in {FAO56, last_resort} for formula in chosen.formulas]
    eto = np.where(others, chosen.eto_mm, filled.eto_mm)
    marks = [
        (f"ETo by {formula.title}",) if other else mark
        for formula, other, mark in zip(chosen.formulas, others, filled.marks, strict=True)
    ]
    return eto, marks


def _stood_in(series: NDArray[np.float64], unfit: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Give unfit days the mean of the last seven fit days before them."""
    found = series.copy()
    for day in np.flatnonzero(unfit):
        before = series[:day][~unfit[:day]][-MEAN_OF_LAST_D:]
        if len(before) < MEAN_OF_LAST_D:
            raise PlanRefused(
                f"day {day + 1} of the weather has no usable temperatures and fewer than {MEAN_OF_LAST_D} usable days "
                "before it to stand in for it; give weather that begins earlier"
            )
        found[day] = before.mean()
    return found


def _records(
    weather: Weather,
    marks: list[tuple[str, ...]],
    unfit: NDArray[np.bool_],
    amounts: tuple[NDArray[np.float64], ...],
    of_rain: tuple[NDArray[np.float64], ...],
) -> tuple[DayWeather, ...]:
    daily = weather.daily
    remarks = weather.remarks or (DayRemark(""),) * len(daily)
    return tuple(
        DayWeather(
            day=day.date(),
            forecast=bool(ahead),
            tmin_c=float(low),
            tmax_c=float(high),
            eto_mm=float(eto),
            rain_mm=float(rain),
            filled=mark,
            standing_in=bool(stands_in),
            eto_low_mm=float(least),
            eto_high_mm=float(most),
            rain_low_mm=None if np.isnan(rain_low) else float(rain_low),
            rain_high_mm=None if np.isnan(rain_high) else float(rain_high),
            rain_chance_pct=None if np.isnan(chance) else float(chance),
            grade=remark.grade,
            reasons=remark.reasons,
            sources=remark.sources,
        )
        for day, ahead, low, high, mark, stands_in, remark, eto, least, most, rain, rain_low, rain_high, chance in zip(
            stamps(daily),
            daily["is_forecast"],
            daily["tmin_c"],
            daily["tmax_c"],
            marks,
            unfit,
            remarks,
            *amounts,
            *of_rain,
            strict=True,
        )
    )


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
        float(np.nanmean([getattr(record, name) for record in days.records[-MEAN_OF_LAST_D:]]))
        for name in ("tmin_c", "tmax_c")
    )
    mean = float(days.eto_mm[-MEAN_OF_LAST_D:].mean())
    standing_in = tuple(
        DayWeather(known + timedelta(days=n + 1), True, low, high, mean, 0.0, (), True, mean, mean)
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
