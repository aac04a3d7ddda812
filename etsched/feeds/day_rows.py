"""From what a feed knows of single days to the daily frame: the window asked for, impossible values, gaps."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pandas as pd

from etsched.documents.column_names import own_unit
from etsched.errors import FeedRefused
from etsched.frames.weather import DAILY_COLUMNS, DAILY_LIMITS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from etsched.feeds.ask import FeedAsk

_DAY = timedelta(days=1)
# One value in so many beyond what can be is an error of the sensor, more are an error of the unit. Own limit.
_SPIKES_AT_MOST = 0.25
_MOST_RUNS_TOLD = 3


def daily_frame(values: pd.DataFrame, ask: FeedAsk) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Make a daily frame of the days asked for of which anything is known.

    A day inside of which nothing is known, or no temperatures, stays as a row of NaN: another feed may know it.

    Parameters
    ----------
    values : DataFrame
        Some of DAILY_COLUMNS by day, in order, each day once.
    ask : FeedAsk

    Returns
    -------
    daily : DataFrame
        As `check_daily` wants it, but that temperatures may be missing.
    notes : tuple of str
        Which values were rejected, and on which days a quantity that the feed gives is not known.

    Raises
    ------
    FeedRefused
        Where nothing is known of the days asked for, or a quantity seems to be in another unit.
    """
    asked = values.loc[pd.Timestamp(ask.first) : pd.Timestamp(ask.last)].astype("float64")
    possible, notes = without_impossible(asked, DAILY_LIMITS)
    known = possible.index[possible.notna().any(axis=1)]
    if len(known) == 0:
        raise FeedRefused(f"it knows nothing of {days_text(ask.first, ask.last)}")
    days = pd.date_range(known[0], known[-1], name="day")
    daily = possible.reindex(index=days, columns=list(DAILY_COLUMNS))
    daily["is_forecast"] = daily.index >= pd.Timestamp(ask.today)
    given = [name for name in DAILY_COLUMNS if daily[name].notna().any()]
    return daily, (*notes, *_ends(days, ask), *_gaps(daily[given]))


def without_impossible(
    values: pd.DataFrame, limits: Mapping[str, tuple[float, float]]
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Reject the values beyond their limits, one by one.

    Parameters
    ----------
    values : DataFrame
        By day or by hour.
    limits : Mapping
        Lowest and highest value of each column.

    Returns
    -------
    possible : DataFrame
        With NaN in their place.
    notes : tuple of str
        One for each column that lost values.

    Raises
    ------
    FeedRefused
        Where they are so many that the unit or a missing-value mark must be wrong.
    """
    possible, notes = values.copy(), []
    for name in values.columns:
        low, high = limits[name]
        wrong = values.index[(values[name] < low) | (values[name] > high)]
        if len(wrong) == 0:
            continue
        worst = f"{name} of {values.loc[wrong[0], name]:g} on {wrong[0]:%Y-%m-%d}"
        beyond = f"outside {low:g} to {high:g} {own_unit(name)}"
        if len(wrong) > _SPIKES_AT_MOST * values[name].count():
            raise FeedRefused(f"it gives a {worst}, {beyond}, so that its unit cannot be what it says")
        possible.loc[wrong, name] = float("nan")
        more = f", and {len(wrong) - 1} more" if len(wrong) > 1 else ""
        notes.append(f"{worst}{more} is rejected, {beyond}")
    return possible, tuple(notes)


def days_text(first: date, last: date) -> str:
    """Write a run of days."""
    return f"{first:%Y-%m-%d}" if first == last else f"{first:%Y-%m-%d} to {last:%Y-%m-%d}"


def _ends(days: pd.DatetimeIndex, ask: FeedAsk) -> list[str]:
    """Tell where the feed knows less than was asked for; the days ahead count for one that forecasts."""
    first, last = days[0].date(), days[-1].date()
    wanted = ask.last if last >= ask.today else min(ask.last, ask.today - _DAY)
    notes = [f"nothing is known before {first}"] if first > ask.first else []
    return [*notes, f"nothing is known after {last}"] if last < wanted else notes


def _gaps(daily: pd.DataFrame) -> list[str]:
    """Tell which quantities are missing on which days, those of the same days together."""
    missing: dict[str, list[str]] = {}
    for name in daily.columns:
        if days := _runs(daily.index[daily[name].isna()]):
            missing.setdefault(days, []).append(name)
    return [f"not known on {days}: {', '.join(names)}" for days, names in missing.items()]


def _runs(index: pd.Index) -> str:
    days = index.to_series()
    runs = [run.index for _, run in days.groupby((days.diff() != _DAY).cumsum())]
    told = ", ".join(days_text(run[0], run[-1]) for run in runs[:_MOST_RUNS_TOLD])
    count = sum(len(run) for run in runs[_MOST_RUNS_TOLD:])
    return told + (f" and {count} more day{'s' * (count > 1)}" if count else "")
