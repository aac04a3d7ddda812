"""A small invented property, made weather, and a clock that a test moves: a service without an outside."""

import json
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pandas as pd

from etsched.frames.weather import DAILY_COLUMNS, Weather, check_daily
from etsched.model.service import AppliedRun, How, Period
from etsched.stores import job_runs
from etsched.usecases.properties import put_site
from etsched.usecases.service import Service

ZONE = ZoneInfo("America/Denver")
# Two stations of the same heads on the same soil: what one lacks beside the other is what ran on it.
SITE = """
name = "Quillmere Green"
units = "us"

[place]
latitude = 40.0
longitude = {longitude}
elevation = "5000 ft"
time_zone = "{zone}"

[watering]
opens = "22:00"
closes = "06:00"
water_days = "every day"

[[station]]
terminal = 1
area = "North lawn"
head = "spray"
turf = "cool-season"
soil = "loam"
precip_rate = {{ value = "1.5 in/h", known = "measured", note = "cups" }}
uniformity = {{ value = "100 %", known = "measured", note = "cups" }}
root_depth = {{ value = "12 in", known = "measured", note = "cores" }}
depletion = {{ value = "0.5 in", known = "measured", note = "a probe" }}

[[station]]
terminal = 2
area = "South lawn"
head = "spray"
turf = "cool-season"
soil = "loam"
precip_rate = {{ value = "1.5 in/h", known = "measured", note = "cups" }}
uniformity = {{ value = "100 %", known = "measured", note = "cups" }}
root_depth = {{ value = "12 in", known = "measured", note = "cores" }}
depletion = {{ value = "0.5 in", known = "measured", note = "a probe" }}
"""


LONGITUDES = {
    "America/Denver": -105.0,
    "America/Phoenix": -112.0,
    "America/Santiago": -70.6,
    "America/St_Johns": -52.7,
    "Australia/Lord_Howe": 159.1,
    "Europe/Berlin": 13.4,
}


def site_text(zone="America/Denver"):
    return SITE.format(zone=zone, longitude=LONGITUDES[zone])


@dataclass
class HandClock:
    """Shows what a test sets."""

    at: datetime

    def now(self):
        return self.at

    def today(self, zone):
        return self.at.astimezone(zone).date()

    def set(self, day, wall, zone=ZONE):
        self.at = datetime.combine(day, wall, tzinfo=zone).astimezone(UTC)


@dataclass(frozen=True)
class Times:
    """When the jobs of a day are due."""

    refresh_morning: time = time(5, 0)
    close_day: time = time(5, 30)
    refresh_evening: time = time(16, 30)
    plan_tonight: time = time(17, 0)
    tick_s: int = 1


TIMES = Times()


def weather_on(today, back_days=30, ahead_days=10, warmer_c=0.0):
    """Make dry weather around a day that is the same on every day, so that sums can be done by hand."""
    days = pd.date_range(today - timedelta(days=back_days), today + timedelta(days=ahead_days), name="day")
    frame = pd.DataFrame(float("nan"), index=days, columns=list(DAILY_COLUMNS))
    frame["tmin_c"], frame["tmax_c"], frame["dewpoint_c"] = 14.0 + warmer_c, 31.0 + warmer_c, 8.0
    frame["wind_m_s"], frame["solar_mj_m2_d"], frame["rain_mm"] = 2.0, 27.0, 0.0
    frame["is_forecast"] = [day.date() >= today for day in days]
    return Weather(check_daily(frame), None, "made weather")


@dataclass
class Feeds:
    """Answers with made weather, or fails as often as a test says."""

    clock: HandClock
    asked: list = field(default_factory=list)
    back_days: int = 30
    fails: object = None  # asked with the site; an exception it gives is raised

    def __call__(self, site):
        self.asked.append(site.name)
        error = self.fails(site) if self.fails else None
        if error is not None:
            raise error
        return weather_on(self.clock.today(site.place.zone), self.back_days)


def service_on(database, start=datetime(2026, 7, 1, 12, tzinfo=UTC)):
    """Put a service together whose outside is made."""
    clock = HandClock(start)
    return Service(database, clock, Feeds(clock), SimpleNamespace(jobs=TIMES))


def day(number, month=7):
    return date(2026, month, number)


def period(job, number, site="quillmere"):
    return Period(site, job, day(number))


def claimed(service, job, number):
    """Claim a period as a tick does."""
    return job_runs.claim(service.database, period(job, number), "test", service.clock.now())


def put(service, key="quillmere", zone="America/Denver"):
    return put_site(service, key, site_text(zone), "test")


def live(service, ticker, number, month=7):
    """Let one day pass with a tick after each of its times."""
    for wall in (time(5, 1), time(5, 31), time(16, 31), time(17, 1)):
        service.clock.set(day(number, month), wall)
        ticker.tick()


def told(terminal, opens_on, minutes, how=How.PROGRAM, report=None):
    return AppliedRun(report or f"{terminal} {opens_on} {how}", terminal, opens_on, minutes, how)


def plan_minutes(plan):
    """Minutes of a plan's first night by terminal."""
    runs = json.loads(plan.document)["applied"]
    return {run["terminal"]: run["minutes"] for run in runs if run["serves"] == plan.first_day.isoformat()}
