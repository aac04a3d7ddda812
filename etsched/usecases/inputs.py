"""Files a person hands over, read into the site and its weather."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.documents.columns import default_columns, read_columns
from etsched.documents.site_file import read_site
from etsched.feeds.weather_csv import read_weather_csv
from etsched.planning.weather_chain import checked

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from etsched.frames.weather import Weather
    from etsched.model.site import Site
    from etsched.ports import Clock


@dataclass(frozen=True, slots=True)
class Inputs:
    """A site and its weather, with the day that counts as today."""

    site: Site
    weather: Weather
    today: date


def read_inputs(site_file: Path, weather_file: Path, columns_file: Path | None, clock: Clock) -> Inputs:
    """Read a site and its weather. Raises SiteRefused, ColumnsRefused or WeatherRefused."""
    site = read_site(site_file)
    today = clock.today(site.place.zone)
    weather = read_weather(weather_file, columns_file, site.place.zone, today)
    return Inputs(site, checked(weather, site.place), today)


def read_weather(weather_file: Path, columns_file: Path | None, zone: ZoneInfo, today: date) -> Weather:
    """Read a weather file of a place; rows from `today` on are forecast."""
    columns = default_columns() if columns_file is None else read_columns(columns_file)
    return read_weather_csv(weather_file, columns, zone, today)
