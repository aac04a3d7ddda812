"""`etsched migrate`: the database brought to this program's tables."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import settings_option

if TYPE_CHECKING:
    from etsched.settings import Settings
    from etsched.stores.database import Database


@click.command("migrate")
@settings_option
def command(settings: Path | None) -> None:
    """Bring the database to this program's tables, all steps or none; what is in it is backed up first.

    A database that is not there yet is made. Where no step is missing nothing is done.
    """
    from etsched.bootstrap.service import database_to_fill
    from etsched.settings import read_settings
    from etsched.stores import migrate

    read = read_settings(settings)
    with database_to_fill(read) as database:
        step = migrate.step_of(database)
        migrate.check_known(step)
        if step == migrate.head():
            click.echo(f"The database is at step {step} already; nothing was changed.")
            return
        if step != migrate.NEW:
            click.echo(f"Backed up first: {_backed_up(database, read, step)}", err=True)
        migrate.upgrade(database)
    click.echo(f"The database went from step {step} to step {migrate.head()}.")


def _backed_up(database: Database, read: Settings, step: str) -> Path:
    from etsched.bootstrap.clock import WallClock
    from etsched.bootstrap.service import make_folder
    from etsched.stores.backup import write_backup

    folder = Path(read.backups_kept_in)
    make_folder(folder)
    path = folder / f"etsched-{step}-{WallClock().now():%Y%m%dT%H%M%SZ}.jsonl.gz"
    write_backup(database, path)
    return path
