"""What a week owes its reader about new seed, new sod and dormant turf: since when, until when, what comes next."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.days import day_text, time_text
from etsched.planning.dormant import last_wetted
from etsched.planning.modes import dormant_on, stage_on, young_until_d
from etsched.reference.modes import dormant, stages

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from etsched.model.plan import WeekPlan
    from etsched.model.site import Station
    from etsched.planning.outlook import Outlook


def mode_notes(plan: WeekPlan, outlook: Outlook) -> tuple[str, ...]:
    """Collect the sentences about every station whose turf is in a mode of its own, then those about the hours."""
    stations = enumerate(plan.site.stations)
    told = (_told(outlook, at, station, plan.first_day) for at, station in stations if station.blocked is None)
    return (*(text for text in told if text), *_hours(plan), *_dropped(plan))


def _told(outlook: Outlook, at: int, station: Station, first_day: date) -> str:
    name, since = f"Station {station.terminal} ({station.area})", station.mode_since
    if since is None:
        return ""
    if first_day < since:
        return f"{name} is planned as usual until it is {station.mode}, from {day_text(since)} on."
    if dormant_on(station, first_day):
        rest = timedelta(days=round(dormant("interval").value))
        wetted = last_wetted(outlook, at, first_day)
        again = wetted + rest
        return (
            f"{name} is dormant since {day_text(since)}: it waters only where nothing has wetted it for {rest.days} "
            f"days; counted from {day_text(wetted)}, that is {_from(again, first_day)}. That run keeps its crowns "
            "alive and does not green it up; for green turf take the mode out "
            f"({dormant('interval').source})."
        )
    young = young_until_d(station, first_day)
    if young is None:
        return f"{name} is no longer young turf: take its mode out of the site file."
    parts = [
        f"{stage.runs_count} light run{'s' if stage.runs_count > 1 else ''} a day to "
        f"{day_text(since + timedelta(days=stage.end_d - 1))}"
        for stage in stages(str(station.mode))
        if first_day < since + timedelta(days=stage.end_d)
    ]
    parts.append(f"ordinary nights with young roots to {day_text(since + timedelta(days=young - 1))}")
    has = "" if outlook.site.new_turf else "it should have "
    steps = ", then ".join(parts)
    return f"{name} is {station.mode} since {day_text(since)}: {has}{steps}; look whether it stands first."


def _from(day: date, first_day: date) -> str:
    return f"from {day_text(day)} on" if day > first_day else "on the first allowed night"


def _hours(plan: WeekPlan) -> Iterator[str]:
    days = [plan.first_day + timedelta(days=later) for later in range(len(plan.days))]
    new = [str(each.terminal) for each in plan.site.stations if any(stage_on(each, day) for day in days)]
    hours = plan.site.new_turf
    if not new:
        return
    if hours is None:
        yield (
            f"New turf (station{'s' if len(new) > 1 else ''} {', '.join(new)}) wants light runs by day, and the site "
            "file states no hours for them ([new_turf]): it is watered on the allowed nights only, which is too "
            "seldom. Rules of the place may ask for a permit to water by day; ask first, then state hours and permit."
        )
        return
    opens, closes = (time_text(each, plan.site.units) for each in (hours.opens_at, hours.closes_at))
    yield (
        f"Light runs by day lie between {opens} and {closes}, which this allows: {hours.permit}. Leave them out while "
        "rain keeps the ground wet or water stands on it."
    )


def _dropped(plan: WeekPlan) -> Iterator[str]:
    for day in plan.light:
        for terminal, count in day.dropped:
            runs = "1 light run" if count == 1 else f"{count} light runs"
            yield f"Station {terminal}, {day_text(day.hours.serves)}: {runs} by day do not fit the hours."
