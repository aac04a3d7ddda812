"""Arguments and options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from typing import Any, TypeVar

import click

_TERMINAL_DIGITS = 6
F = TypeVar("F", bound=Callable[..., Any])


class Day(click.ParamType[date]):
    """A date typed as 2026-07-13."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:  # noqa: ANN401
        """Read the date or say what is wrong with it."""
        if isinstance(value, datetime | date):
            return value
        try:
            day = date.fromisoformat(str(value))
        except ValueError:
            self.fail(f'"{value}" is no date; write it as 2026-07-13.', param, ctx)
        if not 1900 <= day.year <= 2200:
            self.fail(f'"{value}" is out of range; write a day from 1900 to 2200.', param, ctx)
        return day


class Terminal(click.ParamType[int]):
    """A station, by the number of its terminal; `place` says where in the command it stands."""

    name = "station"

    def __init__(self, place: str) -> None:
        self.place = place

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ANN401
        """Read the number or say where it belongs."""
        text = str(value)
        if not (text.isascii() and text.isdecimal() and len(text) <= _TERMINAL_DIGITS):
            wrong = f'"{text}" is no number of a terminal; write that of the terminal that the station is wired to, '
            self.fail(f"{wrong}{self.place}.", param, ctx)
        return int(text)


def site_argument(function: F) -> F:
    """Add the site file."""
    return click.argument("site", type=click.Path(path_type=Path))(function)


def weather_argument(function: F) -> F:
    """Add the weather file and the mapping that reads it."""
    return _columns_option(click.argument("weather", type=click.Path(path_type=Path))(function))


def weather_or_feeds(function: F) -> F:
    """Add a weather file that may be left out, and what its absence then needs: settings, and whether to ask feeds."""
    for add in (
        click.option("--no-fetch", is_flag=True, help="Use the feed answers that are kept; ask nobody."),
        settings_option,
        _columns_option,
        click.argument("weather", type=click.Path(path_type=Path), required=False),
    ):
        function = add(function)
    return function


def settings_option(function: F) -> F:
    """Add the settings file."""
    return click.option(
        "--settings",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="Service settings (TOML): where feeds answer, where weather is kept. Default: $ETSCHED_SETTINGS.",
    )(function)


def _columns_option(function: F) -> F:
    return click.option(
        "--columns",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="How the weather file names and measures things (TOML). Without it: the columns the README lists.",
    )(function)


def today_option(function: F) -> F:
    """Add the day that counts as today."""
    return click.option(
        "--today",
        type=Day(),
        metavar="DATE",
        help="The day that counts as today: rows from it on are forecast. Default: the site's own date.",
    )(function)


def units_option(function: F) -> F:
    """Add the reader's units."""
    return click.option(
        "--units",
        type=click.Choice(["us", "metric"]),
        help="Units to read in. Default: those of the site file.",
    )(function)


def week_inputs(function: F) -> F:
    """Add what a week is planned from, after the site: its weather, its day, the days before.

    The command gets `inputs` (site, weather, today) and `before`, read.
    """

    @wraps(function)
    def command(**given: Any) -> None:  # noqa: ANN401 - click hands over each option by its name
        from etsched.cli.inputs import Asked, inputs_of
        from etsched.usecases.week import Before

        where = {name: given.pop(name) for name in ("site", "weather", "columns", "settings", "today")}
        before = Before(*(given.pop(name) for name in ("after", "ran", "visits")))
        inputs = inputs_of(Asked(**where, fetch=not given.pop("no_fetch")))
        function(inputs=inputs, before=before, **given)

    return weather_or_feeds(today_option(units_option(_before_options(command))))  # type: ignore[return-value]


def _before_options(function: F) -> F:
    """Add what is known of the days before the plan."""
    after = click.option(
        "--after",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="Last week's JSON document: begin with its water.",
    )
    ran = click.option(
        "--ran",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="What really ran, CSV: night,station,minutes. What it leaves out did not run.",
    )
    visits = click.option(
        "--visit",
        "visits",
        type=click.Path(path_type=Path),
        multiple=True,
        metavar="FILE",
        help="The record of a visit: plan with what it found. May be given several times.",
    )
    return after(ran(visits(function)))
