"""`etsched serve`: the service, until somebody stops it."""

from __future__ import annotations

from pathlib import Path

import click

from etsched.cli.options import settings_option


@click.command("serve")
@settings_option
@click.option("--no-jobs", is_flag=True, help="Only answer; another instance on the same database does the jobs.")
def command(settings: Path | None, no_jobs: bool) -> None:
    """Answer the API and do every site's daily jobs, until SIGTERM or SIGINT.

    It listens on loopback unless the settings say otherwise, writes its log to standard error as lines of JSON, and
    refuses a database of another step: run `etsched migrate` first.
    """
    from etsched.bootstrap.logs import configure_service_logging
    from etsched.bootstrap.service import service_of
    from etsched.bootstrap.serving import serve
    from etsched.settings import read_settings

    read = read_settings(settings)
    with service_of(read) as service:
        configure_service_logging(read.log_level)
        serve(service, with_jobs=not no_jobs)
