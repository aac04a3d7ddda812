"""The real feeds against the loopback server: the same keys, units and types. Run only when asked for."""

import json
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from demo.weather_server import start_weather_server
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.catalogue import CATALOGUE
from etsched.http_client import HttpClient
from etsched.model.site import Place
from etsched.settings import HOSTS

pytestmark = pytest.mark.live
PLACE = Place(39.74, -104.99, 1609.0, ZoneInfo("America/Denver"))
PREFIXES = {
    "open-meteo forecast": "/open-meteo-forecast",
    "open-meteo archive": "/open-meteo-archive",
    "open-meteo ensemble": "/open-meteo-ensemble",
    "nasa power": "/power",
    "nws grid": "/nws",
    "ghcn daily": "/ghcn",
}


def _shape(value, depth=0):
    """Keys, and the types of what stands under them; units word by word; lists by their first known member."""
    if isinstance(value, dict):
        return {key: _shape(each, depth + 1) for key, each in sorted(value.items())[:200] if not key.isdigit()}
    if isinstance(value, list):
        return [_shape(next((each for each in value if each is not None), None), depth + 1)]
    return type(value).__name__


def _units(document):
    return (
        {key: value for key, value in document.items() if key.endswith("_units")} if isinstance(document, dict) else {}
    )


@pytest.mark.parametrize("feed", PREFIXES)
def test_the_loopback_feed_has_the_shape_of_the_real_one(feed):
    today = datetime.now(UTC).astimezone(PLACE.zone).date()
    station = "USW00023062" if feed == "ghcn daily" else ""
    ask = FeedAsk(PLACE, today - timedelta(days=20), today + timedelta(days=5), today, station)
    client = HttpClient(contact="grounds@example.org")
    real, _ = CATALOGUE[feed].fetch(client, FeedHost(HOSTS[feed], contact="grounds@example.org"), ask, None)
    with start_weather_server(today) as server:
        host = FeedHost(server.base_url + PREFIXES[feed], contact="grounds@example.org")
        played, _ = CATALOGUE[feed].fetch(client, host, ask, None)
    theirs, ours = json.loads(real.body), json.loads(played.body)
    assert _units(theirs) == _units(ours)
    if isinstance(theirs, dict):
        assert set(_shape(ours)) <= set(_shape(theirs))
