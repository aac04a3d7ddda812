"""Station-years that nobody here wrote, inside installable packages; they are read where they lie, never copied.

pvlib holds three typical years by the hour (two in the TMY3 layout, one in TMY2). pcse 6.0.13 holds four European
stations by the day with a reference ET of their own, 24 years of Wageningen with rain and wind at 2 m, and two years
of a grid cell in Andalusia, interpolated from stations. Importing pcse writes to the home folder, so that its files
are found without. Its second grid cell is left out: it bears the coordinates of another cell.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from etsched.core import atmosphere
from etsched.documents.columns import read_columns
from etsched.feeds.weather_csv import read_weather_csv
from etsched.frames.hours_to_days import hours_to_days
from etsched.frames.weather import DAILY_COLUMNS, HOURLY_COLUMNS
from etsched.model.site import Place
from etsched.planning.weather_filling import Climate

ROOT = Path(__file__).parents[2]
LATER = date(2100, 1, 1)
PCSE_NEEDED = "needs pcse's weather files: pip install --no-deps pcse==6.0.13"
PVLIB_NEEDED = "needs pvlib's weather files: pip install -e .[test]"

# Latitude, longitude and elevation as the package's own check of its formula states them.
EUROPEAN = {
    "8011_asturias": (Place(43.5667, -6.0442, 130.0, ZoneInfo("Europe/Madrid")), Climate.COAST),
    "2297_sweden": (Place(64.4833, 21.5833, 37.0, ZoneInfo("Europe/Stockholm")), Climate.COAST),
    "10870_munchen_flughafen": (Place(48.3667, 11.8, 453.0, ZoneInfo("Europe/Berlin")), Climate.INLAND),
    "8443_ronda": (Place(36.75, -5.1667, 3.0, ZoneInfo("Europe/Madrid")), Climate.DRY),
}
WAGENINGEN = Place(51.97, 5.67, 7.0, ZoneInfo("Europe/Amsterdam"))
ANDALUSIA_CELL, ANDALUSIA = 31031, Place(37.64, -6.09, 47.0, ZoneInfo("Europe/Madrid"))
# Clocks keep standard time all year.
TMY3 = {
    "723170TYA.CSV": (Place(36.1, -79.95, 273.0, ZoneInfo("Etc/GMT+5")), "-05:00", Climate.INLAND),
    "703165TY.csv": (Place(55.317, -160.517, 7.0, ZoneInfo("Etc/GMT+9")), "-09:00", Climate.COAST),
}
MIAMI = Place(25.8, -80.267, 2.0, ZoneInfo("Etc/GMT+5"))


@dataclass(frozen=True, eq=False)
class StationYear:
    """Days of one station; `et0_mm` is the file's own reference ET, where it has one."""

    name: str
    place: Place
    climate: Climate
    daily: pd.DataFrame
    hourly: pd.DataFrame | None = None
    et0_mm: np.ndarray | None = None


def pcse_files() -> Path | None:
    """Find pcse's data without importing it."""
    spec = find_spec("pcse")
    folder = Path(spec.origin).parent / "tests" / "test_data" if spec and spec.origin else None
    return folder if folder and folder.is_dir() else None


def pvlib_files() -> Path | None:
    """Find pvlib's data without importing it."""
    spec = find_spec("pvlib")
    folder = Path(spec.origin).parent / "data" if spec and spec.origin else None
    return folder if folder and (folder / "12839.tm2").is_file() else None


def daily_frame(days: list[date], **columns: object) -> pd.DataFrame:
    """Lay readings into a daily frame; days that lie between and are not given are NaN."""
    frame = pd.DataFrame(np.nan, index=pd.DatetimeIndex(days, name="day"), columns=list(DAILY_COLUMNS))
    for name, values in columns.items():
        frame[name] = np.asarray(values, dtype=np.float64)
    whole = frame.reindex(pd.date_range(frame.index[0], frame.index[-1], name="day"))
    return whole.assign(is_forecast=False)


@cache
def european() -> tuple[StationYear, ...]:
    """The four stations with their own ET0; wind is measured at 10 m, radiation is in kJ, vapour in hPa."""
    return tuple(_european(name) for name in EUROPEAN)


