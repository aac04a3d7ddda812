"""Hourly weather files: clocks, stamps and the days on which the clocks change."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from etsched.frames.weather import HOURLY_COLUMNS
from tests.bad_input.weather_files import DENVER, parsed

COLUMNS = """\
rows = "hourly"
[time]
date = "when"
stamps = "{stamps}"
clock = "{clock}"
[columns]
temperature = {{ column = "air", unit = "degC" }}
rain = {{ column = "rain", unit = "mm" }}
"""


def described(stamps: str = "start", clock: str = "local", more: str = "") -> str:
    return COLUMNS.format(stamps=stamps, clock=clock).replace('date = "when"\n', f'date = "when"\n{more}')


def rows(stamps: list[str]) -> list[str]:
    """Give each hour its number from 0 as temperature and tenths of it as rain."""
    return [f"{stamp},{n % 60},{n / 10}" for n, stamp in enumerate(stamps)]


def file_of(lines: list[str]) -> str:
    return "\n".join(["when,air,rain", *lines])


def clock_stamps(first_utc: str, count: int, zone: ZoneInfo, later: int = 0) -> list[str]:
    """Give what the clock on the wall shows each hour, by the standard library."""
    start = datetime.fromisoformat(f"{first_utc}+00:00")
    return [f"{(start + timedelta(hours=n + later)).astimezone(zone):%Y-%m-%d %H:%M}" for n in range(count)]


def test_own_headings() -> None:
    text = "time,temperature_c,rh_pct,solar_mj_m2_h\n" + "".join(
        f"2026-05-0{1 + n // 24} {n % 24:02}:00,{n % 24},50,{0.5 * (n % 24 == 12)}\n" for n in range(48)
    )
    weather = parsed(text, today=date(2026, 5, 2))
    assert weather.hourly is not None
    assert list(weather.hourly.columns) == list(HOURLY_COLUMNS)
    assert weather.hourly.index[0] == pd.Timestamp("2026-05-01 06:00", tz="UTC")  # midnight in Denver's summer
    assert weather.daily["tmax_c"].to_list() == [23.0, 23.0]
    assert weather.daily["solar_mj_m2_d"].to_list() == [0.5, 0.5]
    assert weather.daily["is_forecast"].to_list() == [False, True]


def test_own_headings_by_another_clock() -> None:
    """Berlin's summer is two hours ahead of UTC: read as UTC, 48 hours hold one whole day, from 22:00 on."""
    text = "date,time,temperature_c\n"
    text += "".join(f"2026-05-0{1 + n // 24},{n % 24:02}:00,{n}\n" for n in range(48))
    berlin = ZoneInfo("Europe/Berlin")
    local, utc = parsed(text, zone=berlin), parsed(text, '[time]\nclock = "utc"\n', zone=berlin)
    assert local.daily["tmin_c"].to_list() == [0.0, 24.0]
    assert utc.daily["tmin_c"].to_list() == [22.0]
    assert utc.daily["tmax_c"].to_list() == [45.0]


def test_the_sun_of_a_cold_sensor_stays_below_zero() -> None:
    text = "time,temperature_c,solar_mj_m2_h\n"
    text += "".join(f"2026-05-01 {hour:02}:00,5,{-0.01 if hour < 4 else 0.5}\n" for hour in range(24))
    assert parsed(text).daily["solar_mj_m2_d"].iloc[0] == pytest.approx(20 * 0.5 - 4 * 0.01)


def test_one_week_told_by_every_clock_is_one_week() -> None:
    """From Thursday to Wednesday over the change of 8 March 2026; Denver's midnight is 07:00, then 06:00 UTC."""
    count = 3 * 24 + 23 + 3 * 24
    utc, denver, mountain = ZoneInfo("UTC"), DENVER, ZoneInfo("Etc/GMT+7")
    first = "2026-03-05 07:00"
    told = [
        parsed(file_of(rows(clock_stamps(first, count, zone, late))), described(stamps, clock))
        for zone, clock in ((utc, "utc"), (denver, "local"), (mountain, "-07:00"))
        for stamps, late in (("start", 0), ("end", 1))
    ]
    for weather in told:
        assert weather.notes == ()
        assert len(weather.daily) == 7
        assert weather.hourly is not None
        assert weather.hourly.index[0] == pd.Timestamp(first, tz="UTC")
        pd.testing.assert_frame_equal(weather.hourly, told[0].hourly)
        pd.testing.assert_frame_equal(weather.daily, told[0].daily)


