"""`etsched reasons`: why this night and not that, from the plan as it was stored."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from etsched.cli.options import Day, Terminal

if TYPE_CHECKING:
    from datetime import date

    from etsched.documents.week_reasons import KeptNight, KeptRun, KeptWeek


@click.command("reasons")
@click.argument("week", type=click.Path(path_type=Path), metavar="WEEK.json")
@click.argument("station", type=Terminal("after WEEK.json"))
@click.option("--night", type=Day(), metavar="DATE", help="The date the night begins on. Default: every night.")
def command(week: Path, station: int, night: date | None) -> None:
    """Answer from a stored plan why STATION waters on a night, how deep, in what order, or why it does not.

    WEEK.json is a document that `etsched week --json` wrote; nothing is planned again.
    """
    from etsched.documents.week_reasons import read_reasons
    from etsched.errors import PlanRefused

    kept = read_reasons(week)
    area, days = kept.area(station), kept.days()
    if night is not None and night not in days:
        raise PlanRefused(f"this document has no night that begins on {night}; its nights are {days[0]} to {days[-1]}")
    click.echo(f"{kept.site.name}, station {station}, {area}")
    for day in [night] if night else days:
        _show(kept, station, day, working=night is not None)


def _show(kept: KeptWeek, terminal: int, day: date, *, working: bool) -> None:
    from etsched.days import day_text

    click.echo(f"\nNight that begins on {day_text(day)}")
    for rest in kept.rests:
        if (rest.terminal, rest.opens_on) == (terminal, day):
            click.echo(f"  does not run ({rest.kind}): {rest.reason}")
    for night in kept.nights:
        if night.opens_on != day:
            continue
        for run in night.runs:
            if run.terminal == terminal and run.cycles:
                _show_run(night, run, working=working)
        for short in night.shortfalls:
            if short.terminal == terminal:
                click.echo(f"  {short.missing_min} min left out: {short.reason}")


def _show_run(night: KeptNight, run: KeptRun, *, working: bool) -> None:
    from etsched.cli.screen import console, grid

    click.echo(f"  runs {run.minutes} min: {', '.join(f'{each.start}–{each.end}' for each in run.cycles)}")
    click.echo(f"  why this night: it {run.reason}")
    click.echo(
        f"  why this order: it lets the night's last valve close after {night.used_min} of {night.length_min} min, "
        f"where no order of all that was asked for can end before {night.bound_min}"
    )
    if working:
        rows = [(step.name, step.reader, step.formula, step.source) for step in run.working]
        console().print(grid(("step", ">value", "how", "source"), rows, "Why this depth and these minutes"))
