"""Open-Meteo's forecast and archive: stamps, units, local days, ranges, and answers that are not what was asked for."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from demo.weather_server import WeatherServer, faults_of, start_weather_server
from demo.weather_server.faults import gzip_bomb
from etsched.errors import FeedFailed, FeedRefused
from etsched.feeds.ask import FeedAsk, FeedHost
from etsched.feeds.cells import cell_of
from etsched.feeds.open_meteo import (
    fetch_open_meteo_archive,
    fetch_open_meteo_forecast,
    parse_open_meteo_archive,
    parse_open_meteo_forecast,
)
from etsched.frames.weather import DAILY_COLUMNS, Weather, check_daily, check_hourly
from etsched.http_client import ClientLimits, HttpClient, Request
from etsched.model.site import Place

from .answers import FETCHED, answer, ask
from .conftest import Recorder
from .junk import outcomes

UTC_PLACE = Place(39.5, -105.0, 1600.0, ZoneInfo("UTC"))
TWO_DAYS = ask("2026-07-09", "2026-07-10", place=UTC_PLACE)
FIRST_S = 1783555200  # 2026-07-09 00:00 UTC: 20,643 days of 86,400 s after 1970
UNITS = {
    "time": "unixtime",
    "temperature_2m": "°C",
    "relative_humidity_2m": "%",
    "dew_point_2m": "°C",
    "wind_speed_10m": "m/s",
    "shortwave_radiation": "W/m²",
    "precipitation": "mm",
    "et0_fao_evapotranspiration": "mm",
    "precipitation_probability": "%",
}


def answered(**series: dict[int, float | None]) -> dict[str, Any]:
    """Write an answer for two days and the stamp behind them: dull weather, but for the stamps named."""
    dull = dict(zip([*UNITS][1:], (20.0, 50, 9.3, 3.2, 0.0, 0.0, 0.1, 5), strict=True))
    hourly: dict[str, Any] = {"time": [FIRST_S + 3600 * hour for hour in range(49)]}
    hourly |= {name: [series.get(name, {}).get(at, value) for at in range(49)] for name, value in dull.items()}
    return {
        "latitude": 39.52,
        "longitude": -104.99,
        "generationtime_ms": 0.2,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 1600.0,
        "hourly_units": dict(UNITS),
        "hourly": hourly,
    }


def parsed(told: dict[str, Any] | None = None, asked: FeedAsk = TWO_DAYS) -> Weather:
    return parse_open_meteo_forecast(answer(json.dumps(told or answered())), asked)


def refusal(change: Callable[[Any], object], asked: FeedAsk = TWO_DAYS) -> str:
    told = answered()
    change(told)
    with pytest.raises(FeedRefused) as caught:
        parsed(told, asked)
    return str(caught.value)


def host_of(server: WeatherServer, feed: str, **more: str) -> FeedHost:
    return FeedHost(f"{server.base_url}/{feed}", **more)


def test_each_stamp_counts_for_its_own_day() -> None:
    """Rain and sun are stamped with the end of their hour: that of midnight belongs to the day that ends."""
    marks: dict[int, float | None] = {0: 10, 1: 1, 24: 2, 25: 4, 48: 8}
    sun: dict[int, float | None] = {at: 100.0 * mark for at, mark in marks.items() if mark is not None}
    air: dict[int, float | None] = {0: -5, 24: 30, 48: 45}
    told = answered(
        precipitation=marks, shortwave_radiation=sun, temperature_2m=air, precipitation_probability={24: 70}
    )
    weather = parsed(told)
    daily = check_daily(weather.daily)
    assert daily["rain_mm"].to_list() == [1 + 2, 4 + 8]
    # 100 W/m² for an hour are 0.36 MJ/m².
    assert daily["solar_mj_m2_d"].to_list() == pytest.approx([3 * 0.36, 12 * 0.36], abs=1e-12)
    assert daily["tmin_c"].to_list() == [-5.0, 20.0]
    assert daily["tmax_c"].to_list() == [20.0, 30.0]  # the stamp behind the last day is not counted
    assert weather.extra is not None
    assert weather.extra["et0_feed_mm"].to_list() == pytest.approx([2.4, 2.4], abs=1e-9)
    assert weather.extra["rain_probability_pct"].to_list() == [70.0, 5.0]
    hourly = check_hourly(weather.hourly) if weather.hourly is not None else pd.DataFrame()
    assert len(hourly) == 48
    assert hourly.loc["2026-07-09 23:00+00:00", "rain_mm"] == 2.0


def test_the_rest_of_a_day() -> None:
    """FAO-56 Example 14: 3.2 m/s at 10 m are 2.4 m/s at 2 m; Annex 2, Table 2.3: e°(9.5) = 1.187 kPa."""
    weather = parsed(answered(dew_point_2m=dict.fromkeys(range(49), 9.5), relative_humidity_2m={3: 90, 15: 31}))
    first = weather.daily.iloc[0]
    assert first["wind_m_s"] == pytest.approx(2.4, abs=0.05)
    assert first["wind_m_s"] / 3.2 == pytest.approx(0.748, abs=0.0005)  # FAO-56 Annex 2, Table 2.9
    assert first["dewpoint_c"] == pytest.approx(9.5)
    assert first["vapour_pressure_kpa"] == pytest.approx(1.187, abs=0.001)
    assert (first["rh_min_pct"], first["rh_max_pct"]) == (31.0, 90.0)
    assert first["rh_mean_pct"] == pytest.approx((22 * 50 + 90 + 31) / 24)
    assert list(weather.daily.columns) == [*DAILY_COLUMNS, "is_forecast"]
    assert weather.daily["is_forecast"].to_list() == [False, True]  # today is 10 July
    assert weather.notes == ()


def test_where_it_comes_from() -> None:
    weather = parsed()
    origin = weather.origin
    assert weather.source == "open-meteo forecast"
    assert origin is not None
    assert (origin.feed, origin.fetched, origin.issued, origin.measured) == (weather.source, FETCHED, None, False)
    assert origin.attribution == "Weather data by Open-Meteo.com (CC BY 4.0)"
    assert (origin.latitude_deg, origin.longitude_deg, origin.elevation_m) == (39.52, -104.99, 1600.0)
    archive = parse_open_meteo_archive(answer(json.dumps(answered())), TWO_DAYS).origin
    assert archive is not None
    assert archive.feed == "open-meteo archive"
    assert archive.attribution == (
        f"{origin.attribution}; contains modified Copernicus Climate Change Service information (ERA5)"
    )


def test_air_from_another_height_is_told() -> None:
    told = answered()
    told["elevation"] = 1720.4
    assert parsed(told).notes == ("the air told of is that at 1720 m above the sea, while the site lies at 1600 m",)
    told["elevation"] = 1699.0
    assert parsed(told).notes == ()
    del told["elevation"]  # the hosts leave it out where they know none
    assert parsed(told).origin == parsed(told).origin
    assert parsed(told).notes == ()


def test_what_is_null_is_not_known() -> None:
    told = answered(
        wind_speed_10m={30: None}, shortwave_radiation=dict.fromkeys(range(49)), precipitation={5: None, 9: 3}
    )
    told["hourly"]["relative_humidity_2m"] = None
    daily = parsed(told).daily
    assert daily[["rh_min_pct", "solar_mj_m2_d"]].isna().all(axis=None)
    assert daily["wind_m_s"].isna().to_list() == [False, True]
    assert daily["rain_mm"].to_list() == [3.0, 0.0]
    assert daily["tmax_c"].to_list() == [20.0, 20.0]


def test_an_hour_without_temperature_leaves_its_own_day_unknown() -> None:
    middle = ask("2026-07-09", "2026-07-11", place=UTC_PLACE)
    told = answered()
    for name, values in told["hourly"].items():
        longer = [values[-1] + 3600 * n if name == "time" else values[1] for n in range(1, 25)]
        told["hourly"][name] = values + longer
    told["hourly"]["temperature_2m"][30] = None
    weather = parsed(told, middle)
    assert weather.daily["tmin_c"].isna().to_list() == [False, True, False]
    assert any("2026-07-10" in note for note in weather.notes)
    for name in told["hourly"]:  # nor is anything known where the hour is not there at all
        del told["hourly"][name][30]
    assert parsed(told, middle).daily["tmin_c"].isna().to_list() == [False, True, False]


def test_a_null_tail_ends_the_weather_earlier() -> None:
    told = answered(temperature_2m=dict.fromkeys(range(30, 49)))
    later = ask("2026-07-09", "2026-07-10", place=UTC_PLACE, today="2026-07-12")
    weather = parse_open_meteo_archive(answer(json.dumps(told)), later)
    assert list(weather.daily.index) == [pd.Timestamp(2026, 7, 9)]
    assert "nothing is known after 2026-07-09" in weather.notes


def test_an_impossible_value_is_rejected_and_told() -> None:
    weather = parsed(answered(dew_point_2m={30: 99.0}))
    assert weather.daily["dewpoint_c"].isna().to_list() == [False, True]
    assert "dewpoint_c of 99 on 2026-07-10 is rejected, outside -80 to 40 degC" in weather.notes


@pytest.mark.parametrize("name", [*UNITS])
def test_another_unit_is_refused(name: str) -> None:
    def change(told: Any) -> None:
        told["hourly_units"][name] = "km/h"

    assert refusal(change) == f'it gives {name} in "km/h", not in {UNITS[name]}'


REFUSED: list[tuple[Callable[[Any], object], str]] = [
    (lambda told: told.update(utc_offset_seconds=-21600), "its hours are not by GMT"),
    (lambda told: told.update(latitude=42.2), "it answers for a spot 300 km away"),
    (lambda told: told["hourly"]["time"].__setitem__(3, FIRST_S), "it gives hours twice or in disorder"),
    (lambda told: told["hourly"]["time"].reverse(), "it gives hours twice or in disorder"),
    (
        lambda told: told["hourly"]["time"].__setitem__(3, FIRST_S + 10801),
        "hourly.time holds something that is no full",
    ),
    (lambda told: told["hourly"]["time"].__setitem__(48, 10**15), "hourly.time holds something that is no full"),
    (lambda told: told["hourly"].update(time=["2026-07-09T00:00"] * 49), "hourly.time holds no times"),
    (lambda told: told["hourly"].update(time=[]), "hourly.time holds no times"),
    (lambda told: told["hourly"]["precipitation"].pop(), "hourly.precipitation holds 48 values for 49 hours"),
    (lambda told: told["hourly"].pop("dew_point_2m"), "there is no hourly.dew_point_2m"),
    (lambda told: told["hourly_units"].pop("dew_point_2m"), "there is no dew_point_2m"),
    (lambda told: told["hourly"].update(temperature_2m=["20.0"] * 49), "holds something that is no number"),
    (lambda told: told["hourly"]["temperature_2m"].__setitem__(3, True), "holds something that is no number"),
    (lambda told: told["hourly"]["temperature_2m"].__setitem__(3, 10**400), "holds a number beyond all measure"),
    (lambda told: told["hourly"].update(temperature_2m=None), "it knows nothing of 2026-07-09 to 2026-07-10"),
    (lambda told: told["hourly"].update(temperature_2m=[70.0] * 49), "its unit cannot be what it says"),
    (lambda told: told.pop("hourly"), "there is no hourly"),
]


@pytest.mark.parametrize(("change", "reason"), REFUSED)
def test_what_was_not_asked_for_is_refused(change: Callable[[Any], object], reason: str) -> None:
    assert reason in refusal(change)


@pytest.mark.parametrize("name", ["et0_fao_evapotranspiration", "precipitation_probability"])
def test_what_no_plan_is_made_of_may_be_missing(name: str) -> None:
    told = answered()
    del told["hourly"][name]
    weather = parsed(told)
    assert weather.extra is not None
    assert weather.extra.isna().any().sum() == 1
    del told["hourly"]["et0_fao_evapotranspiration" if name.startswith("prec") else "precipitation_probability"]
    assert parsed(told).extra is None


def test_bodies_that_are_no_answer() -> None:
    with pytest.raises(FeedRefused, match="web page"):
        parse_open_meteo_forecast(answer("<!doctype html><title>x</title>"), TWO_DAYS)
    cut = json.dumps(answered())[:900] + "Unexpected error while streaming data: timeout"
    for body in (cut, "", "{", '{"latitude": NaN}', "[" * 100_000):
        with pytest.raises(FeedFailed, match="no JSON") as caught:
            parse_open_meteo_forecast(answer(body), TWO_DAYS)
        assert not isinstance(caught.value, FeedRefused)  # asking again may mend it
    for body in ("[]", "7", "null", json.dumps([answered()])):
        with pytest.raises(FeedRefused, match="has another form than promised"):
            parse_open_meteo_forecast(answer(body), TWO_DAYS)


def test_junk_in_any_place_is_refused_or_not_known() -> None:
    counts = outcomes(answered(), lambda raw: parse_open_meteo_forecast(raw, TWO_DAYS))
    assert counts["refused"] > 300
    assert counts["accepted"] > 50  # what is not looked at, what may be null


@pytest.mark.parametrize(
    ("today", "first", "last", "is_stale"),
    [
        ("2026-07-11", "2026-07-09", "2026-07-11", True),
        ("2026-07-11", "2026-07-09", "2026-07-10", False),  # only past days are wanted
        ("2026-07-10", "2026-07-09", "2026-07-20", False),
    ],
)
def test_a_forecast_that_ends_before_today_is_stale(today: str, first: str, last: str, *, is_stale: bool) -> None:
    told = answered()
    for values in told["hourly"].values():
        values.pop()  # a real answer ends with the stamp of 23:00
    asked = ask(first, last, place=UTC_PLACE, today=today)
    if is_stale:
        with pytest.raises(FeedRefused, match="stale forecast, which ends on 2026-07-10, and today is 2026-07-11"):
            parsed(told, asked)
    else:
        assert len(parsed(told, asked).daily) == 2
    assert len(parse_open_meteo_archive(answer(json.dumps(told)), asked).daily) == 2  # which always ends earlier


def test_what_is_asked(recorder: Recorder) -> None:
    recorder.body = json.dumps(answered())
    place = Place(39.537, -104.962, 1612.6, ZoneInfo("America/Denver"))
    asked = ask("2026-07-09", "2026-07-09", place=place)
    host = FeedHost("https://customer.example/", api_key="k3y", contact="ann@site.example")
    fetch_open_meteo_forecast(recorder, host, asked)  # type: ignore[arg-type]
    request = recorder.request
    assert request is not None
    assert request.url == "https://customer.example/v1/forecast"
    assert request.params == {
        "latitude": "39.5",
        "longitude": "-105",
        "elevation": "1613",
        "hourly": ",".join([*UNITS][1:]),
        "start_date": "2026-07-09",
        "end_date": "2026-07-10",  # 06:00 UTC, the end of the local day
        "timezone": "GMT",
        "timeformat": "unixtime",
        "temperature_unit": "celsius",
        "wind_speed_unit": "ms",
        "precipitation_unit": "mm",
    }
    assert request.secret_params == {"apikey": "k3y"}
    assert request.headers["User-Agent"].endswith(" (ann@site.example)")
    fetch_open_meteo_archive(recorder, FeedHost("https://archive.example"), asked)  # type: ignore[arg-type]
    request = recorder.request
    assert request.url == "https://archive.example/v1/archive"
    assert request.params["hourly"] == ",".join([*UNITS][1:-1])
    assert (request.secret_params, request.headers) == ({}, {})


def test_places_of_one_cell_ask_the_same_question() -> None:
    zone = ZoneInfo("UTC")
    places = [Place(39.46, -104.96, 1.0, zone), Place(39.54, -105.04, 9.0, zone), Place(0.04, -0.04, 0.0, zone)]
    cells = [cell_of("open-meteo forecast", place) for place in places]
    assert cells == [(39.5, -105.0), (39.5, -105.0), (0.0, 0.0)]
    assert str(cells[2][1]) == "0.0"
    assert cell_of("nasa power", Place(39.74, -104.99, 1.0, zone)) == (39.5, -105.0)
    assert cell_of("nasa power", Place(39.76, -104.68, 1.0, zone)) == (40.0, -104.375)  # −167 × 0.625, the nearest
    assert cell_of("nws grid", Place(39.123456, -104.98765, 1.0, zone)) == (39.1235, -104.9877)


# The rules of the clock changes: second Sunday of March and first of November; first Sundays of April and October.
CHANGES = [
    ("America/Denver", 39.7, -105.0, "2026-03-08", 23),
    ("America/Denver", 39.7, -105.0, "2026-11-01", 25),
    ("Australia/Sydney", -33.9, 151.2, "2026-04-05", 25),
    ("Australia/Sydney", -33.9, 151.2, "2026-10-04", 23),
    ("Asia/Kolkata", 18.5, 73.9, "2026-06-15", 24),
]


@pytest.mark.parametrize(("zone", "latitude", "longitude", "change", "length"), CHANGES)
def test_local_days_across_a_clock_change(
    client: HttpClient, zone: str, latitude: float, longitude: float, change: str, length: int
) -> None:
    """The sums are made again by the standard library, from the answer as it came over the wire."""
    place = Place(latitude, longitude, 500.0, ZoneInfo(zone))
    day = date.fromisoformat(change)
    asked = FeedAsk(place, day - timedelta(days=3), day + timedelta(days=3), date(2026, 12, 10))
    with start_weather_server(asked.today) as server:
        raw, weather = fetch_open_meteo_archive(client, host_of(server, "open-meteo-archive"), asked)
    block = json.loads(raw.body)["hourly"]
    air, rain, sun, et = defaultdict(list), defaultdict(float), defaultdict(float), defaultdict(float)
    for at, stamp in enumerate(block["time"]):
        moment = datetime.fromtimestamp(stamp, UTC)
        air[moment.astimezone(place.zone).date()].append(block["temperature_2m"][at])
        past = (moment - timedelta(hours=1)).astimezone(place.zone).date()
        rain[past] += block["precipitation"][at]
        sun[past] += block["shortwave_radiation"][at] * 3600 / 1e6
        et[past] += block["et0_fao_evapotranspiration"][at]
    assert weather.hourly is not None
    assert weather.extra is not None
    local = pd.DatetimeIndex(weather.hourly.index).tz_convert(place.zone)
    assert (local.date == day).sum() == length
    assert len(air[day]) == length
    assert [stamp.date() for stamp in weather.daily.index] == [asked.first + timedelta(days=n) for n in range(7)]
    for stamp, row in weather.daily.iterrows():
        when = stamp.date()  # type: ignore[attr-defined]
        assert (row["tmin_c"], row["tmax_c"]) == (min(air[when]), max(air[when]))
        assert row["rain_mm"] == pytest.approx(rain[when], abs=1e-9)
        assert row["solar_mj_m2_d"] == pytest.approx(sun[when], abs=1e-9)
        assert weather.extra.loc[stamp, "et0_feed_mm"] == pytest.approx(et[when], abs=1e-9)
    assert weather.daily["solar_mj_m2_d"].min() > 1.0


def test_days_of_greenwich_are_the_feeds_own(server: WeatherServer, client: HttpClient) -> None:
    """For a site on UTC the feed's daily block can be compared; its sums run over the stamps 0 to 23, all dark."""
    place = Place(51.5, 0.0, 30.0, ZoneInfo("UTC"))
    asked = FeedAsk(place, date(2026, 7, 1), date(2026, 7, 20), date(2026, 7, 13))
    _, weather = fetch_open_meteo_forecast(client, host_of(server, "open-meteo-forecast"), asked)
    query = "latitude=51.5&longitude=0&elevation=30&start_date=2026-07-01&end_date=2026-07-20"
    names = "temperature_2m_min,temperature_2m_max,shortwave_radiation_sum"
    url = f"{server.base_url}/open-meteo-forecast/v1/forecast?{query}&daily={names}"
    _, told = client.get(Request(url), lambda raw: json.loads(raw.body)["daily"])
    assert weather.daily["tmin_c"].to_list() == told["temperature_2m_min"]
    assert weather.daily["tmax_c"].to_list() == told["temperature_2m_max"]
    assert weather.daily["solar_mj_m2_d"].to_list() == pytest.approx(told["shortwave_radiation_sum"], abs=0.006)


