"""Real station-years against what their files say themselves, against the hours they are made of, and our checks.

Four European stations carry a reference ET computed elsewhere, by FAO-56 Penman–Monteith. Ours agrees within 0.2 mm a
day but for seven of 1975 days, and those are explained, not allowed for:

- FAO-56 and ASCE hold the relative shortwave radiation Rs/Rso of Eq. 39 within 0.3 (ASCE-EWRI Eq. 18) and 1; the
  files' ET0 lets it run. On a day with a tenth of the sun 1.35 × 0.1 − 0.35 is negative, so that the grass would win
  longwave radiation from the sky, and their ET0 is up to 0.28 mm higher than ours. With the bound lifted, ours agrees
  within 0.05 mm on every day of all four stations.
- The package gives Ronda an elevation of 3 m. Its ET0 is that of a place much higher: with 3 m ours lies 0.06 mm
  below it in the mean and up to 0.16 mm on bright days, with the 723 m of the town (from memory) within 0.05 mm.

Hours and days differ by a band that is stated with its reason at the test.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from etsched.core import atmosphere, net_radiation, radiation, reference_et
from etsched.planning.daily_et import DailyDrivers
from etsched.planning.daily_et_steps import air_of_day, asce_daily_short_from_weather
from etsched.planning.hourly_et import (
    HourlyDrivers,
    asce_hourly_short_from_weather,
    fao56_hourly_from_weather,
)
from etsched.planning.weather_filling import fill_days
from etsched.planning.weather_quality import Grade, grade_days
from tests.cross.station_years import (
    EUROPEAN,
    PCSE_NEEDED,
    PVLIB_NEEDED,
    TMY3,
    StationYear,
    andalusia,
    european,
    pcse_files,
    pvlib_files,
    typical,
    wageningen,
)

RONDA_M = 723.0  # from memory, to be verified; the town, where the package's table says 3 m
TYPICAL = (*TMY3, "12839.tm2")

needs_pcse = pytest.mark.skipif(pcse_files() is None, reason=PCSE_NEEDED)
needs_pvlib = pytest.mark.skipif(pvlib_files() is None, reason=PVLIB_NEEDED)


def named(years: tuple[StationYear, ...], name: str) -> StationYear:
    (found,) = [year for year in years if year.name == name]
    return found


def clear_share(drivers: DailyDrivers) -> np.ndarray:
    above = radiation.extraterrestrial_radiation(drivers.latitude_deg, drivers.day_of_year)
    return drivers.solar_mj_m2_d / radiation.clear_sky_simple(above, drivers.elevation_m)


def eto_without_bounds(drivers: DailyDrivers) -> np.ndarray:
    """FAO-56 Eq. 6 with Rs/Rso of Eq. 39 as it comes."""
    outward = net_radiation.net_longwave(
        drivers.tmin_c, drivers.tmax_c, drivers.vapour_pressure_kpa, clear_share(drivers)
    )
    net = net_radiation.net_shortwave(drivers.solar_mj_m2_d) - outward
    air = air_of_day(drivers, atmosphere.slope_of_saturation_vapour_pressure)
    return np.maximum(reference_et.fao56_daily(net, 0.0, air), 0.0)


@needs_pcse
@pytest.mark.parametrize("name", EUROPEAN)
def test_eto_agrees_with_the_files_own_within_a_fifth_of_a_millimetre(name: str) -> None:
    station = named(european(), name)
    filled = fill_days(station.daily, station.place)
    difference = filled.eto_mm - station.et0_mm
    known = ~np.isnan(difference)
    assert known.sum() >= 400
    ordinary = known & (clear_share(filled.drivers) >= net_radiation.LEAST_RELATIVE_SHORTWAVE_FRACTION)
    assert np.abs(difference[ordinary]).max() <= 0.2
    # What is beyond stands on the dull side and is ours that is lower: the lower bound of Rs/Rso.
    beyond = known & (np.abs(difference) > 0.2)
    assert (difference[beyond] < 0.0).all()
    assert difference[known].min() > -0.3


@needs_pcse
def test_few_days_are_beyond() -> None:
    beyond = {
        year.name: int((np.abs(fill_days(year.daily, year.place).eto_mm - year.et0_mm) > 0.2).sum())
        for year in european()
    }
    assert beyond == {"8011_asturias": 2, "2297_sweden": 0, "10870_munchen_flughafen": 4, "8443_ronda": 1}
    assert sum((~np.isnan(year.et0_mm)).sum() for year in european()) == 1975


@needs_pcse
@pytest.mark.parametrize("name", EUROPEAN)
def test_the_bound_of_relative_shortwave_and_an_elevation_explain_all_of_it(name: str) -> None:
    station = named(european(), name)
    place = replace(station.place, elevation_m=RONDA_M) if "ronda" in name else station.place
    difference = eto_without_bounds(fill_days(station.daily, place).drivers) - station.et0_mm
    assert np.nanmax(np.abs(difference)) <= 0.05
    assert abs(np.nanmean(difference)) <= 0.01


@needs_pcse
def test_stations_with_gaps_keep_them() -> None:
    unfit = {
        year.name: sum(day.grade is Grade.UNFIT for day in grade_days(year.daily, year.place).days)
        for year in european()
    }
    assert unfit == {"8011_asturias": 4, "2297_sweden": 0, "10870_munchen_flughafen": 0, "8443_ronda": 66}
    ronda = named(european(), "8443_ronda")
    eto = fill_days(grade_days(ronda.daily, ronda.place).daily, ronda.place).eto_mm
    assert np.isnan(eto).sum() == 66


@needs_pcse
def test_wageningen_gives_24_years_with_rain_and_wind() -> None:
    years = wageningen()
    assert len(years) == 24
    assert sum(len(year.daily) for year in years) == 8644
    for year in years:
        filled = fill_days(grade_days(year.daily, year.place).daily, year.place)
        whole = len(year.daily) >= 365
        assert np.nanmin(filled.eto_mm) >= 0.0
        assert not np.isnan(filled.eto_mm).all()
        # The wettest and driest of these years had 957 and 437 mm; grass there asks for 540 to 730 mm.
        assert not whole or 430.0 <= year.daily["rain_mm"].sum() <= 960.0
        assert not whole or 530.0 <= np.nansum(filled.eto_mm) <= 740.0


@needs_pcse
def test_checks_find_what_is_wrong_in_real_files() -> None:
    """Nobody put these there: a vapour pressure a tenth of its neighbours', a stuck anemometer, a day kept twice."""
    found = {
        (year.name, str(each.day), each.column, each.value)
        for year in wageningen()
        for each in grade_days(year.daily, year.place).findings
        if each.rejected
    }
    assert ("NL1.986", "1986-04-02", "vapour_pressure_kpa", 0.01) in found
    assert ("NL1.990", "1990-04-01", "vapour_pressure_kpa", 0.04) in found
    assert ("NL1.988", "1988-03-08", "solar_mj_m2_d", 19.98) in found  # the sun above the air gave 19.3
    assert ("NL1.989", "1989-04-11", "wind_m_s", 0.0) in found
    assert {("NL1.994", f"1994-01-{day:02}", "wind_m_s", 0.1) for day in range(7, 12)} <= found
    assert {("NL1.991", f"1991-08-{day:02}", "wind_m_s", 0.1) for day in range(1, 5)} <= found
    assert {("NL1.996", "1996-12-23", "tmin_c", -6.1), ("NL1.996", "1996-12-23", "wind_m_s", 3.7)} <= found


