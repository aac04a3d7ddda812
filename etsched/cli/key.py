"""`etsched key`: keys by which programs use the service."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

import click

from etsched.cli.at_database import place_options
from etsched.cli.options import Day
from etsched.model.access import Scope

if TYPE_CHECKING:
    from etsched.cli.at_database import Place
    from etsched.model.access import KeyShown


@click.group("key")
def command() -> None:
    """Make, list and revoke the keys by which controllers and other programs use the service."""


@command.command("create", short_help="Make a key; its secret is shown once.")
@click.option("--name", required=True, metavar="WORDS", help="What the key is for, to know it by later.")
@click.option(
    "--scope",
    "scopes",
    type=click.Choice([scope.value for scope in Scope]),
    multiple=True,
    required=True,
    help="What it opens; may be given again.",
)
@click.option("--site", "sites", multiple=True, metavar="SITE", help="A property it is for; may be given again.")
@click.option("--every-site", is_flag=True, help="It is for every property, those to come too.")
@click.option("--expires", type=Day(), metavar="DATE", help="It ends when this day begins, UTC. Default: it does not.")
@place_options
def create(
    name: str,
    scopes: tuple[str, ...],
    sites: tuple[str, ...],
    every_site: bool,
    expires: date | None,
    place: Place,
) -> None:
    """Make a key: its secret goes to standard output, once; nobody can look it up afterwards."""
    from etsched.bootstrap.clock import WallClock
    from etsched.usecases.access import make_key

    if every_site == bool(sites):
        raise click.UsageError("Say which properties the key is for: --site SITE, or --every-site.")
    end = None if expires is None else datetime.combine(expires, time(), tzinfo=UTC)
    with place.opened() as database:
        key, secret = make_key(
            database,
            WallClock().now(),
            name,
            frozenset(map(Scope, scopes)),
            None if every_site else frozenset(sites),
            end,
        )
    click.echo(f"Key {_line(key)}", err=True)
    click.echo("The line on standard output is its secret; keep it where its program alone reads.", err=True)
    click.echo(secret)


@command.command("list", short_help="List every key without its secret.")
@place_options
def list_all(place: Place) -> None:
    """List every key, the oldest first, without its secret."""
    from etsched.bootstrap.clock import WallClock
    from etsched.stores.keys import list_keys

    with place.opened() as database, database.reading() as reading:
        found = list_keys(reading)
    now = WallClock().now()
    for key in found:
        click.echo(_line(key) + ("" if key.holds_at(now) or key.revoked else " It opens nothing any more."))
    if not found:
        click.echo("There are no keys yet; make one with etsched key create.", err=True)


@command.command("revoke", short_help="End a key at once.")
@click.argument("key_id", metavar="KEY")
@place_options
def revoke(key_id: str, place: Place) -> None:
    """End the key with this short id, the first word of its line in `etsched key list`."""
    from etsched.bootstrap.clock import WallClock
    from etsched.usecases.access import revoke_key

    with place.opened() as database:
        revoke_key(database, WallClock().now(), key_id)
    click.echo(f"Key {key_id} is revoked; it opens nothing any more.", err=True)


def _line(key: KeyShown) -> str:
    opens = ", ".join(scope for scope in Scope if scope in key.scopes)
    where = "every property" if key.sites is None else ", ".join(sorted(key.sites))
    end = "does not expire" if key.expires is None else f"expires {key.expires:%Y-%m-%d %H:%M} UTC"
    if key.revoked is not None:
        end = f"revoked {key.revoked:%Y-%m-%d %H:%M} UTC"
    return f'{key.key_id} "{key.name}": {opens}; {where}; made {key.made:%Y-%m-%d}, {end}.'
