"""What would make a week fit whose nights are too short: each remedy planned through, the one worth most in front."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import time
from typing import TYPE_CHECKING

import numpy as np

from etsched.days import WEEKDAYS_IN_FULL, time_text
from etsched.model.plan import Remedy
from etsched.planning import water
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.holds import with_weather_holds
from etsched.planning.savings import even_again
from etsched.planning.thirst import dry_count, past_allowable_mm
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, outlook_of, plan_nights

if TYPE_CHECKING:
    from etsched.frames.weather import Weather
    from etsched.model.plan import WeekPlan
    from etsched.model.site import Site
    from etsched.planning.outlook import Outlook

_LONGER_MIN = 60
_MOST_REPAIRS = 3
_DAY_MIN = 24 * 60


def with_remedies(plan: WeekPlan, weather: Weather, earlier: Earlier | None = None) -> WeekPlan:
    """Give the plan with what would make it fit, where something is missing."""
    if not missing_min(plan):
        return plan
    outlook = outlook_of(plan.site, days_from_weather(weather, plan.site), plan.first_day, earlier)
    return replace(plan, remedies=week_remedies(outlook, plan))


def week_remedies(outlook: Outlook, plan: WeekPlan) -> tuple[Remedy, ...]:
    """Try, one at a time, what would let the nights hold more, and keep what does.

    What helps leaves less depletion past allowable, or else fewer minutes missing: minutes that one night cannot hold
    are wanted again the next, so that more nights can count more of them. The order is by what a reader is shown, the
    evenings on which turf is too dry, then the minutes.
    """
    tried = [_tried(outlook, plan, words, site) for words, site in _changes(outlook, plan)]
    now = (past_allowable_mm(plan.site, plan.first_day, plan.books), missing_min(plan))
    better = [each for each in tried if (each.past_mm, each.missing_min) < now]
    return tuple(sorted(better, key=lambda each: (each.dry_evenings_count, each.missing_min, each.past_mm)))


def missing_min(plan: WeekPlan) -> int:
    """Minutes that the nights of a week could not hold."""
    return sum(short.missing_min for night in plan.nights for short in night.shortfalls)


def _changes(outlook: Outlook, plan: WeekPlan) -> Iterator[tuple[str, Site]]:
    site = outlook.site
    yield from _repairs(outlook, plan)
    yield from _longer(site)
    for weekday in sorted(set(range(7)) - site.rules.water_days):
        rules = replace(site.rules, water_days=site.rules.water_days | {weekday})
        yield f"water on {WEEKDAYS_IN_FULL[weekday]} too, where the place allows it", replace(site, rules=rules)
    more = site.rules.max_valves_count + 1
    rules = replace(site.rules, max_valves_count=more)
    stated = site.rules.max_flow_l_min is not None
    held = "within the flow that the site file allows" if stated else "if supply and controller hold them"
    yield f"open {more} valves at once, {held}", replace(site, rules=rules)


def _repairs(outlook: Outlook, plan: WeekPlan) -> Iterator[tuple[str, Site]]:
    """Make the stations water evenly whose unevenness takes most of the nights' minutes."""
    minutes = {station.terminal: 0 for station in plan.site.stations}
    for night in plan.nights:
        for run in night.runs:
            minutes[run.terminal] += run.length_min
        for short in night.shortfalls:
            minutes[short.terminal] += short.missing_min
    even = [even_again(station) for station in outlook.site.stations]
    mended_site = replace(outlook.site, stations=tuple(even))
    mended_facts = facts_by_station(mended_site, outlook.first_day.month)
    mended = ground(mended_site, mended_facts)
    saved = 1.0 - mended.multiplier_factor / outlook.ground.multiplier_factor
    worth = [saved[at] * minutes[station.terminal] for at, station in enumerate(outlook.site.stations)]
    for at in np.argsort(-np.array(worth), kind="stable")[:_MOST_REPAIRS].tolist():
        station = outlook.site.stations[at]
        if worth[at] < 1.0 or station.blocked is not None:
            continue
        stations = tuple(even[at] if each is station else each for each in outlook.site.stations)
        good = mended_facts[at]["uniformity"].value
        who, until = f"station {station.terminal} ({station.area})", f"they water evenly (DU(lq) {good:.0%})"
        yield f"repair the heads of {who} until {until}", replace(outlook.site, stations=stations)


def _longer(site: Site) -> Iterator[tuple[str, Site]]:
    rules = site.rules
    if (_minute(rules.closes_at) - _minute(rules.opens_at)) % _DAY_MIN + _LONGER_MIN >= _DAY_MIN:
        return
    # Sooner rather than later, for the night should end by sunrise; later where sooner would be the day before.
    opens, closes = _minute(rules.opens_at) - _LONGER_MIN, _minute(rules.closes_at) + _LONGER_MIN
    if opens >= 0:
        longer, at = replace(rules, opens_at=_clock(opens)), time_text(_clock(opens), site.units)
        yield f"open the window an hour sooner, at {at}, if the place allows it", replace(site, rules=longer)
    elif closes < _DAY_MIN:
        longer, at = replace(rules, closes_at=_clock(closes)), time_text(_clock(closes), site.units)
        yield f"close the window an hour later, at {at}", replace(site, rules=longer)


def _minute(clock: time) -> int:
    return clock.hour * 60 + clock.minute


def _clock(minute: int) -> time:
    return time(minute // 60, minute % 60)


def _tried(outlook: Outlook, plan: WeekPlan, words: str, site: Site) -> Remedy:
    facts = facts_by_station(site, outlook.first_day.month)
    changed = replace(
        outlook,
        site=with_weather_holds(site, outlook.days, outlook.first_day),
        facts=facts,
        ground=ground(site, facts),
    )
    week = plan_nights(changed, water.deficit_from(changed.ground, plan.start), plan.weather_source)
    of_week = week.site, week.first_day, week.books
    return Remedy(words, missing_min(week), past_allowable_mm(*of_week), *dry_count(*of_week))
