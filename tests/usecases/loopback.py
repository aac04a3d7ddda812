"""A site whose chain is asked on this machine: the demo's weather server, an impatient client, a day that is named."""

from dataclasses import replace
from datetime import date
from pathlib import Path

from etsched.bootstrap.clock import WallClock
from etsched.bootstrap.gateway import gateway
from etsched.documents.site_file import read_site
from etsched.http_client import ClientLimits, HttpClient
from etsched.model.site import FeedChoice
from etsched.settings import HostSettings, Settings

TODAY = date(2026, 7, 13)
DEMO_SITE = Path(__file__).parents[2] / "demo" / "site.toml"
# Feed of a chain → its name at the server, its path there, its station.
FEEDS = {
    "rain gauge": ("gauge", "/gauge/grange.csv?start={first}&end={last}", ""),
    "agronomic station": ("station", "/station/{station}/daily-us.csv?start={first}&end={last}", "901"),
    "ghcn daily": ("ghcn", "/ghcn", "USW00099901"),
    "open-meteo forecast": ("open-meteo-forecast", "/open-meteo-forecast", ""),
    "open-meteo archive": ("open-meteo-archive", "/open-meteo-archive", ""),
    "open-meteo ensemble": ("open-meteo-ensemble", "/open-meteo-ensemble", ""),
    "nws grid": ("nws", "/nws", ""),
    "nasa power": ("power", "/power", ""),
}
# Long enough for a server on a machine that does much else; only a feed that hangs waits them out.
LIMITS = ClientLimits(deadline_s=6.0, connect_s=2.0, read_s=2.0, backoff_s=0.02, interval_s=0.0)
# For a feed that nothing comes of: a tenth of that, so that a test does not wait it out.
HASTY = replace(LIMITS, deadline_s=0.6, connect_s=0.2, read_s=0.2)


class Hastily:
    """Asks one host hastily and all others as the client given."""

    def __init__(self, client, base_url):
        self.patient, self.base_url = client, base_url
        self.hasty = HttpClient(HASTY, contact="grounds@example.org")

    def get(self, request, validate, *, known=None):
        client = self.hasty if request.url.startswith(self.base_url) else self.patient
        return client.get(request, validate, known=known)


def parts(base_url, kept_in, today=TODAY, limits=LIMITS, elsewhere=()):
    """Put a gateway together; feeds named in `elsewhere` are asked under another name of this machine."""
    other = base_url.replace("127.0.0.1", "localhost")
    hosts = {
        feed: HostSettings(base_url=(other if feed in elsewhere else base_url) + path)
        for feed, (_, path, _) in FEEDS.items()
    }
    settings = Settings(contact="grounds@example.org", weather_kept_in=str(kept_in), feed=hosts)
    clock = WallClock(today)
    client = HttpClient(limits, contact="grounds@example.org", now=clock.now)
    return replace(gateway(settings, clock), client=client)


def site(*feeds):
    return replace(read_site(DEMO_SITE), feeds=tuple(FeedChoice(feed, FEEDS[feed][2]) for feed in feeds))
