"""The runs of tonight and the week as a calendar (iCalendar, RFC 5545), by an address that may be revoked."""

from __future__ import annotations

import json
import secrets
from datetime import datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from etsched import __version__
from etsched.days import time_text
from etsched.errors import NotKept
from etsched.reports.kept_week import nights_for_controller
from etsched.stores import calendars, plans, trail
from etsched.tables.figure import count_of, plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.model.service import KeptPlan, KeptSite
    from etsched.usecases.service import Service

# How far around a week the calendar describes its zone's clock changes, so that one lies on either side.
_ZONE_KNOWN = timedelta(days=366)


def make_address(service: Service, site: str, actor: str) -> tuple[str, str]:
    """Make an address: its short name, and its secret of 256 random bits, which is not kept."""
    token, now = secrets.token_urlsafe(32), service.clock.now()
    with service.database.writing() as writing:
        calendar = calendars.put_address(writing, site, _digest(token), now)
        trail.note(writing, now, actor, "calendar address made", site, calendar)
    return calendar, token


def revoke_address(service: Service, site: str, calendar: str, actor: str) -> bool:
    """Revoke an address by its short name; False where the property never had one of that name."""
    now = service.clock.now()
    with service.database.writing() as writing:
        if calendars.revoke(writing, site, calendar, now):
            trail.note(writing, now, actor, "calendar address revoked", site, calendar)
            return True
        return calendars.find_address(writing, site, calendar) is not None


def shown_by(service: Service, token: str) -> tuple[str, KeptPlan | None]:
    """Give the property that an address shows and its last plan. Raises NotKept."""
    with service.database.reading() as reading:
        site = calendars.site_of_address(reading, _digest(token))
        if site is None:
            raise NotKept("no calendar has this address")
        return site, plans.latest_plan(reading, site)


def calendar_text(kept: KeptSite, plan: KeptPlan | None) -> bytes:
    """Write a calendar: an event a run, under an id that stays when a newer plan moves the run."""
    calendar = Calendar()
    calendar.add("prodid", f"-//etsched//{__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"Watering: {plain(kept.name)}")
    if plan is not None:
        for event in _events(kept, plan):
            calendar.add_component(event)
        ends = plan.first_day + _ZONE_KNOWN
        calendar.add_missing_timezones(first_date=plan.first_day - _ZONE_KNOWN, last_date=ends)
    return bytes(calendar.to_ical())


def _events(kept: KeptSite, plan: KeptPlan) -> Iterator[Event]:
    week = json.loads(plan.document)
    zone = ZoneInfo(kept.zone)
    areas = {row["terminal"]: row["area"] for row in week["stations"]}
    for night in nights_for_controller(week, week["units"]):
        for run in night["runs"]:
            event = _event(kept, plan, f"{night['opens_on']}-{run['terminal']}", _span(run["cycles"], zone))
            yield _told(event, run["terminal"], areas, run["minutes"], _cycles(run, week["units"]))
        for row in night["light_runs"]:
            yield from _light(kept, plan, row, zone)


def _light(kept: KeptSite, plan: KeptPlan, row: dict[str, Any], zone: ZoneInfo) -> Iterator[Event]:
    for number, start in enumerate(row["starts_utc"], 1):
        begins = datetime.fromisoformat(start).astimezone(zone)
        ends = begins + timedelta(minutes=row["minutes_each"])
        event = _event(kept, plan, f"{row['day']}-{row['terminal']}-light-{number}", (begins, ends))
        yield _told(event, row["terminal"], {row["terminal"]: row["area"]}, row["minutes_each"], "Light run by day.")


def _event(kept: KeptSite, plan: KeptPlan, name: str, span: tuple[datetime, datetime]) -> Event:
    event = Event()
    event.add("uid", f"{name}@{kept.site}.etsched.invalid")
    event.add("dtstamp", plan.at)
    event.add("sequence", plan.revision)
    event.add("dtstart", span[0])
    event.add("dtend", span[1])
    return event


def _told(event: Event, terminal: int, areas: dict[int, str], minutes: int, words: str) -> Event:
    event.add("summary", f"Station {terminal}, {plain(areas[terminal])}: {minutes} min")
    event.add("description", words)
    event.add("transp", "TRANSPARENT")  # water does not make anybody busy
    return event


def _span(cycles: list[dict[str, Any]], zone: ZoneInfo) -> tuple[datetime, datetime]:
    first, last = (datetime.fromisoformat(cycles[place]["start_utc"]) for place in (0, -1))
    ends = last + timedelta(minutes=cycles[-1]["minutes"])
    return first.astimezone(zone), ends.astimezone(zone)


def _cycles(run: dict[str, Any], units: str) -> str:
    walls = (datetime.fromisoformat(each["start_local"]).time() for each in run["cycles"])
    starts = ", ".join(
        f"{time_text(wall, units)} for {each['minutes']} min" for wall, each in zip(walls, run["cycles"], strict=True)
    )
    return f"{count_of(len(run['cycles']), 'cycle', 'cycles')}: {starts}. {plain(run['reason'])}"


def _digest(token: str) -> str:
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
