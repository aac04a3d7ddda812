"""The weather gateway of a real machine: its settings, its clock, its network."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.feeds.ask import FeedHost
from etsched.http_client import HttpClient
from etsched.stores.weather_bodies import WeatherBodies
from etsched.usecases.weather import Gateway

if TYPE_CHECKING:
    from etsched.ports import Clock
    from etsched.settings import Settings


def gateway(settings: Settings, clock: Clock) -> Gateway:
    """Put the parts together."""

    def host_of(feed: str) -> FeedHost:
        return FeedHost(*settings.host_of(feed), contact=settings.contact)

    # Answers are dated by the program's clock, so that a day that was named stays that day.
    client = HttpClient(contact=settings.contact, now=clock.now)
    return Gateway(client, host_of, WeatherBodies(settings.folder), clock)
