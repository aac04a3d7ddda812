"""`etsched why`: one station's minutes, followed to their sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from etsched.cli.options import Day, Terminal, site_argument, week_inputs

if TYPE_CHECKING:
    from datetime import date

    from etsched.units import UnitSystem
    from etsched.usecases.inputs import Inputs
    from etsched.usecases.week import Before


@click.command("why")
@site_argument
@click.argument("station", type=Terminal("after SITE and before WEATHER"))
@week_inputs
@click.option("--night", type=Day(), metavar="DATE", help="The date the night begins on. Default: its first run.")
@click.option("--json", "json_file", metavar="FILE", help="Write the working as JSON; - is standard output.")
@click.option("--chart", "chart_file", metavar="FILE", help="Draw the station's water as SVG; - is standard output.")
def command(
    station: int,
    inputs: Inputs,
    before: Before,
    units: UnitSystem | None,
    night: date | None,
    json_file: str | None,
    chart_file: str | None,
) -> None:
    """Show how STATION comes to its minutes: depletion, net, gross, minutes, cycles, each with its source."""
    from etsched.cli.results import written
    from etsched.tables.working import first_night
    from etsched.usecases.week import check_station, visit_days, week_from_inputs

    plan = week_from_inputs(inputs, before)
    check_station(plan, station)

    def render(name: str) -> str:
        if name == "json":
            from etsched.reports.why_json import why_json

            return why_json(plan, station, units)
        from etsched.charts.root_zone import root_zone

        return root_zone(plan, station, units, visit_days(inputs, before))

    if written({"json": json_file, "chart": chart_file}, render):
        from etsched.cli.screen import show_working

        show_working(plan, station, night or first_night(plan, station), units)
