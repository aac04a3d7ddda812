"""Every host this server plays, by the prefix that its paths stand under."""

from __future__ import annotations

from . import gauge, ghcn, nws, open_meteo, power, station
from .exchange import Feed

FEEDS: dict[str, Feed] = {
    **open_meteo.HOSTS,
    **power.HOSTS,
    **nws.HOSTS,
    **ghcn.HOSTS,
    **station.HOSTS,
    **gauge.HOSTS,
}
PAID = "customer-"
NAMES = tuple(name for name in FEEDS if not name.startswith(PAID))


def name_of(prefix: str) -> str:
    """Give the feed a prefix belongs to: the customers' hosts are the same feed."""
    return prefix.removeprefix(PAID)
