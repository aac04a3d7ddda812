"""Good weather files and mappings, to be spoilt one thing at a time."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from etsched.documents.columns import ColumnMapping, default_columns, parse_columns
from etsched.feeds.weather_csv import parse_weather_csv
from etsched.frames.weather import Weather

DENVER = ZoneInfo("America/Denver")
TODAY = date(2026, 6, 1)

# Daily rows under the program's own headings.
OWN = """\
date,tmin_c,tmax_c,rain_mm,wind_m_s,solar_mj_m2_d,rh_mean_pct
2026-05-01,8.1,21.4,0.0,2.1,22.4,61
2026-05-02,9.0,23.0,0.0,1.8,24.0,55
2026-05-03,10.2,18.5,6.4,3.0,11.2,84
2026-05-04,7.4,20.1,0.0,2.2,23.5,58
2026-05-05,8.8,22.7,0.0,1.9,24.8,54
"""

# Daily rows of somebody's station, and the mapping that describes them.
STATION = """\
Station 4 of the lower meadow
Day,Low (F),High (F),Rain (in),Wind,Sun,Dew
05/01/2026,46.6,70.5,0.00,4.7,22.4,44
05/02/2026,48.2,73.4,0.00,4.0,24.0,45
05/03/2026,50.4,65.3,0.25,6.7,11.2,50
05/04/2026,45.3,68.2,0.00,4.9,23.5,43
05/05/2026,47.8,72.9,0.00,4.3,24.8,44
"""
STATION_COLUMNS = """\
rows = "daily"

[file]
header_line = 2

[time]
date = "Day"
date_format = "%m/%d/%Y"

[columns.tmin]
column = "Low (F)"
unit = "degF"

[columns.tmax]
column = "High (F)"
unit = "degF"

[columns.rain]
column = "Rain (in)"
unit = "in"

[columns.wind]
column = "Wind"
unit = "mph"
height = "10 m"

[columns.solar]
column = "Sun"
unit = "MJ/m2"

[columns.dewpoint]
column = "Dew"
unit = "degF"
"""
HOURLY_COLUMNS = """\
rows = "hourly"

[time]
date = "when"
stamps = "start"
clock = "local"

[columns]
temperature = { column = "air", unit = "degC" }
dewpoint = { column = "dew", unit = "degC" }
rain = { column = "rain", unit = "mm" }
"""


def spoilt(good: str, old: str, new: str) -> str:
    """Change one place of a good file."""
    assert good.count(old) == 1, f"{old!r} stands {good.count(old)} times"
    return good.replace(old, new)


def hours(first: str, count: int) -> list[str]:
    """Lines of an hourly file by a clock that never changes: heading, then one row an hour of 10 °C."""
    start = datetime.fromisoformat(first)
    stamps = [start + timedelta(hours=n) for n in range(count)]
    return ["when,air,dew,rain", *(f"{stamp:%Y-%m-%d %H:%M},10.0,4.0,0.0" for stamp in stamps)]


def parsed(
    text: str | bytes, columns: str | ColumnMapping | None = None, zone: ZoneInfo = DENVER, today: date = TODAY
) -> Weather:
    """Read a weather file given as text, by a mapping given as TOML or by the program's own headings."""
    mapping = parse_columns(columns, "columns.toml") if isinstance(columns, str) else columns
    raw = text.encode() if isinstance(text, str) else text
    return parse_weather_csv(raw, "weather.csv", mapping or default_columns(), zone, today)
