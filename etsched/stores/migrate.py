"""Bring a database to the tables of this program, all steps or none, and tell how far it is."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from etsched.errors import StoreRefused

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from etsched.stores.database import Database

NEW = "0000"  # a database that holds nothing of this program yet


@cache
def head() -> str:
    """Give the step that this program's tables are at."""
    found = ScriptDirectory.from_config(_config()).get_current_head()
    return found or NEW


def step_of(database: Database) -> str:
    """Give the step that a database is at."""
    with database.reading() as connection:
        return step_within(connection)


def check(database: Database) -> None:
    """Raise StoreRefused with what to do unless the database is at this program's step."""
    step = step_of(database)
    if step == head():
        return
    check_known(step)
    wrong = "is empty" if step == NEW else f"is at step {step} and this program needs {head()}"
    raise StoreRefused(f"the database {wrong}; run etsched migrate, which backs up first")


def check_known(step: str) -> None:
    """Raise StoreRefused for a step that is none of this program's."""
    if step not in known_steps():
        raise StoreRefused(
            f"the database is at step {step}, which this program does not know: it was written by a newer one; "
            "install that program, or restore a backup"
        )


def upgrade(database: Database, to: str = "head") -> None:
    """Take every step up to one, in one transaction."""
    with database.writing() as connection:
        upgrade_within(connection, to)


def upgrade_within(connection: Connection, to: str = "head") -> None:
    """Take the steps in a transaction that does more."""
    config = _config()
    config.attributes["connection"] = connection
    command.upgrade(config, to)


def known_steps() -> frozenset[str]:
    """Give every step that this program can begin from."""
    return frozenset(script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions()) | {NEW}


def step_within(connection: Connection) -> str:
    """Give the step that the database of a transaction is at."""
    return MigrationContext.configure(connection).get_current_revision() or NEW


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", "etsched:stores/migrations")
    return config
