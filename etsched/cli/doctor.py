"""`etsched doctor`: is everything as the service needs it?"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from etsched.cli.options import settings_option


@click.command("doctor")
@settings_option
@click.option("--feeds", is_flag=True, help="Ask every site's feeds too; without it nothing leaves this machine.")
def command(settings: Path | None, feeds: bool) -> None:
    """Check settings, folders, database, clock, jobs, keys and sites; a line each, with what to do where it fails.

    Ends with 0 where all is well and with 1 where something is not.
    """
    from etsched.bootstrap.clock import WallClock
    from etsched.bootstrap.examination import examine
    from etsched.settings import read_with_origins

    ill = 0
    for answer in examine(read_with_origins(settings), WallClock(), feeds):
        click.echo(f"{'well ' if answer.well else 'WRONG'}  {answer.asked}: {answer.words}")
        ill += not answer.well
    if ill:
        click.echo(f"{ill} of these {'needs' if ill == 1 else 'need'} somebody.", err=True)
        sys.exit(1)
