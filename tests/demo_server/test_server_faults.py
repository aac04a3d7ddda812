"""Every fault does what its name says, to the feed it was set for and to no other."""

from __future__ import annotations

import http.client
import json
import socket
import time
import zlib
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlsplit
from urllib.request import Request, urlopen

import pytest

from demo.weather_server import FAULTS, NAMES, WeatherServer, faults_of, meaning

from .conftest import CONTACT, TODAY, Answer, Client

_PLACE = "latitude=37.4&longitude=-119.9"
PATHS = {
    "open-meteo-forecast": f"/v1/forecast?{_PLACE}&hourly=temperature_2m,wind_speed_10m&timeformat=unixtime",
    "open-meteo-archive": f"/v1/archive?{_PLACE}&hourly=temperature_2m,wind_speed_10m,precipitation"
    "&timeformat=unixtime&start_date=2026-06-15&end_date=2026-07-12",
    "open-meteo-ensemble": f"/v1/ensemble?{_PLACE}&hourly=temperature_2m&models=ncep_gefs025&timeformat=unixtime",
    "power": "/api/temporal/daily/point?parameters=T2M_MAX,ALLSKY_SFC_SW_DWN&community=AG&format=JSON"
    f"&{_PLACE}&start=20260601&end=20260712",
    "nws": "/gridpoints/CFY/601,1274",
    "ghcn": "/access/services/data/v1?dataset=daily-summaries&stations=USW00099901&startDate=2026-06-01"
    "&endDate=2026-07-12&units=metric&format=json",
    "station": "/901/daily-us.csv?start=2026-06-01",
    "gauge": "/grange.csv?start=2026-06-01",
}
OPEN_METEO = tuple(name for name in NAMES if name.startswith("open-meteo"))
PAIRS = [(feed, fault) for feed in NAMES for fault in faults_of(feed)]
IN_DATA = {
    "wrong-units", "unequal-arrays", "all-null", "null-tail", "spike", "doubled-days", "shifted-hours", "stale",
    "far-cell",
}  # fmt: skip


def ask(client: Client, feed: str, timeout: float = 5.0) -> Answer:
    return client.get(f"/{feed}{PATHS[feed]}", CONTACT, timeout)


def with_fault(client: Client, feed: str, fault: str) -> tuple[Any, Any]:
    """Give a feed's good answer and its spoiled one, as rows or as JSON."""
    good = ask(client, feed)
    client.server.set_fault(feed, fault)
    bad = ask(client, feed)
    assert (good.status, bad.status) == (200, 200)
    if feed in {"station", "gauge"}:
        return good.rows, bad.rows
    return good.json, bad.json


def test_every_fault_has_a_name_and_a_line() -> None:
    assert len(set(FAULTS)) == len(FAULTS) == 22
    assert all(meaning(fault) and "\n" not in meaning(fault) for fault in FAULTS)
    assert set(PATHS) == set(NAMES)
    assert {fault for feed in NAMES for fault in faults_of(feed)} == set(FAULTS)


@pytest.mark.parametrize(("feed", "fault"), [("power", "rain"), ("radar", "hang"), ("gauge", "far-cell")])
def test_a_fault_that_cannot_be_is_refused(server: WeatherServer, feed: str, fault: str) -> None:
    with pytest.raises(ValueError, match="cannot have"):
        server.set_fault(feed, fault)


@pytest.mark.parametrize(("feed", "fault"), [pair for pair in PAIRS if pair[1] in IN_DATA])
def test_a_fault_in_the_data_changes_the_body_until_it_is_cleared(client: Client, feed: str, fault: str) -> None:
    good = ask(client, feed)
    client.server.set_fault(feed, fault)
    bad = ask(client, feed)
    hourly = feed == "station" and fault == "shifted-hours"  # shows in the hours of that file's sister
    assert bad.status == 200
    assert hourly or bad.body != good.body
    assert bad.headers["Content-Type"] == good.headers["Content-Type"]
    client.server.clear()
    assert ask(client, feed).body == good.body