@pytest.mark.parametrize("zone", ["Pacific/Pago_Pago", "America/Denver", "UTC", "Asia/Kolkata", "Pacific/Kiritimati"])
def test_no_day_is_asked_for_that_the_host_does_not_know(server: WeatherServer, client: HttpClient, zone: str) -> None:
    """It is 13:00 UTC of 13 July at the server, whatever the date is at the site."""
    place = Place(39.5, -105.0, 1600.0, ZoneInfo(zone))
    today = datetime(2026, 7, 13, 13, tzinfo=UTC).astimezone(place.zone).date()
    asked = FeedAsk(place, date(2025, 1, 1), date(2027, 1, 1), today)
    _, weather = fetch_open_meteo_forecast(client, host_of(server, "open-meteo-forecast"), asked)
    assert weather.daily.index[0] <= pd.Timestamp(today - timedelta(days=91))
    assert weather.daily.index[-1] >= pd.Timestamp(today + timedelta(days=13))
    assert weather.daily["is_forecast"].sum() == (weather.daily.index[-1] - pd.Timestamp(today)).days + 1
    _, history = fetch_open_meteo_archive(client, host_of(server, "open-meteo-archive"), asked)
    assert history.daily.index[0] == pd.Timestamp(2025, 1, 1)
    assert pd.Timestamp(2026, 7, 6) <= history.daily.index[-1] < pd.Timestamp(today)
    assert not history.daily["is_forecast"].any()


