"""Daily weather files as people have them; every expected value is worked out by hand or printed by FAO-56."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from etsched.errors import WeatherRefused
from etsched.frames.weather import DAILY_COLUMNS
from tests.bad_input.weather_files import OWN, STATION, STATION_COLUMNS, TODAY, parsed, spoilt


def test_own_headings() -> None:
    weather = parsed(OWN, today=date(2026, 5, 4))
    daily = weather.daily
    assert daily.index.to_list() == [pd.Timestamp(2026, 5, day) for day in range(1, 6)]
    assert list(daily.columns) == [*DAILY_COLUMNS, "is_forecast"]
    assert daily["tmin_c"].to_list() == [8.1, 9.0, 10.2, 7.4, 8.8]
    assert daily["rain_mm"].to_list() == [0.0, 0.0, 6.4, 0.0, 0.0]
    assert daily["wind_m_s"].to_list() == [2.1, 1.8, 3.0, 2.2, 1.9]  # at 2 m already
    assert daily["is_forecast"].to_list() == [False, False, False, True, True]
    assert daily["sunshine_h"].isna().all()
    assert (weather.hourly, weather.source, weather.notes) == (None, "weather.csv", ())


@pytest.mark.parametrize(
    "same",
    [
        b"\xef\xbb\xbf" + OWN.encode(),
        OWN.replace("\n", "\r\n").encode(),
        OWN.replace("\n", "\r").encode(),
        OWN.rstrip().encode(),
        (OWN + "\n,,,,,,\n\n").encode(),
        OWN.replace(",", " , ").encode(),
        OWN.replace("\n", ",\n").replace("rh_mean_pct,", "rh_mean_pct").encode(),
        OWN.replace("2026-05-03", '"2026-05-03"').encode(),
        "\n".join([OWN.split("\n")[0], *reversed(OWN.split("\n")[1:])]).encode(),
    ],
    ids=["BOM", "CRLF", "CR", "no end", "blank rows", "spaces", "delimiters at the end", "quotes", "newest first"],
)
def test_what_makes_no_difference(same: bytes) -> None:
    pd.testing.assert_frame_equal(parsed(same).daily, parsed(OWN).daily)


def test_units_of_a_station() -> None:
    daily = parsed(STATION, STATION_COLUMNS).daily
    first = daily.iloc[0]
    assert first["tmin_c"] == pytest.approx((46.6 - 32) / 1.8)
    assert first["tmax_c"] == pytest.approx((70.5 - 32) / 1.8)
    assert first["dewpoint_c"] == pytest.approx((44 - 32) / 1.8)
    assert daily["rain_mm"].to_list() == pytest.approx([0.0, 0.0, 6.35, 0.0, 0.0])
    assert first["solar_mj_m2_d"] == 22.4
    # FAO-56 Annex 2, Table 2.9: the factor from 10 m to 2 m is 0.748.
    assert first["wind_m_s"] == pytest.approx(4.7 * 0.44704 * 0.748, abs=0.0005 * 2.1)


def one_day(heading: str, cell: str, table: str, more: str = "") -> pd.Series:
    """Read one day with one quantity beside its temperatures."""
    columns = f'rows = "daily"\n{more}\n[columns]\ntmin = {{ column = "low", unit = "degC" }}\n'
    columns += f'tmax = {{ column = "high", unit = "degC" }}\n{table}\n'
    return parsed(
        f"date;low;high;{heading}\n2026-07-01;12;30;{cell}\n", f'{columns}[file]\ndelimiter = ";"'
    ).daily.iloc[0]


# 21.6 MJ/m² a day: 250 W/m² × 86,400 s; ÷ 3.6 MJ/kWh; ÷ 0.04184 MJ/m² a langley.
@pytest.mark.parametrize(
    ("cell", "unit"),
    [
        ("250", "W/m2"),
        ("6000", "Wh/m2"),
        ("6", "kWh/m2"),
        ("21.6", "MJ/m2"),
        ("21.6", "MJ/m2/day"),
        ("516.2524", "Ly/day"),
        ("516.2524", "langley"),
        ("216", "0.1 MJ/m2"),
    ],
)
def test_units_of_the_sun(cell: str, unit: str) -> None:
    row = one_day("sun", cell, f'solar = {{ column = "sun", unit = "{unit}" }}')
    assert row["solar_mj_m2_d"] == pytest.approx(21.6, abs=1e-5)


@pytest.mark.parametrize(
    ("key", "column", "cell", "unit", "expected"),
    [
        ("rain", "rain_mm", "0.5", "in", 12.7),
        ("rain", "rain_mm", "127", "0.1 mm", 12.7),
        ("rain", "rain_mm", "50", "0.01 in", 12.7),
        ("rain", "rain_mm", "1.27", "cm", 12.7),
        ("vapour_pressure", "vapour_pressure_kpa", "14.2", "hPa", 1.42),
        ("vapour_pressure", "vapour_pressure_kpa", "14.2", "mbar", 1.42),
        ("dewpoint", "dewpoint_c", "285.15", "K", 12.0),
        ("rh_mean", "rh_mean_pct", "0.61", "dimensionless", 61.0),
        ("sunshine", "sunshine_h", "450", "min", 7.5),
    ],
)
def test_other_units(key: str, column: str, cell: str, unit: str, expected: float) -> None:
    row = one_day("x", cell, f'{key} = {{ column = "x", unit = "{unit}" }}')
    assert row[column] == pytest.approx(expected, abs=1e-9)


def test_wind_at_ten_metres() -> None:
    """FAO-56 Example 14: 3.2 m/s at 10 m are 2.4 m/s at 2 m."""
    row = one_day("wind", "3.2", 'wind = { column = "wind", unit = "m/s", height = "10 m" }')
    assert round(row["wind_m_s"], 1) == 2.4


def test_wind_at_two_metres_stays() -> None:
    row = one_day("wind", "3.2", 'wind = { column = "wind", unit = "m/s", height = "2 m" }')
    assert row["wind_m_s"] == 3.2


@pytest.mark.parametrize("cell", ["", " ", "-999", "-999.0", "-999.00", "M", "-99"])
def test_missing_marks(cell: str) -> None:
    marks = '[file]\nmissing = ["-999", "M"]\n'
    columns = f'rows = "daily"\n{marks}[columns]\ntmin = {{ column = "low", unit = "degC" }}\n'
    columns += 'tmax = { column = "high", unit = "degC" }\nrain = { column = "rain", unit = "mm", missing = ["-99"] }\n'
    assert np.isnan(parsed(f"date,low,high,rain\n2026-07-01,12,30,{cell}\n", columns).daily["rain_mm"].iloc[0])


def test_semicolons_and_decimal_commas_under_own_headings() -> None:
    text = OWN.replace(",", ";").replace(".", ",")
    pd.testing.assert_frame_equal(parsed(text, '[file]\ndelimiter = ";"\ndecimal = ","\n').daily, parsed(OWN).daily)


def test_another_encoding() -> None:
    columns = spoilt(STATION_COLUMNS, "header_line = 2", 'header_line = 2\nencoding = "cp1252"')
    text = spoilt(STATION, "lower meadow", "lower meadow, °F").encode("cp1252")
    pd.testing.assert_frame_equal(parsed(text, columns).daily, parsed(STATION, STATION_COLUMNS).daily)


def test_headings_that_repeat_are_told_apart_by_position() -> None:
    columns = 'rows = "daily"\n[columns]\ntmin = { column = 3, unit = "degC" }\ntmax = { column = 2, unit = "degC" }\n'
    daily = parsed("date,Air,Air\n2026-07-01,30,12\n", columns).daily
    assert (daily["tmin_c"].iloc[0], daily["tmax_c"].iloc[0]) == (12.0, 30.0)


@pytest.mark.parametrize(
    ("form", "cells"),
    [
        ("%d/%m/%Y", ("03/04/2026", "4/4/2026")),
        ("%d.%m.%y", ("03.04.26", "04.04.26")),
        ("%Y%m%d", ("20260403", "20260404")),
        ("%d %b %Y", ("3 Apr 2026", "4 Apr 2026")),
        ("%Y-%j", ("2026-093", "2026-094")),
        ("%m/%d/%Y %H:%M", ("4/3/2026 0:00", "4/4/2026 0:00")),
    ],
)
def test_forms_of_dates(form: str, cells: tuple[str, str]) -> None:
    columns = f'rows = "daily"\n[time]\ndate_format = "{form}"\n[columns]\n'
    columns += 'tmin = { column = "low", unit = "degC" }\ntmax = { column = "high", unit = "degC" }\n'
    text = "date,low,high\n" + "".join(f"{cell},8,20\n" for cell in cells)
    assert parsed(text, columns).daily.index.to_list() == [pd.Timestamp(2026, 4, 3), pd.Timestamp(2026, 4, 4)]


def read_at(hour: int, keys: tuple[str, ...]) -> str:
    return 'rows = "daily"\n[columns]\n' + "".join(
        f'{key} = {{ column = "{key}", unit = "{unit}"{f", day_ends_at = {hour}" if key in keys else ""} }}\n'
        for key, unit in (("tmin", "degC"), ("tmax", "degC"), ("rain", "mm"))
    )


READ = "date,tmin,tmax,rain\n2026-05-02,8,20,1\n2026-05-03,9,21,2\n2026-05-04,10,22,3\n"


def test_rain_read_in_the_morning_is_of_the_day_before() -> None:
    weather = parsed(READ, read_at(9, ("rain",)))
    assert weather.daily["rain_mm"].to_list()[:2] == [2.0, 3.0]
    assert np.isnan(weather.daily["rain_mm"].iloc[2])
    assert weather.daily["tmax_c"].to_list() == [20.0, 21.0, 22.0]
    assert weather.notes == (
        "2026-05-01 lacks its lowest or highest temperature and is left out",
        "rain of 2026-05-04 is read on the morning after and not known",
    )


def test_highest_temperature_read_in_the_morning_too() -> None:
    weather = parsed(READ, read_at(7, ("rain", "tmax")))
    assert weather.daily.index.to_list() == [pd.Timestamp(2026, 5, 2), pd.Timestamp(2026, 5, 3)]
    assert weather.daily["tmin_c"].to_list() == [8.0, 9.0]
    assert weather.daily["tmax_c"].to_list() == [21.0, 22.0]
    assert weather.daily["rain_mm"].to_list() == [2.0, 3.0]
    assert weather.notes == (
        "2026-05-01 lacks its lowest or highest temperature and is left out",
        "2026-05-04 lacks its lowest or highest temperature and is left out",
    )


@pytest.mark.parametrize("hour", [0, 12, 17, 24])
def test_what_is_read_in_the_evening_stays(hour: int) -> None:
    pd.testing.assert_frame_equal(
        parsed(READ, read_at(hour, ("rain", "tmax"))).daily, parsed(READ, read_at(0, ())).daily
    )


def test_a_gap_dated_back_is_told_on_its_own_line() -> None:
    with pytest.raises(WeatherRefused) as caught:
        parsed(READ.replace("10,22,3", "10,,3") + "2026-05-05,11,23,4\n", read_at(7, ("rain", "tmax")))
    assert str(caught.value) == (
        "weather.csv, line 4, tmax: 2026-05-03 has no value here; "
        "add what is missing, or cut the file before or after the gap."
    )


def test_all_read_in_the_morning() -> None:
    weather = parsed(READ, read_at(7, ("tmin", "tmax", "rain")))
    assert weather.daily.index.to_list() == [
        pd.Timestamp(2026, 5, 1),
        pd.Timestamp(2026, 5, 2),
        pd.Timestamp(2026, 5, 3),
    ]
    assert weather.daily["tmin_c"].to_list() == [8.0, 9.0, 10.0]
    assert weather.daily["rain_mm"].to_list() == [1.0, 2.0, 3.0]


@pytest.mark.parametrize(("old", "new", "line"), [("8,20", "20,8", 2), ("10,22", "22,10", 4)])
def test_what_contradicts_is_told_where_it_was_read(old: str, new: str, line: int) -> None:
    with pytest.raises(WeatherRefused) as caught:
        parsed(READ.replace(old, new), read_at(7, ("tmin", "tmax", "rain")))
    assert [problem.line for problem in caught.value.problems] == [line]


def test_days_at_the_ends_without_temperatures_are_left_out_and_said() -> None:
    weather = parsed("date,tmin_c,tmax_c\n2026-05-01,,20\n2026-05-02,8,20\n2026-05-03,9,\n")
    assert weather.daily.index.to_list() == [pd.Timestamp(2026, 5, 2)]
    assert weather.notes == (
        "2026-05-01 lacks its lowest or highest temperature and is left out",
        "2026-05-03 lacks its lowest or highest temperature and is left out",
    )


def test_humidity_in_fog_counts_as_100_and_is_said() -> None:
    weather = parsed(spoilt(OWN, "11.2,84", "11.2,102.5"))
    assert weather.daily["rh_mean_pct"].to_list() == [61.0, 55.0, 100.0, 58.0, 54.0]
    assert weather.notes == ("rh_mean_pct reads between 100 and 105 % in 1 rows, taken as 100 %",)


def test_a_typical_year_loses_29_february_in_a_year_without() -> None:
    days = pd.date_range("2024-02-27", "2024-03-02")
    text = "date,low,high\n" + "".join(f"{day:%Y-%m-%d},{day.day},30\n" for day in days)
    columns = 'rows = "daily"\n[time]\nyear = {}\n[columns]\n'
    columns += 'tmin = {{ column = "low", unit = "degC" }}\ntmax = {{ column = "high", unit = "degC" }}\n'
    plain = parsed(text, columns.format(2026), today=TODAY)
    assert [f"{day:%Y-%m-%d}" for day in plain.daily.index] == ["2026-02-27", "2026-02-28", "2026-03-01", "2026-03-02"]
    assert plain.daily["tmin_c"].to_list() == [27.0, 28.0, 1.0, 2.0]
    assert plain.notes == ("29 February is left out, as 2026 has none",)
    leap = parsed(text, columns.format(2028), today=TODAY)
    assert leap.daily["tmin_c"].to_list() == [27.0, 28.0, 29.0, 1.0, 2.0]
    assert leap.notes == ()
