"""What a file holds besides typed values: names, choices, times of day, weekdays, time zones, counts."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cache
from typing import Annotated
from zoneinfo import ZoneInfo, available_timezones

from etsched.documents.reader import Json, Reader
from etsched.documents.refusals import closest, refuse, shown, written_out

_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)", re.ASCII)
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LONG_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_FEWEST_LETTERS = 3  # of a weekday's name, as calendars print it
_EVERY_DAY = "every day"


@dataclass(frozen=True, slots=True)
class Words(Reader):
    """Plain text of one line, for people to read."""

    most: int

    def schema(self) -> Json:
        """Describe text of one line."""
        return {"type": "string", "minLength": 1, "maxLength": self.most}

    def read(self, raw: object) -> str:
        """Accept a text that can be printed on one line."""
        if not isinstance(raw, str):
            raise refuse(f"{shown(raw)} is not text", "write it in double quotes")
        text = raw.strip()
        if not text:
            raise refuse("is empty", "write a word or two")
        if not text.isprintable():
            raise refuse(f"{shown(text)} holds an invisible character", "type it again by hand")
        if len(text) > self.most:
            raise refuse(f"{shown(text)} has {len(text)} characters", f"say it in at most {self.most}")
        return text


@dataclass(frozen=True, slots=True)
class OneOf(Reader):
    """A choice among words; the words are asked for when needed, so that tables are read late."""

    noun: str
    known: Callable[[], Sequence[str]]
    make: Callable[[str], object] = str

    def schema(self) -> Json:
        """List the choices."""
        return {"type": "string", "enum": [str(word) for word in self.known()]}

    def read(self, raw: object) -> object:
        """Accept one of the words, in any case; refuse another one with the closest of them."""
        known = self.known()
        typed = raw.strip().casefold() if isinstance(raw, str) else ""
        if typed in known:
            return self.make(typed)
        match = closest(typed, known)
        known_are = f"known are {written_out(known, 'and')}"
        remedy = f'perhaps you meant "{match}"; {known_are}' if match else f"write {written_out(known)}"
        raise refuse(f"{shown(raw)} is no {self.noun}", remedy)


@dataclass(frozen=True, slots=True)
class Whole(Reader):
    """A whole number within bounds."""

    low: int
    high: int

    def schema(self) -> Json:
        """Describe the bounds."""
        return {"type": "integer", "minimum": self.low, "maximum": self.high}

    def read(self, raw: object) -> int:
        """Accept a whole number that is not hidden in quotes."""
        if not isinstance(raw, int) or isinstance(raw, bool):
            raise refuse(f"{shown(raw)} is not a whole number", "write it without quotes and without a point")
        if not self.low <= raw <= self.high:
            remedy = f"write a whole number from {self.low} to {self.high}"
            raise refuse(f"{shown(raw)} is out of range", remedy)
        return raw


class Day(Reader):
    """A day as calendars write it: TOML's own date, or text."""

    def schema(self) -> Json:
        """Describe text of a date; TOML's own needs no quotes."""
        return {"type": "string", "format": "date"}

    def read(self, raw: object) -> date:
        """Accept a date without a time of day."""
        try:
            if isinstance(raw, str):
                return date.fromisoformat(raw.strip())
        except ValueError:
            pass
        if isinstance(raw, date) and not isinstance(raw, datetime):
            return raw
        raise refuse(f"{shown(raw)} is no date", "write year, month and day, such as 2026-07-14")


class PlanLabel(Words):
    """What a drawing calls a station: text or a whole number."""

    def schema(self) -> Json:
        """Describe text that may be a number too."""
        return Words.schema(self) | {"type": ["string", "integer"]}

    def read(self, raw: object) -> str:
        """Accept a whole number as text."""
        if isinstance(raw, int) and not isinstance(raw, bool):
            return str(Whole(0, 99_999).read(raw))
        return Words.read(self, raw)