def test_days_nobody_knows_are_not_asked_for(recorder: Recorder) -> None:
    host = FeedHost("https://feed.example")
    ahead = ask("2026-07-10", "2026-07-12")  # today is the first of them
    with pytest.raises(FeedRefused, match="the archive of Open-Meteo does not know 2026-07-10 to 2026-07-12"):
        fetch_open_meteo_archive(recorder, host, ahead)  # type: ignore[arg-type]
    for days in (("2026-08-10", "2026-08-12"), ("2025-01-01", "2025-02-01")):
        with pytest.raises(FeedRefused, match="open-meteo forecast knows nothing of"):
            fetch_open_meteo_forecast(recorder, host, ask(*days))  # type: ignore[arg-type]
    assert recorder.request is None


def test_a_key_goes_to_its_own_host_alone(server: WeatherServer, client: HttpClient) -> None:
    asked = ask("2026-07-10", "2026-07-14", today="2026-07-13")
    paid = host_of(server, "customer-open-meteo-forecast", api_key="s3cr3t")
    raw, weather = fetch_open_meteo_forecast(client, paid, asked)
    assert len(weather.daily) == 5
    assert server.requests[0].query["apikey"] == "s3cr3t"
    assert "s3cr3t" not in repr((raw.url, paid, weather.origin))
    free = host_of(server, "open-meteo-forecast", api_key="s3cr3t")
    with pytest.raises(FeedRefused) as caught:
        fetch_open_meteo_forecast(client, free, asked)
    assert str(caught.value) == "127.0.0.1 redirects to another host, which is not followed (asked once)"
    assert len(server.requests) == 2


