"""`etsched clock`: the week's plan as programs of an ordinary clock."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import before_options, site_argument, today_option, units_option, weather_or_feeds

if TYPE_CHECKING:
    from datetime import date

    from etsched.units import UnitSystem
    from etsched.usecases.clock import ClockSheet


@click.command("clock")
@site_argument
@weather_or_feeds
@today_option
@units_option
@before_options
@click.option(
    "--found",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The record of a visit that read the clock: list what to change in it, and plan with what it found.",
)
@click.option(
    "--now",
    "document",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The JSON document of the programs keyed in last: list what to change.",
)
@click.option("--json", "json_file", metavar="FILE", help="Write the programs as JSON; - is standard output.")
@click.option("--html", "html_file", metavar="FILE", help="Write one page to key in from; - is standard output.")
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
    found: Path | None,
    document: Path | None,
    json_file: str | None,
    html_file: str | None,
) -> None:
    """Set the week's plan for an ordinary clock: programs with days, starts and whole minutes.

    SITE names the clock in its table [controller]; WEATHER is as for `etsched week`. The programs go to the terminal
    unless a document goes to standard output.
    """
    from etsched.bootstrap.output import write_result
    from etsched.cli.inputs import Asked, inputs_of
    from etsched.usecases.clock import ClockNow, clock_from_inputs
    from etsched.usecases.week import Before

    inputs = inputs_of(Asked(site, weather, columns, settings, today, not no_fetch))
    sheet = clock_from_inputs(inputs, ClockNow(found, document), Before(after, ran, visits))
    targets = {"json": json_file, "html": html_file}
    for name, target in targets.items():
        if target is not None:
            write_result(target, _render(name, sheet, units))
            if target != "-":
                click.echo(f"Written: {target}", err=True)
    if "-" not in targets.values():
        from etsched.cli.clock_screen import show_clock

        show_clock(sheet, units)


def _render(name: str, sheet: ClockSheet, units: UnitSystem | None) -> str:
    if name == "json":
        from etsched.reports.clock_json import clock_json

        return clock_json(sheet.table, sheet.changes, units)
    from etsched.reports.clock_page import clock_page

    return clock_page(sheet.table, sheet.changes, units)
