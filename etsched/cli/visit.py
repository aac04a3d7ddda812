"""`etsched visit`: what a visit comes to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import before_options, site_argument, today_option, units_option, weather_or_feeds

if TYPE_CHECKING:
    from datetime import date

    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem


@click.command("visit")
@site_argument
@click.argument("record", type=click.Path(path_type=Path))
@weather_or_feeds
@today_option
@units_option
@before_options
@click.option("--json", "json_file", metavar="FILE", help="Write everything as JSON; - is standard output.")
@click.option(
    "--html", "html_file", metavar="FILE", help="Write the report as one printable page; - is standard output."
)
def command(
    site: Path,
    record: Path,
    weather: Path | None,
    columns: Path | None,
    settings: Path | None,
    no_fetch: bool,
    today: date | None,
    units: UnitSystem | None,
    after: Path | None,
    ran: Path | None,
    visits: tuple[Path, ...],
    json_file: str | None,
    html_file: str | None,
) -> None:
    """Judge the visit to SITE that RECORD tells of, and plan what follows from it.

    `etsched new-visit` writes a record to start from. WEATHER is as for `etsched week`. On a return visit name the
    visit before with --visit and what ran since with --ran: its cores then prove or refute the plan.
    """
    from etsched.bootstrap.output import write_result
    from etsched.cli.inputs import Asked, inputs_of
    from etsched.usecases.visit import visit_from_inputs
    from etsched.usecases.week import Before

    inputs = inputs_of(Asked(site, weather, columns, settings, today, not no_fetch))
    outcome = visit_from_inputs(inputs, record, Before(after, ran, visits))
    for name, target in (("json", json_file), ("html", html_file)):
        if target is not None:
            write_result(target, _render(name, outcome, units))
            if target != "-":
                click.echo(f"Written: {target}", err=True)
    if "-" not in (json_file, html_file):
        from etsched.cli.visit_screen import show_visit

        show_visit(outcome, units)


def _render(name: str, outcome: VisitOutcome, units: UnitSystem | None) -> str:
    if name == "json":
        from etsched.reports.visit_json import visit_json

        return visit_json(outcome, units)
    from etsched.reports.visit_page import visit_page

    return visit_page(outcome, units)
