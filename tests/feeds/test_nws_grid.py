"""The US NWS grid: intervals taken apart, totals shared, days without sun, cells that drift, issues that are old."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from demo.weather_server import WeatherServer, faults_of
from demo.weather_server.faults import gzip_bomb
from etsched.errors import FeedFailed, FeedRefused
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.nws_grid import fetch_nws_grid, parse_nws_grid
from etsched.feeds.nws_layers import layer_hours
from etsched.feeds.nws_point import fetch_nws_point, parse_nws_point
from etsched.feeds.open_meteo import fetch_open_meteo_forecast
from etsched.frames.weather import Weather, check_daily
from etsched.http_client import ClientLimits, HttpClient, RawBody, Request
from etsched.model.site import Place

from .answers import DENVER, FETCHED, answer, ask
from .conftest import Recorder
from .junk import outcomes

WEEK = ask("2026-07-10", "2026-07-16")
CONTACT = "ann@site.example"


def layer(unit: str, *intervals: tuple[str, float | None]) -> dict[str, Any]:
    return {"uom": f"wmoUnit:{unit}", "values": [{"validTime": time, "value": value} for time, value in intervals]}


def answered() -> dict[str, Any]:
    """Write two days from Denver's midnight on, 06:00 UTC: most of them in one interval."""
    two_days = "2026-07-10T06:00:00+00:00/P2D"
    return {
        "type": "Feature",
        "geometry": {
            "type": "Polygon",
            "coordinates": [[[-105.1, 39.4], [-105.1, 39.6], [-104.9, 39.6], [-104.9, 39.4]]],
        },
        "properties": {
            "updateTime": "2026-07-10T09:00:00+00:00",
            "validTimes": two_days,
            "elevation": {"unitCode": "wmoUnit:m", "value": 1610.5},
            "temperature": layer(
                "degC",
                ("2026-07-10T06:00:00+00:00/PT9H", 12.5),
                ("2026-07-10T15:00:00+00:00/P1DT6H", 30.0),
                ("2026-07-11T21:00:00+00:00/PT9H", 20.0),
            ),
            "dewpoint": layer("degC", (two_days, 9.5)),
            "relativeHumidity": layer("percent", (two_days, 40)),
            "windSpeed": layer("km_h-1", (two_days, 11.52)),
            "skyCover": layer("percent", (two_days, 30)),
            "probabilityOfPrecipitation": layer(
                "percent", ("2026-07-10T06:00:00+00:00/PT12H", 10), ("2026-07-10T18:00:00+00:00/PT12H", 60)
            ),
            "quantitativePrecipitation": layer(
                "mm",
                ("2026-07-10T06:00:00+00:00/PT18H", 0),
                ("2026-07-11T00:00:00+00:00/PT12H", 6.0),
                ("2026-07-11T12:00:00+00:00/PT18H", 0),
            ),
            "windGust": {"values": []},
        },
    }


def parsed(told: dict[str, Any] | None = None, asked: FeedAsk = WEEK) -> Weather:
    return parse_nws_grid(answer(json.dumps(told or answered())), asked)


def test_intervals_become_hours_and_days() -> None:
    """6 mm between 18:00 and 06:00 by the local clock are 3 mm of each day; 11.52 km/h are 3.2 m/s."""
    weather = parsed()
    daily = check_daily(weather.daily)
    assert [day.date().day for day in daily.index] == [10, 11]
    assert daily["tmin_c"].to_list() == [12.5, 20.0]
    assert daily["tmax_c"].to_list() == [30.0, 30.0]
    assert daily["rain_mm"].to_list() == pytest.approx([3.0, 3.0], abs=1e-12)
    assert daily["rh_mean_pct"].to_list() == [40.0, 40.0]
    # FAO-56 Example 14: 3.2 m/s at 10 m are 2.4 m/s at 2 m; Annex 2, Table 2.3: e°(9.5) = 1.187 kPa.
    assert daily["wind_m_s"].to_list() == pytest.approx([2.4, 2.4], abs=0.05)
    assert daily["vapour_pressure_kpa"].to_list() == pytest.approx([1.187, 1.187], abs=0.001)
    assert daily["solar_mj_m2_d"].isna().all()
    assert daily["is_forecast"].all()
    assert weather.extra is not None
    assert weather.extra["rain_probability_pct"].iloc[0] == 60.0
    assert weather.extra["rain_probability_pct"].isna().to_list() == [False, True]  # it is told until midnight
    assert weather.extra["et0_feed_mm"].isna().all()
    assert weather.hourly is not None
    assert weather.hourly["temperature_c"].to_list() == [12.5] * 9 + [30.0] * 30 + [20.0] * 9


