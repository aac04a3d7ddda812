"""Which checks a place's days go through, in order, and what each says in words of the readings it speaks against."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, radiation, sun_position, weather_checks, weather_drift
from etsched.frames.hours_to_days import hours_in_days, local_days
from etsched.frames.weather import DAILY_LIMITS, stamps

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from etsched.model.site import Place

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]
    Columns = dict[str, Array]

# A column of the daily frame, or "" for the whole day; the days; why.
Remark = tuple[str, "Mask", str]


@dataclass(frozen=True, slots=True, eq=False)
class Sky:
    """The sun a place can have on its days, (D,)."""

    above_mj_m2_d: Array
    clear_mj_m2_d: Array
    daylight_h: Array


def sky_over(daily: pd.DataFrame, place: Place) -> Sky:
    """Give the sun that the days of a daily weather frame can have at a place."""
    day_of_year = stamps(daily).day_of_year.to_numpy(dtype=np.float64)
    above = radiation.extraterrestrial_radiation(place.latitude_deg, day_of_year)
    clear = radiation.clear_sky_simple(above, place.elevation_m)
    return Sky(above, clear, radiation.daylight_hours(place.latitude_deg, day_of_year))


def _beyond_limits(column: Columns, sky: Sky) -> Iterator[Remark]:
    for name, (low, high) in DAILY_LIMITS.items():
        yield name, (column[name] < low) | (column[name] > high), "beyond what the earth's weather holds"
    for name in ("rh_min_pct", "rh_mean_pct", "rh_max_pct"):
        yield name, weather_checks.humidity_dead(column[name]), "no air over ground is that dry"


def _crossed(column: Columns, sky: Sky) -> Iterator[Remark]:
    crossed = weather_checks.temperatures_crossed(column["tmin_c"], column["tmax_c"])
    for name in ("tmin_c", "tmax_c"):
        yield name, crossed, "the lowest temperature is above the highest"
    crossed = weather_checks.humidity_crossed(column["rh_min_pct"], column["rh_max_pct"])
    for name in ("rh_min_pct", "rh_max_pct"):
        yield name, crossed, "the least humidity is above the greatest"


def _repeated(column: Columns, sky: Sky) -> Iterator[Remark]:
    vapour = np.where(np.isnan(column["vapour_pressure_kpa"]), column["dewpoint_c"], column["vapour_pressure_kpa"])
    repeated = weather_checks.day_repeated(
        column["tmin_c"], column["tmax_c"], vapour, column["wind_m_s"], column["solar_mj_m2_d"]
    )
    for name in DAILY_LIMITS:
        yield name, repeated & ~np.isnan(column[name]), "the day before was delivered again"


def _stuck(column: Columns, sky: Sky) -> Iterator[Remark]:
    for name, check in _STUCK_CHECKS.items():
        yield name, check(column[name]), "the reading is stuck: the same day after day"


def _beyond_sky(column: Columns, sky: Sky) -> Iterator[Remark]:
    solar = weather_checks.solar_above_sky(column["solar_mj_m2_d"], sky.above_mj_m2_d, sky.clear_mj_m2_d)
    yield "solar_mj_m2_d", solar, "more sun than the clearest sky lets through"
    sunshine = weather_checks.sunshine_above_daylight(column["sunshine_h"], sky.daylight_h)
    yield "sunshine_h", sunshine, "more sunshine than the day is long"


def _beyond_saturation(column: Columns, sky: Sky) -> Iterator[Remark]:
    holds = atmosphere.mean_saturation_vapour_pressure(column["tmin_c"], column["tmax_c"])
    vapour = {
        "vapour_pressure_kpa": column["vapour_pressure_kpa"],
        "dewpoint_c": atmosphere.vapour_pressure_from_dewpoint(column["dewpoint_c"]),
    }
    for name, kpa in vapour.items():
        yield name, weather_checks.vapour_above_saturation(kpa, holds), "more vapour than air of that warmth can hold"


def _spikes(column: Columns, sky: Sky) -> Iterator[Remark]:
    for name, temperature in _temperatures(column):
        yield name, weather_checks.temperature_spikes(temperature), "a jump up and back, or down and back, in two days"


def _steps(column: Columns, sky: Sky) -> Iterator[Remark]:
    for name, temperature in _temperatures(column):
        yield (
            name,
            weather_checks.temperature_steps(temperature),
            "a jump from the day before beyond what the place shows",
        )


def _scale(column: Columns, sky: Sky) -> Iterator[Remark]:
    solar = column["solar_mj_m2_d"]
    high = weather_checks.solar_scale_high(solar, sky.clear_mj_m2_d)
    yield "solar_mj_m2_d", high, "for weeks clear days have been sunnier than a clear sky: the sensor may read high"
    low = weather_checks.solar_scale_low(solar, sky.clear_mj_m2_d)
    yield "solar_mj_m2_d", low, "for weeks no day has been clear: the sensor may be dirty or read low"


def _humidity(column: Columns, sky: Sky) -> Iterator[Remark]:
    yield "rh_min_pct", weather_checks.humidity_floor(column["rh_min_pct"]), "drier than all but deserts"
    ceiling = weather_checks.humidity_ceiling_low(column["rh_max_pct"], column["rain_mm"])
    yield "rh_max_pct", ceiling, "after rain the air has not come near saturation: the sensor may read low"
    for name, dewpoint in _dewpoints(column):
        above = weather_checks.dewpoint_above_lowest(dewpoint, column["tmin_c"])
        yield name, above, "the dew point is far above the lowest temperature"


def drifts(column: Columns, other: Columns) -> Iterator[Remark]:
    """Hold the columns of a daily weather frame against those of a neighbour over the same days."""
    theirs = dict(_temperatures(other))
    for name, temperature in _temperatures(column):
        drifts = weather_drift.temperature_drifts(temperature, theirs[name])
        yield name, drifts, _MOVED
    solar = weather_drift.solar_drifts(column["solar_mj_m2_d"], other["solar_mj_m2_d"])
    yield "solar_mj_m2_d", solar, _MOVED
    yield "wind_m_s", weather_drift.wind_drifts(column["wind_m_s"], other["wind_m_s"]), _MOVED


_MOVED = "in the last 30 days it has moved away from its neighbour"
_STUCK_CHECKS: dict[str, Callable[[Array], Mask]] = {
    "tmin_c": weather_checks.temperature_stuck,
    "tmax_c": weather_checks.temperature_stuck,
    "rh_min_pct": weather_checks.humidity_stuck,
    "rh_max_pct": weather_checks.humidity_stuck,
    "rh_mean_pct": weather_checks.humidity_stuck,
    "dewpoint_c": weather_checks.temperature_stuck,
    "vapour_pressure_kpa": weather_checks.vapour_stuck,
    "wind_m_s": weather_checks.wind_stuck,
    "solar_mj_m2_d": weather_checks.solar_stuck,
}
REJECTING = (_beyond_limits, _crossed, _repeated, _stuck, _beyond_sky, _beyond_saturation, _spikes)
# What only a sensor or a logger does: a forecast may well say the same for days running, or one cold day in heat.
OF_SENSORS = (_repeated, _stuck, _spikes)
DOUBTING = (_steps, _scale, _humidity)


def _dewpoints(column: Columns) -> tuple[tuple[str, Array], ...]:
    """Dew point by each column that tells it; from vapour pressure by turning Eq. 14 round."""
    vapour = column["vapour_pressure_kpa"]
    log = np.log(np.where(vapour > 0.0, vapour, np.nan) / atmosphere.MAGNUS_KPA)
    from_vapour = atmosphere.MAGNUS_C * log / (atmosphere.MAGNUS_SLOPE - log)
    return ("dewpoint_c", column["dewpoint_c"]), ("vapour_pressure_kpa", from_vapour)


def _temperatures(column: Columns) -> tuple[tuple[str, Array], ...]:
    return ("tmin_c", column["tmin_c"]), ("tmax_c", column["tmax_c"]), *_dewpoints(column)


def hours(hourly: pd.DataFrame, daily: pd.DataFrame, place: Place) -> Iterator[Remark]:
    """Count the hours of each day and see whether the sun shines at its hour."""
    index = stamps(hourly)
    once = index.unique().sort_values()
    counts = [local_days(each, place.zone).value_counts().reindex(daily.index, fill_value=0) for each in (index, once)]
    counts.append(hours_in_days(once, place.zone).reindex(daily.index))
    given, present, lasts = (np.asarray(count, dtype=np.float64) for count in counts)
    yield "", weather_checks.hours_missing(present, lasts), "hours are missing"
    yield "", weather_checks.hours_doubled(given, present), "hours were delivered twice"
    solar, above = _sun_by_hour(hourly[~index.duplicated()], daily, place)
    yield "", weather_drift.sun_at_wrong_hour(solar, above), "the sun stands off its hour: clock or zone"


def _sun_by_hour(hourly: pd.DataFrame, daily: pd.DataFrame, place: Place) -> tuple[Array, Array]:
    """Lay the hours' radiation, measured and above the air, side by side for each day, (D, 25)."""
    index = stamps(hourly)
    local = index.tz_convert(place.zone)
    row = daily.index.get_indexer(local_days(index, place.zone))
    hour = ((local - local.normalize()) // np.timedelta64(1, "h")).to_numpy()
    utc_h = (index.hour + index.minute / 60.0).to_numpy(dtype=np.float64) + 0.5
    day_of_year = local.day_of_year.to_numpy(dtype=np.float64)
    angle = sun_position.solar_hour_angle(day_of_year, utc_h, place.longitude_deg)
    above = radiation.hourly_extraterrestrial_radiation(place.latitude_deg, day_of_year, angle)
    laid = []
    for values in (hourly["solar_mj_m2_h"].to_numpy(dtype=np.float64), above):
        table = np.zeros((len(daily), 25))
        table[row[row >= 0], hour[row >= 0]] = values[row >= 0]
        laid.append(table)
    return laid[0], laid[1]
