"""`etsched site`: properties in the service, from the machine it runs on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import Day, settings_option

if TYPE_CHECKING:
    from datetime import date

_ACTOR = "command line"  # what the trail says of who changed something from here


@click.group("site")
def command() -> None:
    """Bring properties into the service, look at them, plan them now, put them away.

    KEY is a property's short name in the service: small letters, digits and hyphens, as in mill-house.
    """


_key = click.argument("key")


@command.command("put")
@_key
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--revision",
    type=click.IntRange(min=1),
    help="The revision that FILE was made from; refused where somebody changed the property since.",
)
@settings_option
def put(key: str, file: Path, revision: int | None, settings: Path | None) -> None:
    """Bring the site file FILE in under KEY, as a new property or as the next revision of a known one."""
    from etsched.bootstrap.service import service_of
    from etsched.documents.toml_text import read_text
    from etsched.settings import read_settings
    from etsched.usecases.properties import put_site

    with service_of(read_settings(settings)) as service:
        kept = put_site(service, key, read_text(file), _ACTOR, revision)
    click.echo(f"{kept.site}: {kept.name}, revision {kept.revision}.")


@command.command("list")
@settings_option
def list_all(settings: Path | None) -> None:
    """List the properties: key, revision, name."""
    from etsched.bootstrap.service import service_of
    from etsched.settings import read_settings
    from etsched.stores.sites import each_site

    with service_of(read_settings(settings)) as service, service.database.reading() as reading:
        for kept in each_site(reading):
            click.echo(f"{kept.site}  {kept.revision}  {kept.name}")


@command.command("show")
@_key
@settings_option
def show(key: str, settings: Path | None) -> None:
    """Print KEY's site file as it holds now."""
    from etsched.bootstrap.service import service_of
    from etsched.settings import read_settings
    from etsched.usecases.properties import get_site
    from etsched.usecases.reports_in import controller_state

    with service_of(read_settings(settings)) as service:
        kept = get_site(service, key)
        click.echo(kept.document, nl=False)
        click.echo(f"{kept.name}, revision {kept.revision}. {controller_state(service, key).words}", err=True)


@command.command("plan")
@_key
@settings_option
def plan(key: str, settings: Path | None) -> None:
    """Make KEY's plan now, from the weather and the water that are known."""
    from etsched.bootstrap.service import service_of
    from etsched.settings import read_settings
    from etsched.usecases.daily import plan_now

    with service_of(read_settings(settings)) as service:
        made = plan_now(service, key, _ACTOR)
    click.echo(f"{made.site}: plan revision {made.revision}, from {made.first_day}, valid until {made.valid_until}.")


@command.command("table-in-clock")
@_key
@click.option("--since", type=Day(), required=True, metavar="DATE", help="The first night that runs by it.")
@click.option("--revision", type=click.IntRange(min=1), help="The plan whose table it is. Default: the latest.")
@click.option(
    "--programs",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The JSON document of the programs that were keyed in (the door paper's, or `etsched clock`).",
)
@settings_option
def table_in_clock(
    key: str, since: date, revision: int | None, programs: Path | None, settings: Path | None
) -> None:
    """Say that somebody keyed a plan into KEY's clock: the water books credit it from that night on.

    Without --programs it is the plan's table by station.
    """
    from etsched.bootstrap.service import service_of
    from etsched.documents.clock_document import read_clock_document
    from etsched.errors import PlanRefused
    from etsched.settings import read_settings
    from etsched.stores.plans import latest_plan
    from etsched.usecases.properties import get_site, site_of
    from etsched.usecases.reports_in import confirm_keyed_in

    with service_of(read_settings(settings)) as service:
        kept = get_site(service, key)
        site, held = kept.site, read_clock_document(programs, site_of(kept)) if programs else ()
        if revision is None:
            with service.database.reading() as reading:
                latest = latest_plan(reading, site)
            if latest is None:
                raise PlanRefused(f"{key} has no plan yet, so none of its tables can be in a clock; plan first")
            revision = latest.revision
        confirm_keyed_in(service, site, since, revision, _ACTOR, held)
    what = "the programs of plan revision {} are" if held else "the table of plan revision {} is"
    click.echo(f"{key}: {what.format(revision)} in the clock since {since}.")


@command.command("put-away")
@_key
@settings_option
def put_away(key: str, settings: Path | None) -> None:
    """Put KEY away: no jobs run for it and it is not listed; what is kept of it stays."""
    _move(key, settings, away=True)
    click.echo(f"{key} is put away; etsched site take-up {key} brings it back.")


@command.command("take-up")
@_key
@settings_option
def take_up(key: str, settings: Path | None) -> None:
    """Take KEY up again after it was put away."""
    _move(key, settings, away=False)
    click.echo(f"{key} is taken up again.")


def _move(key: str, settings: Path | None, *, away: bool) -> None:
    from etsched.bootstrap.service import service_of
    from etsched.settings import read_settings
    from etsched.usecases.properties import put_away

    with service_of(read_settings(settings)) as service:
        put_away(service, key, _ACTOR, away=away)
