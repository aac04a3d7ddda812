"""`etsched backup`: everything the service keeps, in one file."""

from __future__ import annotations

from pathlib import Path

import click

from etsched.cli.options import settings_option


@click.command("backup")
@click.argument("file", type=click.Path(path_type=Path))
@settings_option
def command(file: Path, settings: Path | None) -> None:
    """Write the whole database, as of one moment, into FILE (gzip, JSON lines); the service may run meanwhile.

    It holds what signs webhooks and the hashes of keys and passwords: keep it where only its owner reads.
    """
    from etsched.bootstrap.service import opened
    from etsched.errors import OutputRefused
    from etsched.settings import read_settings
    from etsched.stores.backup import write_backup

    if file.exists():
        raise OutputRefused(f"{file}: it is there already and stays as it is; name a new file.")
    with opened(read_settings(settings)) as database:
        rows_count = write_backup(database, file)
    click.echo(f"Written: {file}, {rows_count:,} rows", err=True)
