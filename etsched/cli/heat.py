"""`etsched heat`: what a new forecast, or hotter days than forecast, do to the table that is in the clock."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from etsched.cli.options import Day, site_argument, week_inputs

if TYPE_CHECKING:
    from datetime import date

    from etsched.units import UnitSystem
    from etsched.usecases.inputs import Inputs
    from etsched.usecases.week import Before


class Hotter(click.ParamType[float]):
    """A difference of temperatures typed as `8 F` or `4.5 C`, in °C."""

    name = "degrees"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401
        """Read the difference or say what is wrong with it."""
        if isinstance(value, float):
            return value
        from etsched import units
        from etsched.errors import QuantityRefused

        text = str(value)
        try:
            # Degrees that are added have no zero of their own: the zero of the same scale is taken off.
            return units.parse(text, "c") - units.parse(re.sub(r"^\s*[+-]?[\d.]+(?:[eE][+-]?\d+)?", "0", text), "c")
        except QuantityRefused as error:
            self.fail(f'{error}; write how much hotter with its unit, as "8 F" or "4.5 C".', param, ctx)


@click.command("heat")
@site_argument
@week_inputs
@click.option(
    "--found",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The record of a visit: check the programs it found in the clock.",
)
@click.option(
    "--table",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The JSON document of the week that was keyed in: check its table.",
)
@click.option(
    "--now",
    "keyed",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The JSON document of the programs that were keyed in (`etsched clock`): check them.",
)
@click.option("--hotter", type=Hotter(), metavar="DEGREES", help='How much hotter than forecast, as "8 F" or "4.5 C".')
@click.option("--days", type=int, metavar="N", help="For how many days. Default: 5.")
@click.option("--from", "first", type=Day(), metavar="DATE", help="The first hotter day. Default: tomorrow.")
@click.option("--json", "json_file", metavar="FILE", help="Write the check as JSON; - is standard output.")
def command(
    inputs: Inputs,
    before: Before,
    units: UnitSystem | None,
    found: Path | None,
    table: Path | None,
    keyed: Path | None,
    hotter: float | None,
    days: int | None,
    first: date | None,
    json_file: str | None,
) -> None:
    """Check the table that is in the clock of SITE against the forecast, or against hotter days.

    Says which stations pass their allowable depletion and when, what minutes to add and whether the nights hold them,
    which percent adjust comes nearest, and when to go back. Name the table with --found, --table or --now; WEATHER is
    as for `etsched week`.
    """
    from etsched.cli.results import written
    from etsched.reports.heat_json import heat_json
    from etsched.usecases.heat import HeatAsk, heat_from_inputs

    checked = heat_from_inputs(inputs, HeatAsk(found, table, keyed, hotter, days, first), before)
    if written({"json": json_file}, lambda _: heat_json(checked, units)):
        from etsched.cli.heat_screen import show_heat

        show_heat(checked, units)