# Zone, UTC hour of the midnight before the day before, the day, its hours, and its rain: the hours are numbered from
# that midnight and hold a tenth of their number each, the day's own hours being 24 to 46, or to 48:
# 23 × 35 / 10 and 25 × 36 / 10.
CHANGES = [
    ("America/Denver", "2026-03-07 07:00", "2026-03-08", 23, 80.5),
    ("America/Denver", "2026-10-31 06:00", "2026-11-01", 25, 90.0),
    ("Europe/Berlin", "2026-03-27 23:00", "2026-03-29", 23, 80.5),
    ("Europe/Berlin", "2026-10-23 22:00", "2026-10-25", 25, 90.0),
    ("Australia/Sydney", "2026-04-03 13:00", "2026-04-05", 25, 90.0),
    ("Australia/Sydney", "2026-10-02 14:00", "2026-10-04", 23, 80.5),
]


@pytest.mark.parametrize("newest_first", [False, True], ids=["oldest first", "newest first"])
@pytest.mark.parametrize(("stamps", "late"), [("start", 0), ("end", 1)])
@pytest.mark.parametrize(("zone", "first_utc", "day", "length", "rain_mm"), CHANGES)
def test_wall_clock_over_a_change(
    zone: str, first_utc: str, day: str, length: int, rain_mm: float, stamps: str, late: int, newest_first: bool
) -> None:
    lines = rows(clock_stamps(first_utc, 24 + length + 24, ZoneInfo(zone), late))
    text = file_of(lines[::-1] if newest_first else lines)
    weather = parsed(text, described(stamps), ZoneInfo(zone))
    assert len(weather.daily) == 3
    row = weather.daily.loc[day]
    assert row["rain_mm"] == pytest.approx(rain_mm, abs=1e-9)
    assert (row["tmin_c"], row["tmax_c"]) == (24.0, 23.0 + length)
    assert weather.hourly is not None
    assert weather.hourly["rain_mm"].to_list() == [n / 10 for n in range(48 + length)]  # the doubled hour in order
    assert weather.notes == ()


def test_the_doubled_hour_is_there_twice_and_the_skipped_hour_is_not() -> None:
    spring = clock_stamps("2026-03-08 07:00", 23, DENVER)
    autumn = clock_stamps("2026-11-01 06:00", 25, DENVER)
    assert spring.count("2026-03-08 02:00") == 0
    assert autumn.count("2026-11-01 01:00") == 2
    assert len(parsed(file_of(rows(spring)), described()).daily) == 1
    assert len(parsed(file_of(rows(autumn)), described()).daily) == 1


def test_standard_time_all_year_shifts_summer_days_by_an_hour() -> None:
    """A logger on −07:00 begins its day at 01:00 of Denver's summer."""
    stamps = [f"2026-07-0{1 + n // 24} {n % 24:02}:00" for n in range(72)]
    weather = parsed(file_of(rows(stamps)), described(clock="-07:00"))
    # Denver's 2 July begins at 23:00 of the logger's 1 July. Rain is a tenth of 23 + … + 46 and of 47 + … + 70.
    assert weather.daily["rain_mm"].to_list() == pytest.approx([82.8, 140.4])
    assert weather.notes == (
        "2026-07-01 has 23 of its 24 hours and is left out",
        "2026-07-04 has 1 of its 24 hours and is left out",
    )