def test_where_it_comes_from_and_what_is_missing() -> None:
    weather = parsed()
    origin = weather.origin
    assert origin is not None
    assert (origin.feed, origin.fetched, origin.measured) == ("nws grid", FETCHED, False)
    assert origin.issued == datetime(2026, 7, 10, 9, tzinfo=UTC)
    assert origin.attribution == "Forecast: US National Weather Service"
    assert origin.latitude_deg == pytest.approx(39.5)
    assert origin.longitude_deg == pytest.approx(-105.0)
    assert origin.elevation_m == 1610.5
    assert weather.notes[0] == "the US NWS forecasts no solar radiation, so that it has to be estimated"
    assert "highest that prevails" in weather.notes[1]


def hours_of(*intervals: tuple[str, float | None], is_total: bool = False) -> list[float]:
    return layer_hours({"x": layer("mm", *intervals)}, "x", "mm", is_total=is_total).to_list()


@pytest.mark.parametrize(
    ("duration", "hours"), [("PT1H", 1), ("PT13H", 13), ("P1D", 24), ("P1DT6H", 30), ("P7DT11H", 179), ("PT0001H", 1)]
)
def test_durations(duration: str, hours: int) -> None:
    time = f"2026-07-04T18:00:00+00:00/{duration}"
    assert hours_of((time, 5.0)) == [5.0] * hours
    assert hours_of((time, 6.0), is_total=True) == pytest.approx([6.0 / hours] * hours)
    found = layer_hours({"x": layer("mm", (time, 5.0))}, "x", "mm")
    assert found.index[0] == pd.Timestamp("2026-07-04 18:00", tz="UTC")
    assert found.index[-1] - found.index[0] == pd.Timedelta(hours=hours - 1)


@pytest.mark.parametrize(
    "time",
    [
        "2026-07-04T18:00:00+00:00/PT90M",
        "2026-07-04T18:00:00+00:00/PT0H",
        "2026-07-04T18:00:00+00:00/P",
        "2026-07-04T18:00:00+00:00/P1M",
        "2026-07-04T18:00:00+00:00/P999D",
        "2026-07-04T18:00:00+00:00/P99999999D",
        "2026-07-04T18:00:00+00:00/-PT1H",
        "2026-07-04T18:00:00+00:00",
        "2026-07-04T18:30:00+00:00/PT1H",
        "2026-07-04T18:00:00/PT1H",
        "0001-01-01T00:00:00+14:00/PT1H",
        "now/PT1H",
        "",
    ],
)
def test_intervals_that_are_none(time: str) -> None:
    with pytest.raises(FeedRefused, match="has another form than promised"):
        hours_of((time, 1.0))


def test_stamps_of_another_zone_are_the_same_moments() -> None:
    found = layer_hours({"x": layer("mm", ("2026-07-04T12:00:00-06:00/PT1H", 1.0))}, "x", "mm")
    assert found.index[0] == pd.Timestamp("2026-07-04 18:00", tz="UTC")


def test_holes_and_nulls_are_not_known() -> None:
    first, later = "2026-07-04T18:00:00+00:00/PT2H", "2026-07-04T22:00:00+00:00/PT1H"
    found = layer_hours({"x": layer("mm", (first, None), (later, 1.0))}, "x", "mm")
    assert found.isna().to_list() == [True, True, False]
    assert [hour.hour for hour in found.index] == [18, 19, 22]
    assert layer_hours({}, "x", "mm").empty
    told = answered()
    del told["properties"]["dewpoint"], told["properties"]["quantitativePrecipitation"]
    daily = parsed(told).daily
    assert daily[["dewpoint_c", "rain_mm"]].isna().all(axis=None)
    assert daily["vapour_pressure_kpa"].notna().all()  # of the relative humidity


def test_a_hole_in_the_temperature_leaves_its_day_unknown() -> None:
    told = answered()
    told["properties"]["temperature"]["values"][1] = {"validTime": "2026-07-10T15:00:00+00:00/PT14H", "value": 30.0}
    told["properties"]["temperature"]["values"].insert(
        2, {"validTime": "2026-07-11T06:00:00+00:00/PT15H", "value": 30.0}
    )
    assert [day.day for day in parsed(told).daily.index] == [11]  # 10 July lacks the hour before its midnight