def _european(name: str) -> StationYear:
    with (_pcse() / f"{name}.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    day = [datetime.strptime(row["DAY"], "%d-%b-%y").date() for row in rows]  # noqa: DTZ007 - a date
    names = ("TEMPERATURE_MIN", "TEMPERATURE_MAX", "VAPOURPRESSURE", "RADIATION", "WINDSPEED_10M", "ET0")
    low, high, vapour, sun, wind, et0 = (np.array([_number(row[key]) for row in rows]) for key in names)
    daily = daily_frame(
        day,
        tmin_c=low,
        tmax_c=high,
        vapour_pressure_kpa=vapour / 10.0,
        solar_mj_m2_d=sun / 1000.0,
        wind_m_s=atmosphere.wind_at_2m(wind, 10.0),
    )
    place, climate = EUROPEAN[name]
    theirs = pd.Series(et0, index=pd.DatetimeIndex(day)).reindex(daily.index).to_numpy()
    return StationYear(name, place, climate, daily, et0_mm=theirs)


def _number(cell: str) -> float:
    """Read a cell that may be empty or end in the bracket that some lines of the files carry."""
    return float(cell.strip().rstrip(");") or "nan")


@cache
def wageningen() -> tuple[StationYear, ...]:
    """The years 1976 to 1999 at the Haarweg, each its own; 1991 ends in August."""
    return tuple(_wageningen(path) for path in sorted(_pcse().glob("NL1.*")))


def _wageningen(path: Path) -> StationYear:
    lines = [line.split() for line in path.read_text("latin-1").splitlines() if not line.startswith("*")]
    table = np.array([cells for cells in lines if len(cells) == 9], dtype=np.float64)
    # Beside the readings stand lines of their status, small whole numbers, mostly but not always marked by -999.
    status = (table[:, 0] == -999.0) | ((table[:, 3] <= 3.0) & (table[:, 4] == 1.0) & (table[:, 5] == 1.0))
    table = table[~status]
    table[table == -99.0] = np.nan
    day = [date(int(year), 1, 1) + timedelta(days=int(number) - 1) for year, number in table[:, 1:3]]
    names = ("solar_mj_m2_d", "tmin_c", "tmax_c", "vapour_pressure_kpa", "wind_m_s", "rain_mm")
    columns = dict(zip(names, table[:, 3:].T, strict=True))
    columns["solar_mj_m2_d"] = columns["solar_mj_m2_d"] / 1000.0
    return StationYear(path.name, WAGENINGEN, Climate.INLAND, daily_frame(day, **columns))


@cache
def andalusia() -> StationYear:
    """Two years of a grid cell north of Seville, from December 1999 on."""
    dump = (_pcse() / "pcse_dump.sql").read_text("latin-1")
    row = re.compile(rf"INSERT INTO \"grid_weather\" VALUES\({ANDALUSIA_CELL},'([-\d]+)',([^)]*)\)")
    found = row.findall(dump)
    table = np.array([cells.split(",")[:9] for _, cells in found], dtype=np.float64)
    daily = daily_frame(
        [date.fromisoformat(day) for day, _ in found],
        tmax_c=table[:, 0],
        tmin_c=table[:, 1],
        vapour_pressure_kpa=table[:, 2] / 10.0,
        wind_m_s=atmosphere.wind_at_2m(table[:, 3], 10.0),
        rain_mm=table[:, 4],
        solar_mj_m2_d=table[:, 8] / 1000.0,
    )
    return StationYear("andalusia", ANDALUSIA, Climate.DRY, daily)


@cache
def typical() -> tuple[StationYear, ...]:
    """pvlib's typical years, with hours of sunshine counted: an hour of at least 120 W/m² of direct sun."""
    return (*(_tmy3(name) for name in TMY3), _tmy2())


def _tmy3(name: str) -> StationYear:
    place, clock, climate = TMY3[name]
    columns = read_columns(ROOT / "config" / "weather" / "tmy3.toml")
    columns = columns.model_copy(update={"time": columns.time.model_copy(update={"clock": clock})})
    weather = read_weather_csv(_pvlib() / name, columns, place.zone, LATER)
    with (_pvlib() / name).open(encoding="utf-8") as file:
        next(file)  # describes the station
        direct = np.array([float(row["DNI (W/m^2)"]) for row in csv.DictReader(file)])
    return StationYear(
        name, place, climate, _with_sunshine(weather.daily, weather.hourly, direct, place), weather.hourly
    )


def _tmy2() -> StationYear:
    """Fixed columns: after the date, fields of four digits and two marks each; rain is not among them."""
    lines = (_pvlib() / "12839.tm2").read_text("ascii").splitlines()[1:]

    def field(first: int, last: int) -> np.ndarray:
        return np.array([line[first:last] for line in lines], dtype=np.float64)

    month, day, hour = field(3, 5), field(5, 7), field(7, 9)
    first = pd.to_datetime(pd.DataFrame({"year": 2026, "month": month, "day": day}))
    # A row holds for the hour before its time, which runs from 1 to 24 by Eastern Standard Time.
    utc = first + pd.to_timedelta(hour - 1.0 + 5.0, unit="h")
    index = pd.DatetimeIndex(utc, name="hour_start").tz_localize("UTC")
    hourly = pd.DataFrame(np.nan, index=index, columns=list(HOURLY_COLUMNS))
    hourly["temperature_c"] = field(67, 71) / 10.0
    hourly["dewpoint_c"] = field(73, 77) / 10.0
    hourly["rh_pct"] = field(79, 82)
    hourly["wind_m_s"] = atmosphere.wind_at_2m(field(95, 98) / 10.0, 10.0)
    hourly["solar_mj_m2_h"] = field(17, 21) * 0.0036
    daily, _ = hours_to_days(hourly, MIAMI.zone, LATER)
    daily = _with_sunshine(daily, hourly, field(23, 27), MIAMI)
    return StationYear("12839.tm2", MIAMI, Climate.COAST, daily, hourly)


def _with_sunshine(daily: pd.DataFrame, hourly: pd.DataFrame, direct_w_m2: np.ndarray, place: Place) -> pd.DataFrame:
    day = hourly.index.tz_convert(place.zone).tz_localize(None).normalize()
    sunny = pd.Series((direct_w_m2 >= 120.0).astype(float), index=day).groupby(level=0).sum()
    return daily.assign(sunshine_h=sunny.reindex(daily.index))


def every_year() -> Iterator[StationYear]:
    """All of them."""
    yield from european()
    yield from wageningen()
    yield andalusia()
    yield from typical()


def _pcse() -> Path:
    folder = pcse_files()
    if folder is None:
        raise FileNotFoundError(PCSE_NEEDED)
    return folder


def _pvlib() -> Path:
    folder = pvlib_files()
    if folder is None:
        raise FileNotFoundError(PVLIB_NEEDED)
    return folder
