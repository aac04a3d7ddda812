"""`etsched visit`: what a visit comes to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import site_argument, week_inputs

if TYPE_CHECKING:
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem
    from etsched.usecases.inputs import Inputs
    from etsched.usecases.week import Before


@click.command("visit")
@site_argument
@click.argument("record", type=click.Path(path_type=Path))
@week_inputs
@click.option("--json", "json_file", metavar="FILE", help="Write everything as JSON; - is standard output.")
@click.option(
    "--html", "html_file", metavar="FILE", help="Write the report as one printable page; - is standard output."
)
def command(
    record: Path,
    inputs: Inputs,
    before: Before,
    units: UnitSystem | None,
    json_file: str | None,
    html_file: str | None,
) -> None:
    """Judge the visit to SITE that RECORD tells of, and plan what follows from it.

    `etsched new-visit` writes a record to start from. WEATHER is as for `etsched week`. On a return visit name the
    visit before with --visit and what ran since with --ran: its cores then prove or refute the plan.
    """
    from etsched.cli.results import written
    from etsched.usecases.visit import visit_from_inputs

    outcome = visit_from_inputs(inputs, record, before)
    if written({"json": json_file, "html": html_file}, lambda name: _render(name, outcome, units)):
        from etsched.cli.visit_screen import show_visit

        show_visit(outcome, units)


def _render(name: str, outcome: VisitOutcome, units: UnitSystem | None) -> str:
    if name == "json":
        from etsched.reports.visit_json import visit_json

        return visit_json(outcome, units)
    from etsched.reports.visit_page import visit_page

    return visit_page(outcome, units)