@pytest.mark.parametrize(
    ("more", "stamp"),
    [
        ("", "%Y-%m-%d %H:%M"),
        ("", "%Y-%m-%dT%H:%M"),
        ("", "%Y-%m-%d %H:%M:00"),
        ("", "%Y-%m-%dT%H:%M:00.000"),
        ('date_format = "%m/%d/%Y %H:%M"\n', "%m/%d/%Y %H:%M"),
        ('date_format = "%m/%d/%Y %I:%M %p"\n', "%m/%d/%Y %I:%M %p"),
        ('date_format = "%Y%m%d%H"\n', "%Y%m%d%H"),
        ('time = "hour"\n', "%Y-%m-%d,%H:%M"),
        ('time = "hour"\ntime_format = "%H%M"\n', "%Y-%m-%d,%H%M"),
        ('time = "hour"\ntime_format = "%H"\ndate_format = "%j %Y"\n', "%j %Y,%H"),
    ],
)
def test_forms_of_stamps(more: str, stamp: str) -> None:
    start = datetime(2026, 5, 1)  # noqa: DTZ001 - a stamp without a zone is what is tested
    stamps = [(start + timedelta(hours=n)).strftime(stamp) for n in range(24)]
    text = file_of(rows(stamps)).replace("when,", "when,hour,") if "," in stamp else file_of(rows(stamps))
    weather = parsed(text, described(more=more))
    assert weather.hourly is not None
    assert weather.hourly.index[0] == pd.Timestamp("2026-05-01 06:00", tz="UTC")
    assert weather.daily["rain_mm"].to_list() == pytest.approx([27.6])


@pytest.mark.parametrize(
    ("more", "midnight"),
    [
        ("", "2026-05-01 24:00"),
        ("", "2026-05-01T24:00:00"),
        ('time = "hour"\n', "2026-05-01,24:00"),
        ('time = "hour"\ntime_format = "%H%M"\n', "2026-05-01,2400"),
        ('date_format = "%Y%m%d%H"\n', "2026050124"),
    ],
)
def test_hour_24_is_the_next_midnight(more: str, midnight: str) -> None:
    form = midnight.replace("2026", "%Y").replace("-05-01", "-%m-%d").replace("0501", "%m%d")
    form = form.replace("24:00", "%H:%M").replace("2400", "%H%M").replace("24", "%H")
    start = datetime(2026, 5, 1)  # noqa: DTZ001 - a stamp without a zone is what is tested
    stamps = [*((start + timedelta(hours=n)).strftime(form) for n in range(1, 24)), midnight]
    text = file_of(rows(stamps)).replace("when,", "when,hour,") if "," in midnight else file_of(rows(stamps))
    weather = parsed(text, described("end", more=more))
    assert weather.hourly is not None
    assert weather.hourly.index[-1] == pd.Timestamp("2026-05-02 05:00", tz="UTC")  # 23:00 to 24:00 in Denver
    assert weather.daily["rain_mm"].to_list() == pytest.approx([27.6])


@pytest.mark.parametrize(
    ("unit", "cell"),
    [("W/m2", "500"), ("Wh/m2", "500"), ("kWh/m2", "0.5"), ("MJ/m2", "1.8"), ("langley", "43.0210325")],
)
def test_units_of_the_sun(unit: str, cell: str) -> None:
    """500 W/m² for an hour are 1.8 MJ/m²; a langley is 0.04184 MJ/m²."""
    columns = described() + f'solar = {{ column = "sun", unit = "{unit}" }}\n'
    lines = ["when,air,rain,sun", *(f"2026-05-01 {n:02}:00,10,0,{cell if n == 12 else 0}" for n in range(24))]
    weather = parsed("\n".join(lines), columns)
    assert weather.hourly is not None
    assert weather.hourly["solar_mj_m2_h"].iloc[12] == pytest.approx(1.8, abs=1e-6)
    assert weather.daily["solar_mj_m2_d"].iloc[0] == pytest.approx(1.8, abs=1e-6)


def test_incomplete_ends_are_left_out_and_said() -> None:
    stamps = [f"2026-05-0{1 + n // 24} {n % 24:02}:00" for n in range(5, 71)]
    weather = parsed(file_of(rows(stamps)), described())
    assert weather.notes == (
        "2026-05-01 has 19 of its 24 hours and is left out",
        "2026-05-03 has 23 of its 24 hours and is left out",
    )
    assert weather.hourly is not None
    assert (len(weather.hourly), len(weather.daily)) == (66, 1)
