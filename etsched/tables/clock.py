"""Days and wall-clock times as a reader of the site's units writes them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from etsched.days import Night, day_text, time_text, wall_time
from etsched.units import UnitSystem

_ONE_DAY = timedelta(days=1)
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True)
class NightClock:
    """The wall clock of one night: minutes after opening in, what the clock shows out.

    In a night in which the clocks change, every time carries its zone's abbreviation: some occur twice.
    """

    night: Night
    zone: ZoneInfo
    system: UnitSystem

    def local(self, minute: int) -> datetime:
        """Give the wall-clock time so many minutes after the window opens."""
        return wall_time(self.night.opens + timedelta(minutes=minute), self.zone)

    def text(self, minute: int) -> str:
        """Write that time: `10:42 pm`, `22:42`, or `1:30 am EDT` in a night in which the clocks change."""
        moment = self.local(minute)
        shown = time_text(moment.time(), self.system)
        return f"{shown} {moment.tzname()}" if self.changes else shown

    @property
    def changes(self) -> bool:
        """Whether the clocks change between opening and closing."""
        return self.local(0).utcoffset() != wall_time(self.night.closes, self.zone).utcoffset()

    @property
    def window(self) -> str:
        """Write the window's two ends: `10:00 pm–6:00 am`."""
        return f"{self.text(0)}–{self.text(self.night.length_min)}"


def night_text(night: Night) -> str:
    """Write the days a window touches: `Mon Jul 13 into Tue Jul 14`, or one day if it stays within it."""
    if night.serves == night.opens_on:
        return day_text(night.opens_on)
    return f"{day_text(night.opens_on)} into {day_text(night.serves)}"


def days_text(days: Sequence[date]) -> str:
    """Write sorted days, runs of neighbours as spans: `Mon Jul 13–Wed Jul 15, Fri Jul 17`."""
    spans: list[list[date]] = []
    for day in days:
        if spans and day - spans[-1][1] == _ONE_DAY:
            spans[-1][1] = day
        else:
            spans.append([day, day])
    return ", ".join(
        day_text(first) if first == last else f"{day_text(first)}–{day_text(last)}" for first, last in spans
    )


def weekdays_text(days: Collection[int]) -> str:
    """Write the weekdays that are keyed into a program: `Mon, Wed, Fri`, `every day`."""
    if len(days) == len(_WEEKDAYS):
        return "every day"
    return ", ".join(_WEEKDAYS[day] for day in sorted(days)) or "no day"