@needs_pcse
@needs_pvlib
def test_checks_leave_real_weather_alone() -> None:
    """At most 25 days of a thousand are doubted or lose a reading; the grid cell's radiation is a case of its own."""
    for year in (*european(), *wageningen(), *typical()):
        graded = grade_days(year.daily, year.place, hourly=year.hourly)
        touched = {each.day for each in graded.findings}
        lost = {each.day for each in graded.findings if each.rejected and each.column in ("tmin_c", "tmax_c")}
        assert len(touched) <= max(0.025 * len(year.daily), 3), (
            year.name,
            Counter(each.reason for each in graded.findings),
        )
        assert len(lost) <= (year.name == "NL1.996")


@needs_pcse
def test_a_scale_that_is_off_is_seen_in_a_real_file() -> None:
    """On clear days the cell has 0.79 of Ra and more, where Eq. 37 has 0.75: it is sunshine turned to radiation."""
    cell = andalusia()
    graded = grade_days(cell.daily, cell.place)
    high = [each for each in graded.findings if "read high" in each.reason]
    assert len(high) > 150
    assert {each.column for each in graded.findings if each.rejected} == {"solar_mj_m2_d"}


@needs_pvlib
@pytest.mark.parametrize("name", TYPICAL)
def test_sums_of_hours_stay_within_a_band_of_the_day(name: str) -> None:
    """A year's hours add up to 0.96 to 0.98 of its days; a day's to within 1.1 mm, nine in ten to within 0.45 mm.

    FAO-56 keeps one surface resistance, 70 s/m, for all hours. By day leaves are more open than that, and summer
    sums come out 5 % low. ASCE takes 50 s/m by day and 200 by night for that reason; its sums of a summer are within
    1 % of its days. Single days differ because a day's means hide when within the day it is warm, dry or windy.
    """
    year = named(typical(), name)
    hours = by_day(year, fao56_hourly_from_weather(hourly_drivers(year)))
    days = fill_days(year.daily, year.place).eto_mm
    assert 0.96 <= hours.sum() / days.sum() <= 0.98
    assert 0.94 <= hours[summer(year)].sum() / days[summer(year)].sum() <= 0.96
    assert np.abs(hours - days).max() <= 1.1
    assert np.percentile(np.abs(hours - days), 90) <= 0.45


