"""`etsched eto`: reference ET of a weather file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import today_option, units_option, weather_argument

if TYPE_CHECKING:
    from datetime import date

    from etsched.units import UnitSystem


@click.command("eto")
@weather_argument
@click.option(
    "--site",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FILE",
    help="The site file that says where this is.",
)
@today_option
@units_option
@click.option("--csv", "csv_file", metavar="FILE", help="Write the days as CSV; - is standard output.")
def command(
    weather: Path,
    columns: Path | None,
    site: Path,
    today: date | None,
    units: UnitSystem | None,
    csv_file: str | None,
) -> None:
    """Show the reference ET of every day of WEATHER, by each formula its rows allow; plans use the first."""
    from etsched.bootstrap.clock import WallClock
    from etsched.cli.results import written
    from etsched.reports.et_csv import et_csv
    from etsched.usecases.inputs import read_inputs
    from etsched.usecases.reference_et import et_from_inputs

    inputs = read_inputs(site, weather, columns, WallClock(today))
    days = et_from_inputs(inputs)
    system: UnitSystem = units or ("metric" if inputs.site.units == "metric" else "us")
    if written({"csv": csv_file}, lambda _: et_csv(days, system)):
        from etsched.cli.screen import show_et

        show_et(days, system)
