"""The example mappings of config/weather, each with a file such as it describes, and a year nobody here wrote."""

from __future__ import annotations

import csv
import time
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from etsched.documents.columns import read_columns
from etsched.feeds.weather_csv import parse_weather_csv, read_weather_csv
from etsched.frames.weather import Weather

DENVER, NEW_YORK, CHICAGO = (ZoneInfo(f"America/{city}") for city in ("Denver", "New_York", "Chicago"))
TODAY = date(2026, 7, 1)

DAILY = b"""\
Date,High,Low,Precip
07/09/2026,88,57,0.00
07/10/2026,91,59,M
07/11/2026,86,60,0.25
07/12/2026,-99,58,0.00
"""


def test_observer_who_reads_at_seven(root: Path) -> None:
    """Highs and rain go to the day before: 91 °F and M to the 9th, 86 °F and 0.25 in to the 10th."""
    weather = parse_weather_csv(
        DAILY, "seven.csv", read_columns(root / "config/weather/alder_flat_daily.toml"), DENVER, TODAY
    )
    assert [f"{day:%d}" for day in weather.daily.index] == ["09", "10"]
    assert weather.daily["tmin_c"].to_list() == pytest.approx([25 / 1.8, 27 / 1.8])
    assert weather.daily["tmax_c"].to_list() == pytest.approx([59 / 1.8, 54 / 1.8])
    assert weather.daily["rain_mm"].isna().to_list() == [True, False]
    assert weather.daily["rain_mm"].iloc[1] == pytest.approx(6.35)
    assert len(weather.notes) == 3  # the 8th, the 11th and the 12th are left out


def test_logger_with_semicolons_and_hour_2400(root: Path) -> None:
    head = "Alder Flat\nlogger 2, °C\nDay;Hour;Air;Humidity;Wind;Sun;Rain\n"
    rows = [f"01.02.2026;{hour:02}00;{hour},5;60;7,2;{100 * (hour == 12)};---" for hour in range(1, 25)]
    weather = parse_weather_csv(
        (head + "\n".join(rows)).encode("cp1252"),
        "logger.csv",
        read_columns(root / "config/weather/alder_flat_hourly.toml"),
        DENVER,
        TODAY,
    )
    assert weather.hourly is not None
    assert weather.hourly.index[0] == pd.Timestamp("2026-02-01 07:00", tz="UTC")
    row = weather.daily.loc["2026-02-01"]
    assert (row["tmin_c"], row["tmax_c"], row["rh_mean_pct"]) == (1.5, 24.5, 60.0)
    assert row["solar_mj_m2_d"] == pytest.approx(0.36)
    # FAO-56 Eq. 47 by hand: 7.2 km/h are 2 m/s; 4.87 / ln(67.8 × 3 − 5.42) = 4.87 / 5.2882 = 0.9209.
    assert row["wind_m_s"] == pytest.approx(2.0 * 0.9209, abs=0.0001)
    assert pd.isna(row["rain_mm"])
    assert weather.notes == ()


@pytest.fixture(scope="module")
def year_file() -> Path:
    """The typical year of Greensboro that pvlib's wheel brings along."""
    spec = find_spec("pvlib")
    if spec is None or spec.origin is None:
        pytest.skip("pvlib is not installed; it comes with the extra named test")
    return Path(spec.origin).parent / "data" / "723170TYA.CSV"


@pytest.fixture(scope="module")
def raw(year_file: Path) -> list[dict[str, str]]:
    with year_file.open(newline="") as text:
        next(text)
        return list(csv.DictReader(text))


@pytest.fixture(scope="module")
def year(year_file: Path, root: Path) -> Weather:
    return read_weather_csv(year_file, read_columns(root / "config/weather/tmy3.toml"), NEW_YORK, TODAY)


def test_typical_year_is_whole(year: Weather) -> None:
    assert year.hourly is not None
    assert len(year.hourly) == 8760
    assert year.daily.index.to_list() == list(pd.date_range("2026-01-01", "2026-12-31"))
    assert year.notes == ()
    assert year.daily["is_forecast"].sum() == 184  # July to December


def test_typical_year_of_a_site_one_zone_away_loses_a_day(year_file: Path, root: Path) -> None:
    weather = read_weather_csv(year_file, read_columns(root / "config/weather/tmy3.toml"), CHICAGO, TODAY)
    assert len(weather.daily) == 364
    assert weather.notes == (
        "2025-12-31 has 1 of its 24 hours and is left out",
        "2026-12-31 has 23 of its 24 hours and is left out",
    )


def test_typical_year_keeps_its_sums(year: Weather, raw: list[dict[str, str]]) -> None:
    """Wh/m² × 0.0036 are MJ/m²; rain stands in tenths of a millimetre."""
    sun = sum(float(row["GHI (W/m^2)"]) for row in raw) * 0.0036
    rain = sum(float(row["Lprecip depth (mm)"]) for row in raw) / 10
    assert sun == pytest.approx(5638.3308)
    assert year.daily["solar_mj_m2_d"].sum() == pytest.approx(sun)
    assert rain == pytest.approx(834.5)
    assert year.daily["rain_mm"].sum() == pytest.approx(rain)
    assert year.daily["tmin_c"].min() == min(float(row["Dry-bulb (C)"]) for row in raw)
    assert year.daily["tmax_c"].max() == max(float(row["Dry-bulb (C)"]) for row in raw)


@pytest.mark.parametrize(
    ("day", "first", "count"),
    [
        ("2026-01-01", ("01/01", "01:00"), 24),
        ("2026-03-08", ("03/08", "01:00"), 23),  # begins by standard time, ends by summer time
        ("2026-07-04", ("07/03", "24:00"), 24),  # begins at 23:00 of standard time
        ("2026-11-01", ("10/31", "24:00"), 25),
        ("2026-12-31", ("12/31", "01:00"), 24),
    ],
)
def test_days_of_the_typical_year(
    year: Weather, raw: list[dict[str, str]], day: str, first: tuple[str, str], count: int
) -> None:
    stamps = [(row["Date (MM/DD/YYYY)"][:5], row["Time (HH:MM)"]) for row in raw]
    at = stamps.index(first)
    hours = raw[at : at + count]
    row = year.daily.loc[day]
    assert row["solar_mj_m2_d"] == pytest.approx(sum(float(hour["GHI (W/m^2)"]) for hour in hours) * 0.0036)
    assert row["rain_mm"] == pytest.approx(sum(float(hour["Lprecip depth (mm)"]) for hour in hours) / 10)
    assert row["tmin_c"] == min(float(hour["Dry-bulb (C)"]) for hour in hours)
    assert row["tmax_c"] == max(float(hour["Dry-bulb (C)"]) for hour in hours)
    # FAO-56 Annex 2, Table 2.9: the factor from 10 m to 2 m is 0.748.
    wind = sum(float(hour["Wspd (m/s)"]) for hour in hours) / count
    assert row["wind_m_s"] == pytest.approx(wind * 0.748, rel=0.001)


def test_a_year_is_read_in_well_under_a_second(year_file: Path, root: Path, year: Weather) -> None:
    """Time of the processor, so that a busy machine does not fail it; `year` has loaded what loads once."""
    columns = read_columns(root / "config/weather/tmy3.toml")
    began = time.process_time()
    read_weather_csv(year_file, columns, NEW_YORK, TODAY)
    assert time.process_time() - began < 1.0
