"""The settings themselves: every key, its kind, its default."""

from __future__ import annotations

import re
from datetime import time
from ipaddress import IPv4Network, IPv6Network, ip_network
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, SecretStr, model_validator

# Where the public feeds answer. The free Open-Meteo hosts are for non-commercial use; a deployment that earns money
# names the paid hosts or its own and a key. A gauge or a station file has no public host.
HOSTS = {
    "rain gauge": "",
    "agronomic station": "",
    "ghcn daily": "https://www.ncei.noaa.gov",
    "open-meteo forecast": "https://api.open-meteo.com",
    "open-meteo archive": "https://archive-api.open-meteo.com",
    "open-meteo ensemble": "https://ensemble-api.open-meteo.com",
    "nws grid": "https://api.weather.gov",
    "nasa power": "https://power.larc.nasa.gov",
}

_CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)")


def _as_time(value: object) -> object:
    if isinstance(value, str) and (read := _CLOCK.fullmatch(value)):
        return time(int(read[1]), int(read[2]))
    if isinstance(value, time) and value.second == value.microsecond == 0:  # TOML has times of day of its own
        return value
    raise ValueError("it is no time of day, write it as 05:30")


def _as_networks(value: object) -> object:
    if not isinstance(value, list | tuple):
        raise ValueError('it is no list of networks, write it as ["10.1.0.0/16"]')
    try:
        return tuple(ip_network(each) for each in value)
    except (ValueError, TypeError):
        raise ValueError('an entry is no network, write networks as ["10.1.0.0/16"]') from None


TimeOfDay = Annotated[time, BeforeValidator(_as_time)]
Networks = Annotated[tuple[IPv4Network | IPv6Network, ...], BeforeValidator(_as_networks)]
Days = Annotated[int, Field(ge=1, le=36_500)]


class Table(BaseModel):
    """A table of settings: no key that nobody knows, no value of another kind."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class HostSettings(Table):
    """Where one feed answers; a key belongs in the environment and is taken from here only where it must be."""

    base_url: str = ""
    api_key: SecretStr = SecretStr("")


class JobTimes(Table):
    """When the daily jobs of a site are due, by the clock on its own wall."""

    refresh_morning: TimeOfDay = time(5, 0)
    close_day: TimeOfDay = time(5, 30)  # after yesterday's measured weather has been fetched
    refresh_evening: TimeOfDay = time(16, 30)
    plan_tonight: TimeOfDay = time(17, 0)
    tick_s: Annotated[int, Field(ge=1, le=3600)] = 20  # how often somebody looks what is due

    @model_validator(mode="after")
    def _in_order(self) -> JobTimes:
        if not self.refresh_morning < self.refresh_evening < self.plan_tonight:
            raise ValueError(
                "the times are out of order, let refresh_morning come first, then refresh_evening, then plan_tonight"
            )
        return self


class Retention(Table):
    """How long what is not needed any more is kept; the last one of anything stays, and all of the trail."""

    weathers_days: Days = 400
    weather_bodies_days: Days = 1100
    site_revisions_days: Days = 1100
    plans_days: Days = 1100
    answers_days: Days = 7
    events_days: Days = 30
    job_runs_days: Days = 400


class WebSettings(Table):
    """Where the service listens, and whom it believes."""

    host: str = "127.0.0.1"
    port: Annotated[int, Field(ge=1, le=65_535)] = 8470
    trusted_proxies: Networks = ()
    requests_a_minute: Annotated[int, Field(ge=1, le=1_000_000)] = 600  # of one key


class Settings(Table):
    """Everything a deployment sets; what is not set has the public default."""

    database: str = Field("", repr=False)  # sqlite:///file.db or postgresql://user@host/name; may hold a password
    weather_kept_in: str = ""  # folder of feed answers
    backups_kept_in: str = ""  # folder into which etsched migrate writes before it changes anything
    contact: str = ""  # whom a feed's provider may write to; the US weather service requires it
    log_level: Literal["error", "warning", "info", "debug"] = "info"  # of etsched serve
    webhook_networks: Networks = ()  # networks that are not public and may receive webhooks all the same
    webhook_ca_file: str = ""  # certificates that webhooks believe, in place of the public ones
    jobs: JobTimes = JobTimes()
    retention: Retention = Retention()
    web: WebSettings = WebSettings()
    feed: dict[str, HostSettings] = Field(default_factory=dict)

    def host_of(self, feed: str) -> tuple[str, str]:
        """Give a feed's base URL and key."""
        given = self.feed.get(feed, HostSettings())
        return given.base_url or HOSTS[feed], given.api_key.get_secret_value()

    @property
    def folder(self) -> Path:
        """The folder in which feed answers are kept."""
        return Path(self.weather_kept_in)
