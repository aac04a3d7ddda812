"""What every night of a plan shares, and which nights there are."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.days import Night, night
from etsched.errors import PlanRefused
from etsched.model.site import HoldKind

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.light_runs import LightDay
    from etsched.model.site import Ban, Site, WateringRules
    from etsched.planning.facts import Fact
    from etsched.planning.ground import Ground
    from etsched.planning.weather_days import Days

WEEK_D = 7


@dataclass(frozen=True, slots=True)
class Outlook:
    """The site with its facts as arrays, and the weather from before the plan to well past its end."""

    site: Site
    facts: list[dict[str, Fact]]
    ground: Ground
    days: Days
    first_day: date
    start_sources: tuple[str, ...]  # how each station's water on the first morning is known
    light: tuple[LightDay, ...] = ()  # runs by day of new turf, settled before the nights
    watered_min: Mapping[tuple[int, date], int] = field(default_factory=dict)  # known to have run: (terminal, day)
    allowance_min: NDArray[np.int64] | None = None  # minutes (S,) that a cut leaves the nights it holds on

    def index(self, day: date) -> int:
        """Place of a day in the weather arrays."""
        return (day - self.days.first).days


def opening_day(rules: WateringRules, serves: date) -> date:
    """Give the day on which the window opens whose water enters before a day's ET."""
    return serves - timedelta(days=int(rules.closes_at <= rules.opens_at))


def watering_night(site: Site, serves: date) -> Night | None:
    """Give the window whose water enters before a day's ET; None where it may not open."""
    rules = site.rules
    opens_on = opening_day(rules, serves)
    closed = any(not ban.terminals and ban.kind is not HoldKind.WIND for ban in bans_on(site, opens_on))
    if closed or opens_on.weekday() not in rules.water_days:
        return None
    return night(opens_on, rules.opens_at, rules.closes_at, site.place.zone)


def next_chance(site: Site, serves: date) -> date:
    """Give the day that the next night to count on after this one serves.

    A calm night does not count on windy ones, so that who can waters before the wind; a windy night counts on the
    very next, so that it waters nobody who can wait.
    """
    windy_now = is_windy(site, opening_day(site.rules, serves))
    if not site.rules.water_days:
        raise PlanRefused("no weekday is a water day: name at least one in the site file")
    for later in range(1, WEEK_D):
        day = serves + timedelta(days=later)
        windy = is_windy(site, opening_day(site.rules, day))
        if (windy_now or not windy) and watering_night(site, day) is not None:
            return day
    return serves + timedelta(days=WEEK_D)  # a ban reaches further; what comes after it is not looked at


def is_windy(site: Site, opens_on: date) -> bool:
    """Say whether wind would carry the spray of a night away; only who cannot wait waters then."""
    return any(ban.kind is HoldKind.WIND for ban in bans_on(site, opens_on))


def bans_on(site: Site, opens_on: date) -> tuple[Ban, ...]:
    """Give the bans that hold on the day on which a window opens."""
    return tuple(ban for ban in site.bans if ban.first <= opens_on <= ban.last)


def ground_tonight(outlook: Outlook, window: Night) -> Ground:
    """The ground with the stations that a ban keeps dry tonight taken for stations that no water reaches."""
    barred = {terminal for ban in bans_on(outlook.site, window.opens_on) for terminal in ban.terminals}
    if not barred:
        return outlook.ground
    works = outlook.ground.works & ~np.isin(outlook.ground.terminal, sorted(barred))
    return replace(outlook.ground, works=works)


def span_to_last(outlook: Outlook, serves: date) -> range:
    """Give the days, by their place in the weather, that a night's water must last: up to the next allowed night's."""
    return range(outlook.index(serves), outlook.index(next_chance(outlook.site, serves)))
