"""Site days and watering nights in local time: the only place that converts between UTC and the wall clock.

Rule for a wall time that a clock change makes doubtful, on the side of the rules of the place: a window opens at
the *later* and closes at the *earlier* of the two readings of a doubled time; a time that is skipped counts as the
first instant after the gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_ONE_DAY = timedelta(days=1)
# Written out, so that the words are the same whatever the machine's locale is.
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
WEEKDAYS_IN_FULL = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Night:
    """One watering window: the wall-clock day it opens on, its two UTC instants, and the day it serves.

    `serves` is the local day before whose ET the water enters: the day on which the window closes.
    """

    opens_on: date
    opens: datetime
    closes: datetime
    serves: date

    @property
    def length_min(self) -> int:
        """Whole minutes that really pass between opening and closing."""
        return int((self.closes - self.opens).total_seconds() // 60)


def instant(day: date, wall: time, zone: ZoneInfo, *, later: bool = False) -> datetime:
    """Give the UTC instant at which a clock on the wall shows `wall` on `day` (see the module's rule)."""
    local = datetime.combine(day, wall, tzinfo=zone).replace(fold=int(later))
    found = local.astimezone(UTC)
    if found.astimezone(zone).replace(tzinfo=None) == local.replace(tzinfo=None):
        return found
    # Skipped by the clock: with fold=1 the offset after the gap is used, which lands before the gap by as much as
    # the wall time lies inside it; the first instant after the gap is the change itself.
    return _first_instant_after_gap(local)


def _first_instant_after_gap(local: datetime) -> datetime:
    before = local.replace(fold=0).utcoffset()
    after = local.replace(fold=1).utcoffset()
    if before is None or after is None:  # pragma: no cover - a ZoneInfo always has an offset
        raise ValueError(f"{local} has no offset")
    low = local.replace(tzinfo=UTC) - max(before, after)
    high = local.replace(tzinfo=UTC) - min(before, after)
    zone = local.tzinfo
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) / 2
        if middle.astimezone(zone).utcoffset() == after:
            high = middle
        else:
            low = middle
    return high.replace(microsecond=0)


def day_bounds(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Give the UTC instants at which a local day begins and ends (23, 24 or 25 hours apart)."""
    return instant(day, time(0), zone), instant(day + _ONE_DAY, time(0), zone)


def night(opens_on: date, opens_at: time, closes_at: time, zone: ZoneInfo) -> Night:
    """Give the watering window that opens on a local day; one that ends at or before its opening ends next day."""
    serves = opens_on if closes_at > opens_at else opens_on + _ONE_DAY
    opens = instant(opens_on, opens_at, zone, later=True)
    closes = instant(serves, closes_at, zone)
    if closes <= opens:  # both ends inside the doubled hour
        closes = max(opens, instant(serves, closes_at, zone, later=True))
    return Night(opens_on, opens, closes, serves)


def wall_time(moment: datetime, zone: ZoneInfo) -> datetime:
    """Give a UTC instant as the wall clock of the site shows it."""
    return moment.astimezone(zone)


def time_text(wall: time, units: str) -> str:
    """Write a time of the wall clock as readers of these units do: `2:30 am` (us), `02:30` (metric)."""
    if units == "metric":
        return f"{wall.hour:02d}:{wall.minute:02d}"
    return f"{wall.hour % 12 or 12}:{wall.minute:02d} {'am' if wall.hour < 12 else 'pm'}"


def day_text(day: date) -> str:
    """Write a day as people say it in a week's plan: `Mon Jul 13`."""
    return f"{_WEEKDAYS[day.weekday()]} {_MONTHS[day.month - 1]} {day.day}"


def day_in_full(day: date) -> str:
    """Write a day with its year: `Mon Jul 13, 2026`."""
    return f"{day_text(day)}, {day.year}"
