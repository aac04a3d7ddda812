"""`etsched clock`: the week's plan as programs of an ordinary clock."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import site_argument, week_inputs

if TYPE_CHECKING:
    from etsched.units import UnitSystem
    from etsched.usecases.clock import ClockSheet
    from etsched.usecases.inputs import Inputs
    from etsched.usecases.week import Before


@click.command("clock")
@site_argument
@week_inputs
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
    inputs: Inputs,
    before: Before,
    units: UnitSystem | None,
    found: Path | None,
    document: Path | None,
    json_file: str | None,
    html_file: str | None,
) -> None:
    """Set the week's plan for an ordinary clock: programs with days, starts and whole minutes.

    SITE names the clock in its table [controller]; WEATHER is as for `etsched week`. The programs go to the terminal
    unless a document goes to standard output.
    """
    from etsched.cli.results import written
    from etsched.usecases.clock import ClockNow, clock_from_inputs

    sheet = clock_from_inputs(inputs, ClockNow(found, document), before)
    if written({"json": json_file, "html": html_file}, lambda name: _render(name, sheet, units)):
        from etsched.cli.clock_screen import show_clock

        show_clock(sheet, units)


def _render(name: str, sheet: ClockSheet, units: UnitSystem | None) -> str:
    if name == "json":
        from etsched.reports.clock_json import clock_json

        return clock_json(sheet.table, sheet.changes, units)
    from etsched.reports.clock_page import clock_page

    return clock_page(sheet.table, sheet.changes, units)
