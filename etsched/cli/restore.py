"""`etsched restore`: a backup into an empty database."""

from __future__ import annotations

from pathlib import Path

import click

from etsched.cli.options import settings_option


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@settings_option
def command(file: Path, settings: Path | None) -> None:
    """Read the backup FILE into the database of the settings, which must hold nothing; all of it or nothing.

    The backup may come from the other kind of database: so everything moves from SQLite to PostgreSQL or back. The
    tables are made, and brought to this program's where the backup is older.
    """
    from etsched.bootstrap.service import database_to_fill
    from etsched.settings import read_settings
    from etsched.stores.restore import restore_backup

    with database_to_fill(read_settings(settings)) as database:
        rows_count = restore_backup(database, file)
    click.echo(f"Restored {rows_count:,} rows from {file}.", err=True)
