"""The feeds a site's chain may name, with what fetching and reading each one takes. Modules are loaded when used."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from importlib import import_module
from typing import TYPE_CHECKING, Any

from etsched.feeds.cells import cell_of, degrees_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.frames.ensemble import Ensemble
    from etsched.frames.weather import Weather
    from etsched.http_client import HttpClient, RawBody
    from etsched.model.site import Place

# The members of an ensemble give ranges and are no weather to plan by.
RANGES = "open-meteo ensemble"

# Days a plan wants of a feed: enough past to stand in for missing days and to see a sensor drift, and all the
# days ahead that the week's last night looks at.
PAST_D, AHEAD_D = 45, 15


@dataclass(frozen=True, slots=True)
class Feed:
    """One feed: its key in a chain, the module of `etsched.feeds` and the tail of its function names."""

    key: str
    module: str
    name: str
    by_place: bool  # asked by grid cell, so that one answer serves all sites in it

    def fetch(
        self, client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None
    ) -> tuple[RawBody, Weather | Ensemble]:
        """Ask the feed. Raises FeedFailed."""
        answer: tuple[RawBody, Weather | Ensemble] = self._function("fetch")(client, host, ask, known)
        return answer

    def parse(self, raw: RawBody, ask: FeedAsk) -> Weather | Ensemble:
        """Read an answer that was kept. Raises FeedFailed."""
        found: Weather | Ensemble = self._function("parse")(raw, ask)
        return found

    def read(self, path: Path, ask: FeedAsk) -> Weather:
        """Read a file of the site's own. Raises FeedFailed."""
        weather: Weather = self._function("read")(path, ask)
        return weather

    def kept_as(self, place: Place, station: str) -> str:
        """Name what an answer holds for: a station, a grid cell, or the place."""
        if station:
            return station
        latitude, longitude = cell_of(self.key, place)
        return f"{degrees_text(latitude)}_{degrees_text(longitude)}"

    def _function(self, verb: str) -> Callable[..., Any]:
        function: Callable[..., Any] = getattr(import_module(f"etsched.feeds.{self.module}"), f"{verb}_{self.name}")
        return function


CATALOGUE = {
    feed.key: feed
    for feed in (
        Feed("rain gauge", "rain_gauge", "rain_gauge", by_place=False),
        Feed("agronomic station", "agronomic_station", "agronomic_station", by_place=False),
        Feed("ghcn daily", "ghcn_daily", "ghcn_daily", by_place=False),
        Feed("open-meteo forecast", "open_meteo", "open_meteo_forecast", by_place=True),
        Feed("open-meteo archive", "open_meteo", "open_meteo_archive", by_place=True),
        Feed(RANGES, "open_meteo_ensemble", "open_meteo_ensemble", by_place=True),
        Feed("nws grid", "nws_grid", "nws_grid", by_place=True),
        Feed("nasa power", "nasa_power", "nasa_power", by_place=True),
    )
}


def span(today: date) -> tuple[date, date]:
    """Give the first and the last day a plan made today wants."""
    return today - timedelta(days=PAST_D), today + timedelta(days=AHEAD_D)
