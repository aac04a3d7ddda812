"""Weather from a CSV file, daily or hourly, with whatever headings, units and clock its mapping describes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.errors import Problem, WeatherRefused
from etsched.feeds.csv_checks import check_warmth
from etsched.feeds.csv_clock import days_in_order, hours_in_order
from etsched.feeds.csv_days import days_of_hours, whole_days
from etsched.feeds.csv_numbers import contradicted_units, read_numbers
from etsched.feeds.csv_stamps import written_stamps
from etsched.feeds.csv_table import read_table
from etsched.frames.weather import DAILY_COLUMNS, HOURLY_COLUMNS, Weather, check_daily, check_hourly

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from etsched.documents.columns import ColumnMapping
    from etsched.feeds.csv_clock import Timed
    from etsched.feeds.csv_numbers import Numbers
    from etsched.feeds.csv_table import Table


def read_weather_csv(path: Path, mapping: ColumnMapping, site_zone: ZoneInfo, today: date) -> Weather:
    """Read a weather file; see `parse_weather_csv`. Raises WeatherRefused."""
    try:
        text = path.read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a path with a binary zero in it
        wrong = "it is a directory" if isinstance(error, IsADirectoryError) else "the file cannot be read"
        remedy = "name a weather file that is there"
        raise WeatherRefused([Problem(str(path), None, "", wrong, remedy)]) from None
    return parse_weather_csv(text, str(path), mapping, site_zone, today)


def parse_weather_csv(text: bytes, name: str, mapping: ColumnMapping, site_zone: ZoneInfo, today: date) -> Weather:
    """Turn the bytes of a weather file into checked weather.

    Parameters
    ----------
    text : bytes
        The whole file.
    name : str
        What problems and the weather's source call it.
    mapping : ColumnMapping
        What its columns are.
    site_zone : ZoneInfo
        Whose days the weather is for.
    today : date
        Rows of this day and later are forecast.

    Returns
    -------
    weather : Weather
        Its notes say what was left out or set right.

    Raises
    ------
    WeatherRefused
        With the problems found, each with its line.
    """
    table = read_table(text, name, mapping)
    stamps, problems = written_stamps(table)
    problems += contradicted_units(table)
    numbers = {key: read_numbers(table, key) for key in table.mapping.columns}
    problems += [problem for each in numbers.values() for problem in each.problems]
    if problems:
        raise WeatherRefused(sorted(problems, key=lambda problem: problem.line or 0))
    notes = tuple(note for each in numbers.values() for note in each.notes)
    if table.hourly:
        timed = hours_in_order(table, stamps, site_zone)
        hourly = check_hourly(_frame(table, numbers, timed, HOURLY_COLUMNS))
        daily, more = days_of_hours(table, hourly, timed, site_zone, today)
    else:
        timed, hourly = days_in_order(table, stamps), None
        daily, more = whole_days(table, _frame(table, numbers, timed, DAILY_COLUMNS), timed)
        daily["is_forecast"] = daily.index >= pd.Timestamp(today)
    check_warmth(table, daily)
    return Weather(check_daily(daily), hourly, name, (*notes, *timed.notes, *more))


def _frame(table: Table, numbers: dict[str, Numbers], timed: Timed, columns: tuple[str, ...]) -> pd.DataFrame:
    values = {table.frame_column(key): each.values[timed.rows] for key, each in numbers.items()}
    index = timed.index.rename("hour_start" if table.hourly else "day")
    return pd.DataFrame(values, index=index, columns=list(columns), dtype=np.float64)
