"""`etsched week`: the table a manager keys in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from etsched.cli.options import site_argument, week_inputs

if TYPE_CHECKING:
    from etsched.model.plan import WeekPlan
    from etsched.units import UnitSystem
    from etsched.usecases.inputs import Inputs
    from etsched.usecases.week import Before


@click.command("week")
@site_argument
@week_inputs
@click.option("--csv", "csv_file", metavar="FILE", help="Write the table as CSV; - is standard output.")
@click.option("--json", "json_file", metavar="FILE", help="Write the whole plan as JSON; - is standard output.")
@click.option("--html", "html_file", metavar="FILE", help="Write one printable page; - is standard output.")
def command(
    inputs: Inputs,
    before: Before,
    units: UnitSystem | None,
    csv_file: str | None,
    json_file: str | None,
    html_file: str | None,
) -> None:
    """Plan the seven nights from tonight on and print the table to key in.

    SITE is the property's file (`etsched new-site` writes one to start from), WEATHER a CSV of daily or hourly rows;
    without it the weather comes from the feeds that the site file names. The table goes to the terminal unless a
    document goes to standard output.
    """
    from etsched.cli.results import written
    from etsched.usecases.week import week_from_inputs

    plan = week_from_inputs(inputs, before)
    targets = {"csv": csv_file, "json": json_file, "html": html_file}
    if written(targets, lambda name: _render(name, plan, units)):
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
