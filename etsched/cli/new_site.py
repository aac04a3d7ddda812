"""`etsched new-site`: a commented site file to start from."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("new-site")
@click.argument("file", type=click.Path(path_type=Path))
def command(file: Path) -> None:
    """Write a commented starter site to FILE, which must not exist yet."""
    from etsched.bootstrap.output import write_new
    from etsched.documents.starter import starter_site

    write_new(file, starter_site())
    click.echo(f"Written: {file}. Every line says what it is and how to learn its number.", err=True)
