"""Answers made for tests: the invented ones under shared/feeds, whole or with something changed."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from etsched.feeds.ask import FeedAsk
from etsched.http_client import RawBody
from etsched.model.site import Place

SHARED = Path(__file__).parents[2] / "shared" / "feeds"
FETCHED = datetime(2026, 7, 10, 13, 0, tzinfo=UTC)
DENVER = Place(39.5, -105.0, 1600.0, ZoneInfo("America/Denver"))
PACIFIC = Place(37.4, -119.9, 600.0, ZoneInfo("America/Los_Angeles"))


def text_of(name: str) -> str:
    """Give a file of shared/feeds with its line ends as they are."""
    return (SHARED / name).read_bytes().decode()


def answer(body: str | bytes, content_type: str = "application/json") -> RawBody:
    """Give a body as the client hands it over."""
    raw = body.encode() if isinstance(body, str) else body
    return RawBody("https://feed.example/", FETCHED, 200, content_type, "", "", raw)


def ask(first: str, last: str, *, place: Place = DENVER, today: str = "2026-07-10", station: str = "") -> FeedAsk:
    """Ask for days of a place."""
    days = (date.fromisoformat(day) for day in (first, last, today))
    return FeedAsk(place, *days, station)
