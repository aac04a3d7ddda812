"""`etsched new-visit`: the record of a visit to start from."""

from __future__ import annotations

from pathlib import Path

import click

from etsched.cli.options import site_argument


@click.command("new-visit")
@site_argument
@click.argument("file", type=click.Path(path_type=Path))
def command(site: Path, file: Path) -> None:
    """Write a commented record of a visit to SITE, with its stations, to FILE, which must not exist yet."""
    from etsched.bootstrap.output import write_new
    from etsched.documents.site_file import read_site
    from etsched.documents.starter_visit import starter_visit

    write_new(file, starter_visit(read_site(site)))
    click.echo(
        f"Written: {file}. Take the # away from the lines you use; everything but the date may be missing.", err=True
    )
