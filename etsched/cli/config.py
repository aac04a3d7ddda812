"""`etsched config`: what is set, and where it came from."""

from __future__ import annotations

from pathlib import Path

import click

from etsched.cli.options import settings_option


@click.group("config")
def command() -> None:
    """Show what a deployment sets."""


@command.command("show")
@settings_option
def show(settings: Path | None) -> None:
    """Print every setting with its value and where it came from: a file's line, the environment, or the default."""
    from etsched.settings import read_with_origins

    read = read_with_origins(settings)
    rows = list(read.shown())
    name_width, value_width = (max(len(row[column]) for row in rows) for column in (0, 1))
    for name, value, origin in rows:
        click.echo(f"{name:{name_width}}  {value:{min(value_width, 44)}}  {origin}")
    for name in read.unknown:
        click.echo(f"{name} in the environment is no setting and is passed over.", err=True)
