"""`etsched weather`: a site's weather from its chain of feeds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.inputs import Asked, weather_of
from etsched.cli.options import settings_option, site_argument, today_option, units_option

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from etsched.units import UnitSystem
    from etsched.usecases.weather import SiteWeather


@click.group("weather")
def command() -> None:
    """Fetch, show, check and chart a site's weather from the feeds that its file names."""


def _feeds(function: Callable[..., None]) -> Callable[..., None]:
    return site_argument(settings_option(today_option(function)))


@command.command("fetch")
@_feeds
def fetch(site: Path, settings: Path | None, today: date | None) -> None:
    """Ask every feed of SITE anew, keep the answers, and say what came of each."""
    from etsched.errors import FeedFailed

    found = weather_of(Asked(site, None, None, settings, today, fetch=True))
    _say_links(found)
    if all(link.outcome != "answered" for link in found.links):
        raise FeedFailed("No feed answered; what is kept is used.")


@command.command("show")
@_feeds
@units_option
@click.option("--fetch", is_flag=True, help="Ask the feeds first; otherwise what is kept is shown.")
def show(site: Path, settings: Path | None, today: date | None, units: UnitSystem | None, fetch: bool) -> None:
    """Show a fortnight of SITE's weather: temperatures, rain, reference ET with its range, grades, sources."""
    from etsched.cli.screen import show_fortnight

    found = weather_of(Asked(site, None, None, settings, today, fetch=fetch))
    show_fortnight(found.fortnight, units or found.system, found.weather.attributions)
    _say_links(found)


@command.command("check")
@_feeds
@click.option("--fetch", is_flag=True, help="Ask the feeds first; otherwise what is kept is checked.")
def check(site: Path, settings: Path | None, today: date | None, fetch: bool) -> None:
    """Tell which days of SITE's weather are not sound, and why."""
    found = weather_of(Asked(site, None, None, settings, today, fetch=fetch))
    _say_links(found)
    grades: dict[str, int] = {}
    for stamp, remark in zip(found.weather.daily.index, found.weather.remarks, strict=True):
        grades[remark.grade] = grades.get(remark.grade, 0) + 1
        if remark.grade != "sound" or remark.reasons:
            click.echo(f"{stamp.date()}: {remark.grade}; {'; '.join(remark.reasons)}")
    counted = ", ".join(f"{count} {grade}" for grade, count in grades.items())
    click.echo(f"{len(found.weather.daily)} days: {counted}.")


@command.command("chart")
@_feeds
@units_option
@click.option("--svg", "svg_file", required=True, metavar="FILE", help="Where the chart goes; - is standard output.")
@click.option("--fetch", is_flag=True, help="Ask the feeds first; otherwise what is kept is drawn.")
def chart(
    site: Path, settings: Path | None, today: date | None, units: UnitSystem | None, svg_file: str, fetch: bool
) -> None:
    """Draw a fortnight of SITE's weather as SVG: temperatures, rain, reference ET with its range, grades."""
    from etsched.charts.fortnight import fortnight_svg
    from etsched.cli.results import written

    found = weather_of(Asked(site, None, None, settings, today, fetch=fetch))
    title = f"{found.site.name}: the fortnight's weather"
    system = units or found.system
    written({"svg": svg_file}, lambda _: fortnight_svg(found.fortnight, title, system, found.weather.attributions))


def _say_links(found: SiteWeather) -> None:
    for link in found.links:
        click.echo(link.sentence, err=True)
        for note in link.notes:
            click.echo(f"  {note}", err=True)
