"""Open-Meteo's ensemble forecast: the same days told by many members of a model, all of them kept."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from etsched.days import day_bounds
from etsched.errors import FeedRefused, PlanRefused
from etsched.feeds.day_rows import days_text
from etsched.feeds.hourly_weather import height_notes
from etsched.feeds.json_answer import other_form
from etsched.feeds.open_meteo import ATTRIBUTION
from etsched.feeds.open_meteo_answer import hourly_block
from etsched.feeds.open_meteo_question import DEWPOINT, RAIN, SUN, TEMPERATURE, WIND, Source, days_within, question
from etsched.frames.ensemble import ensemble_of_hours
from etsched.frames.weather import HOURLY_LIMITS

if TYPE_CHECKING:
    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.frames.ensemble import Ensemble
    from etsched.http_client import HttpClient, RawBody

ENSEMBLE = Source("/v1/ensemble", "open-meteo ensemble", ATTRIBUTION, (TEMPERATURE, DEWPOINT, WIND, SUN, RAIN))
# Of the models on offer the one that has sun and rain for a month ahead, 31 members (from memory, to be verified).
MODEL = "ncep_gefs_seamless"
_PAST_COUNT, _AHEAD_COUNT = 1, 35
_FEWEST_MEMBERS = 2


def fetch_open_meteo_ensemble(
    client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None = None, *, model: str = MODEL
) -> tuple[RawBody, Ensemble]:
    """Ask for the days that an ensemble can know; see `parse_open_meteo_ensemble`. Raises FeedFailed."""
    request = question(ENSEMBLE, host, ask, days_within(ask, ENSEMBLE, _PAST_COUNT, _AHEAD_COUNT))
    request = replace(request, params={**request.params, "models": model})
    return client.get(request, lambda raw: parse_open_meteo_ensemble(raw, ask), known=known)


def parse_open_meteo_ensemble(raw: RawBody, ask: FeedAsk) -> Ensemble:
    """Read an answer.

    Parameters
    ----------
    raw : RawBody
    ask : FeedAsk

    Returns
    -------
    ensemble : Ensemble
        The days asked for that any member knows, wind brought to 2 m; what no member can mean is rejected.

    Raises
    ------
    FeedRefused
        Where the answer is not what was asked for, has no members beside the control, or ends before today.
    FeedFailed
        Where it was cut short.
    """
    block = hourly_block(raw, ENSEMBLE, ask)
    _check_members(block.members)
    members, rejected = _possible(block.members, ask)
    try:
        found = ensemble_of_hours(members, ask.place.zone, block.origin, (*height_notes(block.origin, ask), *rejected))
    except PlanRefused:
        raise FeedRefused(f"it knows no day of {days_text(ask.first, ask.last)} with all its hours") from None
    if (newest := found.days[-1].date()) < ask.today <= ask.last:
        raise FeedRefused(f"it gives a stale forecast, which ends on {newest}, and today is {ask.today}")
    return found


def _possible(members: dict[str, pd.DataFrame], ask: FeedAsk) -> tuple[dict[str, pd.DataFrame], list[str]]:
    """Give the hours of the days asked for without the values that cannot be, and say how many those are."""
    begins, ends = day_bounds(ask.first, ask.place.zone)[0], day_bounds(ask.last, ask.place.zone)[1]
    hours = members["temperature_c"].index
    asked = hours[(hours >= begins) & (hours < ends)]
    kept, notes = {}, []
    for column, values in members.items():
        low, high = HOURLY_LIMITS[column]
        told = values.reindex(asked)
        possible = (told >= low) & (told <= high)
        kept[column] = told.where(possible)
        if count := int((told.notna() & ~possible).to_numpy().sum()):
            notes.append(f"{column} is rejected in {count} hours of a member, outside {low:g} to {high:g}")
    return kept, notes


def _check_members(members: dict[str, pd.DataFrame]) -> None:
    counts = {len(values.columns) for values in members.values()}
    if len(counts) > 1:
        raise other_form("its variables have different members")
    if min(counts) < _FEWEST_MEMBERS:
        raise other_form("there are no members beside the control")