# What each fault of the server ends in: part of the sentence, or of the notes where weather comes all the same, and
# the most requests it may take.
FAULTS = {
    "hang": ("stops answering", 4),
    "slow-drip": ("no whole answer came within", 1),
    "reset": ("", 4),  # told as what comes first, the end of the body or that of the connection
    "truncated": ("sends less than it announces", 4),
    "html": ("answers with a web page", 1),
    "gzip-bomb": ("sends more than 8,000,000 bytes", 1),
    "broken-json": ("no JSON", 4),
    "429-retry-after": ("answers 429 Too Many Requests", 4),
    "429": ("Minutely API request limit exceeded", 4),
    "5xx": ("The service is overloaded", 4),
    "redirect": ("redirects to another host", 1),
    "wrong-units": ('gives temperature_2m in "°F", not in °C', 1),
    "unequal-arrays": ("has another form than promised", 1),
    "all-null": ("knows nothing of", 1),
    "doubled-days": ("gives hours twice or in disorder", 1),
    "far-cell": ("answers for a spot", 1),
}
# The data are well-formed all the same: checks of the weather have to find what is wrong with them, if anything is.
PASSED = {
    "5xx-once": ("", 2),
    "5xx-thrice": ("", 4),
    "null-tail": ("", 1),
    "spike": ("is rejected, outside", 1),
    "shifted-hours": ("", 1),
    "stale": ("", 1),
}
FETCHES = {
    "open-meteo-forecast": (fetch_open_meteo_forecast, ask("2026-06-20", "2026-07-28", today="2026-07-13")),
    "open-meteo-archive": (fetch_open_meteo_archive, ask("2026-06-10", "2026-07-05", today="2026-07-13")),
}
CASES = [(feed, fault) for feed in FETCHES for fault in faults_of(feed)]


