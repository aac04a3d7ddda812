"""A real year: the hourly typical year of Greensboro, North Carolina, inside the installed pvlib, never copied."""

from dataclasses import replace
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from zoneinfo import ZoneInfo

from etsched.documents.columns import read_columns
from etsched.documents.site_file import read_site
from etsched.feeds.weather_csv import read_weather_csv
from etsched.model.site import Place
from etsched.planning.season import replay_season

ROOT = Path(__file__).parents[2]
# Line 1 of the file: 36.1° N, 79.95° W, 273 m.
GREENSBORO = Place(36.1, -79.95, 273.0, ZoneInfo("America/New_York"))
FIRST, LAST = date(2026, 4, 1), date(2026, 9, 29)  # 26 whole weeks


def year_file() -> Path:
    spec = find_spec("pvlib")
    return Path(spec.origin).parent / "data" / "723170TYA.CSV"


def real_weather():
    columns = read_columns(ROOT / "config" / "weather" / "tmy3.toml")
    return read_weather_csv(year_file(), columns, GREENSBORO.zone, date(2027, 1, 1))


def demo_site_in_greensboro():
    return replace(read_site(ROOT / "demo" / "site.toml"), place=GREENSBORO)


def real_season():
    return list(replay_season(demo_site_in_greensboro(), real_weather(), FIRST, LAST))