REFUSED: list[tuple[Callable[[Any], object], str]] = [
    (lambda told: told["temperature"].update(uom="wmoUnit:degF"), 'it gives temperature in "degF", not in degC'),
    (lambda told: told["windSpeed"].update(uom="wmoUnit:m_s-1"), 'it gives windSpeed in "m_s-1", not in km_h-1'),
    (lambda told: told["quantitativePrecipitation"].update(uom="wmoUnit:in"), 'in "in", not in mm'),
    (lambda told: told["dewpoint"].pop("uom"), 'it gives dewpoint in "nothing", not in degC'),
    (lambda told: told["temperature"]["values"].reverse(), "it gives hours of temperature twice or in disorder"),
    (lambda told: told["temperature"]["values"].append(told["temperature"]["values"][2]), "twice or in disorder"),
    (lambda told: told["temperature"]["values"][0].update(value="12"), "temperature is no number"),
    (lambda told: told.pop("temperature"), "it knows nothing of 2026-07-10 to 2026-07-16"),
    (lambda told: told["temperature"].update(values=[]), "it knows nothing of 2026-07-10 to 2026-07-16"),
    (lambda told: told.pop("updateTime"), "there is no updateTime"),
    (lambda told: told.update(updateTime="2026-07-10T09:00:00"), "updateTime is no moment"),
]


@pytest.mark.parametrize(("change", "reason"), REFUSED)
def test_what_was_not_promised_is_refused(change: Callable[[Any], object], reason: str) -> None:
    told = answered()
    change(told["properties"])
    with pytest.raises(FeedRefused) as caught:
        parsed(told)
    assert reason in str(caught.value)


def test_a_cell_far_away_is_refused() -> None:
    told = answered()
    told["geometry"]["coordinates"] = [[[-105.1, 42.1], [-104.9, 42.3]]]
    with pytest.raises(FeedRefused, match="it answers for a spot 300 km away"):
        parsed(told)
    del told["geometry"]
    with pytest.raises(FeedRefused, match=r"there is no geometry.coordinates"):
        parsed(told)


# Fetched on 10 July at 13:00 UTC; the local day began at 06:00 UTC.
@pytest.mark.parametrize(
    ("issued", "today", "hours"),
    [
        ("2026-07-09T13:00:00+00:00", "2026-07-10", 0),
        ("2026-07-09T12:00:00+00:00", "2026-07-10", 25),
        ("2026-07-09T06:00:00-06:00", "2026-07-10", 25),
        ("2026-07-10T06:00:00+00:00", "2026-07-11", 0),  # kept since yesterday: told by this morning
        ("2026-07-10T04:00:00+00:00", "2026-07-11", 26),
        ("2026-07-10T14:00:00+00:00", "2026-07-10", 0),
    ],
)
def test_a_forecast_of_more_than_a_day_ago_is_stale(issued: str, today: str, hours: int) -> None:
    told = answered()
    told["properties"]["updateTime"] = issued
    asked = ask("2026-07-10", "2026-07-16", today=today)
    if hours:
        with pytest.raises(FeedRefused, match=f"it gives a stale forecast, issued {hours} hours ago"):
            parsed(told, asked)
    else:
        assert len(parsed(told, asked).daily) == 2


def test_bodies_that_are_no_answer() -> None:
    for body, error, words in (
        ("<html>", FeedRefused, "web page"),
        (json.dumps(answered())[:700], FeedFailed, "no JSON"),
        ("[]", FeedRefused, "has another form"),
        ('{"properties": 5}', FeedRefused, "has another form"),
    ):
        for parse in (lambda raw: parse_nws_grid(raw, WEEK), parse_nws_point):
            with pytest.raises(error, match=words):
                parse(answer(body))


