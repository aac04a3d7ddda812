"""`etsched week`: the table a manager keys in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import before_options, site_argument, today_option, units_option, weather_or_feeds

if TYPE_CHECKING:
    from datetime import date

    from etsched.model.plan import WeekPlan
    from etsched.units import UnitSystem

FORMATS = ("csv", "json", "html")


@click.command("week")
@site_argument
@weather_or_feeds
@today_option
@units_option
@before_options
@click.option("--csv", "csv_file", metavar="FILE", help="Write the table as CSV; - is standard output.")
@click.option("--json", "json_file", metavar="FILE", help="Write the whole plan as JSON; - is standard output.")
@click.option("--html", "html_file", metavar="FILE", help="Write one printable page; - is standard output.")
def command(
    site: Path,
    weather: Path | None,
    columns: Path | None,
    settings: Path | None,
    no_fetch: bool,
    today: date | None,
    units: UnitSystem | None,
    after: Path | None,
    ran: Path | None,
    visits: tuple[Path, ...],
    csv_file: str | None,
    json_file: str | None,
    html_file: str | None,
) -> None:
    """Plan the seven nights from tonight on and print the table to key in.

    SITE is the property's file (`etsched new-site` writes one to start from), WEATHER a CSV of daily or hourly rows;
    without it the weather comes from the feeds that the site file names. The table goes to the terminal unless a
    document goes to standard output.
    """
    from etsched.bootstrap.output import write_result
    from etsched.cli.inputs import Asked, inputs_of
    from etsched.usecases.week import Before, week_from_inputs

    inputs = inputs_of(Asked(site, weather, columns, settings, today, not no_fetch))
    plan = week_from_inputs(inputs, Before(after, ran, visits))
    targets = dict(zip(FORMATS, (csv_file, json_file, html_file), strict=True))
    for name, target in targets.items():
        if target is not None:
            write_result(target, _render(name, plan, units))
            if target != "-":
                click.echo(f"Written: {target}", err=True)
    if "-" not in targets.values():
        from etsched.cli.screen import show_week

        show_week(plan, units)


def _render(name: str, plan: WeekPlan, units: UnitSystem | None) -> str:
    if name == "csv":
        from etsched.reports.week_csv import week_csv

        return week_csv(plan, units)
    if name == "json":
        from etsched.reports.week_json import week_json

        return week_json(plan, units)
    from etsched.reports.week_page import week_page

    return week_page(plan, units)
