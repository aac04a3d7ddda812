"""What stands on the ground: instruments of invented names, and the hours and days they measure of the one weather."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from .exchange import LONGER_TAIL_DAYS, MOST_DAYS, World
from .weather import TRUTH, Hour, chances, hour_at, spot_at, utc_hour_of


@dataclass(frozen=True, slots=True)
class Instrument:
    """A station or a gauge. `day_ends_h` is the hour of the standard clock at which its day ends: 24 or 7."""

    identifier: str
    name: str
    latitude_deg: float
    longitude_deg: float
    day_ends_h: int = 24

    def hours(self, world: World, day: date) -> list[Hour]:
        """Give 25 hours, from the beginning of its day to the first one after: the last holds the closing instant."""
        spot = spot_at(world.seed, self.latitude_deg, self.longitude_deg)
        end = utc_hour_of(day, spot.solar_offset_h) + self.day_ends_h - world.shift_h
        return [hour_at(spot, TRUTH, hour) for hour in range(end - 24, end + 1)]

    def rain_mm(self, world: World, day: date) -> float:
        """Rain of its day."""
        return sum(hour.rain_mm for hour in self.hours(world, day)[:24])

    def luck(self, world: World, day: date, of: str) -> float:
        """Give a number between 0 and 1 by which a reading goes well or not."""
        return chances(world.seed, self.identifier, day.toordinal(), of)[0]


def days_known(first: date, last: date, lag_days: int, world: World) -> list[date]:
    """Give the days from `first` to `last` that have been measured and sent in, the newest where there are too many."""
    tail = lag_days + (LONGER_TAIL_DAYS if world.fault == "null-tail" else 0)
    newest = min(last, world.issued - timedelta(days=tail))
    count = min(MOST_DAYS, (newest - first).days + 1)
    return [newest - timedelta(days=back) for back in reversed(range(count))]