def test_junk_in_any_place_is_refused_or_not_known() -> None:
    told = answered()
    for name in ("skyCover", "probabilityOfPrecipitation", "relativeHumidity"):  # told like the rest
        del told["properties"][name]
    counts = outcomes(told, lambda raw: parse_nws_grid(raw, WEEK))
    assert counts["refused"] > 300
    assert counts["accepted"] > 100
    point = {"properties": {"gridId": "CFY", "gridX": 12, "gridY": 34, "timeZone": "America/Denver"}}
    assert parse_nws_point(answer(json.dumps(point))) == "CFY/12,34"
    counts = outcomes(point, parse_nws_point)
    # What is accepted: junk in place of the zone, and a 1 or -1 that can be a number of a cell.
    assert counts["refused"] >= 35
    for junk in ("../x", "CFY/1,2/../..", "cfy", "CFYX", None):
        spoilt = {"properties": point["properties"] | {"gridId": junk}}
        with pytest.raises(FeedRefused):
            parse_nws_point(answer(json.dumps(spoilt)))


def host_of(server: WeatherServer) -> FeedHost:
    return FeedHost(f"{server.base_url}/nws", contact=CONTACT)


NOW = datetime(2026, 7, 13, 13, tzinfo=UTC)
AHEAD = ask("2026-07-13", "2026-07-19", today="2026-07-13")


@pytest.fixture
def punctual() -> HttpClient:
    """A client whose clock agrees with the server's."""
    return HttpClient(ClientLimits(backoff_s=0.0, interval_s=0.0), now=lambda: NOW)


def test_two_questions_lead_to_a_week(server: WeatherServer, punctual: HttpClient) -> None:
    _, weather = fetch_nws_grid(punctual, host_of(server), AHEAD)
    point, grid = server.requests
    assert point.path == "/points/39.5,-105"
    assert grid.path.startswith("/gridpoints/CFY/")
    assert (point.query, grid.query) == ({}, {})  # unknown parameters are refused, so that none is sent
    assert CONTACT in grid.headers["user-agent"]
    assert grid.headers["accept"] == "application/geo+json"
    assert weather.daily.index[0] == pd.Timestamp(2026, 7, 14)  # the first hours of today are over
    assert len(weather.daily) == 6
    assert weather.origin is not None
    assert weather.origin.issued == NOW - timedelta(hours=1)


def test_it_tells_what_the_other_forecast_tells(server: WeatherServer, punctual: HttpClient) -> None:
    """The server makes both of one world; the grid rounds more coarsely and shares out rain by six hours."""
    _, grid = fetch_nws_grid(punctual, host_of(server), AHEAD)
    _, other = fetch_open_meteo_forecast(punctual, FeedHost(f"{server.base_url}/open-meteo-forecast"), AHEAD)
    theirs = other.daily.loc[grid.daily.index]
    np.testing.assert_allclose(grid.daily["tmin_c"], theirs["tmin_c"], atol=0.6)
    np.testing.assert_allclose(grid.daily["tmax_c"], theirs["tmax_c"], atol=0.6)
    np.testing.assert_allclose(grid.daily["wind_m_s"], theirs["wind_m_s"], atol=0.15)
    assert grid.daily["rain_mm"].sum() == pytest.approx(theirs["rain_mm"].sum(), abs=2.0)


def test_a_known_point_is_not_asked_for_again_for_a_week(server: WeatherServer, punctual: HttpClient) -> None:
    host = host_of(server)
    point, cell = fetch_nws_point(punctual, host, AHEAD)
    server.forget()
    again, same = fetch_nws_point(punctual, host, AHEAD, point)
    assert (again, same) == (point, cell)
    fetch_nws_grid(punctual, host, AHEAD, known_point=point)
    assert [seen.path for seen in server.requests] == [f"/gridpoints/{cell}"]
    server.forget()
    old = replace(point, fetched=NOW - timedelta(days=7))
    renewed, _ = fetch_nws_point(punctual, host, AHEAD, old)
    assert [seen.status for seen in server.requests] == [304]
    assert renewed == point
    server.forget()
    elsewhere = replace(AHEAD, place=replace(DENVER, latitude_deg=40.5))
    assert fetch_nws_point(punctual, host, elsewhere, point)[1] != cell  # the place has moved
    assert [seen.status for seen in server.requests] == [200]


def test_a_cell_that_leads_nowhere_is_looked_for_again(server: WeatherServer, punctual: HttpClient) -> None:
    host = host_of(server)
    point, _ = fetch_nws_point(punctual, host, AHEAD)
    told = json.loads(point.body)
    told["properties"]["gridX"] = 9999
    drifted = replace(point, body=json.dumps(told).encode())
    server.forget()
    _, weather = fetch_nws_grid(punctual, host, AHEAD, known_point=drifted)
    assert len(weather.daily) == 6
    assert [seen.status for seen in server.requests] == [404, 200, 200]
    server.set_fault("nws", "wrong-units")
    server.forget()
    with pytest.raises(FeedRefused, match="windSpeed"):  # the cell is the same: what is refused stays refused
        fetch_nws_grid(punctual, host, AHEAD, known_point=point)
    assert [seen.path.split("/")[1] for seen in server.requests] == ["gridpoints", "points"]


