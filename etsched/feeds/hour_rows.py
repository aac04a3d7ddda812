"""From the hours a feed knows to the hourly frame and its site-local days, where hours may be missing inside."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from etsched.days import day_bounds
from etsched.errors import FeedRefused
from etsched.feeds.day_rows import daily_frame, days_text, without_impossible
from etsched.frames.hours_to_days import hours_in_days, hours_to_days, local_days
from etsched.frames.weather import DAILY_COLUMNS, HOURLY_COLUMNS, HOURLY_LIMITS, check_hourly

if TYPE_CHECKING:
    from etsched.feeds.ask import FeedAsk

_DAY = pd.Timedelta(days=1)


def hourly_and_daily(values: pd.DataFrame, ask: FeedAsk) -> tuple[pd.DataFrame, pd.DataFrame, tuple[str, ...]]:
    """Make both frames of the hours that belong to the days asked for.

    Parameters
    ----------
    values : DataFrame
        Some of HOURLY_COLUMNS by UTC start of the hour, in order, each once.
    ask : FeedAsk

    Returns
    -------
    hourly : DataFrame
        As `check_hourly` wants it.
    daily : DataFrame
        As `day_rows.daily_frame` makes it: a day that lacks hours of temperature is a row of NaN.
    notes : tuple of str
        What was rejected, left out or is not known.

    Raises
    ------
    FeedRefused
        Where no day is whole, or a quantity seems to be in another unit.
    """
    begins, ends = day_bounds(ask.first, ask.place.zone)[0], day_bounds(ask.last, ask.place.zone)[1]
    asked = values.loc[(values.index >= begins) & (values.index < ends)].astype("float64")
    possible, rejected = without_impossible(asked, HOURLY_LIMITS)
    hourly = check_hourly(possible.reindex(columns=list(HOURLY_COLUMNS)).rename_axis("hour_start"))
    if hourly["temperature_c"].notna().sum() == 0:
        raise FeedRefused(f"it knows nothing of {days_text(ask.first, ask.last)}")
    days, left_out = _whole_days(hourly, ask)
    daily, notes = daily_frame(days, ask)
    return hourly, daily, (*rejected, *left_out, *notes)


def _whole_days(hourly: pd.DataFrame, ask: FeedAsk) -> tuple[pd.DataFrame, list[str]]:
    """Gather each run of whole days by itself, so that an hour missing between them spoils its own day alone."""
    index = pd.DatetimeIndex(hourly.index)
    day = local_days(index, ask.place.zone)
    present = hourly["temperature_c"].notna().groupby(day).sum()
    lasts = hours_in_days(index, ask.place.zone).reindex(present.index)
    whole = present.index[present == lasts].to_series()
    if len(whole) == 0:
        raise FeedRefused(f"it knows no day of {days_text(ask.first, ask.last)} with all its hours")
    frames, notes = [], _left_out(present.index.difference(whole.index), ask)
    for _, run in whole.groupby((whole.diff() != _DAY).cumsum()):
        daily, more = hours_to_days(hourly[day.isin(run.index)], ask.place.zone, ask.today)
        frames.append(daily[list(DAILY_COLUMNS)].dropna(axis="columns", how="all"))
        notes += [note for note in more if note.startswith("rain_mm")]  # all else is told with the days not known
    return pd.concat(frames), notes


def _left_out(days: pd.Index, ask: FeedAsk) -> list[str]:
    """Tell which days that are over lack hours of temperature; today always does."""
    told = ", ".join(f"{day:%Y-%m-%d}" for day in days[days < pd.Timestamp(ask.today)])
    return [f"without all their hours of temperature, and so not known: {told}"] if told else []
