"""The loopback feeds and two clients: one that really asks them, one that only writes down what it is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import TypeVar

import pytest

from demo.weather_server import WeatherServer, start_weather_server
from etsched.http_client import ClientLimits, HttpClient, RawBody, Request
from tests.feeds.answers import answer

T = TypeVar("T")


class Recorder:
    """Stands in for the client: keeps the request and answers with `body`."""

    def __init__(self) -> None:
        self.body = ""
        self.request: Request | None = None
        self.known: RawBody | None = None
        self.raw: RawBody | None = None

    def get(
        self, request: Request, validate: Callable[[RawBody], T], *, known: RawBody | None = None
    ) -> tuple[RawBody, T]:
        self.request, self.known, self.raw = request, known, answer(self.body)
        return self.raw, validate(self.raw)


@pytest.fixture
def recorder() -> Recorder:
    return Recorder()


@pytest.fixture
def server() -> Iterator[WeatherServer]:
    with start_weather_server(date(2026, 7, 13)) as started:
        yield started


@pytest.fixture
def client() -> Iterator[HttpClient]:
    with HttpClient(ClientLimits(backoff_s=0.0, interval_s=0.0)) as ready:
        yield ready