def test_a_known_grid_is_confirmed(server: WeatherServer, punctual: HttpClient) -> None:
    raw, weather = fetch_nws_grid(punctual, host_of(server), AHEAD)
    again, same = fetch_nws_grid(punctual, host_of(server), AHEAD, raw)
    assert server.requests[-1].status == 304
    assert again == raw
    pd.testing.assert_frame_equal(same.daily, weather.daily)


def test_nobody_is_asked_without_a_contact(server: WeatherServer, client: HttpClient) -> None:
    with pytest.raises(FeedRefused, match="give a contact"):
        fetch_nws_grid(client, replace(host_of(server), contact=""), AHEAD)
    assert server.requests == []


@pytest.mark.parametrize(
    "place", [Place(45.0, 9.0, 100.0, ZoneInfo("Europe/Rome")), Place(5.0, -105.0, 1.0, DENVER.zone)]
)
def test_a_place_outside_is_told_in_the_services_words(server: WeatherServer, client: HttpClient, place: Place) -> None:
    with pytest.raises(FeedRefused) as caught:
        fetch_nws_grid(client, host_of(server), replace(AHEAD, place=place))
    assert str(caught.value).startswith("127.0.0.1 answers 404 Not Found: Unable to provide data for requested point")
    assert len(server.requests) == 1


def test_more_decimals_than_the_service_takes_are_not_sent(recorder: Recorder) -> None:
    recorder.body = json.dumps({"properties": {"gridId": "CFY", "gridX": "12", "gridY": 34}})
    asked = replace(AHEAD, place=replace(DENVER, latitude_deg=39.12345678, longitude_deg=-104.5))
    assert fetch_nws_point(recorder, FeedHost("https://feed.example/", contact=CONTACT), asked)[1] == "CFY/12,34"  # type: ignore[arg-type]
    assert isinstance(recorder.request, Request)
    assert recorder.request.url == "https://feed.example/points/39.1235,-104.5"
    assert isinstance(recorder.raw, RawBody)


SENTENCES = {
    "hang": "stops answering",
    "slow-drip": "no whole answer came within",
    "reset": "",
    "truncated": "sends less than it announces",
    "html": "answers with a web page",
    "gzip-bomb": "sends more than",
    "broken-json": "no JSON",
    "429-retry-after": "answers 429",
    "429": "answers 429 Too Many Requests: Too many requests",
    "5xx": "The requested forecast grid has expired",
    "redirect": "redirects to another host",
    "wrong-units": 'gives windSpeed in "m_s-1", not in km_h-1',
    "all-null": "knows nothing of",
    "doubled-days": "twice or in disorder",
    "stale": "gives a stale forecast, issued 73 hours ago",
    "far-cell": "answers for a spot",
}
PASSED = {
    "5xx-once": "",
    "5xx-thrice": "",
    "unequal-arrays": "not known on 2026-07-18 to 2026-07-19: dewpoint_c",
    "null-tail": "",
    "spike": "is rejected, outside",
    "shifted-hours": "",
}


@pytest.mark.parametrize("fault", faults_of("nws"))
def test_every_fault_ends_in_weather_or_in_a_sentence(server: WeatherServer, fault: str) -> None:
    limits = ClientLimits(deadline_s=1.5, read_s=0.3, backoff_s=0.0, interval_s=0.0)
    gzip_bomb()  # making it takes longer than a read may
    server.set_fault("nws", fault)
    with HttpClient(limits, now=lambda: NOW) as client:
        if fault in PASSED:
            _, weather = fetch_nws_grid(client, host_of(server), AHEAD)
            assert PASSED[fault] in " ".join(weather.notes)
            assert weather.daily["tmax_c"].notna().sum() >= 2
        else:
            with pytest.raises(FeedFailed) as caught:
                fetch_nws_grid(client, host_of(server), AHEAD)
            assert SENTENCES[fault] in str(caught.value)
    assert 1 <= len(server.requests) <= 5  # four tries, and the point before