class WallClock(Reader):
    """A time of day such as `"22:00"`."""

    def schema(self) -> Json:
        """Describe hours and minutes."""
        return {"type": "string", "pattern": "^([01]?[0-9]|2[0-3]):[0-5][0-9]$"}

    def read(self, raw: object) -> time:
        """Accept text of hours and minutes; TOML's own time of day, `22:00:00`, too."""
        if isinstance(raw, time) and (raw.second, raw.microsecond) == (0, 0):
            return raw
        match = _CLOCK.fullmatch(raw.strip()) if isinstance(raw, str) else None
        if match is None:
            remedy = 'write hours and minutes from "00:00" to "23:59"'
            raise refuse(f"{shown(raw)} is no time of day", remedy)
        return time(int(match[1]), int(match[2]))


class Weekdays(Reader):
    """`"every day"` or a list of weekdays, each once; Monday is 0."""

    def schema(self) -> Json:
        """Describe both ways of saying it."""
        days = {"type": "array", "items": {"enum": [*_DAYS]}, "minItems": 1, "uniqueItems": True}
        return {"anyOf": [{"const": _EVERY_DAY}, days]}

    def read(self, raw: object) -> frozenset[int]:
        """Accept names of the days from three letters on."""
        if isinstance(raw, str) and raw.strip().casefold() == _EVERY_DAY:
            return frozenset(range(7))
        if not isinstance(raw, list) or not raw:
            wrong = "names no day" if raw == [] else f"{shown(raw)} is no list of weekdays"
            raise refuse(wrong, 'write a list such as ["Mon", "Thu"], or "every day"')
        days = [_weekday(each) for each in raw]
        for day in days:
            if days.count(day) > 1:
                raise refuse(f'"{_DAYS[day]}" stands twice', "name each day once")
        return frozenset(days)


class TimeZoneName(Reader):
    """The name of a time zone as the IANA database writes it."""

    def schema(self) -> Json:
        """Describe the name."""
        return {"type": "string", "pattern": "/"}

    def read(self, raw: object) -> ZoneInfo:
        """Accept a name the database knows; refuse another one with the closest name."""
        if isinstance(raw, str) and "/" in raw:
            try:
                return ZoneInfo(raw)
            except (KeyError, ValueError, OSError):
                pass  # no such name, or one that means a folder or a path
        match = _closest_zone(raw) if isinstance(raw, str) else None
        remedy = f'perhaps you meant "{match}"' if match else 'write a name such as "America/Los_Angeles"'
        raise refuse(f"{shown(raw)} is no time zone", remedy)


def _weekday(raw: object) -> int:
    word = raw.strip().casefold() if isinstance(raw, str) else ""
    for number, name in enumerate(_LONG_DAYS):
        if len(word) >= _FEWEST_LETTERS and name.startswith(word):
            return number
    raise refuse(f"{shown(raw)} is no weekday", f"write {written_out(_DAYS)}")


def _closest_zone(name: str) -> str | None:
    """Find a zone by its whole name, or by the town alone, as people write it."""
    zones = _zones()
    towns = {zone.rpartition("/")[2].replace("_", " "): zone for zone in reversed(zones)}
    town = closest(name, towns)
    return closest(name, zones) or (towns[town] if town else None)


@cache
def _zones() -> list[str]:
    """Give the names of all time zones; finding them reads hundreds of files."""
    return sorted(zone for zone in available_timezones() if "/" in zone)


Name = Annotated[str, Words(80)]
Note = Annotated[str, Words(300)]
PlanNumber = Annotated[str, PlanLabel(20)]
Terminal = Annotated[int, Whole(1, 9999)]
ValveCount = Annotated[int, Whole(1, 100)]
Priority = Annotated[int, Whole(1, 99)]
Delay = Annotated[int, Whole(0, 60)]
DayIn = Annotated[date, Day()]
NightCount = Annotated[int, Whole(0, 7)]
ProgramCount = Annotated[int, Whole(1, 50)]
ClockTime = Annotated[time, WallClock()]
WaterDays = Annotated[frozenset[int], Weekdays()]
TimeZone = Annotated[ZoneInfo, TimeZoneName()]
