"""From all a feed tells by the hour to its weather: what is known from end to end, and what it tells beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from etsched.errors import FeedRefused
from etsched.feeds.day_rows import days_text
from etsched.feeds.hour_rows import hourly_and_daily
from etsched.frames.hours_to_days import hours_in_days, local_days
from etsched.frames.weather import HOURLY_COLUMNS, Weather

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from etsched.feeds.ask import FeedAsk
    from etsched.frames.provenance import Origin

_TELLING_HEIGHT_M = 100.0  # common practice, no source: the air differs by about 0.65 °C
# What stands in `Weather.extra`.
ET_COLUMN, CHANCE_COLUMN = "et0_feed_mm", "rain_probability_pct"


def weather_of_hours(hours: pd.DataFrame, ask: FeedAsk, origin: Origin, notes: tuple[str, ...]) -> Weather:
    """Make weather of hours; those before the first and after the last known temperature are passed over.

    Parameters
    ----------
    hours : DataFrame
        Some of HOURLY_COLUMNS and of the columns of `Weather.extra`, by UTC start of the hour, in order, each once.
    ask : FeedAsk
    origin : Origin
    notes : tuple of str
        Go along.

    Returns
    -------
    weather : Weather
        Frames as `hour_rows.hourly_and_daily` makes them; `extra` where the feed gives any of it.

    Raises
    ------
    FeedRefused
        Where no day of those asked for is known.
    """
    known = hours.index[hours["temperature_c"].notna()]
    if len(known) == 0:
        raise FeedRefused(f"it knows nothing of {days_text(ask.first, ask.last)}")
    hours = hours.loc[known[0] : known[-1]]
    hourly, daily, more = hourly_and_daily(hours[hours.columns.intersection(list(HOURLY_COLUMNS))], ask)
    extra = _extra(hours, ask.place.zone).reindex(daily.index)
    told = (*height_notes(origin, ask), *notes, *more)
    return Weather(daily, hourly, origin.feed, told, origin, extra if extra.notna().any(axis=None) else None)


def height_notes(origin: Origin, ask: FeedAsk) -> tuple[str, ...]:
    """Say if an answer is for air at another height than the site's."""
    there, here = origin.elevation_m, ask.place.elevation_m
    if there is None or abs(there - here) <= _TELLING_HEIGHT_M:
        return ()
    return (f"the air told of is that at {there:.0f} m above the sea, while the site lies at {here:.0f} m",)


def _extra(hours: pd.DataFrame, zone: ZoneInfo) -> pd.DataFrame:
    """Give each day the sum of ET, if all its hours are known, and the highest chance of rain."""
    index = pd.DatetimeIndex(hours.index)
    given = hours.reindex(columns=[ET_COLUMN, CHANCE_COLUMN]).groupby(local_days(index, zone))
    whole = given[ET_COLUMN].count() == hours_in_days(index, zone).reindex(given.size().index)
    return pd.DataFrame({ET_COLUMN: given[ET_COLUMN].sum().where(whole), CHANCE_COLUMN: given[CHANCE_COLUMN].max()})