@needs_pvlib
@pytest.mark.parametrize("name", TYPICAL)
def test_asce_whose_resistance_changes_by_night_tells_why(name: str) -> None:
    year = named(typical(), name)
    hours = by_day(year, asce_hourly_short_from_weather(hourly_drivers(year)))
    days = asce_daily_short_from_weather(fill_days(year.daily, year.place).drivers)
    assert hours[summer(year)].sum() / days[summer(year)].sum() == pytest.approx(1.0, abs=0.01)


def hourly_drivers(year: StationYear) -> HourlyDrivers:
    hourly, utc = year.hourly, year.hourly.index
    return HourlyDrivers(
        temperature_c=hourly["temperature_c"].to_numpy(),
        vapour_pressure_kpa=atmosphere.vapour_pressure_from_dewpoint(hourly["dewpoint_c"].to_numpy()),
        wind_m_s=hourly["wind_m_s"].to_numpy(),
        solar_mj_m2_h=hourly["solar_mj_m2_h"].to_numpy(),
        latitude_deg=year.place.latitude_deg,
        longitude_deg=year.place.longitude_deg,
        elevation_m=year.place.elevation_m,
        day_of_year=utc.tz_convert(year.place.zone).day_of_year.to_numpy(dtype=float),
        utc_h=utc.hour.to_numpy(dtype=float) + 0.5,
    )


def by_day(year: StationYear, eto_mm_h: np.ndarray) -> np.ndarray:
    day = year.hourly.index.tz_convert(year.place.zone).tz_localize(None).normalize()
    return pd.Series(eto_mm_h, index=day).groupby(level=0).sum().reindex(year.daily.index).to_numpy()


def summer(year: StationYear) -> np.ndarray:
    return (year.daily.index.month >= 5) & (year.daily.index.month <= 8)


@needs_pvlib
@pytest.mark.parametrize("name", TYPICAL)
def test_the_clock_of_real_hours_is_right_and_a_shifted_one_is_found(name: str) -> None:
    year = named(typical(), name)

    def doubted(hourly: pd.DataFrame) -> int:
        graded = grade_days(year.daily, year.place, hourly=hourly)
        return sum("clock" in each.reason for each in graded.findings)

    assert doubted(year.hourly) == 0
    for shift_h in (-1, 1, 5):
        late = year.hourly.set_index(year.hourly.index + pd.Timedelta(hours=shift_h))
        assert doubted(late) > 0.8 * len(year.daily)


@needs_pvlib
def test_typical_years_are_read_as_they_are_written() -> None:
    """Values of the files' own lines: first noon of July, by eye."""
    greensboro, sand_point, miami = typical()
    for year in (greensboro, sand_point, miami):
        assert len(year.hourly) == 8760
        assert len(year.daily) == 365
    # " 62010101 ... 200 A7 0150 A7": Miami's first hour of the year, 20.0 °C and a dew point of 15.0 °C.
    first = miami.hourly.iloc[0]
    assert (first["temperature_c"], first["dewpoint_c"], first["rh_pct"]) == (20.0, 15.0, 73.0)
    assert str(miami.hourly.index[0]) == "2026-01-01 05:00:00+00:00"
    assert (sand_point.hourly.iloc[0]["temperature_c"], sand_point.hourly.iloc[0]["dewpoint_c"]) == (4.0, 3.0)
    assert str(sand_point.hourly.index[0]) == "2026-01-01 09:00:00+00:00"