def test_a_fault_stays_with_its_feed(client: Client) -> None:
    client.server.set_fault("power", "5xx")
    assert ask(client, "power").status == 503
    assert ask(client, "open-meteo-archive").status == 200
    client.server.clear()
    assert ask(client, "power").status == 200


# on the wire


def raw(server: WeatherServer, feed: str, seconds: float) -> tuple[bytes, type[OSError] | None]:
    """Read what comes within some seconds; give it and the error that ended it, None at a good end."""
    where = urlsplit(server.base_url)
    with socket.create_connection((where.hostname, where.port), 2) as connection:
        connection.sendall(
            f"GET /{feed}{PATHS[feed]} HTTP/1.1\r\nHost: {where.netloc}\r\nUser-Agent: a@b.example\r\n\r\n".encode()
        )
        until, found = time.monotonic() + seconds, b""
        while (left := until - time.monotonic()) > 0:
            connection.settimeout(left)
            try:
                part = connection.recv(65536)
            except OSError as error:
                return found, type(error)
            if not part:
                return found, None
            found += part
    return found, TimeoutError


def told_and_come(found: bytes) -> tuple[int, int]:
    """Give the length that the head announces, and the length of the body that came."""
    head, _, body = found.partition(b"\r\n\r\n")
    (line,) = (line for line in head.split(b"\r\n") if line.lower().startswith(b"content-length"))
    return int(line.split(b":")[1]), len(body)


@pytest.mark.parametrize("feed", NAMES)
def test_hang(server: WeatherServer, feed: str) -> None:
    server.set_fault(feed, "hang")
    assert raw(server, feed, 0.3) == (b"", TimeoutError)
    assert server.requests[-1].status == 0


@pytest.mark.parametrize("feed", NAMES)
def test_slow_drip(server: WeatherServer, feed: str) -> None:
    server.set_fault(feed, "slow-drip")
    found, error = raw(server, feed, 0.5)
    told, come = told_and_come(found)
    assert error is TimeoutError
    assert 2 <= come <= 3  # one byte at once and one every 0.2 s
    assert told > 100


@pytest.mark.parametrize("feed", NAMES)
def test_reset(server: WeatherServer, feed: str) -> None:
    server.set_fault(feed, "reset")
    found, error = raw(server, feed, 2)
    told, come = told_and_come(found)
    assert error is ConnectionResetError
    assert 0 < come < told


