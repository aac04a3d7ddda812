"""The database that a command works on: the one it is told, else that of the settings."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import settings_option

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from etsched.stores.database import Database


@dataclass(frozen=True, slots=True)
class Place:
    """What the command line says of where the database is."""

    settings: Path | None
    url: str | None

    @contextmanager
    def opened(self) -> Iterator[Database]:
        """Open the database and see that its tables are this program's. Raises StoreRefused, SettingsRefused."""
        from etsched.settings import read_settings
        from etsched.stores import migrate
        from etsched.stores.database import Database

        named = self.url or str(getattr(read_settings(self.settings), "database", ""))
        if not named:
            raise click.UsageError("No database is named: write --database sqlite:///etsched.db, or name --settings.")
        with Database(named) as database:
            if self.url is not None and database.url.password is not None:
                raise click.UsageError("Others see a password on the command line; put the address in the settings.")
            migrate.check(database)
            yield database


def place_options(function: Callable[..., None]) -> Callable[..., None]:
    """Add the settings file and the address of the database; the command gets both as its `place`."""

    @wraps(function)
    def with_place(*given: object, settings: Path | None, url: str | None, **named: object) -> None:
        function(*given, place=Place(settings, url), **named)

    address = click.option(
        "--database",
        "url",
        metavar="URL",
        help="Such as sqlite:///etsched.db. Default: that of the settings, where an address with a password belongs.",
    )
    return settings_option(address(with_place))
