"""The commands by name, each loaded only when it is called, and the exit code of every ending."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from io import TextIOWrapper

import click

from etsched import __version__
from etsched.errors import EtschedError

# Command → module of etsched.cli that holds it as `command`, and the line the help shows without loading it.
COMMANDS = {
    "week": ("week", "The week's runtime table from a site file and a weather file."),
    "clock": ("clock", "The week as programs of an ordinary clock, and what to change in it."),
    "why": ("why", "The working behind one station's minutes, step by step."),
    "reasons": ("reasons", "The reasons of a plan as it was stored, night by night, without planning again."),
    "season": ("season", "A season replayed: a table each week, water and minutes."),
    "weather": ("weather", "Fetch, show, check and chart a site's weather from its feeds."),
    "eto": ("eto", "Reference ET of every day of a weather file."),
    "check": ("check", "Check a site file, a weather file or the record of a visit."),
    "heat": ("heat", "What a new forecast, or hotter days, do to the table in the clock."),
    "visit": ("visit", "What a visit comes to: causes, repairs, the chart of the valves, recovery, proof."),
    "serve": ("serve", "The service: the API and every site's daily jobs, until it is stopped."),
    "site": ("site", "Properties in the service: put, list, show, plan now, table in the clock."),
    "migrate": ("migrate", "Bring the service's database to this program's tables; backs up first."),
    "backup": ("backup", "Write everything the service keeps into one file."),
    "restore": ("restore", "Read such a file into an empty database."),
    "doctor": ("doctor", "Check the service's machine, database and sites; a line each with what to do."),
    "config": ("config", "Show every setting and where it came from."),
    "new-site": ("new_site", "Write a commented site file to start from."),
    "new-visit": ("new_visit", "Write a commented record of a visit to start from."),
    "key": ("key", "Make, list and revoke the keys by which programs use the service."),
    "user": ("user", "Make, list and close the accounts of people."),
    "completion": ("completion", "Print the line that makes your shell complete etsched."),
}

EXIT_CODES = """\b
Exit codes:
  0  done
  1  something else went wrong
  2  the command was typed wrongly
  3  a file or a value handed over cannot be used
  4  no plan can be made from these values
  5  the water books did not close (a defect: please report it)
  6  a result could not be written
  7  a weather feed gave nothing that can be used
  8  the database cannot be used as it is
  130  interrupted"""


class _Lazy(click.Group):
    """A group whose commands are imported when they are called, so that help starts fast."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"etsched.cli.{COMMANDS[cmd_name][0]}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.command(cls=_Lazy, epilog=EXIT_CODES, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="etsched")
def root() -> None:
    """Turn measured water, soil, roots and this week's weather into run times for turf."""


def main() -> None:
    """Run the command line; every refusal is a sentence on standard error and an exit code."""
    from etsched.bootstrap.logs import configure_logging

    configure_logging(verbose=False)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a sign shows a question mark
    try:
        root.main(prog_name="etsched", standalone_mode=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read the output has seen enough, as `head` does; nothing more can be said to them.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    except OSError as error:
        click.echo(f"The result cannot be written ({error.strerror}).", err=True)
        sys.exit(6)
    except click.exceptions.Exit as ending:
        sys.exit(ending.exit_code)
    except click.Abort:
        click.echo("Interrupted.", err=True)
        sys.exit(130)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except EtschedError as error:
        click.echo(str(error), err=True)
        sys.exit(error.exit_code)
