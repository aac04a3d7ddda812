"""A running weather server, and a client that shows an answer as it came."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode, urlsplit

import pytest

from demo.weather_server import WeatherServer, start_weather_server

TODAY = date(2026, 7, 13)
CONTACT = {"User-Agent": "etsched tests (keeper@cobble-ferry.example)"}


@dataclass(frozen=True)
class Answer:
    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.body)

    @property
    def rows(self) -> list[list[str]]:
        return [line.split(",") for line in self.body.decode().splitlines()]


class Client:
    """Asks one server; follows nothing and retries nothing."""

    def __init__(self, server: WeatherServer) -> None:
        self.server = server
        self._where = urlsplit(server.base_url).netloc

    def get(self, path: str, headers: dict[str, str] | None = None, timeout: float = 5.0, /, **query: str) -> Answer:
        connection = http.client.HTTPConnection(self._where, timeout=timeout)
        try:
            whole = f"{path}?{urlencode(query)}" if query else path
            connection.request("GET", whole, headers=CONTACT if headers is None else headers)
            response = connection.getresponse()
            return Answer(response.status, dict(response.headers), response.read())
        finally:
            connection.close()

    def forecast(self, **query: str) -> Answer:
        return self.get("/open-meteo-forecast/v1/forecast", **({"latitude": "37.4", "longitude": "-119.9"} | query))

    def archive(self, **query: str) -> Answer:
        return self.get("/open-meteo-archive/v1/archive", **({"latitude": "37.4", "longitude": "-119.9"} | query))

    def ensemble(self, **query: str) -> Answer:
        return self.get("/open-meteo-ensemble/v1/ensemble", **({"latitude": "37.4", "longitude": "-119.9"} | query))

    def power(self, **query: str) -> Answer:
        usual = {
            "parameters": "T2M_MAX,T2M_MIN,ALLSKY_SFC_SW_DWN,PRECTOTCORR",
            "community": "AG",
            "longitude": "-119.9",
            "latitude": "37.4",
            "start": "20260701",
            "end": "20260712",
            "format": "JSON",
            "time-standard": "LST",
        }
        return self.get("/power/api/temporal/daily/point", **{k: v for k, v in (usual | query).items() if v})

    def ghcn(self, **query: str) -> Answer:
        usual = {
            "dataset": "daily-summaries",
            "stations": "USW00099901",
            "startDate": "2026-06-01",
            "endDate": "2026-07-12",
            "units": "metric",
            "format": "json",
            "includeAttributes": "true",
        }
        return self.get("/ghcn/access/services/data/v1", **{k: v for k, v in (usual | query).items() if v})

    def cell(self) -> str:
        """Path of the grid cell at the usual place, as the answer for the point names it."""
        found = self.get("/nws/points/37.4,-119.9").json["properties"]["forecastGridData"]
        return str(found.removeprefix(self.server.base_url))


@pytest.fixture
def server() -> Iterator[WeatherServer]:
    with start_weather_server(TODAY) as running:
        yield running


@pytest.fixture
def client(server: WeatherServer) -> Client:
    return Client(server)
