"""A season replayed on a weather file: a table each week, each week beginning with the water the last one left."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from etsched.errors import PlanRefused
from etsched.planning import start, water
from etsched.planning.outlook import WEEK_D
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, outlook_of, plan_nights

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.frames.weather import Weather
    from etsched.model.plan import WeekPlan
    from etsched.model.site import Site


def season_weeks(first: date, last: date) -> list[date]:
    """Give the first day of every whole week between two days, both included."""
    weeks = ((last - first).days + 1) // WEEK_D
    return [first + timedelta(days=WEEK_D * n) for n in range(weeks)]


def replay_season(site: Site, weather: Weather, first: date, last: date) -> Iterator[WeekPlan]:
    """Plan every week of a season in turn; what was planned is taken to have run.

    Each week sees the weather of its own days as a forecast that came true. Raises PlanRefused when the weather does
    not hold the whole season.
    """
    days = days_from_weather(weather, site)
    held_last = days.records[-1].day
    if first < days.first or last > held_last or not season_weeks(first, last):
        raise PlanRefused(
            f"the season from {first} to {last} is not inside the weather, which runs from {days.first} to "
            f"{held_last}, or holds no whole week; choose days within it"
        )
    carried: WeekPlan | None = None
    ran: dict[tuple[int, date], int] = {}
    for week in season_weeks(first, last):
        outlook = outlook_of(site, days, week, Earlier(carried.end, ran) if carried is not None else None)
        deficit = (
            start.assumed_deficit(site, outlook.ground, outlook.days, outlook.index(week))
            if carried is None
            else water.deficit_from(outlook.ground, carried.end)
        )
        carried = plan_nights(outlook, deficit, weather.source)
        ran |= {(run.terminal, night.night.serves): run.length_min for night in carried.nights for run in night.runs}
        yield carried
