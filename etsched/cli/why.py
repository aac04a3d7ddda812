"""`etsched why`: one station's minutes, followed to their sources."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import Day, before_options, site_argument, today_option, units_option, weather_or_feeds

if TYPE_CHECKING:
    from datetime import date

    from etsched.units import UnitSystem


@click.command("why")
@site_argument
@weather_or_feeds
@click.argument("station", type=int)
@today_option
@units_option
@before_options
@click.option("--night", type=Day(), metavar="DATE", help="The date the night begins on. Default: its first run.")
@click.option("--json", "json_file", metavar="FILE", help="Write the working as JSON; - is standard output.")
@click.option("--chart", "chart_file", metavar="FILE", help="Draw the station's water as SVG; - is standard output.")
def command(
    site: Path,
    weather: Path | None,
    columns: Path | None,
    settings: Path | None,
    no_fetch: bool,
    station: int,
    today: date | None,
    units: UnitSystem | None,
    night: date | None,
    after: Path | None,
    ran: Path | None,
    visits: tuple[Path, ...],
    json_file: str | None,
    chart_file: str | None,
) -> None:
    """Show how STATION comes to its minutes: depletion, net, gross, minutes, cycles, each with its source."""
    from etsched.bootstrap.output import write_result
    from etsched.cli.inputs import Asked, inputs_of
    from etsched.tables.working import first_night
    from etsched.usecases.week import Before, check_station, visit_days, week_from_inputs

    inputs, before = inputs_of(Asked(site, weather, columns, settings, today, not no_fetch)), Before(after, ran, visits)
    plan = week_from_inputs(inputs, before)
    check_station(plan, station)
    if json_file is not None:
        from etsched.reports.why_json import why_json

        write_result(json_file, why_json(plan, station, units))
    if chart_file is not None:
        from etsched.charts.root_zone import root_zone

        write_result(chart_file, root_zone(plan, station, units, visit_days(inputs, before)))
        if chart_file != "-":
            click.echo(f"Written: {chart_file}", err=True)
    if "-" not in {json_file, chart_file}:
        from etsched.cli.screen import show_working

        show_working(plan, station, night or first_night(plan, station), units)