@pytest.mark.parametrize("feed", NAMES)
def test_truncated(server: WeatherServer, client: Client, feed: str) -> None:
    whole = len(ask(client, feed).body)
    server.set_fault(feed, "truncated")
    found, error = raw(server, feed, 2)
    assert error is None
    assert told_and_come(found) == (whole, whole // 2)
    with pytest.raises(http.client.IncompleteRead):
        ask(client, feed)


@pytest.mark.parametrize("feed", NAMES)
def test_html(client: Client, feed: str) -> None:
    client.server.set_fault(feed, "html")
    found = ask(client, feed)
    assert (found.status, found.headers["Content-Type"]) == (200, "text/html; charset=utf-8")
    assert found.body.startswith(b"<!DOCTYPE html>")


@pytest.mark.parametrize("feed", NAMES)
def test_gzip_bomb(client: Client, feed: str) -> None:
    client.server.set_fault(feed, "gzip-bomb")
    found = ask(client, feed)
    assert found.headers["Content-Encoding"] == "gzip"
    assert len(found.body) < 1_000_000
    unpacker, length, rest = zlib.decompressobj(31), 0, found.body
    while rest:
        length += len(unpacker.decompress(rest, 1 << 20))
        rest = unpacker.unconsumed_tail
    assert length > 100_000_000


@pytest.mark.parametrize("feed", [feed for feed in NAMES if "broken-json" in faults_of(feed)])
def test_broken_json(client: Client, feed: str) -> None:
    client.server.set_fault(feed, "broken-json")
    found = ask(client, feed)
    assert found.status == 200
    assert b"Unexpected error while streaming data: " in found.body[-80:]
    with pytest.raises(json.JSONDecodeError):
        json.loads(found.body)


@pytest.mark.parametrize("feed", NAMES)
def test_too_many_requests(client: Client, feed: str) -> None:
    client.server.set_fault(feed, "429-retry-after")
    found = ask(client, feed)
    assert (found.status, found.headers["Retry-After"]) == (429, "2")
    client.server.set_fault(feed, "429")
    found = ask(client, feed)
    assert (found.status, "Retry-After" in found.headers) == (429, False)
    assert isinstance(found.json, dict)


@pytest.mark.parametrize("feed", NAMES)
@pytest.mark.parametrize(("fault", "bad"), [("5xx-once", 1), ("5xx-thrice", 3), ("5xx", 6)])
def test_server_errors_last_as_long_as_they_say(client: Client, feed: str, fault: str, bad: int) -> None:
    client.server.set_fault(feed, fault)
    assert [ask(client, feed).status for _ in range(6)] == [503] * bad + [200] * (6 - bad)
    assert client.server.counts() == {feed: 6}


def test_troubles_are_told_in_the_hosts_own_words(client: Client) -> None:
    for feed in NAMES:
        client.server.set_fault(feed, "5xx")
    assert ask(client, "open-meteo-forecast").json == {"error": True, "reason": "The service is overloaded"}
    problem = ask(client, "nws")
    assert problem.headers["Content-Type"] == "application/problem+json"
    assert problem.json["type"].endswith("/ForecastGridExpired")
    assert problem.json["status"] == 503
    client.server.set_fault("open-meteo-archive", "429")
    reason = "Minutely API request limit exceeded. Please try again in one minute."
    assert ask(client, "open-meteo-archive").json == {"error": True, "reason": reason}


@pytest.mark.parametrize("feed", NAMES)
def test_redirect_leads_to_another_host_that_would_answer(client: Client, feed: str) -> None:
    good = ask(client, feed)
    client.server.set_fault(feed, "redirect")
    found = ask(client, feed)
    assert found.status == 302
    away = urlsplit(found.headers["Location"])
    assert away.hostname != urlsplit(client.server.base_url).hostname
    with urlopen(Request(found.headers["Location"], headers=CONTACT), timeout=5) as answer:  # noqa: S310 - loopback
        assert answer.read() == good.body


# in the data


def pieces_of(layer: dict[str, Any]) -> list[tuple[datetime, Any]]:
    return [(datetime.fromisoformat(p["validTime"].partition("/")[0]), p["value"]) for p in layer["values"]]


@pytest.mark.parametrize("feed", OPEN_METEO)
class TestOpenMeteo:
    def test_wrong_units(self, client: Client, feed: str) -> None:
        good, bad = with_fault(client, feed, "wrong-units")
        assert good["hourly"] == bad["hourly"]
        assert (good["hourly_units"]["temperature_2m"], bad["hourly_units"]["temperature_2m"]) == ("°C", "°F")

    def test_unequal_arrays(self, client: Client, feed: str) -> None:
        _, bad = with_fault(client, feed, "unequal-arrays")
        lengths = [len(series) for series in bad["hourly"].values()]
        assert lengths[-1] == lengths[0] - 1
        assert len(set(lengths[:-1])) == 1

    def test_all_null(self, client: Client, feed: str) -> None:
        _, bad = with_fault(client, feed, "all-null")
        assert {value for name, series in bad["hourly"].items() if name != "time" for value in series} == {None}

    def test_null_tail(self, client: Client, feed: str) -> None:
        good, bad = with_fault(client, feed, "null-tail")
        nulls = [found["hourly"]["temperature_2m"].count(None) for found in (good, bad)]
        assert nulls == ([4 * 24, 14 * 24] if feed == "open-meteo-archive" else [0, 4 * 24])
        assert set(bad["hourly"]["temperature_2m"][-nulls[1] :]) == {None}
        assert None not in bad["hourly"]["temperature_2m"][: -nulls[1]]

    def test_spike(self, client: Client, feed: str) -> None:
        good, bad = (found["hourly"]["temperature_2m"] for found in with_fault(client, feed, "spike"))
        (changed,) = [(one, two) for one, two in zip(good, bad, strict=True) if one != two]
        assert changed[1] > 60  # warmer than any air ever was
        assert changed[0] < 50

    def test_doubled_days(self, client: Client, feed: str) -> None:
        good, bad = (found["hourly"] for found in with_fault(client, feed, "doubled-days"))
        for name in good:
            assert bad[name] == good[name][:48] + good[name][24:48] + good[name][48:]

    def test_shifted_hours(self, client: Client, feed: str) -> None:
        good, bad = (found["hourly"] for found in with_fault(client, feed, "shifted-hours"))
        assert good["time"] == bad["time"]
        assert bad["temperature_2m"][6:72] == good["temperature_2m"][:66]

    def test_stale(self, client: Client, feed: str) -> None:
        good, bad = (found["hourly"] for found in with_fault(client, feed, "stale"))
        if feed == "open-meteo-archive":
            assert [found["temperature_2m"].count(None) for found in (good, bad)] == [4 * 24, 7 * 24]
        else:
            assert good["time"][0] - bad["time"][0] == 3 * 86400

    def test_far_cell(self, client: Client, feed: str) -> None:
        good, bad = with_fault(client, feed, "far-cell")
        assert (bad["latitude"] - good["latitude"]) * 111.2 == pytest.approx(300, abs=30)


def test_a_stale_forecast_of_named_days_is_an_old_one(client: Client) -> None:
    dates = {"hourly": "temperature_2m", "start_date": "2026-07-12", "end_date": "2026-07-27"}
    good = client.forecast(**dates).json["hourly"]["temperature_2m"]
    client.server.set_fault("open-meteo-forecast", "stale")
    bad = client.forecast(**dates).json["hourly"]["temperature_2m"]
    client.server.clear()
    client.server.set_today(TODAY - timedelta(days=3))
    before = client.forecast(hourly="temperature_2m", start_date="2026-07-12", end_date="2026-07-25")
    assert bad[: 14 * 24] == before.json["hourly"]["temperature_2m"]
    assert bad != good
    assert bad[-24:] == [None] * 24


class TestPower:
    def test_wrong_units(self, client: Client) -> None:
        good, bad = with_fault(client, "power", "wrong-units")
        assert good["properties"] == bad["properties"]
        assert bad["parameters"]["ALLSKY_SFC_SW_DWN"]["units"] == "kW-hr/m^2/day"
        assert bad["parameters"]["T2M_MAX"]["units"] == "K"

    def test_unequal_arrays(self, client: Client) -> None:
        _, bad = with_fault(client, "power", "unequal-arrays")
        warm, sun = bad["properties"]["parameter"].values()
        assert set(warm) - set(sun) == {"20260601"}

    @pytest.mark.parametrize(("fault", "tails"), [("all-null", (42, 42)), ("null-tail", (13, 17)), ("stale", (6, 10))])
    def test_days_that_are_not_there(self, client: Client, fault: str, tails: tuple[int, int]) -> None:
        good, bad = (found["properties"]["parameter"] for found in with_fault(client, "power", fault))
        assert [list(series.values()).count(-999.0) for series in good.values()] == [3, 7]
        assert [list(series.values())[-tail:] for series, tail in zip(bad.values(), tails, strict=True)] == [
            [-999.0] * tail for tail in tails
        ]
        assert [list(series.values()).count(-999.0) for series in bad.values()] == [*tails]

    def test_spike(self, client: Client) -> None:
        good, bad = (found["properties"]["parameter"]["T2M_MAX"] for found in with_fault(client, "power", "spike"))
        assert [value for day, value in bad.items() if value != good[day]] == [85.0]

    def test_far_cell(self, client: Client) -> None:
        _, bad = with_fault(client, "power", "far-cell")
        assert (bad["geometry"]["coordinates"][1] - 37.4) * 111.2 == pytest.approx(300, abs=5)


class TestNws:
    def told(self, client: Client, fault: str) -> tuple[Any, Any]:
        good, bad = with_fault(client, "nws", fault)
        return good["properties"], bad["properties"]

    def test_wrong_units(self, client: Client) -> None:
        good, bad = self.told(client, "wrong-units")
        assert good["temperature"]["values"] == bad["temperature"]["values"]
        assert [bad[name]["uom"] for name in ("temperature", "windSpeed", "quantitativePrecipitation")] == [
            "wmoUnit:degF", "wmoUnit:m_s-1", "wmoUnit:in",
        ]  # fmt: skip

    def test_unequal_arrays(self, client: Client) -> None:
        good, bad = self.told(client, "unequal-arrays")
        last, shorter = (pieces_of(found["dewpoint"])[-1][0] for found in (good, bad))
        assert timedelta(days=1.5) < last - shorter < timedelta(days=3)
        assert good["temperature"] == bad["temperature"]

    def test_all_null(self, client: Client) -> None:
        _, bad = self.told(client, "all-null")
        layers = [layer for layer in bad.values() if isinstance(layer, dict) and "uom" in layer]
        assert {piece["value"] for layer in layers for piece in layer["values"]} == {None}

    def test_null_tail(self, client: Client) -> None:
        _, bad = self.told(client, "null-tail")
        *before, last = bad["temperature"]["values"]
        assert (last["value"], last["validTime"].partition("/")[2]) == (None, "P4D")
        assert None not in [piece["value"] for piece in before]

    def test_spike(self, client: Client) -> None:
        _, bad = self.told(client, "spike")
        assert [value for _, value in pieces_of(bad["temperature"]) if value > 60] == [85.0]

    def test_doubled_days(self, client: Client) -> None:
        good, bad = self.told(client, "doubled-days")
        stamps = [at for at, _ in pieces_of(bad["temperature"])]
        twice = {at for at in stamps if stamps.count(at) == 2}
        start = pieces_of(good["temperature"])[0][0]
        assert min(twice) - start >= timedelta(days=1)
        assert max(twice) - start < timedelta(days=2)
        assert len(twice) > 10

    def test_shifted_hours(self, client: Client) -> None:
        good, bad = self.told(client, "shifted-hours")
        warmest = [max(pieces_of(found["temperature"])[:20], key=lambda piece: piece[1])[0] for found in (good, bad)]
        assert abs(warmest[1] - warmest[0] - timedelta(hours=6)) <= timedelta(hours=1)

    def test_stale(self, client: Client) -> None:
        good, bad = self.told(client, "stale")
        issued = [datetime.fromisoformat(found["updateTime"]) for found in (good, bad)]
        assert issued == [datetime(2026, 7, 13, 12, tzinfo=UTC), datetime(2026, 7, 10, 12, tzinfo=UTC)]
        assert pieces_of(bad["temperature"])[0][0] == datetime(2026, 7, 10, 10, tzinfo=UTC)

    def test_far_cell(self, client: Client) -> None:
        good, bad = with_fault(client, "nws", "far-cell")
        south, north = (found["geometry"]["coordinates"][0][0][1] for found in (good, bad))
        assert (north - south) * 111.2 == pytest.approx(300, abs=5)


class TestGhcn:
    def test_wrong_units(self, client: Client) -> None:
        good, bad = with_fault(client, "ghcn", "wrong-units")
        assert [float(row["TMAX"]) for row in bad] == pytest.approx([10 * float(row["TMAX"]) for row in good])

    def test_all_null(self, client: Client) -> None:
        _, bad = with_fault(client, "ghcn", "all-null")
        assert {key for row in bad for key in row} == {"DATE", "STATION"}

    @pytest.mark.parametrize(("fault", "last"), [("null-tail", "2026-07-01"), ("stale", "2026-07-08")])
    def test_days_that_are_not_there(self, client: Client, fault: str, last: str) -> None:
        good, bad = with_fault(client, "ghcn", fault)
        assert (good[-1]["DATE"], bad[-1]["DATE"]) == ("2026-07-11", last)

    def test_spike(self, client: Client) -> None:
        good, bad = with_fault(client, "ghcn", "spike")
        assert [two["TMAX"] for one, two in zip(good, bad, strict=True) if one != two] == ["85.0"]

    def test_doubled_days(self, client: Client) -> None:
        good, bad = with_fault(client, "ghcn", "doubled-days")
        assert bad == good[:2] + good[1:]


class TestStation:
    def test_wrong_units(self, client: Client) -> None:
        good, bad = with_fault(client, "station", "wrong-units")
        assert good[1:] == bad[1:]
        assert "Max Air Temp (K)" in bad[0]
        assert "Avg Wind Speed (knots)" in bad[0]

    def test_unequal_arrays(self, client: Client) -> None:
        good, bad = with_fault(client, "station", "unequal-arrays")
        assert good[:-1] == bad[:-1]
        assert len(bad[-1]) < len(bad[0])

    def test_all_null(self, client: Client) -> None:
        _, bad = with_fault(client, "station", "all-null")
        assert {(row[at], row[at + 1]) for row in bad[1:] for at in range(5, len(row), 2)} == {("", "M")}

    @pytest.mark.parametrize(("fault", "last"), [("null-tail", "7/2/2026"), ("stale", "7/9/2026")])
    def test_days_that_are_not_there(self, client: Client, fault: str, last: str) -> None:
        good, bad = with_fault(client, "station", fault)
        assert (good[-1][3], bad[-1][3]) == ("7/12/2026", last)

    def test_spike(self, client: Client) -> None:
        good, bad = with_fault(client, "station", "spike")
        (changed,) = [row for row in bad if row not in good]
        assert changed[bad[0].index("Max Air Temp (F)")] == "185.0"

    def test_doubled_days(self, client: Client) -> None:
        good, bad = with_fault(client, "station", "doubled-days")
        assert bad == good[:3] + good[2:]

    def test_shifted_hours(self, client: Client) -> None:
        path = "/station/901/hourly-metric.csv?start=2026-07-01&end=2026-07-03"
        good = client.get(path).rows
        client.server.set_fault("station", "shifted-hours")
        bad = client.get(path).rows
        at = good[0].index("Sol Rad (W/sq.m)")
        pairs = [(one[at], two[at]) for one, two in zip(good[1:], bad[7:], strict=False) if one[at] and two[at]]
        assert len(pairs) > 55
        assert all(one == two for one, two in pairs)


class TestGauge:
    def test_wrong_units(self, client: Client) -> None:
        good, bad = with_fault(client, "gauge", "wrong-units")
        assert bad == [["date", "rain_mm"], *good[1:]]

    def test_unequal_arrays(self, client: Client) -> None:
        good, bad = with_fault(client, "gauge", "unequal-arrays")
        assert bad == [*good[:-1], good[-1][:1]]

    def test_all_null(self, client: Client) -> None:
        _, bad = with_fault(client, "gauge", "all-null")
        assert {row[1] for row in bad[1:]} == {""}

    @pytest.mark.parametrize(("fault", "last"), [("null-tail", "2026-07-02"), ("stale", "2026-07-09")])
    def test_days_that_are_not_there(self, client: Client, fault: str, last: str) -> None:
        good, bad = with_fault(client, "gauge", fault)
        assert (good[-1][0], bad[-1][0]) == ("2026-07-12", last)

    def test_spike(self, client: Client) -> None:
        good, bad = with_fault(client, "gauge", "spike")
        assert [two[1] for one, two in zip(good, bad, strict=True) if one != two] == ["40.00"]

    def test_doubled_days(self, client: Client) -> None:
        good, bad = with_fault(client, "gauge", "doubled-days")
        assert bad == good[:3] + good[2:]
