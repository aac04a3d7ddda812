"""Hours become site-local days of 23, 24 and 25 hours; every expected value is worked out by hand."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from etsched.errors import PlanRefused
from etsched.frames.hours_to_days import hours_to_days, missing_hours
from etsched.frames.weather import HOURLY_COLUMNS

NEVER = date(2100, 1, 1)
UTC = ZoneInfo("UTC")


def hourly(first_utc: str, count: int, **columns: object) -> pd.DataFrame:
    """Make an hourly frame: 5 °C, everything else unknown unless given."""
    index = pd.date_range(first_utc, periods=count, freq="h", tz="UTC", unit="us", name="hour_start")
    frame = pd.DataFrame(np.nan, index=index, columns=list(HOURLY_COLUMNS))
    frame["temperature_c"] = 5.0
    for name, values in columns.items():
        frame[name] = values
    return frame


# Zone, the day, the UTC hours at which it and the next day begin, its length in hours. From the published rules:
# second Sunday of March and first of November; last Sundays of March and October; first Sundays of April and October.
CHANGES = [
    ("America/Denver", "2026-03-08", "2026-03-08 07:00", "2026-03-09 06:00", 23),
    ("America/Denver", "2026-11-01", "2026-11-01 06:00", "2026-11-02 07:00", 25),
    ("Europe/Berlin", "2026-03-29", "2026-03-28 23:00", "2026-03-29 22:00", 23),
    ("Europe/Berlin", "2026-10-25", "2026-10-24 22:00", "2026-10-25 23:00", 25),
    ("Australia/Sydney", "2026-04-05", "2026-04-04 13:00", "2026-04-05 14:00", 25),
    ("Australia/Sydney", "2026-10-04", "2026-10-03 14:00", "2026-10-04 13:00", 23),
    ("Asia/Kolkata", "2026-06-01", "2026-05-31 18:30", "2026-06-01 18:30", 24),
]
# Sums of 0 + 1 + … up to the last hour, and their means.
SUMS = {23: (253.0, 11.0), 24: (276.0, 11.5), 25: (300.0, 12.0)}


@pytest.mark.parametrize(("zone", "day", "begins", "ends", "length"), CHANGES)
def test_a_day_holds_its_own_hours_only(zone: str, day: str, begins: str, ends: str, length: int) -> None:
    first = pd.Timestamp(begins) - pd.Timedelta(hours=24)
    frame = hourly(str(first), 24 + length + 24, rain_mm=7.0, wind_m_s=7.0, solar_mj_m2_h=7.0)
    number = np.arange(float(length))
    inside = (frame.index >= pd.Timestamp(begins, tz="UTC")) & (frame.index < pd.Timestamp(ends, tz="UTC"))
    assert inside.sum() == length
    for column in ("temperature_c", "rain_mm", "wind_m_s"):
        frame.loc[inside, column] = number
    frame.loc[inside, "solar_mj_m2_h"] = 0.5
    daily, notes = hours_to_days(frame, ZoneInfo(zone), NEVER)
    row = daily.loc[day]
    total, mean = SUMS[length]
    assert (row["tmin_c"], row["tmax_c"]) == (0.0, length - 1.0)
    assert row["rain_mm"] == total
    assert row["wind_m_s"] == pytest.approx(mean, abs=1e-12)
    assert row["solar_mj_m2_d"] == pytest.approx(length * 0.5, abs=1e-12)
    assert len(daily) == 3
    assert notes == ()


def test_vapour_pressure_is_the_mean_of_the_hours() -> None:
    """FAO-56 Annex 2, Table 2.3: e°(10) = 1.228, e°(20) = 2.338 kPa."""
    half = [10.0] * 12 + [20.0] * 12
    from_dewpoint, _ = hours_to_days(hourly("2026-05-01", 24, temperature_c=20.0, dewpoint_c=half), UTC, NEVER)
    assert from_dewpoint["vapour_pressure_kpa"].iloc[0] == pytest.approx((1.228 + 2.338) / 2, abs=0.0005)
    assert from_dewpoint["dewpoint_c"].iloc[0] == pytest.approx(15.0, abs=1e-12)
    rh = [50.0] * 12 + [100.0] * 12
    from_rh, _ = hours_to_days(hourly("2026-05-01", 24, temperature_c=half, rh_pct=rh), UTC, NEVER)
    assert from_rh["vapour_pressure_kpa"].iloc[0] == pytest.approx((0.5 * 1.228 + 2.338) / 2, abs=0.0005)
    assert tuple(from_rh[["rh_min_pct", "rh_max_pct", "rh_mean_pct"]].iloc[0]) == (50.0, 100.0, 75.0)
    both, _ = hours_to_days(hourly("2026-05-01", 24, temperature_c=20.0, dewpoint_c=10.0, rh_pct=40.0), UTC, NEVER)
    assert both["vapour_pressure_kpa"].iloc[0] == pytest.approx(1.228, abs=0.0005)  # the dew point goes first
    given, _ = hours_to_days(hourly("2026-05-01", 24, dewpoint_c=4.0, vapour_pressure_kpa=0.7), UTC, NEVER)
    assert given["vapour_pressure_kpa"].iloc[0] == pytest.approx(0.7, abs=1e-12)


def test_incomplete_ends_are_left_out_and_said() -> None:
    daily, notes = hours_to_days(hourly("2026-05-01 18:00", 6 + 48 + 1), UTC, NEVER)
    assert [f"{day:%d}" for day in daily.index] == ["02", "03"]
    assert notes == (
        "2026-05-01 has 6 of its 24 hours and is left out",
        "2026-05-04 has 1 of its 24 hours and is left out",
    )


def test_an_hour_without_temperature_makes_an_end_incomplete() -> None:
    frame = hourly("2026-05-01", 72)
    frame.iloc[5, 0] = np.nan
    daily, notes = hours_to_days(frame, UTC, NEVER)
    assert [f"{day:%d}" for day in daily.index] == ["02", "03"]
    assert notes == ("2026-05-01 has 23 of its 24 hours and is left out",)


def test_a_gap_inside_is_refused_with_its_hours() -> None:
    frame = hourly("2026-05-01", 72).drop(pd.to_datetime(["2026-05-02 13:00", "2026-05-02 15:00"], utc=True))
    frame.loc["2026-05-02 14:00+00:00", "temperature_c"] = np.nan
    assert [f"{hour:%d %H}" for hour in missing_hours(frame, UTC)] == ["02 13", "02 14", "02 15"]
    with pytest.raises(PlanRefused) as caught:
        hours_to_days(frame, UTC, NEVER)
    assert str(caught.value) == (
        "the hourly weather lacks 3 hours inside, by local time: 2026-05-02 13:00, 2026-05-02 14:00, 2026-05-02 15:00"
    )


def test_no_whole_day_is_refused() -> None:
    with pytest.raises(PlanRefused, match="holds no whole day of local time"):
        hours_to_days(hourly("2026-05-01 01:00", 46), UTC, NEVER)


def test_a_total_needs_every_hour_but_rain_counts_what_it_has() -> None:
    solar = np.full(48, 1.0)
    solar[30] = np.nan
    rain = np.full(48, 0.25)
    rain[40:] = np.nan
    daily, notes = hours_to_days(hourly("2026-05-01", 48, solar_mj_m2_h=solar, rain_mm=rain), UTC, NEVER)
    assert daily["solar_mj_m2_d"].iloc[0] == 24.0
    assert np.isnan(daily["solar_mj_m2_d"].iloc[1])
    assert daily["rain_mm"].to_list() == [6.0, 4.0]
    assert notes == (
        "solar_mj_m2_h lacks hours on 2026-05-02: nothing is known of such a day",
        "rain_mm lacks hours on 2026-05-02: the known hours are counted",
    )


def test_what_nobody_measured_stays_unknown_without_a_note() -> None:
    daily, notes = hours_to_days(hourly("2026-05-01", 24), UTC, NEVER)
    unknown = [name for name in daily.columns if daily[name].isna().all()]
    assert sorted({*daily.columns} - {*unknown}) == ["is_forecast", "tmax_c", "tmin_c"]
    assert notes == ()


def test_today_and_later_is_forecast() -> None:
    daily, _ = hours_to_days(hourly("2026-05-01", 72), UTC, date(2026, 5, 2))
    assert daily["is_forecast"].to_list() == [False, True, True]
