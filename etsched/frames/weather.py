"""The two weather frames every feed delivers and planning reads: daily rows and, where known, hourly rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from etsched.errors import PlanRefused

if TYPE_CHECKING:
    import pandas as pd

    from etsched.frames.provenance import Origin

# Daily frame: DatetimeIndex `day` (naive local dates, sorted, one row a day, no gaps), float64 columns, NaN for
# what the feed does not give, and `is_forecast` as bool. Wind is at 2 m; radiation and rain are totals of the local
# day. `rain_mm` NaN means that nobody measured rain, which planning counts as no rain and says so.
DAILY_COLUMNS = (
    "tmin_c",
    "tmax_c",
    "rh_min_pct",
    "rh_max_pct",
    "rh_mean_pct",
    "dewpoint_c",
    "vapour_pressure_kpa",
    "wind_m_s",
    "solar_mj_m2_d",
    "sunshine_h",
    "rain_mm",
)
# Hourly frame: DatetimeIndex `hour_start` (UTC, sorted, unique); each row holds for the hour that begins there.
HOURLY_COLUMNS = (
    "temperature_c",
    "rh_pct",
    "dewpoint_c",
    "vapour_pressure_kpa",
    "wind_m_s",
    "solar_mj_m2_h",
    "rain_mm",
)

# Lowest and highest value a feed may deliver; beyond them it is the unit, the column or a missing-value mark that is
# wrong. Own limits, drawn outside the records: 56.7 °C of air, 35 °C of dew point and 305 mm of rain in an hour have
# been measured (from memory, to be verified), and above the atmosphere the sun gives 4.9 MJ/m² an hour at most and
# less than 50 MJ/m² a day anywhere (FAO-56 Eq. 21). A pyranometer that cools at night reads a little below zero; that
# is kept as it is.
DAILY_LIMITS = {
    "tmin_c": (-60.0, 60.0),
    "tmax_c": (-60.0, 60.0),
    "rh_min_pct": (0.0, 100.0),
    "rh_max_pct": (0.0, 100.0),
    "rh_mean_pct": (0.0, 100.0),
    "dewpoint_c": (-80.0, 40.0),
    "vapour_pressure_kpa": (0.0, 7.4),
    "wind_m_s": (0.0, 60.0),
    "solar_mj_m2_d": (0.0, 60.0),
    "sunshine_h": (0.0, 24.0),
    "rain_mm": (0.0, 800.0),
}
HOURLY_LIMITS = {
    "temperature_c": (-60.0, 60.0),
    "rh_pct": (0.0, 100.0),
    "dewpoint_c": (-80.0, 40.0),
    "vapour_pressure_kpa": (0.0, 7.4),
    "wind_m_s": (0.0, 60.0),
    "solar_mj_m2_h": (-0.1, 6.0),
    "rain_mm": (0.0, 305.0),
}


@dataclass(frozen=True, slots=True)
class DayRemark:
    """What the checks say of a day, and in words which feed each of its values comes from."""

    grade: str
    reasons: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Weather:
    """Checked weather of one place: `daily` always, `hourly` where the feed gave hours; `source` names the feed.

    `notes` says in words what was left out or set right on the way, such as an incomplete last day. `extra` holds,
    day by day like `daily`, what no plan is made of: `et0_feed_mm`, the feed's own ET as a cross-check, and
    `rain_probability_pct`, the highest of the day.
    """

    daily: pd.DataFrame
    hourly: pd.DataFrame | None
    source: str
    notes: tuple[str, ...] = ()
    origin: Origin | None = None
    extra: pd.DataFrame | None = None
    remarks: tuple[DayRemark, ...] = ()
    attributions: tuple[str, ...] = ()
    spread: pd.DataFrame | None = None  # likely range of days ahead: eto_low_mm, eto_high_mm, rain_low_mm, rain_high_mm


def stamps(frame: pd.DataFrame) -> pd.DatetimeIndex:
    """Give the index of a frame that keeps a contract of this module, as the type that it then has."""
    return cast("pd.DatetimeIndex", frame.index)


def check_daily(daily: pd.DataFrame) -> pd.DataFrame:
    """Return `daily` unchanged if it keeps the contract above; raise PlanRefused with the reason otherwise."""
    wanted = [*DAILY_COLUMNS, "is_forecast"]
    if list(daily.columns) != wanted:
        raise PlanRefused(f"the daily weather has columns {list(daily.columns)}, not {wanted}")
    steps = daily.index.to_series().diff().dropna()
    if len(daily) == 0 or not (steps == steps.dtype.type(1, "D")).all():
        raise PlanRefused("the daily weather must hold at least one day, each once, in order, without gaps")
    if daily[["tmin_c", "tmax_c"]].isna().any(axis=None):
        raise PlanRefused("the daily weather needs the lowest and highest temperature of every day")
    return daily


def check_hourly(hourly: pd.DataFrame) -> pd.DataFrame:
    """Return `hourly` unchanged if it keeps the contract above; raise PlanRefused with the reason otherwise."""
    if list(hourly.columns) != list(HOURLY_COLUMNS):
        raise PlanRefused(f"the hourly weather has columns {list(hourly.columns)}, not {list(HOURLY_COLUMNS)}")
    if str(getattr(hourly.index, "tz", None)) != "UTC" or not hourly.index.is_monotonic_increasing:
        raise PlanRefused("the hourly weather must be in UTC and in order of time")
    if hourly.index.has_duplicates:
        raise PlanRefused("the hourly weather holds an hour twice")
    return hourly
