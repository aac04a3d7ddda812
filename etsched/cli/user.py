"""`etsched user`: people who use the service."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from etsched.cli.at_database import place_options
from etsched.model.access import Role

if TYPE_CHECKING:
    from etsched.cli.at_database import Place
    from etsched.model.access import User

_MOST_BYTES = 8192


@click.group("user")
def command() -> None:
    """Make, list and close the accounts of people."""


@command.command("create", short_help="Make an account; the password comes on standard input.")
@click.argument("name")
@click.option(
    "--role",
    required=True,
    type=click.Choice([role.value for role in Role]),
    help="A technician reads, records visits and reports runs; a manager changes things too; an admin has every site.",
)
@click.option("--site", "sites", multiple=True, metavar="SITE", help="A property of theirs; may be given again.")
@click.option("--every-site", is_flag=True, help="Every property is theirs, those to come too.")
@place_options
def create(name: str, role: str, sites: tuple[str, ...], every_site: bool, place: Place) -> None:
    """Make the account NAME; the password is the first line of standard input, never an option."""
    from etsched.bootstrap.clock import WallClock
    from etsched.usecases.access import make_user

    everywhere = every_site or role == Role.ADMIN.value
    if everywhere == bool(sites):
        raise click.UsageError("Say which properties are theirs: --site SITE, or --every-site; an admin has them all.")
    with place.opened() as database:
        where = None if everywhere else frozenset(sites)
        user = make_user(database, WallClock().now(), name, _password(), Role(role), where)
    click.echo(f"Account {_line(user)}", err=True)


@command.command("list")
@place_options
def list_all(place: Place) -> None:
    """List every account by name."""
    from etsched.stores.users import list_users

    with place.opened() as database, database.reading() as reading:
        found = list_users(reading)
    for user in found:
        click.echo(_line(user))
    if not found:
        click.echo("There are no accounts yet; make one with etsched user create.", err=True)


@command.command("close", short_help="Close an account and end its sessions.")
@click.argument("name")
@place_options
def close(name: str, place: Place) -> None:
    """Close the account NAME and end its sessions; what it did stays on record under its name."""
    from etsched.bootstrap.clock import WallClock
    from etsched.usecases.access import close_user

    with place.opened() as database:
        close_user(database, WallClock().now(), name)
    click.echo(f"Account {name} is closed.", err=True)


def _password() -> str:
    """Take the first line of standard input; a person at a terminal types it twice and unseen."""
    if sys.stdin is not None and sys.stdin.isatty():
        typed: str = click.prompt("Password", hide_input=True, confirmation_prompt=True, err=True)
        return typed
    given = b"" if sys.stdin is None else sys.stdin.buffer.readline(_MOST_BYTES)
    try:
        line = given.decode().rstrip("\r\n")
    except UnicodeDecodeError:
        raise click.UsageError("The password on standard input is not UTF-8.") from None
    if not line:
        raise click.UsageError("There is no password on standard input: write it on the first line.")
    return line


def _line(user: User) -> str:
    where = "every property" if user.sites is None else ", ".join(sorted(user.sites))
    closed = "" if user.shut is None else f", closed {user.shut:%Y-%m-%d %H:%M} UTC"
    return f"{user.user_name}: {user.role}; {where}; made {user.made:%Y-%m-%d}{closed}."
