"""`etsched season`: a season replayed on a weather file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import Day, site_argument, units_option, weather_argument

if TYPE_CHECKING:
    from datetime import date

    from etsched.units import UnitSystem


@click.command("season")
@site_argument
@weather_argument
@click.option("--from", "first", type=Day(), required=True, metavar="DATE", help="First day of the first week.")
@click.option(
    "--to",
    "last",
    type=Day(),
    required=True,
    metavar="DATE",
    help="Last day; a broken last week is left out.",
)
@units_option
@click.option("--csv", "csv_file", metavar="FILE", help="Write the weeks as CSV; - is standard output.")
def command(
    site: Path,
    weather: Path,
    columns: Path | None,
    first: date,
    last: date,
    units: UnitSystem | None,
    csv_file: str | None,
) -> None:
    """Plan every week of a season in turn, each beginning with the water that the last one left."""
    from datetime import timedelta

    from etsched.bootstrap.clock import WallClock
    from etsched.cli.results import written
    from etsched.planning.season import season_weeks
    from etsched.reports.season_csv import season_csv
    from etsched.usecases.inputs import read_inputs
    from etsched.usecases.season import season_from_inputs

    inputs = read_inputs(site, weather, columns, WallClock(last + timedelta(days=1)))
    weeks = season_from_inputs(inputs, first, last)
    with click.progressbar(
        weeks,
        length=len(season_weeks(first, last)),
        label="Weeks",
        file=sys.stderr,
        hidden=not sys.stderr.isatty(),
    ) as bar:
        plans = list(bar)
    if written({"csv": csv_file}, lambda _: season_csv(plans, units)):
        from etsched.cli.screen import show_season

        show_season(plans, units)
