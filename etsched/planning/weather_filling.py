"""What a day's weather lacks, filled by published rules in a stated order, with what the filling may cost in ETo.

Order, for every day by itself:

1. Temperatures are never filled: a day without both is unfit and its ETo is unknown.
2. Humidity: vapour pressure, dew point, both extremes of relative humidity, its maximum, its mean, as given; else
   the dew point is taken as the lowest temperature (Eq. 48), in a dry climate 2 °C below it.
3. Radiation: as given; else from hours of sunshine (Eq. 35); else from the temperature range (Eq. 50), with kRs
   0.16, on a coast 0.19. Eq. 49 and 51 are for a second station and for small islands and are not used.
4. Wind: as given; else 2 m/s.
5. Where humidity, sun and wind are all unknown, ETo is Hargreaves' (Eq. 52) from the temperatures alone.

The range around a filled day's ETo comes from blanking what it lacks on real station-years; see
`reference/filling_spread.toml`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, radiation, reference_et
from etsched.frames.weather import stamps
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.reference.figure import table

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from numpy.typing import NDArray

    from etsched.model.site import Place

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

INLAND_KRS_FACTOR, COAST_KRS_FACTOR = 0.16, 0.19  # FAO-56 Eq. 50, per √°C
CALM_WIND_M_S = 2.0  # FAO-56 ch. 3: the world's mean, where nobody measured wind
DRY_BELOW_TMIN_C = (
    2.0  # FAO-56 ch. 3: 2–3 °C below the lowest temperature in arid climates (from memory, to be verified)
)


class Climate(StrEnum):
    """What kind of place it is, as far as the filling rules ask."""

    NOT_STATED = "not stated"
    INLAND = "humid inland"
    COAST = "humid coast"
    DRY = "dry"


@dataclass(frozen=True, slots=True, eq=False)
class Gaps:
    """What each day lacks, (D,): radiation where `sun_hours` (sunshine is known) or `sun_range` (it is not)."""

    temperature: Mask
    humidity: Mask
    sun_hours: Mask
    sun_range: Mask
    wind: Mask
    rain: Mask

    @property
    def drivers_count(self) -> NDArray[np.int64]:
        """How many of humidity, radiation and wind are filled, (D,)."""
        return np.asarray(np.sum([self.humidity, self.sun_hours | self.sun_range, self.wind], axis=0))

    @property
    def by_hargreaves(self) -> Mask:
        """Days of which temperatures alone are known, (D,)."""
        return self.humidity & self.sun_range & self.wind


@dataclass(frozen=True, slots=True, eq=False)
class Filled:
    """Days ready for computing, (D,): drivers and ETo are NaN where a day is unfit.

    `marks` names for every day what was filled and how; `eto_low_mm` and `eto_high_mm` hold ETo on at least four
    of five days, and equal it where nothing was filled.
    """

    drivers: DailyDrivers
    gaps: Gaps
    marks: tuple[tuple[str, ...], ...]
    eto_low_mm: Array
    eto_mm: Array
    eto_high_mm: Array


def fill_days(daily: pd.DataFrame, place: Place, climate: Climate = Climate.NOT_STATED) -> Filled:
    """Fill what each day lacks, in the order above, and compute its reference ET with its range.

    Parameters
    ----------
    daily : DataFrame
        A daily weather frame, as graded: a temperature may be NaN.
    place : Place
    climate : Climate
        Decides the dew point below the lowest temperature, kRs and which measured spreads hold.

    Returns
    -------
    Filled
    """
    column = numbers(daily)
    lacks = _gaps(column)
    fit = ~lacks.temperature
    tmin, tmax = (np.where(fit, column[name], np.nan) for name in ("tmin_c", "tmax_c"))
    day_of_year = stamps(daily).day_of_year.to_numpy(dtype=np.float64)
    above = radiation.extraterrestrial_radiation(place.latitude_deg, day_of_year)
    daylight = radiation.daylight_hours(place.latitude_deg, day_of_year)
    from_hours = radiation.solar_from_sunshine(np.minimum(column["sunshine_h"], daylight), daylight, above)
    sun = np.where(lacks.sun_hours, from_hours, column["solar_mj_m2_d"])
    drivers = DailyDrivers(
        tmin_c=tmin,
        tmax_c=tmax,
        vapour_pressure_kpa=np.where(lacks.humidity, _vapour_without_humidity(tmin, climate), known_vapour(column)),
        wind_m_s=np.where(lacks.wind, CALM_WIND_M_S, column["wind_m_s"]),
        solar_mj_m2_d=np.where(lacks.sun_range, _sun_by_range(tmin, tmax, above, climate), sun),
        latitude_deg=place.latitude_deg,
        elevation_m=place.elevation_m,
        day_of_year=day_of_year,
    )
    alone = reference_et.hargreaves(tmin, tmax, above)
    eto = np.where(lacks.by_hargreaves, np.maximum(alone, 0.0), fao56_daily_from_weather(drivers))
    low, high = _range(eto, lacks, climate)
    return Filled(drivers, lacks, _marks(lacks, climate), low, eto, high)


def gaps(daily: pd.DataFrame) -> Gaps:
    """Say what each day of a daily weather frame lacks."""
    return _gaps(numbers(daily))


def numbers(daily: pd.DataFrame) -> dict[str, Array]:
    """Take the columns of numbers out of a daily weather frame, (D,) each, to be changed freely."""
    return {name: daily[name].to_numpy(dtype=np.float64, copy=True) for name in daily.columns if name != "is_forecast"}


def known_vapour(column: Mapping[str, Array]) -> Array:
    """Vapour pressure of each day by the best that its row holds, kPa; NaN where nothing tells it."""
    tmin, tmax = column["tmin_c"], column["tmax_c"]
    candidates = (
        atmosphere.vapour_pressure_from_dewpoint(column["dewpoint_c"]),
        atmosphere.vapour_pressure_from_rh_extremes(tmin, tmax, column["rh_min_pct"], column["rh_max_pct"]),
        atmosphere.vapour_pressure_from_rh_max(tmin, column["rh_max_pct"]),
        atmosphere.vapour_pressure_from_rh_mean(tmin, tmax, column["rh_mean_pct"]),
    )
    chosen = column["vapour_pressure_kpa"]
    for candidate in candidates:
        chosen = np.where(np.isnan(chosen), candidate, chosen)
    return chosen


def _gaps(column: Mapping[str, Array]) -> Gaps:
    # Two extremes that are crossed are no extremes: such a day has none.
    dark = np.isnan(column["solar_mj_m2_d"])
    return Gaps(
        temperature=~(column["tmin_c"] <= column["tmax_c"]),
        humidity=np.isnan(known_vapour(column)),
        sun_hours=dark & ~np.isnan(column["sunshine_h"]),
        sun_range=dark & np.isnan(column["sunshine_h"]),
        wind=np.isnan(column["wind_m_s"]),
        rain=np.isnan(column["rain_mm"]),
    )


def _vapour_without_humidity(tmin_c: Array, climate: Climate) -> Array:
    below_c = DRY_BELOW_TMIN_C if climate is Climate.DRY else 0.0
    return atmosphere.vapour_pressure_from_dewpoint(tmin_c - below_c)


def _sun_by_range(tmin_c: Array, tmax_c: Array, above_mj_m2_d: Array, climate: Climate) -> Array:
    krs = COAST_KRS_FACTOR if climate is Climate.COAST else INLAND_KRS_FACTOR
    return radiation.solar_from_temperature_range(tmin_c, tmax_c, above_mj_m2_d, krs)


def _marks(lacks: Gaps, climate: Climate) -> tuple[tuple[str, ...], ...]:
    """Name for every day each rule of filling it took."""
    below = f"{DRY_BELOW_TMIN_C:g} °C below the lowest temperature, in a dry climate (FAO-56 ch. 3)"
    dew = below if climate is Climate.DRY else "as the lowest temperature (FAO-56 Eq. 48)"
    fit = ~lacks.temperature
    rules = (
        (f"dew point taken {dew}", lacks.humidity & fit),
        ("radiation from the hours of sunshine (FAO-56 Eq. 35)", lacks.sun_hours & fit),
        ("radiation estimated from the temperature range (FAO-56 Eq. 50)", lacks.sun_range & fit),
        (f"wind taken as {CALM_WIND_M_S:g} m/s (FAO-56 ch. 3)", lacks.wind & fit),
        ("ETo from the temperatures alone by Hargreaves (FAO-56 Eq. 52)", lacks.by_hargreaves & fit),
        ("rain not measured, taken as none", lacks.rain),
    )
    return tuple(tuple(rule for rule, mask in rules if mask[day]) for day in range(len(fit)))


def _range(eto_mm: Array, lacks: Gaps, climate: Climate) -> tuple[Array, Array]:
    """Lowest and highest ETo that the measured spreads of what was filled leave open."""
    spread = table("filling_spread.toml")
    full = (eto_mm >= spread["full_day_mm"]).astype(np.int64)
    what = lacks.humidity + 2 * lacks.sun_range + 4 * lacks.wind
    shares = _shares(climate)[what, full]
    sunny = _share(spread["any climate"]["sunshine"])[full] * lacks.sun_hours[:, None]
    # Two fillings that know nothing of each other add as squares.
    width_mm = np.hypot(shares, sunny) * np.maximum(eto_mm, spread["least_mm"])[:, None]
    return np.maximum(eto_mm - width_mm[:, 0], 0.0), eto_mm + width_mm[:, 1]


_WHAT = ("", "humidity", "sun", "humidity sun", "wind", "humidity wind", "sun wind", "humidity sun wind")


@cache
def _shares(climate: Climate) -> Array:
    """Shares of ETo below and above it by what was filled, (8, 2, 2): small and full days, low and high."""
    stated = [each for each in Climate if each is not Climate.NOT_STATED]
    kinds = stated if climate is Climate.NOT_STATED else [climate]
    spread = table("filling_spread.toml")
    shares = [[_share(spread[kind][what]) if what else np.zeros((2, 2)) for what in _WHAT] for kind in kinds]
    return np.asarray(np.max(shares, axis=0))


def _share(entry: Mapping[str, list[float]]) -> Array:
    """Turn factors such as 0.80 and 1.19 into shares 0.20 and 0.19; a range never leaves its middle out."""
    low, high = np.transpose([entry["small_day_factors"], entry["full_day_factors"]])
    return np.asarray(np.maximum(np.stack([1.0 - low, high - 1.0], axis=1), 0.0))
