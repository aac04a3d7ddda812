"""What goes in and out of a feed: a question already taken apart, the state of the world, and a reply."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta

from .limits import Allowance

NOW_UTC = time(13)  # the hour of every "today": early morning in the west of North America
STALE_DAYS = 3
LONGER_TAIL_DAYS = 10
SHIFT_H = 6
MOST_DAYS = 4000  # in one answer; own bound, so that no question keeps the machine busy
FAR_CELL_DEG = 2.7  # of latitude: 300 km
JSON = "application/json; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Ask:
    """One request below a feed's prefix; a parameter given twice is joined by a comma. Header names are lower case."""

    path: str
    query: Mapping[str, str]
    headers: Mapping[str, str]

    def list_of(self, name: str) -> list[str]:
        """Give the words of a comma list."""
        return [word.strip() for word in self.query.get(name, "").split(",") if word.strip()]


@dataclass(frozen=True, slots=True)
class World:
    """Where and when the feeds are asked, and which fault in the data, if any, the feed in hand has."""

    seed: int
    today: date
    base_url: str
    allowance: Allowance
    fault: str = ""

    @property
    def now(self) -> datetime:
        return datetime.combine(self.today, NOW_UTC, UTC)

    @property
    def issued(self) -> date:
        """The day up to which the feed knows the weather; a stale feed stopped three days ago."""
        return self.today - timedelta(days=STALE_DAYS if self.fault == "stale" else 0)

    @property
    def shift_h(self) -> int:
        """By how many hours each value stands too late."""
        return SHIFT_H if self.fault == "shifted-hours" else 0

    @property
    def far_deg(self) -> float:
        """How far north of the right cell the answering one lies."""
        return FAR_CELL_DEG if self.fault == "far-cell" else 0.0


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer before it is put on the wire."""

    status: int
    body: bytes
    content_type: str = JSON
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Seen:
    """One request as it came in, and the status it was answered with (0: never answered)."""

    at: datetime
    feed: str
    host: str
    path: str
    query: dict[str, str]
    headers: dict[str, str]
    status: int


@dataclass(frozen=True, slots=True)
class Feed:
    """One provider: how it answers, and in which words it tells that it cannot (status -> reply)."""

    answer: Callable[[Ask, World], Reply]
    trouble: Callable[[int], Reply]


def as_json(value: object) -> bytes:
    """Write compact JSON in UTF-8."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def json_reply(value: object, status: int = 200, content_type: str = JSON) -> Reply:
    """Give JSON as a reply."""
    return Reply(status, as_json(value), content_type)
