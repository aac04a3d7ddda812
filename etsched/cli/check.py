"""`etsched check`: is this file fit to plan from?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import click

from etsched.cli.options import site_argument, today_option, weather_argument

if TYPE_CHECKING:
    from datetime import date


@click.group("check")
def command() -> None:
    """Check a site file, a weather file or the record of a visit without planning."""


@command.command("site")
@click.argument("file", type=click.Path(path_type=Path))
def check_site(file: Path) -> None:
    """Read a site file and tell what it holds, or every line that cannot be used."""
    from etsched.documents.site_file import read_site

    site = read_site(file)
    blocked = sum(station.blocked is not None for station in site.stations)
    click.echo(f"{site.name}: {len(site.stations)} stations, {blocked} of them blocked. The file can be used.")


@command.command("weather")
@weather_argument
@click.option(
    "--time-zone",
    default="UTC",
    metavar="ZONE",
    help="The place's time zone, for hourly files. Default: UTC.",
)
@today_option
def check_weather(weather: Path, columns: Path | None, time_zone: str, today: date | None) -> None:
    """Read a weather file and tell what it holds, or every line that cannot be used."""
    from etsched.bootstrap.clock import WallClock
    from etsched.usecases.inputs import read_weather

    zone = zone_named(time_zone)
    read = read_weather(weather, columns, zone, WallClock(today).today(zone))
    daily = read.daily
    given = [name for name in daily.columns if name != "is_forecast" and daily[name].notna().any()]
    kind = "hourly" if read.hourly is not None else "daily"
    click.echo(f"{read.source}: {kind}, {len(daily)} days from {daily.index[0].date()} to {daily.index[-1].date()}")
    click.echo(f"It gives {', '.join(given)}. The file can be used.")


@command.command("visit")
@site_argument
@click.argument("file", type=click.Path(path_type=Path))
@today_option
def check_visit(site: Path, file: Path, today: date | None) -> None:
    """Read the record of a visit to SITE and tell what it holds and what to know of it, or what cannot be used."""
    from etsched.bootstrap.clock import WallClock
    from etsched.documents.site_file import read_site
    from etsched.documents.visit_file import read_visit

    place = read_site(site)
    visit = read_visit(file, place, WallClock(today).today(place.place.zone))
    held = {
        "areas": visit.areas,
        "station runs": visit.runs,
        "heads at fault": visit.heads,
        "cup tests": visit.cup_tests,
        "cores": visit.cores,
        "meter readings": visit.meters,
    }
    counted = ", ".join(f"{name} {len(things)}" for name, things in held.items() if things) or "nothing but its date"
    click.echo(f"Visit of {visit.day}: {counted}. The record can be used.")
    for note in visit.notes:
        click.echo(f"  {note}")


def zone_named(name: str) -> ZoneInfo:
    """Give a time zone by its name, or say that there is none."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        raise click.BadParameter(f'there is no time zone "{name}"; write it as America/Denver.') from None
