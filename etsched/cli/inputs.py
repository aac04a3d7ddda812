"""A site and its weather for a command: from a weather file that is named, else from the site's chain of feeds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from datetime import date

    from etsched.usecases.inputs import Inputs
    from etsched.usecases.weather import SiteWeather


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command line says of a site and its weather."""

    site: Path
    weather: Path | None
    columns: Path | None
    settings: Path | None
    today: date | None
    fetch: bool


def inputs_of(asked: Asked) -> Inputs:
    """Read the site and its weather; what came of each feed goes to standard error."""
    from etsched.bootstrap.clock import WallClock
    from etsched.usecases.inputs import Inputs, read_inputs

    if asked.weather is not None:
        return read_inputs(asked.site, asked.weather, asked.columns, WallClock(asked.today))
    found = weather_of(asked)
    for link in found.links:
        click.echo(link.sentence, err=True)
    return Inputs(found.site, found.weather, found.today)


def weather_of(asked: Asked) -> SiteWeather:
    """Take a site's weather from its chain, asked anew unless the command says otherwise."""
    from etsched.bootstrap.clock import WallClock
    from etsched.bootstrap.gateway import gateway
    from etsched.documents.site_file import read_site
    from etsched.settings import read_settings
    from etsched.usecases.weather import refresh_all, site_weather

    site = read_site(asked.site)
    parts = gateway(read_settings(asked.settings), WallClock(asked.today))
    refresh = refresh_all([site], parts) if asked.fetch else None
    return site_weather(site, asked.site, parts, refresh)