@pytest.mark.parametrize(("feed", "fault"), CASES)
def test_every_fault_ends_in_weather_or_in_a_sentence(server: WeatherServer, feed: str, fault: str) -> None:
    limits = ClientLimits(deadline_s=1.5, read_s=0.3, backoff_s=0.0, interval_s=0.0)
    fetch, asked = FETCHES[feed]
    gzip_bomb()  # making it takes longer than a read may
    server.set_fault(feed, fault)
    with HttpClient(limits) as client:
        if fault in PASSED:
            part, most = PASSED[fault]
            _, weather = fetch(client, host_of(server, feed), asked)
            assert len(weather.daily) >= 10
            assert part in " ".join(weather.notes)
        else:
            part, most = FAULTS[fault]
            with pytest.raises(FeedFailed) as caught:
                fetch(client, host_of(server, feed), asked)
            assert part in str(caught.value)
            assert str(caught.value).startswith("127.0.0.1")
    assert 1 <= len(server.requests) <= most


def test_a_forecast_differs_from_the_truth_more_with_every_day(server: WeatherServer, client: HttpClient) -> None:
    """Both feeds tell of one world: past days agree, so that the columns are the same quantities in both."""
    asked = ask("2026-06-10", "2026-07-05", today="2026-07-13")
    forecast, archive = (fetch(client, host_of(server, feed), asked)[1].daily for feed, (fetch, _) in FETCHES.items())
    for column in ("tmin_c", "tmax_c", "dewpoint_c", "wind_m_s", "solar_mj_m2_d", "rain_mm"):
        np.testing.assert_allclose(forecast[column], archive[column], atol=0.2 if column != "rain_mm" else 1.0)
